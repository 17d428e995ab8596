package solver

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// fanSet has outer blades of so many teeth, 8 in across, and chippers of 1/8,
// 3/32 and 1/16 in with the given tooth counts.
func fanSet(outer, eighth, threeThirtySeconds, sixteenth int) Set {
	s := GenericInchSet()
	s.Diameter, s.Outer.Teeth = 8*Inch, outer
	s.Chippers[0].Teeth, s.Chippers[1].Teeth, s.Chippers[2].Teeth = eighth, threeThirtySeconds, sixteenth
	return s
}

func TestFan(t *testing.T) {
	eighth, narrow := Part{Inch / 8, Inch / 8}, Part{Inch / 16, Inch / 16}
	for _, c := range []struct {
		name  string
		set   Set
		parts []Part
		rule  FanRule
		turn  float64
		clear []TipClearance
	}{
		{"no chipper", fanSet(24, 4, 4, 4), nil, FanOuters, 7.5, nil}, // 180/24
		{"no chipper, teeth not known", fanSet(0, 0, 0, 0), nil, FanOuters, 0, nil},
		{"one chipper, 24/4", fanSet(24, 4, 4, 4), []Part{eighth}, FanNone, 0, []TipClearance{{4, 24, 7.5, 523_599 * Inch / 1e6, true}}},
		{"two of four teeth", fanSet(24, 4, 4, 4), []Part{eighth, narrow}, FanEach, 45, []TipClearance{{4, 24, 7.5, 523_599 * Inch / 1e6, true}}}, // 360/(4*2)
		{"three of two teeth", fanSet(40, 2, 2, 2), []Part{eighth, eighth, narrow}, FanEach, 60, []TipClearance{{2, 40, 4.5, 314_159 * Inch / 1e6, true}}},
		{"different counts", fanSet(40, 6, 4, 4), []Part{eighth, narrow}, FanMixed, 0, []TipClearance{
			{6, 40, 1.5, 104_720 * Inch / 1e6, false},
			{4, 40, 4.5, 314_159 * Inch / 1e6, true},
		}},
		{"P16: 24 and 7", fanSet(24, 7, 7, 7), []Part{eighth}, FanNone, 0, []TipClearance{{7, 24, 1.0714, 74_800 * Inch / 1e6, false}}},
		{"counts not known", fanSet(24, 0, 0, 0), []Part{eighth, eighth}, FanUnknown, 0, nil},
		{"one not known", fanSet(24, 4, 0, 0), []Part{eighth, narrow}, FanUnknown, 0, []TipClearance{{4, 24, 7.5, 523_599 * Inch / 1e6, true}}},
		{"outer not known", fanSet(0, 4, 4, 4), []Part{eighth, eighth}, FanEach, 45, nil},
	} {
		got := Fan(c.set, Stack{Outer: c.set.Outer.Part(), Chippers: c.parts})
		if got.Rule != c.rule || got.Turn != c.turn || got.Chippers != len(c.parts) {
			t.Errorf("%s: rule %d, turn %v; want %d, %v", c.name, got.Rule, got.Turn, c.rule, c.turn)
		}
		near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-4 })
		nearLength := cmp.Comparer(func(a, b Length) bool { return (a - b).Abs() <= Mil/100 })
		if diff := cmp.Diff(c.clear, got.Clearances, near, nearLength); diff != "" {
			t.Errorf("%s: clearances (-want +got):\n%s", c.name, diff)
		}
	}
	// Without a diameter there is an angle and no length.
	s := fanSet(24, 4, 4, 4)
	s.Diameter = 0
	if c := Fan(s, Stack{Chippers: []Part{eighth}}).Clearances[0]; c.Rim != 0 || c.Degrees != 7.5 {
		t.Errorf("without a diameter: %+v", c)
	}
}

// The clearance against an oracle that turns one wheel of tips past the other in
// steps of a 1/(2 T k) turn, where every best position lies.
func TestClearanceAgainstTurning(t *testing.T) {
	for outer := 8; outer <= 60; outer++ {
		for chipper := 2; chipper <= 8; chipper++ {
			best := 0
			full := 2 * outer * chipper // steps of a turn
			for turn := range full {
				nearest := full
				for i := range outer {
					for j := range chipper {
						d := ((i*2*chipper-j*2*outer-turn)%full + full) % full
						nearest = min(nearest, d, full-d)
					}
				}
				best = max(best, nearest)
			}
			want := 360 * float64(best) / float64(full)
			if got := Clearance(outer, chipper, 8*Inch).Degrees; math.Abs(got-want) > 1e-9 {
				t.Fatalf("%d and %d teeth: %v degrees, turning gives %v", outer, chipper, got, want)
			}
		}
	}
}
