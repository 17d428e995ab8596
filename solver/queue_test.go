package solver

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// fewestRestacks tries every way to put the benches into groups, and every choice
// of those that stay with what is on the saw.
func fewestRestacks(windows []Window, margin Length, on *Length) int {
	best := len(windows) + 1
	var groups [][]int
	var place func(i int)
	place = func(i int) {
		if len(groups) >= best {
			return
		}
		if i == len(windows) {
			best = len(groups)
			return
		}
		w := windows[i]
		if w.Hi < w.Lo {
			place(i + 1)
			return
		}
		if on != nil && 2*(*on-w.Lo) >= margin && 2*(w.Hi-*on) >= margin {
			place(i + 1) // as it is
		}
		for g := range groups {
			groups[g] = append(groups[g], i)
			if together(windows, groups[g], margin) {
				place(i + 1)
			}
			groups[g] = groups[g][:len(groups[g])-1]
		}
		groups = append(groups, []int{i})
		place(i + 1)
		groups = groups[:len(groups)-1]
	}
	place(0)
	return best
}

// together is the rule itself: the overlap is as wide as the margin, or the
// windows are the same.
func together(windows []Window, group []int, margin Length) bool {
	lo, hi, same := windows[group[0]].Lo, windows[group[0]].Hi, true
	for _, i := range group {
		same = same && windows[i] == windows[group[0]]
		lo, hi = max(lo, windows[i].Lo), min(hi, windows[i].Hi)
	}
	return same || hi-lo >= margin
}

func TestQueueAgainstBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	for range 3000 {
		windows := make([]Window, 1+r.IntN(10))
		for i := range windows {
			windows[i].Lo = Length(r.IntN(24))
			windows[i].Hi = windows[i].Lo + Length(r.IntN(12)-1) // some empty
		}
		margin := Length(1 + r.IntN(6)) // some windows shorter than it
		var on *Length
		if r.IntN(2) == 0 {
			at := Length(r.IntN(30))
			on = &at
		}
		got := Queue(windows, margin, on)
		seen := slices.Clone(got.AsItIs)
		for _, i := range got.AsItIs {
			if w := windows[i]; 2*(*on-w.Lo) < margin || 2*(w.Hi-*on) < margin {
				t.Fatalf("%v, margin %d: %d does not serve %v", windows, margin, *on, w)
			}
		}
		for _, g := range got.Restacks {
			if !together(windows, g.Benches, margin) {
				t.Fatalf("%v, margin %d: group %v does not overlap", windows, margin, g.Benches)
			}
			for _, i := range g.Benches {
				if g.Window.Lo < windows[i].Lo || g.Window.Hi > windows[i].Hi {
					t.Fatalf("%v: window %v of group %v is not snug for bench %d", windows, g.Window, g.Benches, i)
				}
			}
			seen = append(seen, g.Benches...)
		}
		slices.Sort(seen)
		var want []int
		for i, w := range windows {
			if !w.Empty() {
				want = append(want, i)
			}
		}
		if !slices.Equal(seen, want) {
			t.Fatalf("%v: benches %v, want %v", windows, seen, want)
		}
		if n := fewestRestacks(windows, margin, on); len(got.Restacks) != n {
			t.Fatalf("%v, margin %d, on %v: %d restacks, brute force needs %d", windows, margin, on, len(got.Restacks), n)
		}
	}
}

// 0.703, 0.704 and 0.712 in with the usual grades [shop]: the windows are
// 0.704..0.711, 0.705..0.712 and 0.713..0.720, so that the first two overlap by
// 0.006 in and the third by nothing. A stack that cuts 0.716 in serves the third
// with 0.003 in to its nearer side.
func TestQueueOfThreeBenches(t *testing.T) {
	var windows []Window
	for _, stock := range []Length{703 * Mil, 704 * Mil, 712 * Mil} {
		windows = append(windows, DefaultGrades().Window(stock, stock))
	}
	on := 716 * Mil
	for name, tc := range map[string]struct {
		margin Length
		on     *Length
		asItIs []int
		groups [][]int
	}{
		"a safe margin":           {2 * Mil, nil, nil, [][]int{{0, 1}, {2}}},
		"just enough":             {6 * Mil, nil, nil, [][]int{{0, 1}, {2}}},
		"too little in common":    {6*Mil + 1, nil, nil, [][]int{{0}, {1}, {2}}},
		"served as it is":         {6 * Mil, &on, []int{2}, [][]int{{0, 1}}},
		"too near the window end": {6*Mil + 1, &on, nil, [][]int{{0}, {1}, {2}}},
	} {
		got := Queue(windows, tc.margin, tc.on)
		var groups [][]int
		for _, g := range got.Restacks {
			groups = append(groups, g.Benches)
		}
		if !slices.Equal(got.AsItIs, tc.asItIs) || !slices.EqualFunc(groups, tc.groups, slices.Equal[[]int]) {
			t.Errorf("%s: as it is %v, restacks %v", name, got.AsItIs, groups)
		}
	}
}
