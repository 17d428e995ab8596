package solver

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseReadings(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string // as they print back
	}{
		{"23/32", []string{"23/32 in"}},
		{"1 1/8", []string{"1 1/8 in"}},
		{"0.703 45/64", []string{"0.703 in", "45/64 in"}},
		{"0.703 45/64; 17.9mm", []string{"0.703 in", "45/64 in", "17.9mm"}},
		{"0.703\n45/64\n17.9mm\n", []string{"0.703 in", "45/64 in", "17.9mm"}},
		{"0.703\r\n45/64\r\n\r\n17.9 mm", []string{"0.703 in", "45/64 in", "17.9 mm"}},
		{"0.703, 0.705", []string{"0.703 in", "0.705 in"}},
		{"0,703, 0,705", []string{"0,703 in", "0,705 in"}},
		{"0,703 0,705", []string{"0,703 in", "0,705 in"}},
		{"0.703 , 0.705,", []string{"0.703 in", "0.705 in"}},
		{"17.9mm,18mm", []string{"17.9mm", "18mm"}},
		{`3/4",23/32"`, []string{`3/4"`, `23/32"`}},
		{"¾,⅝", []string{"¾ in", "⅝ in"}},
		{"1 1/8 1 1/4", []string{"1 1/8 in", "1 1/4 in"}},
		{"1 1 1/8", []string{"1 in", "1 1/8 in"}},
		{"1 1/8 23/32", []string{"1 1/8 in", "23/32 in"}},
		{"1; 1/8", []string{"1 in", "1/8 in"}},
		{"1\n1/8", []string{"1 in", "1/8 in"}},
		{"1, 1/8", []string{"1 in", "1/8 in"}},
		{"18mm 1/2", []string{"18mm", "1/2 in"}},
		{"18 mm 18.2 mm 1 ½", []string{"18 mm", "18.2 mm", "1 ½ in"}},
		// The unit is the last number's own.
		{"0.703 0.705 18 mm", []string{"0.703 in", "0.705 in", "18 mm"}},
		{"０.７０３；　４５／６４、１", []string{"０.７０３ in", "４５／６４ in", "１ in"}},
		{"0.703 0.705.", []string{"0.703 in", "0.705 in"}},
		{strings.Repeat("23/32 ", 64), slices.Repeat([]string{"23/32 in"}, 64)},
	} {
		ms, err := ParseReadings(c.text, InchUnit, StockRange)
		var got []string
		for _, m := range ms {
			got = append(got, m.String())
		}
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("ParseReadings(%q) = %q, %v; want %q", c.text, got, err, c.want)
		}
	}
}

func TestRefusedReadings(t *testing.T) {
	for _, c := range []struct {
		text, bad string
		index     int
		problem   string
	}{
		{"0.703 abc 0.705", "0.703 abc", 1, "Reading 1: In 0.703 abc, the word"},
		{"0.703; abc; 0.705", "abc", 2, "Reading 2: abc is not a measurement."},
		{"0.703, 1/3, 18", "1/3", 2, "Reading 2: 1/3 in is not on a rule, which has 1/2 to 1/512; the nearest 1/128 is 43/128."},
		{"23/32 45/64 18", "18", 3, "Reading 3: 18 in is over the largest taken here, 2 1/2 in. Did you mean 18 mm? Write 18mm."},
		{"0.703 1 9/8", "1 9/8", 2, "Reading 2: 1 9/8 has a fraction of 1 or more"},
		{"0.703 ,705", ",705", 2, "can be read in two ways"},
		{"0.703 0.705,0.707", "0.705,0.707", 2, "can be read in two ways"},
		{"0.703 0", "0", 2, "0 in is zero"},
		{"0.703 -0.705", "-0.705", 2, "negative"},
		{"0.703 mm 0.705", "0.703 mm", 1, "0.703 mm is under the smallest taken here, 1.5875 mm."},
		{"mm 0.703", "mm", 1, "a unit without a number"},
		{"18 mm mm", "mm", 2, "a unit without a number"},
		{"1. 23/32\n2. 45/64", "1.", 1, "ends in a point with another reading after it"},
		{"0.703 - 0.705", "-", 2, "- is not a measurement."},
		{"abc", "abc", 0, "abc is not a measurement."}, // alone it has no place
		{"", "", 0, "No measurement was given."},
		{" ;\n, ", "; ,", 0, "No measurement was given."},
		{strings.Repeat("23/32 ", 65), "23/32", 65, "a list of 65 readings; at most 64 are taken"},
		{strings.Repeat("0.703 ", 2000), strings.Repeat("0.703 ", 6) + "0.70...", 0, "That list is 12000 characters long; at most 2000 are read."},
		{"0.703 " + strings.Repeat("8", 1900), strings.Repeat("8", 40) + "...", 2, "is too long; a reading has at most 40 characters"},
	} {
		ms, err := ParseReadings(c.text, InchUnit, StockRange)
		var bad *MeasureError
		if !errors.As(err, &bad) || ms != nil || bad.Text != c.bad || bad.Index != c.index || !strings.Contains(bad.Problem, c.problem) {
			t.Errorf("ParseReadings(%.60q) = %v, %#v; want %q at %d: %q", c.text, ms, err, c.bad, c.index, c.problem)
		}
	}
}

// A list is its readings, in their order, whatever stands between them.
func TestListIsItsReadings(t *testing.T) {
	type reading struct {
		text string
		l    Length
	}
	one := rapid.Custom(func(t *rapid.T) reading {
		n := rapid.Int64Range(63, 2500).Draw(t, "n")
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			return reading{fmt.Sprintf("%d,%03d", n/1000, n%1000), Length(n) * Mil}
		case 1:
			return reading{fmt.Sprintf("%d.%d\u2009mm", n/100+2, n%100), Length(n/100+2)*Millimetre + Length(n%100)*Millimetre/pow10(n%100)}
		case 2:
			return reading{fmt.Sprintf("1-%d/64", n%64), Inch + Inches(n%64, 64)}
		}
		return reading{fmt.Sprintf("1 %d/64”", n%64), Inch + Inches(n%64, 64)}
	})
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(one, 1, 20).Draw(t, "list")
		var b strings.Builder
		for _, r := range list {
			b.WriteString(r.text + rapid.SampledFrom([]string{" ", "; ", ";", "\n", "\r\n", ", ", " , ", "\u3000"}).Draw(t, "between"))
		}
		ms, err := ParseReadings(b.String(), InchUnit, StockRange)
		if err != nil || len(ms) != len(list) {
			t.Fatalf("%q = %v, %v", b.String(), ms, err)
		}
		for i, m := range ms {
			if m.Length != list[i].l || m.Text != list[i].text {
				t.Errorf("reading %d of %q is %q, %d pm; want %q, %d pm", i+1, b.String(), m.Text, m.Length, list[i].text, list[i].l)
			}
		}
	})
}

// pow10 is 10 for one digit and 100 for two: what .5 and .25 are parts of.
func pow10(n int64) Length {
	if n < 10 {
		return 10
	}
	return 100
}

// FuzzParseReadings: whatever is typed, every reading is within the range and
// prints back as the same length, or the error can be shown and helps.
func FuzzParseReadings(f *testing.F) {
	for _, seed := range []string{
		"23/32", "1-1/8", `1 1/8"`, "¾", ".703", "0,703", "17.9mm", "18 mm", "1.8 cm", "0.703 45/64; 17.9mm",
		"0.703,0.705", "0,703,0,705", "1,125", "1¾ ²³⁄₃₂ 1²³⁄₃₂ ⅟₈", "１７．９ｍｍ", "٠٫٧٠٣", "1−1/8", "-1/8", "1/3", "⅓", "9/8", "1 9/8",
		"23/0", "1e9", "inf", "0", "", "18.", "1. 23/32", "12'", "18 m", "3/4-inch", "\xff¾{", "1 / 8\u200b1/2", "5₃₂", "2''3″", "0\u200f7",
		strings.Repeat("0", maxReading-1) + "2", strings.Repeat("0", maxReading) + "2", // the longest bare one, and one longer
	} {
		f.Add(seed, false)
		f.Add(seed, true)
	}
	f.Fuzz(func(t *testing.T, text string, metric bool) {
		bare := InchUnit
		if metric {
			bare = MillimetreUnit
		}
		ms, err := ParseReadings(text, bare, StockRange)
		if err != nil {
			var bad *MeasureError
			if !errors.As(err, &bad) || ms != nil || bad.Problem == "" || bad.Index < 0 || bad.Index > MaxReadings+1 {
				t.Fatalf("%q: %v, %#v", text, ms, err)
			}
			if len([]rune(bad.Problem)) > 300 || strings.ContainsAny(bad.Problem, "\n\r") {
				t.Errorf("%q: the problem is no line: %q", text, bad.Problem)
			}
			if _, err := ParseReadings(typable(bad.Hint), bare, StockRange); err != nil {
				t.Errorf("%q: the hint %q is refused: %v", text, bad.Hint, err)
			}
			return
		}
		if len(ms) == 0 || len(ms) > MaxReadings {
			t.Fatalf("%q: %d readings", text, len(ms))
		}
		for _, m := range ms {
			if m.Length < StockRange.Min || m.Length > StockRange.Max {
				t.Errorf("%q: %v is %d pm", text, m, m.Length)
			}
			if !strings.Contains(text, m.Text) {
				t.Errorf("%q: %q was not typed", text, m.Text)
			}
			for _, u := range []Unit{InchUnit, MillimetreUnit} {
				if again, err := ParseMeasure(m.String(), u, StockRange); err != nil || again.Length != m.Length || again.Unit != m.Unit {
					t.Errorf("%q: %q reads back as %v, %v", text, m.String(), again, err)
				}
			}
		}
	})
}

func BenchmarkParseReadings(b *testing.B) {
	for name, text := range map[string]string{
		"three":  "0.703 45/64; 17.9mm",
		"most":   strings.Repeat("1 23/32 in; ", MaxReadings),
		"digits": strings.Repeat("9", MaxListText),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, _ = ParseReadings(text, InchUnit, StockRange)
			}
		})
	}
}
