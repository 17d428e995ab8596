package commands

import (
	"fmt"
	"slices"
	"strconv"

	"shimwright/solver"
	"shimwright/storage"
)

// offer is the plan that leaves the arbor alone: what is on the saw in one pass,
// or in two with the stop moved; false where the saw has its standard blade,
// another set was asked for, or it does not do.
func (v *view) offer() (storage.PlannedStack, bool) {
	var none storage.PlannedStack
	if v.load == nil || v.set.Parts.Kind == solver.Blade || v.load.SetID != v.set.ID || v.setup.State != storage.Planned || v.setup.Joint == storage.Gauge || v.onSaw() {
		return none, false
	}
	stack := v.load.Stack
	if !v.serves(stack) {
		return none, false
	}
	if v.rabbet() {
		c := solver.Expect(v.problem(), stack)
		ok := len(stack.Shims()) == 0 && c.Width() >= v.rabbetWidth()+solver.LapOverlap
		c.Chance = 0
		return planned(c), ok
	}
	plan, ok := solver.TwoPassOn(solver.Expect(v.problem(), stack), v.window)
	return plannedPasses(plan), ok
}

// onWith says whether the pieces of a stack are on the saw already, be it in other
// places: then the arbor need not be touched.
func (v *view) onWith(stack solver.Stack) bool {
	return v.load != nil && v.load.SetID == v.set.ID && v.load.Stack.SamePieces(stack) && v.serves(v.load.Stack)
}

// serves says whether a stack that is on may be cut with: its pieces are in service,
// and it keeps every limit that is known.
func (v *view) serves(stack solver.Stack) bool {
	return !usesOut(v.set.Parts, stack) && !slices.ContainsFunc(solver.CheckStack(v.set.Parts, v.saw.Saw, stack), func(c solver.Check) bool { return !c.OK })
}

// setOn is the set that is on the saw now, where none was asked for by name, so
// that the arbor can stay as it is; else the one given.
func (s *session) setOn(saw storage.Saw, usual storage.Set) (storage.Set, error) {
	load, err := s.loadAt(saw.ID)
	if err != nil || load == nil || load.SetID == usual.ID {
		return usual, err
	}
	on, err := s.app.Store.SetByID(s, s.shop.ID, load.SetID)
	if err != nil || on.Retired || on.Parts.Outer.Out {
		return usual, err
	}
	return on, nil
}

// offerLines say the plan that leaves the arbor alone, before the one that does not.
func (v *view) offerLines() []string {
	plan, ok := v.offer()
	if !ok {
		return nil
	}
	what := fmt.Sprintf("what is on %s (%s)", v.saw.Name, v.partsWord(plan.Stack))
	var out []string
	switch {
	case v.rabbet():
		out = []string{fmt.Sprintf("The arbor can stay as it is: %s is wide enough, the rest buried in the fence.", what)}
	case plan.Passes == 1:
		out = []string{
			fmt.Sprintf("The arbor can stay as it is: %s, one pass. %s.", what, v.expectWord(plan)),
			fmt.Sprintf("Width %s: %s; snug with %s.", v.fine(width(plan)), v.playWord(width(plan)), percent(plan.Chance)),
		}
	default:
		out = []string{
			fmt.Sprintf("The arbor can stay as it is: two passes of %s, the stop moved by %s. %s.", what, v.exactMove(plan.Move), v.expectWord(plan)),
			fmt.Sprintf("A spacer of %s, of loose shims if need be, makes the move. Together %s: %s; snug with %s.", v.exactMove(plan.Move), v.fine(width(plan)), v.playWord(width(plan)), percent(plan.Chance)),
		}
	}
	if !v.load.KnownTo(v.s.member.ID) {
		out = append(out, "You did not load it: check it before you use it.")
	}
	return append(out, "Or restack:")
}

// keepAction takes the plan of offer.
func (v *view) keepAction(row int) Action {
	id := action{verb: verbKeep, setup: v.setup.No, arg: strconv.FormatInt(v.load.No, 10)}
	return Action{ID: id.String(), Label: "Use what is on the saw", Row: row}
}

// pressKeep takes the plan that leaves the arbor alone.
func (s *session) pressKeep(act action) (Reply, error) {
	v, err := s.loadView(act.setup)
	if err != nil {
		return Reply{}, err
	}
	plan, ok := v.offer()
	if !ok || strconv.FormatInt(v.load.No, 10) != act.arg {
		return Reply{}, &UserError{Message: "What is on the saw has changed, or the setup has moved on.", Hint: "Ask again with /stack; /saw now shows what is on each saw."}
	}
	if !s.may(whoMade, &v.setup, 0) {
		return Reply{}, &UserError{Message: "Only the member who asked, or an instructor, changes the stack of this setup.", Hint: s.whoCan("/stack makes one of your own.")}
	}
	v.setup, err = s.app.Store.UpdateSetup(s, s.shop.ID, v.setup.No, func(setup *storage.Setup) error {
		if setup.State != storage.Planned {
			return &UserError{Message: "A test cut was logged meanwhile.", Hint: "/setups shows where it stands."}
		}
		setup.Stacks = append(setup.Stacks, plan)
		setup.Loaded = len(setup.Stacks) - 1
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	return v.reply(), nil
}

// usesOut says whether a stack has more pieces of a size than the set has in service.
func usesOut(set solver.Set, stack solver.Stack) bool {
	if set.Outer.Out {
		return true
	}
	for _, c := range solver.CountParts(stack.Chippers) {
		for _, have := range set.Chippers {
			if have.Nominal == c.Nominal && c.N > have.Usable() {
				return true
			}
		}
	}
	for _, c := range solver.CountParts(stack.Shims()) {
		for _, have := range set.Shims {
			if have.Nominal == c.Nominal && c.N > have.Count-have.Out {
				return true
			}
		}
	}
	return false
}

// outWord warns of a stack that was planned before a piece of it went out of
// service; empty where every piece is there.
func (v *view) outWord() string {
	if now, ok := v.loaded(); ok && v.setup.State.Open() && usesOut(v.set.Parts, now.Stack) {
		return "A piece of this stack has gone out of service. Do not load it; where it is on, power off and take it off. Ask again with /stack."
	}
	return ""
}

// onSawWord stands where the loading order would, when the stack is on already.
func (v *view) onSawWord() string {
	order := v.orderWord(v.setup.Stacks[v.setup.Loaded].Stack)
	out := fmt.Sprintf("It is on %s already, from the inner flange: %s, flange, nut. Leave the arbor alone.", v.saw.Name, order)
	if !v.load.KnownTo(v.s.member.ID) {
		out += " You did not load it: check it before you use it."
	}
	return out
}
