package solver

import (
	"slices"
	"strings"
)

// Species is a wood with its coefficients of movement and its stiffness.
type Species struct {
	Name     string
	Softwood bool
	// Radial and Tangential are the changes in size for each percent of moisture,
	// as a share of the size: C_R and C_T of eq. 13-2 of the USDA Wood Handbook.
	Radial, Tangential float64
	// Modulus is the modulus of elasticity at 12 percent moisture, in N/mm2.
	Modulus float64
	// CoefficientMark is that of the weaker of Radial and Tangential.
	CoefficientMark, ModulusMark Mark
}

// Radial and tangential from Table 13-5 (p. 13-16) of FPL-GTR-190 where marked
// Published, and 10^6 psi at 12 percent from its Table 5-3a or, second-hand, from
// tables that quote it.
var species = []struct {
	name               string
	softwood           bool
	radial, tangential float64
	psi                float64 // 10^6
	coefficientMark    Mark
	modulusMark        Mark
}{
	{"Alder, red", false, 0.00151, 0.00256, 1.38, Published, SecondHand},
	{"Ash, white", false, 0.00169, 0.00274, 1.74, Published, SecondHand},
	{"Aspen, quaking", false, 0.00119, 0.00234, 1.18, Published, SecondHand},
	{"Basswood, American", false, 0.0023, 0.0033, 1.46, Published, SecondHand},
	{"Beech, American", false, 0.0019, 0.00431, 1.72, Published, SecondHand},
	{"Birch, paper", false, 0.00219, 0.00304, 1.59, Published, SecondHand},
	{"Birch, yellow", false, 0.00256, 0.00338, 2.01, Published, SecondHand},
	{"Butternut", false, 0.00116, 0.00223, 1.18, Published, SecondHand},
	{"Cherry, black", false, 0.00126, 0.00248, 1.49, Published, SecondHand},
	{"Chestnut, American", false, 0.00116, 0.00234, 1.23, Published, SecondHand},
	{"Hickory, pecan group", false, 0.00169, 0.00315, 1.73, Published, SecondHand},
	{"Hickory, true", false, 0.00259, 0.00411, 2.16, Memory, SecondHand},
	{"Maple, red (soft)", false, 0.00137, 0.00289, 1.64, Published, SecondHand},
	{"Maple, silver (soft)", false, 0.00102, 0.00252, 1.14, Published, Memory},
	{"Maple, sugar (hard)", false, 0.00165, 0.00353, 1.83, Published, SecondHand},
	{"Oak, red, commercial", false, 0.00158, 0.00369, 1.82, Published, Memory},
	{"Oak, white, commercial", false, 0.0018, 0.00365, 1.78, Published, SecondHand},
	{"Sassafras", false, 0.00137, 0.00216, 1.12, Published, Memory},
	{"Sweetgum", false, 0.00183, 0.00365, 1.64, Published, Memory},
	{"Sycamore, American", false, 0.00172, 0.00296, 1.42, Published, Memory},
	{"Walnut, black", false, 0.0019, 0.00274, 1.68, Published, SecondHand},
	{"Yellow-poplar", false, 0.00158, 0.00289, 1.58, Memory, SecondHand},
	{"Douglas-fir, Coast", true, 0.00165, 0.00267, 1.95, Memory, SecondHand},
	{"Fir, white", true, 0.00112, 0.00245, 1.5, Published, Memory},
	{"Pine, eastern white", true, 0.00071, 0.00212, 1.24, Memory, SecondHand},
	{"Pine, loblolly", true, 0.00165, 0.00259, 1.79, Memory, Memory},
	{"Pine, longleaf", true, 0.00176, 0.00263, 1.98, Memory, SecondHand},
	{"Pine, ponderosa", true, 0.00133, 0.00216, 1.29, Memory, Published},
	{"Pine, shortleaf", true, 0.00158, 0.00271, 1.75, Memory, Published},
	{"Pine, sugar", true, 0.00099, 0.00194, 1.19, Memory, Published},
	{"Spruce, Sitka", true, 0.00148, 0.00263, 1.57, Memory, Memory},
}

// AllSpecies lists the species known, hardwoods first, each by name.
func AllSpecies() []Species {
	out := make([]Species, len(species))
	for i, s := range species {
		out[i] = Species{s.name, s.softwood, s.radial, s.tangential, s.psi * 1e6 * PSI, s.coefficientMark, s.modulusMark}
	}
	return out
}

// MatchSpecies lists the species whose names have all the words typed, in any
// order and case: "white oak" is one, "pine" several. A name typed in full is
// that one alone.
func MatchSpecies(text string) []Species {
	words := nameWords(text)
	if len(words) == 0 {
		return nil
	}
	var out []Species
	for _, s := range AllSpecies() {
		name := nameWords(s.Name)
		if slices.Equal(slices.Sorted(slices.Values(words)), slices.Sorted(slices.Values(name))) {
			return []Species{s}
		}
		if !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(name, w) }) {
			out = append(out, s)
		}
	}
	return out
}

func nameWords(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" ,-()", r) })
}
