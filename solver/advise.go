package solver

// Change is the next stack after a test cut, with what it takes to get there.
type Change struct {
	Candidate
	// TakenOff is how many pieces come off the arbor; 0 leaves the stack as it is.
	TakenOff int
	// Reached is as in Answer: if false, no stack is expected in the window.
	Reached bool
}

// Advise finds the change from the stack that is on the saw now: of all stacks
// whose expected width lies in the window, with a chance within NearBest of the best
// one that the set can make, the one for which the fewest pieces come off the arbor;
// then as in Rank. What stays on keeps its place. A narrower margin moves more
// pieces and saves no test cuts: TestSimulation gives the same figures with a
// quarter of it. The second result is false where there is no stack at all.
func Advise(p Problem, now Stack) (Change, bool) {
	now = p.Set.Sized(now)
	free := Rank(p, 1)
	if len(free.Ranked) == 0 {
		return Change{}, false
	}
	goal := free.Ranked[0]
	if !free.Reached {
		return Change{goal, now.TakenOff(goal.Stack), false}, true
	}
	s, _ := newSpace(p.Set, p.Saw, &p.Model, Stack{})
	r := newRanking(s, p)
	floor := r.best(goal.Chance-NearBest) - NearBest
	if inService(p, now) && p.Set.gapsHold(now) {
		if c := Expect(p, now); p.Window.Has(c.Width()) && roundChance(c.Chance) >= floor {
			return Change{c, 0, true}, true
		}
	}
	pieces := now.Pieces()
	for keep := len(pieces) - 1; keep >= 1; keep-- {
		s, ok := newSpace(p.Set, p.Saw, &p.Model, prefix(pieces[:keep]))
		if !ok {
			continue
		}
		kept := newRanking(s, p)
		if picks := kept.preferred(floor, 1); len(picks) > 0 {
			return Change{kept.candidate(picks[0]), len(pieces) - keep, true}, true
		}
	}
	return Change{goal, now.TakenOff(goal.Stack), true}, true
}

// inService says whether every piece of the stack may still be used.
func inService(p Problem, stack Stack) bool {
	pieces := stack.Pieces()
	_, ok := newSpace(p.Set, p.Saw, nil, prefix(pieces[:len(pieces)-1]))
	return ok
}

// prefix is the part of a stack that stays on the arbor.
func prefix(pieces []Piece) Stack {
	out := Stack{Outer: pieces[0].Part, Gaps: [][]Part{nil}}
	for _, p := range pieces[1:] {
		last := len(out.Gaps) - 1
		switch p.Kind {
		case ShimPiece:
			out.Gaps[last] = append(out.Gaps[last], p.Part)
		case ChipperPiece:
			out.Chippers = append(out.Chippers, p.Part)
			out.Gaps = append(out.Gaps, nil)
		}
	}
	return out
}
