package solver

import "slices"

// room is what the gap between two neighbouring cutters can take: its limit in
// thickness and in shims, and what lies in it already.
type room struct {
	limit Length
	count int
	used  Length
}

// overlapLimit is how far a gap may be opened before the two teeth beside it no
// longer overlap and a ridge stays on the floor: the sum of the inward overhangs
// where both cutters' plate and tooth are known, else the set's default.
func (s Set) overlapLimit(left, right cutter) Length {
	if left.known && right.known {
		return left.overhang + right.overhang
	}
	if left.chipper || right.chipper {
		return s.Gap.Chipper
	}
	return s.Gap.Bare
}

// cutter is one side of a gap.
type cutter struct {
	chipper  bool
	overhang Length
	known    bool
}

func (s Set) outerCutter() cutter {
	o, known := overhang(s.Outer.Plate, s.Outer.Tooth)
	return cutter{overhang: o, known: known}
}

func (c Chipper) cutter() cutter {
	o, known := overhang(c.Part().Size, c.Tooth)
	return cutter{chipper: true, overhang: o, known: known}
}

// spread puts shims, thickest first, into rooms so that the gap that is opened
// most is opened least, then the second and so on. It returns the places of the
// shims by room, or false where they do not fit.
//
// Shims go to the rooms near the nut where that changes nothing else, the
// thinnest nearest to it: a correction there takes off the fewest pieces.
func spread(shims []Length, rooms []room) ([][]int, bool) {
	if fold, ok := foldable(rooms); ok {
		return foldSpread(shims, rooms, fold)
	}
	return searchSpread(shims, rooms)
}

// fits is spread without the places.
func fits(shims []Length, rooms []room) bool {
	if len(shims) == 0 {
		return true
	}
	if fold, ok := foldable(rooms); ok {
		return foldFits(shims, len(rooms), fold)
	}
	_, ok := searchSpread(shims, rooms)
	return ok
}

// foldable says whether all rooms are alike, empty, and take one or two shims.
// Then pairing the thickest with the thinnest is best: exchanging partners
// between two pairs so sorted can only make the wider pair wider.
func foldable(rooms []room) (room, bool) {
	if len(rooms) == 0 || rooms[0].count < 1 || rooms[0].count > 2 || rooms[0].used != 0 {
		return room{}, false
	}
	for _, r := range rooms[1:] {
		if r != rooms[0] {
			return room{}, false
		}
	}
	return rooms[0], true
}

func foldFits(shims []Length, rooms int, each room) bool {
	if len(shims) > rooms*each.count {
		return false
	}
	for i := range min(rooms, len(shims)) {
		sum := shims[i]
		if partner := 2*rooms - 1 - i; partner < len(shims) {
			sum += shims[partner]
		}
		if sum > each.limit {
			return false
		}
	}
	return true
}

func foldSpread(shims []Length, rooms []room, each room) ([][]int, bool) {
	g := len(rooms)
	if !foldFits(shims, g, each) {
		return nil, false
	}
	var filled [][]int
	for i := range min(g, len(shims)) {
		places := []int{i}
		if partner := 2*g - 1 - i; partner < len(shims) {
			places = append(places, partner)
		}
		filled = append(filled, places)
	}
	slices.SortStableFunc(filled, func(a, b []int) int {
		return sign(placesSum(b, shims) - placesSum(a, shims))
	})
	out := make([][]int, g)
	copy(out[g-len(filled):], filled)
	return out, true
}

func placesSum(places []int, shims []Length) Length {
	var sum Length
	for _, i := range places {
		sum += shims[i]
	}
	return sum
}

// searchSpread is the general case, by exhaustive search with bounds: rooms of
// different limits, or with shims in them that stay.
func searchSpread(shims []Length, rooms []room) ([][]int, bool) {
	s := spreader{shims: shims, rooms: slices.Clone(rooms), free: slices.Clone(rooms), at: make([]int, len(shims))}
	var free Length
	count := 0
	for _, r := range rooms {
		free += max(0, r.limit-r.used)
		count += max(0, r.count)
	}
	var want Length
	for _, sh := range shims {
		want += sh
	}
	if want > free || len(shims) > count {
		return nil, false
	}
	s.place(0)
	if s.best == nil {
		return nil, false
	}
	out := make([][]int, len(rooms))
	for i, r := range s.best {
		out[r] = append(out[r], i)
	}
	return out, true
}

type spreader struct {
	shims      []Length
	rooms      []room
	free       []room // rooms as filled so far: used grows, count falls
	at, best   []int
	bestWidths []Length
}

func (s *spreader) place(i int) {
	if i == len(s.shims) {
		widths := make([]Length, len(s.free))
		for j, r := range s.free {
			widths[j] = r.used
		}
		slices.SortFunc(widths, func(a, b Length) int { return sign(b - a) })
		if s.best == nil || slices.Compare(widths, s.bestWidths) < 0 {
			s.best, s.bestWidths = slices.Clone(s.at), widths
		}
		return
	}
	for j := len(s.free) - 1; j >= 0; j-- {
		r := s.free[j]
		if r.count < 1 || r.used+s.shims[i] > r.limit {
			continue
		}
		if s.best != nil && r.used+s.shims[i] > s.bestWidths[0] {
			continue
		}
		if slices.Contains(s.free[j+1:], r) {
			continue // the same as a room nearer to the nut that was tried
		}
		s.free[j].used += s.shims[i]
		s.free[j].count--
		s.at[i] = j
		s.place(i + 1)
		s.free[j] = r
	}
}
