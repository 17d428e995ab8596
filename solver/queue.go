package solver

import (
	"cmp"
	"slices"
)

// Waiting is what to do for benches that wait at one saw with one set.
type Waiting struct {
	// AsItIs are the benches that what is on the saw serves: no restack.
	AsItIs []int
	// Restacks are the others, one group for each restack; the group that serves
	// the most benches first.
	Restacks []Restack
}

// Restack is one setup for several benches, by their place in the windows given.
type Restack struct {
	Benches []int  // ascending
	Window  Window // widths that are snug on every piece of every bench
}

// Queue groups benches so that one setup serves those whose windows overlap by at
// least margin, with the fewest restacks. Benches with the very same window are
// one question and go together whatever the margin. on is the width that the
// stack on the saw is expected to cut, nil for the standard blade; it serves a
// window that reaches margin/2 to both sides of it, rounded up. Empty windows are
// in no group: no width serves such a bench.
//
// It is exact. A bench that is served as it is leaves fewer windows to the rest,
// so all of these are served. A group of windows overlaps by margin when the
// windows, each shortened by margin at its upper end, have a point in common, and
// intervals are pierced with the fewest points by taking, again and again, the
// lowest upper end that is left. A window shorter than margin overlaps with none
// but its equals.
func Queue(windows []Window, margin Length, on *Length) Waiting {
	var w Waiting
	var left []int
	for i, win := range windows {
		switch {
		case win.Empty():
		case on != nil && win.Lo+(margin+1)/2 <= *on && *on <= win.Hi-(margin+1)/2:
			w.AsItIs = append(w.AsItIs, i)
		default:
			left = append(left, i)
		}
	}
	slices.SortStableFunc(left, func(a, b int) int {
		return cmp.Or(cmp.Compare(windows[a].Hi, windows[b].Hi), cmp.Compare(windows[a].Lo, windows[b].Lo))
	})
	for len(left) > 0 {
		first := windows[left[0]]
		point := first.Hi - margin
		group := Restack{Window: first}
		left = slices.DeleteFunc(left, func(i int) bool {
			win := windows[i]
			if win != first && (win.Lo > point || first.Lo > point) {
				return false
			}
			group.Benches = append(group.Benches, i)
			group.Window.Lo = max(group.Window.Lo, win.Lo)
			return true
		})
		slices.Sort(group.Benches)
		w.Restacks = append(w.Restacks, group)
	}
	slices.SortStableFunc(w.Restacks, func(a, b Restack) int {
		return cmp.Or(cmp.Compare(len(b.Benches), len(a.Benches)), cmp.Compare(a.Benches[0], b.Benches[0]))
	})
	return w
}
