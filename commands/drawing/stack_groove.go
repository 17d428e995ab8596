package drawing

import (
	"fmt"

	"shimwright/solver"
)

// Heights of the groove view, millimetres of the page.
const (
	boardTall  = 12.0
	grooveDeep = 7.0
	panelOver  = 9.0 // how far the panel stands out over the board
)

// playZoom is how much larger than to scale play is drawn on a screen page, in
// page millimetres for one of play: 0.004 in is 3.0.
const playZoom = 30

// playShown is the width at which a play is drawn. A play under half a
// thousandth of an inch is drawn as none, one over playMost as that.
func playShown(play solver.Length) float64 {
	const playMost = 9
	if play < solver.Mil/2 {
		return 0
	}
	return max(0.6, min(playMost, play.MM()*playZoom))
}

// groove draws the panel in its dado. In one pass its walls stand under the
// outermost teeth; the panel stands against the wall on the flange's hand, which
// stays where it is when shims change.
func (p StackPicture) groove(a arborViews, top float64) ([]View, float64) {
	v := page("groove")
	v.Y = top + panelOver
	left, right := a.left, a.right
	if p.Passes > 1 {
		wide := p.Width.MM() * min(a.zoom, 64/p.Width.MM())
		left, right = (ScreenWidth-wide)/2, (ScreenWidth+wide)/2
	}
	tight, slack := p.Width-p.Thickest.Length, p.Width-p.Thinnest.Length
	shown := min(playShown(tight), (right-left)*0.6)
	grade := p.Grades.Of(tight)

	v.add(
		Rect{What: "board", X: margin, W: ScreenWidth - 2*margin, H: boardTall, Fill: Board, Line: Ink},
		Rect{What: "dado", X: left, Y: -outline, W: right - left, H: grooveDeep + outline, Fill: Ground, Stands: p.Width},
		Line{What: "wall", X0: left, Y0: 0, X1: left, Y1: grooveDeep, Role: Ink, Thick: outline},
		Line{What: "wall", X0: right, Y0: 0, X1: right, Y1: grooveDeep, Role: Ink, Thick: outline},
		Line{What: "floor", X0: left, Y0: grooveDeep, X1: right, Y1: grooveDeep, Role: Ink, Thick: outline},
	)
	panel := Rect{What: "panel", X: left, Y: -panelOver, W: right - left - shown, H: panelOver + grooveDeep - 0.8, Fill: Panel, Line: Ink, Stands: p.Thickest.Length}
	if grade == solver.WontEnter { // it stands on the dado, wider than it
		panel.X, panel.W, panel.H = left-1.2, right-left+2.4, panelOver
	}
	gap := right - shown/2
	if p.nutLeft() {
		panel.X += shown
		gap = left + shown/2
	}
	v.add(panel)
	for i := range 2 { // its plies, or its grain
		x := panel.X + panel.W*float64(i+1)/3
		v.add(Line{What: "grain of the panel", X0: x, Y0: panel.Y + 0.6, X1: x, Y1: panel.Y + panel.H - 0.6, Role: Board, Thick: 0.4})
	}
	v.add(Text{X: panel.X + panel.W/2, Y: -panelOver/2 + 1.5, Size: body, Bold: true, Anchor: Middle, Role: Ink, Text: p.Thickest.String()})

	y := boardTall + 6
	if shown > 0 {
		v.add(
			Rect{What: "play", X: gap - shown/2, Y: 0.4, W: shown, H: grooveDeep - 0.6, Fill: Measure, Stands: tight},
			Line{What: "to the play", X0: gap, Y0: grooveDeep, X1: gap, Y1: y - 4.2, Role: Measure, Thick: 0.4},
		)
	}
	word := fmt.Sprintf("%s: %s", capitalised(string(grade)), playWord(p.Style, tight))
	if p.Passes > 1 {
		word = fmt.Sprintf("%d passes, %s: %s, %s", p.Passes, p.Style.Fine(p.Width), grade, playWord(p.Style, tight))
	}
	size := strong
	if widthOf(word, size, true) > ScreenWidth-2*margin {
		size = body
	}
	v.add(Text{X: inside(gap, widthOf(word, size, true)), Y: y, Size: size, Bold: true, Anchor: Middle, Role: Measure, Text: word})
	y += body * lead
	if p.Thinnest.Length != p.Thickest.Length {
		thin := fmt.Sprintf("at the thinnest, %s: %s, %s", p.Thinnest, p.Grades.Of(slack), playWord(p.Style, slack))
		v.add(Text{X: inside(gap, widthOf(thin, small, false)), Y: y, Size: small, Anchor: Middle, Role: Ink, Text: thin})
		y += small * lead
	}
	if p.Passes > 1 {
		p.passMarks(&v, left, right)
		move := "Move the stop by " + p.Style.Fine(p.Move) + " between passes"
		v.add(Text{X: ScreenWidth / 2, Y: y, Size: small, Anchor: Middle, Role: Ink, Text: move})
		y += small * lead
	}
	views := []View{v}
	if p.Passes == 1 && grade != solver.WontEnter {
		lines := page("from cutters to walls")
		for _, x := range []float64{left, right} {
			lines.add(Line{What: "same width", X0: x, Y0: top - 0.5, X1: x, Y1: v.Y - 0.3, Role: Measure, Thick: 0.2, Dashed: true})
		}
		views = append(views, lines)
	}
	return views, v.Y + y - small*lead
}

// passMarks shows where each pass begins and ends, as brackets in the board.
func (p StackPicture) passMarks(v *View, left, right float64) {
	zoom := (right - left) / p.Width.MM()
	move, one := p.Move.MM()*zoom, (p.Width-solver.Length(p.Passes-1)*p.Move).MM()*zoom
	for i := range p.Passes {
		x := left + float64(i)*move
		y := grooveDeep + 1 + float64(i%3)*1.3
		v.add(Line{What: fmt.Sprintf("pass %d", i+1), X0: x, Y0: y, X1: x + one, Y1: y, Role: Ink, Thick: 0.5})
	}
}

// rabbetView draws the step at the edge of the board and the fence that covers
// the rest of the stack.
func (p StackPicture) rabbetView(top float64) (View, float64) {
	v := page("rabbet")
	v.Y = top + 2
	const edge, wide = 44.0, 22.0
	v.add(
		Rect{What: "board", X: edge, W: ScreenWidth - margin - edge, H: boardTall, Fill: Board, Line: Ink},
		Rect{What: "rabbet", X: edge - outline, Y: boardTall - grooveDeep, W: wide + outline, H: grooveDeep + outline, Fill: Ground, Stands: p.Rabbet},
		Line{What: "wall", X0: edge + wide, Y0: boardTall - grooveDeep, X1: edge + wide, Y1: boardTall, Role: Ink, Thick: outline},
		Line{What: "floor", X0: edge, Y0: boardTall - grooveDeep, X1: edge + wide, Y1: boardTall - grooveDeep, Role: Ink, Thick: outline},
		Rect{What: "sacrificial fence", X: margin, Y: -2, W: edge - margin, H: boardTall + 2, Fill: Panel, Line: Ink},
		Text{X: (edge + margin) / 2, Y: boardTall/2 + 0.4, Size: body, Anchor: Middle, Role: Ink, Text: "sacrificial fence"},
	)
	word := "rabbet " + p.Style.Size(p.Rabbet)
	dimension(&v, edge, edge+wide, boardTall+3, word)
	y := boardTall + 3 + 5.4 + small*lead
	v.add(Text{X: inside(edge+wide/2, 0), Y: y, Size: small, Anchor: Middle, Role: Ink, Text: "the fence covers the rest of the stack"})
	return v, v.Y + y
}
