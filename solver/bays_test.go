package solver

import (
	"testing"

	"pgregory.net/rapid"
)

func TestBay(t *testing.T) {
	c := bookcase()
	h, _ := c.Inside()
	d := Divide(h, alike(4, 703*Mil), OpeningRule{}) // openings of 6.3564, lower edges 7.0594, 14.1188
	for _, b := range []struct {
		no    int
		grain Length
		clear Length
	}{
		{1, 0, 63564 * Mil / 10},
		{2, 0, 63564 * Mil / 10},
		{5, 0, 63564 * Mil / 10},
		// 7.0594 is 451.8 sixty-fourths, 14.1188 is 903.6: 452 and 904 of them less 0.703.
		{2, SixtyFourth, 452*Inch/64 - 703*Mil},
		// From 0.703 to 452/64.
		{1, SixtyFourth, 452*Inch/64 - 703*Mil},
	} {
		got := c.Bay(d, b.grain, b.no)
		if got.Clear != b.clear || got.Length != b.clear+Inch/2 || got.No != b.no {
			t.Errorf("bay %d, grain %d: %+v, want clear %v", b.no, b.grain, got, b.clear.Inches())
		}
	}
}

// All bays and shelves add up to the inside height, however the marks are rounded.
func TestBaysAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := bookcase()
		c.Kick = Length(rapid.Int64Range(0, int64(4*Inch)).Draw(t, "kick"))
		h, _ := c.Inside()
		thick := alike(rapid.IntRange(0, 8).Draw(t, "shelves"), 703*Mil)
		d := Divide(h, thick, OpeningRule{Kind: SteppedOpenings, Step: Length(rapid.Int64Range(0, int64(Inch/4)).Draw(t, "step"))})
		if d.Fault != "" {
			t.Skip(d.Fault)
		}
		grain := rapid.SampledFrom([]Length{0, SixtyFourth, HalfMillimetre}).Draw(t, "grain")
		var sum Length
		for no := 1; no <= len(thick)+1; no++ {
			sum += c.Bay(d, grain, no).Clear
		}
		for _, s := range thick {
			sum += s
		}
		if sum != h {
			t.Fatalf("adds up to %d, not %d", sum, h)
		}
	})
}

func TestDadoed(t *testing.T) {
	for _, c := range []struct {
		bays         []int
		shelf        int
		upper, lower bool
	}{
		{[]int{2}, 1, true, false},
		{[]int{2}, 2, false, true},
		{[]int{2, 3}, 2, true, true},
		{[]int{1}, 0, true, false}, // the bottom
		{[]int{1, 3}, 3, false, true},
		{nil, 1, false, false},
	} {
		if upper, lower := Dadoed(c.bays, c.shelf); upper != c.upper || lower != c.lower {
			t.Errorf("bays %v, shelf %d: %v, %v", c.bays, c.shelf, upper, lower)
		}
	}
}
