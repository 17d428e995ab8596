package solver

import (
	"testing"

	"pgregory.net/rapid"
)

func TestPlanLap(t *testing.T) {
	noStack := GenericInchSaw()
	noStack.NoStack = true
	for _, c := range []struct {
		name            string
		set             Set
		saw             Saw
		width           Length
		n               int
		sum, move, over Length
	}{
		// 3/8 + 1/16 = 0.4375: 1/4 + 1/8 + 1/16.
		{"a rabbet", GenericInchSet(), GenericInchSaw(), 3 * Inch / 8, 1, 7 * Inch / 16, 0, Inch / 16},
		{"less than the pair", GenericInchSet(), GenericInchSaw(), Inch / 8, 1, Inch / 4, 0, Inch / 8},
		// 13/16 is the arbor; 3/4 + 1/16 = 13/16 still fits in one.
		{"at the arbor's limit", GenericInchSet(), GenericInchSaw(), 3 * Inch / 4, 1, 13 * Inch / 16, 0, Inch / 16},
		// A half-lap of 2 1/2 in: (2.5625 - 0.8125)/0.75 = 2.33, four passes, 1.75/3 each.
		{"a half-lap", GenericInchSet(), GenericInchSaw(), 5 * Inch / 2, 4, 13 * Inch / 16, Inches(7, 12), Inch / 16},
		{"no stack on this saw", GenericInchSet(), noStack, Inch / 2, 0, 0, 0, 0},
		{"an ordinary blade", GenericBlade(), GenericInchSaw(), Inch / 2, 0, 0, 0, 0},
		{"no width", GenericInchSet(), GenericInchSaw(), 0, 0, 0, 0, 0},
	} {
		p, ok := PlanLap(c.set, c.saw, PriorModel(c.set), c.width)
		if ok != (c.n > 0) {
			t.Errorf("%s: %v", c.name, ok)
			continue
		}
		if ok && (p.N != c.n || p.Stack.Sum() != c.sum || p.Move != c.move || p.Over != c.over || len(p.Stack.Shims()) != 0) {
			t.Errorf("%s: %d passes of %v moved by %v, %v over", c.name, p.N, p.Stack.Sum().Inches(), p.Move.Inches(), p.Over.Inches())
		}
	}
}

// What was learned counts: a pair that cuts 0.005 in narrow does not reach 1/16 in
// past a rabbet of 3/16 in by itself, and a stack that cuts wide is moved by less.
func TestPlanLapLearned(t *testing.T) {
	set, saw := GenericInchSet(), GenericInchSaw()
	model := PriorModel(set)
	model.Mean[0] = -0.005 // of the pair, so of every stack
	// 1/4 - 0.005 = 0.245 < 3/16 + 1/16; with 1/16 more 0.3075, 0.12 past the edge.
	p, ok := PlanLap(set, saw, model, 3*Inch/16)
	if !ok || p.N != 1 || p.Stack.Sum() != 5*Inch/16 || p.Over != 120*Mil {
		t.Errorf("rabbet: %+v, %v", p, ok)
	}
	model.Mean[0] = 0.010
	// The widest cuts 0.8225; (2.5625 - 0.8225)/0.76 = 2.29, four passes, 1.74/3 each.
	p, ok = PlanLap(set, saw, model, 5*Inch/2)
	if !ok || p.N != 4 || p.Cut() != 8225*Mil/10 || p.Move != 580*Mil || !p.Check().OK {
		t.Errorf("half-lap: %+v, %v", p, ok)
	}
}

// Every lap removes exactly its width and what it says beyond the end.
func TestPlanLapRemoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		saw := Saw{Arbor: Length(rapid.IntRange(16, 60).Draw(t, "arbor")) * Inch / 64}
		width := Length(rapid.Int64Range(1, int64(6*Inch)).Draw(t, "width"))
		set := drawSet(t)
		model := PriorModel(set)
		for i := range model.Mean {
			model.Mean[i] = rapid.Float64Range(-0.005, 0.005).Draw(t, "error")
		}
		p, ok := PlanLap(set, saw, model, width)
		if !ok {
			t.Fatalf("no plan for %v", width.Inches())
		}
		if !Simulate(p.Strips()).Leaves(Strip{0, width + p.Over}) || p.Over < LapOverlap {
			t.Fatalf("%+v leaves %+v", p, Simulate(p.Strips()))
		}
	})
}
