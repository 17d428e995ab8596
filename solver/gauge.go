package solver

// Rung is one dado of a gauge board: a width, and the stack that is to cut it.
type Rung struct {
	Target Length
	Stack  Candidate
	// Reached says that the expected width is within GaugeReach of the target; if
	// not, Stack is the nearest there is.
	Reached bool
}

// GaugeReach is how near to its mark a rung has to come, a thousandth of an inch
// [shop: what a caliper tells apart].
const GaugeReach = Mil

// MaxRungs is the most dadoes that one board takes [shop].
const MaxRungs = 24

// Ladder plans a gauge board: dadoes from one width upwards in fixed steps, the
// last at or above the end. Each rung has the stack that most likely comes within
// GaugeReach of it, chosen as in Rank. The problem's window is not used. The
// second result is false where the steps are no ladder of 1 to MaxRungs dadoes,
// or the set has no stack at all.
func Ladder(p Problem, from, to, step Length) ([]Rung, bool) {
	if from <= 0 || step <= 0 || to < from || (to-from+step-1)/step+1 > MaxRungs {
		return nil, false
	}
	var out []Rung
	for at := from; ; at += step {
		p.Window = Window{at - GaugeReach, at + GaugeReach}
		a := Rank(p, 1)
		if len(a.Ranked) == 0 {
			return nil, false
		}
		out = append(out, Rung{at, a.Ranked[0], a.Reached})
		if at >= to {
			return out, true
		}
	}
}
