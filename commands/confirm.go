package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/storage"
)

// confirmStore knows who had the whole list of cautions, and when.
type confirmStore interface {
	CautionsRead(ctx context.Context, shopID, memberID int64) (time.Time, error)
	ReadCautions(ctx context.Context, shopID, memberID int64, at time.Time) error
	DownUnconfirmed(ctx context.Context, shopID int64, since time.Time, limit int) ([]storage.Setup, error)
}

// cautionsDue says whether the member has not had the whole list of cautions this
// evening.
func (s *session) cautionsDue() (bool, error) {
	at, err := s.app.Store.CautionsRead(s, s.shop.ID, s.member.ID)
	set := s.shop.Settings
	return err == nil && (at.IsZero() || set.Evening(at) != set.Evening(s.caller.At)), err
}

// cautionsFollow stands in the reply that the whole list comes with.
const cautionsFollow = "Your first setup this evening: all its cautions follow, for you alone. Read them before you load."

// withCautions lets the whole list follow the reply to a new setup, once an evening.
func (v *view) withCautions(r Reply) (Reply, error) {
	if !v.cuttable() && v.setup.Joint != storage.Gauge {
		return r, nil // there is nothing to load
	}
	due, err := v.s.cautionsDue()
	if err != nil || !due {
		return r, err
	}
	at := slices.IndexFunc(r.Details, func(d Detail) bool { return strings.HasSuffix(d.Action.ID, ":cautions") })
	if at < 0 {
		r.Details = append(r.Details, v.detailAs("cautions", "All cautions", lines(v.cautionLines()...)))
		at = len(r.Details) - 1
	}
	r.Details[at].Now = true
	text := strings.Split(r.Text, "\n") // the last line stays the one that defers
	r.Text = lines(slices.Insert(text, len(text)-1, cautionsFollow)...)
	return r, v.s.hadCautions()
}

// hadCautions notes that the member was shown the whole list.
func (s *session) hadCautions() error {
	return s.app.Store.ReadCautions(s, s.shop.ID, s.member.ID, s.caller.At)
}

// confirmed says whether power off was confirmed for a stack of the setup since
// its arbor was last touched for another one.
func confirmed(setup *storage.Setup, revision int) bool {
	want := setup.Stacks[revision].Stack
	var since time.Time
	for _, c := range setup.Cuts { // voided ones too: they were cut
		if !setup.Stacks[c.Revision].Stack.Equal(want) && c.At.After(since) {
			since = c.At
		}
	}
	for _, m := range setup.Moves {
		if m.Deed == storage.TakeDown && m.At.After(since) {
			since = m.At
		}
	}
	for _, m := range setup.Marks {
		if m.Kind == storage.PowerOff && !m.At.Before(since) && setup.Stacks[m.Revision].Stack.Equal(want) {
			return true
		}
	}
	return false
}

// touched says whether the arbor was touched for this setup between its last cut
// and one that is being logged.
func touched(setup *storage.Setup, load *storage.Load, revision int) bool {
	stack := setup.Stacks[revision].Stack
	if holds(load, setup.SetID, stack) && load.Setup != setup.No {
		return false // it was loaded for another setup, and confirmed there
	}
	n := len(setup.Cuts)
	return n == 0 || setup.State == storage.TakenDown || !setup.Stacks[setup.Cuts[n-1].Revision].Stack.Equal(stack)
}

// flag marks a cut that is being logged where a caution was not confirmed.
func (v *view) flag(cut storage.Cut, late bool) {
	setup := &v.setup
	mark := storage.Mark{Revision: cut.Revision, Cut: cut.No, MemberID: cut.MemberID, At: cut.At}
	if touched(setup, v.load, cut.Revision) && !confirmed(setup, cut.Revision) {
		mark.Kind = storage.Unconfirmed
		setup.Mark(mark)
	}
	if !late && holds(v.load, setup.SetID, setup.Stacks[cut.Revision].Stack) && !v.load.KnownTo(cut.MemberID) {
		mark.Kind = storage.Unchecked
		setup.Mark(mark)
	}
}

// flagRung marks the dado of a gauge board that is being logged where power off was
// confirmed fewer times than stacks were cut: each is one of its own.
func (v *view) flagRung(cut storage.Cut) {
	off := 0
	for _, m := range v.setup.Marks {
		if m.Kind == storage.PowerOff {
			off++
		}
	}
	if off < cut.No {
		v.setup.Mark(storage.Mark{Kind: storage.Unconfirmed, Revision: cut.Revision, Cut: cut.No, MemberID: cut.MemberID, At: cut.At})
	}
}

// flagLines are the cautions to show with a cut that was logged without them.
func (v *view) flagLines(cut int) []string {
	var out []string
	if held := v.heldWord(); held != "" {
		out = append(out, held)
	}
	if word := v.outWord(); word != "" {
		out = append(out, word)
	}
	for _, m := range v.setup.Marks {
		switch {
		case m.Cut != cut:
		case m.Kind == storage.Unconfirmed:
			out = append(out, "Power off was not confirmed for this loading, so the setup is flagged. Each time, before you touch the arbor: the plug in your own hand, then press Power is off.")
		case m.Kind == storage.Unchecked:
			out = append(out, "Somebody else loaded this stack and you have not confirmed checking it, so the setup is flagged. Stop, power off, check it, press Checked.")
		}
	}
	return out
}

// powerOffSince says whether power off was confirmed at a saw since its arbor was
// last touched or last cut with, by whichever of its open setups.
func powerOffSince(a *storage.Arbor) bool {
	var busy, off time.Time
	if a.Load != nil {
		busy = a.Load.At
	}
	for _, setup := range a.Open {
		if n := len(setup.Cuts); n > 0 && setup.Cuts[n-1].At.After(busy) {
			busy = setup.Cuts[n-1].At
		}
		for _, m := range setup.Marks {
			if m.Kind == storage.PowerOff && m.At.After(off) {
				off = m.At
			}
		}
	}
	return off.After(busy)
}

// downUnconfirmed says whether the setup's saw was last taken down without power off
// confirmed.
func downUnconfirmed(setup *storage.Setup) bool {
	m := lastMove(setup)
	return m.Deed == storage.TakeDown && slices.ContainsFunc(setup.Marks, func(mark storage.Mark) bool {
		return mark.Kind == storage.Unconfirmed && mark.Cut == 0 && mark.At.Equal(m.At)
	})
}

func (v *view) powerAction(row int) Action {
	id := action{verb: verbPower, setup: v.setup.No, revision: v.setup.Loaded}
	label := "Power is off"
	if v.onSaw() {
		label += ", to take it down"
	}
	return Action{ID: id.String(), Label: label, Row: row}
}

func (v *view) loadedAction(row int) Action {
	id := action{verb: verbLoaded, setup: v.setup.No, revision: v.setup.Loaded}
	return Action{ID: id.String(), Label: "Loaded", Row: row}
}

// pressPower notes that power is off before the arbor is touched.
func (s *session) pressPower(act action) (Reply, error) {
	v, err := s.loadView(act.setup)
	if err != nil {
		return Reply{}, err
	}
	if act.revision >= len(v.setup.Stacks) {
		return Reply{}, &UserError{Message: "That button shows a stack that this setup never had.", Hint: "/setups shows your setups with fresh buttons."}
	}
	v.setup, err = s.app.Store.UpdateSetup(s, s.shop.ID, v.setup.No, func(setup *storage.Setup) error {
		setup.Mark(storage.Mark{Kind: storage.PowerOff, Revision: act.revision, MemberID: s.member.ID, At: s.caller.At})
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	v.at(act.revision)
	r := Reply{Private: true}
	text := []string{fmt.Sprintf("Noted %s: power off on %s, the plug in your own hand (hard-wired: isolator locked off).", s.when(s.caller.At), v.saw.Name)}
	switch held := v.heldWord(); {
	case !v.setup.State.Open():
		text = append(text, fmt.Sprintf("Setup %d is %s; /saw now shows what is on each saw.", v.setup.No, v.setup.State))
	case v.onSaw():
		text = append(text, "To take down: "+takenDown+".")
		r.Actions = []Action{downAction(v.saw.ID, 0)}
	case held != "":
		text = append(text, held)
	case v.setup.Joint == storage.Gauge:
		text = append(text, "Load the next stack of the board as it is listed, flange, nut tight to a wrench; turn it once by hand. Press again before the one after.")
	default:
		text = append(text, v.loadWord(v.setup.Stacks[v.setup.Loaded].Stack))
		r.Actions = []Action{v.loadedAction(0)}
	}
	r.Text = lines(append(text, deferral)...)
	return r, nil
}
