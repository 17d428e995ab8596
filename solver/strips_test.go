package solver

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSimulate(t *testing.T) {
	wanted := Strip{0, 10}
	for _, c := range []struct {
		name   string
		strips []Strip
		want   Removal
		leaves bool
	}{
		{"one cut", []Strip{{0, 10}}, Removal{Groove: Strip{0, 10}}, true},
		{"any order", []Strip{{4, 10}, {0, 6}, {2, 7}}, Removal{Groove: Strip{0, 10}}, true},
		{"touching", []Strip{{0, 5}, {5, 10}}, Removal{Groove: Strip{0, 10}}, true},
		{"a ridge", []Strip{{0, 4}, {5, 7}, {8, 10}}, Removal{Strip{0, 10}, []Strip{{4, 5}, {7, 8}}}, false},
		{"a wall moved", []Strip{{0, 6}, {5, 11}}, Removal{Groove: Strip{0, 11}}, false},
		{"the other wall moved", []Strip{{-1, 6}, {5, 10}}, Removal{Groove: Strip{-1, 10}}, false},
		{"a cut within another", []Strip{{0, 10}, {2, 3}}, Removal{Groove: Strip{0, 10}}, true},
		{"nothing cut", nil, Removal{}, false},
	} {
		got := Simulate(c.strips)
		if diff := cmp.Diff(c.want, got); diff != "" || got.Leaves(wanted) != c.leaves {
			t.Errorf("%s: leaves %v, want %v; (-want +got):\n%s", c.name, got.Leaves(wanted), c.leaves, diff)
		}
	}
}
