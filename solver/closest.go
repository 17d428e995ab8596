package solver

import (
	"cmp"
	"slices"
)

// side says on which side of a target a width may lie.
type side uint8

const (
	atMost side = 1 << iota
	atLeast
	either = atMost | atLeast
)

// Closest finds the stack whose sum is nearest to the target, without regard to
// chance or to what was learned; of equally near ones the simplest (fewest shims,
// fewest chippers, wider pieces first). It is exact. The second result is false
// where set and saw allow no stack at all.
func Closest(set Set, saw Saw, target Length) (Stack, bool) {
	return closestStack(set, saw, target, either)
}

// ClosestBelow is Closest among the stacks no wider than the target.
func ClosestBelow(set Set, saw Saw, target Length) (Stack, bool) {
	return closestStack(set, saw, target, atMost)
}

// ClosestAbove is Closest among the stacks no narrower than the target.
func ClosestAbove(set Set, saw Saw, target Length) (Stack, bool) {
	return closestStack(set, saw, target, atLeast)
}

func closestStack(set Set, saw Saw, target Length, on side) (Stack, bool) {
	s, ok := newSpace(set, saw, nil, Stack{})
	if !ok {
		return Stack{}, false
	}
	near := s.nearest(target, on, 1)
	if len(near) == 0 {
		return Stack{}, false
	}
	return s.stack(near[0]), true
}

// nearest finds the n picks whose expected width is nearest to the target on the
// given side, nearest first, simplest first among equals. For each choice of
// chippers two pointers run over the two halves of the shims, one up, one down,
// so that only sums next to the target are seen.
func (s *space) nearest(target Length, on side, n int) []pick {
	top := topPicks{space: s, n: n}
	combos := make([]*combo, len(s.combos))
	for i := range s.combos {
		combos[i] = &s.combos[i]
	}
	// Those that come near with few shims first: they set the bar for the rest.
	slices.SortStableFunc(combos, func(a, b *combo) int {
		return sign((target - a.width()).Abs() - (target - b.width()).Abs())
	})
	for _, c := range combos {
		want := target - c.width()
		if top.worse(want-c.most) || top.worse(-want) {
			continue
		}
		high := s.high.all
		over, _ := slices.BinarySearchFunc(high, want, func(c choice, want Length) int {
			return cmp.Or(sign(c.sum-want), -1) // past all that equal it
		})
		for a := range s.low.all {
			low := &s.low.all[a]
			if low.sum > c.most || top.worse(low.sum-want) {
				break
			}
			if low.n > c.slots {
				continue
			}
			for over > 0 && low.sum+high[over-1].sum > want {
				over--
			}
			if on&atMost != 0 {
				for run := over; run > 0; { // equal sums together, fewest shims first
					dist, first := want-low.sum-high[run-1].sum, run-1
					if top.worse(dist) {
						break
					}
					for first > 0 && high[first-1].sum == high[run-1].sum {
						first--
					}
					top.offerRun(c, low, high[first:run], dist)
					run = first
				}
			}
			if on&atLeast != 0 {
				run := over
				if on == atLeast { // an exact hit lies on both sides
					for run > 0 && low.sum+high[run-1].sum == want {
						run--
					}
				}
				for run < len(high) {
					dist, end := low.sum+high[run].sum-want, run+1
					if top.worse(dist) {
						break
					}
					for end < len(high) && high[end].sum == high[run].sum {
						end++
					}
					top.offerRun(c, low, high[run:end], dist)
					run = end
				}
			}
		}
	}
	return top.picks
}

// topPicks keeps the n nearest picks seen.
type topPicks struct {
	space *space
	n     int
	picks []pick
	dist  []Length
}

func (t *topPicks) full() bool { return len(t.picks) == t.n }

// worse says that nothing this far off can enter the list.
func (t *topPicks) worse(dist Length) bool { return t.full() && dist > t.dist[t.n-1] }

// offerRun offers choices of one sum, which stand by rising count of shims.
func (t *topPicks) offerRun(c *combo, low *choice, run []choice, dist Length) {
	for i := range run {
		n := low.n + run[i].n
		if n > c.slots || t.full() && dist == t.dist[t.n-1] && n > t.picks[t.n-1].shims() {
			return
		}
		t.offer(pick{c, low, &run[i]}, dist)
	}
}

func (t *topPicks) offer(p pick, dist Length) {
	before := func(i int) bool {
		if dist != t.dist[i] {
			return dist < t.dist[i]
		}
		return t.space.simpler(p, t.picks[i]) < 0
	}
	if t.full() && !before(t.n-1) {
		return
	}
	if !t.space.feasible(p) {
		return
	}
	at := len(t.picks)
	for at > 0 && before(at-1) {
		at--
	}
	t.picks = slices.Insert(t.picks, at, p)
	t.dist = slices.Insert(t.dist, at, dist)
	if len(t.picks) > t.n {
		t.picks, t.dist = t.picks[:t.n], t.dist[:t.n]
	}
}
