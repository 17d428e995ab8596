package commands

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// setStore keeps cutter sets and ordinary blades.
type setStore interface {
	Sets(ctx context.Context, shopID int64) ([]storage.Set, error)
	SetByID(ctx context.Context, shopID, id int64) (storage.Set, error)
	AddSet(ctx context.Context, set storage.Set) (storage.Set, error)
	UpdateSet(ctx context.Context, shopID, id int64, change func(*storage.Set) error) (storage.Set, error)
}

const (
	addSetExample = `/set add name:"Blue case" pair:1/4 chippers:"4 x 1/8, 3/32, 1/16" shims:"2 x 0.004, 2 x 0.010"`
	// measureHint says where to measure, wherever a size may be entered.
	measureHint = "Measure a chipper at its hub: across the carbide it reads wide. Measure the outer pair together, across the outward tips, or by a test groove. Lay carbide on wood."
)

func setCommand() Command {
	which := Option{Name: "set", Summary: "Which set", complete: completeSets}
	needed := which
	needed.Required = true
	unit := Option{Name: "unit", Summary: "The unit its sizes are written in", Choices: []Choice{{"inches", "in"}, {"millimetres", "mm"}}}
	teeth := Option{Name: "teeth", Summary: "Teeth of an outer blade, or of the piece", Kind: Whole}
	diameter := Option{Name: "diameter", Summary: "Diameter of the outer blades"}
	speed := Option{Name: "max-speed", Summary: "Marked maximum speed, turns a minute", Kind: Whole}
	widest := Option{Name: "max-width", Summary: "Widest stack its manual allows"}
	return Command{
		Name: "set", Summary: "The shop's cutter sets: add, show, change, retire", Example: "/set show",
		Subs: []Command{
			{
				Name: "add", Summary: "Enter a cutter set, or an ordinary blade by its kerf", Example: addSetExample,
				Options: []Option{
					{Name: "name", Summary: "What the shop calls it", Required: true},
					{Name: "pair", Summary: "Width of the two outer blades together"},
					{Name: "chippers", Summary: "How many of each size: 4 x 1/8, 3/32, 1/16"},
					{Name: "shims", Summary: "How many of each thickness: 2 x 0.004, 2 x 0.010 brass"},
					{Name: "kerf", Summary: "Instead of a pair: the kerf of an ordinary flat-top blade"},
					unit, teeth,
					{Name: "chipper-teeth", Summary: "Teeth of a chipper", Kind: Whole},
					diameter, speed, widest,
				},
				run: addSet,
			},
			{Name: "show", Summary: "A set with its pieces, or all sets", Example: `/set show set:"Starter inch set"`, Options: []Option{which}, run: showSet},
			{
				Name: "change", Summary: "A measured size, a piece out of service, a limit", Example: `/set change set:"Blue case" piece:"chipper 1/8" measured:0.1235`,
				Options: []Option{
					needed,
					{Name: "piece", Summary: "pair, chipper 1/8, shim 0.010", complete: completePieces},
					{Name: "measured", Summary: "Its measured size; none for the nominal one"},
					{Name: "count", Summary: "How many of that size the shop has", Kind: Whole},
					{Name: "out", Summary: "How many of them are out of service", Kind: Whole},
					{Name: "plate", Summary: "Plate thickness of one outer blade"},
					{Name: "tooth", Summary: "Width of the tooth, of one outer blade or of the chipper"},
					teeth,
					{Name: "material", Summary: "What a shim is made of", Choices: materialChoices()},
					{Name: "name", Summary: "A new name for the set"},
					diameter, speed, widest,
					{Name: "gap-limit", Summary: "Most shim thickness in a gap beside a chipper"},
					{Name: "bare-gap-limit", Summary: "Most shim thickness between two outer blades"},
					{Name: "gap-shims", Summary: "Most shims in one gap", Kind: Whole},
					{Name: "soft-shims", Summary: "Yes to allow tape, paper and lids as shims", Kind: YesNo},
				},
				run: changeSet,
			},
			setUpkeep(needed),
			{Name: "learned", Summary: "What its test cuts have taught, part by part, and what to measure", Example: `/set learned set:"Blue case"`, Options: []Option{needed}, run: showLearned},
			custodyCommands()[0], custodyCommands()[1], custodyCommands()[2],
			{Name: "retire", Summary: "Take a set out of the shop's list; its record stays", Example: `/set retire set:"Blue case"`, Options: []Option{needed}, run: retireSet},
		},
	}
}

func materialChoices() []Choice {
	var out []Choice
	for _, m := range []solver.Material{solver.Steel, solver.Brass, solver.Plastic, solver.Paper, solver.Tape, solver.Lid} {
		out = append(out, Choice{string(m), string(m)})
	}
	return out
}

func addSet(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Entering a set"); err != nil {
		return Reply{}, err
	}
	title, err := name(a)
	if err != nil {
		return Reply{}, err
	}
	parts := solver.Set{Kind: solver.Stacked, Unit: s.style.Unit, Gap: solver.DefaultGapLimits()}
	if a["unit"] != "" {
		parts.Unit = map[string]solver.Unit{"in": solver.InchUnit, "mm": solver.MillimetreUnit}[a["unit"]]
	}
	s.style.Unit = parts.Unit
	if err := s.fillSet(&parts, a); err != nil {
		return Reply{}, err
	}
	added, err := s.app.Store.AddSet(s, storage.Set{ShopID: s.shop.ID, Name: title, Parts: parts})
	if errors.Is(err, storage.ErrConflict) {
		return Reply{}, &UserError{Option: "name", Message: fmt.Sprintf("This shop has a set called %q already.", title), Hint: `name:"Blue case 2"`}
	}
	if err != nil {
		return Reply{}, err
	}
	text := append([]string{added.Name + " is entered."}, setText(added)...)
	return Reply{Text: lines(append(text, measureHint)...)}, nil
}

func (s *session) fillSet(parts *solver.Set, a args) error {
	pair, err := s.length(a, "pair", partRange)
	if err != nil {
		return err
	}
	kerf, err := s.length(a, "kerf", partRange)
	if err != nil {
		return err
	}
	switch {
	case (pair.Length > 0) == (kerf.Length > 0):
		return &UserError{Option: "pair", Message: "Give the pair of a stacked set, or the kerf of an ordinary blade: one of them.", Hint: addSetExample}
	case kerf.Length > 0:
		if a["chippers"] != "" || a["shims"] != "" {
			return &UserError{Option: "kerf", Message: "An ordinary blade has no chippers and no shims.", Hint: `/set add name:"Flat top 24" kerf:1/8`}
		}
		parts.Kind, pair = solver.Blade, kerf
	}
	parts.Outer.Nominal = pair.Length
	if parts.Chippers, err = s.chippers(a); err != nil {
		return err
	}
	if parts.Shims, err = s.shims(a); err != nil {
		return err
	}
	if parts.Outer.Teeth, err = whole(a, "teeth", 0, 120, 0); err != nil {
		return err
	}
	teeth, err := whole(a, "chipper-teeth", 0, 12, 0)
	if err != nil {
		return err
	}
	for i := range parts.Chippers {
		parts.Chippers[i].Teeth = teeth
	}
	return s.setLimits(parts, a)
}

// setLimits reads the options that hold for a whole set.
func (s *session) setLimits(parts *solver.Set, a args) error {
	for _, o := range []struct {
		name string
		to   *solver.Length
		r    solver.Range
	}{
		{"diameter", &parts.Diameter, diameterRange},
		{"max-width", &parts.MaxWidth, grooveRange},
		{"gap-limit", &parts.Gap.Chipper, shimRange},
		{"bare-gap-limit", &parts.Gap.Bare, shimRange},
	} {
		m, err := s.length(a, o.name, o.r)
		if err != nil {
			return err
		}
		if a[o.name] != "" {
			*o.to = m.Length
		}
	}
	var err error
	if parts.MaxRPM, err = whole(a, "max-speed", 1000, 20000, parts.MaxRPM); err != nil {
		return err
	}
	parts.Gap.Count, err = whole(a, "gap-shims", 0, 3, parts.Gap.Count)
	return err
}

func (s *session) chippers(a args) ([]solver.Chipper, error) {
	list, err := solver.ParseParts(a["chippers"], s.style.Unit, partRange)
	if err != nil {
		return nil, measureError("chippers", err)
	}
	var out []solver.Chipper
	total := 0
	for _, p := range list {
		if p.Material != "" {
			return nil, &UserError{Option: "chippers", Message: "A chipper needs no material.", Hint: `chippers:"4 x 1/8, 3/32, 1/16"`}
		}
		total += p.N
		i := slices.IndexFunc(out, func(c solver.Chipper) bool { return c.Nominal == p.Size.Length })
		if i >= 0 {
			out[i].Count += p.N
			continue
		}
		out = append(out, solver.Chipper{Nominal: p.Size.Length, Count: p.N})
	}
	if total > solver.MaxChippers || len(out) > solver.MaxChipperSizes {
		return nil, &UserError{Option: "chippers", Message: fmt.Sprintf("A set has at most %d chippers in %d sizes.", solver.MaxChippers, solver.MaxChipperSizes), Hint: `chippers:"4 x 1/8, 3/32, 1/16"`}
	}
	slices.SortFunc(out, func(a, b solver.Chipper) int { return int(max(-1, min(1, b.Nominal-a.Nominal))) })
	return out, nil
}

func (s *session) shims(a args) ([]solver.Shim, error) {
	list, err := solver.ParseParts(a["shims"], s.style.Unit, shimRange)
	if err != nil {
		return nil, measureError("shims", err)
	}
	var out []solver.Shim
	total := 0
	for _, p := range list {
		total += p.N
		i := slices.IndexFunc(out, func(c solver.Shim) bool { return c.Nominal == p.Size.Length })
		switch {
		case i >= 0 && out[i].Material != p.Material:
			return nil, &UserError{Option: "shims", Message: fmt.Sprintf("Shims of %s are listed in two materials; give the odd ones their measured thickness.", p.Size), Hint: `shims:"2 x 0.004, 2 x 0.0045 brass"`}
		case i >= 0:
			out[i].Count += p.N
		default:
			out = append(out, solver.Shim{Nominal: p.Size.Length, Count: p.N, Material: p.Material})
		}
	}
	if total > solver.MaxShims || len(out) > solver.MaxShimSizes {
		return nil, &UserError{Option: "shims", Message: fmt.Sprintf("A set has at most %d shims in %d thicknesses.", solver.MaxShims, solver.MaxShimSizes), Hint: `shims:"2 x 0.004, 2 x 0.010"`}
	}
	slices.SortFunc(out, func(a, b solver.Shim) int { return int(max(-1, min(1, b.Nominal-a.Nominal))) })
	return out, nil
}

func showSet(s *session, a args) (Reply, error) {
	if a["set"] != "" {
		set, err := s.setNamed(a["set"])
		if err != nil {
			return Reply{}, err
		}
		text := append([]string{set.Name + ":"}, setText(set)...)
		return Reply{Text: lines(append(text, measureHint)...)}, nil
	}
	all, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	text := []string{"The shop's cutter sets and blades:"}
	for _, set := range all {
		text = append(text, set.Name+": "+setLines(set)[0])
	}
	return Reply{Text: lines(append(text, "/set show set:NAME shows one with its limits.")...)}, nil
}

// setText is setLines as sentences of their own.
func setText(set storage.Set) []string {
	out := setLines(set)
	out[0] = capitalised(out[0]) + "."
	return out
}

// setLines describe a set, its pieces in the first line.
func setLines(set storage.Set) []string {
	p := set.Parts
	if p.Kind == solver.Blade {
		return []string{"ordinary blade, kerf " + sizeWord(p.Unit, p.Outer.Part()) + " " + p.Unit.String() + markNominal(set)}
	}
	words := []string{"pair " + sizeWord(p.Unit, p.Outer.Part())}
	if p.Outer.Out {
		words[0] += " (out of service)"
	}
	var chippers, shims []string
	for _, c := range p.Chippers {
		chippers = append(chippers, outOf(times(c.Count, sizeWord(p.Unit, c.Part())), c.Out))
	}
	for _, c := range p.Shims {
		word := times(c.Count, shimWord(p.Unit, c.Nominal))
		if c.Measured > 0 {
			word += fmt.Sprintf(" (measured %s)", shimWord(p.Unit, c.Measured))
		}
		if c.Material != "" {
			word += " " + string(c.Material)
		}
		if !c.Material.Rigid() && !p.SoftOK {
			word += " (not used: no rigid ring)"
		}
		shims = append(shims, outOf(word, c.Out))
	}
	if len(chippers) > 0 {
		words = append(words, "chippers "+strings.Join(chippers, ", "))
	}
	if len(shims) > 0 {
		words = append(words, "shims "+strings.Join(shims, ", "))
	}
	out := []string{strings.Join(words, "; ") + "; all in " + unitWord(p.Unit) + markNominal(set)}
	style := solver.Style{Unit: p.Unit, Notation: solver.Fractions}
	out = append(out, fmt.Sprintf("Shims in a gap: at most %d, and %s beside a chipper, %s between bare outer blades, unless plate and tooth widths are entered.", p.Gap.Count, style.Fine(p.Gap.Chipper), style.Fine(p.Gap.Bare)))
	var known []string
	if p.Diameter > 0 {
		known = append(known, "diameter "+style.Size(p.Diameter))
	}
	if p.MaxRPM > 0 {
		known = append(known, fmt.Sprintf("marked for %d a minute", p.MaxRPM))
	}
	if p.MaxWidth > 0 {
		known = append(known, "widest stack "+style.Size(p.MaxWidth))
	}
	if p.Outer.Teeth > 0 {
		known = append(known, fmt.Sprintf("%d teeth", p.Outer.Teeth))
	}
	if len(known) > 0 {
		out = append(out, capitalised(strings.Join(known, ", "))+".")
	}
	return out
}

func sizeWord(unit solver.Unit, p solver.Part) string {
	word := pieceWord(unit, p.Nominal)
	if p.Size != p.Nominal {
		word += fmt.Sprintf(" (measured %s)", solver.Style{Unit: unit}.SizeBare(p.Size))
	}
	return word
}

func unitWord(unit solver.Unit) string {
	if unit == solver.MillimetreUnit {
		return "millimetres"
	}
	return "inches"
}

func markNominal(set storage.Set) string {
	if set.Generic {
		return " (nominal, common practice, nobody's real set)"
	}
	return ""
}

func outOf(word string, out int) string {
	if out > 0 {
		return fmt.Sprintf("%s (%d out of service)", word, out)
	}
	return word
}
