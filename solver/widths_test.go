package solver

import "testing"

// A pair of 1/4, one 1/8 and one 1/16 on an arbor of 7/16 in: 1/4, 5/16, 3/8 and
// 7/16 by hand. One shim of 0.020: not between two bare blades (limit 0.010), not
// past the arbor at 7/16; and none of the size that is out of service.
func TestWidths(t *testing.T) {
	set := GenericInchSet()
	set.Chippers = []Chipper{{Nominal: Inches(1, 8), Count: 1}, {Nominal: Inches(1, 16), Count: 1}}
	set.Shims = []Shim{{Nominal: 20 * Mil, Count: 1}, {Nominal: 5 * Mil, Count: 1}, {Nominal: 4 * Mil, Count: 1, Out: 1}}
	rows := Widths(set, Saw{Arbor: Inches(7, 16)})
	want := []WidthRow{
		{Bare: 250 * Mil, With: []Length{0, 255 * Mil, 0}},
		{Bare: 3125 * Mil / 10, With: []Length{3325 * Mil / 10, 3175 * Mil / 10, 0}},
		{Bare: 375 * Mil, With: []Length{395 * Mil, 380 * Mil, 0}},
		{Bare: 4375 * Mil / 10, With: []Length{0, 0, 0}},
	}
	if len(rows) != len(want) {
		t.Fatalf("%d rows, want %d: %v", len(rows), len(want), rows)
	}
	for i, w := range want {
		if got := rows[i]; got.Bare != w.Bare || len(got.Chippers) != []int{0, 1, 1, 2}[i] {
			t.Errorf("row %d: %v", i, got)
		}
		for k := range w.With {
			if rows[i].With[k] != w.With[k] {
				t.Errorf("row %d, shim %d: %v, want %v", i, k, rows[i].With[k], w.With[k])
			}
		}
	}
	if Widths(GenericBlade(), Saw{}) != nil {
		t.Error("an ordinary blade has no stacks")
	}
}
