package solver

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSpeciesAgainstTable(t *testing.T) {
	rows, all := tradeTable(t, "wood_coefficients.csv"), AllSpecies()
	if len(rows) != len(all) {
		t.Fatalf("%d species, the table has %d", len(all), len(rows))
	}
	for i, row := range rows {
		s := all[i]
		psi := s.Modulus / 0.006894757293168 / 1e6
		if s.Name != row[0] || s.Softwood != (row[1] == "sw") || s.Radial != number(t, row[2]) ||
			s.Tangential != number(t, row[3]) || math.Abs(psi-number(t, row[6])) > 1e-9 {
			t.Errorf("%+v, the table has %v", s, row)
		}
		mark := Published
		if strings.Contains(row[7], "memory") {
			mark = Memory
		}
		modulus := SecondHand
		switch {
		case strings.Contains(row[8], "memory"):
			modulus = Memory
		case strings.Contains(row[8], "GTR-190"):
			modulus = Published
		}
		if s.CoefficientMark != mark || s.ModulusMark != modulus {
			t.Errorf("%s: marks %s and %s, the table says %q and %q", s.Name, s.CoefficientMark, s.ModulusMark, row[7], row[8])
		}
	}
}

func TestMatchSpecies(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"white oak", []string{"Oak, white, commercial"}},
		{"Hard Maple", []string{"Maple, sugar (hard)"}},
		{"yellow-poplar", []string{"Yellow-poplar"}},
		{"poplar", []string{"Yellow-poplar"}},
		{"douglas fir", []string{"Douglas-fir, Coast"}},
		{"fir, white", []string{"Fir, white"}},
		{"maple", []string{"Maple, red (soft)", "Maple, silver (soft)", "Maple, sugar (hard)"}},
		{"granite", nil},
		{" - ", nil},
	} {
		var got []string
		for _, s := range MatchSpecies(c.text) {
			got = append(got, s.Name)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", c.text, diff)
		}
	}
}
