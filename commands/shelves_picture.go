package commands

import (
	"fmt"
	"strconv"

	"shimwright/commands/drawing"
	"shimwright/solver"
)

// picture shows the case: its sides on the bench, what dividers stand in, and its
// front.
func (l *layout) picture() Picture {
	n := len(l.thick)
	p := drawing.CasePicture{
		Title: fmt.Sprintf("Case with %d %s", n, l.insert.word(n)),
		Style: l.style, Marks: l.marks, Grain: l.grain, Case: l.c, Division: l.span,
		What: []drawing.CaseInsert{drawing.Shelves, drawing.Dividers, drawing.Runners}[l.insert],
	}
	board := func(c crossPiece, name string) drawing.CrossBoard {
		_, width := l.c.Inside()
		return drawing.CrossBoard{Name: name, Length: width + 2*c.below, End: c.below, FrontAway: c.turn != "towards you"}
	}
	if l.insert == divider {
		pair := drawing.CrossPair{Top: l.span.Span, Across: l.span}
		pair.Top, _ = l.c.Inside()
		for _, c := range l.crossPieces() {
			pair.Pieces = append(pair.Pieces, board(c, c.part))
		}
		p.Pairs = append(p.Pairs, pair)
	}
	for i, b := range l.bays {
		if i == 0 {
			p.Title += ", dividers in " + plural(len(l.bays), "bay", "bays")
		} else {
			p.Title += ","
		}
		p.Title += " " + strconv.Itoa(b.No)
		low := solver.Length(0)
		if b.No > 1 {
			low = l.span.Edges(0, l.grain)[b.No-2].At + l.thick[b.No-2]
		}
		p.Pairs = append(p.Pairs, drawing.CrossPair{
			Title: fmt.Sprintf("Bay %d", b.No), Bottom: low, Top: low + b.Clear, Across: b.across,
			Pieces: []drawing.CrossBoard{board(b.below, b.below.part+", "+b.below.face), board(b.above, b.above.part+", "+b.above.face)},
		})
	}
	return picture("shelves", drawing.Case(p))
}
