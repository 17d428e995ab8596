package solver

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"
)

const (
	// ruleGrain is the finest division that a fraction names, 1/512 in.
	ruleGrain = Inch / 512
	// One unit of the last decimal that Size still prints exactly.
	inchGrain = Inch / 100_000_000
	mmGrain   = Millimetre / 1_000_000
)

// Size writes the size of a part or of stock with its unit: "23/32 in",
// "0.010 in", "18 mm". Inches that are not whole show at least thousandths, as
// shims are spoken of. In Fractions an exact multiple of 1/512 in is a reduced,
// mixed fraction, anything else a decimal. Up to 8 decimals in inches and 6 in
// millimetres are exact; a length that needs more is rounded to 4 and 3, halves
// away from zero.
func (s Style) Size(l Length) string { return s.SizeBare(l) + " " + s.Unit.String() }

// SizeBare is Size without the unit.
func (s Style) SizeBare(l Length) string {
	switch {
	case s.Unit == MillimetreUnit && l%mmGrain == 0:
		return decimal.New(int64(l/mmGrain), -6).String()
	case s.Unit == MillimetreUnit:
		return decimal.New(inSteps(l, Micrometre), -3).String()
	case s.Notation == Fractions && l%ruleGrain == 0:
		return mixedFraction(int64(l / ruleGrain))
	case l%Inch == 0:
		return strconv.FormatInt(int64(l/Inch), 10)
	case l%inchGrain == 0:
		return thousandths(decimal.New(int64(l/inchGrain), -8))
	}
	return thousandths(decimal.New(inSteps(l, Mil/10), -4))
}

// Fine writes a width or a play with its unit, rounded with halves away from
// zero: inches to 0.001, with a fourth digit only where it is exactly half a
// thousandth ("0.708 in", "0.7085 in"), millimetres to 0.01 ("17.98 mm").
func (s Style) Fine(l Length) string { return s.FineBare(l) + " " + s.Unit.String() }

// FineBare is Fine without the unit.
func (s Style) FineBare(l Length) string {
	switch {
	case s.Unit == MillimetreUnit:
		return decimal.New(inSteps(l, Millimetre/100), -2).StringFixed(2)
	case l%Mil != 0 && l%(Mil/2) == 0:
		return decimal.New(int64(l/(Mil/10)), -4).StringFixed(4)
	}
	return decimal.New(inSteps(l, Mil), -3).StringFixed(3)
}

// inSteps is l in steps of grain, rounded, halves away from zero.
func inSteps(l, grain Length) int64 {
	n, rest := l/grain, (l % grain).Abs()
	switch {
	case rest < grain-rest:
	case l < 0:
		n--
	default:
		n++
	}
	return int64(n)
}

// thousandths is the shortest form of d that has at least three decimals.
func thousandths(d decimal.Decimal) string {
	short := d.String()
	if _, places, _ := strings.Cut(short, "."); len(places) >= 3 {
		return short
	}
	return d.StringFixed(3)
}

// mixedFraction writes n/512 as a reduced mixed fraction: 576 is "1 1/8".
func mixedFraction(n int64) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	whole, num, den := n/512, n%512, int64(512)
	for num > 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	fraction := strconv.FormatInt(num, 10) + "/" + strconv.FormatInt(den, 10)
	switch {
	case num == 0:
		return sign + strconv.FormatInt(whole, 10)
	case whole == 0:
		return sign + fraction
	}
	return sign + strconv.FormatInt(whole, 10) + " " + fraction
}
