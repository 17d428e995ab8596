package solver

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestCheckDepth(t *testing.T) {
	rule := DefaultDepthRule()
	for _, c := range []struct {
		name         string
		depth, panel Length
		web          Length
		want         DepthVerdict
	}{
		{"1/4 in 3/4, exactly a third", Inch / 4, 3 * Inch / 4, Inch / 2, DepthGood},
		{"1/4 in 0.703", Inch / 4, 703 * Mil, 453 * Mil, DepthGood},
		{"exactly half", 3 * Inch / 8, 3 * Inch / 4, 3 * Inch / 8, DepthGood},
		{"a hair over half", 3*Inch/8 + 1, 3 * Inch / 4, 3*Inch/8 - 1, DepthRefused},
		{"under a third", Inch / 8, 3 * Inch / 4, 5 * Inch / 8, DepthShallow},
		{"through", 3 * Inch / 4, 3 * Inch / 4, 0, DepthRefused},
		{"no depth", 0, 3 * Inch / 4, 3 * Inch / 4, DepthRefused},
		{"6 mm in 18", 6 * Millimetre, 18 * Millimetre, 12 * Millimetre, DepthGood},
	} {
		got := CheckDepth(c.depth, c.panel, rule)
		if got.Web != c.web || got.Verdict != c.want {
			t.Errorf("%s: web %v, verdict %d, want %v, %d", c.name, got.Web.Inches(), got.Verdict, c.web.Inches(), c.want)
		}
	}
	// A shop that lets less remain than it usually takes.
	rule.Web = Share{1, 3}
	if got := CheckDepth(7*Inch/16, 3*Inch/4, rule).Verdict; got != DepthDeep {
		t.Errorf("deep where a third may remain: %d", got)
	}
	// An odd panel: the half that may be taken and the half that must remain are one.
	if c := CheckDepth(3, 7, DefaultDepthRule()); c.Verdict != DepthGood || c.To != 3 || c.MinWeb != 3 {
		t.Errorf("7 pm: %+v", c)
	}
}

func TestCheckBothFaces(t *testing.T) {
	rule, panel := DefaultDepthRule(), 703*Mil
	for _, c := range []struct {
		name   string
		a, b   Length
		offset bool
		web    Length
		want   DepthVerdict
	}{
		{"1/4 and 1/4 facing", Inch / 4, Inch / 4, false, 203 * Mil, DepthRefused},
		{"1/4 and 1/4 offset", Inch / 4, Inch / 4, true, 453 * Mil, DepthGood},
		{"a quarter each", panel / 4, panel / 4, false, panel / 2, DepthGood},
		{"shared unevenly", 100 * Mil, 200 * Mil, false, 403 * Mil, DepthDeep},
		{"offset, one too deep", 400 * Mil, Inch / 4, true, 303 * Mil, DepthRefused},
		{"one face only", 0, Inch / 4, false, 453 * Mil, DepthRefused},
	} {
		got := CheckBothFaces(c.a, c.b, panel, c.offset, rule)
		if got.Web != c.web || got.Verdict != c.want {
			t.Errorf("%s: web %v, verdict %d, want %v, %d", c.name, got.Web.Inches(), got.Verdict, c.web.Inches(), c.want)
		}
	}
}

func TestUsualDepth(t *testing.T) {
	for _, c := range []struct {
		panel Length
		unit  Unit
		want  Length
	}{
		{703 * Mil, InchUnit, Inch / 4},
		{18 * Millimetre, MillimetreUnit, 6 * Millimetre},
		{Inch / 2, InchUnit, Inch / 4},
		{Inch / 4, InchUnit, 3 * Inch / 32},                      // middle of 0.083 and 0.125: 0.104
		{12 * Millimetre, MillimetreUnit, 6 * Millimetre},        // exactly half
		{Inch / 16, InchUnit, 3 * Inch / 128},                    // 0.0208 to 0.0313: the middle, 0.0260, in 1/128
		{Inch / 8, InchUnit, 3 * Inch / 64},                      // 0.0417 to 0.0625: the middle, 0.0521, in 1/64
		{9 * Millimetre, MillimetreUnit, 35 * (Millimetre / 10)}, // middle of 3 and 4.5: 3.75
	} {
		got := UsualDepth(c.panel, c.unit, DefaultDepthRule())
		if got != c.want || CheckDepth(got, c.panel, DefaultDepthRule()).Verdict != DepthGood {
			t.Errorf("%v %s: %v", c.panel.MM(), c.unit, got.MM())
		}
	}
}

func TestDepthPasses(t *testing.T) {
	for _, c := range []struct {
		depth, bite Length
		want        []Length
	}{
		{Inch / 4, Inch / 4, []Length{Inch / 4}},
		{Inch / 2, Inch / 4, []Length{Inch / 4, Inch / 2}},
		{Inch/2 + 2, Inch / 4, []Length{(Inch/2 + 2 + 1) / 3, (2*(Inch/2+2) + 1) / 3, Inch/2 + 2}},
		{10, 4, []Length{3, 7, 10}}, // 3 1/3, 6 2/3
		{0, Inch, nil},
		{Inch, 0, nil},
	} {
		if diff := cmp.Diff(c.want, DepthPasses(c.depth, c.bite)); diff != "" {
			t.Errorf("%d by %d (-want +got):\n%s", c.depth, c.bite, diff)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		depth := Length(rapid.Int64Range(1, int64(3*Inch)).Draw(t, "depth"))
		bite := Length(rapid.Int64Range(int64(Mil), int64(Inch)).Draw(t, "bite"))
		last, passes := Length(0), DepthPasses(depth, bite)
		for _, d := range passes {
			if d <= last || d-last > bite {
				t.Fatalf("from %d to %d with a bite of %d", last, d, bite)
			}
			last = d
		}
		if last != depth || len(passes) > 1 && Length(len(passes)-1)*bite >= depth {
			t.Fatalf("%d passes to %d for %d by %d", len(passes), last, depth, bite)
		}
	})
}

func TestTongueLength(t *testing.T) {
	if got := TongueLength(Inch/4, PaperThickness); got != 246*Mil {
		t.Errorf("1/4 in: %v", got.Inches())
	}
	if got := TongueLength(3*Mil, PaperThickness); got != 0 {
		t.Errorf("3 mil: %v", got.Inches())
	}
}

func TestRunOut(t *testing.T) {
	// sqrt(8 * 0.25 - 0.0625) = sqrt(1.9375) = 1.39194
	if got, ok := RunOut(8*Inch, Inch/4); !ok || (got-139194*Mil/100).Abs() > Mil/100 {
		t.Errorf("8 in, 1/4 in: %v", got.Inches())
	}
	if got, ok := RunOut(8*Inch, 4*Inch); !ok || got != 4*Inch { // down to the axis: the radius
		t.Errorf("to the axis: %v", got.Inches())
	}
	for _, c := range [][2]Length{{8 * Inch, 0}, {8 * Inch, 4*Inch + 1}, {0, Inch / 4}} {
		if got, ok := RunOut(c[0], c[1]); ok {
			t.Errorf("%v deep with %v: %v", c[1].Inches(), c[0].Inches(), got.Inches())
		}
	}
}
