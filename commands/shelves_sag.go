package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// mdf is what is typed for it.
const mdf = "mdf"

// completeBoards offers what a shelf can be of.
func completeBoards(s *session, typed string) ([]Choice, error) {
	out, err := completeWoods(s, typed)
	if strings.Contains(mdf, strings.ToLower(strings.TrimSpace(typed))) {
		out = append([]Choice{{Label: "MDF", Value: mdf}}, out...)
	}
	return out, err
}

// shelfSag is the sag of the shelves of one thickness. Where the stiffness is a
// range, Stiff is for its greatest and Soft for its least; else both are alike.
type shelfSag struct {
	thick       solver.Length
	soft, stiff solver.Sag
}

// stiffness is a modulus of elasticity, or a range of it, in N/mm2.
type stiffness struct {
	least, greatest float64
	from            string
}

// readSag reads load and wood, and puts the sag of each thickness into the layout.
func (l *layout) readSag(a args) error {
	loadText, of := strings.TrimSpace(a["load"]), strings.TrimSpace(a["wood"])
	switch {
	case loadText == "" && of == "":
		return nil
	case l.insert != shelf:
		return &UserError{Option: "load", Message: "Sag is about shelves; " + l.insert.word(2) + " stand.", Hint: "Leave load and wood out."}
	case loadText == "":
		return &UserError{Option: "load", Message: "For the sag say what each shelf carries.", Hint: "load:35 lb/ft or load:50 kg/m"}
	case of == "":
		return &UserError{Option: "wood", Message: "For the sag say what the shelves are of.", Hint: `wood:"hard maple", wood:plywood or wood:1.83e6 psi`}
	}
	load, err := readLoad(loadText, l.style.Unit)
	if err != nil {
		return err
	}
	e, err := readStiffness(a)
	if err != nil {
		return err
	}
	_, width := l.c.Inside()
	for _, lot := range l.lots() {
		b := solver.Beam{Span: width, Width: l.c.ShelfWidth(), Thick: lot.thick, Load: load, Modulus: e.greatest}
		stiff, ok := solver.SagOf(b)
		b.Modulus = e.least
		soft, ok2 := solver.SagOf(b)
		if !ok || !ok2 {
			return &UserError{Option: "load", Message: fmt.Sprintf("A shelf %s thick over %s breaks under that load.", l.style.Size(lot.thick), l.style.Fine(width)), Hint: "A smaller load, a divider, or thicker shelves."}
		}
		l.sag = append(l.sag, shelfSag{lot.thick, soft, stiff})
		l.sagText = append(l.sagText, l.sagLine(l.sag[len(l.sag)-1], clip(loadText, 20)))
		if !soft.FreeOK {
			l.note("sag")
		}
	}
	if len(l.bays) > 0 {
		l.sagText = append(l.sagText, "Reckoned over the whole width: dividers hold up the shelf above them and load the one below.")
	}
	l.sagText = append(l.sagText, fmt.Sprintf("A dado lies between free and fixed ends, nearer to free where sides flex. In time half again or more is added. Stiffness %s.", e.from))
	return nil
}

func (l *layout) note(code string) {
	for _, n := range l.notes {
		if n == code {
			return
		}
	}
	l.notes = append(l.notes, code)
}

func (l *layout) sagLine(s shelfSag, load string) string {
	span := func(a, b solver.Length) string {
		if a == b {
			return l.style.Fine(a)
		}
		return l.style.FineBare(a) + " to " + l.style.Fine(b)
	}
	which := ""
	if len(l.lots()) > 1 {
		which = " of the shelves " + l.style.Size(s.thick) + " thick"
	}
	verdict := "within the limit with free ends too"
	switch {
	case !s.soft.FixedOK:
		verdict = "too much: a thicker shelf, an edge glued on, or a divider"
	case !s.soft.FreeOK:
		verdict = "too much with free ends: stiffen it, or count on less load"
	}
	return fmt.Sprintf("Sag%s under %s: %s with free ends, %s with fixed ends; in time %s and %s. Limit %s at first, 0.02 in a foot: %s.",
		which, load, span(s.stiff.Free, s.soft.Free), span(s.stiff.Fixed, s.soft.Fixed), span(s.stiff.FreeLater, s.soft.FreeLater), span(s.stiff.FixedLater, s.soft.FixedLater), l.style.Fine(s.soft.Limit), verdict)
}

// figureAndUnit takes "35 lb/ft" apart.
func figureAndUnit(text string) (float64, string, error) {
	text = strings.ToLower(strings.TrimSpace(text))
	end := len(text)
	for i, r := range text {
		if (r < '0' || r > '9') && r != '.' && r != ',' && !(r == 'e' && i > 0) && !(r == '+' && i > 0) {
			end = i
			break
		}
	}
	n, err := plainNumber(text[:end])
	return n, strings.ReplaceAll(text[end:], " ", ""), err
}

// readLoad reads a load for each length of shelf, in N/mm. A bare figure is in the
// member's unit.
func readLoad(text string, unit solver.Unit) (float64, error) {
	n, of, err := figureAndUnit(text)
	if of == "" {
		of = "lb/ft"
		if unit == solver.MillimetreUnit {
			of = "kg/m"
		}
	}
	per, ok := map[string]float64{"lb/ft": solver.PoundPerFoot, "lbs/ft": solver.PoundPerFoot, "kg/m": solver.KilogramPerMetre}[of]
	if load := n * per; err == nil && ok && n > 0 && load <= 1000*solver.PoundPerFoot {
		return load, nil
	}
	return 0, &UserError{Option: "load", Message: fmt.Sprintf("load is a weight for each length of shelf, up to 1000 lb/ft, not %q.", clip(text, 20)), Hint: "load:35 lb/ft or load:50 kg/m"}
}

// readStiffness reads the modulus that was given, or that of the wood.
func readStiffness(a args) (stiffness, error) {
	if text := strings.TrimSpace(a["wood"]); text != "" && text[0] >= '0' && text[0] <= '9' {
		n, of, err := figureAndUnit(text)
		per, ok := map[string]float64{"psi": solver.PSI, "n/mm2": 1, "n/mm²": 1, "mpa": 1, "gpa": 1000}[of]
		if e := n * per; err == nil && ok && e >= 100 && e <= 250_000 {
			return stiffness{e, e, "as given"}, nil
		}
		return stiffness{}, &UserError{Option: "wood", Message: fmt.Sprintf("A stiffness is a modulus of elasticity with its unit, not %q.", clip(text, 20)), Hint: "wood:1.83e6 psi or wood:12600 N/mm2"}
	}
	switch name := strings.ToLower(strings.TrimSpace(a["wood"])); {
	case name == mdf:
		return stiffness{solver.MDFModulus, solver.MDFModulus, "of MDF about 2500 N/mm2 [" + markWords[solver.SecondHand] + "]"}, nil
	case strings.HasPrefix(name, plywood):
		return stiffness{
			solver.PlywoodSoftest, solver.PlywoodStiffest,
			fmt.Sprintf("of plywood from %.0f to %.0f N/mm2 along the face grain [%s]: it has no single one; where the maker tells it, wood:1.3e6 psi takes it", solver.PlywoodSoftest, solver.PlywoodStiffest, markWords[solver.Memory]),
		}, nil
	}
	wood, err := species("wood", a["wood"])
	if err != nil {
		return stiffness{}, err
	}
	return stiffness{wood.Modulus, wood.Modulus, fmt.Sprintf("of %s %.2f million psi, %.0f N/mm2 [%s]", wood.Name, wood.Modulus/solver.PSI/1e6, wood.Modulus, markWords[wood.ModulusMark])}, nil
}
