package commands

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"shimwright/solver"
)

// reply is the layout as it is taken to the bench.
func (l *layout) reply() Reply {
	text := []string{l.headLine(), l.insideLine()}
	if l.insert == divider {
		text = append(text, l.dividerLines()...)
	} else {
		text = append(text, l.sideLines()...)
	}
	text = append(text, l.roundLines()...)
	text = append(text, l.bayLines()...)
	if l.insert != divider {
		text = append(text, "Story stick from the lower end: "+l.stickWord()+". Hold it to both sides instead of measuring twice.")
	}
	text = append(text, "Cut list, length x width x thickness: "+l.cutWord()+".")
	text = append(text, l.sagText...)
	text = append(text, l.warnLines()...)
	text = append(text, l.nextLine(), arborCaution, deferral)
	return Reply{Text: lines(text...), Data: l.data(), Pictures: []Picture{l.picture()}}
}

// place writes a mark: rounded as asked, else to what a rule or caliper shows.
func (l *layout) place(at solver.Length) string {
	if l.grain > 0 {
		return l.marks.SizeBare(at)
	}
	return l.marks.FineBare(at)
}

func (l *layout) unit() string { return l.marks.Unit.String() }

func exactLength(r *big.Rat) solver.Length {
	return solver.Division{Lower: []*big.Rat{r}}.Edges(0, 0)[0].At
}

// openingsWord is "6.395 in each", or all of them.
func (l *layout) openingsWord() string {
	var all []string
	even := true
	for _, o := range l.span.Openings {
		even = even && o.Cmp(l.span.Openings[0]) == 0
		all = append(all, l.style.FineBare(exactLength(o)))
	}
	if even {
		return fmt.Sprintf("%d openings of %s each", len(all), l.style.Fine(exactLength(l.span.Openings[0])))
	}
	from := "from the floor up"
	if l.insert == divider {
		from = "from the left"
	}
	return fmt.Sprintf("openings %s %s %s", from, strings.Join(all, ", "), l.style.Unit)
}

func (l *layout) headLine() string {
	n := len(l.thick)
	switch l.insert {
	case divider:
		return fmt.Sprintf("%d %s: %s; each divider %s long.", n, l.insert.word(n), l.openingsWord(), l.style.Fine(l.c.DividerLength()))
	case runner:
		return fmt.Sprintf("%d %s: %s; each runner %s long.", n, l.insert.word(n), l.openingsWord(), l.style.Fine(l.c.ShelfWidth()))
	}
	return fmt.Sprintf("%d %s: %s; each shelf %s long.", n, l.insert.word(n), l.openingsWord(), l.style.Fine(l.c.ShelfLength()))
}

func (l *layout) insideLine() string {
	height, width := l.c.Inside()
	over, wide := l.c.Over()
	fine := l.style.FineBare
	out := fmt.Sprintf("Inside %s high, %s %s wide; outside %s by %s.", fine(height), fine(width), l.style.Unit, fine(over), l.style.Fine(wide))
	if l.insert != runner {
		ends := "two depths of dado"
		if l.c.Paper > 0 {
			ends += ", less a paper's thickness at each end for the glue"
		}
		out += fmt.Sprintf(" The length is what is free between, and %s (%s each).", ends, l.style.Size(l.c.Dado))
	}
	return out
}

// edges are the marks of the dadoes; below is what lies before the span begins.
func (l *layout) edges(below solver.Length) []solver.Edge { return l.span.Edges(below, l.grain) }

func (l *layout) edgeWord(edges []solver.Edge) string {
	var all []string
	for i, e := range edges {
		all = append(all, fmt.Sprintf("%d: %s", i+1, l.place(e.At)))
	}
	return strings.Join(all, ", ") + " " + l.unit()
}

// sideLines are the two sides as they lie on the bench.
func (l *layout) sideLines() []string {
	sides := l.c.Sides(l.span, l.grain)
	one := "shelf"
	if l.insert == runner {
		one = "pair"
	}
	out := []string{fmt.Sprintf("Lower edges of the dadoes, %s deep, from the lower end of both sides: %s.", l.style.Size(l.c.Dado), l.edgeWord(sides[0].Edges))}
	for _, p := range sides {
		out = append(out, fmt.Sprintf("%s side: inner face up, lower end (the reference) towards you, front edge on your %s.", capitalised(string(p.Side)), p.Front))
	}
	out[len(out)-1] = strings.TrimSuffix(out[len(out)-1], ".") + ": the mirror image of the left. Mark face, front and lower end on both first, and cut the two dadoes of a " + one + " at one setting; it rests on the lower edge."
	return append(out, l.rabbetLines()...)
}

// rabbetLines are the cuts for top, bottom and back.
func (l *layout) rabbetLines() []string {
	var rabbets []string
	var out []string
	for _, cut := range l.c.Sides(l.span, l.grain)[0].Cuts {
		switch {
		case !cut.Rabbet:
			out = append(out, fmt.Sprintf("Dado for the raised bottom: lower edge %s from the lower end, %s wide.", l.style.Fine(cut.At), l.style.Fine(cut.Width)))
		case cut.For == solver.BackPart:
			rabbets = append(rabbets, fmt.Sprintf("back %s wide along the rear edge", l.style.Fine(cut.Width)))
		case cut.For == solver.TopPart:
			rabbets = append(rabbets, fmt.Sprintf("top %s wide, from %s up to the upper end", l.style.Fine(cut.Width), l.style.Fine(cut.At)))
		default:
			rabbets = append(rabbets, fmt.Sprintf("bottom %s wide at the lower end", l.style.Fine(cut.Width)))
		}
	}
	if len(rabbets) > 0 {
		out = append(out, fmt.Sprintf("Rabbets in both sides, %s deep: %s. The stack runs buried in a locked sacrificial fence; /stack joint:rabbet plans it.", l.style.Size(l.c.Rabbet), strings.Join(rabbets, "; ")))
	}
	return out
}

// endIn is how far an end of the piece for the top or the bottom reaches into a side.
func (l *layout) endIn(part solver.CasePart) solver.Length {
	if part == solver.BottomPart && l.c.Kick > 0 {
		return l.c.Dado - l.c.Paper
	}
	return l.c.Rabbet
}

// crossPieces are the pieces that dividers from floor to top stand in.
func (l *layout) crossPieces() []crossPiece {
	var out []crossPiece
	if l.c.Bottom > 0 {
		out = append(out, l.under(1))
	}
	if l.c.Top > 0 {
		out = append(out, l.over(len(l.span.Openings)))
	}
	return out
}

func (l *layout) dividerLines() []string {
	var out []string
	for _, p := range l.crossPieces() {
		out = append(out, fmt.Sprintf("%s: inner face up, left end (the reference) on your left, front edge %s. Left edges of the dadoes, %s deep, from the left end: %s.", capitalised(p.part), p.turn, l.style.Size(l.c.Dado), l.edgeWord(l.edges(p.below))))
	}
	if len(out) == 2 {
		out = append(out, "Bottom and top are mirror images. Mark face, front and left end on both first, and cut the two dadoes of a divider at one setting.")
	}
	return append(out, l.rabbetLines()...)
}

// roundLines show what rounding does to each mark.
func (l *layout) roundLines() []string {
	if l.grain == 0 {
		return nil
	}
	below := l.c.Floor()
	if l.insert == divider {
		below = l.crossPieces()[0].below
	}
	var all []string
	for i, e := range l.edges(below) {
		all = append(all, fmt.Sprintf("%d: %s", i+1, signed4(l.marks, e.Error)))
	}
	out := fmt.Sprintf("Rounded to the nearest %s, each mark by itself, so that no error adds to the next: %s %s.", l.marks.Size(l.grain), strings.Join(all, ", "), l.unit())
	for _, b := range l.bays {
		all = nil
		for i, e := range b.across.Edges(b.below.below, l.grain) {
			all = append(all, fmt.Sprintf("%d: %s", i+1, signed4(l.marks, e.Error)))
		}
		out += fmt.Sprintf(" Dividers of bay %d in %s: %s %s.", b.No, b.below.part, strings.Join(all, ", "), l.unit())
	}
	return []string{out}
}

func signed4(style solver.Style, l solver.Length) string {
	if style.Unit == solver.MillimetreUnit {
		return fmt.Sprintf("%+.2f", l.MM())
	}
	return fmt.Sprintf("%+.4f", l.Inches())
}

func (l *layout) stickWord() string {
	var out []string
	for _, m := range l.c.StoryStick(l.span, l.grain) {
		at := l.place(m.Edge.At)
		switch m.Kind {
		case solver.StickFloor:
			if l.c.Floor() > 0 {
				out = append(out, "floor "+l.marks.FineBare(m.Edge.At))
			}
		case solver.StickLower:
			out = append(out, fmt.Sprintf("%d lower %s", m.Shelf, at))
		case solver.StickUpper:
			out = append(out, fmt.Sprintf("%d upper %s", m.Shelf, l.marks.FineBare(m.Edge.At)))
		case solver.StickTop:
			out = append(out, "top "+l.marks.FineBare(m.Edge.At))
		}
	}
	return strings.Join(out, ", ") + " " + l.unit()
}

func (l *layout) cutList() []solver.CutPiece {
	switch l.insert {
	case divider:
		return l.c.CutList(nil, l.thick)
	case runner:
		return l.c.CutList(nil, nil)
	}
	list := l.c.CutList(l.thick, nil)
	for _, b := range l.bays {
		for _, t := range lotsOf(b.across.Thick) {
			at := len(list)
			if l.c.Back > 0 { // the back stands last
				at--
			}
			piece := solver.CutPiece{Part: solver.DividerPart, Count: t.n, Length: b.Length, Width: l.c.ShelfWidth(), Thick: t.thick}
			// Rounded marks make bays differ by less than anybody can cut.
			if last := &list[at-1]; last.Part == piece.Part && (last.Length-piece.Length).Abs() < solver.Mil/4 && last.Thick == piece.Thick {
				last.Count += t.n
				continue
			}
			list = slices.Insert(list, at, piece)
		}
	}
	return list
}

func (l *layout) cutWord() string {
	fine := l.style.FineBare
	var out []string
	for _, p := range l.cutList() {
		name := string(p.Part)
		if p.Count > 1 {
			name = map[solver.CasePart]string{solver.SidePart: "sides", solver.ShelfPart: "shelves", solver.DividerPart: "dividers"}[p.Part]
		}
		out = append(out, fmt.Sprintf("%d %s %s x %s x %s", p.Count, name, fine(p.Length), fine(p.Width), fine(p.Thick)))
	}
	if l.insert == runner {
		for _, lot := range l.lots() {
			out = append(out, fmt.Sprintf("%d runners %s long, %s thick", 2*lot.n, fine(l.c.ShelfWidth()), fine(lot.thick)))
		}
	}
	return strings.Join(out, "; ") + " " + l.style.Unit.String()
}

// lot is one thickness of what is let in.
type lot struct {
	thick solver.Length
	n     int
}

func (l *layout) lots() []lot { return lotsOf(l.thick) }

func lotsOf(thick []solver.Length) []lot {
	var out []lot
	for _, t := range thick {
		found := false
		for i := range out {
			if out[i].thick == t {
				out[i].n++
				found = true
			}
		}
		if !found {
			out = append(out, lot{t, 1})
		}
	}
	return out
}

func (l *layout) warnLines() []string {
	var out []string
	if l.spread > 0 && len(l.notes) > 0 {
		out = append(out, fmt.Sprintf("The readings spread by %s, more than one dado takes: lay them out as lots, stock:3 x 0.703, 2 x 0.734, or cut a tongue.", l.style.Fine(l.spread)))
	}
	if height, _ := l.c.Inside(); l.insert == shelf && height > tallCase && len(l.rule.Fixed) == 0 {
		out = append(out, fmt.Sprintf("A tall case keeps its sides straight with a fixed shelf about half-way up [common practice]: fixed:%d puts one there.", (len(l.thick)+1)/2))
	}
	if len(l.bays) > 0 {
		out = append(out, dividerCaution)
	}
	switch l.insert {
	case divider:
		out = append(out, dividerCaution)
	default:
		out = append(out, "Gauge or sled carries the side, a stop sets the place, a backer keeps the rear edge whole. A dado that stops short of the front: /stack stopped:yes first.")
	}
	return out
}

// nextLine leads on to the stack: one for each lot.
func (l *layout) nextLine() string {
	lots := l.lots()
	var asks []string
	for _, lot := range lots {
		ask := fmt.Sprintf("/stack stock:%s depth:%s", oneWord(l.style, lot.thick), oneWord(l.style, l.c.Dado))
		if into := l.into(); into != lot.thick {
			ask += " panel:" + oneWord(l.style, into)
		}
		asks = append(asks, ask)
	}
	also := ""
	if len(l.bays) > 0 {
		into := l.thick[0]
		for _, t := range l.thick {
			into = min(into, t)
		}
		for _, lot := range l.uprights() {
			also += fmt.Sprintf(" For the dividers: /stack stock:%s depth:%s panel:%s.", oneWord(l.style, lot.thick), oneWord(l.style, l.c.Dado), oneWord(l.style, into))
		}
	}
	if len(lots) == 1 {
		return "Next: " + asks[0] + ", with all your readings." + also
	}
	return fmt.Sprintf("%s lots of different thickness: a setup for each, or all from one sheet: %s.", number2(len(lots)), strings.Join(asks, "; ")) + also
}

// oneWord is a size that can be typed without quotes: 1-1/8in.
func oneWord(style solver.Style, l solver.Length) string {
	return strings.ReplaceAll(style.SizeBare(l), " ", "-") + style.Unit.String()
}
