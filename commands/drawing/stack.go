package drawing

import (
	"strings"

	"shimwright/solver"
)

// StackPicture is what the picture of a setup is made from.
type StackPicture struct {
	Title string // "Setup 12, Red case on Window saw"
	Set   solver.Set
	Saw   solver.Saw
	Stack solver.Stack
	Style solver.Style // how widths and play are written
	// Width is what the cut is expected to be, in all its passes.
	Width  solver.Length
	Passes int           // 1, or more with the stop moved by Move each time
	Move   solver.Length // 0 for one pass
	// Thickest and Thinnest reading of the stock, as they are to be shown. They
	// may be the same.
	Thickest, Thinnest solver.Measure
	Grades             solver.Grades
	// Rabbet is the width of a rabbet at an edge, whose fence covers the rest of
	// the stack; 0: a dado or groove.
	Rabbet solver.Length
}

// Text sizes in millimetres of the page. A phone shows the 108 mm of a screen
// page about 360 points wide, so that 3.6 is 12 points.
const (
	small  = 3.4
	body   = 3.8
	strong = 4.6
	margin = 4.0
)

// Stack draws a setup: the cutters from the side on the arbor, the panel in its
// dado beneath, and the chippers seen along the arbor.
func Stack(p StackPicture) Scene {
	p.Passes = max(1, p.Passes)
	head := page("head")
	y := headline(&head, p.Title, p.partsWord())
	arbor := p.arbor(y + 4)
	views := append([]View{head}, arbor.views...)
	y = arbor.bottom
	if p.Rabbet > 0 {
		v, bottom := p.rabbetView(y)
		views, y = append(views, v), bottom
	} else {
		more, bottom := p.groove(arbor, y)
		views, y = append(views, more...), bottom
	}
	if p.Set.Kind != solver.Blade {
		v, bottom := p.fan(y + 2.5)
		views, y = append(views, v...), bottom
	}
	foot := page("foot")
	y = paragraph(&foot, p.footWord(), margin, y+4.5, ScreenWidth-2*margin, small, Quiet, false)
	return Scene{Name: "stack", Alt: clip(p.alt()), Width: ScreenWidth, Height: y + 1, Views: append(views, foot)}
}

// headline writes a title and a line below it, and returns the last baseline.
func headline(v *View, title, sub string) float64 {
	const width = ScreenWidth - 2*margin
	y := margin + 3.4
	if title != "" {
		y = paragraph(v, title, margin, y, width, strong, Ink, true)
	}
	return paragraph(v, sub, margin, y, width, body, Ink, false) - body*lead
}

// lead is the distance of two baselines, in sizes of the font.
const lead = 1.3

// paragraph writes a text in lines and returns the baseline of the next one.
func paragraph(v *View, text string, x, y, width, size float64, role Role, isBold bool) float64 {
	for _, l := range wrap(text, width, size, isBold) {
		v.add(Text{X: x, Y: y, Size: size, Role: role, Bold: isBold, Text: l})
		y += size * lead
	}
	return y
}

// cutterWord names a chipper or a blade by its nominal size, "1/8" or "3.2", and
// shimWord a shim, "0.010" or "0.2", in the unit of the set.
func (p StackPicture) cutterWord(nominal solver.Length) string {
	return solver.Style{Unit: p.Set.Unit, Notation: solver.Fractions}.SizeBare(nominal)
}

func (p StackPicture) shimWord(nominal solver.Length) string {
	return solver.Style{Unit: p.Set.Unit}.SizeBare(nominal)
}

// playWord says a play, also one that is none.
func playWord(style solver.Style, play solver.Length) string {
	if play < 0 {
		return style.Fine(-play) + " too thick"
	}
	return "play " + style.Fine(play)
}

// partsWord says what to take from the case.
func (p StackPicture) partsWord() string {
	if p.Set.Kind == solver.Blade {
		return "One blade, " + p.cutterWord(p.Stack.Outer.Nominal) + " " + p.Set.Unit.String()
	}
	words := []string{"Pair " + p.cutterWord(p.Stack.Outer.Nominal)}
	for _, c := range solver.CountParts(p.Stack.Chippers) {
		words = append(words, times(c.N, p.cutterWord(c.Nominal)))
	}
	out := strings.Join(words, " + ")
	shims := p.Stack.Shims()
	if len(shims) == 0 {
		return out + ", no shims"
	}
	words = nil
	for _, c := range solver.CountParts(shims) {
		words = append(words, times(c.N, p.shimWord(c.Nominal)))
	}
	return out + ", " + plainShim(len(shims)) + " " + strings.Join(words, " + ")
}

// nutLeft says on which hand the nut is drawn.
func (p StackPicture) nutLeft() bool { return p.Saw.Nut == solver.Left }

func (p StackPicture) nutWord() string {
	switch p.Saw.Nut {
	case solver.Left:
		return "As you stand at the saw: nut on the left."
	case solver.Right:
		return "As you stand at the saw: nut on the right."
	}
	return "Nut drawn on the right; its side is not entered for this saw: look."
}

func (p StackPicture) footWord() string {
	larger := "Cutters to one scale across, not in height."
	switch {
	case p.Set.Kind == solver.Blade:
		larger = "Play drawn larger than it is. Not to scale in height."
	case p.Rabbet == 0:
		larger += " Shims and play are drawn larger than they are."
	case len(p.Stack.Shims()) > 0:
		larger += " Shims are drawn larger than they are."
	}
	return p.nutWord() + " " + larger
}
