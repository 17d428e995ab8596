package solver

import (
	"cmp"
	"math"
	"slices"
)

// Problem is one question for a stack.
type Problem struct {
	Set    Set
	Saw    Saw
	Model  CutModel
	Window Window // widths that are snug on every piece
}

// Candidate is a stack with what is expected of it.
type Candidate struct {
	Stack  Stack
	Sum    Length  // of its parts
	Offset Length  // expected departure from the sum
	SD     float64 // of the width of one cut, inches
	Chance float64 // that one cut is snug on every piece, 0 to 1
}

// Width is the expected width of a cut.
func (c Candidate) Width() Length { return c.Sum + c.Offset }

// Answer is what can be said to a problem.
type Answer struct {
	// Ranked is best first, at most as many as were asked for. It is empty where
	// set and saw allow no stack at all.
	Ranked []Candidate
	// Reached says that the expected width of some stack lies in the window. If
	// not, Ranked is by nearness to the middle of the window.
	Reached bool
	// Below and Above are the nearest expected widths under and over the middle
	// of the window where it is not reached, nil where there are none.
	Below, Above *Candidate
}

// NearBest is how far, in chance, a stack may stay under the best one and still
// be preferred for being simpler: two percentage points.
const NearBest = 0.02

// Rank answers a problem exactly, over all counts of chippers and shims. Stacks
// whose expected width lies in the window go before all others. It ranks them by
// the chance that a cut is snug on every piece; of all within NearBest of the best
// it takes the fewest shims, then the higher chance, then the fewest chippers, then
// wider pieces, then thicker shims. n is how many to return.
func Rank(p Problem, n int) Answer {
	s, ok := newSpace(p.Set, p.Saw, &p.Model, Stack{})
	if !ok {
		return Answer{}
	}
	near := s.nearest(p.Window.Mid(), either, n)
	if len(near) == 0 {
		return Answer{}
	}
	r := newRanking(s, p)
	if !p.Window.Has(near[0].width()) {
		a := Answer{}
		for _, k := range near {
			a.Ranked = append(a.Ranked, r.candidate(k))
		}
		for _, on := range []side{atMost, atLeast} {
			if k := s.nearest(p.Window.Mid(), on, 1); len(k) > 0 {
				c := r.candidate(k[0])
				if on == atMost {
					a.Below = &c
				} else {
					a.Above = &c
				}
			}
		}
		return a
	}
	a := Answer{Reached: true}
	add := func(picks []pick) {
		for _, k := range picks {
			c := r.candidate(k)
			if len(a.Ranked) < n && !slices.ContainsFunc(a.Ranked, func(o Candidate) bool { return o.Stack.Equal(c.Stack) }) {
				a.Ranked = append(a.Ranked, c)
			}
		}
	}
	add(r.preferred(r.best(r.chance(near[0]))-NearBest, n))
	for _, outside := range []bool{false, true} {
		if r.outside = outside; len(a.Ranked) < n {
			add(r.likeliest(n + len(a.Ranked)))
		}
	}
	return a
}

// Expect is what the problem's model says of a stack of the set, with its parts as
// wide as the set knows them now.
func Expect(p Problem, stack Stack) Candidate {
	stack = p.Set.Sized(stack)
	counts := make([]int, len(p.Set.Chippers))
	for _, k := range stack.Chippers {
		for i, c := range p.Set.Chippers {
			if c.Nominal == k.Nominal {
				counts[i]++
			}
		}
	}
	mean, variance := p.Model.Offset(counts)
	c := Candidate{Stack: stack, Sum: stack.Sum(), Offset: InchesFloat(mean)}
	c.SD = math.Sqrt(variance + p.Model.perCut(len(stack.Shims())))
	c.Chance = chanceWithin(p.Window, c.Width(), c.SD)
	return c
}

// perCut is the variance of a cut that no count of chippers explains: shims and scatter.
func (m CutModel) perCut(shims int) float64 {
	return float64(shims)*m.ShimSD*m.ShimSD + m.Scatter*m.Scatter
}

// chanceWithin is the chance that a normal width (sd in inches) lies in the window.
func chanceWithin(w Window, width Length, sd float64) float64 {
	if w.Empty() {
		return 0
	}
	return normalWithin((w.Lo - width).Inches(), (w.Hi - width).Inches(), sd)
}

// normalWithin is the chance that a normal with mean 0 lies in [lo, hi].
func normalWithin(lo, hi, sd float64) float64 {
	a, b := lo/(sd*math.Sqrt2), hi/(sd*math.Sqrt2)
	switch { // differences of small tails rather than of numbers near 1
	case a > 0:
		return 0.5 * (math.Erfc(a) - math.Erfc(b))
	case b < 0:
		return 0.5 * (math.Erfc(-b) - math.Erfc(-a))
	}
	return 0.5 * (math.Erf(b) - math.Erf(a))
}

// ranking is a space with the chances of a problem. It visits the stacks whose
// expected width lies in the window, and the others too where outside is set.
type ranking struct {
	space   *space
	p       Problem
	outside bool
	order   []*combo // least uncertain first
	kept    int      // shims on the arbor that stay
	most    int      // shims to add
}

func newRanking(s *space, p Problem) *ranking {
	r := &ranking{space: s, p: p, kept: len(s.kept.Shims())}
	for i := range s.combos {
		c := &s.combos[i]
		r.order = append(r.order, c)
		r.most = max(r.most, c.slots)
	}
	slices.SortStableFunc(r.order, func(a, b *combo) int { return cmp.Compare(a.variance, b.variance) })
	r.most = min(r.most, len(s.low.byN)+len(s.high.byN)-2)
	return r
}

// sd is that of a cut, in inches, with so many shims added.
func (r *ranking) sd(c *combo, shims int) float64 {
	return math.Sqrt(c.variance + r.p.Model.perCut(r.kept+shims))
}

// chance is rounded to 1e-9, so that stacks of the same merit compare as equal
// whatever the order of the additions.
func (r *ranking) chance(k pick) float64 { return roundChance(r.exact(k)) }

func (r *ranking) exact(k pick) float64 {
	return chanceWithin(r.p.Window, k.width(), r.sd(k.combo, k.shims()))
}

const chanceStep = 1e-9

func roundChance(c float64) float64 { return math.Round(c/chanceStep) * chanceStep }

func (r *ranking) candidate(k pick) Candidate {
	return Candidate{
		Stack: r.space.stack(k), Sum: k.sum(), Offset: k.combo.offset,
		SD: r.sd(k.combo, k.shims()), Chance: r.exact(k),
	}
}

// ceiling is a chance that no stack of these chippers with so many shims exceeds:
// that of the width nearest to the middle of the window that they could reach.
func (r *ranking) ceiling(c *combo, shims int) float64 {
	want := r.p.Window.Mid() - c.width()
	off := max(0, -want, want-c.most)
	if shims < len(r.space.thickest) {
		off = max(off, want-r.space.thickest[shims], r.space.thinnest[shims]-want)
	}
	return r.chanceOff(c, shims, off)
}

// best is the highest chance of any stack visited. floor is a chance that is reached.
func (r *ranking) best(floor float64) float64 {
	for n := 0; n <= r.most; n++ {
		for _, c := range r.order {
			if n > c.slots || r.ceiling(c, n) <= floor {
				continue
			}
			r.visit(c, n, func() float64 { return floor }, func(k pick) {
				floor = max(floor, r.chance(k))
			})
		}
	}
	return floor
}

// preferred lists, of all stacks visited with at least the given chance, the first
// n in the order of Rank.
func (r *ranking) preferred(floor float64, n int) []pick {
	var out []pick
	for shims := 0; shims <= r.most && len(out) < n; shims++ {
		out = append(out, r.collect(shims, shims, floor, n-len(out))...)
	}
	return out
}

// likeliest lists the n stacks visited of the highest chance.
func (r *ranking) likeliest(n int) []pick { return r.collect(0, r.most, 0, n) }

// collect lists the n likeliest stacks with at least the given chance and a count
// of shims between from and to; of equal ones the simplest first.
func (r *ranking) collect(from, to int, floor float64, n int) []pick {
	var found []pick
	var chances []float64
	bar := func() float64 {
		if len(found) < n {
			return floor
		}
		return max(floor, chances[n-1])
	}
	for shims := from; shims <= to; shims++ {
		for _, c := range r.order {
			if shims > c.slots || r.ceiling(c, shims) < bar() {
				continue
			}
			r.visit(c, shims, bar, func(k pick) {
				chance := r.chance(k)
				if chance < bar() {
					return
				}
				at := len(found)
				for at > 0 && (chance > chances[at-1] || chance == chances[at-1] && r.space.simpler(k, found[at-1]) < 0) {
					at--
				}
				if at == n {
					return
				}
				found = slices.Insert(found, at, k)
				chances = slices.Insert(chances, at, chance)
				if len(found) > n {
					found, chances = found[:n], chances[:n]
				}
			})
		}
	}
	return found
}

// visit calls f with every feasible pick of these chippers and exactly n shims
// whose chance may reach the bar, which may rise meanwhile.
func (r *ranking) visit(c *combo, n int, bar func() float64, f func(pick)) {
	low, high := r.space.low.byN, r.space.high.byN
	want := r.p.Window.Mid() - c.width()
	at := bar()
	reach := r.reach(c, n, at)
	for nl := max(0, n-len(high)+1); nl <= n && nl < len(low); nl++ {
		as, bs := low[nl], high[n-nl]
		top := len(bs) - 1
		for i := range as {
			for top >= 0 && as[i].sum+bs[top].sum > want+reach {
				top--
			}
			if top < 0 {
				break
			}
			for j := top; j >= 0 && as[i].sum+bs[j].sum >= want-reach; j-- {
				k := pick{c, &as[i], &bs[j]}
				if !r.outside && !r.p.Window.Has(k.width()) || !r.space.feasible(k) {
					continue
				}
				f(k)
				if now := bar(); now > at {
					at, reach = now, r.reach(c, n, now)
				}
			}
		}
	}
}

// chanceOff is the chance of a cut whose expected width lies off the middle.
func (r *ranking) chanceOff(c *combo, n int, off Length) float64 {
	return chanceWithin(r.p.Window, r.p.Window.Mid()+off, r.sd(c, n)) + chanceStep
}

// reach is how far off the middle of the window a width may lie and still have
// the given chance, a little more rather than less.
func (r *ranking) reach(c *combo, n int, chance float64) Length {
	most := 2 * Inch
	if !r.outside {
		most = r.p.Window.Hi - r.p.Window.Mid()
	}
	if chance <= 0 {
		return most
	}
	lo, hi := Length(0), most
	for hi-lo > Mil/1000 {
		mid := lo + (hi-lo)/2
		if r.chanceOff(c, n, mid) >= chance {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
