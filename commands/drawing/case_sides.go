package drawing

import (
	"fmt"
	"math"

	"shimwright/solver"
)

// manyMarks is how many figures between the sides are too many for letters of the
// usual size: the picture stays small.
const manyMarks = 24

// sides draws both sides as they lie on the bench, the right one as the mirror
// image of the left, with the marks between them.
func (p CasePicture) sides(top float64) ([]View, float64) {
	plan := p.Case.Sides(p.Division, p.Grain)[0]
	if p.What == Dividers {
		plan.Edges = nil // they stand in bottom and top
	}
	if len(plan.Edges) == 0 && len(plan.Cuts) == 0 {
		return nil, top - 3
	}
	height, _ := p.Case.Over()
	tags := p.tags(plan)
	tall := max(sidesTall, 1.1*tagGap*float64(len(tags))) // few are then moved
	if p.What == Dividers {
		tall = sidesTall / 2
	}
	scale := min(tall/height.MM(), sideMost/p.Case.Deep.MM())
	board := p.Case.Deep.MM() * scale

	marks := page("marks")
	size := body
	if len(tags) > manyMarks {
		size = small
	}
	wide := 0.0
	for _, t := range tags {
		wide = max(wide, widthOf(t.word, size, t.bold))
	}
	between := min(wide+14, ScreenWidth-2*margin-2*board)
	left := (ScreenWidth - 2*board - between) / 2
	right := ScreenWidth - left

	var ys []float64
	for _, t := range tags {
		ys = append(ys, -t.at.MM()*scale)
	}
	low := spread(ys, tagGap) // of the baselines' middles, above the lower end
	over := max(height.MM()*scale, -low[0]+2)
	end := top + over + 1
	bottom := max(end, end+low[len(low)-1]+2)
	for i, t := range tags {
		y, at := onPixels(end+low[i]), onPixels(end+ys[i])
		role := Measure
		if !t.bold {
			role = Quiet
		}
		half := widthOf(t.word, size, t.bold)/2 + 1
		for _, side := range []float64{-1, 1} {
			from := ScreenWidth/2 + side*between/2
			to := ScreenWidth/2 + side*half
			if y != at { // the figure had to give way
				knee := from - side*1.2
				marks.add(Line{What: "to " + t.word, X0: from, Y0: at, X1: knee, Y1: at, Role: role, Thick: 0.3})
				from = knee
			}
			marks.add(Line{What: "to " + t.word, X0: from, Y0: at, X1: to, Y1: y, Role: role, Thick: 0.3})
		}
		marks.add(Text{X: ScreenWidth / 2, Y: y + size*0.36, Size: size, Bold: t.bold, Anchor: Middle, Role: Ink, Text: t.word})
	}
	var out []View
	for _, side := range []struct {
		name string
		x, s float64
		dir  float64
	}{{"left side", left, scale, 1}, {"right side", right, -scale, -1}} {
		v := View{Name: side.name, X: side.x, Y: end, ScaleX: side.s, ScaleY: scale}
		p.side(&v, plan, height)
		out = append(out, v)
		mid := side.x + side.dir*board/2
		marks.add(Poly{What: "reference end", Fill: Measure, Points: []Point{{mid, end + 0.6}, {mid - 1.6, end + 3.2}, {mid + 1.6, end + 3.2}}})
		word := capitalised(side.name)
		hand := "front on your left"
		if side.dir < 0 {
			hand = "front on your right"
		}
		wide := max(widthOf(word, body, true), widthOf(hand, small, false))
		at := min(max(mid, margin+wide/2), ScreenWidth-margin-wide/2)
		marks.add(
			Text{X: at, Y: bottom + 7.4, Size: body, Bold: true, Anchor: Middle, Role: Ink, Text: word},
			Text{X: at, Y: bottom + 11.8, Size: small, Anchor: Middle, Role: Quiet, Text: hand},
		)
	}
	return append(out, marks), bottom + 12.6
}

// onPixels puts a level line 0.3 mm thick on whole pixels, so that it is sharp.
func onPixels(y float64) float64 { return (math.Floor(y*pxPerMM) + 0.5) / pxPerMM }

// tagged is a place above the lower end with its figure.
type tagged struct {
	at   solver.Length
	word string
	bold bool
}

// tags are all places that are marked on a side, from the upper end down.
func (p CasePicture) tags(plan solver.SidePlan) []tagged {
	var out []tagged
	fine := p.Style.FineBare
	bottom := tagged{0, "lower end 0", false}
	for _, c := range plan.Cuts {
		switch {
		case c.For == solver.TopPart:
			out = append(out, tagged{c.At, "top from " + fine(c.At), false})
		case c.For == solver.BottomPart && !c.Rabbet:
			bottom = tagged{c.At, "bottom " + fine(c.At), false}
		case c.For == solver.BottomPart:
			bottom = tagged{c.Width, "bottom to " + fine(c.Width), false}
		}
	}
	for i := len(plan.Edges) - 1; i >= 0; i-- {
		out = append(out, tagged{plan.Edges[i].At, fmt.Sprintf("%d: %s", i+1, p.place(plan.Edges[i].At)), true})
	}
	out = append(out, bottom)
	if bottom.at > 0 && p.Case.Kick > 0 {
		out = append(out, tagged{0, "lower end 0", false})
	}
	return out
}

// side is one side with its front edge at 0 and its lower end at 0.
func (p CasePicture) side(v *View, plan solver.SidePlan, height solver.Length) {
	deep, h := p.Case.Deep.MM(), height.MM()
	v.add(Rect{What: "board", X: 0, Y: -h, W: deep, H: h, Fill: Board, Line: Ink})
	for i, e := range plan.Edges {
		t, stands := atLeast(p.Division.Thick[i], v.ScaleY)
		v.add(Rect{What: fmt.Sprintf("dado %d", i+1), X: 0, Y: -e.At.MM() - t, W: deep, H: t, Fill: Ground, Line: Ink, Stands: stands})
	}
	for _, c := range plan.Cuts {
		w, stands := atLeast(c.Width, v.ScaleY)
		x, y, wide, tall := 0.0, -c.At.MM()-w, deep, w
		switch {
		case !c.Rabbet:
			v.add(Rect{What: "dado for the " + string(c.For), X: x, Y: y, W: wide, H: tall, Fill: Ground, Line: Ink, Stands: stands})
			continue
		case c.For == solver.BackPart:
			x, y, wide, tall = deep-w, -h, w, h
		case c.For == solver.TopPart:
			y = -h
		}
		v.add(Rect{What: "rabbet for the " + string(c.For), X: x, Y: y, W: wide, H: tall, Fill: Panel, Line: Ink, Stands: stands})
		hatch(v, "hatch of a rabbet", x, y, wide, tall)
	}
	in := edgeThick / 2 / v.ScaleY
	v.add(Line{What: "front edge", X0: in, Y0: -h, X1: in, Y1: 0, Role: Ink, Thick: edgeThick})
}
