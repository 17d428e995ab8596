package solver

import (
	"cmp"
	"slices"
)

// space is everything that can be loaded: all counts of chippers and of shims in
// service, with what is kept on the arbor already, under the limits of set, saw
// and gaps.
type space struct {
	set    Set
	kept   Stack // without the blade at the nut; its last gap is the open one
	maxSum Length
	combos []combo
	low    half // the shims in two halves, so that every sum of shims is one of
	high   half // low plus one of high
	// thickest[n] and thinnest[n] bound the sum of n shims, whatever the gaps.
	thickest, thinnest []Length
}

// combo is one choice of chippers.
type combo struct {
	counts []int  // by place in Set.Chippers, kept ones included
	sum    Length // outer pair, all chippers, kept shims
	rooms  []room // from the open gap to the nut
	slots  int    // no more shims than this can be added,
	most   Length // nor more thickness
	// What is believed of these chippers: expected departure from the sum, and
	// its variance in square inches.
	offset   Length
	variance float64
}

// width is what the chippers alone are expected to cut.
func (c *combo) width() Length { return c.sum + c.offset }

// half holds every choice from half of the shim sizes.
type half struct {
	sizes []int      // places in Set.Shims, thickest first
	thick []Length   // their thickness
	all   []choice   // by sum, then count
	byN   [][]choice // by count, each by sum
}

// choice is how many of each shim size of a half are taken.
type choice struct {
	sum    Length
	n      int
	counts [MaxShimSizes]uint8
}

// MaxSum is the widest stack that set and saw allow in one pass, by the sum of
// its parts: the arbor with both flanges, the maker's limit, and less than the
// opening of the insert.
func MaxSum(set Set, saw Saw) Length {
	widest := set.MaxWidth
	if widest == 0 {
		widest = DefaultMaxWidth
	}
	if saw.Arbor > 0 {
		widest = min(widest, saw.Arbor)
	}
	if saw.Insert > 0 {
		widest = min(widest, saw.Insert-1)
	}
	return widest
}

// newSpace is the space of stacks that begin, at the inner flange, with kept.
// An empty kept stack stands for the bare arbor; without a model, widths are sums.
// The second result is false where there is no stack, or where the kept pieces
// are not all in service or open a gap beyond its limit.
func newSpace(set Set, saw Saw, model *CutModel, kept Stack) (*space, bool) {
	if set.Outer.Out || saw.NoStack || set.Outer.Nominal <= 0 {
		return nil, false
	}
	if len(kept.Gaps) == 0 {
		kept.Gaps = [][]Part{nil}
	}
	kept.Outer = set.Outer.Part()
	s := &space{set: set, kept: kept, maxSum: MaxSum(set, saw)}
	free := make([]int, len(set.Chippers))
	taken := make([]int, len(set.Chippers))
	for i, c := range set.Chippers {
		free[i] = c.Usable()
	}
	for _, p := range kept.Chippers {
		i := slices.IndexFunc(set.Chippers, func(c Chipper) bool { return c.Part() == p })
		if i < 0 || free[i] == 0 {
			return nil, false
		}
		free[i]--
		taken[i]++
	}
	shims := make([]int, len(set.Shims))
	for i := range set.Shims {
		shims[i] = set.usableShims(i)
	}
	for _, p := range slices.Concat(kept.Gaps...) {
		i := slices.IndexFunc(set.Shims, func(c Shim) bool { return c.Part() == p })
		if i < 0 || shims[i] == 0 {
			return nil, false
		}
		shims[i]--
	}
	closed := kept.Gaps[:len(kept.Gaps)-1]
	if !set.within(closed, set.gapLimits(kept)) {
		return nil, false
	}
	s.fillCombos(free, taken, model)
	s.fillHalves(shims)
	return s, len(s.combos) > 0
}

func (s *space) fillCombos(free, taken []int, model *CutModel) {
	base := s.kept.Sum()
	add := make([]int, len(free))
	var walk func(i int, sum Length)
	walk = func(i int, sum Length) {
		if sum > s.maxSum {
			return
		}
		if i == len(free) {
			c := combo{counts: make([]int, len(free)), sum: sum, rooms: s.rooms(add)}
			if open := c.rooms[0]; open.used > open.limit || open.count < 0 {
				return // what lies in the open gap is too much beside this cutter
			}
			for j := range add {
				c.counts[j] = taken[j] + add[j]
			}
			for _, r := range c.rooms {
				if r.count > 0 && r.limit > r.used {
					c.slots += r.count
					c.most += r.limit - r.used
				}
			}
			c.most = min(c.most, s.maxSum-sum)
			if model != nil {
				mean, variance := model.Offset(c.counts)
				c.offset, c.variance = InchesFloat(mean), variance
			}
			s.combos = append(s.combos, c)
			return
		}
		size := s.set.Chippers[i].Part().Size
		for add[i] = 0; add[i] <= free[i]; add[i]++ {
			walk(i+1, sum+Length(add[i])*size)
		}
		add[i] = 0
	}
	walk(0, base)
}

// order is the loading order of added chippers: the widest first.
func (s *space) order(add []int) []int {
	var out []int
	for i, n := range add {
		for range n {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		return thickerFirst(s.set.Chippers[a].Part(), s.set.Chippers[b].Part())
	})
	return out
}

func (s *space) rooms(add []int) []room {
	left := s.set.outerCutter()
	if n := len(s.kept.Chippers); n > 0 {
		last := s.kept.Chippers[n-1]
		i := slices.IndexFunc(s.set.Chippers, func(c Chipper) bool { return c.Part() == last })
		left = s.set.Chippers[i].cutter()
	}
	var out []room
	for _, i := range s.order(add) {
		right := s.set.Chippers[i].cutter()
		out = append(out, room{limit: s.set.overlapLimit(left, right), count: s.set.Gap.Count})
		left = right
	}
	out = append(out, room{limit: s.set.overlapLimit(left, s.set.outerCutter()), count: s.set.Gap.Count})
	open := s.kept.Gaps[len(s.kept.Gaps)-1]
	out[0].used = partsSum(open)
	out[0].count -= len(open)
	return out
}

func (s *space) fillHalves(free []int) {
	most, gaps := Length(0), 0
	for _, c := range s.combos {
		most = max(most, c.most)
		gaps = max(gaps, len(c.rooms))
	}
	limit := gaps * s.set.Gap.Count
	var order []int
	for i := range free {
		if free[i] > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return thickerFirst(s.set.Shims[a].Part(), s.set.Shims[b].Part())
	})
	s.bound(order, free)
	var sizes [2][]int
	for i, size := range order { // alternating, so that both halves hold thick and thin ones
		sizes[i%2] = append(sizes[i%2], size)
	}
	s.low = s.half(sizes[0], free, limit, most)
	s.high = s.half(sizes[1], free, limit, most)
}

// bound fills thickest and thinnest from the shim sizes in falling order.
func (s *space) bound(order, free []int) {
	var down []Length
	for _, i := range order {
		for range free[i] {
			down = append(down, s.set.Shims[i].Part().Size)
		}
	}
	s.thickest, s.thinnest = make([]Length, len(down)+1), make([]Length, len(down)+1)
	for n := range down {
		s.thickest[n+1] = s.thickest[n] + down[n]
		s.thinnest[n+1] = s.thinnest[n] + down[len(down)-1-n]
	}
}

func (s *space) half(sizes, free []int, limit int, most Length) half {
	h := half{sizes: sizes}
	for _, i := range sizes {
		h.thick = append(h.thick, s.set.Shims[i].Part().Size)
	}
	var c choice
	var walk func(i int)
	walk = func(i int) {
		if c.n > limit || c.sum > most {
			return
		}
		if i == len(sizes) {
			h.all = append(h.all, c)
			return
		}
		size := h.thick[i]
		before := c
		for k := 0; k <= free[sizes[i]]; k++ {
			walk(i + 1)
			c.sum += size
			c.n++
			c.counts[i]++
		}
		c = before
	}
	walk(0)
	slices.SortFunc(h.all, func(a, b choice) int {
		return cmp.Or(cmp.Compare(a.sum, b.sum), cmp.Compare(a.n, b.n))
	})
	for _, c := range h.all {
		for len(h.byN) <= c.n {
			h.byN = append(h.byN, nil)
		}
		h.byN[c.n] = append(h.byN[c.n], c)
	}
	return h
}

// pick is one stack of the space, not yet spelled out.
type pick struct {
	combo *combo
	low   *choice
	high  *choice
}

func (p pick) shims() int    { return p.low.n + p.high.n }
func (p pick) sum() Length   { return p.combo.sum + p.low.sum + p.high.sum }
func (p pick) width() Length { return p.sum() + p.combo.offset }

func (p pick) chippers() int {
	n := 0
	for _, c := range p.combo.counts {
		n += c
	}
	return n
}

// parts lists the picked shims, thickest first.
func (s *space) parts(p pick) []Part {
	out := make([]Part, 0, p.shims())
	take := func(h half, c *choice) {
		for i, size := range h.sizes {
			for range c.counts[i] {
				out = append(out, s.set.Shims[size].Part())
			}
		}
	}
	take(s.low, p.low)
	take(s.high, p.high)
	slices.SortStableFunc(out, thickerFirst)
	return out
}

// feasible says whether the picked shims find room in the gaps.
func (s *space) feasible(p pick) bool {
	n := p.shims()
	if n == 0 {
		return true
	}
	if n > p.combo.slots || p.low.sum+p.high.sum > p.combo.most {
		return false
	}
	var buf [MaxShims]Length
	return fits(s.thicknesses(p, buf[:0]), p.combo.rooms)
}

// thicknesses appends the picked shims' sizes, thickest first.
func (s *space) thicknesses(p pick, out []Length) []Length {
	i, j := 0, 0 // both halves list their sizes thickest first
	for i < len(s.low.sizes) || j < len(s.high.sizes) {
		var size Length
		var n uint8
		if j == len(s.high.sizes) || i < len(s.low.sizes) && s.low.thick[i] >= s.high.thick[j] {
			size, n = s.low.thick[i], p.low.counts[i]
			i++
		} else {
			size, n = s.high.thick[j], p.high.counts[j]
			j++
		}
		for range n {
			out = append(out, size)
		}
	}
	return out
}

// stack spells a feasible pick out.
func (s *space) stack(p pick) Stack {
	add := slices.Clone(p.combo.counts)
	for _, k := range s.kept.Chippers {
		i := slices.IndexFunc(s.set.Chippers, func(c Chipper) bool { return c.Part() == k })
		add[i]--
	}
	out := Stack{Outer: s.set.Outer.Part(), Chippers: slices.Clone(s.kept.Chippers)}
	for _, g := range s.kept.Gaps {
		out.Gaps = append(out.Gaps, slices.Clone(g))
	}
	for _, i := range s.order(add) {
		out.Chippers = append(out.Chippers, s.set.Chippers[i].Part())
		out.Gaps = append(out.Gaps, nil)
	}
	parts := s.parts(p)
	sizes := make([]Length, len(parts))
	for i, part := range parts {
		sizes[i] = part.Size
	}
	places, _ := spread(sizes, p.combo.rooms)
	for i, place := range places {
		gap := &out.Gaps[len(s.kept.Gaps)-1+i]
		for _, k := range place {
			*gap = append(*gap, parts[k])
		}
	}
	return out
}

// simpler orders picks of the same merit: fewest shims, fewest chippers, then
// wider chippers first, then thicker shims first, so that the same question
// always gets the same answer.
func (s *space) simpler(a, b pick) int {
	if c := cmp.Or(cmp.Compare(a.shims(), b.shims()), cmp.Compare(a.chippers(), b.chippers())); c != 0 {
		return c
	}
	return s.thicker(a, b)
}

func (s *space) thicker(a, b pick) int {
	if a.combo != b.combo {
		if c := slices.CompareFunc(s.chipperParts(a), s.chipperParts(b), thickerFirst); c != 0 {
			return c
		}
	}
	return slices.CompareFunc(s.parts(a), s.parts(b), thickerFirst)
}

func (s *space) chipperParts(p pick) []Part {
	var out []Part
	for _, i := range s.order(p.combo.counts) {
		out = append(out, s.set.Chippers[i].Part())
	}
	return out
}
