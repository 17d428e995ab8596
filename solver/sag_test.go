package solver

import (
	"math"
	"testing"
)

func TestSag(t *testing.T) {
	// Sugar maple, 8 x 3/4 x 48 in, 35 lb/ft, 1.83e6 psi: w = 35/12 lb/in,
	// I = 8 * 0.421875/12 = 0.28125 in4; 5 * 2.91667 * 48^4/(384 * 1.83e6 * 0.28125)
	// = 0.3917 in, a fifth of it with fixed ends.
	maple := Beam{48 * Inch, 8 * Inch, 3 * Inch / 4, 35 * PoundPerFoot, 1.83e6 * PSI}
	s, ok := SagOf(maple)
	near := func(what string, got Length, want float64) {
		t.Helper()
		if math.Abs(got.Inches()-want) > 0.0005 {
			t.Errorf("%s: %v in, want %v", what, got.Inches(), want)
		}
	}
	near("free", s.Free, 0.392)
	near("fixed", s.Fixed, 0.078)
	near("free, with creep", s.FreeLater, 0.5876)
	near("fixed, with creep", s.FixedLater, 0.1175)
	if !ok || s.Limit != 80*Mil || s.FreeOK || !s.FixedOK { // 0.02 in a foot, four feet
		t.Errorf("limit %v, free %v, fixed %v", s.Limit.Inches(), s.FreeOK, s.FixedOK)
	}
	// The same shelf in metric figures: 35 lb/ft = 52.0856 kg/m, 1.83e6 psi = 12617.4 N/mm2.
	metric, _ := SagOf(Beam{maple.Span, maple.Width, maple.Thick, 52.08557 * KilogramPerMetre, 12617.4})
	near("in metric figures", metric.Free, 0.392)

	for _, bad := range []Beam{
		{0, Inch, Inch, 1, 1000},
		{Inch, 0, Inch, 1, 1000},
		{Inch, Inch, 0, 1, 1000},
		{Inch, Inch, Inch, -1, 1000},
		{Inch, Inch, Inch, 1, 0},
		{Inch, Inch, Inch, math.NaN(), 1000},
		{Inch, Inch, Inch, 1, math.NaN()},
		{48 * Inch, Inch, Inch / 16, 1e6, 1000}, // beyond all bending
	} {
		if s, ok := SagOf(bad); ok {
			t.Errorf("%+v: %+v", bad, s)
		}
	}
}
