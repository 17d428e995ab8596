package solver

import "math"

// Evidence is one entry of a shop's log as far as learning is concerned: a test
// cut, or, where Upkeep.Kind is set, something done to a set or a saw between
// cuts. Keys are the shop's own names for its sets and saws and never change.
type Evidence struct {
	// CutID orders the log: it rises from entry to entry, so that no cut counts
	// twice. 0 is for evidence that stands in no log.
	CutID  int64  `json:"cut_id,omitempty"`
	SetKey string `json:"set"`
	SawKey string `json:"saw"`
	Set    Set    `json:"parts"` // as it was on that day: its parts and what of them was measured
	Stack  Stack  `json:"stack"` // what was really on the saw

	// Moves of the stop between the passes of the groove, whose sum is taken off the
	// outcome already: each may be off by MoveSD.
	Moves int `json:"moves,omitempty"`

	// The outcome: a groove measured, else slips of paper, else a feel.
	Groove Length `json:"groove,omitempty"`
	Slips  Slips  `json:"slips,omitzero"`
	Feel   Grade  `json:"feel,omitempty"`

	Stock  TestPiece `json:"stock"`  // what was pushed into the cut, for feel and slips
	Grades Grades    `json:"grades"` // the shop's limits at the time

	Upkeep Upkeep `json:"upkeep,omitzero"`
}

// Slips are slips of paper of one thickness, of which Count went in beside the
// stock and one more did not: the play lies between Count and Count+1 of them.
// A zero Thickness means that nothing was tried with paper.
type Slips struct {
	Count     int    `json:"count"`
	Thickness Length `json:"thickness"`
}

// PaperSlip is printer paper, about 0.004 in; a shop should check its own [cp].
const PaperSlip = 4 * Mil

// CaliperSD is the standard deviation of one reading of a caliper [shop].
const CaliperSD = Mil

// TestPiece is the thickness of the piece that was tried in the cut and how well
// it is known, as a standard deviation.
type TestPiece struct {
	Mean Length `json:"mean"`
	SD   Length `json:"sd"`
}

// MeasuredPiece is a test piece whose own thickness was given.
func MeasuredPiece(thickness Length) TestPiece { return TestPiece{Mean: thickness, SD: CaliperSD} }

// PieceLike is a test piece of which only the readings of the stock are known,
// of which there must be at least one: anywhere in their range (a uniform
// distribution, variance range²/12), each read with a caliper.
func PieceLike(readings []Length) TestPiece {
	thickest, thinnest := Ends(readings)
	spread := float64(thickest - thinnest)
	return TestPiece{
		Mean: Window{Lo: thinnest, Hi: thickest}.Mid(),
		SD:   Length(math.Round(math.Sqrt(float64(CaliperSD*CaliperSD) + spread*spread/12))),
	}
}

// HandSD is how fuzzy the edges of a grade are by hand, in inches [shop]: two
// people, or one on two days, draw the line between snug and tight this far apart.
const HandSD = 0.0005

// WrongChance is how often an outcome is simply wrong [shop]: the wrong button,
// the wrong dado, another piece of stock.
const WrongChance = 0.02

// ChangedChance is how often, when two odd outcomes agree, the set is no longer
// the one that was learned [shop]: another pair, a grinding nobody told of.
const ChangedChance = 0.01

// A wrong outcome may be anything: any of the five grades alike, or a groove
// anywhere within an inch [shop]. The figures are a probability and a density an inch.
const (
	wrongFeel   = 1.0 / 5
	wrongGroove = 1.0
)

// likelihood is what the outcome says of the width that was cut, in inches:
// width ~ N(mean, variance), the scatter of the cut and the shims included.
func (e Evidence) likelihood(mean, variance float64) between {
	variance += float64(e.Moves) * MoveSD * MoveSD
	caliper := CaliperSD.Inches()
	if e.Groove > 0 {
		return reading(mean, math.Sqrt(variance+caliper*caliper), e.Groove.Inches())
	}
	lo, hi := e.interval()
	stock := e.Stock.SD.Inches()
	return probit(mean-e.Stock.Mean.Inches(), math.Sqrt(variance+stock*stock+HandSD*HandSD), lo, hi)
}

// wrong is the likelihood of the outcome if it is simply wrong.
func (e Evidence) wrong() float64 {
	if e.Groove > 0 {
		return wrongGroove
	}
	return wrongFeel
}

// interval is where the play lay by feel or by slips of paper, in inches.
func (e Evidence) interval() (lo, hi float64) {
	lo, hi = e.Grades.interval(e.Feel)
	if e.Slips.Thickness <= 0 {
		return lo, hi
	}
	t := e.Slips.Thickness.Inches()
	from, to := float64(e.Slips.Count)*t, float64(e.Slips.Count+1)*t
	if e.Slips.Count == 0 { // nothing went in: as tight as you like
		from = math.Inf(-1)
	}
	if from < hi && lo < to { // the feel, where given and not at odds, narrows it
		from, to = max(from, lo), min(to, hi)
	}
	return from, to
}

// told says whether the entry holds any outcome.
func (e Evidence) told() bool {
	lo, hi := e.interval()
	return e.Groove > 0 || !math.IsInf(lo, -1) || !math.IsInf(hi, 1)
}

// interval is the range of play of a grade, in inches, with infinite ends; the
// whole line for no grade.
func (g Grades) interval(grade Grade) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	switch grade {
	case WontEnter:
		hi = g.Enter.Inches()
	case Tight:
		lo, hi = g.Enter.Inches(), g.SnugFrom.Inches()
	case Snug:
		lo, hi = g.SnugFrom.Inches(), g.SnugTo.Inches()
	case Loose:
		lo, hi = g.SnugTo.Inches(), g.LooseTo.Inches()
	case Sloppy:
		lo = g.LooseTo.Inches()
	}
	return lo, hi
}
