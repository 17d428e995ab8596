package solver

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Practice cases P01 (one panel that is not flat) and P05 (two sheets mixed).
func TestLots(t *testing.T) {
	mil := func(all ...Length) (out []Length) {
		for _, l := range all {
			out = append(out, l*Mil)
		}
		return out
	}
	for name, tc := range map[string]struct {
		readings []Length
		want     [][]Length
	}{
		// 0.755 - 0.744 = 0.011 is over 0.007, and so is 0.744 - 0.724.
		"P01": {mil(724, 744, 754, 755), [][]Length{mil(724), mil(744), mil(754, 755)}},
		"P05": {mil(734, 703), [][]Length{mil(703), mil(734)}},
		"one": {mil(703, 710), [][]Length{mil(703, 710)}}, // a spread of just 0.007 fits
		"two": {mil(703, 711), [][]Length{mil(703), mil(711)}},
	} {
		if diff := cmp.Diff(tc.want, Lots(tc.readings, DefaultGrades())); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}
