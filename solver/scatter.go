package solver

import "math"

// How wide the scatter from cut to cut may be is learned for each set on a small
// fixed grid of values, each with a weight that a cut multiplies by how well the
// value foretold it (Bayes' rule). Weights before any cut: about 1.5 thousandths,
// half and double that well possible, three times that not excluded [shop].
var (
	scatterSteps = [...]float64{-2, -1, 0, 1, 2, 3} // half octaves from the middle value
	scatterPrior = [...]float64{0.15, 0.28, 0.32, 0.16, 0.07, 0.02}
	scatterGrid  = newScatterGrid()
)

const scatterSizes = len(scatterPrior)

// newScatterGrid scales the grid so that its mean square under the weights above
// is the square of PriorScatterSD: with nothing learned the figure is the prior's.
func newScatterGrid() [scatterSizes]float64 {
	var grid [scatterSizes]float64
	square := 0.0
	for k, step := range scatterSteps {
		grid[k] = math.Pow(2, step/2)
		square += scatterPrior[k] * grid[k] * grid[k]
	}
	for k := range grid {
		grid[k] *= PriorScatterSD / math.Sqrt(square)
	}
	return grid
}

// scatterSD is the root mean square of the scatter under the weights, in inches.
func scatterSD(weights []float64) float64 {
	square := 0.0
	for k, w := range weights {
		square += w * scatterGrid[k] * scatterGrid[k]
	}
	return math.Sqrt(square)
}

// scatterAbove is the chance under the weights that the scatter is at least sd.
func scatterAbove(weights []float64, sd float64) float64 {
	p := 0.0
	for k, w := range weights {
		if scatterGrid[k] >= sd {
			p += w
		}
	}
	return p
}
