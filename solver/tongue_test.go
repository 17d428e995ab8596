package solver

import "testing"

func TestPlanTongue(t *testing.T) {
	noStack := GenericInchSaw()
	noStack.NoStack = true
	for _, c := range []struct {
		name               string
		set                Set
		saw                Saw
		mean               float64 // learned error of the pair, inches
		thickest, thinnest Length
		width              Length
		ok                 bool
	}{
		// P01: 0.724 - 1/32 = 0.69275; 1/4 + 3/8 + 1/16 = 0.6875, the next is 0.71875.
		{"P01", GenericInchSet(), GenericInchSaw(), 0, 755 * Mil, 724 * Mil, 6875 * Mil / 10, true},
		{"at the limit", GenericInchSet(), GenericInchSaw(), 0, 755 * Mil, 71875 * Mil / 100, 6875 * Mil / 10, true},
		{"a hair under it", GenericInchSet(), GenericInchSaw(), 0, 755 * Mil, 71875*Mil/100 - 1, 65625 * Mil / 100, true}, // 1/4 + 1/4 + 3/32 + 1/16
		{"what was learned counts", GenericInchSet(), GenericInchSaw(), 0.006, 755 * Mil, 724 * Mil, 66225 * Mil / 100, true},
		{"short arbor", GenericInchSet(), Saw{Arbor: Inch / 2}, 0, 755 * Mil, 724 * Mil, Inch / 2, true},
		{"too thin", GenericInchSet(), GenericInchSaw(), 0, 290 * Mil, 280 * Mil, 0, false},
		{"no stack on this saw", GenericInchSet(), noStack, 0, 755 * Mil, 724 * Mil, 0, false},
		{"an ordinary blade", GenericBlade(), GenericInchSaw(), 0, 755 * Mil, 724 * Mil, 0, false},
	} {
		p := Problem{Set: c.set, Saw: c.saw, Model: PriorModel(c.set)}
		p.Model.Mean[0] = c.mean
		got, ok := PlanTongue(p, c.thickest, c.thinnest, DefaultGrades())
		if ok != c.ok || got.Width != c.width {
			t.Errorf("%s: %v, width %v, want %v", c.name, ok, got.Width.Inches(), c.width.Inches())
			continue
		}
		if !ok {
			continue
		}
		tongue := c.width - 45*Mil/10 // play 0.0045
		if got.Tongue != tongue || got.Thinnest != c.thinnest-tongue || got.Thickest != c.thickest-tongue || len(got.Stack.Shims()) != 0 {
			t.Errorf("%s: %+v", c.name, got)
		}
		g := DefaultGrades()
		if g.Of(got.Width-got.Snug.Lo) != Snug || g.Of(got.Width-got.Snug.Hi) != Snug || g.Of(got.Width-got.Snug.Lo+1) != Loose || g.Of(got.Width-got.Snug.Hi-1) != Tight {
			t.Errorf("%s: snug %+v", c.name, got.Snug)
		}
		if got.Thinnest < TongueShoulder || got.SD <= 0 {
			t.Errorf("%s: shoulder %v, SD %v", c.name, got.Thinnest.Inches(), got.SD)
		}
	}
}
