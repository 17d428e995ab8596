package solver

// LapPlan is a cut at the end or edge of a board, a rabbet or half-lap, that is
// open on one side: only its shoulder has to be in place, so that there is no
// play and no shim.
type LapPlan struct {
	Stack  Stack
	Offset Length // expected departure of one cut from the stack's sum
	N      int
	Move   Length // outwards from the shoulder, each time
	Width  Length // wanted
	// Over is how far the last pass reaches past the end of the board: the part of
	// the stack that runs buried in a sacrificial fence, or free beyond the end.
	Over Length
}

// Cut is the expected width of one pass.
func (l LapPlan) Cut() Length { return l.Stack.Sum() + l.Offset }

// Starts is where each pass begins, measured from the first, which cuts the shoulder.
func (l LapPlan) Starts() []Length { return Starts(l.Width+l.Over, l.Cut(), l.N) }

// Strips is what each pass removes, measured from the shoulder.
func (l LapPlan) Strips() []Strip {
	var out []Strip
	for _, at := range l.Starts() {
		out = append(out, Strip{at, at + l.Cut()})
	}
	return out
}

// LapOverlap is how much wider than a rabbet the stack has to be at least, so
// that the rest runs buried in a sacrificial fence, 1/16 in [cp]; and how far the
// last of several passes reaches past the end of the board.
const LapOverlap = Inch / 16

// PlanLap plans a rabbet or lap of any width: in one pass of the narrowest stack
// that cuts at least LapOverlap wider, its place set by the fence; else in the
// fewest passes of the stack that cuts widest, the first at the shoulder, the last
// LapOverlap past the end. Stacks are without shims, and as wide as the model
// expects them to cut. The second result is false where set and saw allow no stack.
func PlanLap(set Set, saw Saw, model CutModel, width Length) (LapPlan, bool) {
	if width <= 0 || set.Kind == Blade {
		return LapPlan{}, false
	}
	set.Shims = nil
	s, ok := newSpace(set, saw, &model, Stack{})
	if !ok {
		return LapPlan{}, false
	}
	plan := func(k pick) LapPlan {
		return LapPlan{Stack: s.stack(k), Offset: k.combo.offset, N: 1, Width: width, Over: k.width() - width}
	}
	if one := s.nearest(width+LapOverlap, atLeast, 1); len(one) > 0 {
		return plan(one[0]), true
	}
	widest := s.nearest(width+LapOverlap, atMost, 1)
	if len(widest) == 0 {
		return LapPlan{}, false
	}
	l := plan(widest[0])
	l.Over = LapOverlap
	l.N, l.Move, ok = Passes(width+LapOverlap, l.Cut(), StackOverlap)
	return l, ok
}
