package solver

import (
	"math"
	"testing"
)

func oneSpecies(t *testing.T, name string) Species {
	t.Helper()
	s := MatchSpecies(name)
	if len(s) != 1 {
		t.Fatalf("%d species match %q", len(s), name)
	}
	return s[0]
}

func TestMove(t *testing.T) {
	// Wood Handbook p. 13-17: white fir, 232 mm (9.15 in) flatsawn, 8 to 11 %,
	// C_T 0.00245: 232 * 0.00245 * 3 = 1.705 mm.
	m, ok := Move(oneSpecies(t, "fir, white"), Flatsawn, 0, 232*Millimetre, 8, 11)
	if !ok || !m.Valid || math.Abs(m.Width.MM()-1.7) > 0.05 || math.Abs(m.Width.Inches()-0.067) > 0.0005 || m.Thickness != 0 {
		t.Errorf("white fir: %+v", m)
	}
	oak := oneSpecies(t, "white oak") // radial 0.0018, tangential 0.00365
	for _, c := range []struct {
		name             string
		sawn             Sawn
		from, to         float64
		thickness, width float64 // inches
		valid            bool
	}{
		{"flatsawn: 0.75 x 0.0018 x 4 and 6 x 0.00365 x 4", Flatsawn, 7, 11, 0.0054, 0.0876, true},
		{"quartersawn, the other way", Quartersawn, 7, 11, 0.01095, 0.0432, true},
		{"drying", Flatsawn, 11, 7, -0.0054, -0.0876, true},
		{"the ends of the range", Flatsawn, 6, 14, 0.0108, 0.1752, true},
		{"drier than the range", Flatsawn, 5.9, 9.9, 0.0054, 0.0876, false},
		{"wetter than the range", Flatsawn, 10.1, 14.1, 0.0054, 0.0876, false},
	} {
		m, ok := Move(oak, c.sawn, 750*Mil, 6*Inch, c.from, c.to)
		if !ok || m.Valid != c.valid || m.Mark != Published ||
			math.Abs(m.Thickness.Inches()-c.thickness) > 1e-9 || math.Abs(m.Width.Inches()-c.width) > 1e-9 {
			t.Errorf("%s: %v, %v, valid %v", c.name, m.Thickness.Inches(), m.Width.Inches(), m.Valid)
		}
	}
	for _, bad := range [][2]float64{{-1, 8}, {8, 30.1}, {math.NaN(), 8}, {8, math.Inf(1)}} {
		if m, ok := Move(oak, Flatsawn, Inch, Inch, bad[0], bad[1]); ok {
			t.Errorf("%v: %+v", bad, m)
		}
	}
}

// White oak, 3/4 in flatsawn, 7 to 11 %: a play of 0.004 becomes -0.0014.
func TestFitThrough(t *testing.T) {
	m, _ := Move(oneSpecies(t, "white oak"), Flatsawn, 750*Mil, 0, 7, 11)
	got := FitThrough(4*Mil, m.Thickness, DefaultGrades())
	want := SeasonFit{4 * Mil, -14 * Mil / 10, Snug, Tight, true}
	if got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	back := FitThrough(4*Mil, -m.Thickness, DefaultGrades())
	if back.PlayLater != 94*Mil/10 || back.GradeLater != Loose || back.FitForLater {
		t.Errorf("drying: %+v", back)
	}
}

func TestSeasonWindow(t *testing.T) {
	g := DefaultGrades()
	for _, c := range []struct {
		name  string
		thick Length
		want  Window
	}{
		{"swelling raises the lower end", 5 * Mil, Window{756 * Mil, 758 * Mil}}, // 0.755+0.001, 0.750+0.008
		{"shrinking lowers the upper end", -5 * Mil, Window{751 * Mil, 753 * Mil}},
		{"too much for one width", 8 * Mil, Window{759 * Mil, 758 * Mil}},
	} {
		if got := SeasonWindow(750*Mil, 750*Mil, c.thick, c.thick, g); got != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	if got := SeasonWindow(752*Mil, 750*Mil, 3*Mil, 2*Mil, g); got != (Window{756 * Mil, 758 * Mil}) {
		t.Errorf("two readings: %+v", got)
	}
}

func TestMovePlywood(t *testing.T) {
	birch := oneSpecies(t, "yellow birch") // radial 0.00256
	// 70 F, 30 to 60 %: 6.2 to 11.0 in Table 4-2. 0.7 x 0.00256 x 4.8 = 0.0086,
	// 30 in x 0.0002 x 3 = 0.018.
	m, ok := MovePlywood(birch, 700*Mil, 30*Inch, Air{70, 30}, Air{70, 60})
	if !ok || !m.Valid || m.Mark != Memory || math.Abs(m.Thickness.Inches()-0.0086) > 0.0003 || math.Abs(m.Width.Inches()-0.018) > 1e-9 {
		t.Errorf("%+v", m)
	}
	if m, ok := MovePlywood(birch, 700*Mil, 30*Inch, Air{70, 30}, Air{70, 90}); !ok || m.Valid {
		t.Errorf("20.5 %% is outside the range: %+v", m)
	}
	for _, bad := range [][2]Air{{{10, 30}, {70, 30}}, {{70, 30}, {70, 99}}} {
		if m, ok := MovePlywood(birch, Inch, Inch, bad[0], bad[1]); ok {
			t.Errorf("%v: %+v", bad, m)
		}
	}
	if lo, hi := RadialRange(); lo != 0.00071 || hi != 0.00259 { // eastern white pine, true hickory
		t.Errorf("radial from %v to %v", lo, hi)
	}
}
