package solver

import (
	"cmp"
	"math"
	"slices"
)

// What a plan in passes assumes.
const (
	// StackOverlap is the least by which two passes of a stack overlap [shop].
	StackOverlap = Inch / 16
	// BladeOverlap is the same for an ordinary flat-top blade: two passes where
	// W <= 2k - 1/64 in [shop].
	BladeOverlap = Inch / 64
	// MoveSD is the standard deviation of one move of the stop, in inches, with a
	// spacer block of the move's thickness [shop].
	MoveSD = 0.002
)

// Passes is in how many passes a cut of width s makes a groove of width w, when
// neighbouring passes overlap by at least o: ceil((w - s)/(s - o)) + 1. The stop
// moves by (w - s)/(n - 1) each time, here rounded to the nearest picometre,
// halves up; Starts has the places that add up exactly. One pass has no move. The
// last result is false where the cut is wider than the groove, or no wider than
// the overlap.
func Passes(w, s, o Length) (n int, move Length, ok bool) {
	switch {
	case s <= 0 || s > w || o < 0:
		return 0, 0, false
	case s == w:
		return 1, 0, true
	case s <= o:
		return 0, 0, false
	}
	step := s - o
	moves := (w - s + step - 1) / step
	return int(moves) + 1, (2*(w-s) + moves) / (2 * moves), true
}

// Starts is where each of n passes begins, measured from the first: i(w - s)/(n - 1),
// each rounded to the nearest picometre. The last is exactly w - s, so that the
// passes remove w, neither more nor less.
func Starts(w, s Length, n int) []Length {
	out := make([]Length, n)
	for i := 1; i < n; i++ {
		out[i] = (2*Length(i)*(w-s) + Length(n-1)) / (2 * Length(n-1))
	}
	return out
}

// PassPlan is a groove cut in N passes of one stack, or of an ordinary blade.
type PassPlan struct {
	Stack  Stack
	Offset Length // expected departure of one cut from the stack's sum
	N      int
	Move   Length // of the stop, each time; the thickness of a spacer block; 0 for one pass
	Width  Length // expected, of the groove
	// Overlap is the least by which two neighbouring passes overlap; 0 for one pass.
	Overlap Length
	SD      float64 // of the groove's width: the stack's own once, and MoveSD for each move, inches
	Chance  float64 // that the groove is snug on every piece, 0 to 1
}

// Cut is the expected width of one pass.
func (p PassPlan) Cut() Length { return p.Stack.Sum() + p.Offset }

// Starts is where each pass begins, measured from the first.
func (p PassPlan) Starts() []Length { return Starts(p.Width, p.Cut(), p.N) }

// Strips is what each pass removes, measured from the wall that the first cuts.
func (p PassPlan) Strips() []Strip {
	var out []Strip
	for _, at := range p.Starts() {
		out = append(out, Strip{at, at + p.Cut()})
	}
	return out
}

// PlanPasses is the plan with the fewest passes for a groove in the window: one,
// where a stack of the set reaches it; else to the middle of the window, with the
// fewest shims, then the widest cut, which keeps the move short. It covers a
// groove wider than stack or arbor, and one between the outer pair and the pair
// with the thinnest chipper. A set of kind Blade covers what is narrower than the
// outer pair. The second result is false where the window is empty, where the
// set's narrowest cut is wider than the groove, and for a stacked set on a saw
// that takes none.
func PlanPasses(set Set, saw Saw, model CutModel, window Window) (PassPlan, bool) {
	if window.Empty() || set.Outer.Out {
		return PassPlan{}, false
	}
	p := Problem{Set: set, Saw: saw, Model: model, Window: window}
	if set.Kind == Blade {
		blade := Expect(p, Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}})
		return planWith(blade, window, BladeOverlap)
	}
	if a := Rank(p, 1); a.Reached {
		return onePass(a.Ranked[0], window), true
	}
	s, ok := newSpace(set, saw, &model, Stack{})
	if !ok {
		return PassPlan{}, false
	}
	w := window.Mid()
	narrowest := slices.MinFunc(s.combos, func(a, b combo) int { return sign(a.width() - b.width()) })
	most, _, ok := Passes(w, narrowest.width(), StackOverlap)
	if !ok {
		return PassPlan{}, false
	}
	for n := 2; n <= most; n++ {
		// n passes do it for a cut s with w - s <= (n - 1)(s - o).
		least := (w + Length(n-1)*StackOverlap + Length(n-1)) / Length(n)
		if k, found := s.fewestShims(least, w); found {
			return planWith(Expect(p, s.stack(k)), window, StackOverlap)
		}
	}
	return PassPlan{}, false
}

// TwoPassOn is the plan with the stack that is on the saw: a second pass with the
// stop moved by what is missing, so that the arbor is not touched; or one pass,
// where the stack reaches the window by itself. The second result is false where
// the stack cuts wider than the groove, or two passes of it would not overlap.
func TwoPassOn(on Candidate, window Window) (PassPlan, bool) {
	if window.Empty() {
		return PassPlan{}, false
	}
	p, ok := planWith(on, window, StackOverlap)
	return p, ok && p.N <= 2
}

// planWith is the plan that cuts to the middle of the window with a given cutter.
func planWith(c Candidate, window Window, overlap Length) (PassPlan, bool) {
	if window.Has(c.Width()) {
		return onePass(c, window), true
	}
	n, move, ok := Passes(window.Mid(), c.Width(), overlap)
	if !ok {
		return PassPlan{}, false
	}
	p := PassPlan{Stack: c.Stack, Offset: c.Offset, N: n, Move: move, Width: window.Mid()}
	p.Overlap = p.Cut()
	starts := p.Starts()
	for i := 1; i < n; i++ {
		p.Overlap = min(p.Overlap, starts[i-1]+p.Cut()-starts[i])
	}
	p.SD = math.Sqrt(c.SD*c.SD + float64(n-1)*MoveSD*MoveSD)
	p.Chance = chanceWithin(window, p.Width, p.SD)
	return p, true
}

func onePass(c Candidate, window Window) PassPlan {
	return PassPlan{
		Stack: c.Stack, Offset: c.Offset, N: 1, Width: c.Width(),
		SD: c.SD, Chance: chanceWithin(window, c.Width(), c.SD),
	}
}

// fewestShims finds, of the stacks whose expected width is from lo to hi, the one
// with the fewest shims, of these the widest, of these the simplest.
func (s *space) fewestShims(lo, hi Length) (pick, bool) {
	low, high := s.low.byN, s.high.byN
	for n := 0; n < len(low)+len(high)-1 && n < len(s.thickest); n++ {
		var best pick
		for i := range s.combos {
			c := &s.combos[i]
			if n > c.slots || c.width()+s.thickest[n] < lo || c.width()+s.thinnest[n] > hi {
				continue
			}
			for nl := max(0, n-len(high)+1); nl <= n && nl < len(low); nl++ {
				as, bs := low[nl], high[n-nl]
				top := len(bs)
				for a := range as {
					for top > 0 && c.width()+as[a].sum+bs[top-1].sum > hi {
						top--
					}
					for b := top - 1; b >= 0; b-- {
						k := pick{c, &as[a], &bs[b]}
						if k.width() < lo || best.combo != nil && k.width() < best.width() {
							break
						}
						if s.feasible(k) && (best.combo == nil || cmp.Or(sign(best.width()-k.width()), s.simpler(k, best)) < 0) {
							best = k
						}
					}
				}
			}
		}
		if best.combo != nil {
			return best, true
		}
	}
	return pick{}, false
}
