package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// who may do a deed, each with those named after it.
type who uint8

const (
	anyMember    who = iota // every member of the shop
	whoLogged               // who logged the test cut
	whoMade                 // who made the setup
	onlyTeaching            // an instructor
)

// passage is one way a setup may go.
type passage struct {
	from, to storage.State
	deed     storage.Deed
	who      who
}

// life is where a setup may go, by what, and who may do it. What is not here is
// refused. A test cut has happened, whatever the state: it is always taken, and
// opens again what was closed.
var life = []passage{
	{storage.Planned, storage.Cutting, storage.CutLogged, anyMember},
	{storage.Planned, storage.DialledIn, storage.CutLogged, anyMember},
	{storage.Cutting, storage.DialledIn, storage.CutLogged, anyMember},
	{storage.DialledIn, storage.Cutting, storage.CutLogged, anyMember},
	{storage.Released, storage.Cutting, storage.CutLogged, anyMember},
	{storage.Released, storage.DialledIn, storage.CutLogged, anyMember},
	{storage.TakenDown, storage.Cutting, storage.CutLogged, anyMember},
	{storage.TakenDown, storage.DialledIn, storage.CutLogged, anyMember},
	{storage.SetAside, storage.Cutting, storage.CutLogged, anyMember},
	{storage.SetAside, storage.DialledIn, storage.CutLogged, anyMember},

	{storage.Cutting, storage.Planned, storage.Voiding, whoLogged},
	{storage.Cutting, storage.DialledIn, storage.Voiding, whoLogged},
	{storage.DialledIn, storage.Planned, storage.Voiding, whoLogged},
	{storage.DialledIn, storage.Cutting, storage.Voiding, whoLogged},
	{storage.Released, storage.Planned, storage.Voiding, whoLogged},
	{storage.Released, storage.Cutting, storage.Voiding, whoLogged},
	{storage.Released, storage.DialledIn, storage.Voiding, whoLogged},

	// Another of its stacks was put on: any part moved starts it again.
	{storage.DialledIn, storage.Cutting, storage.Reloading, anyMember},
	{storage.Released, storage.Cutting, storage.Reloading, anyMember},

	// A plan that may not be loaded without: it stays a plan, and may be.
	{storage.Planned, storage.Planned, storage.Releasing, onlyTeaching},
	{storage.Cutting, storage.Released, storage.Releasing, onlyTeaching},
	{storage.DialledIn, storage.Released, storage.Releasing, onlyTeaching},

	{storage.Planned, storage.Planned, storage.SendBack, onlyTeaching},
	{storage.Cutting, storage.Cutting, storage.SendBack, onlyTeaching},
	{storage.DialledIn, storage.Cutting, storage.SendBack, onlyTeaching},
	{storage.Released, storage.Cutting, storage.SendBack, onlyTeaching},

	// Planned only where its stack was loaded and nothing was cut with it.
	{storage.Planned, storage.TakenDown, storage.TakeDown, anyMember},
	{storage.Cutting, storage.TakenDown, storage.TakeDown, anyMember},
	{storage.DialledIn, storage.TakenDown, storage.TakeDown, anyMember},
	{storage.Released, storage.TakenDown, storage.TakeDown, anyMember},

	{storage.Planned, storage.SetAside, storage.PutAside, whoMade},
	{storage.SetAside, storage.Planned, storage.TakeUp, whoMade},
}

func passageFor(from, to storage.State, deed storage.Deed) (passage, bool) {
	for _, p := range life {
		if p.from == from && p.to == to && p.deed == deed {
			return p, true
		}
	}
	return passage{}, false
}

// may says whether the session's member is one of those; logged is who logged
// the cut in question, 0 where there is none.
func (s *session) may(w who, setup *storage.Setup, logged int64) bool {
	switch w {
	case anyMember:
		return true
	case whoLogged:
		return s.instructor || s.member.ID == setup.MemberID || s.member.ID == logged
	case whoMade:
		return s.instructor || s.member.ID == setup.MemberID
	}
	return s.instructor
}

// move moves a setup by a deed other than a cut or its voiding, where its life
// and the member's right allow it.
func (s *session) move(setup *storage.Setup, deed storage.Deed, to storage.State, word string) error {
	p, ok := passageFor(setup.State, to, deed)
	switch {
	case !ok:
		return &UserError{Message: fmt.Sprintf("Setup %d is %s; it cannot go from there to %s.", setup.No, setup.State, to), Hint: "/setups shows where your setups stand."}
	case !s.may(p.who, setup, 0) && p.who == whoMade:
		return &UserError{Message: fmt.Sprintf("Only the member who made setup %d, or an instructor, does that.", setup.No), Hint: s.whoCan("Ask one of them.")}
	case !s.may(p.who, setup, 0):
		return s.needInstructor(fmt.Sprintf("Moving setup %d to %s", setup.No, to))
	}
	s.put(setup, deed, to, word)
	return nil
}

// put logs the move.
func (s *session) put(setup *storage.Setup, deed storage.Deed, to storage.State, word string) {
	setup.Move(storage.Move{To: to, Deed: deed, MemberID: s.member.ID, At: s.caller.At, Word: word})
}

// settle puts a setup into the state that its cuts amount to, after a cut was
// logged or voided. A closed setup stays closed when a cut is voided; a released
// one stays released while it goes on being snug in one loading.
func (s *session) settle(setup *storage.Setup, deed storage.Deed, to storage.State) {
	switch {
	case to == setup.State:
	case deed == storage.Voiding && !setup.State.Open():
	case deed == storage.CutLogged && setup.State == storage.Released && to == storage.DialledIn && sameLoading(setup):
	default:
		s.put(setup, deed, to, "")
	}
}

// sameLoading says whether the last two cuts that count were made in one loading.
func sameLoading(setup *storage.Setup) bool {
	loading, counted := 0, 0
	for i := len(setup.Cuts) - 1; i >= 0 && counted < 2; i-- {
		c := setup.Cuts[i]
		if c.Voided {
			continue
		}
		if counted++; counted == 2 {
			return c.Loading == loading
		}
		loading = c.Loading
	}
	return false
}

// lastMove is the setup's last move; the zero move where it never moved.
func lastMove(setup *storage.Setup) storage.Move {
	if n := len(setup.Moves); n > 0 {
		return setup.Moves[n-1]
	}
	return storage.Move{}
}

// startsAnew says whether the next cut begins a new loading although the stack
// is the same: it was off the saw since the last one, or was sent back.
func startsAnew(setup *storage.Setup, last storage.Cut) bool {
	m := lastMove(setup)
	return setup.State == storage.TakenDown || m.Deed == storage.SendBack && m.At.After(last.At)
}

// lifeWord says what last became of a setup, other than by its cuts; empty where
// there is nothing to say.
func (v *view) lifeWord(names shopNames) string {
	m := lastMove(&v.setup)
	who, at := names.member(m.MemberID), v.s.when(m.At)
	switch m.Deed {
	case storage.Releasing:
		if m.To == storage.Planned {
			if m.MemberID == v.setup.MemberID && m.At.Equal(asKept(v.setup.Created)) {
				return "" // an instructor's own: releaseOwn
			}
			return fmt.Sprintf("Released for loading by %s, %s.", who, at)
		}
		return fmt.Sprintf("Released at this saw by %s, %s: cut the pieces, and a spare.", who, at)
	case storage.SendBack:
		word := m.Word
		if word == "" {
			word = "ask what to look at"
		}
		return fmt.Sprintf("Sent back by %s, %s: %s", who, at, word)
	case storage.TakeDown:
		if downUnconfirmed(&v.setup) {
			return fmt.Sprintf("Taken down, confirmed by %s, %s; power off was not.", who, at)
		}
		return fmt.Sprintf("Taken down, confirmed by %s, %s.", who, at)
	case storage.PutAside:
		return fmt.Sprintf("Set aside by %s, %s; nobody cut it.", who, at)
	case storage.TakeUp:
		return fmt.Sprintf("Taken up again by %s, %s.", who, at)
	}
	return ""
}

// lifeLines stand above a setup's answer: what became of it, and the plan that
// leaves the arbor alone.
func (v *view) lifeLines() []string {
	var out []string
	if lastMove(&v.setup).Deed != "" {
		if names, err := v.s.names(); err == nil {
			if word := v.lifeWord(names); word != "" {
				out = append(out, word)
			}
		}
	}
	if word := v.outWord(); word != "" {
		out = append(out, word)
	}
	return append(out, v.offerLines()...)
}

// reopenedLines say that a cut has opened a closed setup again.
func (v *view) reopenedLines(c storage.Cut) []string {
	m := lastMove(&v.setup)
	if m.Deed != storage.CutLogged || m.From.Open() || !m.At.Equal(asKept(c.At)) {
		return nil
	}
	return []string{fmt.Sprintf("The setup was %s; with this cut it is open again, and a new loading begins.", m.From)}
}

// lifeActions are the buttons for the arbor and the setup's life, beside those
// for outcomes.
func (v *view) lifeActions() []Action {
	var out []Action
	state := v.setup.State
	if state == storage.SetAside {
		return []Action{{ID: action{verb: verbUp, setup: v.setup.No}.String(), Label: "Take up again", Row: 1}}
	}
	if !state.Open() {
		return nil
	}
	held := v.heldWord() != ""
	if _, ok := v.offer(); ok && !held {
		out = append(out, v.keepAction(1))
	}
	switch {
	case v.set.Parts.Kind == solver.Blade || held && !v.onSaw():
	case !v.onSaw():
		out = append(out, v.powerAction(1), v.loadedAction(1))
	case !v.load.KnownTo(v.s.member.ID):
		out = append(out, checkAction(*v.load, 1))
	}
	switch {
	case state == storage.Planned && !v.onSaw():
		out = append(out, Action{ID: action{verb: verbAside, setup: v.setup.No}.String(), Label: "Set aside", Row: 3})
	case state == storage.DialledIn || state == storage.Released:
		out = append(out, v.piecesAction(1), downAction(v.saw.ID, 3))
	default:
		out = append(out, downAction(v.saw.ID, 3))
	}
	if v.onSaw() {
		out = append(out, v.powerAction(3))
	}
	return out
}
