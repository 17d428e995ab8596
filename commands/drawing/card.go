package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// CardPage is what a setup card is made from: one page to tape to the saw.
type CardPage struct {
	Picture  StackPicture
	Who      string   // "Tomek, for the hall bookcase"
	When     string   // "25 November 2026, 18:40"
	Cautions []string // in the order of the work, without numbers
	Deferral string
}

// SetupCard draws the card for printing: the picture on one hand, loading order
// and cautions on the other, places to sign below the picture.
func SetupCard(p CardPage, paper Paper) Scene {
	const k = 0.74 // of the picture, so that the cautions get half of the page
	picture := Stack(p.Picture)
	v := page("card")
	wide := paper.Width - 2*paperMargin
	top := paragraph(&v, p.Picture.Title, paperMargin, paperMargin+5, wide, printTitle, Ink, true)
	top = paragraph(&v, strings.Join(filled(p.Who, p.When), ", "), paperMargin, top-1, wide, printBody, Ink, false)
	v.add(Line{What: "below the head", X0: paperMargin, Y0: top - 2, X1: paper.Width - paperMargin, Y1: top - 2, Role: Ink, Thick: 0.5})

	bare := p.Picture
	bare.Title = "" // stands above
	drawn := Stack(bare).shrunk(paperMargin-margin*k, top-2, k)
	y := top + picture.Height*k + 6
	for _, word := range []string{"Loaded by", "Checked by", "Taken down by"} {
		v.add(
			Text{X: paperMargin, Y: y, Size: printBody, Role: Ink, Text: word},
			Line{What: "to sign on", X0: paperMargin + 27, Y0: y + 0.6, X1: paperMargin + ScreenWidth*k - 6, Y1: y + 0.6, Role: Ink, Thick: 0.3},
		)
		y += 11
	}

	x := paperMargin + ScreenWidth*k
	right := page("right")
	for size := printBody; ; size *= 0.95 { // smaller where the cautions are many
		right.Shapes = nil
		end := p.words(&right, x, top+4, paper.Width-paperMargin-x, size)
		if end < paper.Height-paperMargin || size < 2 {
			break
		}
	}
	alt := picture.Alt + fmt.Sprintf(" With %s, to sign when loaded, checked and taken down. %s", plural(len(p.Cautions), "caution", "cautions"), p.Deferral)
	return Scene{Name: "card", Alt: clip(alt), Width: paper.Width, Height: paper.Height, Views: append(append([]View{v}, drawn...), right)}
}

// words writes loading order, cautions and deferral, and returns where they end.
func (p CardPage) words(v *View, x, y, wide, size float64) float64 {
	numbered := func(title string, lines []string) {
		y = paragraph(v, title, x, y, wide, size*1.2, Ink, true) + 0.4
		for i, l := range lines {
			v.add(Text{X: x + 5, Y: y, Size: size, Bold: true, Anchor: End, Role: Ink, Text: fmt.Sprint(i + 1)})
			y = paragraph(v, l, x+7, y, wide-7, size, Ink, false) + size*0.25
		}
		y += size * 0.8
	}
	numbered("Load from the inner flange", p.Picture.loadLines())
	numbered("Cautions", p.Cautions)
	return paragraph(v, p.Deferral, x, y, wide, size, Ink, true)
}

// loadLines is the loading order, a piece a line, runs of the same piece together.
func (p StackPicture) loadLines() []string {
	if p.Set.Kind == solver.Blade {
		return []string{"blade " + p.cutterWord(p.Stack.Outer.Nominal), "outer flange, nut; nut tight to a wrench"}
	}
	return append(strings.Split(p.orderWords(), ", "), "outer flange, nut; nut tight to a wrench")
}

func filled(words ...string) []string {
	var out []string
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return out
}
