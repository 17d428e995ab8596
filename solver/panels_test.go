package solver

import (
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// tradeTable reads a table of the trade's figures that lies beside the project,
// without its header; the test is skipped where it is absent.
func tradeTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../shared/trade/" + name)
	if errors.Is(err, fs.ErrNotExist) {
		t.Skipf("%s is not beside the project: the figures transcribed here are not compared with it", name)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestPanelLimitsAgainstTable(t *testing.T) {
	limits := PanelLimits()
	standard := ""
	for _, row := range tradeTable(t, "panel_thickness.csv") {
		if row[0] != "same" {
			standard = row[0]
		}
		ours := map[string]string{
			"US PS 1-19 unsanded/touch-sanded/overlaid":  PS1Category,
			"US PS 1 sanded, <=3/4":                      PS1Sanded,
			"HP-1 hardwood plywood, nominal >=1/4":       HP1,
			"ANSI A208.2 MDF":                            A208MDF,
			"EN 315 sanded (+0.2+0.03t / -0.4-0.03t mm)": EN315,
		}[standard]
		label := strings.TrimSuffix(row[1], " cat")
		i := slices.IndexFunc(limits, func(p PanelLimit) bool { return p.Standard == ours && p.Label == label })
		if i < 0 {
			t.Errorf("%s, %s is not transcribed", standard, label)
			continue
		}
		p := limits[i]
		limits = slices.Delete(limits, i, i+1)
		near := func(what string, got Length, text string) {
			_, places, _ := strings.Cut(text, ".")
			half := 0.5
			for range places {
				half /= 10
			}
			if d := got.Inches() - number(t, text); d > half*1.0001 || d < -half*1.0001 {
				t.Errorf("%s, %s: %s %v, the table has %s", standard, label, what, got.Inches(), text)
			}
		}
		near("min", p.Min, row[2])
		near("max", p.Max, row[3])
		if row[4] != "" {
			near("recommended", p.Recommended, row[4])
		}
		mark := SecondHand
		if strings.Contains(row[5], "memory") || strings.Contains(row[5], "as above") {
			mark = Memory
		}
		if p.Mark != mark {
			t.Errorf("%s, %s: mark %s, the table says %q", standard, label, p.Mark, row[5])
		}
	}
	for _, p := range limits { // what the table does not have
		if p.Unit == InchUnit && p.Standard != HardwoodS2S && p.Standard != SoftwoodDress || p.Unit == MillimetreUnit && p.Nominal <= 24*Millimetre {
			t.Errorf("%s, %s is not in the table", p.Standard, p.Label)
		}
	}
}

// The formula of EN 315 at seven thicknesses, worked by hand in hundredths of a
// millimetre: 18 mm is 18 - 0.4 - 0.54 = 17.06 and 18 + 0.2 + 0.54 = 18.74.
func TestEN315(t *testing.T) {
	for _, c := range []struct{ tenths, min, max Length }{
		{40, 348, 432},
		{65, 5905, 6895},
		{90, 833, 947},
		{120, 1124, 1256},
		{150, 1415, 1565},
		{180, 1706, 1874},
		{240, 2288, 2492},
	} {
		if c.tenths != 65 {
			c.min, c.max = 10*c.min, 10*c.max
		}
		p := EN315Limit(c.tenths * Millimetre / 10)
		if p.Min != c.min*Micrometre || p.Max != c.max*Micrometre {
			t.Errorf("%s: %v to %v mm", p.Label, p.Min.MM(), p.Max.MM())
		}
	}
}

func TestPanelLabels(t *testing.T) {
	for _, c := range []struct {
		thickness Length
		unit      Unit
		want      []string
	}{
		{Inches(3, 4), InchUnit, []string{PS1Category, PS1Sanded, HP1, A208MDF}},
		{Inches(23, 32), InchUnit, []string{PS1Category, PS1Sanded}},
		{18 * Millimetre, MillimetreUnit, []string{EN315}},
		{Inch, InchUnit, []string{PS1Category, HardwoodS2S, SoftwoodDress}},
		{Inches(3, 4), MillimetreUnit, nil}, // 19.05 mm is a reading
		{703 * Mil, InchUnit, nil},
	} {
		var got []string
		for _, p := range PanelLabels(c.thickness, c.unit) {
			got = append(got, p.Standard)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%v %s (-want +got):\n%s", c.thickness.MM(), c.unit, diff)
		}
	}
}

func TestLikelyLabel(t *testing.T) {
	for _, c := range []struct {
		name          string
		stock, groove Length
		unit          Unit
		want          string
	}{
		{"P02", 6875 * Mil / 10, 750 * Mil, InchUnit, "3/4"},
		{"P10", 719 * Mil, 750 * Mil, InchUnit, "3/4"},
		{"a hair over the label", 703 * Mil, 754 * Mil, InchUnit, "3/4"},
		{"millimetres", 17 * Millimetre, 18 * Millimetre, MillimetreUnit, "18 mm"},
		// 18.2 mm is 0.7165 in: 0.002 in from 23/32, 0.2 mm from 18 mm.
		{"an inch label is nearer, the stock is metric", 17 * Millimetre, 182 * Millimetre / 10, MillimetreUnit, "18 mm"},
		{"the same groove, the stock in inches", 17 * Millimetre, 182 * Millimetre / 10, InchUnit, "23/32"},
		{"only the other unit has one", 17 * Millimetre, 750 * Mil, MillimetreUnit, "3/4"},
		{"snug", 745 * Mil, 750 * Mil, InchUnit, ""},
		{"no label near", 750 * Mil, 765 * Mil, InchUnit, ""},
	} {
		if p, ok := LikelyLabel(c.stock, c.groove, c.unit); p.Label != c.want || ok != (c.want != "") {
			t.Errorf("%s: %q", c.name, p.Label)
		}
	}
}
