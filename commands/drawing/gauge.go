package drawing

import (
	"fmt"
	"strconv"
	"strings"

	"shimwright/solver"
)

// GaugePage is what the page of a gauge board is made from: a board with test
// dadoes in rising widths, each with the stack that cuts it.
type GaugePage struct {
	Title string // "Gauge board, Red case on Window saw"
	Set   solver.Set
	Style solver.Style
	Rungs []solver.Rung // narrowest first
	Foot  string        // who, when, deferral
}

// GaugeBoard draws the board for printing: each dado as wide as it is, with its
// stack in loading order and a place for what it measures.
func GaugeBoard(p GaugePage, paper Paper) []Scene {
	const tall = 15.0
	words := StackPicture{Set: p.Set}
	wide := paper.Width - 2*paperMargin
	alt := func(first, after int) string {
		var list []string
		for i, r := range p.Rungs[first:after] {
			list = append(list, fmt.Sprintf("%d: %s", first+i+1, p.Style.Fine(r.Stack.Width())))
		}
		return fmt.Sprintf("%s. %s, each with its stack and a line to write on: %s.", p.Title, plural(after-first, "test dado", "test dadoes"), strings.Join(list, "; "))
	}
	boardX, textX := paperMargin+10, paperMargin+52
	lineX := paper.Width - paperMargin - 34
	head := func(v *View) float64 {
		y := paragraph(v, p.Title, paperMargin, paperMargin+5, wide, printTitle, Ink, true)
		y = paragraph(v, "Cut one dado for each row in one scrap board, in this order. Write down what each measures, with the caliper that measures the stock. Printed at 100 % the dadoes are as wide as they are cut.", paperMargin, y, wide, printBody, Ink, false)
		v.add(Text{X: lineX, Y: y + 2, Size: printBody, Bold: true, Role: Ink, Text: "measures"})
		return y + 4
	}
	row := func(v *View, i int, y float64) {
		r := p.Rungs[i]
		w := r.Stack.Width().MM()
		word := p.Style.Fine(r.Stack.Width())
		if !r.Reached {
			word += ", nearest to " + p.Style.FineBare(r.Target)
		}
		v.add(
			Text{X: paperMargin, Y: y + 8.5, Size: printBold, Bold: true, Role: Ink, Text: strconv.Itoa(i + 1)},
			Rect{What: "board", X: boardX, Y: y + 2, W: 38, H: 11, Fill: Board, Line: Ink},
			Rect{What: "dado " + strconv.Itoa(i+1), X: boardX + 19 - w/2, Y: y + 1.5, W: w, H: 6.5, Fill: Ground},
			Line{What: "wall", X0: boardX + 19 - w/2, Y0: y + 2, X1: boardX + 19 - w/2, Y1: y + 8, Role: Ink, Thick: outline},
			Line{What: "wall", X0: boardX + 19 + w/2, Y0: y + 2, X1: boardX + 19 + w/2, Y1: y + 8, Role: Ink, Thick: outline},
			Line{What: "floor", X0: boardX + 19 - w/2, Y0: y + 8, X1: boardX + 19 + w/2, Y1: y + 8, Role: Ink, Thick: outline},
			Text{X: textX, Y: y + 5.5, Size: printBold, Bold: true, Role: Ink, Text: word},
			Line{What: "to write on", X0: lineX, Y0: y + 9.5, X1: paper.Width - paperMargin, Y1: y + 9.5, Role: Ink, Thick: 0.3},
		)
		words.Stack = r.Stack.Stack
		paragraph(v, words.orderInShort(), textX, y+10, lineX-textX-3, printSmall, Ink, false)
	}
	return paper.sheets("gauge", p.Foot, alt, len(p.Rungs), tall, head, row)
}

// orderInShort is the loading order in sizes alone: "blade, 3 x 1/8, shim 0.010, blade".
func (p StackPicture) orderInShort() string {
	var out []string
	last, n := "", 0
	flush := func() {
		if n > 0 {
			out = append(out, times(n, last))
		}
	}
	for _, piece := range p.Stack.Pieces() {
		word := "blade"
		switch piece.Kind {
		case solver.ChipperPiece:
			word = p.cutterWord(piece.Part.Nominal)
		case solver.ShimPiece:
			word = "shim " + p.shimWord(piece.Part.Nominal)
		case solver.FlangeBlade, solver.NutBlade:
		}
		if word != last {
			flush()
			last, n = word, 0
		}
		n++
	}
	flush()
	return strings.Join(out, ", ")
}
