package solver

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The change after a test cut against brute force: the highest chance of any stack
// of the set; then, from the nut inwards, every way to load anew what comes off,
// until one reaches that chance less two points.
func TestAdviseAgainstBruteForce(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	rounds, changed, left := 1500, 0, 0
	if testing.Short() {
		rounds = 100
	}
	for i := range rounds {
		set, saw := randomSet(rnd)
		set.Shims = set.Shims[:min(4, len(set.Shims))]
		now, ok := Closest(set, saw, 300*Mil+Length(rnd.Int64N(int64(300*Mil))))
		if !ok {
			continue
		}
		if rnd.IntN(8) == 0 && len(now.Chippers) > 0 { // one of its pieces was taken out of service
			set.Chippers[slices.IndexFunc(set.Chippers, func(c Chipper) bool { return c.Part() == now.Chippers[0] })].Out++
		}
		thick := now.Sum() - Length(rnd.Int64N(int64(14*Mil)))
		p := Problem{Set: set, Saw: saw, Model: randomModel(set, rnd), Window: DefaultGrades().Window(thick, thick-Length(rnd.Int64N(int64(4*Mil))))}
		best, found := 0.0, false
		for _, o := range everyStack(set, saw, 40) {
			if chance, in := oracleChance(p, o); in {
				best, found = max(best, chance), true
			}
		}
		got, ok := Advise(p, now)
		if got.Reached != found {
			t.Fatalf("round %d: reached %v, brute force %v", i, got.Reached, found)
		}
		if !ok || !found {
			continue
		}
		checkLoadable(t, set, saw, got.Stack)
		if off := now.TakenOff(got.Stack); off > got.TakenOff {
			t.Fatalf("round %d: %d pieces come off, not %d", i, off, got.TakenOff)
		}
		want, off := oracleChange(p, now, best-0.02)
		if want.chance < 0 {
			t.Fatalf("round %d: brute force loads no stack at all", i)
		}
		if got.TakenOff != off || len(got.Stack.Shims()) != want.nShims || math.Abs(got.Chance-want.chance) > 1e-7 {
			t.Fatalf("round %d: %d off, %d shims at %.9f; brute force %d off, %d shims at %.9f (best %.9f)",
				i, got.TakenOff, len(got.Stack.Shims()), got.Chance, off, want.nShims, want.chance, best)
		}
		if off == 0 {
			left++
		} else {
			changed++
		}
	}
	if changed < rounds/5 || left < rounds/20 {
		t.Fatalf("%d changes, %d stacks left as they are, of %d: the test tests little", changed, left, rounds)
	}
}

// Shims that stay on the arbor lie in a gap whose limit depends on what comes next:
// beside a chipper that overlaps less they may be too many, and come off.
func TestAdviseKeepsToTheGaps(t *testing.T) {
	set := plainPair(
		Chipper{Nominal: 125 * Mil, Tooth: 140 * Mil, Count: 1}, // overlaps by 0.0075 + 0.010
		Chipper{Nominal: 110 * Mil, Count: 1},
	)
	set.Outer.Plate, set.Outer.Tooth = 90*Mil, 110*Mil
	set.Shims = []Shim{{Nominal: 20 * Mil, Count: 1}, {Nominal: 12 * Mil, Count: 1}, {Nominal: 8 * Mil, Count: 1}}
	now := Stack{
		Outer: set.Outer.Part(), Chippers: []Part{set.Chippers[1].Part()},
		Gaps: [][]Part{{set.Shims[0].Part()}, nil},
	}
	for name, p := range map[string]Problem{ // both are made with 0.012 in one gap and 0.008 in the other
		"thicker chipper": {Set: set, Window: Window{393 * Mil, 397 * Mil}}, // 0.250 + 0.125 + 0.020
		"as it is":        {Set: set, Window: Window{378 * Mil, 382 * Mil}}, // but the shop lowered its limit
	} {
		p.Saw, p.Model = GenericInchSaw(), PriorModel(set)
		if name == "as it is" {
			p.Set.Gap.Chipper = 15 * Mil
		}
		got, ok := Advise(p, now)
		if !ok || !got.Reached || !p.Set.gapsHold(got.Stack) {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

type oracleLoading struct {
	oracleStack
	chance float64
}

// oracleChange takes one piece more off the arbor until what is left can be made a
// stack in the window with at least the given chance: with the fewest shims, then
// the highest chance. The outer blade at the flange stays.
func oracleChange(p Problem, now Stack, floor float64) (oracleLoading, int) {
	pieces := now.Pieces()
	for off := range pieces {
		kept := pieces[:len(pieces)-off]
		best := oracleLoading{chance: -1}
		everyLoading(p.Set, p.Saw, kept, func(o oracleStack) {
			chance, in := oracleChance(p, o)
			if !in || chance < floor+1e-7 { // as in TestRankAgainstBruteForce
				return
			}
			if best.chance < 0 || o.nShims < best.nShims || o.nShims == best.nShims && chance > best.chance {
				best = oracleLoading{o, chance}
			}
		})
		if best.chance >= 0 {
			return best, off
		}
	}
	return oracleLoading{chance: -1}, 0
}

// everyLoading calls f with every stack that begins with the kept pieces: chippers
// are added the widest first, shims into every gap from the last one on. A kept
// blade at the nut closes the stack.
func everyLoading(set Set, saw Saw, kept []Piece, f func(oracleStack)) {
	chippers, shims := make([]int, len(set.Chippers)), make([]int, len(set.Shims))
	seq, gaps := []int{}, [][]int{nil} // places in the set, by loading order and by gap
	closed := false
	for _, k := range kept[1:] {
		switch k.Kind {
		case ChipperPiece:
			c := slices.IndexFunc(set.Chippers, func(c Chipper) bool { return c.Part() == k.Part })
			chippers[c]++
			seq, gaps = append(seq, c), append(gaps, nil)
		case ShimPiece:
			s := slices.IndexFunc(set.Shims, func(s Shim) bool { return s.Part() == k.Part })
			shims[s]++
			gaps[len(gaps)-1] = append(gaps[len(gaps)-1], s)
		case NutBlade:
			closed = true
		}
	}
	for c := range chippers {
		if chippers[c] > set.Chippers[c].Usable() {
			return
		}
	}
	open := len(gaps) - 1
	say := func() {
		o := oracleStack{chippers: slices.Clone(chippers), shims: slices.Clone(shims), sum: set.Outer.Part().Size}
		for c, n := range chippers {
			o.nChippers += n
			o.sum += Length(n) * set.Chippers[c].Part().Size
		}
		for s, n := range shims {
			o.nShims += n
			o.sum += Length(n) * set.Shims[s].Part().Size
		}
		if o.sum <= MaxSum(set, saw) {
			f(o)
		}
	}
	if closed {
		say()
		return
	}
	var addShims func(limits []Length, gap, from int)
	addShims = func(limits []Length, gap, from int) {
		if gap == len(gaps) {
			say()
			return
		}
		addShims(limits, gap+1, 0)
		if len(gaps[gap]) == set.Gap.Count {
			return
		}
		var used Length
		for _, s := range gaps[gap] {
			used += set.Shims[s].Part().Size
		}
		for s := from; s < len(shims); s++ {
			if shims[s] == set.usableShims(s) || used+set.Shims[s].Part().Size > limits[gap] {
				continue
			}
			shims[s]++
			gaps[gap] = append(gaps[gap], s)
			addShims(limits, gap, s)
			gaps[gap] = gaps[gap][:len(gaps[gap])-1]
			shims[s]--
		}
	}
	var addChippers func(from int)
	addChippers = func(from int) {
		limits := limitsInOrder(set, seq)
		for g, in := range gaps[:open+1] { // what is kept must still be allowed
			var used Length
			for _, s := range in {
				used += set.Shims[s].Part().Size
			}
			if used > limits[g] && len(in) > 0 {
				limits = nil
				break
			}
		}
		if limits != nil {
			addShims(limits, open, 0)
		}
		for c := from; c < len(chippers); c++ {
			if chippers[c] == set.Chippers[c].Usable() {
				continue
			}
			chippers[c]++
			seq, gaps = append(seq, c), append(gaps, nil)
			addChippers(c)
			seq, gaps = seq[:len(seq)-1], gaps[:len(gaps)-1]
			chippers[c]--
		}
	}
	addChippers(0)
}
