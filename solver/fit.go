package solver

// Grade says how a piece of stock goes into its dado.
type Grade string

// The grades, tightest first. In words [cp]: snug goes in by hand, grips, and
// lifts the other part; tight wants a mallet; loose leans or drops out.
const (
	WontEnter Grade = "will not enter"
	Tight     Grade = "tight"
	Snug      Grade = "snug"
	Loose     Grade = "loose"
	Sloppy    Grade = "sloppy"
)

// AllGrades lists the grades, tightest first.
var AllGrades = []Grade{WontEnter, Tight, Snug, Loose, Sloppy}

// Grades are the limits of total play (groove width minus stock thickness, both
// faces together) between the grades:
// will not enter < Enter <= tight < SnugFrom <= snug <= SnugTo < loose <= LooseTo < sloppy.
type Grades struct {
	Enter    Length `json:"enter"`
	SnugFrom Length `json:"snug_from"`
	SnugTo   Length `json:"snug_to"`
	LooseTo  Length `json:"loose_to"`
}

// DefaultGrades are -0.004, 0.001, 0.008 and 0.015 in [shop].
func DefaultGrades() Grades {
	return Grades{Enter: -4 * Mil, SnugFrom: 1 * Mil, SnugTo: 8 * Mil, LooseTo: 15 * Mil}
}

// Of is the grade of a play.
func (g Grades) Of(play Length) Grade {
	switch {
	case play < g.Enter:
		return WontEnter
	case play < g.SnugFrom:
		return Tight
	case play <= g.SnugTo:
		return Snug
	case play <= g.LooseTo:
		return Loose
	}
	return Sloppy
}

// Window is the range of groove widths, both ends included.
type Window struct {
	Lo Length `json:"lo"`
	Hi Length `json:"hi"`
}

// Empty says that no width lies in the window.
func (w Window) Empty() bool { return w.Hi < w.Lo }

// Mid is the middle of the window, also of an empty one.
func (w Window) Mid() Length { return w.Lo + (w.Hi-w.Lo)/2 }

// Has says whether a width lies in the window.
func (w Window) Has(width Length) bool { return w.Lo <= width && width <= w.Hi }

// Shift moves both ends.
func (w Window) Shift(by Length) Window { return Window{w.Lo + by, w.Hi + by} }

// Window is the range of widths that are snug on every piece between the thinnest
// and the thickest reading: [thickest + SnugFrom, thinnest + SnugTo]. It is empty
// when the readings spread by more than the snug range: no single dado fits all.
func (g Grades) Window(thickest, thinnest Length) Window {
	return Window{Lo: thickest + g.SnugFrom, Hi: thinnest + g.SnugTo}
}

// Ends are the thickest and thinnest of a list of readings, which must not be empty.
func Ends(readings []Length) (thickest, thinnest Length) {
	thickest, thinnest = readings[0], readings[0]
	for _, r := range readings[1:] {
		thickest, thinnest = max(thickest, r), min(thinnest, r)
	}
	return thickest, thinnest
}
