package solver

import "slices"

// Lots sorts readings that no single dado fits into the fewest lots that one
// dado each fits: every lot spreads by no more than the snug range. Thinnest lot
// first, each in rising order. Filling each lot from its thinnest piece up is
// optimal: a lot that begins there cannot begin lower.
func Lots(readings []Length, g Grades) [][]Length {
	sorted := slices.Sorted(slices.Values(readings))
	var lots [][]Length
	for _, r := range sorted {
		if n := len(lots); n > 0 && !g.Window(r, lots[n-1][0]).Empty() {
			lots[n-1] = append(lots[n-1], r)
			continue
		}
		lots = append(lots, []Length{r})
	}
	return lots
}
