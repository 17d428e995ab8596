package solver

import "math"

// PassesWith is the plan in passes with a given stack of the problem's set: what
// to do next with what is on the arbor. The second result is false where the
// stack alone cuts wider than the groove.
func PassesWith(p Problem, stack Stack) (PassPlan, bool) {
	if p.Window.Empty() {
		return PassPlan{}, false
	}
	overlap := StackOverlap
	if p.Set.Kind == Blade {
		overlap = BladeOverlap
	}
	return planWith(Expect(p, stack), p.Window, overlap)
}

// ExpectPasses is what the problem's model says of n passes of a stack with the
// stop moved by move each time.
func ExpectPasses(p Problem, stack Stack, n int, move Length) PassPlan {
	c := Expect(p, stack)
	plan := PassPlan{Stack: c.Stack, Offset: c.Offset, N: n, Move: move, Width: c.Width() + Length(n-1)*move}
	plan.SD = math.Sqrt(c.SD*c.SD + float64(n-1)*MoveSD*MoveSD)
	plan.Chance = chanceWithin(p.Window, plan.Width, plan.SD)
	if n > 1 {
		plan.Overlap = c.Width() - move
	}
	return plan
}
