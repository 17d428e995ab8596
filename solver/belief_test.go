package solver

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
)

// bladeCut is a measured groove of an ordinary blade.
func bladeCut(id int64, groove float64) Evidence {
	set := GenericBlade()
	return Evidence{
		CutID: id, SetKey: "blade", SawKey: "saw", Set: set,
		Stack:  Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}},
		Groove: InchesFloat(groove), Grades: DefaultGrades(),
	}
}

// Practice case P06: kerf 0.125 nominal, three grooves of 0.1406. With the prior
// SD 0.004, scatter 0.0015 and caliper 0.001 the closed form is
// 0.0156 * 16/(16 + (2.25+1)/3) = 0.0146 +- sqrt(16*1.083/17.083) = 0.0010.
// The scatter being unknown too, the belief may be a little wider than that.
func TestKerfWiderThanTooth(t *testing.T) {
	var b Belief
	for id := range int64(3) {
		var v Verdict
		b, v = b.Observe(bladeCut(id+1, 0.1406))
		if v.Fate != Counted {
			t.Errorf("cut %d: %s, want counted", id+1, v.Fate)
		}
	}
	m := b.Model("blade", GenericBlade(), "saw")
	mean, variance := m.Offset(nil)
	if math.Abs(mean-0.0146) > 0.0015 || math.Sqrt(variance) > 0.0015 || m.Cuts != 3 {
		t.Errorf("offset %.4f +- %.4f from %d cuts, want 0.0146 +- 0.0010 from 3", mean, math.Sqrt(variance), m.Cuts)
	}
	t.Logf("offset %+.5f +- %.5f, scatter %.5f", mean, math.Sqrt(variance), m.Scatter)
}

func TestPriorIsTheIssues(t *testing.T) {
	set := GenericInchSet()
	set.Chippers[1].Measured = set.Chippers[1].Nominal + Mil
	measured := set
	measured.Outer.Measured = measured.Outer.Nominal
	for _, s := range []Set{set, measured, GenericMetricSet(), GenericBlade()} {
		got, want := Belief{}.Model("a", s, "b"), PriorModel(s)
		if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-15 })); diff != "" {
			t.Error(diff)
		}
	}
}

func TestBeliefComesBackFromJSON(t *testing.T) {
	b := Replay([]Evidence{bladeCut(1, 0.127), bladeCut(2, 0.9), bladeCut(3, 0.1283)})
	if len(b.Parked) != 1 {
		t.Fatal("the groove of 0.9 in should be parked")
	}
	text, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	var back Belief
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(b, back); diff != "" {
		t.Error(diff)
	}
}

// randomCuts are measured grooves of random stacks of two sets on two saws.
func randomCuts(rng *rand.Rand, n int) []Evidence {
	var out []Evidence
	for id := range int64(n) {
		set := GenericInchSet()
		s := Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}}
		for _, c := range set.Chippers {
			for range rng.IntN(c.Count + 1) {
				s.Chippers = append(s.Chippers, c.Part())
				s.Gaps = append(s.Gaps, nil)
			}
		}
		for range rng.IntN(3) {
			s.Gaps[0] = append(s.Gaps[0], set.Shims[rng.IntN(len(set.Shims))].Part())
		}
		out = append(out, Evidence{
			CutID: id + 1, Set: set, Stack: s, Grades: DefaultGrades(),
			SetKey: fmt.Sprint(rng.IntN(2)), SawKey: fmt.Sprint(rng.IntN(2)),
			Groove: s.Sum() + InchesFloat(0.003*rng.NormFloat64()),
		})
	}
	return out
}

// With the scatter known and no outcome doubted, measured grooves are a Bayesian
// linear regression. Oracle, from a textbook by memory: Bishop, Pattern Recognition
// and Machine Learning (2006), eq. 3.50 and 3.51: S^-1 = S0^-1 + H'BH and
// m = S (S0^-1 m0 + H'By), B the diagonal of the noises' precisions.
func TestReadingsAreALinearRegression(t *testing.T) {
	const k = 3 // of the scatter grid
	rng := rand.New(rand.NewPCG(3, 50))
	cuts := randomCuts(rng, 60)
	var b Belief
	for _, e := range cuts {
		b.admit(e.SetKey, e.Set, e.SawKey)
	}
	for i := range b.Sets {
		clear(b.Sets[i].Scatter)
		b.Sets[i].Scatter[k] = 1
	}
	n := len(b.Vars)
	precision := mat.NewSymDense(n, nil)
	for i, v := range b.Vars {
		precision.SetSym(i, i, 1/priorVar(v.Kind, false))
	}
	shift := mat.NewVecDense(n, nil)
	for _, e := range cuts {
		h := mat.NewVecDense(n, nil)
		for i, v := range b.Vars {
			switch {
			case v.Kind == Runout && v.Key == e.SawKey, v.Kind == PairError && v.Key == e.SetKey:
				h.SetVec(i, 1)
			case v.Kind == ChipperError && v.Key == e.SetKey:
				for _, c := range e.Stack.Chippers {
					if c.Nominal == v.Nominal {
						h.SetVec(i, h.AtVec(i)+1)
					}
				}
			}
		}
		noise := scatterGrid[k]*scatterGrid[k] + 0.001*0.001 + float64(len(e.Stack.Shims()))*0.0005*0.0005
		precision.SymRankOne(precision, 1/noise, h)
		shift.AddScaledVec(shift, (e.Groove-e.Stack.Sum()).Inches()/noise, h)

		b.absorb(e, b.weigh(e), 1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(precision) {
		t.Fatal("the oracle's precision is not positive definite")
	}
	var mean mat.VecDense
	var cov mat.SymDense
	if err := chol.SolveVecTo(&mean, shift); err != nil {
		t.Fatal(err)
	}
	if err := chol.InverseTo(&cov); err != nil {
		t.Fatal(err)
	}
	for i := range n {
		if d := math.Abs(b.Mean[i] - mean.AtVec(i)); !(d <= 1e-12) {
			t.Errorf("%v: mean off by %g in", b.Vars[i], d)
		}
		for j := range n {
			if d := math.Abs(b.Cov[tri(i, j)] - cov.At(i, j)); !(d <= 1e-15) {
				t.Errorf("%v, %v: covariance off by %g", b.Vars[i], b.Vars[j], d)
			}
		}
	}
}

func TestReplayIsObservingOneByOne(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	log := randomCuts(rng, 80)
	for i := range log {
		switch i % 4 {
		case 0:
			log[i].Groove, log[i].Feel = 0, AllGrades[rng.IntN(5)]
			log[i].Stock = MeasuredPiece(log[i].Stack.Sum() - 4*Mil)
		case 1:
			log[i].Groove, log[i].Slips = 0, Slips{rng.IntN(3), PaperSlip}
			log[i].Stock = PieceLike([]Length{log[i].Stack.Sum() - 3*Mil, log[i].Stack.Sum() - 5*Mil})
		}
	}
	log[40] = Evidence{CutID: 41, SetKey: "1", Upkeep: Upkeep{Kind: Sharpened}}
	var b Belief
	for _, e := range log {
		before, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		next, _ := b.Observe(e)
		if after, _ := json.Marshal(b); string(after) != string(before) {
			t.Fatal("Observe changed its receiver")
		}
		text, _ := json.Marshal(next) // as through the database
		b = Belief{}
		if err := json.Unmarshal(text, &b); err != nil {
			t.Fatal(err)
		}
		if again, v := b.Observe(e); v.Fate != Repeated || !cmp.Equal(again, b) {
			t.Fatalf("cut %d counted twice: %v", e.CutID, v)
		}
	}
	if diff := cmp.Diff(Replay(log), b, cmp.Comparer(func(x, y float64) bool { return math.Abs(x-y) < 1e-9 })); diff != "" {
		t.Error(diff)
	}
	if b.Last != 80 {
		t.Errorf("last cut %d, want 80", b.Last)
	}
}

// A chipper learned on one saw is known on the other; the saw's runout is not.
func TestChipperIsKnownOnTheOtherSaw(t *testing.T) {
	set := GenericInchSet()
	pair := Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}}
	one := Stack{Outer: set.Outer.Part(), Chippers: []Part{set.Chippers[0].Part()}, Gaps: [][]Part{nil, nil}}
	var b Belief
	for id := range int64(20) {
		s, off := pair, 0.001
		if id%2 == 1 {
			s, off = one, -0.002 // the chipper is 0.003 in under
		}
		b, _ = b.Observe(Evidence{CutID: id + 1, SetKey: "a", SawKey: "near", Set: set, Stack: s, Groove: s.Sum() + InchesFloat(off)})
	}
	near, far := b.Model("a", set, "near"), b.Model("a", set, "far")
	if near.Mean[1] != far.Mean[1] || math.Abs(far.Mean[1]+0.003) > 0.0008 || math.Sqrt(far.Cov[1][1]) > 0.001 {
		t.Errorf("1/8 chipper %+.4f +- %.4f on the other saw, want about -0.003", far.Mean[1], math.Sqrt(far.Cov[1][1]))
	}
	if got, least := far.Cov[0][0]-near.Cov[0][0], 0.5*RunoutSD*RunoutSD; got < least {
		t.Errorf("the other saw's runout adds %g to the pair's variance, want at least %g", got, least)
	}
	if other := b.Model("b", set, "near"); other.Cov[1][1] != PriorChipperSD*PriorChipperSD {
		t.Error("another set's chipper should not be known")
	}
}

func TestOddOutcomes(t *testing.T) {
	dialled := make([]Evidence, 0, 8)
	for id := range int64(8) {
		dialled = append(dialled, bladeCut(id+1, 0.126+0.001*float64(id%2)))
	}
	known := Replay(dialled)
	feel := func(id int64, g Grade, stock float64) Evidence {
		e := bladeCut(id, 0)
		e.Feel, e.Stock = g, MeasuredPiece(InchesFloat(stock))
		return e
	}
	const snugStock = 0.122
	for _, c := range []struct {
		name   string
		cuts   []Evidence
		fates  []Fate
		freed  []int64
		parked int
	}{
		{"snug is no surprise", []Evidence{feel(11, Snug, snugStock)}, []Fate{Counted}, nil, 0},
		{"one odd cut is parked", []Evidence{feel(11, WontEnter, snugStock)}, []Fate{Odd}, nil, 1},
		{"and nothing is learned from it", []Evidence{feel(11, WontEnter, snugStock), feel(12, Snug, snugStock)}, []Fate{Odd, Counted}, nil, 1},
		{"a second one the other way does not agree", []Evidence{feel(11, WontEnter, snugStock), feel(12, Sloppy, snugStock)}, []Fate{Odd, Odd}, nil, 2},
		{"a second one that agrees releases both", []Evidence{feel(11, Sloppy, snugStock), feel(12, Sloppy, snugStock)}, []Fate{Odd, Counted}, []int64{11}, 0},
		{"so does a measurement", []Evidence{feel(11, Sloppy, snugStock), bladeCut(12, 0.1406)}, []Fate{Odd, Counted}, []int64{11}, 0},
		{"a reading of another groove stays out", []Evidence{bladeCut(11, 0.75), bladeCut(12, 0.1262)}, []Fate{Odd, Counted}, nil, 1},
		{"two of them out of tune stay out", []Evidence{bladeCut(11, 0.75), bladeCut(12, 0.5)}, []Fate{Odd, Odd}, nil, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := known
			var freed []int64
			for i, e := range c.cuts {
				var v Verdict
				b, v = b.Observe(e)
				if v.Fate != c.fates[i] {
					t.Errorf("cut %d: %s, want %s", e.CutID, v.Fate, c.fates[i])
				}
				freed = append(freed, v.Released...)
			}
			if !cmp.Equal(freed, c.freed) || len(b.Parked) != c.parked {
				t.Errorf("released %v, parked %d; want %v, %d", freed, len(b.Parked), c.freed, c.parked)
			}
			counted := len(known.Sets) + 7 + len(c.cuts) - c.parked
			if got := b.Sets[0].Cuts; got != counted {
				t.Errorf("%d cuts counted, want %d", got, counted)
			}
		})
	}
	b := known
	for id := range int64(3 * maxParked) {
		b, _ = b.Observe(bladeCut(100+id, 1+float64(id)))
	}
	if len(b.Parked) != maxParked {
		t.Errorf("%d parked, want at most %d", len(b.Parked), maxParked)
	}
}

// By feel the normal is an approximation. The oracle is the exact posterior of the
// offset by quadrature, every scatter of the grid and the chance of a wrong outcome
// included: the mean is held within half of its standard deviation, which is held
// within 25 %.
func TestFeelsAgainstExactPosterior(t *testing.T) {
	grades := map[rune]Grade{'t': Tight, 's': Snug, 'l': Loose}
	for _, feels := range []string{"t", "s", "l", "ttt", "lll", "ts", "ls", "ssss", "tsss", "ttss", "lsssss", "tssls"} {
		t.Run(feels, func(t *testing.T) {
			var b Belief
			var cuts []Evidence
			for i, f := range feels {
				e := bladeCut(int64(i+1), 0)
				e.Feel, e.Stock = grades[f], MeasuredPiece(e.Stack.Sum()-9*Mil/2)
				cuts = append(cuts, e)
				b, _ = b.Observe(e)
			}
			mean, variance := b.Model("blade", GenericBlade(), "saw").Offset(nil)
			moment := func(p int) float64 {
				return quad.Fixed(func(x float64) float64 {
					sum := 0.0
					for k, sd := range scatterGrid {
						like := scatterPrior[k]
						for _, e := range cuts {
							said := e.likelihood(e.Stack.Sum().Inches()+x, sd*sd)
							like *= (1-WrongChance)*math.Exp(said.logP) + WrongChance*wrongFeel
						}
						sum += like
					}
					return math.Pow(x, float64(p)) * density(x/PriorPairSD) * sum
				}, -8*PriorPairSD, 8*PriorPairSD, 800, quad.Legendre{}, 0)
			}
			z := moment(0)
			wantMean := moment(1) / z
			wantSD := math.Sqrt(moment(2)/z - wantMean*wantMean)
			sd := math.Sqrt(variance)
			if len(b.Parked) > 0 || math.Abs(mean-wantMean) > wantSD/2 || math.Abs(sd-wantSD) > wantSD/4 {
				t.Errorf("offset %+.5f +- %.5f, exactly %+.5f +- %.5f, %d parked", mean, sd, wantMean, wantSD, len(b.Parked))
			}
		})
	}
}

// However often the same side is reported, the belief stays finite, keeps some
// doubt, and gives way when cuts on the other side come in: here the offset is just
// under the edge of tight, so that nothing but tight was ever seen of this stack.
func TestOneSidedDataClaimsNoCertainty(t *testing.T) {
	const offset = -0.0040
	set := GenericBlade()
	cut := func(b Belief, id int64, play float64) Belief {
		e := bladeCut(id, 0)
		e.Feel = DefaultGrades().Of(InchesFloat(play))
		e.Stock = MeasuredPiece(e.Stack.Sum() + InchesFloat(offset-play))
		b, _ = b.Observe(e)
		return b
	}
	var b Belief
	for id := range int64(1000) {
		b = cut(b, id+1, 0.0005)
	}
	mean, variance := b.Model("blade", set, "saw").Offset(nil)
	if sd := math.Sqrt(variance); math.IsNaN(mean) || sd < 0.0004 || math.Abs(mean) > 3*PriorPairSD {
		t.Fatalf("offset %+.5f +- %.5f after tight alone", mean, sd)
	}
	for id := range int64(12) {
		b = cut(b, 1001+id, []float64{0.0045, 0.0085, 0.0005}[id%3])
	}
	if mean, _ := b.Model("blade", set, "saw").Offset(nil); math.Abs(mean-offset) > 0.0015 {
		t.Errorf("offset %+.5f after twelve cuts on both sides, truly %+.5f", mean, offset)
	}
}

// What an outcome says of the play, in thousandths of an inch: facts.md, section 3,
// and slips of 0.004 in.
func TestInterval(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		feel   Grade
		slips  Slips
		lo, hi float64
	}{
		{WontEnter, Slips{}, -inf, -4},
		{Tight, Slips{}, -4, 1},
		{Snug, Slips{}, 1, 8},
		{Loose, Slips{}, 8, 15},
		{Sloppy, Slips{}, 15, inf},
		{"", Slips{2, PaperSlip}, 8, 12},
		{"", Slips{0, PaperSlip}, -inf, 4},
		{Snug, Slips{1, PaperSlip}, 4, 8},
		{Snug, Slips{0, PaperSlip}, 1, 4},
		{Tight, Slips{3, PaperSlip}, 12, 16}, // at odds: the paper is believed
		{"", Slips{}, -inf, inf},
	} {
		lo, hi := Evidence{Feel: c.feel, Slips: c.slips, Grades: DefaultGrades()}.interval()
		if !cmp.Equal([]float64{lo, hi}, []float64{c.lo / 1000, c.hi / 1000}) {
			t.Errorf("%s %v: [%g, %g], want [%g, %g] thousandths", c.feel, c.slips, 1000*lo, 1000*hi, c.lo, c.hi)
		}
	}
	// a range of 0.006 in is a standard deviation of 6/sqrt(12) = 1.732, with the caliper's 1: 2.000
	if got := PieceLike([]Length{703 * Mil, 700 * Mil, 706 * Mil}); got.Mean != 703*Mil || (got.SD-2*Mil).Abs() > Mil/1000 {
		t.Errorf("piece like the readings: %+v", got)
	}
}

func TestUpkeep(t *testing.T) {
	set := GenericInchSet()
	log := randomCuts(rand.New(rand.NewPCG(5, 5)), 60)
	known := Replay(log)
	sizes := func(m CutModel) (pair, eighth, small float64) {
		return math.Sqrt(m.Cov[0][0]), math.Sqrt(m.Cov[1][1]), math.Sqrt(m.Cov[3][3])
	}
	pair, eighth, small := sizes(known.Model("1", set, "1"))
	for _, c := range []struct {
		name                string
		upkeep              Upkeep
		set, saw            string
		pair, eighth, small float64
		cuts                int
	}{
		{"sharpened widens the pair", Upkeep{Kind: Sharpened}, "1", "", math.Hypot(pair, SharpenedSD), eighth, small, known.Sets[known.state("1")].Cuts},
		{"replaced resets that chipper", Upkeep{Kind: Replaced, Chipper: Inches(1, 16)}, "1", "", pair, eighth, PriorChipperSD, known.Sets[known.state("1")].Cuts},
		{"doubted widens all", Upkeep{Kind: Doubted}, "1", "", math.Hypot(pair, doubtShare*math.Sqrt(priorVar(PairError, false))), math.Hypot(eighth, doubtShare*PriorChipperSD), math.Hypot(small, doubtShare*PriorChipperSD), known.Sets[known.state("1")].Cuts},
		{"doubt of one chipper", Upkeep{Kind: Doubted, Chipper: Inches(1, 8)}, "1", "", pair, math.Hypot(eighth, doubtShare*PriorChipperSD), small, known.Sets[known.state("1")].Cuts},
		{"another set's is its own", Upkeep{Kind: Forgotten}, "0", "", pair, eighth, small, known.Sets[known.state("1")].Cuts},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, v := known.Observe(Evidence{CutID: 61, SetKey: c.set, SawKey: c.saw, Upkeep: c.upkeep})
			p, e, s := sizes(b.Model("1", set, "1"))
			if v.Fate != Noted || math.Abs(p-c.pair)+math.Abs(e-c.eighth)+math.Abs(s-c.small) > 1e-12 {
				t.Errorf("%s: pair %.6f, 1/8 %.6f, 1/16 %.6f; want %.6f, %.6f, %.6f", v.Fate, p, e, s, c.pair, c.eighth, c.small)
			}
			if got := b.Sets[b.state("1")].Cuts; got != c.cuts {
				t.Errorf("%d cuts, want %d", got, c.cuts)
			}
		})
	}
	fresh, _ := known.Observe(Evidence{CutID: 61, SetKey: "1", Upkeep: Upkeep{Kind: Forgotten}})
	if m := fresh.Model("1", set, "1"); m.Mean[1] != 0 || m.Cov[1][1] != PriorChipperSD*PriorChipperSD || m.Cuts != 0 || m.Scatter != scatterSD(scatterPrior[:]) {
		t.Errorf("forgotten, but %+v", m)
	}
	for i, v := range fresh.Vars {
		for j := range i {
			if c := fresh.Cov[tri(i, j)]; c != 0 && (v.Key == "1" && v.Kind != Runout || fresh.Vars[j].Key == "1" && fresh.Vars[j].Kind != Runout) {
				t.Errorf("forgotten, but %v is still tied to %v by %g", v, fresh.Vars[j], c)
			}
		}
	}
	// What was measured of a pair says nothing of the one that replaces it, whether
	// that is measured or not.
	measured := set
	measured.Outer.Measured = 262 * Mil
	pairOnly := Stack{Outer: measured.Outer.Part(), Gaps: [][]Part{nil}}
	other := Replay([]Evidence{
		{CutID: 1, SetKey: "1", SawKey: "1", Set: measured, Stack: pairOnly, Groove: 262 * Mil},
		{CutID: 2, SetKey: "1", Upkeep: Upkeep{Kind: Replaced}},
	})
	if m := other.Model("1", set, "1"); math.Abs(m.Mean[0]) > 0.0003 || math.Abs(math.Sqrt(m.Cov[0][0])-PriorPairSD) > 1e-4 {
		t.Errorf("another pair of 1/4 in is off by %+.5f +- %.5f", m.Mean[0], math.Sqrt(m.Cov[0][0]))
	}
	measured.Outer.Measured = 250 * Mil
	if m := other.Model("1", measured, "1"); math.Abs(m.Mean[0]) > 0.0003 || math.Sqrt(m.Cov[0][0]) > MeasuredPartSD {
		t.Errorf("another pair, measured 0.250 in, is off by %+.5f +- %.5f", m.Mean[0], math.Sqrt(m.Cov[0][0]))
	}
	trued, _ := known.Observe(Evidence{CutID: 61, SawKey: "1", Upkeep: Upkeep{Kind: Trued}})
	if i := trued.find(Runout, "1", 0); trued.Mean[i] != 0 || trued.Cov[tri(i, i)] != RunoutSD*RunoutSD {
		t.Error("the saw was trued, but its runout is still known")
	}
}

// A chipper measured after cuts were made with its nominal size: what was learned
// and what the caliper says are one more linear Gaussian.
func TestMeasuringAPartIsOneMoreObservation(t *testing.T) {
	set := GenericInchSet()
	b := Replay(randomCuts(rand.New(rand.NewPCG(6, 6)), 10))
	before := b.Model("0", set, "0")
	set.Chippers[0].Measured = set.Chippers[0].Nominal - 2*Mil
	after := b.Model("0", set, "0")
	v, m := before.Cov[1][1], before.Mean[1]
	wantVar := 1 / (1/v + 1/(MeasuredPartSD*MeasuredPartSD))
	wantMean := wantVar*(m/v-0.002/(MeasuredPartSD*MeasuredPartSD)) + 0.002 // of the new size
	if math.Abs(after.Cov[1][1]-wantVar) > 1e-15 || math.Abs(after.Mean[1]-wantMean) > 1e-12 {
		t.Errorf("%+.6f, variance %g; want %+.6f, %g", after.Mean[1], after.Cov[1][1], wantMean, wantVar)
	}
}

func TestLearned(t *testing.T) {
	set := GenericInchSet()
	cutWith := func(id int64, chippers []int, off float64) Evidence {
		s := Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}}
		for _, c := range chippers {
			s.Chippers, s.Gaps = append(s.Chippers, set.Chippers[c].Part()), append(s.Gaps, nil)
		}
		return Evidence{CutID: id, SetKey: "a", SawKey: "s", Set: set, Stack: s, Groove: s.Sum() + InchesFloat(off)}
	}
	if l := (Belief{}).Learned("a", set, "s"); l.Measure != -1 || l.Rough || l.Cuts != 0 || len(l.Parts) != 5 {
		t.Errorf("nothing cut yet, but %+v", l)
	}
	var steady, rough Belief
	for id := range int64(12) {
		// the 3/32 chipper is 0.004 in under; the rest is as marked
		c, off := []int{0}, 0.0
		if id%2 == 1 {
			c, off = []int{0, 1}, -0.004
		}
		steady, _ = steady.Observe(cutWith(id+1, c, off+0.0005*float64(id%3-1)))
		rough, _ = rough.Observe(cutWith(id+1, []int{0}, 0.005*float64(1-id%3)))
	}
	l := steady.Learned("a", set, "s")
	if l.Measure != 2 || l.Parts[2].Nominal != Inches(3, 32) || !l.Parts[2].Off || l.Parts[2].Cuts != 6 || l.Parts[0].Cuts != 12 || l.Rough {
		t.Errorf("want the 3/32 chipper, from 6 of 12 cuts, to be measured: %+v", l)
	}
	if l := rough.Learned("a", set, "s"); !l.Rough || l.Scatter < 1.5*PriorScatterSD {
		t.Errorf("a scatter of 0.005 in is rough: %+v", l)
	}
}

// An update with a ranked answer, with few and with many cuts in the log.
func BenchmarkObserveAndRank(b *testing.B) {
	set := GenericInchSet()
	p := Problem{Set: set, Saw: GenericInchSaw(), Window: DefaultGrades().Window(Inches(703, 1000), Inches(703, 1000))}
	for _, n := range []int{5, 500, 5000} {
		log := randomCuts(rand.New(rand.NewPCG(7, 7)), n)
		known, last := Replay(log), log[n-1]
		b.Run(fmt.Sprintf("log=%d", n), func(b *testing.B) {
			last.CutID = 0
			for b.Loop() {
				next, _ := known.Observe(last)
				p.Model = next.Model("0", set, "0")
				if len(Rank(p, 3).Ranked) == 0 {
					b.Fatal("no stack")
				}
			}
		})
	}
}

// A groove of three passes is two moves less certain than one cut: the scatter of
// the one reading is that of ExpectPasses. With a linear Gaussian the variance of the
// pair and runout is 1/(1/v + 1/noise).
func TestMovesAreInTheOutcome(t *testing.T) {
	set := GenericBlade()
	blade := Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}}
	e := Evidence{SetKey: "b", SawKey: "s", Set: set, Stack: blade, Groove: 126 * Mil}
	for _, moves := range []int{0, 2} {
		e.Moves = moves
		said := e.likelihood(0.125, PriorPairSD*PriorPairSD+PriorScatterSD*PriorScatterSD)
		p := Problem{Set: set, Model: Belief{}.Model("b", set, "s"), Window: Window{0, Inch}}
		sd := ExpectPasses(p, blade, moves+1, 0).SD
		if want := 1 / (sd*sd + 0.001*0.001); math.Abs(said.bend/want-1) > 1e-9 {
			t.Errorf("%d moves: bend %g, want %g", moves, said.bend, want)
		}
	}
}
