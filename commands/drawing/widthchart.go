package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// WidthPage is what the width chart of a set is made from.
type WidthPage struct {
	Title string // "Widths of Red case on Window saw"
	Set   solver.Set
	Style solver.Style
	Rows  []solver.WidthRow // as solver.Widths gives them
	Foot  string
}

// WidthChart draws every width of a set for printing: a row for each choice of
// chippers, a column without shims and one for each shim.
func WidthChart(p WidthPage, paper Paper) []Scene {
	const tall = 6.2
	words := StackPicture{Set: p.Set}
	wide := paper.Width - 2*paperMargin
	shims := p.columns()
	// The columns share what the chippers' names leave.
	names := 0.0
	for _, r := range p.Rows {
		names = max(names, widthOf(words.chippersWord(r.Chippers), printBody, false))
	}
	names = min(names+4, wide*0.45)
	column := min(22, (wide-names)/float64(1+len(shims)))
	size := min(printBody, column/widthOf("0.0000 ", 1, true))
	at := func(i int) float64 { return paperMargin + names + column*(float64(i)+1) - 1 }

	head := func(v *View) float64 {
		y := paragraph(v, p.Title, paperMargin, paperMargin+5, wide, printTitle, Ink, true)
		y = paragraph(v, fmt.Sprintf("Sums of parts, in %s: what this set really cuts over them is learned from test cuts. A dash: the shim fits no gap of that stack, or the stack does not fit the saw.", unitName(p.Style.Unit)), paperMargin, y, wide, printBody, Ink, false) + 2
		v.add(Text{X: paperMargin, Y: y + 4.4, Size: size, Bold: true, Role: Ink, Text: "chippers"}, Text{X: at(0), Y: y + 4.4, Size: size, Bold: true, Anchor: End, Role: Ink, Text: "no shim"})
		for i, k := range shims {
			v.add(Text{X: at(i + 1), Y: y + 4.4, Size: size, Bold: true, Anchor: End, Role: Ink, Text: "+" + words.shimWord(p.Set.Shims[k].Nominal)})
		}
		v.add(Line{What: "below the head", X0: paperMargin, Y0: y + 6, X1: paper.Width - paperMargin, Y1: y + 6, Role: Ink, Thick: 0.4})
		return y + 6.2
	}
	row := func(v *View, i int, y float64) {
		r := p.Rows[i]
		if i%2 == 1 {
			v.add(Rect{What: "every other row", X: paperMargin, Y: y, W: wide, H: tall, Fill: Inner})
		}
		name := words.chippersWord(r.Chippers)
		letters := size
		if w := widthOf(name, letters, false); w > names-2 {
			letters *= (names - 2) / w
		}
		v.add(
			Text{X: paperMargin + 1, Y: y + 4.4, Size: letters, Role: Ink, Text: name},
			Text{X: at(0), Y: y + 4.4, Size: size, Bold: true, Anchor: End, Role: Ink, Text: p.Style.FineBare(r.Bare)},
		)
		for j, k := range shims {
			word := "-"
			if r.With[k] > 0 {
				word = p.Style.FineBare(r.With[k])
			}
			v.add(Text{X: at(j + 1), Y: y + 4.4, Size: size, Anchor: End, Role: Ink, Text: word})
		}
	}
	return paper.sheets("widths", p.Foot, p.alt, len(p.Rows), tall, head, row)
}

// columns are the places in Set.Shims of the shims that reach something.
func (p WidthPage) columns() []int {
	var out []int
	for k := range p.Set.Shims {
		for _, r := range p.Rows {
			if r.With[k] > 0 {
				out = append(out, k)
				break
			}
		}
	}
	return out
}

// chippersWord is "2 x 1/8 + 1/16", or "pair alone".
func (p StackPicture) chippersWord(chippers []solver.Part) string {
	var words []string
	for _, c := range solver.CountParts(chippers) {
		words = append(words, times(c.N, p.cutterWord(c.Nominal)))
	}
	if len(words) == 0 {
		return "pair alone"
	}
	return strings.Join(words, " + ")
}

func unitName(u solver.Unit) string {
	if u == solver.MillimetreUnit {
		return "millimetres"
	}
	return "inches"
}

func (p WidthPage) alt(first, after int) string {
	if first == after {
		return p.Title + ". No stack of this set fits the saw."
	}
	return fmt.Sprintf("%s. A table of %s of chippers, from %s to %s without shims, each also with one of %s.",
		p.Title, plural(after-first, "choice", "choices"), p.Style.Fine(p.Rows[first].Bare), p.Style.Fine(p.Rows[after-1].Bare), plural(len(p.columns()), "shim", "shims"))
}
