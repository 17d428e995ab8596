package commands

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"shimwright/storage"
)

// listed is how many setups one reply shows.
const listed = 8

func setupsCommand() Command {
	return Command{
		Name: "setups", Summary: "Your setups and the shop's, newest first", Example: "/setups",
		Private: true,
		Options: []Option{
			{Name: "whose", Summary: "Yours, or the whole shop's", Choices: []Choice{{"mine", "mine"}, {"the shop's", "shop"}}},
			{Name: "setup", Summary: "Just this one, with fresh buttons", complete: completeSetups},
		},
		run: runSetups,
	}
}

func runSetups(s *session, a args) (Reply, error) {
	if a["setup"] != "" {
		no, err := s.setupNumber(a["setup"])
		if err != nil {
			return Reply{}, err
		}
		v, err := s.loadView(no)
		if err != nil {
			return Reply{}, err
		}
		r := v.reply()
		r.Private = true
		return r, nil
	}
	mine, err := s.app.Store.Setups(s, s.shop.ID, s.member.ID, 0, listed)
	if err != nil {
		return Reply{}, err
	}
	var shops []storage.Setup
	if a["whose"] != "mine" {
		if shops, err = s.app.Store.Setups(s, s.shop.ID, 0, 0, listed); err != nil {
			return Reply{}, err
		}
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	may, err := s.permits()
	if err != nil {
		return Reply{}, err
	}
	r := Reply{Private: true}
	var text []string
	shown := map[int64]bool{}
	add := func(setup storage.Setup, who string) {
		line := storage.SetupLine{Setup: setup, Cuts: validCuts(setup), Set: names.sets[setup.SetID], Saw: names.saws[setup.SawID]}
		text = append(text, s.setupLine(line, may.stateWord(setup), who))
		shown[setup.No] = true
		id := action{verb: verbSetup, setup: setup.No}
		r.Actions = append(r.Actions, Action{ID: id.String(), Label: fmt.Sprintf("Setup %d", setup.No), Row: len(r.Actions) / 5})
	}
	if a["whose"] != "shop" {
		for _, m := range mine {
			add(m, "")
		}
		if len(mine) == 0 {
			text = append(text, "You have no setup yet. /stack stock:23/32 makes one.")
		} else {
			text = append([]string{"Your setups, newest first:"}, text...)
		}
	}
	var others []storage.Setup
	for _, o := range shops {
		if !shown[o.No] {
			others = append(others, o)
		}
	}
	if len(others) > 0 {
		text = append(text, "The shop's:")
		for _, o := range others {
			add(o, names.member(o.MemberID))
		}
	}
	r.Text = lines(text...)
	return r, nil
}

// shopNames are the names that setups refer to by id.
type shopNames struct {
	sets, saws, members map[int64]string
}

func (s *session) names() (shopNames, error) {
	n := shopNames{map[int64]string{}, map[int64]string{}, map[int64]string{}}
	sets, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return n, err
	}
	saws, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return n, err
	}
	members, err := s.app.Store.Members(s, s.shop.ID)
	if err != nil {
		return n, err
	}
	for _, x := range sets {
		n.sets[x.ID] = x.Name
	}
	for _, x := range saws {
		n.saws[x.ID] = x.Name
	}
	for _, x := range members {
		n.members[x.ID] = x.Name
	}
	return n, nil
}

func (s *session) setupLine(l storage.SetupLine, state, who string) string {
	setup := l.Setup
	parts := []string{fmt.Sprintf("%d: %s %s", setup.No, setup.Joint, stockWord(setup)), orRetired(l.Set) + " on " + orRetired(l.Saw), state}
	if l.Cuts > 0 {
		parts = append(parts, fmt.Sprintf("%d test %s", l.Cuts, plural(l.Cuts, "cut", "cuts")))
	}
	if who != "" {
		parts = append(parts, who)
	}
	if word := labelWord(setup); word != "" {
		parts = append(parts, word)
	}
	return strings.Join(append(parts, s.when(setup.Created)), ", ")
}

// validCuts counts the test cuts of a setup that are not void.
func validCuts(setup storage.Setup) int {
	n := 0
	for _, c := range setup.Cuts {
		if !c.Voided {
			n++
		}
	}
	return n
}

func orRetired(name string) string {
	if name == "" {
		return "one no longer in the shop"
	}
	return name
}

// listStore reads setups as lines of a list.
type listStore interface {
	SetupLines(ctx context.Context, shopID, memberID int64, limit int) ([]storage.SetupLine, error)
}

// completeSetups offers the member's newest setups, then the shop's.
func completeSetups(s *session, typed string) ([]Choice, error) {
	mine, err := s.app.Store.SetupLines(s, s.shop.ID, s.member.ID, 10)
	if err != nil {
		return nil, err
	}
	shops, err := s.app.Store.SetupLines(s, s.shop.ID, 0, maxChoices)
	if err != nil {
		return nil, err
	}
	typed = strings.ToLower(strings.TrimSpace(typed))
	var out []Choice
	seen := map[int64]bool{}
	for i, l := range append(mine, shops...) {
		if seen[l.Setup.No] {
			continue
		}
		seen[l.Setup.No] = true
		who := ""
		if i >= len(mine) {
			who = l.Member
		}
		label := s.setupLine(l, string(l.Setup.State), who)
		if strings.Contains(strings.ToLower(label), typed) || typed == "last" {
			out = append(out, Choice{Label: clip(label, 100), Value: strconv.FormatInt(l.Setup.No, 10)})
		}
	}
	return out, nil
}
