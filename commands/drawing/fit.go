package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shimwright/solver"
)

// FitPicture is what the picture of a fit is made from: readings of the stock
// and grooves, all on one line of widths.
type FitPicture struct {
	Title    string // "Setup 12, cut 3"; may be empty
	Style    solver.Style
	Grades   solver.Grades
	Window   solver.Window    // widths that are snug on every piece, or that were aimed for
	Readings []solver.Measure // at least one
	Cut      FitCut
	Earlier  []FitCut // oldest first; voided ones left out by the caller
}

// FitCut is a groove on the line.
type FitCut struct {
	Name  string // "cut 3"; "this groove" where there is no number
	Width solver.Length
	// Measured is false where the groove was judged by hand: Width is then what
	// the stack is expected to cut.
	Measured bool
	Grade    solver.Grade
}

// Heights of the picture of a fit, millimetres of the page.
const (
	zoneTall = 6.0
	cutTall  = 9.0
	rowTall  = 5.6
	mostRows = 6 // earlier cuts that are shown, the latest ones
)

// Fit draws how a groove fits: one look says tight or loose, and by how much.
func Fit(p FitPicture) Scene {
	head := page("head")
	const width = ScreenWidth - 2*margin
	y := margin + 4.6
	for _, l := range wrap(p.verdict(), width, 6, true) {
		head.add(Text{X: margin, Y: y, Size: 6, Bold: true, Role: Ink, Text: l})
		y += 6 * lead
	}
	about := p.Title
	if !p.Window.Empty() {
		snug := fmt.Sprintf("Snug is %s to %s.", p.Style.FineBare(p.Window.Lo), p.Style.Fine(p.Window.Hi))
		if about != "" {
			about += ". "
		}
		about += snug
	}
	y = paragraph(&head, about, margin, y-1.6, width, body, Quiet, false) + 1

	shown := p.Earlier
	if over := len(shown) - mostRows; over > 0 {
		shown = shown[over:]
	}
	lo, hi := p.span(shown)
	scale := width / (hi - lo).MM()
	v := View{Name: "line of widths", X: margin - lo.MM()*scale, Y: y, ScaleX: scale, ScaleY: 1}
	top := zoneTall
	if p.Window.Empty() { // no zones to name
		top = 0
	}
	axis := top + cutTall + rowTall*float64(len(shown))
	if !p.Window.Empty() {
		v.add(
			Rect{What: "snug range", X: p.Window.Lo.MM(), Y: 0, W: (p.Window.Hi - p.Window.Lo).MM(), H: axis, Fill: Band},
			Line{What: "snug from", X0: p.Window.Lo.MM(), Y0: 0, X1: p.Window.Lo.MM(), Y1: axis, Role: Ink, Thick: 0.3},
			Line{What: "snug to", X0: p.Window.Hi.MM(), Y0: 0, X1: p.Window.Hi.MM(), Y1: axis, Role: Ink, Thick: 0.3},
		)
	}
	p.zones(&v, lo, hi, axis)
	p.ticks(&v, lo, hi, axis)
	row := top + cutTall/2
	v.add(Line{What: "this cut", X0: p.Cut.Width.MM(), Y0: row, X1: p.Cut.Width.MM(), Y1: axis, Role: Measure, Thick: 0.6})
	for i := range shown {
		c := shown[len(shown)-1-i] // the latest next to this one
		p.cut(&v, c, top+cutTall+rowTall*(float64(i)+0.5), 1.5, small)
	}
	p.cut(&v, p.Cut, row, 2.6, strong)
	below := p.readings(&v, axis+6.5)
	y = v.PageY(below)

	foot := page("foot")
	y = paragraph(&foot, p.key(len(p.Earlier)-len(shown)), margin, y+5, width, small, Quiet, false)
	return Scene{Name: "fit", Alt: clip(p.alt()), Width: ScreenWidth, Height: y + 1, Views: []View{head, v, foot}}
}

// verdict says the fit of this cut in a few words.
func (p FitPicture) verdict() string {
	grade := capitalised(string(p.Cut.Grade))
	if !p.Cut.Measured {
		grade += " by hand"
	}
	thick, _ := p.ends()
	off, side := p.off()
	switch {
	case p.Window.Empty():
		return grade + ": no width is snug on all of this stock"
	case p.Cut.Grade == solver.Snug && p.Cut.Measured && side == "":
		return grade + ": " + playWord(p.Style, p.Cut.Width-thick.Length)
	case side == "":
		return grade
	case p.Cut.Measured:
		return fmt.Sprintf("%s: %s too %s", grade, p.Style.Fine(off), side)
	case p.agrees(side):
		return fmt.Sprintf("%s: about %s too %s", grade, p.Style.Fine(off), side)
	}
	return grade
}

// off is by how much this cut misses the window, and on which side.
func (p FitPicture) off() (solver.Length, string) {
	switch w := p.Cut.Width; {
	case p.Window.Empty(), p.Window.Has(w):
		return 0, ""
	case w > p.Window.Hi:
		return w - p.Window.Hi, "wide"
	default:
		return p.Window.Lo - w, "narrow"
	}
}

// agrees says whether the hand found what the expected width says.
func (p FitPicture) agrees(side string) bool {
	switch p.Cut.Grade {
	case solver.WontEnter, solver.Tight:
		return side == "narrow"
	case solver.Loose, solver.Sloppy:
		return side == "wide"
	case solver.Snug:
	}
	return false
}

func (p FitPicture) ends() (thick, thin solver.Measure) {
	thick, thin = p.Readings[0], p.Readings[0]
	for _, r := range p.Readings[1:] {
		if r.Length > thick.Length {
			thick = r
		}
		if r.Length < thin.Length {
			thin = r
		}
	}
	return thick, thin
}

// span is the part of the line that is shown: all that is marked, and something
// of tight and loose on either side.
func (p FitPicture) span(earlier []FitCut) (lo, hi solver.Length) {
	thick, thin := p.ends()
	all := []solver.Length{thin.Length, thick.Length, p.Cut.Width, p.Window.Lo, p.Window.Hi}
	for _, c := range earlier {
		all = append(all, c.Width)
	}
	lo, hi = slices.Min(all), slices.Max(all)
	pad := max((hi-lo)*3/20, 4*solver.Mil)
	return lo - pad, hi + pad
}

// zones names tight, snug and loose over the line.
func (p FitPicture) zones(v *View, lo, hi solver.Length, axis float64) {
	if p.Window.Empty() {
		return
	}
	name := func(word string, from, to solver.Length, isBold bool) {
		from, to = max(from, lo), min(to, hi)
		if (to-from).MM()*v.ScaleX > widthOf(word, body, isBold)+1 {
			v.add(Text{X: (from + to).MM() / 2, Y: zoneTall - 2, Size: body, Bold: isBold, Anchor: Middle, Role: Ink, Text: word})
		}
	}
	thick, thin := p.ends()
	enter, sloppy := thick.Length+p.Grades.Enter, thin.Length+p.Grades.LooseTo
	edge := func(what string, x solver.Length) {
		if lo < x && x < hi {
			v.add(Line{What: what, X0: x.MM(), Y0: 0, X1: x.MM(), Y1: axis, Role: Quiet, Thick: 0.2, Dashed: true})
		}
	}
	enter, sloppy = min(enter, p.Window.Lo), max(sloppy, p.Window.Hi)
	edge("tight from", enter)
	edge("loose to", sloppy)
	name("too tight", lo, enter, false)
	name("tight", enter, p.Window.Lo, false)
	name("snug", p.Window.Lo, p.Window.Hi, true)
	name("loose", p.Window.Hi, sloppy, false)
	name("sloppy", sloppy, hi, false)
}

// ticks is the line itself with a scale.
func (p FitPicture) ticks(v *View, lo, hi solver.Length, axis float64) {
	v.add(Line{What: "line", X0: lo.MM(), Y0: axis, X1: hi.MM(), Y1: axis, Role: Ink, Thick: 0.5})
	step := tickStep(p.Style.Unit, hi-lo, 5)
	for x := (lo + step - 1) / step * step; x <= hi; x += step {
		v.add(Line{What: "tick", X0: x.MM(), Y0: axis, X1: x.MM(), Y1: axis + 1.4, Role: Ink, Thick: 0.3})
		word := p.Style.FineBare(x)
		if half := widthOf(word, small, false) / 2 / v.ScaleX; x.MM()-half > lo.MM() && x.MM()+half < hi.MM() {
			v.add(Text{X: x.MM(), Y: axis + 4.8, Size: small, Anchor: Middle, Role: Quiet, Text: word})
		}
	}
}

// tickStep is the smallest round step that gives at most n steps.
func tickStep(unit solver.Unit, span solver.Length, n int64) solver.Length {
	one := solver.Mil
	if unit == solver.MillimetreUnit {
		one = solver.Millimetre / 100
	}
	for {
		for _, f := range []solver.Length{1, 2, 5} {
			if one*f*solver.Length(n) >= span {
				return one * f
			}
		}
		one *= 10
	}
}

// cut draws a groove's mark with its name beside it: a filled diamond where it
// was measured, a ring where it was judged by hand.
func (p FitPicture) cut(v *View, c FitCut, y, size, letters float64) {
	x, w := c.Width.MM(), size/v.ScaleX
	var mark Shape = Circle{What: c.Name + ", by hand", X: x, Y: y, R: size * 0.8, Fill: Ground, Line: Measure}
	word := fmt.Sprintf("%s: %s, near %s", c.Name, c.Grade, p.Style.FineBare(roundTo(c.Width, p.Style)))
	if c.Measured {
		mark = Poly{What: c.Name + ", measured", Fill: Measure, Line: Ink, Points: []Point{{x - w, y}, {x, y - size}, {x + w, y}, {x, y + size}}}
		word = c.Name + ": " + p.Style.Fine(c.Width)
	}
	isBold := letters > small
	left, right := v.PageX(x)-size-1, v.PageX(x)+size+1
	if most := max(left-margin, ScreenWidth-margin-right); widthOf(word, letters, isBold) > most {
		letters *= most / widthOf(word, letters, isBold)
	}
	wide := widthOf(word, letters, isBold)
	t := Text{X: x + (size+1)/v.ScaleX, Y: y + letters*0.36, Size: letters, Bold: isBold, Role: Ink, Text: word}
	ground := Rect{What: "ground of the name", X: x + (size+0.6)/v.ScaleX, Y: y - letters*0.55, W: (wide + 0.8) / v.ScaleX, H: letters * 1.1, Fill: Ground}
	if right+wide > ScreenWidth-margin {
		t.X, t.Anchor = x-(size+1)/v.ScaleX, End
		ground.X = x - (size+1.4+wide)/v.ScaleX
	}
	v.add(ground, mark, t)
}

// readings marks the stock below the line and names the ends. It returns the
// last baseline.
func (p FitPicture) readings(v *View, y float64) float64 {
	seen := map[solver.Length]bool{}
	for _, r := range p.Readings {
		if seen[r.Length] {
			continue
		}
		seen[r.Length] = true
		x, w := r.Length.MM(), 1.3/v.ScaleX
		v.add(Poly{What: "reading " + r.String(), Fill: Ink, Points: []Point{{x, y}, {x - w, y + 2.8}, {x + w, y + 2.8}}})
	}
	thick, thin := p.ends()
	word := "stock " + thick.String()
	if thick.Length != thin.Length {
		word = fmt.Sprintf("stock %s to %s", bare(thin, p.Style), thick)
	}
	mid := v.PageX((thick.Length + thin.Length).MM() / 2)
	mid = inside(mid, widthOf(word, body, true))
	v.add(Text{X: (mid - v.X) / v.ScaleX, Y: y + 7, Size: body, Bold: true, Anchor: Middle, Role: Ink, Text: word})
	return y + 7
}

// bare is a reading without its unit where it is the style's.
func bare(m solver.Measure, style solver.Style) string {
	return strings.TrimSuffix(m.String(), " "+style.Unit.String())
}

// key says what the marks mean, as far as they are there.
func (p FitPicture) key(left int) string {
	all := append([]FitCut{p.Cut}, p.Earlier...)
	hand := func(c FitCut) bool { return !c.Measured }
	measured := func(c FitCut) bool { return c.Measured }
	var out []string
	if slices.ContainsFunc(all, measured) {
		out = append(out, "diamond: groove measured")
	}
	if slices.ContainsFunc(all, hand) {
		out = append(out, "ring: judged by hand, put where the stack should cut")
	}
	out = append(out, "triangles: readings of the stock")
	text := capitalised(strings.Join(out, "; ")) + "."
	if left > 0 {
		text += " " + plural(left, "earlier cut is", "earlier cuts are") + " not shown."
	}
	return text
}

// alt says what the picture shows.
func (p FitPicture) alt() string {
	var out []string
	if p.Title != "" {
		out = append(out, p.Title+".")
	}
	out = append(out, p.verdict()+".")
	thick, thin := p.ends()
	stock := "Stock " + thick.String()
	if thick.Length != thin.Length {
		stock = fmt.Sprintf("Stock from %s to %s", thin, thick)
	}
	if !p.Window.Empty() {
		stock += fmt.Sprintf("; snug from %s to %s", p.Style.Fine(p.Window.Lo), p.Style.Fine(p.Window.Hi))
	}
	out = append(out, stock+".", capitalised(p.cutWord(p.Cut))+".")
	if n := len(p.Earlier); n > 0 {
		var words []string
		for _, c := range p.Earlier[max(0, n-mostRows):] {
			words = append(words, p.cutWord(c))
		}
		out = append(out, "Before: "+strings.Join(words, "; ")+".")
	}
	return strings.Join(out, " ")
}

func (p FitPicture) cutWord(c FitCut) string {
	if c.Measured {
		return fmt.Sprintf("%s: %s measured, %s", c.Name, p.Style.Fine(c.Width), c.Grade)
	}
	return fmt.Sprintf("%s: %s by hand, near %s", c.Name, c.Grade, p.Style.Fine(roundTo(c.Width, p.Style)))
}

// roundTo keeps an expected width to what can be measured.
func roundTo(l solver.Length, style solver.Style) solver.Length {
	grain := solver.Mil
	if style.Unit == solver.MillimetreUnit {
		grain = solver.Millimetre / 100
	}
	return solver.Length(math.Round(float64(l)/float64(grain))) * grain
}
