package drawing

import (
	"fmt"

	"shimwright/solver"
)

// front draws the case from its front, with what stands in it.
func (p CasePicture) front(top float64) ([]View, float64) {
	c := p.Case
	height, width := c.Over()
	scale := min(frontTall/height.MM(), frontWide/width.MM())
	x := (ScreenWidth - width.MM()*scale) / 2
	if all, even := openings(p.Division); p.What != Dividers { // room for their figures beside it
		longest := 0.0
		for _, o := range all {
			longest = max(longest, widthOf(p.openingWord(o, even), body, false))
		}
		x = min(x, ScreenWidth-margin-longest-3-width.MM()*scale)
	}
	v := View{Name: "front", X: x, Y: top + 6.5 + height.MM()*scale, ScaleX: scale, ScaleY: scale}
	words := page("openings")
	words.add(Text{X: margin, Y: top + 3.4, Size: body, Bold: true, Role: Ink, Text: "From its front, outside " + p.Style.FineBare(height) + " by " + p.Style.Fine(width)})

	if p.What == Dividers && !p.fits(v.ScaleX) {
		y := paragraph(&words, capitalised(p.openingsWord())+".", margin, top+3.4+body*lead, ScreenWidth-2*margin, body, Ink, false)
		v.Y += y - top - 3.4 - body*lead
	}
	_, inWidth := c.Inside()
	floor := c.Floor()
	// Thin ones keep their lower, and their left or outer edge.
	piece := func(what string, fill Role, x, low, w, h solver.Length) {
		wide, stands := atLeast(w, scale)
		tall, also := atLeast(h, scale)
		v.add(Rect{What: what, X: x.MM(), Y: -low.MM() - tall, W: wide, H: tall, Fill: fill, Line: Ink, Stands: max(stands, also)})
	}
	piece("left side", Board, 0, 0, c.Side, height)
	side, stands := atLeast(c.Side, scale)
	v.add(Rect{What: "right side", X: width.MM() - side, Y: -height.MM(), W: side, H: height.MM(), Fill: Board, Line: Ink, Stands: stands})
	across := func(what string, into, low, thick solver.Length) {
		piece(what, Panel, c.Side-into, low, inWidth+2*into, thick)
	}
	if c.Top > 0 { // its upper face is the upper end
		thick, stands := atLeast(c.Top, scale)
		v.add(Rect{What: "top", X: (c.Side - c.Rabbet).MM(), Y: -height.MM(), W: (inWidth + 2*c.Rabbet).MM(), H: thick, Fill: Panel, Line: Ink, Stands: stands})
	}
	if c.Bottom > 0 {
		into := c.Rabbet
		if c.Kick > 0 {
			into = c.Dado - c.Paper
		}
		across("bottom", into, c.Kick, c.Bottom)
	}
	into := c.Dado - c.Paper
	if p.What != Dividers {
		for i, e := range p.Division.Edges(floor, p.Grain) {
			if p.What == Runners {
				out := solver.Inch / 2
				piece(fmt.Sprintf("runner %d, left", i+1), Panel, c.Side-c.Dado, e.At, c.Dado+out, p.Division.Thick[i])
				piece(fmt.Sprintf("runner %d, right", i+1), Panel, width-c.Side-out, e.At, c.Dado+out, p.Division.Thick[i])
				continue
			}
			across(fmt.Sprintf("shelf %d", i+1), into, e.At, p.Division.Thick[i])
		}
	}
	for _, pair := range p.Pairs {
		for i, e := range pair.Across.Edges(c.Side, p.Grain) {
			piece(fmt.Sprintf("divider %d", i+1), Panel, e.At, floor+pair.Bottom-into, pair.Across.Thick[i], pair.Top-pair.Bottom+2*into)
		}
		p.widths(&words, &v, pair)
	}
	p.heights(&words, &v, floor, width)
	return []View{v, words}, v.Y
}

// heights writes the openings beside the case: one figure where all are alike.
func (p CasePicture) heights(words, v *View, floor, width solver.Length) {
	if p.What == Dividers {
		return
	}
	all, even := openings(p.Division)
	x := v.PageX(width.MM())
	if even {
		n := len(all) / 2
		at := v.PageY(-p.middle(n, floor).MM())
		words.add(
			Line{What: "to the opening", X0: x + 0.6, Y0: at, X1: x + 2.4, Y1: at, Role: Measure, Thick: 0.25},
			Text{X: x + 3, Y: at + body*0.36, Size: body, Role: Ink, Text: p.openingWord(all[0], true)},
		)
		return
	}
	var ys []float64
	for i := len(all) - 1; i >= 0; i-- {
		ys = append(ys, v.PageY(-p.middle(i, floor).MM()))
	}
	for i, y := range spread(ys, tagGap) {
		words.add(
			Line{What: "to the opening", X0: x + 0.6, Y0: ys[i], X1: x + 2.4, Y1: y, Role: Measure, Thick: 0.25},
			Text{X: x + 3, Y: y + body*0.36, Size: body, Role: Ink, Text: p.openingWord(all[len(all)-1-i], false)},
		)
	}
}

// openingWord is the figure beside an opening; one stands for all that are alike.
func (p CasePicture) openingWord(o solver.Length, even bool) string {
	if even {
		return "each " + p.Style.FineBare(o)
	}
	return p.Style.FineBare(o)
}

// middle is the middle of an opening, from 0 at the floor, above the lower end.
func (p CasePicture) middle(opening int, floor solver.Length) solver.Length {
	all, _ := openings(p.Division)
	at := floor
	for i := range opening {
		at += all[i] + p.Division.Thick[i]
	}
	return at + all[opening]/2
}

// fits says whether the openings between dividers take their figures.
func (p CasePicture) fits(scale float64) bool {
	all, _ := openings(p.Division)
	for _, o := range all {
		if widthOf(p.Style.FineBare(o), small, false)+0.6 > o.MM()*scale {
			return false
		}
	}
	return true
}

// widths writes the openings between dividers into them, where they fit.
func (p CasePicture) widths(words, v *View, pair CrossPair) {
	all, _ := openings(pair.Across)
	at := p.Case.Side
	y := v.PageY(-(p.Case.Floor() + (pair.Bottom+pair.Top)/2).MM())
	if (pair.Top-pair.Bottom).MM()*v.ScaleY < body*1.2 {
		return
	}
	for i, o := range all {
		word := p.Style.FineBare(o)
		if widthOf(word, small, false)+0.6 <= o.MM()*v.ScaleX {
			words.add(Text{X: v.PageX((at + o/2).MM()), Y: y + small*0.36, Size: small, Anchor: Middle, Role: Ink, Text: word})
		}
		at += o
		if i < len(pair.Across.Thick) {
			at += pair.Across.Thick[i]
		}
	}
}
