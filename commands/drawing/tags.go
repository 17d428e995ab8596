package drawing

import (
	"slices"
	"strings"
)

// spreadTags moves labels sideways, each as little as it must, so that none
// stands on another and all stay on the page. The tags come in any order and end
// up from left to right. It returns the size of the letters: smaller than what is
// asked where the labels do not all fit.
func spreadTags(tags []tag, size float64, fractions bool) float64 {
	slices.SortStableFunc(tags, func(a, b tag) int {
		switch {
		case a.from < b.from:
			return -1
		case a.from > b.from:
			return 1
		}
		return 0
	})
	wide, sum := make([]float64, len(tags)), 0.0
	for i, t := range tags {
		words := t.words
		if fractions {
			words = strings.Split(words[0], "/")
		} else {
			words = append([]string{plainShim(len(words))}, words...)
		}
		for _, w := range words {
			wide[i] = max(wide[i], widthOf(w, size, true)+1)
		}
		sum += wide[i]
	}
	if shrink := (ScreenWidth - 2*margin) / sum; shrink < 1 {
		size *= shrink
		for i := range wide {
			wide[i] *= shrink
		}
	}
	// Runs of labels that touch are moved together until nothing overlaps.
	type run struct {
		first, last int
		mid, wide   float64
	}
	var runs []run
	for i := range tags {
		runs = append(runs, run{i, i, inside(tags[i].from, wide[i]), wide[i]})
		for len(runs) > 1 {
			a, b := runs[len(runs)-2], runs[len(runs)-1]
			if a.mid+a.wide/2 <= b.mid-b.wide/2 {
				break
			}
			// The middle of what all members would like, each seen from its run's middle.
			joined := run{first: a.first, last: b.last, wide: a.wide + b.wide}
			off, sum := -joined.wide/2, 0.0
			for j := joined.first; j <= joined.last; j++ {
				sum += tags[j].from - (off + wide[j]/2)
				off += wide[j]
			}
			joined.mid = inside(sum/float64(joined.last-joined.first+1), joined.wide)
			runs = append(runs[:len(runs)-2], joined)
		}
	}
	for _, r := range runs {
		x := r.mid - r.wide/2
		for i := r.first; i <= r.last; i++ {
			tags[i].at = x + wide[i]/2
			x += wide[i]
		}
	}
	return size
}
