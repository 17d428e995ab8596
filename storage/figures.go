package storage

import (
	"math"
	"slices"

	"shimwright/solver"
)

// Figures are what a report says of a member, a week or a class: sums over
// setups, each counted on the day it was made and for the member who made it.
// Gauge boards are not in it.
type Figures struct {
	Setups int64
	Tried  int64 // setups with a test cut
	Cuts   int64 // test cuts, voided ones aside
	Snug   int64 // setups with a snug cut
	ToSnug int64 // test cuts to the first snug one, over those
	First  int64 // setups whose first cut was snug
	// Play of the last measured cut of a setup: how many, their sum, and the sum of
	// their squares, in units of PlayUnit.
	Plays, PlaySum, PlaySquares int64
	Remedies                    Remedies
}

// PlayUnit is the unit of a play in figures, 100 nm in picometres.
const PlayUnit = 100_000

// Remedies count what was changed after a test cut that was not snug, as the next
// cut shows.
type Remedies struct{ Thicker, Thinner, Chipper, Stop, Same int64 }

// FiguresOf counts one setup; false for a gauge board. The view figures_now of
// migration 0003, which counted the setups that were there then, gives the same.
func FiguresOf(s Setup) (Figures, bool) {
	if s.Joint == Gauge {
		return Figures{}, false
	}
	f := Figures{Setups: 1}
	var last *Cut
	for i := range s.Cuts {
		c := &s.Cuts[i]
		if c.Voided {
			continue
		}
		f.Tried = 1
		f.Cuts++
		if c.Grade == solver.Snug && f.Snug == 0 {
			f.Snug, f.ToSnug = 1, f.Cuts
			if f.Cuts == 1 {
				f.First = 1
			}
		}
		if last != nil && last.Grade != solver.Snug {
			f.Remedies.add(s.Stacks[last.Revision], s.Stacks[c.Revision])
		}
		last = c
		if c.Floor.Length > 0 && s.Joint != Rabbet { // a rabbet has no play
			f.Plays = 1
			f.PlaySum = int64(math.Round(float64(c.Floor.Length-s.TestPiece(*c).Mean) / PlayUnit))
			f.PlaySquares = f.PlaySum * f.PlaySum
		}
	}
	return f, true
}

// add counts what led from one stack to the next.
func (r *Remedies) add(from, to PlannedStack) {
	shims := shimSum(to.Stack) - shimSum(from.Stack)
	switch {
	case from.Passes != to.Passes || from.Move != to.Move:
		r.Stop++
	case !slices.Equal(chipperSizes(from.Stack), chipperSizes(to.Stack)):
		r.Chipper++
	case shims > 0:
		r.Thicker++
	case shims < 0:
		r.Thinner++
	default:
		r.Same++
	}
}

func chipperSizes(s solver.Stack) (sizes []solver.Length) {
	for _, c := range s.Chippers {
		sizes = append(sizes, c.Size)
	}
	slices.Sort(sizes)
	return sizes
}

func shimSum(s solver.Stack) (sum solver.Length) {
	for _, gap := range s.Gaps {
		for _, shim := range gap {
			sum += shim.Size
		}
	}
	return sum
}

// Add is the sum of two figures.
func (f Figures) Add(o Figures) Figures {
	f.Setups += o.Setups
	f.Tried += o.Tried
	f.Cuts += o.Cuts
	f.Snug += o.Snug
	f.ToSnug += o.ToSnug
	f.First += o.First
	f.Plays += o.Plays
	f.PlaySum += o.PlaySum
	f.PlaySquares += o.PlaySquares
	r, p := &f.Remedies, o.Remedies
	r.Thicker += p.Thicker
	r.Thinner += p.Thinner
	r.Chipper += p.Chipper
	r.Stop += p.Stop
	r.Same += p.Same
	return f
}

// CutsToSnug is the mean number of test cuts to the first snug one, over the
// setups that had one; false where none had.
func (f Figures) CutsToSnug() (float64, bool) {
	return float64(f.ToSnug) / float64(f.Snug), f.Snug > 0
}

// FirstRate is the share of the setups cut whose first cut was snug.
func (f Figures) FirstRate() (float64, bool) { return float64(f.First) / float64(f.Tried), f.Tried > 0 }

// PlaySpread is the standard deviation of the plays, in picometres, with n-1 for
// the number; false for fewer than two.
func (f Figures) PlaySpread() (float64, bool) {
	if f.Plays < 2 {
		return 0, false
	}
	n, sum := float64(f.Plays), float64(f.PlaySum)
	variance := (float64(f.PlaySquares) - sum*sum/n) / (n - 1)
	return math.Sqrt(max(variance, 0)) * PlayUnit, true
}

// MemberWeek is the figures of a member in a week.
type MemberWeek struct {
	MemberID int64
	Week     Day // its Monday
	Figures
}
