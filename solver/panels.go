package solver

import "slices"

// PanelLimit is what a standard allows a panel, or a board, sold under one label
// to measure.
type PanelLimit struct {
	Standard string
	Label    string // as it is sold: "23/32", "18 mm"
	Unit     Unit   // that the label is in
	Nominal  Length // what the label says
	Min, Max Length
	// Recommended is the thickness that the maker is advised to print; 0 for none.
	Recommended Length
	Mark        Mark // of the weakest figure of the line
}

// The standards that PanelLimits knows.
const (
	PS1Category   = "PS 1-19, performance category"
	PS1Sanded     = "PS 1, sanded"
	HP1           = "HP-1 hardwood plywood"
	A208MDF       = "ANSI A208.2 MDF"
	EN315         = "EN 315 plywood, sanded"
	HardwoodS2S   = "NHLA, hardwood surfaced two sides"
	SoftwoodDress = "PS 20, softwood dressed"
)

// PS 1-19, unsanded, touch-sanded and overlaid panels: label, limits and
// recommended label in thousandths of an inch, read in a trade association's
// summary of the standard [sec].
var ps1Categories = []struct {
	label                 string
	nominal               Length
	min, max, recommended Length
}{
	{"1/4", Inch / 4, 219, 281, 225},
	{"11/32", 11 * Inch / 32, 313, 375, 322},
	{"3/8", 3 * Inch / 8, 344, 406, 354},
	{"7/16", 7 * Inch / 16, 406, 469, 418},
	{"15/32", 15 * Inch / 32, 438, 500, 451},
	{"1/2", Inch / 2, 469, 531, 483},
	{"19/32", 19 * Inch / 32, 563, 625, 578},
	{"5/8", 5 * Inch / 8, 594, 656, 609},
	{"23/32", 23 * Inch / 32, 688, 750, 703},
	{"3/4", 3 * Inch / 4, 719, 781, 734},
	{"13/16", 13 * Inch / 16, 781, 844, 788},
	{"7/8", 7 * Inch / 8, 831, 919, 849},
	{"1", Inch, 950, 1050, 970},
	{"1-1/8", 9 * Inch / 8, 1069, 1181, 1091},
	{"1-1/4", 5 * Inch / 4, 1188, 1313, 1213},
}

// en315Labels are the thicknesses in tenths of a millimetre that EN 315 panels
// are sold in: up to 24 mm as in mill tables [sec], the thicker ones [mem].
var en315Labels = []struct {
	label  string
	tenths Length
}{
	{"4 mm", 40},
	{"6.5 mm", 65},
	{"9 mm", 90},
	{"12 mm", 120},
	{"15 mm", 150},
	{"18 mm", 180},
	{"21 mm", 210},
	{"24 mm", 240},
	{"27 mm", 270},
	{"30 mm", 300},
	{"35 mm", 350},
	{"40 mm", 400},
}

// PanelLimits lists all limits known, by standard and rising nominal thickness.
func PanelLimits() []PanelLimit {
	var out []PanelLimit
	for _, c := range ps1Categories {
		out = append(out, PanelLimit{
			Standard: PS1Category, Label: c.label, Nominal: c.nominal,
			Min: c.min * Mil, Max: c.max * Mil, Recommended: c.recommended * Mil, Mark: SecondHand,
		})
	}
	// PS 1 sanded panels up to 3/4 in: nominal +- 1/64 in [sec].
	// HP-1, from 1/4 in: +0 [mem], -3/64 in [sec].
	// A208.2: the panel's average, and again the variation within it, +- 0.005 in,
	// so that one point may be 0.010 in off [sec].
	for _, p := range []PanelLimit{
		{Standard: PS1Sanded, Label: "23/32", Nominal: 23 * Inch / 32, Min: -Inch / 64, Max: Inch / 64, Mark: SecondHand},
		{Standard: PS1Sanded, Label: "3/4", Nominal: 3 * Inch / 4, Min: -Inch / 64, Max: Inch / 64, Mark: SecondHand},
		{Standard: HP1, Label: "1/4", Nominal: Inch / 4, Min: -3 * Inch / 64, Mark: Memory},
		{Standard: HP1, Label: "3/4", Nominal: 3 * Inch / 4, Min: -3 * Inch / 64, Mark: Memory},
		{Standard: A208MDF, Label: "3/4", Nominal: 3 * Inch / 4, Min: -10 * Mil, Max: 10 * Mil, Mark: SecondHand},
	} {
		p.Min, p.Max = p.Nominal+p.Min, p.Nominal+p.Max
		out = append(out, p)
	}
	for _, e := range en315Labels {
		p := EN315Limit(e.tenths * Millimetre / 10)
		p.Label = e.label
		if e.tenths > 240 {
			p.Mark = Memory
		}
		out = append(out, p)
	}
	// Boards are dressed to one thickness; no tolerance is known to us [sec].
	return append(out,
		PanelLimit{Standard: HardwoodS2S, Label: "4/4", Nominal: Inch, Min: 13 * Inch / 16, Max: 13 * Inch / 16, Mark: SecondHand},
		PanelLimit{Standard: SoftwoodDress, Label: "1x", Nominal: Inch, Min: 3 * Inch / 4, Max: 3 * Inch / 4, Mark: SecondHand},
	)
}

// EN315Limit is what EN 315 allows a sanded panel of nominal thickness t to
// measure: t - (0.4 + 0.03 t) to t + (0.2 + 0.03 t), in millimetres [sec: read in
// the text of GB/T 9846; it agrees with two mills' tables for EN 315].
func EN315Limit(t Length) PanelLimit {
	tenth := Millimetre / 10
	return PanelLimit{
		Standard: EN315, Label: Style{Unit: MillimetreUnit}.Size(t), Unit: MillimetreUnit, Nominal: t,
		Min: t - 4*tenth - 3*t/100, Max: t + 2*tenth + 3*t/100, Mark: SecondHand,
	}
}

// PanelLabels lists the limits of the labels that a thickness typed in the unit
// equals: with 3/4 in, or 18 mm, a label may have been typed and not a reading.
func PanelLabels(thickness Length, unit Unit) []PanelLimit {
	return slices.DeleteFunc(PanelLimits(), func(p PanelLimit) bool {
		return p.Nominal != thickness || p.Unit != unit
	})
}

// labelReach is how near to a label's figure a groove is that was cut for it: the
// width of the snug range [shop].
const labelReach = 8 * Mil

// LikelyLabel names the label that was probably trusted when a groove is too wide
// for its stock: the one whose figure is nearest to the groove's width and within
// labelReach of it; labels in the unit that the stock was read in go before others.
// The limit is that of the first standard with the label. The second result is
// false where the stock is not loose, or no label is near.
func LikelyLabel(stock, groove Length, unit Unit) (PanelLimit, bool) {
	if groove-stock <= DefaultGrades().SnugTo {
		return PanelLimit{}, false
	}
	near := slices.DeleteFunc(PanelLimits(), func(p PanelLimit) bool { return (groove - p.Nominal).Abs() > labelReach })
	if len(near) == 0 {
		return PanelLimit{}, false
	}
	return slices.MinFunc(near, func(a, b PanelLimit) int {
		if a.Unit != b.Unit {
			if a.Unit == unit {
				return -1
			}
			return 1
		}
		return sign((groove - a.Nominal).Abs() - (groove - b.Nominal).Abs())
	}), true
}
