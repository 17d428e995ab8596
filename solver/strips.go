package solver

import "slices"

// Strip is a stretch of a board's face, measured across the groove.
type Strip struct{ From, To Length }

// Width is how wide the strip is.
func (s Strip) Width() Length { return s.To - s.From }

// Removal is what is left of a board after some passes, seen across the groove.
type Removal struct {
	Groove Strip   // from the outermost wall on the one side to that on the other
	Ridges []Strip // what still stands between the walls
}

// Simulate removes the strips from a board, each as wide as one cut, in any order.
func Simulate(strips []Strip) Removal {
	if len(strips) == 0 {
		return Removal{}
	}
	sorted := slices.Clone(strips)
	slices.SortFunc(sorted, func(a, b Strip) int { return sign(a.From - b.From) })
	r := Removal{Groove: sorted[0]}
	for _, s := range sorted[1:] {
		if s.From > r.Groove.To {
			r.Ridges = append(r.Ridges, Strip{r.Groove.To, s.From})
		}
		r.Groove.To = max(r.Groove.To, s.To)
	}
	return r
}

// Leaves says whether the removal leaves exactly the groove that was wanted: no
// ridge on its floor, neither wall moved.
func (r Removal) Leaves(groove Strip) bool { return r.Groove == groove && len(r.Ridges) == 0 }
