package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"shimwright/solver"
)

// The fan view: the outer blade's rim and the wings of the chippers.
const (
	fanRadius = 15.0
	fanX      = margin + fanRadius + 4
)

// fan draws the cutters along the arbor, seen from the nut, and says how they
// are turned against each other.
func (p StackPicture) fan(top float64) ([]View, float64) {
	f := solver.Fan(p.Set, p.Stack)
	v := View{Name: "along the arbor", X: fanX, Y: top + fanRadius + 4, ScaleX: 1, ScaleY: 1}
	v.add(Circle{What: "outer blade", R: fanRadius, Fill: Steel, Line: Ink})
	p.rim(&v, f)
	switch f.Rule {
	case solver.FanEach, solver.FanNone:
		p.wings(&v, f)
	case solver.FanOuters, solver.FanMixed, solver.FanUnknown:
	}
	v.add(Circle{What: "arbor", R: 2.2, Fill: Ground, Line: Ink})

	words := page("fan")
	const x = fanX + fanRadius + 7
	y := top + 9
	for i, line := range p.fanWords(f) {
		size := body
		if i == 0 {
			size = strong
		}
		y = paragraph(&words, line, x, y, ScreenWidth-margin-x, size, Ink, i == 0) + 0.6
	}
	return []View{v, words}, max(top+2*fanRadius+8, y-3)
}

// at is the place at an angle, clockwise from the top, degrees.
func at(degrees, r float64) Point {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return Point{r * sin, -r * cos}
}

// rim draws the teeth of the outer blade, turned so that the first chipper's
// tips stand midway between two of them. Without chippers both blades' teeth are
// drawn: the left one's as squares, the right one's as discs.
func (p StackPicture) rim(v *View, f solver.FanAdvice) {
	if f.OuterTeeth == 0 || f.OuterTeeth > 80 {
		return
	}
	pitch := 360 / float64(f.OuterTeeth)
	for i := range f.OuterTeeth {
		a := pitch * (float64(i) + 0.5)
		v.add(sector("tooth of the left blade", a, fanRadius, fanRadius+1.5, min(2, pitch/4), Carbide))
		if f.Rule == solver.FanOuters {
			c := at(a+pitch/2, fanRadius+0.8)
			v.add(Circle{What: "tooth of the right blade", X: c.X, Y: c.Y, R: min(0.7, pitch/6), Fill: Ground, Line: Ink})
		}
	}
}

// sector is a small block between two radii, half as many degrees wide as half.
func sector(what string, angle, from, to, half float64, fill Role) Poly {
	return Poly{What: what, Fill: fill, Points: []Point{at(angle-half, from), at(angle-half, to), at(angle+half, to), at(angle+half, from)}}
}

// mostWings is how many wings are drawn as such: more would hide each other, and
// are drawn as spokes.
const mostWings = 30

// wings draws each chipper with its wings, numbered in loading order as far as
// there is room. The last loaded is nearest to the eye.
func (p StackPicture) wings(v *View, f solver.FanAdvice) {
	teeth := f.Teeth
	if teeth == 0 {
		return
	}
	const tip = fanRadius - 1.2
	var numbers []Shape
	apart := f.Turn * math.Pi / 180 * (fanRadius + 3.4) // of two numbers
	every := 1
	if f.Chippers > 1 {
		every = int(math.Ceil(small * 1.3 / apart))
	}
	half := min(5, 100/float64(f.Chippers*teeth)) // of a tooth, degrees
	for i := range f.Chippers {
		for w := range teeth {
			a := float64(i)*f.Turn + 360*float64(w)/float64(teeth)
			name := "chipper " + strconv.Itoa(i+1)
			if end := at(a, tip); f.Chippers*teeth > mostWings {
				v.add(Line{What: name + ", wing", X1: end.X, Y1: end.Y, Role: Ink, Thick: 0.2})
			} else {
				v.add(Poly{What: name + ", wing", Fill: []Role{Inner, Ground}[i%2], Line: Ink, Points: []Point{at(a-70, 2.2), at(a-6, tip), at(a+6, tip), at(a+70, 2.2)}})
			}
			v.add(sector(name+", tooth", a, tip-2.2, tip+0.4, half, Carbide))
			if i%every == 0 && w == 0 || f.Chippers*teeth <= 12 {
				c := at(a, fanRadius+3.4)
				numbers = append(numbers, Text{X: c.X, Y: c.Y + 1.2, Size: small, Bold: true, Anchor: Middle, Role: Ink, Text: strconv.Itoa(i + 1)})
			}
		}
	}
	v.add(numbers...)
}

// fanWords is what the fan view says: first in short, then how.
func (p StackPicture) fanWords(f solver.FanAdvice) []string {
	var out []string
	switch f.Rule {
	case solver.FanEach:
		out = []string{
			"Fan: " + degrees(f.Turn) + " degrees each",
			fmt.Sprintf("%d chippers of %d teeth, numbered as loaded, each turned %s degrees from the last.", f.Chippers, f.Teeth, degrees(f.Turn)),
		}
	case solver.FanMixed:
		out = []string{"Fan by hand", "Chippers of " + p.toothCounts() + ": no angle fits all. Turn each until no tip touches another."}
	case solver.FanUnknown:
		out = []string{"Fan by hand", "Tooth counts are not entered. Spread the chippers evenly until no tip touches another."}
	case solver.FanOuters:
		out = []string{"No chipper", "Turn one outer blade half a tooth against the other."}
		if f.Turn > 0 {
			out[1] = fmt.Sprintf("Turn one outer blade %s degrees, half a tooth, against the other. Left blade's teeth square, right blade's round.", degrees(f.Turn))
		}
	case solver.FanNone:
		out = []string{"One chipper, no fan", "Turn it so that its tips stand between those of the outer blades."}
	}
	return append(out, "Seen from the nut. If any tips touch, do not run it.")
}

// toothCounts is "2 and 4 teeth".
func (p StackPicture) toothCounts() string {
	var counts []int
	for _, part := range p.Stack.Chippers {
		for _, c := range p.Set.Chippers {
			if c.Nominal == part.Nominal && c.Teeth > 0 {
				counts = append(counts, c.Teeth)
			}
		}
	}
	slices.Sort(counts)
	counts = slices.Compact(counts)
	out := ""
	for i, n := range counts {
		switch {
		case i == 0:
		case i == len(counts)-1:
			out += " and "
		default:
			out += ", "
		}
		out += strconv.Itoa(n)
	}
	return out + " teeth"
}
