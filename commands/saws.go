package commands

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// sawStore keeps saws.
type sawStore interface {
	Saws(ctx context.Context, shopID int64) ([]storage.Saw, error)
	SawByID(ctx context.Context, shopID, id int64) (storage.Saw, error)
	AddSaw(ctx context.Context, saw storage.Saw) (storage.Saw, error)
	UpdateSaw(ctx context.Context, shopID, id int64, change func(*storage.Saw) error) (storage.Saw, error)
}

const addSawExample = `/saw add name:"East saw" arbor:13/16 nut:left`

func sawCommand() Command {
	which := Option{Name: "saw", Summary: "Which saw", complete: completeSaws}
	needed := which
	needed.Required = true
	facts := []Option{
		{Name: "arbor", Summary: "Widest stack it takes with both flanges; none if it takes no stacked set"},
		{Name: "insert", Summary: "Opening of the wide insert"},
		{Name: "largest", Summary: "Largest cutter diameter"},
		{Name: "smallest", Summary: "Smallest cutter diameter"},
		{Name: "speed", Summary: "Speed of the arbor, turns a minute", Kind: Whole},
		{Name: "nut", Summary: "Side of the nut, seen from where you stand", Choices: []Choice{{"left", "left"}, {"right", "right"}}},
		{Name: "outer-flange", Summary: "May it be left off for a wide stack, by the manual", Choices: []Choice{{"always on", "on"}, {"may be left off", "may-be-off"}}},
		{Name: "fence", Summary: "May the fence set the place of a cross cut, by the manual", Choices: []Choice{{"no, a stop block", "stop-block"}, {"yes, by the manual", "allowed"}}},
		{Name: "brake", Summary: "Yes for a saw with a flesh-sensing brake", Kind: YesNo},
	}
	with := func(first ...Option) []Option { return append(first, facts...) }
	return Command{
		Name: "saw", Summary: "The shop's table saws: add, show, change, retire", Example: "/saw show",
		Subs: []Command{
			{
				Name: "add", Summary: "Enter a table saw", Example: addSawExample,
				Options: with(Option{Name: "name", Summary: "What the shop calls it", Required: true}), run: addSaw,
			},
			sawNowCommand(),
			{Name: "show", Summary: "A saw with its limits, or all saws", Example: "/saw show", Options: []Option{which}, run: showSaw},
			{
				Name: "change", Summary: "A limit, the nut, the flange, the fence, the brake", Example: `/saw change saw:"East saw" insert:13/16`,
				Options: with(needed, Option{Name: "name", Summary: "A new name"}), run: changeSaw,
			},
			{Name: "retire", Summary: "Take a saw out of the shop's list; its record stays", Example: `/saw retire saw:"East saw"`, Options: []Option{needed}, run: retireSaw},
		},
	}
}

func addSaw(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Entering a saw"); err != nil {
		return Reply{}, err
	}
	title, err := name(a)
	if err != nil {
		return Reply{}, err
	}
	if strings.TrimSpace(a["arbor"]) == "" {
		return Reply{}, &UserError{Option: "arbor", Message: "/saw add needs arbor: the widest stack its manual allows, or none if it takes no stacked set.", Hint: addSawExample}
	}
	saw := storage.Saw{ShopID: s.shop.ID, Name: title, Saw: solver.Saw{Unit: s.style.Unit}}
	if err := s.fillSaw(&saw.Saw, a); err != nil {
		return Reply{}, err
	}
	added, err := s.app.Store.AddSaw(s, saw)
	if errors.Is(err, storage.ErrConflict) {
		return Reply{}, sawTaken(title)
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(append([]string{added.Name + " is entered."}, sawText(added)...)...)}, nil
}

func sawTaken(title string) *UserError {
	return &UserError{Option: "name", Message: fmt.Sprintf("This shop has a saw called %q already.", title), Hint: `name:"East saw 2"`}
}

// fillSaw reads the facts that are given.
func (s *session) fillSaw(saw *solver.Saw, a args) error {
	if strings.EqualFold(strings.TrimSpace(a["arbor"]), "none") {
		saw.NoStack, saw.Arbor = true, 0
	} else if a["arbor"] != "" {
		m, err := s.length(a, "arbor", arborRange)
		if err != nil {
			return err
		}
		if m.Length < solver.Inch/8 {
			return &UserError{Option: "arbor", Message: "An arbor that short takes no stack.", Hint: "arbor:none says so; else arbor:13/16"}
		}
		saw.Arbor, saw.NoStack = m.Length, false
	}
	for _, o := range []struct {
		name string
		to   *solver.Length
		r    solver.Range
	}{{"insert", &saw.Insert, grooveRange}, {"largest", &saw.Largest, diameterRange}, {"smallest", &saw.Smallest, diameterRange}} {
		m, err := s.length(a, o.name, o.r)
		if err != nil {
			return err
		}
		if a[o.name] != "" {
			*o.to = m.Length
		}
	}
	if saw.Largest > 0 && saw.Smallest > saw.Largest {
		return &UserError{Option: "smallest", Message: "The smallest diameter is larger than the largest.", Hint: "smallest:6 largest:8"}
	}
	var err error
	if saw.RPM, err = whole(a, "speed", 500, 12000, saw.RPM); err != nil {
		return err
	}
	if a["nut"] != "" {
		saw.Nut = solver.Side(a["nut"])
	}
	switch a["outer-flange"] {
	case "on":
		saw.Flange = solver.BothFlanges
	case "may-be-off":
		saw.Flange = solver.OuterMayBeLeft
	}
	switch a["fence"] {
	case "stop-block":
		saw.Fence = solver.StopBlock
	case "allowed":
		saw.Fence = solver.FenceAllowed
	}
	if a["brake"] != "" {
		saw.Brake = yes(a, "brake")
	}
	return nil
}

func showSaw(s *session, a args) (Reply, error) {
	if a["saw"] != "" {
		saw, err := s.sawNamed(a["saw"])
		if err != nil {
			return Reply{}, err
		}
		return Reply{Text: lines(append([]string{saw.Name + ":"}, sawText(saw)...)...)}, nil
	}
	all, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	text := []string{"The shop's saws:"}
	for _, saw := range all {
		text = append(text, saw.Name+": "+sawLines(saw)[0])
	}
	return Reply{Text: lines(text...)}, nil
}

// sawText is sawLines as sentences of their own.
func sawText(saw storage.Saw) []string {
	out := sawLines(saw)
	out[0] = capitalised(out[0])
	return out
}

func sawLines(saw storage.Saw) []string {
	w := saw.Saw
	style := solver.Style{Unit: w.Unit, Notation: solver.Fractions}
	if w.NoStack {
		return []string{"takes no stacked set; ask your instructor for another way."}
	}
	first := "takes a stack of " + style.Size(w.Arbor) + " with both flanges"
	if saw.Generic {
		first += " (a typical figure, nobody's real saw)"
	}
	var known []string
	say := func(l solver.Length, what string) {
		if l > 0 {
			known = append(known, what+" "+style.Size(l))
		}
	}
	say(w.Insert, "insert opening")
	say(w.Largest, "largest diameter")
	say(w.Smallest, "smallest diameter")
	if w.RPM > 0 {
		known = append(known, fmt.Sprintf("arbor %d a minute", w.RPM))
	}
	if w.Nut != "" {
		known = append(known, "nut on the "+string(w.Nut))
	}
	if w.Flange == solver.OuterMayBeLeft {
		known = append(known, "outer flange may be left off, by its manual")
	}
	if w.Fence == solver.FenceAllowed {
		known = append(known, "fence allowed as a stop, by its manual")
	} else {
		known = append(known, "place set by a stop block ahead of the cutter")
	}
	if w.Brake {
		known = append(known, "flesh-sensing brake: stacked-set cartridge, limits in its manual")
	}
	return []string{first + ".", capitalised(strings.Join(known, ", ")) + "."}
}

func changeSaw(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Changing a saw"); err != nil {
		return Reply{}, err
	}
	saw, err := s.sawNamed(a["saw"])
	if err != nil {
		return Reply{}, err
	}
	if len(a) < 2 {
		return Reply{}, &UserError{Message: "Say what to change.", Hint: `/saw change saw:"East saw" insert:13/16`}
	}
	title := saw.Name
	if a["name"] != "" {
		if title, err = name(a); err != nil {
			return Reply{}, err
		}
	}
	s.style.Unit = saw.Saw.Unit
	changed, err := s.app.Store.UpdateSaw(s, s.shop.ID, saw.ID, func(x *storage.Saw) error {
		x.Name, x.Generic = title, false
		return s.fillSaw(&x.Saw, a)
	})
	if errors.Is(err, storage.ErrConflict) {
		return Reply{}, sawTaken(title)
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(append([]string{changed.Name + " is changed."}, sawText(changed)...)...)}, nil
}
