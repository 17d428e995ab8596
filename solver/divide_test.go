package solver

import (
	"math/big"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func inchesOf(rats []*big.Rat) []string {
	var out []string
	for _, r := range rats {
		out = append(out, new(big.Rat).Quo(r, picometres(Inch)).RatString())
	}
	return out
}

func alike(n int, t Length) []Length {
	out := make([]Length, n)
	for i := range out {
		out[i] = t
	}
	return out
}

func TestDivide(t *testing.T) {
	three := 3 * Inch / 4
	for _, c := range []struct {
		name            string
		span            Length
		thick           []Length
		rule            OpeningRule
		openings, lower []string // inches
		fault           DivisionFault
		off             Length
	}{
		// (30 - 2.25)/4 = 6.9375; k g + (k-1) t = 6.9375, 14.625, 22.3125.
		{
			name: "even", span: 30 * Inch, thick: alike(3, three),
			openings: []string{"111/16", "111/16", "111/16", "111/16"}, lower: []string{"111/16", "117/8", "357/16"},
		},
		{
			name: "thirds stay exact", span: 31 * Inch, thick: alike(2, Inch/2),
			openings: []string{"10", "10", "10"}, lower: []string{"10", "41/2"},
		},
		{
			name: "no third of an inch is lost", span: 11 * Inch, thick: alike(2, Inch/2),
			openings: []string{"10/3", "10/3", "10/3"}, lower: []string{"10/3", "43/6"},
		},
		{name: "no shelf", span: 11 * Inch, openings: []string{"11"}},
		{
			name: "two lots", span: 22 * Inch, thick: []Length{Inch, Inch / 2},
			openings: []string{"41/6", "41/6", "41/6"}, lower: []string{"41/6", "44/3"},
		},
		// Free 28: 4 top + 6 step, step 1: top 5.5.
		{
			name: "stepped", span: 31 * Inch, thick: alike(3, Inch), rule: OpeningRule{Kind: SteppedOpenings, Step: Inch},
			openings: []string{"17/2", "15/2", "13/2", "11/2"}, lower: []string{"17/2", "17", "49/2"},
		},
		// Free 19 = top (1 + 3/2 + 9/4) = top 19/4: top 4, then 6 and 9.
		{
			name: "scaled", span: 21 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: ScaledOpenings, Ratio: Share{3, 2}},
			openings: []string{"9", "6", "4"}, lower: []string{"9", "16"},
		},
		{
			name: "given", span: 21 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: []Length{8 * Inch, 6 * Inch, 5 * Inch}},
			openings: []string{"8", "6", "5"}, lower: []string{"8", "15"},
		},
		{
			name: "given, the rest in the middle", span: 21 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: []Length{8 * Inch, 0, 5 * Inch}},
			openings: []string{"8", "6", "5"}, lower: []string{"8", "15"},
		},
		// Half of 41 is 20.5, the shelf from 20 to 21; (20 - 1)/2 below, 20 above.
		{
			name: "fixed half-way", span: 41 * Inch, thick: alike(2, Inch), rule: OpeningRule{Fixed: []FixedShelf{{No: 2}}},
			openings: []string{"19/2", "19/2", "20"}, lower: []string{"19/2", "20"},
		},
		// The shelf from 12 to 13; 8 above it in two steps of 1: (7 - 1)/2 and that + 1.
		{
			name: "fixed at a height, stepped above", span: 21 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: SteppedOpenings, Step: Inch, Fixed: []FixedShelf{{1, 25 * Inch / 2}}},
			openings: []string{"12", "4", "3"}, lower: []string{"12", "17"},
		},
		// Shelves from 9 1/2 to 10 1/2 and from 29 1/2 to 30 1/2: (19 - 1)/2 between them,
		// 9 1/2 below and 11 1/2 above.
		{
			name: "two fixed", span: 42 * Inch, thick: alike(3, Inch), rule: OpeningRule{Fixed: []FixedShelf{{1, 10 * Inch}, {3, 30 * Inch}}},
			openings: []string{"19/2", "9", "9", "23/2"}, lower: []string{"19/2", "39/2", "59/2"},
		},
		{name: "fixed out of order", span: 42 * Inch, thick: alike(3, Inch), rule: OpeningRule{Fixed: []FixedShelf{{3, 30 * Inch}, {1, 10 * Inch}}}, fault: BadFixed},
		{name: "the upper fixed below the lower", span: 42 * Inch, thick: alike(2, Inch), rule: OpeningRule{Fixed: []FixedShelf{{1, 30 * Inch}, {2, 10 * Inch}}}, fault: NoRoom, off: 21 * Inch},
		{name: "no room", span: 3 * Inch, thick: alike(4, Inch), fault: NoRoom, off: Inch / 5},
		{name: "nothing left", span: 4 * Inch, thick: alike(4, Inch), fault: NoRoom},
		// Free 3: 3 top + 3*2 = 3, top -1.
		{name: "steps too large", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: SteppedOpenings, Step: 2 * Inch}, fault: NoRoom, off: Inch},
		{name: "too few given", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: []Length{Inch, 0}}, fault: WrongCount},
		{name: "two rests", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: []Length{0, Inch, 0}}, fault: TwoRests},
		{name: "given too much", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: alike(3, Inch+Mil)}, fault: WrongSum, off: 3 * Mil},
		{name: "given too little", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: GivenOpenings, Given: alike(3, Inch-Mil)}, fault: WrongSum, off: -3 * Mil},
		{name: "no ratio", span: 5 * Inch, thick: alike(2, Inch), rule: OpeningRule{Kind: ScaledOpenings}, fault: BadRatio},
		{name: "no such shelf", span: 50 * Inch, thick: alike(2, Inch), rule: OpeningRule{Fixed: []FixedShelf{{No: 3}}}, fault: BadFixed},
		{name: "fixed into the top", span: 50 * Inch, thick: alike(2, Inch), rule: OpeningRule{Fixed: []FixedShelf{{2, 50 * Inch}}}, fault: NoRoom, off: Inch / 2},
		{name: "a shelf of nothing", span: 50 * Inch, thick: []Length{0}, fault: TooMany},
		{name: "too many", span: 50 * Inch, thick: alike(41, Mil), fault: TooMany},
	} {
		d := Divide(c.span, c.thick, c.rule)
		if d.Fault != c.fault || d.Off != c.off {
			t.Errorf("%s: fault %q, off %v", c.name, d.Fault, d.Off.Inches())
		}
		if diff := cmp.Diff([][]string{c.openings, c.lower}, [][]string{inchesOf(d.Openings), inchesOf(d.Lower)}); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// Openings and shelves add up to the height exactly, in any unit; and every mark
// is off by half a grain at most, however many shelves lie below it.
func TestDivideAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]Length{Inch / 512, Inch / 100_000_000, Millimetre / 1000, Picometre, Millimetre}).Draw(t, "unit")
		of := func(most Length, name string) Length {
			return unit * Length(rapid.Int64Range(1, int64(most/unit)).Draw(t, name))
		}
		span := of(3000*Millimetre, "span")
		thick := make([]Length, rapid.IntRange(0, 12).Draw(t, "shelves"))
		for i := range thick {
			thick[i] = of(40*Millimetre, "thick")
		}
		rule := OpeningRule{Kind: rapid.SampledFrom([]OpeningKind{EvenOpenings, SteppedOpenings, ScaledOpenings}).Draw(t, "kind")}
		rule.Step = of(20*Millimetre, "step")
		rule.Ratio = Share{rapid.Int64Range(1, 9).Draw(t, "num"), rapid.Int64Range(1, 9).Draw(t, "den")}
		if len(thick) > 0 && rapid.Bool().Draw(t, "fixed") {
			rule.Fixed = []FixedShelf{{No: rapid.IntRange(1, len(thick)).Draw(t, "which")}}
			for no := rule.Fixed[0].No + 1; no <= len(thick); no++ {
				if rapid.Bool().Draw(t, "another") {
					rule.Fixed = append(rule.Fixed, FixedShelf{no, of(span, "middle")})
				}
			}
		}
		d := Divide(span, thick, rule)
		if d.Fault == NoRoom {
			return
		}
		if d.Fault != "" || len(d.Openings) != len(thick)+1 {
			t.Fatalf("fault %q, %d openings", d.Fault, len(d.Openings))
		}
		at := new(big.Rat)
		for i, o := range d.Openings {
			at.Add(at, o)
			if i < len(thick) {
				if at.Cmp(d.Lower[i]) != 0 {
					t.Fatalf("shelf %d begins at %v, not %v", i+1, d.Lower[i], at)
				}
				at.Add(at, picometres(thick[i]))
			}
		}
		if at.Cmp(picometres(span)) != 0 {
			t.Fatalf("adds up to %v, not %d", at, span)
		}
		grain := rapid.SampledFrom([]Length{0, SixtyFourth, HalfMillimetre}).Draw(t, "grain")
		below := of(100*Millimetre, "below")
		for i, e := range d.Edges(below, grain) {
			exact := new(big.Rat).Add(d.Lower[i], picometres(below))
			off := new(big.Rat).Sub(picometres(e.At), exact)
			if e.Exact.Cmp(exact) != 0 || e.At%max(grain, 1) != 0 || off.Abs(off).Cmp(big.NewRat(int64(max(grain, 1)), 2)) > 0 {
				t.Fatalf("edge %d: %v at %d for grain %d", i+1, e.Exact, e.At, grain)
			}
			if (e.Error.Abs() - roundRat(off, Picometre)).Abs() > 0 {
				t.Fatalf("edge %d: error %d, is %v", i+1, e.Error, off)
			}
		}
	})
}

func TestEdges(t *testing.T) {
	// 10/3 + 1/2 = 3.8333 in: 245 1/3 sixty-fourths; 43/6 + 1/2 = 7.6667: 490 2/3.
	d := Divide(11*Inch, alike(2, Inch/2), OpeningRule{})
	got := d.Edges(Inch/2, SixtyFourth)
	if got[0].At != 245*Inch/64 || got[1].At != 491*Inch/64 {
		t.Errorf("at %v and %v", got[0].At.Inches(), got[1].At.Inches())
	}
	third := Inch / 64 / 3 // 132 291 666.67 pm
	if got[0].Error != -third-1 || got[1].Error != third+1 {
		t.Errorf("errors %d and %d, want %d", got[0].Error, got[1].Error, third+1)
	}
}
