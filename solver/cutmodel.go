package solver

// CutModel is what is believed of how far one set on one saw departs from the
// sum of its parts, as far as a choice of stack needs it: a normal over the
// error of the outer pair (with the saw's runout) and of one chipper of each
// size. All figures are inches, or inches squared.
type CutModel struct {
	// Mean[0] is the pair's error, Mean[1+i] that of one chipper of Set.Chippers[i].
	Mean []float64
	// Cov is their covariance, (1+len(Chippers)) square.
	Cov [][]float64
	// ShimSD is the standard deviation of each shim, Scatter that from cut to cut.
	ShimSD, Scatter float64
	// Cuts is how many test cuts of this set stand behind the model.
	Cuts int
}

// The standard deviations with nothing learned yet, in inches. They are
// assumptions [shop], not measurements; a shop's own test cuts replace them.
const (
	PriorPairSD    = 0.004
	PriorChipperSD = 0.002 // each chipper size, times its count in the stack
	PriorShimSD    = 0.0005
	PriorScatterSD = 0.0015
	MeasuredPartSD = 0.001 // a part that the shop has measured
)

// PriorModel is the belief about a set of which no cut is known.
func PriorModel(set Set) CutModel {
	n := 1 + len(set.Chippers)
	m := CutModel{Mean: make([]float64, n), Cov: make([][]float64, n), ShimSD: PriorShimSD, Scatter: PriorScatterSD}
	sd := func(prior float64, measured Length) float64 {
		if measured > 0 {
			return MeasuredPartSD
		}
		return prior
	}
	for i := range m.Cov {
		m.Cov[i] = make([]float64, n)
		s := sd(PriorPairSD, set.Outer.Measured)
		if i > 0 {
			s = sd(PriorChipperSD, set.Chippers[i-1].Measured)
		}
		m.Cov[i][i] = s * s
	}
	return m
}

// Offset is the expected departure from the sum, in inches, and its variance, in
// inches squared, of a stack with n[i] chippers of size i; shims and the scatter
// of a cut are not in it.
func (m CutModel) Offset(n []int) (mean, variance float64) {
	mean, variance = m.Mean[0], m.Cov[0][0]
	for i, a := range n {
		if a == 0 {
			continue
		}
		fa := float64(a)
		mean += fa * m.Mean[1+i]
		variance += 2 * fa * m.Cov[0][1+i]
		for j, b := range n {
			variance += fa * float64(b) * m.Cov[1+i][1+j]
		}
	}
	return mean, variance
}
