package solver

import (
	"math/big"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// bookcase is 36 x 30 x 11 1/2 in over the outside, all panels 0.703 in with a
// back of 1/4 in, dadoes and rabbets 1/4 in deep.
func bookcase() Case {
	return Case{
		Height: 36 * Inch, Width: 30 * Inch, Outside: true, Deep: 23 * Inch / 2,
		Side: 703 * Mil, Top: 703 * Mil, Bottom: 703 * Mil, Back: Inch / 4, Dado: Inch / 4, Rabbet: Inch / 4,
	}
}

func TestShelfLength(t *testing.T) {
	// P14: inside width 14.0, depth 0.25: 14.5, not 14.
	c := Case{Height: 20 * Inch, Width: 14 * Inch, Dado: Inch / 4}
	if got := c.ShelfLength(); got != 145*Inch/10 {
		t.Errorf("shelf %v", got.Inches())
	}
	c.Paper = PaperThickness
	if got := c.ShelfLength(); got != 14492*Mil {
		t.Errorf("shelf with glue room %v", got.Inches())
	}
	if got := c.DividerLength(); got != 20492*Mil {
		t.Errorf("divider %v", got.Inches())
	}
}

func TestCaseMeasures(t *testing.T) {
	c := bookcase()
	c.Kick = 3 * Inch
	// 36 - 3 - 2*0.703 = 31.594, 30 - 1.406 = 28.594.
	h, w := c.Inside()
	if h != 31594*Mil || w != 28594*Mil || c.Floor() != 3703*Mil || c.ShelfWidth() != 1125*Inch/100 {
		t.Errorf("inside %v x %v, floor %v, shelf width %v", h.Inches(), w.Inches(), c.Floor().Inches(), c.ShelfWidth().Inches())
	}
	in := c
	in.Height, in.Width, in.Outside = h, w, false
	if h, w := in.Over(); h != 36*Inch || w != 30*Inch {
		t.Errorf("from the inside: %v x %v", h.Inches(), w.Inches())
	}
}

func TestCaseFault(t *testing.T) {
	for _, c := range []struct {
		change func(*Case)
		want   CaseFault
	}{
		{func(*Case) {}, ""},
		{func(c *Case) { c.Height = 1406 * Mil }, CaseTooLow},
		{func(c *Case) { c.Width = 1406 * Mil }, CaseTooNarrow},
		{func(c *Case) { c.Deep = Inch / 4 }, CaseTooShallow},
		{func(c *Case) { c.Dado = 703 * Mil }, CaseThroughCut},
		{func(c *Case) { c.Rabbet = 703 * Mil }, CaseThroughCut},
	} {
		b := bookcase()
		c.change(&b)
		if got := b.Fault(); got != c.want {
			t.Errorf("%+v: %q, want %q", b, got, c.want)
		}
	}
}

var rats = cmp.Comparer(func(a, b *big.Rat) bool { return a.Cmp(b) == 0 })

func exactly(l Length) Edge { return Edge{picometres(l), l, 0} }

// P13: always a left and a right side, the same edges, mirror images.
func TestSides(t *testing.T) {
	c := bookcase()
	h, _ := c.Inside()
	d := Divide(h, alike(1, 703*Mil), OpeningRule{})
	// (34.594 - 0.703)/2 = 16.9455, and 0.703 below it.
	edges := []Edge{exactly(176485 * Mil / 10)}
	cuts := []SideCut{
		{BottomPart, true, 703 * Mil, Inch / 4, 0},
		{TopPart, true, 703 * Mil, Inch / 4, 35297 * Mil},
		{BackPart, true, Inch / 4, Inch / 4, 0},
	}
	want := [2]SidePlan{{Left, Left, edges, cuts}, {Right, Right, edges, cuts}}
	if diff := cmp.Diff(want, c.Sides(d, 0), rats); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// On a plinth the bottom stands in a dado; without rabbets only that is left.
	c.Kick, c.Rabbet = 2*Inch, 0
	if diff := cmp.Diff([]SideCut{{BottomPart, false, 703 * Mil, Inch / 4, 2 * Inch}}, c.Sides(d, 0)[1].Cuts); diff != "" {
		t.Errorf("raised bottom (-want +got):\n%s", diff)
	}
}

func TestCutList(t *testing.T) {
	c := bookcase()
	got := c.CutList([]Length{703 * Mil, 734 * Mil, 703 * Mil}, []Length{500 * Mil})
	in := 28594 * Mil // 30 - 2*0.703; in rabbets and dadoes 29.094
	want := []CutPiece{
		{SidePart, 2, 36 * Inch, 23 * Inch / 2, 703 * Mil},
		{TopPart, 1, in + Inch/2, 45 * Inch / 4, 703 * Mil},
		{BottomPart, 1, in + Inch/2, 45 * Inch / 4, 703 * Mil},
		{ShelfPart, 1, in + Inch/2, 45 * Inch / 4, 734 * Mil},
		{ShelfPart, 2, in + Inch/2, 45 * Inch / 4, 703 * Mil},
		{DividerPart, 1, 35094 * Mil, 45 * Inch / 4, 500 * Mil}, // 34.594 + 0.5
		{BackPart, 1, 36 * Inch, in + Inch/2, Inch / 4},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// A raised bottom stands in dadoes, with glue room; the back ends at it.
	c.Kick, c.Dado, c.Paper, c.Top = 3*Inch, 5*Inch/16, PaperThickness, 0
	got = c.CutList(nil, nil)
	want = []CutPiece{
		{SidePart, 2, 36 * Inch, 23 * Inch / 2, 703 * Mil},
		{BottomPart, 1, in + 617*Mil, 45 * Inch / 4, 703 * Mil}, // 2*0.3125 - 0.008
		{BackPart, 1, 33 * Inch, in + Inch/2, Inch / 4},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("raised bottom (-want +got):\n%s", diff)
	}
}

func TestStoryStick(t *testing.T) {
	c := Case{Height: 11 * Inch, Width: 20 * Inch, Side: Inch, Bottom: Inch / 2, Top: Inch / 2, Dado: Inch / 4}
	d := Divide(11*Inch, alike(2, Inch/2), OpeningRule{}) // edges at 10/3 and 43/6 above the floor
	var got []string
	for _, m := range c.StoryStick(d, SixtyFourth) {
		got = append(got, Style{Unit: InchUnit, Notation: Fractions}.Size(m.Edge.At))
	}
	want := []string{"1/2 in", "3 53/64 in", "4 21/64 in", "7 43/64 in", "8 11/64 in", "11 1/2 in"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	m := c.StoryStick(d, SixtyFourth)[4]
	if m.Kind != StickUpper || m.Shelf != 2 || m.Edge.Exact.Cmp(new(big.Rat).Mul(big.NewRat(49, 6), picometres(Inch))) != 0 {
		t.Errorf("upper face of the second shelf: %+v", m) // 43/6 + 1/2 + 1/2
	}
}
