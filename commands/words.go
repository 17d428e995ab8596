package commands

import (
	"fmt"
	"math"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// Words that several replies share. Lengths are written as the member writes
// them; pieces by what they are called, which is their nominal size in the
// unit of their set.

// deferral ends every reply about a setup.
const deferral = "The manuals of saw and set, shop rules, local code and your instructor decide."

// arborCaution is the one line that stands in every reply with a stack.
const arborCaution = "Before you touch the arbor: power disconnected, the plug in your own hand (hard-wired: isolator locked off)."

// chipperWord names a chipper or a pair: "1/8", "3.2".
func (v *view) chipperWord(p solver.Part) string { return pieceWord(v.set.Parts.Unit, p.Nominal) }

func pieceWord(unit solver.Unit, nominal solver.Length) string {
	return solver.Style{Unit: unit, Notation: solver.Fractions}.SizeBare(nominal)
}

// shimWord names a shim: "0.010", "0.2".
func (v *view) shimWord(p solver.Part) string { return shimWord(v.set.Parts.Unit, p.Nominal) }

func shimWord(unit solver.Unit, nominal solver.Length) string {
	return solver.Style{Unit: unit}.SizeBare(nominal)
}

// partsWord is "pair + 3 x 1/8 + 1/16, shims 0.010 + 0.004".
func (v *view) partsWord(s solver.Stack) string {
	if v.set.Parts.Kind == solver.Blade {
		return v.set.Name
	}
	words := []string{"pair"}
	for _, c := range solver.CountParts(s.Chippers) {
		words = append(words, times(c.N, v.chipperWord(c.Part)))
	}
	out := strings.Join(words, " + ")
	shims := s.Shims()
	if len(shims) == 0 {
		return out + ", no shims"
	}
	words = nil
	for _, c := range solver.CountParts(shims) {
		words = append(words, times(c.N, v.shimWord(c.Part)))
	}
	return out + ", " + plural(len(shims), "shim", "shims") + " " + strings.Join(words, " + ")
}

func times(n int, what string) string {
	if n == 1 {
		return what
	}
	return fmt.Sprintf("%d x %s", n, what)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// orderWord is the loading order: "blade, 1/8, 1/8, shim 0.004, blade".
func (v *view) orderWord(s solver.Stack) string {
	var words []string
	for _, p := range s.Pieces() {
		switch p.Kind {
		case solver.FlangeBlade, solver.NutBlade:
			words = append(words, "blade")
		case solver.ChipperPiece:
			words = append(words, v.chipperWord(p.Part))
		case solver.ShimPiece:
			words = append(words, "shim "+v.shimWord(p.Part))
		}
	}
	if v.set.Parts.Kind == solver.Blade {
		words = words[:1]
	}
	return strings.Join(words, ", ")
}

// loadWord is the line that says how to load.
func (v *view) loadWord(s solver.Stack) string {
	return "Load from the inner flange: " + v.orderWord(s) + ", flange, nut tight to a wrench; turn it once by hand."
}

func (v *view) fine(l solver.Length) string { return v.setup.Style.Fine(l) }

// percent says a chance in whole percents, never 0 or 100.
func percent(chance float64) string {
	switch p := math.Round(chance * 100); {
	case p < 1:
		return "under 1 %"
	case p > 99:
		return "over 99 %"
	default:
		return fmt.Sprintf("about %.0f %%", p)
	}
}

// learnedWord says in plain words what test cuts have taught about a stack's width.
func (v *view) learnedWord(p storage.PlannedStack) string {
	if v.model.Cuts == 0 {
		return fmt.Sprintf("no test cuts of this set yet, so give or take %s", v.fine(p.SD))
	}
	cuts := fmt.Sprintf("from %d %s", v.model.Cuts, plural(v.model.Cuts, "cut", "cuts"))
	sd := v.setup.Style.FineBare(v.offsetSD(p))
	if small := solver.Mil / 4; p.Offset.Abs() < small {
		return fmt.Sprintf("cuts about its sum, give or take %s, %s", sd, cuts)
	}
	side := "wide"
	if p.Offset < 0 {
		side = "narrow"
	}
	return fmt.Sprintf("cuts about %s %s, give or take %s, %s", v.fine(p.Offset.Abs()), side, sd, cuts)
}

// offsetSD is how well the offset of a stack is known, the scatter of one cut aside.
func (v *view) offsetSD(p storage.PlannedStack) solver.Length {
	counts := make([]int, len(v.set.Parts.Chippers))
	for _, k := range p.Stack.Chippers {
		for i, c := range v.set.Parts.Chippers {
			if c.Nominal == k.Nominal {
				counts[i]++
			}
		}
	}
	_, variance := v.model.Offset(counts)
	return solver.InchesFloat(math.Sqrt(variance))
}

// playWord is "play 0.004 in at 0.703 in, 0.006 in at 0.701 in".
func (v *view) playWord(width solver.Length) string {
	out := fmt.Sprintf("play %s at %s", v.fine(width-v.thickest.Length), v.thickest)
	if v.thinnest.Length != v.thickest.Length {
		out += fmt.Sprintf(", %s at %s", v.fine(width-v.thinnest.Length), v.thinnest)
	}
	return out
}

// gradeWord is "snug", or "tight at the thickest, loose at the thinnest".
func (v *view) gradeWord(width solver.Length) string {
	thick := v.setup.Grades.Of(width - v.thickest.Length)
	thin := v.setup.Grades.Of(width - v.thinnest.Length)
	if thick == thin {
		return string(thick)
	}
	return fmt.Sprintf("%s at the thickest, %s at the thinnest", thick, thin)
}

func capitalised(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// expectWord is how a stack is expected to fit: a plain word only where a snug cut
// is likelier than not.
func (v *view) expectWord(p storage.PlannedStack) string {
	if p.Chance < 0.5 && v.model.Cuts == 0 {
		return "By its sizes: " + v.gradeWord(width(p))
	}
	return "Expect " + v.gradeWord(width(p))
}

// readingEnds are the thickest and the thinnest of a list of readings, as typed;
// of equal ones the first. The list must not be empty.
func readingEnds(readings []solver.Measure) (thickest, thinnest solver.Measure) {
	thickest, thinnest = readings[0], readings[0]
	for _, r := range readings[1:] {
		if r.Length > thickest.Length {
			thickest = r
		}
		if r.Length < thinnest.Length {
			thinnest = r
		}
	}
	return thickest, thinnest
}
