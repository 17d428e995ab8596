package solver

import (
	"math/big"
	"slices"
)

// MaxDivisions is the most shelves, dividers or runners that one span is divided
// by [shop].
const MaxDivisions = 40

// OpeningKind says how the openings of a case follow from each other.
type OpeningKind uint8

// The kinds of opening.
const (
	EvenOpenings    OpeningKind = iota
	GivenOpenings               // as listed in Given
	SteppedOpenings             // each larger than the one above by Step
	ScaledOpenings              // each larger than the one above by the factor Ratio
)

// OpeningRule is how a span is to be divided. Fixed shelves divide it in parts,
// each by the rule on its own.
type OpeningRule struct {
	Kind  OpeningKind
	Given []Length // from the floor up, one more than shelves; one may be zero, for the rest
	Step  Length
	Ratio Share
	Fixed []FixedShelf // from the bottom up
}

// FixedShelf is a shelf whose middle has a place of its own.
type FixedShelf struct {
	No  int    // from 1 at the bottom
	Mid Length // of the shelf's middle above the floor; 0: half-way up
}

// Division is a span, such as the inside height of a case, divided by shelves;
// or its inside width by dividers; or a height by the runners of drawers. All
// positions are exact, in picometres, and count from the floor up.
type Division struct {
	Span     Length
	Thick    []Length   // of each shelf
	Openings []*big.Rat // one more than shelves; they and Thick add up to Span
	Lower    []*big.Rat // the lower edge of each shelf, where its dado begins
	Fault    DivisionFault
	// Off is, for WrongSum, how much the given openings are too large, and for
	// NoRoom, how much is missing at least.
	Off Length
}

// DivisionFault says why a span cannot be divided as asked; it is empty where it can.
type DivisionFault string

// The faults. Where there is one, there are no openings.
const (
	NoRoom     DivisionFault = "no-room"     // shelves or steps leave an opening of nothing
	WrongCount DivisionFault = "wrong-count" // Given has not one opening more than shelves
	WrongSum   DivisionFault = "wrong-sum"   // Given and the shelves do not add up to the span
	TwoRests   DivisionFault = "two-rests"   // more than one opening of Given is zero
	BadRatio   DivisionFault = "bad-ratio"   // not a positive number
	BadFixed   DivisionFault = "bad-fixed"   // no such shelf, not from the bottom up, or Given has its place already
	TooMany    DivisionFault = "too-many"    // more than MaxDivisions, or one without thickness
)

// Divide divides a span by pieces of the given thicknesses, lowest first. Even
// openings are g = (H - sum of t)/(n + 1), so that the lower edge of shelf k of n
// alike is k g + (k - 1) t.
func Divide(span Length, thick []Length, rule OpeningRule) Division {
	d := Division{Span: span, Thick: slices.Clone(thick)}
	if len(thick) > MaxDivisions || slices.ContainsFunc(thick, func(t Length) bool { return t <= 0 }) {
		d.Fault = TooMany
		return d
	}
	if rule.Kind == ScaledOpenings && (rule.Ratio.Num <= 0 || rule.Ratio.Den <= 0) {
		d.Fault = BadRatio
		return d
	}
	height, from, placed := picometres(span), new(big.Rat), 0
	for _, f := range rule.Fixed {
		if f.No <= placed || f.No > len(thick) || rule.Kind == GivenOpenings || f.Mid < 0 {
			d.Fault, d.Openings = BadFixed, nil
			return d
		}
		middle := picometres(f.Mid)
		if f.Mid == 0 {
			middle.Quo(height, big.NewRat(2, 1))
		}
		lower := middle.Sub(middle, big.NewRat(int64(thick[f.No-1]), 2))
		d.fill(new(big.Rat).Sub(lower, from), thick[placed:f.No-1], rule)
		from, placed = lower.Add(lower, picometres(thick[f.No-1])), f.No
	}
	d.fill(new(big.Rat).Sub(height, from), thick[placed:], rule)
	if d.Fault != "" {
		d.Openings = nil
		return d
	}
	at := new(big.Rat)
	for i, t := range thick {
		at = new(big.Rat).Add(at, d.Openings[i])
		d.Lower = append(d.Lower, at)
		at = new(big.Rat).Add(at, picometres(t))
	}
	return d
}

// fill appends the openings of one part of the span.
func (d *Division) fill(span *big.Rat, thick []Length, rule OpeningRule) {
	free := new(big.Rat).Set(span)
	for _, t := range thick {
		free.Sub(free, picometres(t))
	}
	n := len(thick) + 1
	openings := make([]*big.Rat, n) // from the floor up
	switch rule.Kind {
	case GivenOpenings:
		openings = d.given(free, n, rule.Given)
	case SteppedOpenings:
		// top + (top + s) + (top + 2s) + ... = n top + s n(n-1)/2
		step, count := picometres(rule.Step), big.NewRat(int64(n), 1)
		top := new(big.Rat).Mul(step, big.NewRat(int64(n)*int64(n-1), 2))
		top.Sub(free, top).Quo(top, count)
		for i := range n {
			below := new(big.Rat).Mul(step, big.NewRat(int64(i), 1))
			openings[n-1-i] = below.Add(below, top)
		}
	default:
		ratio := big.NewRat(1, 1)
		if rule.Kind == ScaledOpenings {
			ratio.SetFrac64(rule.Ratio.Num, rule.Ratio.Den)
		}
		sum, power := new(big.Rat), big.NewRat(1, 1)
		for i := range n {
			openings[n-1-i] = power
			sum.Add(sum, power)
			power = new(big.Rat).Mul(power, ratio)
		}
		for i, o := range openings {
			openings[i] = new(big.Rat).Quo(new(big.Rat).Mul(free, o), sum)
		}
	}
	if d.Fault != "" {
		return
	}
	for _, o := range openings {
		if o.Sign() <= 0 {
			d.Fault = NoRoom
			d.Off = max(d.Off, roundRat(new(big.Rat).Neg(o), Picometre))
		}
	}
	d.Openings = append(d.Openings, openings...)
}

func (d *Division) given(free *big.Rat, n int, given []Length) []*big.Rat {
	if len(given) != n {
		d.Fault = WrongCount
		return nil
	}
	over := new(big.Rat).Neg(free) // what is given beyond what is free
	rest := -1
	openings := make([]*big.Rat, n)
	for i, g := range given {
		if g == 0 && rest >= 0 {
			d.Fault = TwoRests
			return nil
		}
		if g == 0 {
			rest = i
		}
		openings[i] = picometres(g)
		over.Add(over, openings[i])
	}
	switch {
	case rest >= 0:
		openings[rest] = over.Neg(over)
	case over.Sign() != 0:
		d.Fault, d.Off = WrongSum, roundRat(new(big.Rat).Set(over), Picometre)
	}
	return openings
}

func picometres(l Length) *big.Rat { return big.NewRat(int64(l), 1) }

// Edge is a place to mark.
type Edge struct {
	Exact *big.Rat // picometres
	At    Length   // rounded
	Error Length   // of rounding, At less Exact, to the nearest picometre
}

// The grains that a place may be rounded to on request; zero is the picometre.
const (
	SixtyFourth    = Inch / 64
	HalfMillimetre = Millimetre / 2
)

// Edges are the lower edges of the dadoes, measured from a reference end that
// lies so far below the floor, each rounded by itself to the nearest multiple of
// grain, so that no error adds to the next.
func (d Division) Edges(below, grain Length) []Edge {
	var out []Edge
	for _, lower := range d.Lower {
		out = append(out, edgeAt(new(big.Rat).Add(lower, picometres(below)), grain))
	}
	return out
}

func edgeAt(exact *big.Rat, grain Length) Edge {
	grain = max(grain, Picometre)
	steps := new(big.Rat).Quo(exact, picometres(grain))
	at := roundRat(steps, Picometre) * grain
	off := new(big.Rat).Sub(picometres(at), exact)
	return Edge{Exact: exact, At: at, Error: roundRat(off, Picometre)}
}
