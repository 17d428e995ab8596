package solver

import (
	"math"
	"slices"
)

// Belief is what one shop believes of the errors of all its sets and saws: one
// joint normal over what each part adds to the width beyond its size, and for
// each set a distribution of the scatter from cut to cut. The zero value is a
// shop that has not cut yet. It is a plain value: no method changes its receiver,
// and it comes back from JSON exactly as it went.
//
// A stack cuts the sum of its parts plus: the error of the outer pair and, times
// its count, of each chipper size (they belong to the set), the runout of the
// saw, the errors of the shims (drawn anew each time) and the scatter. A chipper
// learned on one saw is therefore known on the other.
type Belief struct {
	Version int        `json:"version"`
	Vars    []Var      `json:"vars,omitempty"`
	Mean    []float64  `json:"mean,omitempty"` // inches, one for each of Vars
	Cov     []float64  `json:"cov,omitempty"`  // square inches, lower triangle row by row
	Sets    []SetState `json:"sets,omitempty"`
	Parked  []Evidence `json:"parked,omitempty"` // odd outcomes, oldest first, at most maxParked
	Last    int64      `json:"last,omitempty"`   // the highest Evidence.CutID seen
}

// BeliefVersion is the version of the model. A belief of another version must be
// made anew from the log, with Replay.
const BeliefVersion = 2

// Stale says that a belief was made by another version of the model.
func (b Belief) Stale() bool { return b.Version != 0 && b.Version != BeliefVersion }

// Var names one error of the joint normal.
type Var struct {
	Kind    VarKind `json:"kind"`
	Key     string  `json:"key"`               // of the set; of the saw for Runout
	Nominal Length  `json:"nominal,omitempty"` // of the chipper or pair
	// Base is the size that the error is an error of, Measured whether that size
	// was measured by the shop.
	Base     Length `json:"base,omitempty"`
	Measured bool   `json:"measured,omitempty"`
	Cuts     int    `json:"cuts,omitempty"` // counted cuts that it had a part in
}

// VarKind is the kind of part that an error belongs to.
type VarKind string

// The kinds of error.
const (
	PairError    VarKind = "pair"
	ChipperError VarKind = "chipper"
	Runout       VarKind = "runout"
)

// SetState is what is kept of one set beside the joint normal.
type SetState struct {
	Key     string    `json:"key"`
	Cuts    int       `json:"cuts"`          // test cuts counted
	Scatter []float64 `json:"scatter"`       // weights of scatterGrid, sum 1
	Odd     bool      `json:"odd,omitempty"` // its latest outcome is parked
}

// RunoutSD is the share of a saw's runout in the error of an outer pair, in
// inches [shop]. Runout only widens, but the pair's prior is centred on what sets
// are found to cut on the saws they run on, so what is split off here is how one
// saw's runout differs from a usual one's: as likely less as more, a normal with
// mean 0. Pair and runout together have the prior of the pair alone, so it must
// stay under MeasuredPartSD.
const RunoutSD = 0.0008

// Model is what the belief says of a set on a saw: what the choice of a stack
// needs. A set or saw never seen gives the prior. Sizes that were measured since
// the last cut are taken into account.
func (b Belief) Model(setKey string, set Set, sawKey string) CutModel {
	b = b.clone()
	b.admit(setKey, set, sawKey)
	runout := b.find(Runout, sawKey, 0)
	vars := []int{b.find(PairError, setKey, 0)}
	for _, c := range set.Chippers {
		vars = append(vars, b.find(ChipperError, setKey, c.Nominal))
	}
	m := CutModel{Mean: make([]float64, len(vars)), Cov: make([][]float64, len(vars)), ShimSD: PriorShimSD}
	for i, v := range vars {
		m.Mean[i] = b.Mean[v]
		m.Cov[i] = make([]float64, len(vars))
		for j, w := range vars {
			m.Cov[i][j] = b.Cov[tri(v, w)]
		}
	}
	m.Mean[0] += b.Mean[runout]
	for j, w := range vars {
		m.Cov[0][j] += b.Cov[tri(runout, w)]
		m.Cov[j][0] += b.Cov[tri(runout, w)]
	}
	m.Cov[0][0] += b.Cov[tri(runout, runout)]
	state := b.Sets[b.state(setKey)]
	m.Scatter, m.Cuts = scatterSD(state.Scatter), state.Cuts
	return m
}

// tri is where the covariance of variables i and j stands in Belief.Cov.
func tri(i, j int) int {
	if i < j {
		i, j = j, i
	}
	return i*(i+1)/2 + j
}

func (b Belief) clone() Belief {
	b.Vars, b.Mean, b.Cov = slices.Clone(b.Vars), slices.Clone(b.Mean), slices.Clone(b.Cov)
	b.Sets, b.Parked = slices.Clone(b.Sets), slices.Clone(b.Parked)
	for i := range b.Sets {
		b.Sets[i].Scatter = slices.Clone(b.Sets[i].Scatter)
	}
	return b
}

// find is the index of a variable, or -1. A set has one pair, whatever its size.
func (b Belief) find(kind VarKind, key string, nominal Length) int {
	return slices.IndexFunc(b.Vars, func(v Var) bool {
		return v.Kind == kind && v.Key == key && (kind != ChipperError || v.Nominal == nominal)
	})
}

func (b Belief) state(setKey string) int {
	return slices.IndexFunc(b.Sets, func(s SetState) bool { return s.Key == setKey })
}

// admit makes sure that the belief has a variable for every part of the set and
// for the saw, and that each is an error of the size the part has now.
func (b *Belief) admit(setKey string, set Set, sawKey string) {
	b.Version = BeliefVersion
	if b.state(setKey) < 0 {
		b.Sets = append(b.Sets, SetState{Key: setKey, Scatter: slices.Clone(scatterPrior[:])})
	}
	if b.find(Runout, sawKey, 0) < 0 {
		b.add(Var{Kind: Runout, Key: sawKey}, RunoutSD*RunoutSD)
	}
	if set.Outer.Nominal > 0 {
		b.admitPart(PairError, setKey, set.Outer.Part(), set.Outer.Measured > 0)
	}
	for _, c := range set.Chippers {
		b.admitPart(ChipperError, setKey, c.Part(), c.Measured > 0)
	}
}

func (b *Belief) admitPart(kind VarKind, key string, p Part, measured bool) {
	i := b.find(kind, key, p.Nominal)
	if i < 0 {
		b.add(Var{Kind: kind, Key: key, Nominal: p.Nominal, Base: p.Size, Measured: measured}, priorVar(kind, measured))
		return
	}
	v := &b.Vars[i]
	if measured && (!v.Measured || v.Base != p.Size) {
		// The caliper's word is one more observation of this error alone.
		noise := priorVar(kind, true)
		o := reading(b.Mean[i], math.Sqrt(b.Cov[tri(i, i)]+noise), (p.Size - v.Base).Inches())
		b.condition([]term{{i, 1}}, o.slope, o.bend)
	}
	b.Mean[i] += (v.Base - p.Size).Inches()
	v.Nominal, v.Base, v.Measured = p.Nominal, p.Size, measured
}

// priorVar is the variance of a part's error with nothing learned, in square
// inches. The pair leaves room for the runout of its saw.
func priorVar(kind VarKind, measured bool) float64 {
	switch {
	case kind == Runout:
		return RunoutSD * RunoutSD
	case kind == PairError && measured:
		return MeasuredPartSD*MeasuredPartSD - RunoutSD*RunoutSD
	case kind == PairError:
		return PriorPairSD*PriorPairSD - RunoutSD*RunoutSD
	case measured:
		return MeasuredPartSD * MeasuredPartSD
	}
	return PriorChipperSD * PriorChipperSD
}

// add appends a variable that knows nothing of the others.
func (b *Belief) add(v Var, variance float64) {
	b.Vars, b.Mean = append(b.Vars, v), append(b.Mean, 0)
	b.Cov = append(b.Cov, make([]float64, len(b.Vars))...)
	b.Cov[len(b.Cov)-1] = variance
}

// term is a variable and how many times it enters the width of a stack.
type term struct {
	v int
	n float64
}

// width is what a stack is believed to cut, in inches, but for its scatter: the
// variables in it, its mean, the variance of the variables and that of the shims.
type width struct {
	terms             []term
	mean              float64
	variance, shimVar float64
}

// width of a stack whose parts have all been admitted.
func (b Belief) width(setKey, sawKey string, s Stack) width {
	shims := s.Shims()
	w := width{mean: partsSum(shims).Inches(), shimVar: float64(len(shims)) * PriorShimSD * PriorShimSD}
	w.terms = append(w.terms, term{b.find(Runout, sawKey, 0), 1}, term{b.find(PairError, setKey, 0), 1})
	for _, c := range s.Chippers {
		v := b.find(ChipperError, setKey, c.Nominal)
		if i := slices.IndexFunc(w.terms, func(t term) bool { return t.v == v }); i >= 0 {
			w.terms[i].n++
		} else {
			w.terms = append(w.terms, term{v, 1})
		}
	}
	for _, t := range w.terms {
		w.mean += t.n * (b.Vars[t.v].Base.Inches() + b.Mean[t.v])
		for _, u := range w.terms {
			w.variance += t.n * u.n * b.Cov[tri(t.v, u.v)]
		}
	}
	return w
}

// condition updates the joint normal for an observation of the sum of the terms
// of which the likelihood has this slope and bend (see between): the mean moves
// by C·h·slope, the covariance by -(C·h)(C·h)'·bend, C being the covariance and
// h the terms. For a reading that is the Kalman gain.
func (b *Belief) condition(terms []term, slope, bend float64) {
	gain := make([]float64, len(b.Vars))
	for i := range gain {
		for _, t := range terms {
			gain[i] += t.n * b.Cov[tri(i, t.v)]
		}
	}
	for i, g := range gain {
		b.Mean[i] += g * slope
		for j := range i + 1 {
			b.Cov[tri(i, j)] -= g * gain[j] * bend
		}
	}
}
