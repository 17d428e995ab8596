package solver

// Sawn is how a board was cut from the log.
type Sawn uint8

// Flatsawn boards are widest along the growth rings, quartersawn across them.
const (
	Flatsawn Sawn = iota
	Quartersawn
)

// The moisture, in percent, between which eq. 13-2 holds [pub: Wood Handbook
// FPL-GTR-190, p. 13-15], and the most that wood holds before it stops moving
// [mem: fiber saturation, about 30].
const (
	DriestValid     = 6.0
	WettestValid    = 14.0
	FiberSaturation = 30.0
)

// Movement is how a board or panel changes between two moistures. The dado in
// its side does not: its width runs along the grain.
type Movement struct {
	From, To         float64 // moisture, percent
	Thickness, Width Length  // changes; positive is growth
	// Valid says that both moistures lie in the range for which eq. 13-2 is given;
	// outside it the changes are rough.
	Valid bool
	Mark  Mark // of the weakest figure used
}

// Move is the movement of a solid board: change = D C (M_to - M_from), eq. 13-2 of
// the Wood Handbook. C is tangential across the width of flatsawn stock and the
// thickness of quartersawn stock, radial the other way. The second result is false
// where a moisture is not between zero and FiberSaturation: no answer then.
func Move(s Species, sawn Sawn, thickness, width Length, from, to float64) (Movement, bool) {
	across, through := s.Tangential, s.Radial
	if sawn == Quartersawn {
		across, through = through, across
	}
	m := Movement{From: from, To: to, Valid: validMoisture(from) && validMoisture(to), Mark: s.CoefficientMark}
	if !(from >= 0 && from <= FiberSaturation && to >= 0 && to <= FiberSaturation) { // NaN too
		return Movement{}, false
	}
	m.Thickness, m.Width = scaled(thickness, through*(to-from)), scaled(width, across*(to-from))
	return m, true
}

func validMoisture(m float64) bool { return m >= DriestValid && m <= WettestValid }

func scaled(l Length, by float64) Length { return InchesFloat(l.Inches() * by) }

// PlywoodPerRH is how much plywood grows in length and width, as a share of it,
// for one percent of relative humidity: 0.0002 for each ten [sec, trade association].
const PlywoodPerRH = 0.0002 / 10

// MovePlywood is the movement of a plywood panel whose plies are of the species:
// in length and width by PlywoodPerRH, in thickness about like solid wood,
// radially [mem]. The second result is as in EquilibriumMoisture.
func MovePlywood(s Species, thickness, width Length, from, to Air) (Movement, bool) {
	dry, ok := EquilibriumMoisture(from)
	if !ok {
		return Movement{}, false
	}
	wet, ok := EquilibriumMoisture(to)
	if !ok {
		return Movement{}, false
	}
	return Movement{
		From: dry, To: wet, Valid: validMoisture(dry) && validMoisture(wet), Mark: Memory,
		Thickness: scaled(thickness, s.Radial*(wet-dry)),
		Width:     scaled(width, PlywoodPerRH*(to.RH-from.RH)),
	}, true
}

// RadialRange is the least and the greatest radial coefficient known, for
// plywood whose plies are of no known species.
func RadialRange() (least, greatest float64) {
	least = species[0].radial
	for _, s := range species {
		least, greatest = min(least, s.radial), max(greatest, s.radial)
	}
	return least, greatest
}

// SeasonFit is what a movement does to a fit.
type SeasonFit struct {
	PlayNow, PlayLater   Length
	GradeNow, GradeLater Grade
	// FitForLater says that the piece is thicker later: that is the season in which
	// it has to go in, or be let alone, without force.
	FitForLater bool
}

// FitThrough is what becomes of a play when the stock's thickness changes.
func FitThrough(play, change Length, g Grades) SeasonFit {
	return SeasonFit{
		PlayNow: play, PlayLater: play - change,
		GradeNow: g.Of(play), GradeLater: g.Of(play - change),
		FitForLater: change > 0,
	}
}

// SeasonWindow is the range of widths that are snug now and later on every piece
// between thinnest and thickest, as read now. thick and thin are the changes of
// the two. It is empty where no width is snug in both seasons.
func SeasonWindow(thickest, thinnest, thick, thin Length, g Grades) Window {
	return g.Window(max(thickest, thickest+thick), min(thinnest, thinnest+thin))
}
