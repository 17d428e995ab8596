package solver

import "slices"

// Case is a carcase of two sides, top, bottom and back. Top and bottom stand in
// rabbets at the ends of the sides, a raised bottom in a dado; the back lies in
// rabbets of the sides and covers the rear edges of everything between them. The
// reference end of a side is its lower end.
type Case struct {
	Height, Width Length // over the outside, or of the inside between floor, top and sides
	Outside       bool
	Deep          Length // of the sides, front to back
	// Thicknesses, measured. Zero for what the case does not have.
	Side, Top, Bottom, Back Length
	Kick                    Length // from the lower end of the sides to the underside of a raised bottom
	Dado                    Length // depth of the dadoes in the sides
	Rabbet                  Length // depth of the rabbets in the sides; 0: top and bottom butt between them
	Paper                   Length // left free at each end that stands in a dado, for the glue
}

// Inside is the height between floor and top and the width between the sides.
func (c Case) Inside() (height, width Length) {
	if !c.Outside {
		return c.Height, c.Width
	}
	return c.Height - c.Floor() - c.Top, c.Width - 2*c.Side
}

// Over is the height and the width over the outside.
func (c Case) Over() (height, width Length) {
	if c.Outside {
		return c.Height, c.Width
	}
	return c.Height + c.Floor() + c.Top, c.Width + 2*c.Side
}

// Floor is how far the floor lies above the reference end of the sides.
func (c Case) Floor() Length { return c.Kick + c.Bottom }

// InDadoes is the length of a piece whose two ends stand in dadoes of depth dado
// with so much free between them: free + 2 dado, less a paper's thickness at
// each end where the shop wants it.
func InDadoes(free, dado, paper Length) Length { return free + 2*dado - 2*paper }

// ShelfLength is the length of a shelf: inside width + 2 x dado.
func (c Case) ShelfLength() Length {
	_, width := c.Inside()
	return InDadoes(width, c.Dado, c.Paper)
}

// DividerLength is the length of a divider from floor to top.
func (c Case) DividerLength() Length {
	height, _ := c.Inside()
	return InDadoes(height, c.Dado, c.Paper)
}

// ShelfWidth is how wide shelves, dividers, top and bottom are, front to back.
func (c Case) ShelfWidth() Length { return c.Deep - c.Back }

// CaseFault says which measure of a case cannot be; it is empty where all can.
type CaseFault string

// The faults of a case.
const (
	CaseTooLow     CaseFault = "height" // nothing between floor and top
	CaseTooNarrow  CaseFault = "width"  // nothing between the sides
	CaseTooShallow CaseFault = "depth"  // nothing in front of the back
	CaseThroughCut CaseFault = "dado"   // dado or rabbet go through the side
)

// Fault is the first measure of the case that cannot be.
func (c Case) Fault() CaseFault {
	height, width := c.Inside()
	switch {
	case height <= 0:
		return CaseTooLow
	case width <= 0 || c.ShelfLength() <= 0:
		return CaseTooNarrow
	case c.ShelfWidth() <= 0:
		return CaseTooShallow
	case max(c.Dado, c.Rabbet) >= c.Side:
		return CaseThroughCut
	}
	return ""
}

// SidePlan is one side as it lies on the bench: inner face up, reference end
// towards the member, its front edge on the hand named. The two sides of a case
// have the same edges and are mirror images.
type SidePlan struct {
	Side  Side // of the case, seen from its front
	Front Side // where its front edge lies
	Edges []Edge
	Cuts  []SideCut
}

// SideCut is a rabbet or dado for a part of the case other than a shelf.
type SideCut struct {
	For          CasePart
	Rabbet       bool
	Width, Depth Length
	At           Length // of its lower edge, from the reference end; 0 for the back
}

// Sides are the left and the right side with the dadoes of a division of the
// inside height, rounded to grain. Cut both dadoes of one shelf at one setting of
// fence or stop [cp].
func (c Case) Sides(d Division, grain Length) [2]SidePlan {
	var cuts []SideCut
	height, _ := c.Inside()
	switch {
	case c.Bottom > 0 && c.Kick > 0:
		cuts = append(cuts, SideCut{BottomPart, false, c.Bottom, c.Dado, c.Kick})
	case c.Bottom > 0 && c.Rabbet > 0:
		cuts = append(cuts, SideCut{BottomPart, true, c.Bottom, c.Rabbet, 0})
	}
	if c.Top > 0 && c.Rabbet > 0 {
		cuts = append(cuts, SideCut{TopPart, true, c.Top, c.Rabbet, c.Floor() + height})
	}
	if c.Back > 0 && c.Rabbet > 0 {
		cuts = append(cuts, SideCut{BackPart, true, c.Back, c.Rabbet, 0})
	}
	edges := d.Edges(c.Floor(), grain)
	return [2]SidePlan{{Left, Left, edges, cuts}, {Right, Right, edges, cuts}}
}

// CasePart names a part of a case.
type CasePart string

// The parts.
const (
	SidePart    CasePart = "side"
	TopPart     CasePart = "top"
	BottomPart  CasePart = "bottom"
	ShelfPart   CasePart = "shelf"
	DividerPart CasePart = "divider"
	BackPart    CasePart = "back"
)

// CutPiece is one line of a cut list. Length runs between the ends that are
// joined, of sides and back it is the height.
type CutPiece struct {
	Part                 CasePart
	Count                int
	Length, Width, Thick Length
}

// CutList is what to cut for the case, with shelves, and dividers from floor to
// top, of the thicknesses given: each lot is a line of its own, thickest first.
func (c Case) CutList(shelves, dividers []Length) []CutPiece {
	height, _ := c.Over()
	_, width := c.Inside()
	list := []CutPiece{{SidePart, 2, height, c.Deep, c.Side}}
	inRabbets := width + 2*c.Rabbet
	if c.Top > 0 {
		list = append(list, CutPiece{TopPart, 1, inRabbets, c.ShelfWidth(), c.Top})
	}
	if c.Bottom > 0 {
		length := inRabbets
		if c.Kick > 0 {
			length = c.ShelfLength()
		}
		list = append(list, CutPiece{BottomPart, 1, length, c.ShelfWidth(), c.Bottom})
	}
	lots := func(part CasePart, length Length, thick []Length) {
		sorted := slices.Clone(thick)
		slices.SortFunc(sorted, func(a, b Length) int { return sign(b - a) })
		for _, t := range sorted {
			if last := &list[len(list)-1]; last.Part == part && last.Thick == t {
				last.Count++
				continue
			}
			list = append(list, CutPiece{part, 1, length, c.ShelfWidth(), t})
		}
	}
	lots(ShelfPart, c.ShelfLength(), shelves)
	lots(DividerPart, c.DividerLength(), dividers)
	if c.Back > 0 {
		list = append(list, CutPiece{BackPart, 1, height - c.Kick, inRabbets, c.Back})
	}
	return list
}

// StickMark is one mark of a story stick: a rod held to both sides in turn, so
// that no height is measured twice.
type StickMark struct {
	Kind  StickKind
	Shelf int // from 1 at the bottom, for the two edges of a shelf
	Edge  Edge
}

// StickKind says what a mark stands for.
type StickKind uint8

// The marks, from the reference end up.
const (
	StickFloor StickKind = iota // upper face of the bottom
	StickLower                  // lower edge of a dado, on which the shelf rests
	StickUpper                  // upper face of the shelf
	StickTop                    // underside of the top
)

// StoryStick lists the marks from the reference end. A shelf's upper face stands
// its thickness over the rounded lower edge; floor and top are not rounded.
func (c Case) StoryStick(d Division, grain Length) []StickMark {
	out := []StickMark{{StickFloor, 0, edgeAt(picometres(c.Floor()), Picometre)}}
	for i, e := range d.Edges(c.Floor(), grain) {
		upper := e
		upper.Exact = picometres(d.Thick[i])
		upper.Exact.Add(upper.Exact, e.Exact)
		upper.At += d.Thick[i]
		out = append(out, StickMark{StickLower, i + 1, e}, StickMark{StickUpper, i + 1, upper})
	}
	return append(out, StickMark{StickTop, 0, edgeAt(picometres(c.Floor()+d.Span), Picometre)})
}
