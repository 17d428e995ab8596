package solver

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// The oracle is Gauss-Legendre quadrature of the plain definition, over the part
// of the interval that carries the mass.
func TestProbitAgainstQuadrature(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct{ m, s, lo, hi float64 }{
		{0, 1, -1, 1},
		{0.0045, 0.0043, 0.001, 0.008}, // snug, nothing learned
		{0.0045, 0.0016, 0.001, 0.008},
		{0.0045, 0.0016, 0.008, 0.015},
		{0.0045, 0.0016, 0.015, inf}, // 6.6 sd out
		{0.0045, 0.0016, -inf, -0.004},
		{0, 1, 5, 5.5},
		{0, 1, -9, -8},
		{0, 1, 4.9, 5.1}, // the seam between erfc and the continued fraction
		{3, 2, -inf, 1},
		{0, 1, 30, inf},
		{0, 1, -30, 0.2},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			got := probit(c.m, c.s, c.lo, c.hi)
			// density relative to its largest in the interval, so that nothing underflows
			near := min(max(c.m, c.lo), c.hi)
			log := func(x float64) float64 { return -(x - c.m) * (x - c.m) / (2 * c.s * c.s) }
			from, to := max(c.lo, min(c.m, near)-12*c.s), min(c.hi, max(c.m, near)+12*c.s)
			if d := math.Abs(near-c.m) / c.s; d > 1 { // far out the mass decays like exp(-d x / s)
				from, to = max(from, near-40*c.s/d), min(to, near+40*c.s/d)
			}
			moment := func(k int) float64 {
				f := func(x float64) float64 { return math.Pow(x-near, float64(k)) * math.Exp(log(x)-log(near)) }
				return quad.Fixed(f, from, to, 400, quad.Legendre{}, 0)
			}
			z := moment(0)
			mean := near + moment(1)/z
			variance := moment(2)/z - (mean-near)*(mean-near)
			logP := math.Log(z) + log(near) - math.Log(c.s) - math.Log(2*math.Pi)/2
			// With no other noise the quantity itself is truncated: v = s².
			v := c.s * c.s
			for _, x := range []struct {
				what      string
				got, want float64
				scale     float64
			}{
				{"log probability", got.logP, logP, 1},
				{"mean", c.m + v*got.slope, mean, math.Sqrt(variance)},
				{"variance", v - v*v*got.bend, variance, variance},
			} {
				if math.Abs(x.got-x.want) > 1e-8*x.scale {
					t.Errorf("%s %.15g, quadrature %.15g", x.what, x.got, x.want)
				}
			}
		})
	}
}

// A quantity whose observation is fuzzy: the oracle multiplies the normal by the
// difference of two cumulative normals at each point of the quadrature.
func TestFuzzyEdgesAgainstQuadrature(t *testing.T) {
	const m, sd, fuzz, lo, hi = 0.003, 0.004, 0.0015, 0.001, 0.008
	phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
	moment := func(k int) float64 {
		return quad.Fixed(func(x float64) float64 {
			return math.Pow(x, float64(k)) * density((x-m)/sd) / sd * (phi((hi-x)/fuzz) - phi((lo-x)/fuzz))
		}, m-10*sd, m+10*sd, 400, quad.Legendre{}, 0)
	}
	z := moment(0)
	mean := moment(1) / z
	variance := moment(2)/z - mean*mean
	got := probit(m, math.Hypot(sd, fuzz), lo, hi)
	v := sd * sd
	if d := math.Abs(m + v*got.slope - mean); d > 1e-12 {
		t.Errorf("mean off by %g", d)
	}
	if d := math.Abs(v - v*v*got.bend - variance); d > 1e-14 {
		t.Errorf("variance off by %g", d)
	}
	if d := math.Abs(math.Exp(got.logP) - z); d > 1e-12 {
		t.Errorf("probability off by %g", d)
	}
}

// However far out, the figures stay finite and teach neither less than nothing
// nor more than everything.
func TestProbitFarOut(t *testing.T) {
	for _, far := range []float64{10, 1e2, 1e4, 1e6} {
		for _, wide := range []float64{1e-6, 1, math.Inf(1)} {
			for _, side := range []float64{-1, 1} {
				lo, hi := far, far+wide
				if side < 0 {
					lo, hi = -hi, -lo
				}
				g := probit(0, 1, lo, hi)
				at := side * g.slope
				if math.IsNaN(g.logP) || g.bend < 0 || g.bend > 1 || at < far*(1-1e-9) || at > far+1/far+1e-6 {
					t.Errorf("[%g, %g]: %+v", lo, hi, g)
				}
			}
		}
	}
}
