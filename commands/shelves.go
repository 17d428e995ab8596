package commands

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"shimwright/solver"
)

// Bench limits of a case [shop]. They also tell the units apart.
var (
	caseRange    = solver.Range{Min: 2 * solver.Inch, Max: 120 * solver.Inch}
	openingRange = solver.Range{Min: solver.Inch / 4, Max: 120 * solver.Inch}
	stepRangeUp  = solver.Range{Min: solver.Inch / 64, Max: 24 * solver.Inch}
	kickRange    = solver.Range{Min: solver.Inch / 4, Max: 24 * solver.Inch}
)

// none says that a case does not have a part.
const none = "none"

// tallCase is an inside height from which a fixed middle shelf keeps sides straight [cp].
const tallCase = 48 * solver.Inch

const shelvesExample = "/shelves height:36 width:30 case-depth:11 1/2 shelves:4 stock:0.703 back:1/4"

func shelvesCommand() Command {
	return Command{
		Name: "shelves", Summary: "Lay out the dadoes of a case: shelves, dividers or drawer runners", Example: shelvesExample,
		Options: []Option{
			{Name: "height", Summary: "Of the case", Required: true},
			{Name: "width", Summary: "Of the case, from left to right", Required: true},
			{Name: "case-depth", Summary: "Of the sides, front to back", Required: true},
			{Name: "stock", Summary: "Measured thickness of what is let in; of several lots: 3 x 0.703, 2 x 0.734", Required: true},
			{Name: "sizes", Summary: "Height and width are over the outside, or of the inside; else outside", Choices: []Choice{{"over the outside", "outside"}, {"of the inside", "inside"}}},
			{Name: "shelves", Summary: "How many shelves", Kind: Whole},
			{Name: "dividers", Summary: "How many upright dividers: from floor to top, or with shelves in each of the bays", Kind: Whole},
			{Name: "bays", Summary: "Openings between shelves that have the dividers, counted from the floor up: 1, 3"},
			{Name: "divider-stock", Summary: "Measured thickness of dividers in bays, if not that of the stock"},
			{Name: "runners", Summary: "How many pairs of drawer runners, instead of shelves", Kind: Whole},
			{Name: "side", Summary: "Measured thickness of the sides, if not that of the stock"},
			{Name: "top", Summary: "Thickness of the top, if not that of the sides; none for no top"},
			{Name: "bottom", Summary: "Thickness of the bottom, if not that of the sides; none for no bottom"},
			{Name: "back", Summary: "Thickness of a back in rabbets; else no back"},
			{Name: "kick", Summary: "Height of a raised bottom above the lower end of the sides"},
			{Name: "depth", Summary: "Of the dadoes; else the usual"},
			{Name: "rabbet", Summary: "Depth of the rabbets for top, bottom and back; else as the dadoes; none to butt"},
			{Name: "openings", Summary: "Each opening, from the floor up (or left to right); rest for one that takes the rest"},
			{Name: "step", Summary: "Each opening larger than the one above by this much"},
			{Name: "ratio", Summary: "Each opening larger than the one above by this factor: 1.25 or 5/4"},
			{Name: "fixed", Summary: "Shelves with a place of their own: 2 (half-way up), or 2 at 30, 4 at 52, middles above the floor"},
			{Name: "load", Summary: "On each shelf, for the sag: 35 lb/ft or 50 kg/m"},
			{Name: "wood", Summary: "Of the shelves, for the sag: a species, plywood, mdf, or a stiffness: 1.83e6 psi", complete: completeBoards},
			{Name: "round", Summary: "Round each mark by itself; else exact", Choices: []Choice{{"exact", "exact"}, {"nearest 1/64 in", "1/64"}, {"nearest 0.5 mm", "0.5mm"}}},
			{Name: "glue-room", Summary: "Yes to leave a paper's thickness free at each end in a dado", Kind: YesNo},
		},
		run: runShelves,
	}
}

// what a case is divided by.
type insert uint8

const (
	shelf insert = iota
	divider
	runner
)

func (i insert) word(n int) string {
	switch i {
	case divider:
		return plural(n, "divider", "dividers")
	case runner:
		return plural(n, "runner pair", "runner pairs")
	}
	return plural(n, "shelf", "shelves")
}

// layout is a case with what divides it.
type layout struct {
	style   solver.Style // of sizes
	marks   solver.Style // of marks: that of the grain they are rounded to
	insert  insert
	thick   []solver.Length // of each insert, lowest or leftmost first
	spread  solver.Length   // of the readings of one lot
	c       solver.Case
	rule    solver.OpeningRule
	span    solver.Division
	grain   solver.Length
	bays    []dividedBay // with dividers between shelves, lowest first
	sag     []shelfSag
	sagText []string
	notes   []string
}

func runShelves(s *session, a args) (Reply, error) {
	l, err := s.layout(a)
	if err != nil {
		return Reply{}, err
	}
	return l.reply(), nil
}

// layout reads the options of /shelves and lays the case out.
func (s *session) layout(a args) (*layout, error) {
	l := &layout{}
	height, err := s.length(a, "height", caseRange)
	if err != nil {
		return nil, err
	}
	l.style = solver.Style{Unit: height.Unit, Notation: height.Notation}
	l.marks = solver.Style{Unit: height.Unit}
	n, err := l.readInserts(a)
	if err != nil {
		return nil, err
	}
	if err := s.readThick(l, a["stock"], n); err != nil {
		return nil, err
	}
	if err := s.readCase(l, a, height.Length); err != nil {
		return nil, err
	}
	if err := s.readRule(l, a, n); err != nil {
		return nil, err
	}
	switch a["round"] {
	case "1/64":
		l.grain, l.marks = solver.SixtyFourth, solver.Style{Unit: solver.InchUnit, Notation: solver.Fractions}
	case "0.5mm":
		l.grain, l.marks = solver.HalfMillimetre, solver.Style{Unit: solver.MillimetreUnit}
	}
	inside, width := l.c.Inside()
	if l.insert == divider {
		inside = width
	}
	l.span = solver.Divide(inside, l.thick, l.rule)
	if err := l.fault(); err != nil {
		return nil, err
	}
	if err := s.readBays(l, a); err != nil {
		return nil, err
	}
	return l, l.readSag(a)
}

func (l *layout) readInserts(a args) (int, error) {
	var counts [3]int
	given := 0
	for i, o := range []string{"shelves", "dividers", "runners"} {
		k, err := whole(a, o, 1, solver.MaxDivisions, 0)
		if err != nil {
			return 0, err
		}
		if counts[i] = k; k > 0 {
			given++
		}
	}
	bays := strings.TrimSpace(a["bays"]) != "" || strings.TrimSpace(a["divider-stock"]) != ""
	switch {
	case given == 0:
		return 0, &UserError{Option: "shelves", Message: "Say how many: shelves, dividers or runners.", Hint: shelvesExample}
	case counts[runner] > 0 && given > 1:
		return 0, &UserError{Option: "runners", Message: "Runners stand alone: lay them out for each bay, with its inside height and width.", Hint: "/shelves sizes:inside height:30 width:14 case-depth:11 runners:3 stock:1/2"}
	case given == 2 && strings.TrimSpace(a["bays"]) == "":
		return 0, &UserError{Option: "bays", Message: "Say in which openings the dividers stand, counted from the floor up: 1 is on the floor, 2 over the first shelf.", Hint: "shelves:3 dividers:2 bays:2"}
	case given == 1 && bays:
		return 0, &UserError{Option: "bays", Message: "bays and divider-stock are about dividers between shelves: give shelves and dividers.", Hint: "shelves:3 dividers:2 bays:2"}
	}
	for i, k := range counts {
		if k > 0 {
			l.insert = insert(i)
			return k, nil
		}
	}
	return 0, nil
}

// readThick reads the measured thickness of what is let in.
func (s *session) readThick(l *layout, text string, n int) (err error) {
	l.thick, l.spread, err = s.thicknesses("stock", text, n, l.insert)
	if l.spread > s.shop.Settings.Grades.SnugTo-s.shop.Settings.Grades.SnugFrom {
		l.note("spread")
	}
	return err
}

// thicknesses reads readings of one lot, taken at their middle, or counts of
// several lots, lowest first.
func (s *session) thicknesses(option, text string, n int, what insert) (thick []solver.Length, spread solver.Length, err error) {
	if strings.ContainsAny(text, "xX×*") {
		parts, err := solver.ParseParts(text, s.style.Unit, solver.StockRange)
		if err != nil {
			return nil, 0, measureError(option, err)
		}
		for _, p := range parts {
			for range p.N {
				thick = append(thick, p.Size.Length)
			}
		}
		if len(thick) != n {
			return nil, 0, &UserError{Option: option, Message: fmt.Sprintf("The lots are %d pieces; there are %d %s.", len(thick), n, what.word(n)), Hint: "Lowest first: " + option + ":3 x 0.703, 2 x 0.734"}
		}
		return thick, 0, nil
	}
	readings, err := solver.ParseReadings(text, s.style.Unit, solver.StockRange)
	if err != nil {
		return nil, 0, measureError(option, err)
	}
	var all []solver.Length
	for _, r := range readings {
		all = append(all, r.Length)
	}
	thickest, thinnest := solver.Ends(all)
	for range n {
		thick = append(thick, thinnest+(thickest-thinnest)/2)
	}
	return thick, thickest - thinnest, nil
}

func (s *session) readCase(l *layout, a args, height solver.Length) error {
	c := &l.c
	c.Height, c.Outside = height, a["sizes"] != "inside"
	width, err := s.length(a, "width", caseRange)
	if err != nil {
		return err
	}
	deep, err := s.length(a, "case-depth", caseRange)
	if err != nil {
		return err
	}
	c.Width, c.Deep = width.Length, deep.Length
	part := func(option string, def solver.Length, r solver.Range) (solver.Length, error) {
		switch text := strings.TrimSpace(a[option]); {
		case text == "":
			return def, nil
		case strings.EqualFold(text, none):
			return 0, nil
		}
		m, err := s.length(a, option, r)
		return m.Length, err
	}
	if c.Side, err = part("side", l.thick[0], solver.StockRange); err != nil {
		return err
	}
	for _, p := range []struct {
		option string
		to     *solver.Length
		def    solver.Length
		r      solver.Range
	}{
		{"top", &c.Top, c.Side, solver.StockRange},
		{"bottom", &c.Bottom, c.Side, solver.StockRange},
		{"back", &c.Back, 0, solver.StockRange},
		{"kick", &c.Kick, 0, kickRange},
		{"depth", &c.Dado, solver.UsualDepth(l.into(), l.style.Unit, s.depthRule()), depthRange},
	} {
		if *p.to, err = part(p.option, p.def, p.r); err != nil {
			return err
		}
	}
	if c.Rabbet, err = part("rabbet", c.Dado, depthRange); err != nil {
		return err
	}
	if yes(a, "glue-room") {
		c.Paper = solver.PaperThickness
	}
	switch {
	case c.Side == 0:
		return &UserError{Option: "side", Message: "A case has sides.", Hint: "side:0.703"}
	case c.Kick > 0 && c.Bottom == 0:
		return &UserError{Option: "kick", Message: "kick raises a bottom, and this case has none.", Hint: "Leave kick out, or give bottom:0.703"}
	case l.insert == divider && c.Top == 0 && c.Bottom == 0:
		return &UserError{Option: "dividers", Message: "Dividers stand in dadoes of top and bottom, and this case has neither.", Hint: "Give top or bottom."}
	case c.Back > 0 && c.Rabbet == 0:
		return &UserError{Option: "rabbet", Message: "The back lies in rabbets of the sides: they need a depth.", Hint: "rabbet:1/4"}
	}
	if err := l.caseFault(); err != nil {
		return err
	}
	for _, o := range []struct {
		option string
		depth  solver.Length
		panel  solver.Length
	}{{"depth", c.Dado, l.into()}, {"rabbet", c.Rabbet, c.Side}} {
		if check := solver.CheckDepth(o.depth, o.panel, s.depthRule()); o.depth > 0 && check.Verdict == solver.DepthRefused {
			return &UserError{
				Option:  o.option,
				Message: fmt.Sprintf("%s deep leaves %s of %s; at least %s has to remain. Do not cut it.", l.style.Size(o.depth), l.style.Fine(max(0, check.Web)), l.style.Size(o.panel), l.style.Fine(check.MinWeb)),
				Hint:    fmt.Sprintf("No deeper than %s.", atMost(l.style, min(check.To, o.panel-check.MinWeb))),
			}
		}
	}
	return nil
}

// into is the thickness of the thinnest part that the dadoes are cut into.
func (l *layout) into() solver.Length {
	if l.insert != divider {
		return l.c.Side
	}
	into := max(l.c.Top, l.c.Bottom)
	for _, t := range []solver.Length{l.c.Top, l.c.Bottom} {
		if t > 0 {
			into = min(into, t)
		}
	}
	if into == 0 {
		return l.c.Side
	}
	return into
}

func (l *layout) caseFault() error {
	inside, width := l.c.Inside()
	switch l.c.Fault() {
	case solver.CaseTooLow:
		return &UserError{Option: "height", Message: fmt.Sprintf("Nothing is left between floor and top: %s.", l.style.Fine(inside)), Hint: shelvesExample}
	case solver.CaseTooNarrow:
		return &UserError{Option: "width", Message: fmt.Sprintf("Nothing is left between the sides: %s.", l.style.Fine(width)), Hint: shelvesExample}
	case solver.CaseTooShallow:
		return &UserError{Option: "case-depth", Message: "Nothing is left in front of the back.", Hint: shelvesExample}
	case solver.CaseThroughCut:
		return &UserError{Option: "depth", Message: fmt.Sprintf("Dado or rabbet go through a side of %s.", l.style.Size(l.c.Side)), Hint: "depth:1/4 or 6mm"}
	}
	return nil
}

// readRule reads how the openings follow from each other.
func (s *session) readRule(l *layout, a args, n int) error {
	given := 0
	for _, o := range []string{"openings", "step", "ratio"} {
		if strings.TrimSpace(a[o]) != "" {
			given++
		}
	}
	if given > 1 {
		return &UserError{Option: "openings", Message: "One of openings, step and ratio; without them the openings are even.", Hint: "step:1 or ratio:1.25 or openings:12, 10, rest"}
	}
	var err error
	switch {
	case strings.TrimSpace(a["openings"]) != "":
		l.rule.Kind = solver.GivenOpenings
		if l.rule.Given, err = s.openings(a["openings"]); err != nil {
			return err
		}
		if len(l.rule.Given) != n+1 {
			return &UserError{Option: "openings", Message: fmt.Sprintf("%d %s make %d openings; %d are given.", n, l.insert.word(n), n+1, len(l.rule.Given)), Hint: "From the floor up, one may be rest: openings:12, 10, rest"}
		}
	case strings.TrimSpace(a["step"]) != "":
		step, err := s.length(a, "step", stepRangeUp)
		if err != nil {
			return err
		}
		l.rule.Kind, l.rule.Step = solver.SteppedOpenings, step.Length
	case strings.TrimSpace(a["ratio"]) != "":
		l.rule.Kind = solver.ScaledOpenings
		if l.rule.Ratio, err = ratio(a["ratio"]); err != nil {
			return err
		}
	}
	l.rule.Fixed, err = s.fixedShelves(a["fixed"], n)
	return err
}

// fixedShelves reads "2", or "2 at 30, 4 at 52".
func (s *session) fixedShelves(text string, n int) ([]solver.FixedShelf, error) {
	const example = "fixed:2, or fixed:2 at 30, 4 at 52"
	var out []solver.FixedShelf
	list := strings.FieldsFunc(strings.ReplaceAll(text, ", ", ";"), func(r rune) bool { return r == ';' })
	for _, item := range list {
		no, at, placed := strings.Cut(strings.ToLower(strings.TrimSpace(item)), "at")
		f := solver.FixedShelf{}
		var err error
		if f.No, err = strconv.Atoi(strings.TrimSpace(no)); err != nil || f.No < 1 || f.No > n {
			return nil, &UserError{Option: "fixed", Message: fmt.Sprintf("%q names no shelf: they are numbered from the bottom, 1 to %d.", clip(item, 30), n), Hint: example}
		}
		if placed {
			m, err := solver.ParseMeasure(at, s.style.Unit, openingRange)
			if err != nil {
				return nil, &UserError{Option: "fixed", Message: fmt.Sprintf("Place of shelf %d: %s", f.No, err), Hint: example}
			}
			f.Mid = m.Length
		} else if len(list) > 1 {
			return nil, &UserError{Option: "fixed", Message: fmt.Sprintf("Where is shelf %d? Of several fixed shelves each needs its place.", f.No), Hint: "fixed:2 at 30, 4 at 52"}
		}
		if len(out) > 0 && f.No <= out[len(out)-1].No {
			return nil, &UserError{Option: "fixed", Message: "Name fixed shelves from the bottom up, each once.", Hint: "fixed:2 at 30, 4 at 52"}
		}
		out = append(out, f)
	}
	return out, nil
}

// openings reads a list of openings in which one may be the rest.
func (s *session) openings(text string) ([]solver.Length, error) {
	var out []solver.Length
	var list []string
	flush := func() error {
		if len(list) == 0 {
			return nil
		}
		all, err := solver.ParseReadings(strings.Join(list, " "), s.style.Unit, openingRange)
		if err != nil {
			return measureError("openings", err)
		}
		for _, m := range all {
			out = append(out, m.Length)
		}
		list = nil
		return nil
	}
	for _, f := range strings.Fields(text) {
		if !strings.EqualFold(strings.Trim(f, ",;"), "rest") {
			list = append(list, f)
			continue
		}
		if err := flush(); err != nil {
			return nil, err
		}
		out = append(out, 0)
	}
	return out, flush()
}

// ratio reads a factor: 1.25, 1,25 or 5/4.
func ratio(text string) (solver.Share, error) {
	bad := &UserError{Option: "ratio", Message: fmt.Sprintf("ratio is a factor from 0.25 to 4, not %q.", clip(text, 20)), Hint: "ratio:1.25 or ratio:5/4"}
	text = strings.Replace(strings.TrimSpace(text), ",", ".", 1)
	if len(text) > 12 || strings.ContainsAny(text, "eExXpP_") {
		return solver.Share{}, bad
	}
	r, ok := new(big.Rat).SetString(text)
	if !ok || r.Cmp(big.NewRat(1, 4)) < 0 || r.Cmp(big.NewRat(4, 1)) > 0 {
		return solver.Share{}, bad
	}
	return solver.Share{Num: r.Num().Int64(), Den: r.Denom().Int64()}, nil
}

// fault says why the span cannot be divided as asked.
func (l *layout) fault() error {
	n := len(l.thick)
	switch l.span.Fault {
	case "":
		return nil
	case solver.WrongSum:
		word := "too much"
		if l.span.Off < 0 {
			word = "too little"
		}
		return &UserError{Option: "openings", Message: fmt.Sprintf("Openings and %s are %s %s for the %s there are.", l.insert.word(2), l.style.Fine(l.span.Off.Abs()), word, l.style.Fine(l.span.Span)), Hint: "Let one opening take the rest: openings:12, 10, rest"}
	case solver.TwoRests:
		return &UserError{Option: "openings", Message: "Only one opening can be the rest.", Hint: "openings:12, 10, rest"}
	case solver.BadFixed:
		return &UserError{Option: "fixed", Message: "With openings given, each shelf has its place already.", Hint: "Leave fixed out, or let step or ratio divide the rest."}
	case solver.NoRoom:
		hint := "Fewer of them, a smaller step, or a higher case."
		if len(l.rule.Fixed) > 0 {
			hint = "Another place for what is fixed, or fewer of them."
		}
		return &UserError{Option: l.countOption(), Message: fmt.Sprintf("There is no room for %d %s in %s as asked.", n, l.insert.word(n), l.style.Fine(l.span.Span)), Hint: hint}
	}
	return &UserError{Option: l.countOption(), Message: fmt.Sprintf("That many cannot be laid out (%s).", l.span.Fault), Hint: shelvesExample}
}

func (l *layout) countOption() string {
	return []string{"shelves", "dividers", "runners"}[l.insert]
}
