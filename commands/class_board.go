package commands

import (
	"fmt"
	"slices"
	"strconv"

	"shimwright/storage"
)

// board is the state of the shop at one time: sets out, saws loaded, open setups.
type board struct {
	s     *session
	names shopNames
	sets  []storage.Set
	saws  []storage.Saw
	out   map[int64]storage.Custody // by set
	loads map[int64]storage.Load    // by saw
	open  []storage.Setup           // newest first; plans only of this evening
	permits
}

func (s *session) readBoard() (board, error) {
	b := board{s: s, out: map[int64]storage.Custody{}, loads: map[int64]storage.Load{}}
	var err error
	if b.names, err = s.names(); err != nil {
		return b, err
	}
	if b.sets, err = s.app.Store.Sets(s, s.shop.ID); err != nil {
		return b, err
	}
	if b.saws, err = s.app.Store.Saws(s, s.shop.ID); err != nil {
		return b, err
	}
	out, err := s.app.Store.SetsOut(s, s.shop.ID)
	if err != nil {
		return b, err
	}
	for _, c := range out {
		b.out[c.SetID] = c
	}
	loads, err := s.app.Store.Loads(s, s.shop.ID)
	if err != nil {
		return b, err
	}
	for _, l := range loads {
		b.loads[l.SawID] = l
	}
	if b.permits, err = s.permits(); err != nil {
		return b, err
	}
	b.open, err = s.app.Store.OpenSetups(s, s.shop.ID, s.shop.Settings.EveningBegan(s.caller.At), mostOpen)
	b.dropRepeated()
	return b, err
}

// dropRepeated leaves out plans that the same member asked for again: a bench waits
// once, however often it asked.
func (b *board) dropRepeated() {
	seen := map[string]bool{}
	b.open = slices.DeleteFunc(b.open, func(setup storage.Setup) bool {
		if setup.State != storage.Planned || b.loaded(setup) {
			return false
		}
		key := fmt.Sprint(setup.MemberID, setup.SetID, setup.SawID, setup.Joint, setup.Width.Length, setup.Aim.Length, setup.Project, setup.Lot)
		for _, r := range setup.Readings {
			key += " " + strconv.FormatInt(int64(r.Length), 10)
		}
		again := seen[key]
		seen[key] = true
		return again
	})
}

// loaded says whether it was for this setup that its saw was loaded.
func (b board) loaded(setup storage.Setup) bool {
	l, ok := b.loads[setup.SawID]
	return ok && l.Setup == setup.No
}

// cutOn are the open setups at a saw that were cut there.
func (b board) cutOn(sawID int64) []storage.Setup {
	var out []storage.Setup
	for _, setup := range b.open {
		if setup.SawID == sawID && setup.State != storage.Planned {
			out = append(out, setup)
		}
	}
	return out
}

// sawLine says what is on a saw.
func (b board) sawLine(saw storage.Saw) string {
	l, ok := b.loads[saw.ID]
	switch open := len(b.cutOn(saw.ID)); {
	case !ok && open > 0:
		return fmt.Sprintf("%s: nobody said what is on it; %d %s open there.", saw.Name, open, plural(open, "setup is", "setups are"))
	case !ok:
		return saw.Name + ": standard blade."
	}
	what := "a stack"
	for _, set := range b.sets {
		if set.ID == l.SetID {
			v := view{set: set}
			what = v.partsWord(l.Stack) + " of " + set.Name
		}
	}
	return fmt.Sprintf("%s: %s, setup %d, %s.", saw.Name, what, l.Setup, b.s.loadedWord(l, b.names))
}

func boardCommand() Command {
	return Command{
		Name: "board", Summary: "One message for the channel: sets out, saws loaded, open setups", Example: "/class board",
		run: func(s *session, _ args) (Reply, error) { return s.board() },
	}
}

// boardOpen is how many open setups the board names.
const boardOpen = 8

// board is the one message that presses renew in its place.
func (s *session) board() (Reply, error) {
	b, err := s.readBoard()
	if err != nil {
		return Reply{}, err
	}
	text := []string{"The shop at " + s.when(s.caller.At)}
	if digestPaused(s.shop.Settings) {
		text = append(text, digestWarning)
	}
	r := Reply{Replace: true, Actions: []Action{{ID: action{verb: verbBoard}.String(), Label: "Renew"}}}
	for _, set := range b.sets {
		if set.Generic && b.out[set.ID].No == 0 {
			continue // nobody's real set
		}
		act := takeAction(set.ID, "Take "+clip(set.Name, 40), 1)
		if c := b.out[set.ID]; c.No != 0 {
			text = append(text, fmt.Sprintf("%s: with %s since %s.", set.Name, b.names.member(c.MemberID), s.when(c.At)))
			act = returnAction(set.ID, "Return "+clip(set.Name, 40), 1)
		} else if set.Parts.Outer.Out {
			text = append(text, set.Name+": out of service.")
			continue
		} else {
			text = append(text, set.Name+": in its place.")
		}
		if len(r.Actions) <= 10 {
			a, _ := parseAction(act.ID)
			a.cut = 1 // pressed here, it renews the board
			act.ID = a.String()
			r.Actions = append(r.Actions, act)
		}
	}
	for _, saw := range b.saws {
		text = append(text, b.sawLine(saw))
	}
	for i, setup := range b.open {
		if i == boardOpen {
			text = append(text, fmt.Sprintf("And %d more open.", len(b.open)-i))
			break
		}
		text = append(text, fmt.Sprintf("Setup %d: %s, %s on %s, %s.", setup.No, b.names.member(setup.MemberID), orRetired(b.names.sets[setup.SetID]), orRetired(b.names.saws[setup.SawID]), b.stateWord(setup)))
	}
	if len(b.open) == 0 {
		text = append(text, "No setup is open.")
	}
	r.Text = lines(text...)
	return r, nil
}
