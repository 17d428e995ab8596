package solver

// Upkeep is something done to a set or a saw, or said of it, that makes what was
// learned about it less certain. Time alone is none.
type Upkeep struct {
	Kind UpkeepKind `json:"kind,omitempty"`
	// Chipper is the nominal size of the chipper it is about; 0 for the outer
	// pair, or, of kinds that are about a whole set, for all of it.
	Chipper Length `json:"chipper,omitempty"`
}

// UpkeepKind is the kind of an upkeep.
type UpkeepKind string

// The kinds of upkeep. Those of a set name it in Evidence.SetKey; Trued is the
// saw in Evidence.SawKey.
const (
	// Sharpened: the outer pair may cut narrower than before. What a chipper adds
	// is its hub, which is not ground, so chippers stay known.
	Sharpened UpkeepKind = "sharpened"
	// Replaced: the pair, or the chippers of one size, are others now.
	Replaced UpkeepKind = "replaced"
	// Doubted: the shop's word that the set does not cut as it did.
	Doubted UpkeepKind = "doubted"
	// Forgotten: the shop's word to begin anew with the set.
	Forgotten UpkeepKind = "forgotten"
	// Trued: the saw's arbor or flanges were worked on or replaced.
	Trued UpkeepKind = "trued"
)

// What a change adds to the standard deviations, in inches [shop]: a grinding
// takes a thousandth or two off the width of a pair, a doubt half of what was
// not known in the beginning.
const (
	SharpenedSD = 0.002
	doubtShare  = 0.5
)

// keepUp applies an upkeep entry of the log.
func (b *Belief) keepUp(e Evidence) {
	for i, v := range b.Vars {
		if v.Kind == Runout {
			if e.Upkeep.Kind == Trued && v.Key == e.SawKey {
				b.reset(i)
			}
			continue
		}
		if v.Key != e.SetKey {
			continue
		}
		named := v.Kind == PairError
		if e.Upkeep.Chipper > 0 {
			named = v.Kind == ChipperError && v.Nominal == e.Upkeep.Chipper
		}
		switch e.Upkeep.Kind {
		case Sharpened:
			if v.Kind == PairError {
				b.Cov[tri(i, i)] += SharpenedSD * SharpenedSD
			}
		case Replaced:
			if named {
				b.Vars[i].Base, b.Vars[i].Measured = v.Nominal, false // the size was of the old one
				b.reset(i)
			}
		case Doubted:
			if named || e.Upkeep.Chipper == 0 {
				b.Cov[tri(i, i)] += doubtShare * doubtShare * priorVar(v.Kind, v.Measured)
			}
		case Forgotten:
			b.reset(i)
		}
	}
	if e.Upkeep.Kind == Trued {
		return
	}
	// Fresh edges, other pieces or a clean start: the scatter is open again, and
	// odd outcomes of the old state bear out nothing in the new one.
	if s := b.state(e.SetKey); s >= 0 {
		copy(b.Sets[s].Scatter, scatterPrior[:])
		b.Sets[s].Odd = false
		if e.Upkeep.Kind == Forgotten {
			b.Sets[s].Cuts = 0
		}
	}
	kept := b.Parked[:0]
	for _, p := range b.Parked {
		if p.SetKey != e.SetKey {
			kept = append(kept, p)
		}
	}
	b.Parked = kept
}

// reset forgets all that was learned of one variable, its ties to others too.
func (b *Belief) reset(i int) {
	for j := range b.Vars {
		b.Cov[tri(i, j)] = 0
	}
	b.Mean[i] = 0
	b.Cov[tri(i, i)] = priorVar(b.Vars[i].Kind, b.Vars[i].Measured)
	b.Vars[i].Cuts = 0
}
