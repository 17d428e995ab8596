package solver

// MoveError is how far off one move of the stop is taken to be at worst: two
// standard deviations, 0.004 in [shop].
const MoveError = 4 * Mil

// PassCheck is a plan in passes, tried out on a board.
type PassCheck struct {
	// OK says that the passes remove exactly what was wanted: no ridge on the
	// floor, neither wall moved.
	OK bool
	// Narrowest and Widest are what comes out when every move is too short, or too
	// long, by MoveError.
	Narrowest, Widest Removal
}

// Check tries the plan out.
func (p PassPlan) Check() PassCheck { return tryPasses(p.Cut(), p.Starts(), p.Width) }

// Check tries the plan out, with what it removes beyond the end of the board.
func (l LapPlan) Check() PassCheck {
	return tryPasses(l.Cut(), l.Starts(), l.Width+l.Over)
}

func tryPasses(cut Length, starts []Length, want Length) PassCheck {
	remove := func(off Length) Removal {
		var strips []Strip
		for i, at := range starts {
			at = max(0, at+Length(i)*off) // too short by more than itself is no move at all
			strips = append(strips, Strip{at, at + cut})
		}
		return Simulate(strips)
	}
	return PassCheck{OK: remove(0).Leaves(Strip{0, want}), Narrowest: remove(-MoveError), Widest: remove(MoveError)}
}
