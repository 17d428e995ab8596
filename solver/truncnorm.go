package solver

import "math"

// between is what an observation "q + noise lay in [lo, hi]" says about a normal
// quantity q: the logarithm of its probability and the first two derivatives of
// that logarithm with respect to the mean of q.
//
// With q ~ N(m, v) and s² = v + noise², the exact moments of q afterwards are
// m + v·slope and v - v²·bend: the moments of the product of a normal density
// with a difference of two normal cumulative ones, that is of a normal truncated
// at edges made fuzzy by the noise (Johnson, Kotz and Balakrishnan, Continuous
// Univariate Distributions 1, section 13.10 [mem]).
type between struct {
	logP  float64 // log P(lo <= q + noise <= hi)
	slope float64 // d logP / dm
	bend  float64 // -d² logP / dm², between 0 and 1/s²
}

// probit is the likelihood of an outcome by feel: mean m and standard deviation
// s > 0 of the play as the hand feels it, lo < hi the edges of the grade, either
// of which may be infinite.
func probit(m, s, lo, hi float64) between {
	a, b := (lo-m)/s, (hi-m)/s
	flip := 1.0
	if a+b < 0 { // reflect, so that the bulk of the interval is in the right half
		a, b, flip = -b, -a, -1
	}
	var logP, slope, bend float64
	if a > 0 {
		logP, slope, bend = upperTail(a, b)
	} else {
		p := (math.Erf(b/math.Sqrt2) - math.Erf(a/math.Sqrt2)) / 2
		fa, fb := density(a)/p, density(b)/p
		logP, slope = math.Log(p), fa-fb
		bend = slope*slope - (finite(a)*fa - finite(b)*fb)
	}
	// Rounding may carry the variance just outside (0, 1] when the interval is
	// narrow and far out; an observation never teaches more than everything.
	bend = min(max(bend, 0), 1)
	return between{logP: logP, slope: flip * slope / s, bend: bend / (s * s)}
}

// upperTail is the standard normal between a > 0 and b > a. Everything is taken
// relative to the density at a, so that nothing underflows however far out it is.
func upperTail(a, b float64) (logP, slope, bend float64) {
	w := math.Exp((a - b) * (a + b) / 2) // density(b) / density(a); 0 for b = +Inf
	d := mills(a)
	if w > 0 {
		d -= w * mills(b)
	}
	slope = (1 - w) / d
	logP = -a*a/2 - math.Log(2*math.Pi)/2 + math.Log(d)
	bend = slope*slope - (a-finite(b)*w)/d
	return logP, slope, bend
}

// mills is the Mills ratio (1 - Phi(x)) / phi(x) for x > 0: from erfc near the
// middle, by Laplace's continued fraction x + 1/(x + 2/(x + 3/...)) in the tail
// (Abramowitz and Stegun 26.2.14 [mem]).
func mills(x float64) float64 {
	if x < 5 {
		return math.Sqrt(math.Pi/2) * math.Exp(x*x/2) * math.Erfc(x/math.Sqrt2)
	}
	f := x
	for k := 80.0; k >= 1; k-- {
		f = x + k/f
	}
	return 1 / f
}

func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// finite is x, and 0 for an infinite x, whose density is 0 too.
func finite(x float64) float64 {
	if math.IsInf(x, 0) {
		return 0
	}
	return x
}

// reading is the likelihood of a measured value y of q + noise: mean m and
// standard deviation s > 0 of what the caliper would show. logP is a density.
func reading(m, s, y float64) between {
	z := (y - m) / s
	return between{
		logP:  -z*z/2 - math.Log(s) - math.Log(2*math.Pi)/2,
		slope: z / s,
		bend:  1 / (s * s),
	}
}
