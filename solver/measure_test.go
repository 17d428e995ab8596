package solver

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// Lengths here are written as num/den inches or as micrometres, worked out by
// hand: 1 in = 25.4 mm exactly [pub: NIST SP 811, app. B].
func TestParseMeasure(t *testing.T) {
	const in, mm = InchUnit, MillimetreUnit
	for _, c := range []struct {
		text  string
		bare  Unit
		want  Length
		unit  Unit
		wrote Notation
		back  string // "" where it is the text
	}{
		// As people type them: every example of the job, then the same on other keyboards.
		{"23/32", in, Inches(23, 32), in, Fractions, "23/32 in"},
		{"1-1/8", in, Inches(9, 8), in, Fractions, "1-1/8 in"},
		{`1 1/8"`, mm, Inches(9, 8), in, Fractions, ""},
		{"¾", in, Inches(3, 4), in, Fractions, "¾ in"},
		{".703", in, 703 * Mil, in, Decimals, ".703 in"},
		{"0,703", in, 703 * Mil, in, Decimals, "0,703 in"},
		{"17.9mm", in, 17_900 * Micrometre, mm, Decimals, ""},
		{"18 mm", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"1.8 cm", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"0.703”", mm, 703 * Mil, in, Decimals, ""},
		{"0.703“", mm, 703 * Mil, in, Decimals, ""},
		{"0.703″", mm, 703 * Mil, in, Decimals, ""},
		{"0.703''", mm, 703 * Mil, in, Decimals, ""},
		{"0.703’’", mm, 703 * Mil, in, Decimals, ""},
		{"0.703′′", mm, 703 * Mil, in, Decimals, ""},
		{`23/32 "`, mm, Inches(23, 32), in, Fractions, ""},
		{"23/32 in", mm, Inches(23, 32), in, Fractions, ""},
		{"23/32 in.", mm, Inches(23, 32), in, Fractions, ""},
		{"23/32 Inch", mm, Inches(23, 32), in, Fractions, ""},
		{"3/4-inch", mm, Inches(3, 4), in, Fractions, ""},
		{"2 INCHES", mm, 2 * Inch, in, Decimals, ""},
		{"18 millimetres", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"18 Millimeter", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"17 1/2 mm", in, 17_500 * Micrometre, mm, Fractions, ""},
		{"18㎜", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"17.9\u2009mm", in, 17_900 * Micrometre, mm, Decimals, ""},
		{"17.9\u00a0mm", in, 17_900 * Micrometre, mm, Decimals, ""},
		{"17.9\u202fmm", in, 17_900 * Micrometre, mm, Decimals, ""},
		{"1\u00a01/8", in, Inches(9, 8), in, Fractions, "1\u00a01/8 in"},
		{"１７．９ｍｍ", in, 17_900 * Micrometre, mm, Decimals, ""},
		{"２３／３２＂", mm, Inches(23, 32), in, Fractions, ""},
		{"٠٫٧٠٣", in, 703 * Mil, in, Decimals, "٠٫٧٠٣ in"},
		{"१८", mm, 18_000 * Micrometre, mm, Decimals, "१८ mm"},
		{"0·703", in, 703 * Mil, in, Decimals, "0·703 in"},
		{",703", in, 703 * Mil, in, Decimals, ",703 in"},
		{"1,125", in, Inches(9, 8), in, Decimals, "1,125 in"},
		{"1¾", in, Inches(7, 4), in, Fractions, "1¾ in"},
		{"1 ¾", in, Inches(7, 4), in, Fractions, "1 ¾ in"},
		{"1-¾", in, Inches(7, 4), in, Fractions, "1-¾ in"},
		{"⅞”", mm, Inches(7, 8), in, Fractions, ""},
		{"23⁄32", in, Inches(23, 32), in, Fractions, "23⁄32 in"},
		{"23∕32", in, Inches(23, 32), in, Fractions, "23∕32 in"},
		{"²³⁄₃₂", in, Inches(23, 32), in, Fractions, "²³⁄₃₂ in"},
		{"1²³⁄₃₂", in, Inches(55, 32), in, Fractions, "1²³⁄₃₂ in"},
		{"⅟₈", in, Inches(1, 8), in, Fractions, "⅟₈ in"},
		{"1‑1/8", in, Inches(9, 8), in, Fractions, "1‑1/8 in"},
		{"1–1/8", in, Inches(9, 8), in, Fractions, "1–1/8 in"},
		{"1−1/8", in, Inches(9, 8), in, Fractions, "1−1/8 in"},
		{"23 / 32", in, Inches(23, 32), in, Fractions, "23 / 32 in"},
		{"1 1 / 8", in, Inches(9, 8), in, Fractions, "1 1 / 8 in"},
		{" \u200e23/32\u200f ", in, Inches(23, 32), in, Fractions, "23/32 in"},
		{"1\u200b1/8", in, Inches(9, 8), in, Fractions, "1\u200b1/8 in"}, // not 11/8
		{"9/8", in, Inches(9, 8), in, Fractions, "9/8 in"},
		{"0 3/4", in, Inches(3, 4), in, Fractions, "0 3/4 in"},
		{"511/512", in, Inches(511, 512), in, Fractions, "511/512 in"},
		{"18.", mm, 18_000 * Micrometre, mm, Decimals, "18 mm"},
		{"18. mm.", in, 18_000 * Micrometre, mm, Decimals, ""},
		{"0.70312500000000", in, Inches(45, 64), in, Decimals, "0.70312500000000 in"},
		{"0.12345678", in, 12_345_678 * 254, in, Decimals, "0.12345678 in"},
		{"17.123456789mm", in, 17_123_456_789, mm, Decimals, ""},
		// The limits are good themselves.
		{"1/16", in, Inch / 16, in, Fractions, "1/16 in"},
		{"2 1/2", in, Inches(5, 2), in, Fractions, "2 1/2 in"},
		{"63.5", mm, Inches(5, 2), mm, Decimals, "63.5 mm"},
	} {
		want := Measure{c.want, c.unit, c.wrote, strings.TrimSuffix(c.back, " "+c.unit.String())}
		if c.back == "" {
			want.Text, c.back = c.text, c.text
		}
		got, err := ParseMeasure(c.text, c.bare, StockRange)
		if err != nil || got != want || got.String() != c.back {
			t.Errorf("ParseMeasure(%q, %s) = %+v (%s), %v; want %+v (%s)", c.text, c.bare, got, got, err, want, c.back)
		}
	}
}

func TestRefusedMeasure(t *testing.T) {
	const in, mm = InchUnit, MillimetreUnit
	const inches, metric = "23/32, 0.703 or 17.9mm", "17.9, 18.2 or 23/32in"
	for _, c := range []struct {
		text    string
		bare    Unit
		problem string // has to be in it
		hint    string
	}{
		{"0.703,0.705", in, "0.703,0.705 can be read in two ways", inches},
		{"0,703,0,705", in, "can be read in two ways", inches},
		{"23/32,45/64", in, "can be read in two ways", inches},
		{"1,125.5", in, "can be read in two ways", inches},
		// A bare number that makes no sense is asked about, either way round.
		{"18", in, "18 in is over the largest taken here, 2 1/2 in. Did you mean 18 mm? Write 18mm.", "18mm"},
		{"3", in, "Did you mean 3 mm?", "3mm"},
		{"17 1/2", in, "Did you mean 17 1/2 mm?", "17 1/2mm"},
		{".703", mm, ".703 mm is under the smallest taken here, 1.5875 mm. Did you mean .703 in? Write .703in.", ".703in"},
		{"23/32", mm, "23/32 has no unit, and millimetres are not written as fractions. Did you mean 23/32 in?", "23/32in"},
		{"1 3/4", mm, "Did you mean 1 3/4 in?", "1 3/4in"}, // 1.75 mm would be in range
		{"17 1/2", mm, "17 1/2 has no unit", "17.5mm"},
		// With a unit, or far off in both, there is nothing to ask.
		{"18 in", in, "18 in is over the largest taken here, 2 1/2 in.", inches},
		{"0.703 mm", mm, "0.703 mm is under the smallest taken here, 1.5875 mm.", metric},
		{"100", mm, "100 mm is over the largest taken here, 63.5 mm.", metric},
		{"0.001", in, "0.001 in is under the smallest taken here, 1/16 in.", inches},
		// 42.67, 91.43 and 76.8 of 128, and 1 + 42.67.
		{"1/3", in, "1/3 in is not on a rule, which has 1/2 to 1/512; the nearest 1/128 is 43/128.", "43/128in"},
		{"5/7", in, "the nearest 1/128 is 91/128.", "91/128in"},
		{"6/10", in, "the nearest 1/128 is 77/128.", "77/128in"},
		{"1 1/3", in, "the nearest 1/128 is 1 43/128.", "1 43/128in"},
		{"⅓", in, "⅓ in is not on a rule", "43/128in"},
		{`1/3"`, mm, `1/3" is not on a rule`, "43/128in"},
		{"1/1024", in, "1/1024 in is not on a rule, which has 1/2 to 1/512.", inches},
		{"2/1", in, "not on a rule", "2in"},
		{"999999999999/7", in, "not on a rule, which has 1/2 to 1/512.", inches},
		{"50/3 mm", in, "millimetres are written as decimals", inches},
		{"1 9/8", in, "1 9/8 has a fraction of 1 or more", inches},
		{"1 8/8", in, "fraction of 1 or more", inches},
		{"23/0", in, "23/0 is a fraction by zero.", inches},
		{"1 0/0", in, "by zero", inches},
		{"1e9", in, "1e9 has an exponent", inches},
		{"1e-1", in, "1e-1 has an exponent", inches},
		{"inf", in, "inf is not a measurement.", inches},
		{"∞", in, "∞ is not a measurement.", inches},
		{"NaN", mm, "NaN is not a measurement.", metric},
		{"0", in, "0 in is zero", inches},
		{"0 mm", in, "0 mm is zero", inches},
		{"0/8", in, "0/8 in is zero", inches},
		{"", in, "No measurement was given.", inches},
		{" \u2009\n", mm, "No measurement was given.", metric},
		{"-1/8", in, "-1/8 in is negative", inches},
		{"−1/8", in, "−1/8 in is negative", inches},
		{"-17.9", mm, "-17.9 mm is negative", metric},
		{"--1/8", in, "--1/8 is not a measurement.", inches},
		{"12'", in, "12' is in feet", inches},
		{"1′", in, "1′ is in feet", inches},
		{"1 ft", in, "1 ft is in feet", inches},
		{"18 m", mm, "18 m is in metres", metric},
		{"18 kg", mm, "In 18 kg, the word after the number is not a unit known here", metric},
		{"three", in, "three is not a measurement.", inches},
		{"mm", in, "mm is a unit without a number before it.", inches},
		{`"`, in, `" is a unit without a number`, inches},
		{"0.70-0.71", in, "has a dash that joins two numbers", inches},
		{"17.9mm18mm", in, "runs into the next reading", inches},
		{"0.7.03", in, "more than one decimal point", inches},
		{"0.5/8", in, "a decimal inside a fraction", inches},
		{"1.5¾", in, "a decimal inside a fraction", inches},
		{"¾½", in, "not a measurement", inches},
		{"¾2", in, "not a measurement", inches},
		{"5₃₂", in, "not a measurement", inches},
		{"3/4₃", in, "not a measurement", inches},
		{"18²", mm, "not a measurement", metric},
		{"²³⁄₃₂5", in, "not a measurement", inches},
		{"{3/4}", in, "not a measurement", inches},
		{"3/4\xff", in, "not a measurement", inches},
		{".", in, ". is not a measurement.", inches},
		{"1/2/4", in, "not a measurement", inches},
		{"0.703 0.705", in, "0.703 0.705 is 2 readings, and one is wanted here.", inches},
		{"0.1234567891", in, "more decimals than are kept exactly", inches},
		{"17.1234567891", mm, "more decimals than are kept exactly", metric},
		{"0.1234567891", mm, "0.1234567891 mm is under the smallest", metric}, // in inches it would be refused too
		{strings.Repeat("9", 10_000), in, strings.Repeat("9", 40) + "... is too long; a reading has at most 40 characters.", inches},
		{strings.Repeat("9/", 5_000), in, "is too long", inches},
	} {
		m, err := ParseMeasure(c.text, c.bare, StockRange)
		var bad *MeasureError
		if !errors.As(err, &bad) || m != (Measure{}) || !strings.Contains(bad.Problem, c.problem) || bad.Hint != c.hint || bad.Index != 0 {
			t.Errorf("ParseMeasure(%.60q, %s) = %v, %+v; want %q and %q", c.text, c.bare, m, err, c.problem, c.hint)
			continue
		}
		if len([]rune(bad.Error())) > 300 || strings.ContainsAny(bad.Problem, "\n\r!") {
			t.Errorf("the problem of %.60q is no calm line: %q", c.text, bad.Problem)
		}
	}
}

// Other options have other ranges: a play may be nothing, or less.
func TestRangeDecidesZeroAndSign(t *testing.T) {
	play := Range{-Inch / 4, Inch / 4}
	for text, want := range map[string]Length{"0": 0, "-0.004": -4 * Mil, "−1/8": -Inches(1, 8), "-0.1mm": -100 * Micrometre} {
		if m, err := ParseMeasure(text, InchUnit, play); err != nil || m.Length != want {
			t.Errorf("%q = %v, %v; want %d pm", text, m, err, want)
		}
	}
	if m, err := ParseMeasure("0", InchUnit, Range{0, Inch}); err != nil || m.Length != 0 {
		t.Errorf("0 = %v, %v, from a range that starts there", m, err)
	}
	if _, err := ParseMeasure("-1", InchUnit, Range{0, Inch}); err == nil || !strings.Contains(err.Error(), "negative") {
		t.Errorf("-1 = %v, from a range that starts at 0", err)
	}
}

// Whatever a range holds, the example it shows can be typed.
func TestExamplesCanBeTyped(t *testing.T) {
	for _, r := range []Range{StockRange, {Inch / 8, Inch / 2}, {Mil, Inch / 16}, {4 * Inch, 14 * Inch}, {20 * Inch, 21 * Inch}, {0, Inch / 8}} {
		for _, bare := range []Unit{InchUnit, MillimetreUnit} {
			if _, err := ParseReadings(typable(r.example(bare)), bare, r); err != nil {
				t.Errorf("%q for %v: %v", r.example(bare), r, err)
			}
		}
	}
}

// typable is a hint as a list.
func typable(hint string) string { return strings.ReplaceAll(hint, " or ", ", ") }

func TestMeasureWithoutText(t *testing.T) {
	if got := (Measure{Length: Inches(9, 8), Notation: Fractions}).String(); got != "1 1/8 in" {
		t.Errorf("got %q", got)
	}
}

// Every script writes its digits in tens, and digitValue leans on it.
func TestDigitsComeInTens(t *testing.T) {
	run := 0
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if unicode.Is(unicode.Nd, r) {
			run++
			continue
		}
		if run%10 != 0 {
			t.Errorf("%d digits end before %U", run, r)
		}
		run = 0
	}
	for text, want := range map[string]rune{"7": 7, "٧": 7, "७": 7, "７": 7, "𝟕": 7, "𝟟": 7, "𝟎": 0, "𝟿": 9} {
		if got := digitValue([]rune(text)[0]); got != want {
			t.Errorf("%s is %d", text, got)
		}
	}
}

// n in and n x 25.4 mm are one length [pub: NIST SP 811, app. B].
func TestUnitInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 90_000).Draw(t, "thousandths")
		inch := fmt.Sprintf("%d.%03d in", n/1000, n%1000)
		mm := fmt.Sprintf("%d.%04d mm", n*254/10_000, n*254%10_000)
		cm := fmt.Sprintf("%d,%05dcm", n*254/100_000, n*254%100_000)
		for _, text := range []string{inch, mm, cm} {
			m, err := ParseMeasure(text, InchUnit, bench)
			if err != nil || m.Length != Length(n*25_400_000) {
				t.Errorf("%q = %d pm, %v", text, m.Length, err)
			}
		}
	})
}

// A proper fraction is no millimetre reading: nobody is asked whether 1/8 mm was meant.
func TestNoDoubtOfAFraction(t *testing.T) {
	thin := Range{Min: Mil, Max: Inch / 16}
	_, err := ParseMeasure("1/8", InchUnit, thin) // 0.125 mm would be in range
	if err == nil || !strings.Contains(err.Error(), "over the largest") || strings.Contains(err.Error(), "mm") {
		t.Errorf("1/8: %v", err)
	}
	if _, err = ParseMeasure("0.5", InchUnit, thin); err == nil || !strings.Contains(err.Error(), "Write 0.5mm.") {
		t.Errorf("0.5: %v", err)
	}
}
