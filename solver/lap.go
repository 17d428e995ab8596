package solver

// LapPlan is a cut at the end or edge of a board, a rabbet or half-lap, that is
// open on one side: only its shoulder has to be in place, so that there is no
// play and no shim.
type LapPlan struct {
	Stack Stack
	N     int
	Move  Length // outwards from the shoulder, each time
	Width Length // wanted
	// Over is how far the last pass reaches past the end of the board: the part of
	// the stack that runs buried in a sacrificial fence, or free beyond the end.
	Over Length
}

// Strips is what each pass removes, measured from the shoulder.
func (l LapPlan) Strips() []Strip {
	cut := l.Stack.Sum()
	var out []Strip
	for _, at := range Starts(l.Width+l.Over, cut, l.N) {
		out = append(out, Strip{at, at + cut})
	}
	return out
}

// PlanLap plans a rabbet or lap of any width: in one pass of the narrowest stack
// that is at least RabbetOverlap wider; else in the fewest passes of the widest
// stack without shims, the first at the shoulder, the last RabbetOverlap past the
// end. Widths are sums of parts: what a stack cuts over its sum falls past the
// end when the stop is set to the shoulder's side. The second result is false
// where set and saw allow no stack.
func PlanLap(set Set, saw Saw, width Length) (LapPlan, bool) {
	if width <= 0 || set.Kind == Blade {
		return LapPlan{}, false
	}
	if one, ok := RabbetStack(set, saw, width); ok {
		return LapPlan{Stack: one, N: 1, Width: width, Over: one.Sum() - width}, true
	}
	set.Shims = nil
	widest, ok := ClosestBelow(set, saw, MaxSum(set, saw))
	if !ok {
		return LapPlan{}, false
	}
	n, move, ok := Passes(width+RabbetOverlap, widest.Sum(), StackOverlap)
	return LapPlan{Stack: widest, N: n, Move: move, Width: width, Over: RabbetOverlap}, ok
}
