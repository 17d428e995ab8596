package solver

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestPasses(t *testing.T) {
	sixteenth := Inch / 16
	for _, c := range []struct {
		name    string
		w, s, o Length
		n       int
		move    Length
	}{
		{"exactly three, four with binary floats", 1687 * Mil, 604 * Mil, sixteenth, 3, Inches(5415, 10000)}, // 1.083/0.5415 = 2
		{"a hair more makes four", 1687*Mil + 1, 604 * Mil, sixteenth, 4, 361 * Mil},                         // 1.083/3
		{"two", 750 * Mil, 625 * Mil, sixteenth, 2, 125 * Mil},
		{"as wide as the cut", 750 * Mil, 750 * Mil, sixteenth, 1, 0},
		{"one pass needs no overlap", Inch / 32, Inch / 32, sixteenth, 1, 0},
		{"a move that does not divide", 100, 10, 0, 10, 10},
		{"rounded to the nearest picometre", 21, 10, 5, 4, 4}, // 11/3
		{"narrower than the cut", 240 * Mil, 250 * Mil, sixteenth, 0, 0},
		{"no wider than the overlap", Inch, sixteenth, sixteenth, 0, 0},
		{"no cut", Inch, 0, sixteenth, 0, 0},
	} {
		n, move, ok := Passes(c.w, c.s, c.o)
		if n != c.n || move != c.move || ok != (c.n > 0) {
			t.Errorf("%s: %d passes, move %d, %v; want %d, %d", c.name, n, move, ok, c.n, c.move)
		}
	}
}

// The count against the formula in rationals, and the places that add up.
func TestPassesExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := Length(rapid.Int64Range(0, int64(Inch/8)).Draw(t, "o"))
		s := o + Length(rapid.Int64Range(1, int64(Inch)).Draw(t, "s"))
		w := s + Length(rapid.Int64Range(0, int64(s-o)*40).Draw(t, "w"))
		n, move, ok := Passes(w, s, o)
		if !ok {
			t.Fatalf("refused: w %d, s %d, o %d", w, s, o)
		}
		moves := new(big.Rat).SetFrac64(int64(w-s), int64(s-o))
		if m := int64(n - 1); big.NewRat(m, 1).Cmp(moves) < 0 || m > 0 && big.NewRat(m-1, 1).Cmp(moves) >= 0 {
			t.Fatalf("%d passes for (w-s)/(s-o) = %v", n, moves)
		}
		starts := Starts(w, s, n)
		if starts[0] != 0 || starts[n-1] != w-s {
			t.Fatalf("from %d to %d, want 0 to %d", starts[0], starts[n-1], w-s)
		}
		var strips []Strip
		for i, at := range starts {
			if i > 0 && (at-starts[i-1]-move).Abs() > 1 {
				t.Fatalf("move %d is %d, not %d", i, at-starts[i-1], move)
			}
			if i > 0 && starts[i-1]+s-at < o {
				t.Fatalf("passes %d and %d overlap by less than %d", i, i+1, o)
			}
			strips = append(strips, Strip{at, at + s})
		}
		if !Simulate(strips).Leaves(Strip{0, w}) {
			t.Fatalf("the strips leave %+v", Simulate(strips))
		}
	})
}

// snugFor is the window of one thickness: [+0.001, +0.008], its middle +0.0045.
func snugFor(stock Length) Window { return DefaultGrades().Window(stock, stock) }

func plainPair(chippers ...Chipper) Set {
	s := GenericInchSet()
	s.Chippers, s.Shims = chippers, nil
	return s
}

func TestPlanPasses(t *testing.T) {
	half := Mil / 2
	p15 := GenericInchSet() // shims two each of 0.004, 0.005, 0.008, 0.010, 0.012, 0.020
	p15.Chippers = []Chipper{{Nominal: Inch / 8, Count: 3}}
	noStack := GenericInchSaw()
	noStack.NoStack = true
	shortArbor := Saw{Arbor: 625 * Mil}
	wideBlade := GenericBlade()
	for _, c := range []struct {
		name      string
		set       Set
		saw       Saw
		window    Window
		n         int
		cut, move Length
		shims     int
		moves     float64 // carried into the SD
	}{
		// Width 0.7545: 0.725 is the widest stack; two of 0.625 moved by 0.125 and the aim.
		{"P15", p15, GenericInchSaw(), snugFor(750 * Mil), 2, 625 * Mil, 129*Mil + half, 0, 1},
		{"P17", GenericInchSet(), shortArbor, snugFor(750 * Mil), 2, 625 * Mil, 129*Mil + half, 0, 1},
		{"reached in one", plainPair(Chipper{Nominal: Inch / 2, Count: 1}), GenericInchSaw(), snugFor(745 * Mil), 1, 750 * Mil, 0, 0, 0},
		// Between the pair and the pair with the thinnest chipper (0.3125): 0.2845 - 0.25.
		{"between pair and chipper", GenericInchSet(), GenericInchSaw(), snugFor(280 * Mil), 2, 250 * Mil, 34*Mil + half, 0, 1},
		// 2.5045 with 0.8125 at most: (2.5045-0.8125)/0.75 = 2.256.
		{"a wide lap", GenericInchSet(), GenericInchSaw(), snugFor(2500 * Mil), 4, 8125 * Mil / 10, 564 * Mil, 0, 3},
		{"narrower than the pair", GenericInchSet(), GenericInchSaw(), snugFor(200 * Mil), 0, 0, 0, 0, 0},
		{"a saw that takes no stack", GenericInchSet(), noStack, snugFor(280 * Mil), 0, 0, 0, 0, 0},
		{"an empty window", GenericInchSet(), GenericInchSaw(), DefaultGrades().Window(760*Mil, 740*Mil), 0, 0, 0, 0, 0},
		// With the blade, kerf 0.125: two up to 2k - 1/64 = 0.234375, then three.
		{"blade, two", wideBlade, noStack, snugFor(200 * Mil), 2, 125 * Mil, 79*Mil + half, 0, 1},
		{"blade, two at the limit", wideBlade, noStack, Window{2343750 * Mil / 10000, 2343750 * Mil / 10000}, 2, 125 * Mil, Inches(109375, 1_000_000), 0, 1},
		{"blade, three", wideBlade, noStack, snugFor(2300 * Mil / 10), 3, 125 * Mil, 5475 * Mil / 100, 0, 2}, // (0.2345-0.125)/2
		{"blade, one", wideBlade, noStack, snugFor(120 * Mil), 1, 125 * Mil, 0, 0, 0},
		{"blade too wide", wideBlade, noStack, snugFor(100 * Mil), 0, 0, 0, 0, 0},
	} {
		model := PriorModel(c.set)
		p, ok := PlanPasses(c.set, c.saw, model, c.window)
		if ok != (c.n > 0) {
			t.Errorf("%s: found %v", c.name, ok)
			continue
		}
		if !ok {
			continue
		}
		if p.N != c.n || p.Cut() != c.cut || p.Move != c.move || len(p.Stack.Shims()) != c.shims {
			t.Errorf("%s: %d passes of %v moved by %v with %d shims", c.name, p.N, p.Cut().Inches(), p.Move.Inches(), len(p.Stack.Shims()))
		}
		if p.N > 1 && p.Width != c.window.Mid() {
			t.Errorf("%s: width %v, want the middle %v", c.name, p.Width.Inches(), c.window.Mid().Inches())
		}
		own := Expect(Problem{Set: c.set, Saw: c.saw, Model: model, Window: c.window}, p.Stack).SD
		if want := math.Hypot(own, MoveSD*math.Sqrt(c.moves)); math.Abs(p.SD-want) > 1e-12 {
			t.Errorf("%s: SD %v, want %v", c.name, p.SD, want)
		}
		if !Simulate(p.Strips()).Leaves(Strip{0, p.Width}) {
			t.Errorf("%s: leaves %+v", c.name, Simulate(p.Strips()))
		}
	}
}

// A stack with a shim is taken where it saves a pass.
func TestShimSavesAPass(t *testing.T) {
	s := plainPair()
	s.Shims = []Shim{{Nominal: 10 * Mil, Count: 2}}
	// The pair alone does 2*0.25 - 1/16 = 0.4375 in two; 0.26 does 0.4575.
	for _, c := range []struct {
		w     Length
		n     int
		shims int
	}{{437 * Mil, 2, 0}, {450 * Mil, 2, 1}, {460 * Mil, 3, 0}} {
		p, ok := PlanPasses(s, GenericInchSaw(), PriorModel(s), Window{c.w, c.w})
		if !ok || p.N != c.n || len(p.Stack.Shims()) != c.shims {
			t.Errorf("%v: %d passes, %d shims, want %d, %d", c.w.Inches(), p.N, len(p.Stack.Shims()), c.n, c.shims)
		}
	}
}

// What was learned of a set moves the stop: the groove is still the wanted one.
func TestPlanPassesWithOffset(t *testing.T) {
	s := plainPair()
	m := PriorModel(s)
	m.Mean[0] = 0.005
	p, ok := PlanPasses(s, GenericInchSaw(), m, snugFor(300*Mil))
	if !ok || p.Cut() != 255*Mil || p.Move != 495*Mil/10 || p.Width != 3045*Mil/10 {
		t.Errorf("cut %v, move %v, width %v", p.Cut().Inches(), p.Move.Inches(), p.Width.Inches())
	}
}

func TestTwoPassOn(t *testing.T) {
	s := GenericInchSet()
	stack, _ := Closest(s, GenericInchSaw(), 500*Mil)
	for _, c := range []struct {
		name   string
		window Window
		n      int
		move   Length
	}{
		{"wider", snugFor(703 * Mil), 2, 2075 * Mil / 10}, // 0.7075 - 0.5
		{"a shaving", snugFor(505 * Mil), 2, 95 * Mil / 10},
		{"reached as it is", snugFor(496 * Mil), 1, 0},
		{"too narrow", snugFor(450 * Mil), 0, 0},
		{"at the limit", Window{9375 * Mil / 10, 9375 * Mil / 10}, 2, 4375 * Mil / 10}, // 2*0.5 - 1/16
		{"three would be needed", snugFor(940 * Mil), 0, 0},
		{"empty window", DefaultGrades().Window(760*Mil, 740*Mil), 0, 0},
	} {
		on := Expect(Problem{Set: s, Saw: GenericInchSaw(), Model: PriorModel(s), Window: c.window}, stack)
		p, ok := TwoPassOn(on, c.window)
		if ok != (c.n > 0) || ok && (p.N != c.n || p.Move != c.move || !p.Stack.Equal(stack)) {
			t.Errorf("%s: %v, %d passes moved by %v", c.name, ok, p.N, p.Move.Inches())
		}
	}
}

func drawSet(t *rapid.T) Set {
	s := GenericInchSet()
	s.Chippers, s.Shims = nil, nil
	for _, n := range slices.Backward([]Length{1, 2, 3, 4}) {
		if count := rapid.IntRange(0, 3).Draw(t, "chippers"); count > 0 {
			s.Chippers = append(s.Chippers, Chipper{Nominal: n * Inch / 32, Count: count})
		}
	}
	for _, mil := range []Length{20, 10, 5} {
		if count := rapid.IntRange(0, 2).Draw(t, "shims"); count > 0 {
			s.Shims = append(s.Shims, Shim{Nominal: mil * Mil, Count: count})
		}
	}
	return s
}

// Every plan removes exactly the wanted groove, and an oracle that tries every
// stack finds none with fewer passes, or as few with fewer shims, or a wider one.
func TestPlanPassesAgainstEveryStack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := drawSet(t)
		saw := Saw{Arbor: Length(rapid.IntRange(20, 60).Draw(t, "arbor")) * Inch / 64}
		w := Length(rapid.Int64Range(int64(Inch/4), int64(2*Inch)).Draw(t, "width"))
		window := Window{w, w}
		p, ok := PlanPasses(set, saw, PriorModel(set), window)
		type rank struct{ n, shims int }
		var best *rank
		var widest Length
		for _, o := range everyStack(set, saw, 6) {
			n, _, can := Passes(w, o.sum, StackOverlap)
			if !can {
				continue
			}
			r := rank{n, o.nShims}
			switch {
			case best == nil || r.n < best.n || r.n == best.n && r.shims < best.shims:
				best, widest = &r, o.sum
			case r == *best:
				widest = max(widest, o.sum)
			}
		}
		if ok != (best != nil) {
			t.Fatalf("plan %v, oracle %v", ok, best)
		}
		if !ok {
			return
		}
		if got := (rank{p.N, len(p.Stack.Shims())}); got != *best || p.N > 1 && p.Cut() != widest {
			t.Fatalf("plan %+v of %v, oracle %+v of %v", got, p.Cut().Inches(), *best, widest.Inches())
		}
		if p.Width != w || !Simulate(p.Strips()).Leaves(Strip{0, w}) {
			t.Fatalf("width %d of %d, strips leave %+v", p.Width, w, Simulate(p.Strips()))
		}
		if p.N > 1 && p.Overlap < StackOverlap {
			t.Fatalf("overlap %v", p.Overlap.Inches())
		}
	})
}
