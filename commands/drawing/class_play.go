package drawing

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// PlayChart is what the chart of play per measured cut is made from.
type PlayChart struct {
	Title  string
	Style  solver.Style
	Grades solver.Grades
	Cuts   []PlayCut // oldest first; cuts judged by hand alone have no play
}

// PlayCut is one measured cut.
type PlayCut struct {
	Group string // what it is drawn under: a week, a set; short
	Play  solver.Length
}

// mostPlays is how many cuts the chart shows, the latest ones.
const mostPlays = 60

// Plays draws the play of each cut against the snug band.
func Plays(p PlayChart) Scene {
	if over := len(p.Cuts) - mostPlays; over > 0 {
		p.Cuts = p.Cuts[over:]
	}
	const (
		width = ScreenWidth - 2*margin
		left  = margin + 13.0
		tall  = 60.0
	)
	head := page("head")
	y := headline(&head, "Play of each measured cut", p.summary())
	// A cut far outside stands at the edge, as an arrow: it would flatten the rest.
	room := p.Grades.SnugTo - p.Grades.SnugFrom
	lo := min(p.Grades.Enter, p.Grades.SnugFrom) - room/2
	hi := max(p.Grades.LooseTo, p.Grades.SnugTo) + room/2
	scale := tall / (hi - lo).MM()
	v := View{Name: "play", Y: y + 5 + hi.MM()*scale, ScaleX: 1, ScaleY: -scale}
	top, bottom := hi.MM(), lo.MM()
	v.add(
		Rect{What: "snug", X: left, Y: p.Grades.SnugTo.MM(), W: ScreenWidth - margin - left, H: -room.MM(), Fill: Band},
		Line{What: "snug to", X0: left, Y0: p.Grades.SnugTo.MM(), X1: ScreenWidth - margin, Y1: p.Grades.SnugTo.MM(), Role: Ink, Thick: 0.3},
		Line{What: "snug from", X0: left, Y0: p.Grades.SnugFrom.MM(), X1: ScreenWidth - margin, Y1: p.Grades.SnugFrom.MM(), Role: Ink, Thick: 0.3},
		Line{What: "axis", X0: left, Y0: top, X1: left, Y1: bottom, Role: Ink, Thick: 0.4},
	)
	for _, g := range []solver.Length{p.Grades.Enter, p.Grades.SnugFrom, p.Grades.SnugTo, p.Grades.LooseTo} {
		v.add(Text{X: left - 1, Y: g.MM() - small*0.36/scale, Size: small, Anchor: End, Role: Ink, Text: p.Style.FineBare(g)})
	}
	for _, z := range []struct {
		word     string
		from, to solver.Length
	}{{"loose", p.Grades.SnugTo, p.Grades.LooseTo}, {"snug", p.Grades.SnugFrom, p.Grades.SnugTo}, {"tight", p.Grades.Enter, p.Grades.SnugFrom}} {
		if (z.to-z.from).MM()*scale > body {
			v.add(Text{X: left + 1.4, Y: (z.from+z.to).MM()/2 - body*0.36/scale, Size: body, Bold: true, Role: Ink, Text: z.word})
		}
	}
	p.marks(&v, left+16, lo, hi, scale)
	foot := page("foot")
	y = paragraph(&foot, "Diamond in the band: snug. Ring: outside it. Triangle at an edge: further out. "+p.Title, margin, v.PageY(bottom)+12, width, small, Quiet, false)
	return Scene{Name: "plays", Alt: clip(p.alt()), Width: ScreenWidth, Height: y + 1, Views: []View{head, v, foot}}
}

func (p PlayChart) marks(v *View, from float64, lo, hi solver.Length, scale float64) {
	step := (ScreenWidth - margin - from) / float64(max(1, len(p.Cuts)))
	r := min(1.5, max(0.7, step/2))
	group, free := "", from
	for i, c := range p.Cuts {
		x := from + step*(float64(i)+0.5)
		if c.Group != group {
			group = c.Group
			v.add(Line{What: "from here: " + group, X0: x - step/2, Y0: hi.MM(), X1: x - step/2, Y1: lo.MM() - 1.5/scale, Role: Quiet, Thick: 0.2, Dashed: true})
			if x-step/2 >= free { // else it would stand on the one before
				v.add(Text{X: x - step/2, Y: lo.MM() - 5/scale, Size: small, Role: Ink, Text: group})
				free = x - step/2 + widthOf(group, small, false) + 2
			}
		}
		at, what := c.Play.MM(), fmt.Sprintf("cut of %s, play %s mm", c.Group, c.Play.DecimalMM())
		h := r / scale
		switch {
		case c.Play > hi:
			v.add(Poly{What: what, Fill: Measure, Points: []Point{{x, hi.MM()}, {x - r, hi.MM() - 2*h}, {x + r, hi.MM() - 2*h}}})
		case c.Play < lo:
			v.add(Poly{What: what, Fill: Measure, Points: []Point{{x, lo.MM()}, {x - r, lo.MM() + 2*h}, {x + r, lo.MM() + 2*h}}})
		case p.Grades.Of(c.Play) == solver.Snug:
			v.add(Poly{What: what, Fill: Ink, Points: []Point{{x - r, at}, {x, at + h}, {x + r, at}, {x, at - h}}})
		default:
			v.add(Circle{What: what, X: x, Y: at, R: r, Fill: Ground, Line: Measure})
		}
	}
}

// tally counts cuts by grade.
func (p PlayChart) tally() map[solver.Grade]int {
	out := map[solver.Grade]int{}
	for _, c := range p.Cuts {
		out[p.Grades.Of(c.Play)]++
	}
	return out
}

func (p PlayChart) summary() string {
	if len(p.Cuts) == 0 {
		return "No cut was measured yet."
	}
	return fmt.Sprintf("%d of %s snug, a play of %s to %s.", p.tally()[solver.Snug], plural(len(p.Cuts), "cut is", "cuts are"), p.Style.FineBare(p.Grades.SnugFrom), p.Style.Fine(p.Grades.SnugTo))
}

func (p PlayChart) alt() string {
	out := []string{"Play of each measured cut.", p.summary()}
	n := p.tally()
	var words []string
	for _, g := range solver.AllGrades {
		if n[g] > 0 {
			words = append(words, fmt.Sprintf("%s %d", g, n[g]))
		}
	}
	if len(words) > 0 {
		out = append(out, "By grade: "+strings.Join(words, ", ")+".")
	}
	return strings.Join(out, " ")
}
