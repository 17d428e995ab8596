package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// mostPairs is how many pairs of pieces with dadoes for dividers are drawn; the
// marks of the others stand in the text.
const mostPairs = 2

// crosses draws the pieces that dividers stand in, as they lie on the bench: the
// lower one with its front edge towards you, the upper one away from you, so that
// they are mirror images, with the marks between them.
func (p CasePicture) crosses(top float64) ([]View, float64) {
	var out []View
	if len(p.Pairs) == 0 {
		return nil, top - 3
	}
	y := top
	for i, pair := range p.Pairs {
		if i == mostPairs {
			v := page("more pairs")
			y = paragraph(&v, plural(len(p.Pairs)-mostPairs, "more bay is not drawn: the text has its marks.", "more bays are not drawn: the text has their marks."), margin, y+small+2, crossWide, small, Quiet, false)
			out = append(out, v)
			break
		}
		views, bottom := p.cross(pair, y)
		out = append(out, views...)
		y = bottom + 3
	}
	return out, y - 3
}

// cross draws one pair. The upper piece lies above, so that the rear edges of both
// meet at the marks.
func (p CasePicture) cross(pair CrossPair, top float64) ([]View, float64) {
	deep := p.Case.ShelfWidth().MM()
	longest := solver.Length(0)
	for _, b := range pair.Pieces {
		longest = max(longest, b.Length)
	}
	scale := min((crossWide-4)/longest.MM(), crossMost/deep)
	marks := page("marks of dividers")
	y := top
	var out []View
	// Marks of the two differ only where one stands in a rabbet and one in a dado.
	for i := len(pair.Pieces) - 1; i >= 0; i-- {
		b := pair.Pieces[i]
		name := b.Name
		if pair.Title != "" {
			name = pair.Title + ", " + name
		}
		hand := "front towards you"
		if b.FrontAway {
			hand = "front away from you"
		}
		marks.add(
			Text{X: margin, Y: y + 3.4, Size: body, Bold: true, Role: Ink, Text: capitalised(name)},
			Text{X: ScreenWidth - margin, Y: y + 3.4, Size: small, Anchor: End, Role: Quiet, Text: hand},
		)
		y += 5
		v := View{Name: name, X: margin + 4, Y: y, ScaleX: scale, ScaleY: scale}
		edges := pair.Across.Edges(b.End, p.Grain)
		v.add(Rect{What: "board", X: 0, Y: 0, W: b.Length.MM(), H: deep, Fill: Board, Line: Ink})
		for j, e := range edges {
			t, stands := atLeast(pair.Across.Thick[j], scale)
			v.add(Rect{What: fmt.Sprintf("dado %d", j+1), X: e.At.MM(), Y: 0, W: t, H: deep, Fill: Ground, Line: Ink, Stands: stands})
		}
		at := deep - edgeThick/2/scale
		if b.FrontAway {
			at = edgeThick / 2 / scale
		}
		v.add(Line{What: "front edge", X0: 0, Y0: at, X1: b.Length.MM(), Y1: at, Role: Ink, Thick: edgeThick})
		out = append(out, v)
		mid := y + deep*scale/2
		marks.add(Poly{What: "reference end", Fill: Measure, Points: []Point{{margin + 3.4, mid}, {margin + 0.8, mid - 1.6}, {margin + 0.8, mid + 1.6}}})
		y += deep * scale
		if i == 0 || !sameEdges(edges, pair.Across.Edges(pair.Pieces[0].End, p.Grain)) {
			y = p.crossMarks(&marks, &v, edges, y)
		} else {
			y += 2
		}
	}
	return append(out, marks), y
}

func sameEdges(a, b []solver.Edge) bool {
	for i := range a {
		if a[i].At != b[i].At {
			return false
		}
	}
	return true
}

// crossMarks writes the marks under a piece and returns what is below them.
func (p CasePicture) crossMarks(marks, v *View, edges []solver.Edge, y float64) float64 {
	var xs []float64
	wide := 0.0
	var words []string
	for i, e := range edges {
		words = append(words, fmt.Sprintf("%d: %s", i+1, p.place(e.At)))
		wide = max(wide, widthOf(words[i], body, true)+1.5)
		xs = append(xs, v.PageX(e.At.MM()))
	}
	if wide*float64(len(words)) > crossWide {
		all := ""
		for i, w := range words {
			if i > 0 {
				all += ", "
			}
			all += strings.ReplaceAll(w, ": ", ":") // not to be parted at the end of a line
		}
		return paragraph(marks, all+" "+p.unit(), margin, y+body+1.5, crossWide, body, Ink, true) - body*lead + 1.5
	}
	at := spread(xs, wide)
	shift := max(0, margin+wide/2-at[0])
	shift += min(0, ScreenWidth-margin-wide/2-(at[len(at)-1]+shift))
	for i, w := range words {
		x := min(at[i]+shift, ScreenWidth-margin-wide/2)
		marks.add(
			Line{What: "to " + w, X0: xs[i], Y0: y, X1: xs[i], Y1: y + 1, Role: Measure, Thick: 0.25},
			Line{What: "to " + w, X0: xs[i], Y0: y + 1, X1: x, Y1: y + 3, Role: Measure, Thick: 0.25},
			Text{X: x, Y: y + 3.4 + body*0.75, Size: body, Bold: true, Anchor: Middle, Role: Ink, Text: w},
		)
	}
	return y + 4 + body
}
