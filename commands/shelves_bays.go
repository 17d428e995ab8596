package commands

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/solver"
)

// dividedBay is an opening with dividers between the two pieces that bound it.
type dividedBay struct {
	solver.Bay
	across       solver.Division // of the inside width, by the dividers
	below, above crossPiece
}

// crossPiece is a piece that dividers stand in, as it lies on the bench.
type crossPiece struct {
	part  string        // "bottom", "shelf 2"
	face  string        // that is up
	below solver.Length // from its left end to the inside
	turn  string        // where its front edge lies
}

// readBays reads which openings have dividers, and holds what is left of the
// shelves against the shop's rule.
func (s *session) readBays(l *layout, a args) error {
	n, err := whole(a, "dividers", 1, solver.MaxDivisions, 0)
	if err != nil || n == 0 || l.insert != shelf {
		return err
	}
	var numbers []int
	for _, f := range strings.FieldsFunc(a["bays"], func(r rune) bool { return r == ',' || r == ';' || r == ' ' }) {
		no, err := strconv.Atoi(f)
		if err != nil || no < 1 || no > len(l.span.Openings) || slices.Contains(numbers, no) {
			return &UserError{Option: "bays", Message: fmt.Sprintf("bays are numbers from 1, on the floor, to %d, under the top, each once; not %q.", len(l.span.Openings), clip(f, 20)), Hint: "bays:2 or bays:1, 3"}
		}
		numbers = append(numbers, no)
	}
	slices.Sort(numbers)
	text := strings.TrimSpace(a["divider-stock"])
	if text == "" {
		text = a["stock"]
		if strings.ContainsAny(text, "xX×*") {
			return &UserError{Option: "divider-stock", Message: "With shelves of several lots say how thick the dividers are.", Hint: "divider-stock:0.703"}
		}
	}
	thick, spread, err := s.thicknesses("divider-stock", text, n*len(numbers), divider)
	if err != nil {
		return err
	}
	if spread > s.shop.Settings.Grades.SnugTo-s.shop.Settings.Grades.SnugFrom {
		l.note("spread")
		l.spread = max(l.spread, spread)
	}
	_, width := l.c.Inside()
	for i, no := range numbers {
		b := dividedBay{Bay: l.c.Bay(l.span, l.grain, no), across: solver.Divide(width, thick[i*n:(i+1)*n], solver.OpeningRule{})}
		if b.across.Fault != "" {
			return &UserError{Option: "dividers", Message: fmt.Sprintf("There is no room for %d %s in %s.", n, divider.word(n), l.style.Fine(width)), Hint: "Fewer of them, or thinner ones."}
		}
		b.below, b.above = l.under(no), l.over(no)
		l.bays = append(l.bays, b)
	}
	if numbers[0] == 1 && l.c.Bottom == 0 || numbers[len(numbers)-1] == len(l.span.Openings) && l.c.Top == 0 {
		return &UserError{Option: "bays", Message: "The dividers of the lowest and the highest opening stand in bottom and top, and this case lacks one.", Hint: "Give top or bottom, or another of the bays."}
	}
	return s.checkWebs(l, numbers)
}

// under is the piece below a bay, over the one above it.
func (l *layout) under(no int) crossPiece {
	if no == 1 {
		return crossPiece{string(solver.BottomPart), "inner face up", l.endIn(solver.BottomPart), "towards you"}
	}
	return crossPiece{fmt.Sprintf("shelf %d", no-1), "upper face up", l.c.Dado - l.c.Paper, "towards you"}
}

func (l *layout) over(no int) crossPiece {
	if no == len(l.span.Openings) {
		return crossPiece{string(solver.TopPart), "inner face up", l.endIn(solver.TopPart), "away from you"}
	}
	return crossPiece{fmt.Sprintf("shelf %d", no), "lower face up", l.c.Dado - l.c.Paper, "away from you"}
}

// checkWebs refuses dadoes for dividers that leave too little of what they are cut
// into. Those of two bays above each other share the shelf between them.
func (s *session) checkWebs(l *layout, numbers []int) error {
	for i := 0; i <= len(l.thick)+1; i++ {
		name, thick := fmt.Sprintf("shelf %d", i), l.c.Bottom
		switch {
		case i == 0:
			name = string(solver.BottomPart)
		case i > len(l.thick):
			name, thick = string(solver.TopPart), l.c.Top
		default:
			thick = l.thick[i-1]
		}
		upper, lower := solver.Dadoed(numbers, i)
		if !upper && !lower {
			continue
		}
		c := solver.CheckDepth(l.c.Dado, thick, s.depthRule())
		option, what := "depth", "Dadoes"
		if upper && lower {
			c = solver.CheckBothFaces(l.c.Dado, l.c.Dado, thick, false, s.depthRule())
			option, what = "bays", "Dadoes in both faces,"
		}
		if c.Verdict == solver.DepthRefused {
			hint := "No deeper than " + atMost(l.style, min(c.To, thick-c.MinWeb))
			if upper && lower {
				hint += "; or bays that do not lie above each other"
			}
			return &UserError{Option: option, Message: fmt.Sprintf("%s %s deep each leave %s of %s, %s thick; at least %s has to remain. Do not cut it.", what, l.style.Size(l.c.Dado), l.style.Fine(max(0, c.Web)), name, l.style.Size(thick), l.style.Fine(c.MinWeb)), Hint: hint + "."}
		}
	}
	return nil
}

// bayLines lay the dividers between shelves out.
func (l *layout) bayLines() []string {
	var out []string
	for _, b := range l.bays {
		n := len(b.across.Thick)
		out = append(out, fmt.Sprintf("Bay %d, between %s and %s, %s high: %d %s, %s long; openings of %s each.", b.No, b.below.part, b.above.part, l.style.Fine(b.Clear), n, divider.word(n), l.style.Fine(b.Length), l.style.Fine(exactLength(b.across.Openings[0]))))
		below, above := b.across.Edges(b.below.below, l.grain), b.across.Edges(b.above.below, l.grain)
		if b.below.below == b.above.below {
			out = append(out, fmt.Sprintf("Left edges of their dadoes, %s deep, from the left end of both: %s.", l.style.Size(l.c.Dado), l.edgeWord(below)))
		} else {
			out = append(out, fmt.Sprintf("Left edges of their dadoes, %s deep, from the left end: %s %s; %s %s.", l.style.Size(l.c.Dado), b.below.part, l.edgeWord(below), b.above.part, l.edgeWord(above)))
		}
		out = append(out, fmt.Sprintf("%s: %s, left end (the reference) on your left, front edge %s. %s: %s, left end on your left, front edge %s: the mirror image.", capitalised(b.below.part), b.below.face, b.below.turn, capitalised(b.above.part), b.above.face, b.above.turn))
	}
	if len(out) > 0 {
		out = append(out, "Mark face, front and left end first, and cut the two dadoes of a divider at one setting.")
	}
	return out
}

// uprights are the dividers between shelves, as lots.
func (l *layout) uprights() []lot {
	var all []solver.Length
	for _, b := range l.bays {
		all = append(all, b.across.Thick...)
	}
	return lotsOf(all)
}

// bayJSON is a bay with dividers in the public JSON form.
type bayJSON struct {
	Bay      int         `json:"bay"` // of the openings, 1 on the floor
	ClearMM  string      `json:"clear_mm"`
	LengthMM string      `json:"length_mm"` // of each divider
	Openings []string    `json:"openings_mm"`
	Pieces   []boardJSON `json:"pieces"` // below and above
}

func (l *layout) bayData() []bayJSON {
	out := []bayJSON{}
	for _, b := range l.bays {
		d := bayJSON{Bay: b.No, ClearMM: b.Clear.DecimalMM(), LengthMM: b.Length.DecimalMM()}
		for _, o := range b.across.Openings {
			d.Openings = append(d.Openings, exactLength(o).DecimalMM())
		}
		for _, p := range []crossPiece{b.below, b.above} {
			d.Pieces = append(d.Pieces, boardJSON{p.part, "left end", strings.TrimSuffix(p.face, " face up"), p.turn, edgesJSON(b.across.Edges(p.below, l.grain), b.across.Thick)})
		}
		out = append(out, d)
	}
	return out
}
