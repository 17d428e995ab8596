package solver

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var (
	inchDecimals  = Style{InchUnit, Decimals}
	inchFractions = Style{InchUnit, Fractions}
	metric        = Style{MillimetreUnit, Decimals}
)

func TestSize(t *testing.T) {
	for _, c := range []struct {
		style Style
		l     Length
		want  string
	}{
		{inchFractions, Inches(23, 32), "23/32 in"},
		{inchFractions, Inches(9, 8), "1 1/8 in"},
		{inchFractions, -Inches(9, 8), "-1 1/8 in"},
		{inchFractions, -Inches(1, 512), "-1/512 in"},
		{inchFractions, 2 * Inch, "2 in"},
		{inchFractions, 0, "0 in"},
		{inchFractions, 703 * Mil, "0.703 in"}, // not a multiple of 1/512 in
		{inchDecimals, Inches(23, 32), "0.71875 in"},
		{inchDecimals, 10 * Mil, "0.010 in"},
		{inchDecimals, 750 * Mil, "0.750 in"},
		{inchDecimals, 8 * Inch, "8 in"},
		{inchDecimals, 254 * Picometre, "0.00000001 in"},
		{inchDecimals, -5 * Mil, "-0.005 in"},
		{inchDecimals, Inches(1, 512), "0.002 in"},         // 0.001953125 has 9 decimals: 4 are kept
		{inchDecimals, Inches(3, 512), "0.0059 in"},        // 0.005859375
		{inchDecimals, 18 * Millimetre, "0.7087 in"},       // 18/25.4 = 0.70866...
		{inchDecimals, -Inches(1, 100_000), "-0.00001 in"}, // 5 decimals are exact, not rounded away
		{inchDecimals, -Picometre, "0.000 in"},
		{inchDecimals, Inch - Picometre, "1.000 in"}, // a rounded inch is not written like a whole one
		{metric, 18 * Millimetre, "18 mm"},
		{metric, 200 * Millimetre, "200 mm"},
		{metric, Inches(23, 32), "18.25625 mm"}, // 23/32 x 25.4
		{metric, Inches(1, 64), "0.396875 mm"},
		{metric, Inches(1, 128), "0.198 mm"}, // 0.1984375 has 7 decimals: 3 are kept
		{metric, -Picometre, "0 mm"},
		{Style{MillimetreUnit, Fractions}, Inches(1, 2), "12.7 mm"},
	} {
		if got := c.style.Size(c.l); got != c.want {
			t.Errorf("%v.Size(%s mm) = %q, want %q", c.style, c.l.DecimalMM(), got, c.want)
		}
		if got := c.style.SizeBare(c.l) + " " + c.style.Unit.String(); got != c.want {
			t.Errorf("%v.SizeBare(%s mm) and unit = %q, want %q", c.style, c.l.DecimalMM(), got, c.want)
		}
	}
}

func TestFine(t *testing.T) {
	for _, c := range []struct {
		style Style
		l     Length
		want  string
	}{
		{inchDecimals, 708 * Mil, "0.708 in"},
		{inchFractions, Inches(3, 4), "0.750 in"},
		{inchDecimals, Inches(7085, 10_000), "0.7085 in"},
		{inchDecimals, -Inches(45, 10_000), "-0.0045 in"},
		{inchDecimals, Inches(7085, 10_000) - 1, "0.708 in"},
		{inchDecimals, Inches(70825, 100_000), "0.708 in"}, // a quarter thousandth earns no digit
		{inchDecimals, Inches(7085, 10_000) + 1, "0.709 in"},
		{inchDecimals, -Inches(7085, 10_000) - 1, "-0.709 in"},
		{inchDecimals, -4 * Mil, "-0.004 in"},
		{inchDecimals, -2 * Mil / 10, "0.000 in"},
		{inchDecimals, Inches(1, 2000), "0.0005 in"},
		{inchDecimals, 0, "0.000 in"},
		{inchDecimals, 8 * Inch, "8.000 in"},
		{metric, 17_980 * Micrometre, "17.98 mm"},
		{metric, 18 * Millimetre, "18.00 mm"},
		{metric, 17_985 * Micrometre, "17.99 mm"},
		{metric, -17_985 * Micrometre, "-17.99 mm"},
		{metric, 17_985*Micrometre - 1, "17.98 mm"},
		{metric, -4 * Micrometre, "0.00 mm"},
	} {
		if got := c.style.Fine(c.l); got != c.want {
			t.Errorf("%v.Fine(%s mm) = %q, want %q", c.style, c.l.DecimalMM(), got, c.want)
		}
		if got := c.style.FineBare(c.l) + " " + c.style.Unit.String(); got != c.want {
			t.Errorf("%v.FineBare(%s mm) and unit = %q, want %q", c.style, c.l.DecimalMM(), got, c.want)
		}
	}
}

// bench is wider than any option, and takes what play can be.
var bench = Range{-100 * Inch, 100 * Inch}

func TestSizeReadsBack(t *testing.T) {
	for name, c := range map[string]struct {
		style Style
		grain Length // everything on this grid has to be exact
	}{
		"decimals of an inch":  {inchDecimals, 254 * Picometre},
		"fractions of an inch": {inchFractions, Inch / 512},
		"fractions, else":      {inchFractions, 254 * Picometre},
		"millimetres":          {metric, 1000 * Picometre},
	} {
		t.Run(strings.ReplaceAll(name, " ", "-"), rapid.MakeCheck(func(t *rapid.T) {
			steps := rapid.Int64Range(int64(bench.Min/c.grain), int64(bench.Max/c.grain)).Draw(t, "steps")
			l := Length(steps) * c.grain
			bare := rapid.SampledFrom([]Unit{InchUnit, MillimetreUnit}).Draw(t, "bare")
			for text, unit := range map[string]Unit{c.style.Size(l): bare, c.style.SizeBare(l): c.style.Unit} {
				m, err := ParseMeasure(text, unit, bench)
				if err != nil || m.Length != l {
					t.Fatalf("%d pm was written %q and read as %d pm, %v", l, text, m.Length, err)
				}
			}
		}))
	}
}

// Rounded figures stay within half of their last digit, whatever the length.
func TestRoundedIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(int64(bench.Min), int64(bench.Max)).Draw(t, "pm"))
		for text, half := range map[string]Length{
			inchDecimals.Fine(l): Mil / 2, metric.Fine(l): 5 * Micrometre,
			inchDecimals.Size(l): Mil / 20, metric.Size(l): Micrometre / 2,
		} {
			m, err := ParseMeasure(text, InchUnit, bench)
			if err != nil || (m.Length-l).Abs() > half {
				t.Errorf("%d pm was written %q, %d pm, %v", l, text, m.Length, err)
			}
			if strings.HasPrefix(text, "-") && m.Length == 0 {
				t.Errorf("%d pm was written %q", l, text)
			}
		}
	})
}
