package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// CasePicture is what the picture of a case is made from: its sides as they lie
// on the bench, the pieces that dividers stand in, and the case from its front.
type CasePicture struct {
	Title string       // "4 shelves in a case of 36.000 by 30.000 in"
	Style solver.Style // of sizes
	Marks solver.Style // of marks that are rounded to Grain; 0: not rounded
	Grain solver.Length
	Case  solver.Case
	What  CaseInsert
	// Division is of the inside height by shelves or runners, or of the inside width
	// by dividers.
	Division solver.Division
	Pairs    []CrossPair // what dividers stand in, lowest first
}

// CaseInsert is what a case is divided by.
type CaseInsert uint8

// The inserts.
const (
	Shelves CaseInsert = iota
	Dividers
	Runners
)

// CrossPair are the two pieces that dividers stand between.
type CrossPair struct {
	Title       string          // "Bay 2"; empty where they go from floor to top
	Bottom, Top solver.Length   // of the clear height between them, above the floor
	Across      solver.Division // of the inside width
	Pieces      []CrossBoard    // one or two, the lower first
}

// CrossBoard is a piece with dadoes for dividers, as it lies on the bench.
type CrossBoard struct {
	Name      string        // "Shelf 2, lower face"
	Length    solver.Length // of the piece
	End       solver.Length // from its left end to the inside of the case
	FrontAway bool          // its front edge lies away from you, else towards you
}

// Heights of the views of a case, millimetres of the page, and the room for the
// figures between the two sides.
const (
	sidesTall  = 88.0 // or what the figures between them need
	sideMost   = 33.0 // width of one side
	frontTall  = 60.0
	frontWide  = 62.0
	crossMost  = 24.0 // of a piece that dividers stand in, front to back
	crossWide  = ScreenWidth - 2*margin
	tagGap     = 4.4 // between the baselines of two figures
	hatchApart = 2.2
	edgeThick  = 1.1 // the line along a front edge
	leastThick = 1.4 // of what is drawn wider than to scale rather than as a line
)

// Case draws a case to scale.
func Case(p CasePicture) Scene {
	head := page("head")
	y := headline(&head, p.Title, p.sub())
	views := []View{head}
	add := func(v []View, bottom float64) {
		views = append(views, v...)
		y = bottom
	}
	if p.What == Dividers {
		add(p.crosses(y + 3))
		add(p.sides(y + 3))
	} else {
		add(p.sides(y + 3))
		add(p.crosses(y + 3))
	}
	add(p.front(y + 3))
	foot := page("foot")
	y = paragraph(&foot, p.footWord(), margin, y+5, ScreenWidth-2*margin, small, Quiet, false)
	return Scene{Name: "case", Alt: clip(p.alt()), Width: ScreenWidth, Height: y + 1, Views: append(views, foot)}
}

// place writes a mark as it is to be made.
func (p CasePicture) place(at solver.Length) string {
	if p.Grain > 0 {
		return p.Marks.SizeBare(at)
	}
	return p.Marks.FineBare(at)
}

func (p CasePicture) unit() string { return p.Marks.Unit.String() }

// hatch fills a rectangle with slanted lines, so that a rabbet is told from a dado
// without colour. across and down are what a millimetre of the page is in the view.
func hatch(v *View, what string, x, y, w, h float64) {
	across, down := 1/v.ScaleX, 1/v.ScaleY
	if across < 0 {
		across = -across
	}
	wide, tall := w/across, h/down // on the page
	for at := hatchApart; at < wide+tall; at += hatchApart {
		from, to := max(0, at-tall), min(at, wide)
		v.add(Line{What: what, X0: x + from*across, Y0: y + (at-from)*down, X1: x + to*across, Y1: y + (at-to)*down, Role: Ink, Thick: 0.15})
	}
}

// spread moves figures that would stand on each other apart, each as little as it
// must; they come in rising order.
func spread(at []float64, gap float64) []float64 {
	type run struct {
		sum float64
		n   int
	}
	var runs []run
	for i, y := range at {
		runs = append(runs, run{y - float64(i)*gap, 1})
		for len(runs) > 1 {
			a, b := runs[len(runs)-2], runs[len(runs)-1]
			if a.sum/float64(a.n) <= b.sum/float64(b.n) {
				break
			}
			runs = append(runs[:len(runs)-2], run{a.sum + b.sum, a.n + b.n})
		}
	}
	var out []float64
	for _, r := range runs {
		for range r.n {
			out = append(out, r.sum/float64(r.n)+float64(len(out))*gap)
		}
	}
	return out
}

func (p CasePicture) sub() string {
	unit := "inches"
	if p.Marks.Unit == solver.MillimetreUnit {
		unit = "millimetres"
	}
	if p.What == Dividers {
		return "Left edges of the dadoes from the left end, in " + unit + "."
	}
	return "Both sides, inner face up. Lower edges of the dadoes from the lower end, in " + unit + "."
}

// atLeast is a thickness as it is drawn: to scale, or leastThick on the page; then
// it stands for the true one.
func atLeast(thick solver.Length, scale float64) (drawn float64, stands solver.Length) {
	if thick.MM()*scale < leastThick {
		return leastThick / scale, thick
	}
	return thick.MM(), 0
}

func (p CasePicture) footWord() string {
	words := []string{"To scale; thin parts thicker. Blank: dadoes. Hatched: rabbets. Thick edge: front. Triangle: the end to measure from."}
	if p.What == Runners {
		words = append(words, "How far runners stand out is yours; drawn 1/2 in.")
	}
	if r := p.rabbetsWord(); r != "" {
		words = append(words, r)
	}
	return strings.Join(words, " ")
}

// rabbetsWord says the cuts for top, bottom and back, as far as there are any.
func (p CasePicture) rabbetsWord() string {
	var words []string
	for _, c := range p.Case.Sides(p.Division, p.Grain)[0].Cuts {
		if c.Rabbet {
			words = append(words, fmt.Sprintf("%s %s", c.For, p.Style.FineBare(c.Width)))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return "Rabbets: " + strings.Join(words, ", ") + " " + p.Style.Unit.String() + " wide."
}

// alt says what the picture shows.
func (p CasePicture) alt() string {
	out := []string{p.Title + "."}
	if p.What == Dividers {
		out = append(out, p.crossWords()...)
	} else {
		out = append(out, "Both sides inner face up, lower end towards you, mirror images: the left side with its front edge on the left, the right side on the right.")
		var marks []string
		for i, e := range p.Case.Sides(p.Division, p.Grain)[0].Edges {
			marks = append(marks, fmt.Sprintf("%d: %s", i+1, p.place(e.At)))
		}
		out = append(out, "Lower edges of the dadoes from the lower end: "+strings.Join(marks, ", ")+" "+p.unit()+".")
	}
	if r := p.rabbetsWord(); r != "" {
		out = append(out, r)
	}
	if p.What != Dividers {
		out = append(out, p.crossWords()...)
	}
	return strings.Join(append(out, "The case from its front: "+p.openingsWord()+"."), " ")
}

func (p CasePicture) crossWords() []string {
	var out []string
	for _, pair := range p.Pairs {
		for _, b := range pair.Pieces {
			var marks []string
			for i, e := range pair.Across.Edges(b.End, p.Grain) {
				marks = append(marks, fmt.Sprintf("%d: %s", i+1, p.place(e.At)))
			}
			front := "towards you"
			if b.FrontAway {
				front = "away from you"
			}
			name := b.Name
			if pair.Title != "" {
				name = pair.Title + ", " + name
			}
			out = append(out, fmt.Sprintf("%s, front edge %s: left edges from the left end %s %s.", capitalised(name), front, strings.Join(marks, ", "), p.unit()))
		}
	}
	return out
}

// openings are the inside openings, and whether they are all alike.
func openings(d solver.Division) (all []solver.Length, even bool) {
	even = true
	at := solver.Length(0)
	for i, o := range d.Openings {
		even = even && o.Cmp(d.Openings[0]) == 0
		to := d.Span
		if i < len(d.Thick) {
			to = solver.Division{Lower: d.Lower[i : i+1]}.Edges(0, 0)[0].At
		}
		all = append(all, to-at)
		if i < len(d.Thick) {
			at = to + d.Thick[i]
		}
	}
	return all, even
}

func (p CasePicture) openingsWord() string {
	all, even := openings(p.Division)
	if even {
		return fmt.Sprintf("%d openings, each %s", len(all), p.Style.Fine(all[0]))
	}
	var words []string
	for _, o := range all {
		words = append(words, p.Style.FineBare(o))
	}
	from := "from the floor up"
	if p.What == Dividers {
		from = "from the left"
	}
	return "openings " + from + " " + strings.Join(words, ", ") + " " + p.Style.Unit.String()
}
