package drawing

import (
	"math"
	"slices"
	"strings"
	"testing"

	"shimwright/solver"
)

// casePictures are cases of every kind that is drawn differently. The bookcase is
// that of the talk tests: 36 x 30 x 11 1/2 in over the outside, all 0.703 in.
func casePictures() map[string]CasePicture {
	inch, metric := solver.Style{Unit: solver.InchUnit}, solver.Style{Unit: solver.MillimetreUnit}
	alike := func(n int, t solver.Length) []solver.Length { return slices.Repeat([]solver.Length{t}, n) }
	t := 703 * solver.Mil
	c := solver.Case{
		Height: 36 * solver.Inch, Width: 30 * solver.Inch, Outside: true, Deep: 23 * solver.Inch / 2,
		Side: t, Top: t, Bottom: t, Back: solver.Inch / 4, Dado: solver.Inch / 4, Rabbet: solver.Inch / 4,
	}
	high, wide := c.Inside()
	shelves := CasePicture{Title: "Case with 4 shelves", Style: inch, Marks: inch, Case: c, Division: solver.Divide(high, alike(4, t), solver.OpeningRule{})}

	bays := shelves
	bays.Title = "Case with 3 shelves, dividers in bay 2"
	bays.Division = solver.Divide(high, alike(3, t), solver.OpeningRule{})
	b := c.Bay(bays.Division, 0, 2)
	low := bays.Division.Edges(0, 0)[0].At + t
	board := func(name string, away bool) CrossBoard { return CrossBoard{name, c.ShelfLength(), c.Dado, away} }
	bays.Pairs = []CrossPair{{"Bay 2", low, low + b.Clear, solver.Divide(wide, alike(2, solver.Inch/2), solver.OpeningRule{}), []CrossBoard{board("shelf 1, upper face up", false), board("shelf 2, lower face up", true)}}}

	dividers := shelves
	dividers.Title, dividers.What = "Case with 9 dividers", Dividers
	dividers.Division = solver.Divide(wide, alike(9, t), solver.OpeningRule{}) // too many figures for one line
	dividers.Pairs = []CrossPair{{"", 0, high, dividers.Division, []CrossBoard{board("bottom", false), board("top", true)}}}

	tall := CasePicture{Title: "Case with 8 shelves", Style: metric, Marks: metric, Grain: solver.HalfMillimetre}
	mm := solver.Millimetre
	tall.Case = solver.Case{Height: 2000 * mm, Width: 800 * mm, Outside: true, Deep: 300 * mm, Side: 18 * mm, Top: 18 * mm, Bottom: 18 * mm, Back: 6 * mm, Kick: 80 * mm, Dado: 6 * mm, Rabbet: 6 * mm}
	high, _ = tall.Case.Inside()
	tall.Division = solver.Divide(high, alike(8, 18*mm), solver.OpeningRule{Kind: solver.SteppedOpenings, Step: 10 * mm})

	many := tall // figures closer than letters are high
	many.Title, many.Grain = "Case with 40 shelves", 0
	many.Division = solver.Divide(high, alike(40, 10*mm), solver.OpeningRule{})

	broad := tall // long figures beside a broad case, and more bays than are drawn
	broad.Title, broad.Grain = "Case with 1 shelf", 0
	broad.Case.Height, broad.Case.Width, broad.Case.Deep, broad.Case.Top = 2400*mm, 3000*mm, 600*mm, 0
	high, _ = broad.Case.Inside()
	_, inWide := broad.Case.Inside()
	broad.Division = solver.Divide(high, alike(1, 18*mm), solver.OpeningRule{})
	for range 3 {
		broad.Pairs = append(broad.Pairs, CrossPair{"Bay 1", 0, high / 3, solver.Divide(inWide, alike(2, 18*mm), solver.OpeningRule{}), []CrossBoard{
			{"bottom, inner face up", broad.Case.ShelfLength(), 6 * mm, false}, {"shelf 1, lower face up", broad.Case.ShelfLength() + 4*mm, 8 * mm, true},
		}})
	}

	runners := shelves
	runners.Title, runners.What = "Case with 3 runner pairs", Runners
	high, _ = c.Inside()
	runners.Division = solver.Divide(high, alike(3, solver.Inch/2), solver.OpeningRule{Kind: solver.GivenOpenings, Given: []solver.Length{5 * solver.Inch, 6 * solver.Inch, 0, 4 * solver.Inch}})
	runners.Case.Rabbet, runners.Case.Back = 0, 0
	return map[string]CasePicture{"shelves": shelves, "bays": bays, "dividers": dividers, "tall": tall, "many": many, "broad": broad, "runners": runners}
}

// The right side is the left one seen in a mirror, and every dado of both begins
// where its mark is, to scale.
func TestCaseSides(t *testing.T) {
	for name, p := range casePictures() {
		var left, right View
		for _, v := range Case(p).Views {
			switch v.Name {
			case "left side":
				left = v
			case "right side":
				right = v
			}
		}
		if left.ScaleX != -right.ScaleX || left.ScaleY != right.ScaleY || left.ScaleX != left.ScaleY || math.Abs(left.X+right.X-ScreenWidth) > 1e-9 {
			t.Errorf("%s: not mirrored to one scale: %v %v, %v %v", name, left.ScaleX, left.ScaleY, right.ScaleX, right.ScaleY)
		}
		if !slices.EqualFunc(left.Shapes, right.Shapes, func(a, b Shape) bool { return line(a) == line(b) }) {
			t.Errorf("%s: other shapes on the right", name)
		}
		n := 0
		for _, shape := range left.Shapes {
			r, ok := shape.(Rect)
			if !ok || !strings.HasPrefix(r.What, "dado ") || strings.HasPrefix(r.What, "dado for") {
				continue
			}
			e, thick := p.Division.Edges(p.Case.Floor(), p.Grain)[n], p.Division.Thick[n]
			if math.Abs(-r.Y-r.H-e.At.MM()) > 1e-6 {
				t.Errorf("%s, dado %d: lower edge at %f, marked at %f", name, n+1, -r.Y-r.H, e.At.MM())
			}
			if r.Stands == 0 && math.Abs(r.H-thick.MM()) > 1e-6 || r.Stands != 0 && r.Stands != thick {
				t.Errorf("%s, dado %d: %f wide for %f, stands for %v", name, n+1, r.H, thick.MM(), r.Stands)
			}
			n++
		}
		if want := len(p.Division.Thick); p.What != Dividers && n != want {
			t.Errorf("%s: %d dadoes, want %d", name, n, want)
		}
	}
}

// From the front each shelf lies on its mark and reaches into both dadoes, and each
// divider stands between its pieces.
func TestCaseFront(t *testing.T) {
	p := casePictures()["bays"]
	i := slices.IndexFunc(Case(p).Views, func(v View) bool { return v.Name == "front" })
	got := map[string]Rect{}
	for _, shape := range Case(p).Views[i].Shapes {
		if r, ok := shape.(Rect); ok {
			got[r.What] = r
		}
	}
	in := func(thousandths float64) float64 { return thousandths * 25.4 / 1000 }
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %f, want %f", what, got, want)
		}
	}
	// Shelf 1 from 8.82425 in, 29.094 long: from 0.703 - 0.25. Its dadoes for the
	// dividers begin 9.198 from the inside; these are 8.12125 + 1/2 long.
	near("shelf 1", -got["shelf 1"].Y-got["shelf 1"].H, in(8824.25))
	near("its end", got["shelf 1"].X, in(453))
	near("its length", got["shelf 1"].W, in(29094))
	near("divider 1", got["divider 1"].X, in(703+9198))
	near("its foot", -got["divider 1"].Y-got["divider 1"].H, in(8824.25+703-250))
	near("its length", got["divider 1"].H, in(8621.25))
}

func TestSpread(t *testing.T) {
	for _, c := range []struct{ at, want []float64 }{
		{[]float64{0, 10, 20}, []float64{0, 10, 20}},
		{[]float64{0, 1}, []float64{-1.5, 2.5}},                                // the middle stays
		{[]float64{0, 0, 0}, []float64{-4, 0, 4}},                              // all three move
		{[]float64{0, 5, 6, 20}, []float64{-0.333333, 3.666667, 7.666667, 20}}, // (0 + 5 + 6)/3 = 3.6667
	} {
		got := spread(c.at, 4)
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-5 {
				t.Errorf("%v: %v, want %v", c.at, got, c.want)
				break
			}
		}
	}
}
