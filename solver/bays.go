package solver

// Bay is an opening of a case in which dividers stand between the two pieces that
// bound it: the bottom or a shelf below, a shelf or the top above.
type Bay struct {
	No int // of the opening, from 1 at the floor
	// Clear is the height between the two as their dadoes are marked, so that a
	// divider fits rounded marks too.
	Clear  Length
	Length Length // of each divider: Clear + 2 x dado, less the paper
}

// Bay is the opening with a number from 1 to one more than there are shelves, of a
// division of the inside height whose marks are rounded to grain.
func (c Case) Bay(d Division, grain Length, no int) Bay {
	edges := d.Edges(c.Floor(), grain)
	from, to := c.Floor(), c.Floor()+d.Span
	if no > 1 {
		from = edges[no-2].At + d.Thick[no-2]
	}
	if no <= len(edges) {
		to = edges[no-1].At
	}
	return Bay{no, to - from, InDadoes(to-from, c.Dado, c.Paper)}
}

// Dadoed is in which faces a shelf, from 1 at the bottom, has dadoes for the
// dividers of the bays numbered: the upper one for the bay over it, the lower one
// for the bay under it. Number 0 is the bottom of the case; the top follows the
// last shelf.
func Dadoed(bays []int, shelf int) (upper, lower bool) {
	for _, no := range bays {
		upper = upper || no == shelf+1
		lower = lower || no == shelf
	}
	return upper, lower
}
