package solver

import (
	"math"
	"testing"
)

// Tight or loose at known widths is a probit. Bliss (1935), carbon disulphide and
// flour beetles [data from memory]: dose, number, killed. With a flat prior the
// likelihood that the update uses must give the published fit: intercept -34.935,
// slope 19.728, that is a threshold of 1.77085 with a scatter of 0.050690.
func TestProbitFitsBliss(t *testing.T) {
	data := []struct{ dose, n, killed float64 }{
		{1.6907, 59, 6},
		{1.7242, 60, 13},
		{1.7552, 62, 18},
		{1.7842, 56, 28},
		{1.8113, 63, 52},
		{1.8369, 59, 53},
		{1.8610, 62, 61},
		{1.8839, 60, 60},
	}
	// Newton's method: the play is intercept + slope·dose in units of the scatter,
	// loose above nothing, tight below.
	intercept, slope := 0.0, 0.0
	for range 25 {
		var g0, g1, h00, h01, h11 float64
		for _, d := range data {
			m := intercept + slope*d.dose
			loose, tight := probit(m, 1, 0, math.Inf(1)), probit(m, 1, math.Inf(-1), 0)
			g := d.killed*loose.slope + (d.n-d.killed)*tight.slope
			h := d.killed*loose.bend + (d.n-d.killed)*tight.bend
			g0, g1 = g0+g, g1+g*d.dose
			h00, h01, h11 = h00+h, h01+h*d.dose, h11+h*d.dose*d.dose
		}
		det := h00*h11 - h01*h01
		intercept += (h11*g0 - h01*g1) / det
		slope += (h00*g1 - h01*g0) / det
	}
	for _, c := range []struct {
		what            string
		got, want, last float64
	}{
		{"intercept", intercept, -34.935, 0.0005},
		{"slope", slope, 19.728, 0.0005},
		{"threshold", -intercept / slope, 1.77085, 0.000005},
		{"scatter", 1 / slope, 0.050690, 0.0000005},
	} {
		if math.Abs(c.got-c.want) > c.last {
			t.Errorf("%s %.7g, want %.7g", c.what, c.got, c.want)
		}
	}
}
