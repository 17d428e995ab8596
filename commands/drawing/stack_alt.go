package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// alt says what the picture of a setup shows.
func (p StackPicture) alt() string {
	var out []string
	if p.Title != "" {
		out = append(out, p.Title+".")
	}
	if p.Set.Kind == solver.Blade {
		out = append(out, fmt.Sprintf("One blade, %s %s, on the arbor between both flanges and the nut, with free thread past it.", p.cutterWord(p.Stack.Outer.Nominal), p.Set.Unit))
	} else {
		out = append(out, "From the inner flange to the nut: "+p.orderWords()+"; then flange, nut and free thread.")
	}
	out = append(out, p.nutWord(), capitalised(p.widthWord())+".")
	if p.Rabbet > 0 {
		out = append(out, "A rabbet "+p.Style.Size(p.Rabbet)+" wide at the edge of a board; a sacrificial fence covers the rest of the stack.")
	} else {
		out = append(out, p.playWords())
	}
	if p.Set.Kind != solver.Blade {
		words := p.fanWords(solver.Fan(p.Set, p.Stack))
		words[0] += "."
		out = append(out, words...)
	}
	return strings.Join(out, " ")
}

func (p StackPicture) orderWords() string {
	first, last := "left", "right"
	if p.nutLeft() {
		first, last = last, first
	}
	half := p.cutterWord(p.Stack.Outer.Nominal / 2)
	var words []string
	n := 0
	flush := func(word string, next string) {
		if n > 0 && word != next {
			words = append(words, times(n, word))
			n = 0
		}
	}
	run := ""
	for _, piece := range p.Stack.Pieces() {
		word := ""
		switch piece.Kind {
		case solver.FlangeBlade:
			word = first + " blade " + half
		case solver.NutBlade:
			word = last + " blade " + half
		case solver.ChipperPiece:
			word = "chipper " + p.cutterWord(piece.Part.Nominal)
		case solver.ShimPiece:
			word = "shim " + p.shimWord(piece.Part.Nominal)
		}
		flush(run, word)
		run, n = word, n+1
	}
	flush(run, "")
	return strings.Join(words, ", ")
}

func (p StackPicture) playWords() string {
	tight, slack := p.Width-p.Thickest.Length, p.Width-p.Thinnest.Length
	out := ""
	if p.Passes > 1 {
		out = fmt.Sprintf("%d passes, the stop moved by %s each time, make %s. ", p.Passes, p.Style.Fine(p.Move), p.Style.Fine(p.Width))
	}
	out += fmt.Sprintf("The panel, %s, in its dado: %s, %s", p.Thickest, p.Grades.Of(tight), playWord(p.Style, tight))
	if p.Thinnest.Length != p.Thickest.Length {
		out += fmt.Sprintf("; at the thinnest, %s: %s, %s", p.Thinnest, p.Grades.Of(slack), playWord(p.Style, slack))
	}
	return out + "."
}
