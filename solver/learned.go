package solver

import (
	"math"
	"slices"
)

// Learned is what the log has taught about one set, part by part.
type Learned struct {
	Parts []PartEvidence // the pair, then the chippers as in the set, then the runout of each saw it ran on
	Cuts  int            // test cuts counted
	// Measure is the index in Parts of what is most worth a caliper, or -1.
	Measure int
	// Scatter from cut to cut, in inches. Rough says that it is clearly above what
	// is usual: runout, dirt between the plates or a worn piece.
	Scatter float64
	Rough   bool
}

// PartEvidence is what was learned of one part: Mean and SD of its error, inches.
type PartEvidence struct {
	Var
	Mean, SD float64
	// Off says that the error is more than two standard deviations from nothing.
	Off bool
}

// The scatter is called rough when it is at least as likely as roughChance to be
// roughTimes the usual one or more, after roughCuts cuts [shop].
const (
	roughChance = 0.8
	roughTimes  = 1.3
	roughCuts   = 6
)

// CheckRunout is the offset of a whole set on a saw above which runout and
// alignment are checked before shims are trusted [shop; a single blade that cuts
// 1/64 in over its teeth has been seen, sec].
const CheckRunout = 10 * Mil

// Learned is what is known of a set, on the saws named. It says what to measure:
// a part that seems off its size, the farthest first; else, once there are cuts,
// the unmeasured part that leaves a stack with one of each most uncertain, if it
// leaves more than a measured part would.
func (b Belief) Learned(setKey string, set Set, sawKeys ...string) Learned {
	b = b.clone()
	out := Learned{Measure: -1}
	add := func(kind VarKind, key string, nominal Length) {
		i := b.find(kind, key, nominal)
		p := PartEvidence{Var: b.Vars[i], Mean: b.Mean[i], SD: math.Sqrt(b.Cov[tri(i, i)])}
		p.Off = math.Abs(p.Mean) > 2*p.SD
		out.Parts = append(out.Parts, p)
	}
	for _, saw := range slices.Insert(slices.Clone(sawKeys), 0, "") {
		b.admit(setKey, set, saw)
	}
	add(PairError, setKey, 0)
	for _, c := range set.Chippers {
		add(ChipperError, setKey, c.Nominal)
	}
	for _, saw := range sawKeys {
		add(Runout, saw, 0)
	}
	state := b.Sets[b.state(setKey)]
	out.Cuts, out.Scatter = state.Cuts, scatterSD(state.Scatter)
	out.Rough = state.Cuts >= roughCuts && scatterAbove(state.Scatter, roughTimes*PriorScatterSD) >= roughChance
	out.Measure = toMeasure(out.Parts)
	return out
}

func toMeasure(parts []PartEvidence) int {
	best, off, worth := -1, false, 0.0
	for i, p := range parts {
		if p.Measured || p.Kind == Runout || p.Cuts == 0 {
			continue
		}
		w := p.SD - MeasuredPartSD
		if p.Off {
			w = math.Abs(p.Mean) / p.SD
		}
		if p.Off == off && w > worth || p.Off && !off {
			best, off, worth = i, p.Off, w
		}
	}
	return best
}
