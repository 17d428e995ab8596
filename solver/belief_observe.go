package solver

import (
	"math"
	"slices"
)

// Verdict is what became of one entry of the log.
type Verdict struct {
	Fate Fate
	// Released are the cuts, parked as odd before, that this entry bore out. They
	// count from now on.
	Released []int64
}

// Fate is what was done with an entry.
type Fate string

// The fates of an entry.
const (
	Counted  Fate = "counted"
	Odd      Fate = "odd"      // parked: more likely simply wrong than right; measure this one
	Repeated Fate = "repeated" // its cut was counted or parked already: replay the log if the cut was changed
	Untold   Fate = "untold"   // it holds no outcome
	Noted    Fate = "noted"    // no cut, but something done to set or saw
)

// maxParked bounds the odd outcomes that are kept for comparison, so that a
// belief does not grow with the log.
const maxParked = 8

// Replay makes the belief from a whole log in its order. Observing the entries
// one by one gives the same belief.
func Replay(log []Evidence) Belief {
	var b Belief
	for _, e := range log {
		b, _ = b.Observe(e)
	}
	return b
}

// Observe is the belief after one more entry of the log, and what became of it.
//
// The joint normal is kept normal by moment matching: for each scatter of the
// grid the exact moments are taken, then mixed by how well each foretold the
// outcome, and mixed again with "this outcome is simply wrong, nothing learned".
// An outcome more likely wrong than right is parked instead. It is released by
// a second one with which it agrees, when it is likelier that both are right
// than that both are wrong, or when what is learned later makes it likely.
func (b Belief) Observe(e Evidence) (Belief, Verdict) {
	if e.CutID != 0 && e.CutID <= b.Last {
		return b, Verdict{Fate: Repeated}
	}
	b = b.clone()
	b.Last = max(b.Last, e.CutID)
	if e.Upkeep.Kind != "" {
		b.keepUp(e)
		return b, Verdict{Fate: Noted}
	}
	if !e.told() {
		return b, Verdict{Fate: Untold}
	}
	b.admit(e.SetKey, e.Set, e.SawKey)
	b.admitStack(e.SetKey, e.Stack)
	e.Stack = e.Set.Sized(e.Stack)
	e.Set = Set{} // all that it said is in the variables now

	w := b.weigh(e)
	state := &b.Sets[b.state(e.SetKey)]
	consecutive := state.Odd
	state.Odd = w.credence < 0.5
	if !state.Odd {
		b.absorb(e, w, w.credence)
		return b, Verdict{Fate: Counted, Released: b.release(e.SetKey)}
	}
	for i, p := range slices.Backward(b.Parked) {
		if p.SetKey != e.SetKey {
			continue
		}
		both, ok := b.agree(p, e, consecutive)
		consecutive = false // only the newest came just before
		if ok {
			both.Sets[both.state(e.SetKey)].Odd = false
			both.Parked = slices.Delete(both.Parked, i, i+1)
			return both, Verdict{Fate: Counted, Released: append([]int64{p.CutID}, both.release(e.SetKey)...)}
		}
	}
	b.Parked = append(b.Parked, e)
	if len(b.Parked) > maxParked {
		b.Parked = slices.Delete(b.Parked, 0, 1)
	}
	return b, Verdict{Fate: Odd}
}

// admitStack admits the parts of a stack that stand in its set no longer.
func (b *Belief) admitStack(setKey string, s Stack) {
	if b.find(PairError, setKey, 0) < 0 {
		b.admitPart(PairError, setKey, s.Outer, s.Outer.Size != s.Outer.Nominal)
	}
	for _, c := range s.Chippers {
		if b.find(ChipperError, setKey, c.Nominal) < 0 {
			b.admitPart(ChipperError, setKey, c, c.Size != c.Nominal)
		}
	}
}

// weighing is an outcome held against the belief.
type weighing struct {
	width    width
	said     [scatterSizes]between
	scatter  [scatterSizes]float64 // the weights afterwards, if the outcome is right
	right    float64               // likelihood of the outcome if it is right
	credence float64               // chance that it is right
}

func (b Belief) weigh(e Evidence) weighing {
	w := weighing{width: b.width(e.SetKey, e.SawKey, e.Stack)}
	prior := b.Sets[b.state(e.SetKey)].Scatter
	top := math.Inf(-1)
	for k, sd := range scatterGrid {
		w.said[k] = e.likelihood(w.width.mean, w.width.variance+w.width.shimVar+sd*sd)
		if prior[k] > 0 {
			top = max(top, w.said[k].logP)
		}
	}
	sum := 0.0
	for k := range scatterGrid {
		w.scatter[k] = prior[k] * math.Exp(w.said[k].logP-top)
		sum += w.scatter[k]
	}
	for k := range w.scatter {
		w.scatter[k] /= sum
	}
	w.right = sum * math.Exp(top)
	w.credence = (1 - WrongChance) * w.right / ((1-WrongChance)*w.right + WrongChance*e.wrong())
	return w
}

// absorb counts an outcome that is right with the given chance.
func (b *Belief) absorb(e Evidence, w weighing, chance float64) {
	// The mixture's slope is the mean of the slopes; its bend is the mean bend
	// less the variance of the slopes, so that disagreement keeps the belief wide.
	// What a hand gets wrong it gets wrong again, so that no number of feels makes a
	// stack's offset surer than HandSD: one-sided data must not claim certainty.
	var slope, square, bend float64
	for k, said := range w.said {
		p := chance * w.scatter[k]
		slope += p * said.slope
		square += p * said.slope * said.slope
		bend += p * said.bend
	}
	bend -= square - slope*slope
	if v := w.width.variance; e.Groove == 0 {
		bend = min(bend, max(0, 1-HandSD*HandSD/v)/v)
	}
	b.condition(w.width.terms, slope, bend)
	state := &b.Sets[b.state(e.SetKey)]
	for k := range state.Scatter {
		state.Scatter[k] += chance * (w.scatter[k] - state.Scatter[k])
	}
	state.Cuts++
	for _, t := range w.width.terms {
		b.Vars[t.v].Cuts++
	}
}

// agree is the belief with two odd outcomes of one set taken as right, and
// whether that is likelier than that both are wrong. They are right either of the
// set as it is known or, if they came one after the other, of one that has
// changed without a word; the likelier of the two is taken.
func (b Belief) agree(p, e Evidence, consecutive bool) (Belief, bool) {
	out, likely := b.both(p, e)
	if consecutive {
		changed := b.clone()
		pair := b.find(PairError, e.SetKey, 0)
		changed.Cov[tri(pair, pair)] += PriorPairSD * PriorPairSD
		changed, afresh := changed.both(p, e)
		if afresh *= ChangedChance; afresh > likely {
			out, likely = changed, afresh
		}
	}
	right := (1 - WrongChance) * (1 - WrongChance) * likely
	wrong := WrongChance * WrongChance * p.wrong() * e.wrong()
	return out, right > wrong
}

// both is the belief with two outcomes counted as right, and their likelihood.
func (b Belief) both(p, e Evidence) (Belief, float64) {
	b = b.clone()
	first := b.weigh(p)
	b.absorb(p, first, 1)
	second := b.weigh(e)
	b.absorb(e, second, 1)
	return b, first.right * second.right
}

// release counts the parked outcomes of a set that have become likely, and says
// which cuts they were.
func (b *Belief) release(setKey string) []int64 {
	var out []int64
	for i := 0; i < len(b.Parked); i++ {
		p := b.Parked[i]
		if p.SetKey != setKey {
			continue
		}
		if w := b.weigh(p); w.credence >= 0.5 {
			b.absorb(p, w, w.credence)
			out = append(out, p.CutID)
			b.Parked = slices.Delete(b.Parked, i, i+1)
			i = -1 // what it taught may release an earlier one
		}
	}
	return out
}
