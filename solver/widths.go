package solver

import "slices"

// WidthRow is one choice of chippers that set and saw allow, with what its parts
// add up to: Bare without shims, and With one shim, by place in Set.Shims; 0 where
// that shim is not in service or fits no gap.
type WidthRow struct {
	Chippers []Part // in loading order
	Bare     Length
	With     []Length
}

// Widths is every width that a set reaches on a saw without shims, and with one
// more for each size of shim: the narrowest first, of equal ones the fewest
// chippers. Figures are sums of parts; what a set cuts over its sum is not in them.
func Widths(set Set, saw Saw) []WidthRow {
	s, ok := newSpace(set, saw, nil, Stack{})
	if !ok || set.Kind == Blade {
		return nil
	}
	out := make([]WidthRow, 0, len(s.combos))
	for i := range s.combos {
		c := &s.combos[i]
		row := WidthRow{Bare: c.sum, With: make([]Length, len(set.Shims))}
		for _, k := range s.order(c.counts) {
			row.Chippers = append(row.Chippers, set.Chippers[k].Part())
		}
		for k, shim := range set.Shims {
			thick := shim.Part().Size
			if set.usableShims(k) > 0 && c.sum+thick <= s.maxSum && fits([]Length{thick}, c.rooms) {
				row.With[k] = c.sum + thick
			}
		}
		out = append(out, row)
	}
	slices.SortStableFunc(out, func(a, b WidthRow) int {
		if a.Bare != b.Bare {
			return sign(a.Bare - b.Bare)
		}
		return len(a.Chippers) - len(b.Chippers)
	})
	return out
}
