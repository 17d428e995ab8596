package solver

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// everyStack lists every stack of a set by plain loops, the oracle of the search:
// all counts of chippers and shims, shims put into the gaps in every way, kept if
// one way respects the limits. Only the count of shims is bounded.
func everyStack(set Set, saw Saw, atMost int) []oracleStack {
	var out []oracleStack
	chippers := make([]int, len(set.Chippers))
	shims := make([]int, len(set.Shims))
	var overShims func(i, left int)
	overShims = func(i, left int) {
		if i == len(shims) {
			o := oracleStack{chippers: slices.Clone(chippers), shims: slices.Clone(shims), sum: set.Outer.Part().Size}
			for j, n := range chippers {
				o.sum += Length(n) * set.Chippers[j].Part().Size
				o.nChippers += n
			}
			for j, n := range shims {
				o.sum += Length(n) * set.Shims[j].Part().Size
				o.nShims += n
			}
			if o.sum <= MaxSum(set, saw) && o.placeable(set) {
				out = append(out, o)
			}
			return
		}
		for n := 0; n <= min(left, set.usableShims(i)); n++ {
			shims[i] = n
			overShims(i+1, left-n)
		}
		shims[i] = 0
	}
	var overChippers func(i int)
	overChippers = func(i int) {
		if i == len(chippers) {
			overShims(0, atMost)
			return
		}
		for n := 0; n <= set.Chippers[i].Usable(); n++ {
			chippers[i] = n
			overChippers(i + 1)
		}
		chippers[i] = 0
	}
	overChippers(0)
	return out
}

type oracleStack struct {
	chippers, shims   []int
	nChippers, nShims int
	sum               Length
}

// placeable tries every way of putting the shims into the gaps, one gap after another.
func (o oracleStack) placeable(set Set) bool {
	limits := oracleLimits(set, o.chippers)
	left := slices.Clone(o.shims)
	var fill func(gap int) bool
	fill = func(gap int) bool {
		if !slices.ContainsFunc(left, func(n int) bool { return n > 0 }) {
			return true
		}
		if gap == len(limits) {
			return false
		}
		var choose func(i, count int, sum Length) bool
		choose = func(i, count int, sum Length) bool {
			if count > set.Gap.Count || sum > limits[gap] {
				return false
			}
			if i == len(left) {
				return fill(gap + 1)
			}
			for n := 0; n <= left[i]; n++ {
				left[i] -= n
				ok := choose(i+1, count+n, sum+Length(n)*set.Shims[i].Part().Size)
				left[i] += n
				if ok {
					return true
				}
			}
			return false
		}
		return choose(0, 0, 0)
	}
	return fill(0)
}

// oracleLimits spells the limits of facts.md section 2 out again, for chippers loaded widest first.
func oracleLimits(set Set, counts []int) []Length {
	var order []int
	for i, n := range counts { // sets of these tests list their chippers widest first
		for range n {
			order = append(order, i)
		}
	}
	return limitsInOrder(set, order)
}

// limitsInOrder are the limits of the gaps of chippers loaded in this order, by
// their places in the set.
func limitsInOrder(set Set, order []int) []Length {
	type half struct {
		over    Length
		known   bool
		chipper bool
	}
	outer := half{(set.Outer.Tooth - set.Outer.Plate) / 2, set.Outer.Tooth > 0 && set.Outer.Plate > 0, false}
	seq := []half{outer}
	for _, i := range order {
		c := set.Chippers[i]
		seq = append(seq, half{(c.Tooth - c.Part().Size) / 2, c.Tooth > 0, true})
	}
	seq = append(seq, outer)
	var out []Length
	for i := 1; i < len(seq); i++ {
		l, r := seq[i-1], seq[i]
		switch {
		case l.known && r.known:
			out = append(out, l.over+r.over)
		case l.chipper || r.chipper:
			out = append(out, set.Gap.Chipper)
		default:
			out = append(out, set.Gap.Bare)
		}
	}
	return out
}

func countsOf(set Set, s Stack) (chippers, shims []int) {
	chippers, shims = make([]int, len(set.Chippers)), make([]int, len(set.Shims))
	for _, p := range s.Chippers {
		chippers[slices.IndexFunc(set.Chippers, func(c Chipper) bool { return c.Part() == p })]++
	}
	for _, p := range s.Shims() {
		shims[slices.IndexFunc(set.Shims, func(c Shim) bool { return c.Part() == p })]++
	}
	return chippers, shims
}

// checkLoadable fails where a stack breaks a limit or uses pieces the set has not.
func checkLoadable(t *testing.T, set Set, saw Saw, s Stack) {
	t.Helper()
	chippers, shims := countsOf(set, s)
	for i, n := range chippers {
		if n > set.Chippers[i].Usable() {
			t.Fatalf("%d chippers of %v, the set has %d", n, set.Chippers[i].Nominal, set.Chippers[i].Usable())
		}
	}
	for i, n := range shims {
		if n > set.usableShims(i) {
			t.Fatalf("%d shims of %v, the set has %d", n, set.Shims[i].Nominal, set.usableShims(i))
		}
	}
	if len(s.Gaps) != len(s.Chippers)+1 {
		t.Fatalf("%d gaps for %d chippers", len(s.Gaps), len(s.Chippers))
	}
	for i, limit := range oracleLimits(set, chippers) {
		if len(s.Gaps[i]) > set.Gap.Count || partsSum(s.Gaps[i]) > limit {
			t.Fatalf("gap %d holds %v, limit %v", i, s.Gaps[i], limit)
		}
	}
	if s.Sum() > MaxSum(set, saw) {
		t.Fatalf("sum %v over %v", s.Sum(), MaxSum(set, saw))
	}
}

// randomSet makes small sets of every shape: measured parts, teeth known or not,
// few or many shims in a gap, pieces out of service.
func randomSet(rnd *rand.Rand) (Set, Saw) {
	set := Set{Kind: Stacked, Outer: OuterPair{Nominal: Inches(1, 4)}, Gap: DefaultGapLimits()}
	if rnd.IntN(3) == 0 {
		set.Gap = GapLimits{Chipper: Length(8+rnd.IntN(30)) * Mil, Bare: Length(4+rnd.IntN(12)) * Mil, Count: 1 + rnd.IntN(3)}
	}
	fine := rnd.IntN(2) == 0 // sizes that share no unit
	jitter := func(l Length) Length {
		if fine {
			return l + Length(rnd.Int64N(int64(Mil))) - Mil/2
		}
		return l
	}
	teeth := rnd.IntN(3) == 0
	if teeth {
		set.Outer.Plate, set.Outer.Tooth = 90*Mil, 90*Mil+Length(10+rnd.IntN(30))*Mil
	}
	for _, n := range []int64{4, 3, 2, 1}[rnd.IntN(3):] {
		c := Chipper{Nominal: Inches(n, 32), Count: rnd.IntN(3)}
		if rnd.IntN(2) == 0 {
			c.Measured = jitter(c.Nominal)
		}
		if teeth && rnd.IntN(4) > 0 {
			c.Tooth = c.Part().Size + Length(10+rnd.IntN(40))*Mil
		}
		if c.Count > 0 && rnd.IntN(6) == 0 {
			c.Out = 1
		}
		set.Chippers = append(set.Chippers, c)
	}
	for _, n := range []Length{31, 20, 12, 8, 5, 4, 2} {
		if rnd.IntN(2) == 0 {
			set.Shims = append(set.Shims, Shim{Nominal: jitter(n * Mil), Count: 1 + rnd.IntN(2)})
		}
	}
	saw := Saw{Arbor: Inches(13, 16)}
	if rnd.IntN(4) == 0 {
		saw = Saw{Arbor: Inches(5, 8), Insert: Inches(9, 16)}
	}
	return set, saw
}

func TestClosestAgainstBruteForce(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	rounds := 2000
	if testing.Short() {
		rounds = 100
	}
	for i := range rounds {
		set, saw := randomSet(rnd)
		target := 200*Mil + Length(rnd.Int64N(int64(700*Mil)))
		if rnd.IntN(2) == 0 {
			target = target / Mil * Mil
		}
		all := everyStack(set, saw, 40)
		for name, find := range map[string]func(Set, Saw, Length) (Stack, bool){"near": Closest, "below": ClosestBelow, "above": ClosestAbove} {
			var want *oracleStack
			for j, o := range all {
				if name == "below" && o.sum > target || name == "above" && o.sum < target {
					continue
				}
				if want == nil || simplerOracle(o, *want, (o.sum-target).Abs(), (want.sum-target).Abs()) {
					want = &all[j]
				}
			}
			got, ok := find(set, saw, target)
			if ok != (want != nil) {
				t.Fatalf("round %d %s: found %v, brute force %v", i, name, ok, want != nil)
			}
			if !ok {
				continue
			}
			checkLoadable(t, set, saw, got)
			if d, w := (got.Sum() - target).Abs(), (want.sum - target).Abs(); d != w {
				t.Fatalf("round %d %s: off by %d, brute force by %d", i, name, d, w)
			}
			if len(got.Shims()) != want.nShims || len(got.Chippers) != want.nChippers {
				t.Fatalf("round %d %s: %d shims %d chippers, brute force %d and %d", i, name, len(got.Shims()), len(got.Chippers), want.nShims, want.nChippers)
			}
		}
	}
}

func simplerOracle(a, b oracleStack, da, db Length) bool {
	if da != db {
		return da < db
	}
	if a.nShims != b.nShims {
		return a.nShims < b.nShims
	}
	return a.nChippers < b.nChippers
}

// randomModel is a belief with correlated errors.
func randomModel(set Set, rnd *rand.Rand) CutModel {
	m := PriorModel(set)
	if rnd.IntN(3) == 0 {
		return m
	}
	n := len(m.Mean)
	for i := range n {
		m.Mean[i] = rnd.NormFloat64() * 0.002
	}
	root := make([][]float64, n) // cov = root root', so it is a covariance
	for i := range root {
		root[i] = make([]float64, n)
		for j := range root[i] {
			root[i][j] = rnd.NormFloat64() * 0.001
		}
	}
	for i := range n {
		for j := range n {
			m.Cov[i][j] = 0
			for k := range n {
				m.Cov[i][j] += root[i][k] * root[j][k]
			}
		}
	}
	return m
}

// oracleChance spells the chance of a snug cut out again, and whether the expected
// width lies in the window.
func oracleChance(p Problem, o oracleStack) (chance float64, in bool) {
	mean, variance := p.Model.Mean[0], p.Model.Cov[0][0]
	for a, na := range o.chippers {
		mean += float64(na) * p.Model.Mean[1+a]
		variance += 2 * float64(na) * p.Model.Cov[0][1+a]
		for b, nb := range o.chippers {
			variance += float64(na*nb) * p.Model.Cov[1+a][1+b]
		}
	}
	sd := math.Sqrt(variance + float64(o.nShims)*p.Model.ShimSD*p.Model.ShimSD + p.Model.Scatter*p.Model.Scatter)
	width := o.sum.Inches() + mean
	phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
	return phi((p.Window.Hi.Inches()-width)/sd) - phi((p.Window.Lo.Inches()-width)/sd), p.Window.Has(o.sum + InchesFloat(mean))
}

func TestRankAgainstBruteForce(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	rounds, reached := 1500, 0
	if testing.Short() {
		rounds = 100
	}
	for i := range rounds {
		set, saw := randomSet(rnd)
		thick := 300*Mil + Length(rnd.Int64N(int64(450*Mil)))
		p := Problem{Set: set, Saw: saw, Model: randomModel(set, rnd), Window: DefaultGrades().Window(thick, thick-Length(rnd.Int64N(int64(6*Mil))))}
		all := everyStack(set, saw, 40)
		// The definition, word for word: expected width in the window; chance of a cut
		// in it from mean and variance; within two points of the best; fewest shims;
		// the higher chance.
		chances, in := make([]float64, len(all)), make([]bool, len(all))
		best, nIn := 0.0, 0
		for j, o := range all {
			if chances[j], in[j] = oracleChance(p, o); in[j] {
				best = max(best, chances[j])
				nIn++
			}
		}
		got := Rank(p, 3)
		if got.Reached != (nIn > 0) {
			t.Fatalf("round %d: reached %v, brute force %d", i, got.Reached, nIn)
		}
		if nIn == 0 {
			continue
		}
		reached++
		fewest, high := math.MaxInt, 0.0
		for j, o := range all {
			if !in[j] || chances[j] < best-NearBest+1e-7 { // a hair inside: expected widths are rounded to a picometre
				continue
			}
			if o.nShims < fewest || o.nShims == fewest && chances[j] > high {
				fewest, high = o.nShims, chances[j]
			}
		}
		first := got.Ranked[0]
		checkLoadable(t, set, saw, first.Stack)
		if len(first.Stack.Shims()) != fewest || math.Abs(first.Chance-high) > 1e-7 {
			t.Fatalf("round %d: %d shims at %.9f, brute force %d at %.9f (best %.9f)", i, len(first.Stack.Shims()), first.Chance, fewest, high, best)
		}
		if want := min(3, len(all)); len(got.Ranked) != want {
			t.Fatalf("round %d: %d stacks, want %d", i, len(got.Ranked), want)
		}
		for at, c := range got.Ranked {
			checkLoadable(t, set, saw, c.Stack)
			if p.Window.Has(c.Width()) != (at < nIn) {
				t.Fatalf("round %d: %d stacks in the window, place %d is %v wide in %v", i, nIn, at, c.Width().Inches(), p.Window)
			}
			if e := Expect(p, c.Stack); math.Abs(e.Chance-c.Chance) > 1e-12 || e.Width() != c.Width() {
				t.Fatalf("round %d: ranked as %v, expected as %v", i, c, e)
			}
		}
	}
	if reached < rounds/4 {
		t.Fatalf("only %d of %d rounds reached the window: the test tests little", reached, rounds)
	}
}

func TestSpreadAgainstBruteForce(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for i := range 4000 {
		rooms := make([]room, 1+rnd.IntN(4))
		count, limit, mixed := 1+rnd.IntN(3), Length(10+rnd.IntN(30)), rnd.IntN(2) == 0
		for j := range rooms {
			rooms[j] = room{limit: limit, count: count}
			if mixed {
				rooms[j] = room{limit: Length(5 + rnd.IntN(30)), count: rnd.IntN(3), used: Length(rnd.IntN(8))}
			}
		}
		shims := make([]Length, rnd.IntN(6))
		for j := range shims {
			shims[j] = Length(1 + rnd.IntN(20))
		}
		slices.SortFunc(shims, func(a, b Length) int { return sign(b - a) })
		want := Length(-1) // the smallest possible largest gap
		at := make([]int, len(shims))
		for n := range int(math.Pow(float64(len(rooms)), float64(len(shims)))) {
			used, counts, ok := make([]Length, len(rooms)), make([]int, len(rooms)), true
			for j, r := range rooms {
				used[j] = r.used
			}
			for j, k := 0, n; j < len(shims); j, k = j+1, k/len(rooms) {
				at[j] = k % len(rooms)
				used[at[j]] += shims[j]
				counts[at[j]]++
			}
			for j, r := range rooms {
				ok = ok && counts[j] <= r.count && (counts[j] == 0 || used[j] <= r.limit)
			}
			if largest := slices.Max(used); ok && (want < 0 || largest < want) {
				want = largest
			}
		}
		got, ok := spread(shims, rooms)
		if ok != (want >= 0) || ok != fits(shims, rooms) {
			t.Fatalf("round %d: rooms %v shims %v: spread %v, brute force %v", i, rooms, shims, ok, want >= 0)
		}
		if !ok {
			continue
		}
		var largest Length
		seen := 0
		for j, r := range rooms {
			seen += len(got[j])
			largest = max(largest, r.used+placesSum(got[j], shims))
		}
		if largest != want || seen != len(shims) {
			t.Fatalf("round %d: rooms %v shims %v: largest gap %d with %d shims placed, brute force %d", i, rooms, shims, largest, seen, want)
		}
	}
}

// benchSet is 12 chippers in 5 sizes with 24 shims in 8 thicknesses.
func benchSet(fine bool) Set {
	set := GenericInchSet()
	set.Chippers, set.Shims = nil, nil
	for i, n := range []int{3, 3, 2, 2, 2} {
		set.Chippers = append(set.Chippers, Chipper{Nominal: Inches(int64(6-i), 32), Count: n})
	}
	for _, n := range []Length{31, 20, 15, 12, 10, 8, 5, 4} {
		set.Shims = append(set.Shims, Shim{Nominal: n * Mil, Count: 3})
	}
	return roughen(set, fine)
}

// largestSet is the largest accepted: 16 chippers in 8 sizes, 40 shims in 12.
func largestSet(fine bool) Set {
	set := GenericInchSet()
	set.Chippers, set.Shims = nil, nil
	for i := range MaxChipperSizes {
		set.Chippers = append(set.Chippers, Chipper{Nominal: Inches(int64(10-i), 64), Count: 2})
	}
	for i, n := range []Length{31, 25, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2} {
		set.Shims = append(set.Shims, Shim{Nominal: n * Mil, Count: 3 + min(1, i/8)})
	}
	return roughen(set, fine)
}

// roughen gives every part a measured size that shares no unit with the others.
func roughen(set Set, fine bool) Set {
	if !fine {
		return set
	}
	rnd := rand.New(rand.NewPCG(7, 8))
	for i := range set.Chippers {
		set.Chippers[i].Measured = set.Chippers[i].Nominal + Length(rnd.Int64N(int64(Mil)))
	}
	for i := range set.Shims {
		set.Shims[i].Measured = set.Shims[i].Nominal + Length(rnd.Int64N(int64(Mil/2)))
	}
	return set
}

func BenchmarkSearch(b *testing.B) {
	for _, fine := range []bool{false, true} {
		for name, set := range map[string]Set{"12in5-24in8": benchSet(fine), "16in8-40in12": largestSet(fine)} {
			for _, thick := range []Length{460 * Mil, 703 * Mil, 760 * Mil} {
				sub := fmt.Sprintf("%s/measured=%v/%dmil", name, fine, thick/Mil)
				b.Run("closest/"+sub, func(b *testing.B) {
					for b.Loop() {
						Closest(set, GenericInchSaw(), thick+4500*Mil/1000)
					}
				})
				b.Run("rank/"+sub, func(b *testing.B) {
					p := Problem{Set: set, Saw: GenericInchSaw(), Model: PriorModel(set), Window: DefaultGrades().Window(thick, thick)}
					for b.Loop() {
						Rank(p, 3)
					}
				})
			}
		}
	}
}
