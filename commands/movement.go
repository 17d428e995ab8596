package commands

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"shimwright/solver"
)

const movementExample = `/movement wood:"white oak" thickness:3/4 moisture-now:7 moisture-later:11`

func movementCommand() Command {
	return Command{
		Name: "movement", Summary: "What a change of season does to the stock and its fit", Example: movementExample,
		Options: []Option{
			{Name: "wood", Summary: "Species; plywood, or plywood with the species of its plies", Required: true, complete: completeWoods},
			{Name: "thickness", Summary: "Of the stock that goes into the dado", Required: true},
			{Name: "width", Summary: "Of the board, across the grain"},
			{Name: "sawn", Summary: "How the board was cut from the log; else flatsawn", Choices: []Choice{{"flatsawn", "flatsawn"}, {"quartersawn", "quartersawn"}}},
			{Name: "moisture-now", Summary: "Moisture of the wood now, percent"},
			{Name: "moisture-later", Summary: "Moisture it comes to, percent"},
			{Name: "temperature-now", Summary: "Of the air now: 70F or 21C"},
			{Name: "humidity-now", Summary: "Relative humidity now, percent"},
			{Name: "temperature-later", Summary: "Of the air it is kept in: 70F or 21C"},
			{Name: "humidity-later", Summary: "Relative humidity there, percent"},
			{Name: "groove", Summary: "The dado's width; else the middle of snug"},
		},
		run: runMovement,
	}
}

// plywood is what is typed for it.
const plywood = "plywood"

func completeWoods(_ *session, typed string) ([]Choice, error) {
	out := []Choice{}
	if strings.Contains(plywood, strings.ToLower(strings.TrimSpace(typed))) {
		out = append(out, Choice{Label: plywood, Value: plywood})
	}
	var all []string
	for _, s := range solver.AllSpecies() {
		all = append(all, s.Name)
	}
	return append(out, choicesOf(all, func(s string) string { return s }, typed)...), nil
}

// species finds the one wood that is meant.
func species(option, text string) (solver.Species, error) {
	found := solver.MatchSpecies(text)
	if len(found) == 1 {
		return found[0], nil
	}
	var names []string
	for _, s := range found[:min(len(found), 8)] {
		names = append(names, s.Name)
	}
	if len(names) > 0 {
		return solver.Species{}, &UserError{Option: option, Message: fmt.Sprintf("%q is several: %s.", clip(text, 30), strings.Join(names, "; ")), Hint: fmt.Sprintf("%s:%q", option, names[0])}
	}
	return solver.Species{}, &UserError{Option: option, Message: fmt.Sprintf("I know no wood %q.", clip(text, 30)), Hint: fmt.Sprintf(`%s:"white oak", %s:cherry or %s:plywood`, option, option, option)}
}

// climate is one of the two times: moisture, and the air it comes from where that
// was told.
type climate struct {
	moisture float64
	air      solver.Air
	hasAir   bool
}

func (c climate) word() string {
	out := fmt.Sprintf("%.1f %%", c.moisture)
	if c.hasAir {
		out += fmt.Sprintf(" (air of %.0f F, %.0f C, at %.0f %%)", c.air.F, (c.air.F-32)/1.8, c.air.RH)
	}
	return out
}

func readClimate(a args, when string) (climate, error) {
	m, t, h := "moisture-"+when, "temperature-"+when, "humidity-"+when
	given := func(o string) bool { return strings.TrimSpace(a[o]) != "" }
	example := fmt.Sprintf("%s:8, or %s:70F %s:40", m, t, h)
	switch {
	case given(m) && (given(t) || given(h)):
		return climate{}, &UserError{Option: m, Message: "Give the wood's moisture or the air's temperature and humidity, not both.", Hint: example}
	case given(m):
		p, err := percentage(a, m)
		if err != nil {
			return climate{}, err
		}
		if p > solver.FiberSaturation {
			return climate{}, &UserError{Option: m, Message: fmt.Sprintf("At %g %% the wood is green: above about %.0f %% it does not move, and it is not stock for a dado yet.", p, solver.FiberSaturation), Hint: example}
		}
		return climate{moisture: p}, nil
	case !given(t) && !given(h):
		return climate{}, &UserError{Option: m, Message: fmt.Sprintf("Say how moist the wood is %s: its moisture, or temperature and humidity of the air.", when), Hint: example}
	case !given(t) || !given(h):
		missing := t
		if given(t) {
			missing = h
		}
		return climate{}, &UserError{Option: missing, Message: "The air needs both temperature and humidity.", Hint: fmt.Sprintf("%s:70F %s:40", t, h)}
	}
	f, err := temperature(a, t)
	if err != nil {
		return climate{}, err
	}
	rh, err := percentage(a, h)
	if err != nil {
		return climate{}, err
	}
	air := solver.Air{F: f, RH: rh}
	emc, ok := solver.EquilibriumMoisture(air)
	if !ok {
		return climate{}, &UserError{Option: h, Message: fmt.Sprintf("The formula was checked from %.0f to %.0f F (-1 to 49 C) and from %.0f to %.0f %% humidity; outside that I give no figure.", solver.CoolestAir.F, solver.WarmestAir.F, solver.CoolestAir.RH, solver.WarmestAir.RH), Hint: fmt.Sprintf("%s:70F %s:40", t, h)}
	}
	return climate{moisture: emc, air: air, hasAir: true}, nil
}

// percentage reads a figure from 0 to 100; a percent sign may stand behind it.
func percentage(a args, option string) (float64, error) {
	text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(a[option]), "%"))
	p, err := plainNumber(text)
	if err != nil || p < 0 || p > 100 {
		return 0, &UserError{Option: option, Message: fmt.Sprintf("%s is a percentage from 0 to 100, not %q.", option, clip(a[option], 20)), Hint: option + ":8"}
	}
	return p, nil
}

// plainNumber reads a figure with a decimal point or comma.
func plainNumber(text string) (float64, error) {
	n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err == nil && (math.IsNaN(n) || math.IsInf(n, 0)) {
		err = strconv.ErrRange
	}
	return n, err
}

// temperature reads degrees and gives them in Fahrenheit.
func temperature(a args, option string) (float64, error) {
	text := strings.ToUpper(strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(a[option]), "°", ""), " ", ""))
	bad := &UserError{Option: option, Message: fmt.Sprintf("%s is degrees with F or C, not %q.", option, clip(a[option], 20)), Hint: option + ":70F or " + option + ":21C"}
	number := strings.TrimRight(text, "FC")
	n, err := plainNumber(number)
	switch {
	case err != nil:
		return 0, bad
	case strings.TrimPrefix(text, number) == "F":
		return n, nil
	case strings.TrimPrefix(text, number) == "C":
		return solver.Fahrenheit(n), nil
	}
	return 0, bad
}

type movementData struct {
	Wood        string      `json:"wood"`
	MoistureNow float64     `json:"moisture_now"`
	Later       float64     `json:"moisture_later"`
	ThicknessMM string      `json:"thickness_change_mm"`
	WidthMM     string      `json:"width_change_mm"` // empty: no width was given
	GrooveMM    string      `json:"groove_mm"`
	PlayMM      seasonsJSON `json:"play_mm"`
	Grade       seasonsJSON `json:"grade"`
	BothMM      *rangeJSON  `json:"snug_in_both_mm"` // widths of dado; null where there is none
	Valid       bool        `json:"valid"`
	Mark        solver.Mark `json:"mark"`
	Notes       []string    `json:"notes"`
}

type seasonsJSON struct {
	Now   string `json:"now"`
	Later string `json:"later"`
}

func runMovement(s *session, a args) (Reply, error) {
	thick, err := s.length(a, "thickness", solver.StockRange)
	if err != nil {
		return Reply{}, err
	}
	width, err := s.length(a, "width", solver.Range{Min: solver.Inch / 2, Max: 48 * solver.Inch})
	if err != nil {
		return Reply{}, err
	}
	groove, err := s.length(a, "groove", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	now, err := readClimate(a, "now")
	if err != nil {
		return Reply{}, err
	}
	later, err := readClimate(a, "later")
	if err != nil {
		return Reply{}, err
	}
	m, err := moved(a, thick.Length, width.Length, now, later)
	if err != nil {
		return Reply{}, err
	}
	style := solver.Style{Unit: thick.Unit, Notation: thick.Notation}
	grades := s.shop.Settings.Grades
	floor := groove.Length
	if floor == 0 {
		floor = grades.Window(thick.Length, thick.Length).Mid()
	}
	fit := solver.FitThrough(floor-thick.Length, m.greatest.Thickness, grades)
	both := solver.SeasonWindow(thick.Length, thick.Length, m.greatest.Thickness, m.greatest.Thickness, grades)
	d := movementData{
		Wood: m.wood, MoistureNow: round2(now.moisture), Later: round2(later.moisture), ThicknessMM: m.greatest.Thickness.DecimalMM(),
		GrooveMM: floor.DecimalMM(), PlayMM: seasonsJSON{fit.PlayNow.DecimalMM(), fit.PlayLater.DecimalMM()},
		Grade: seasonsJSON{string(fit.GradeNow), string(fit.GradeLater)}, Valid: m.greatest.Valid, Mark: m.greatest.Mark, Notes: []string{},
	}
	text := []string{
		fmt.Sprintf("%s: the stock %s. A play of %s, %s, becomes %s, %s.", m.wood, changeBetween(style, m.least.Thickness, m.greatest.Thickness, "in thickness"), fine4(style, fit.PlayNow), fit.GradeNow, fine4(style, fit.PlayLater), fit.GradeLater),
		fmt.Sprintf("Moisture from %s to %s. %s", now.word(), later.word(), m.how),
	}
	if groove.Length == 0 {
		text[1] += fmt.Sprintf(" The dado is taken as %s, the middle of snug now.", style.Fine(floor))
	}
	if width.Length > 0 {
		d.WidthMM = m.greatest.Width.DecimalMM()
		free := "leave that free."
		if m.solid {
			free = "sides of the same wood move with it; in sides of plywood leave that free at the back and glue the shelf at its front only."
		}
		text = append(text, fmt.Sprintf("The width of %s %s: %s", width, changeBetween(style, m.least.Width, m.greatest.Width, ""), free))
	}
	text = append(text, "The dado does not move: its width runs along the grain of the side.")
	switch {
	case m.greatest.Thickness == 0:
		text = append(text, "No change: fit it as it is.")
	case both.Empty():
		d.Notes = append(d.Notes, "no-width-in-both")
		thickerWhen := "now"
		if fit.FitForLater {
			thickerWhen = "later"
		}
		text = append(text, fmt.Sprintf("No width is snug in both seasons: the change is more than snug allows (%s). Fit for the season in which it is thicker, that is %s; let the wood come to the moisture of its place first.", style.Fine(grades.SnugTo-grades.SnugFrom), thickerWhen))
	default:
		d.BothMM = &rangeJSON{both.Lo.DecimalMM(), both.Hi.DecimalMM()}
		season := "It is thicker now: fit it now; later it only gets looser."
		if fit.FitForLater {
			season = "It is thicker later: fit it for then."
		}
		text = append(text, fmt.Sprintf("%s Snug in both seasons: a dado of %s to %s, that is /stack with aim:%s.", season, style.FineBare(both.Lo), style.Fine(both.Hi), aimText(style, both.Mid()-thick.Length)))
	}
	if !m.greatest.Valid {
		d.Notes = append(d.Notes, "outside-range")
		text = append(text, fmt.Sprintf("Warning: the formula is given for %.0f to %.0f %%; outside that these figures are rough.", solver.DriestValid, solver.WettestValid))
	}
	text = append(text, m.source)
	return Reply{Text: lines(text...), Data: d}, nil
}

// movedStock is how the stock moves: alike in least and greatest, except for
// plywood of unknown plies.
type movedStock struct {
	wood            string
	solid           bool
	least, greatest solver.Movement
	how, source     string
}

func moved(a args, thick, width solver.Length, now, later climate) (movedStock, error) {
	name := strings.ToLower(strings.TrimSpace(a["wood"]))
	if rest, is := strings.CutPrefix(name, plywood); is {
		return movedPlywood(rest, thick, width, now, later)
	}
	wood, err := species("wood", a["wood"])
	if err != nil {
		return movedStock{}, err
	}
	sawn, how := solver.Flatsawn, "Flatsawn stock moves radially in thickness, tangentially in width."
	coefficient := wood.Radial
	if a["sawn"] == "quartersawn" {
		sawn, how, coefficient = solver.Quartersawn, "Quartersawn stock moves tangentially in thickness, radially in width.", wood.Tangential
	}
	m, ok := solver.Move(wood, sawn, thick, width, now.moisture, later.moisture)
	if !ok {
		return movedStock{}, fmt.Errorf("no movement from %g to %g %%", now.moisture, later.moisture)
	}
	return movedStock{
		wood: wood.Name, solid: true, least: m, greatest: m, how: how,
		source: fmt.Sprintf("Coefficient %g a percent [%s], USDA Wood Handbook, eq. 13-2 and Table 13-5; moisture from air by its eq. 4-5, within 0.07 of Table 4-2. A board is not a formula: measure.", coefficient, markWords[wood.CoefficientMark]),
	}, nil
}

func movedPlywood(plies string, thick, width solver.Length, now, later climate) (movedStock, error) {
	if !now.hasAir || !later.hasAir {
		return movedStock{}, &UserError{Option: "humidity-now", Message: "Plywood is told by the air: give temperature and humidity now and later.", Hint: "temperature-now:70F humidity-now:40 temperature-later:70F humidity-later:65"}
	}
	out := movedStock{
		wood: "Plywood", how: "Plywood moves in thickness about like solid wood, radially.",
		source: "Width by 0.0002 for each 10 % of humidity [read second-hand, a trade association]; thickness [from memory, check it]. Measure yours.",
	}
	least, greatest := solver.RadialRange()
	if strings.TrimSpace(plies) != "" {
		wood, err := species("wood", plies)
		if err != nil {
			return out, err
		}
		out.wood = "Plywood of " + wood.Name
		least, greatest = wood.Radial, wood.Radial
	}
	for _, r := range []struct {
		radial float64
		to     *solver.Movement
	}{{least, &out.least}, {greatest, &out.greatest}} {
		m, ok := solver.MovePlywood(solver.Species{Radial: r.radial}, thick, width, now.air, later.air)
		if !ok {
			return out, fmt.Errorf("no movement of plywood from %v to %v", now.air, later.air)
		}
		*r.to = m
	}
	if least != greatest {
		out.how += " Its plies are unknown: the play is for the most that any wood moves."
	}
	return out, nil
}

// changeBetween is "grows by 0.0054 in in thickness", or a range of it.
func changeBetween(style solver.Style, least, greatest solver.Length, where string) string {
	word := "grows"
	if greatest < 0 {
		word = "shrinks"
	}
	by := fine4(style, greatest.Abs())
	if least != greatest {
		by = fine4(style, least.Abs()) + " to " + by
	}
	return strings.TrimSpace(fmt.Sprintf("%s by %s %s", word, by, where))
}

// fine4 is a figure of movement: a place more than a caliper reads, so that small
// changes still add up.
func fine4(style solver.Style, l solver.Length) string {
	if style.Unit == solver.MillimetreUnit {
		return fmt.Sprintf("%.3f mm", l.MM())
	}
	return fmt.Sprintf("%.4f in", l.Inches())
}

func aimText(style solver.Style, aim solver.Length) string {
	if style.Unit == solver.MillimetreUnit {
		return style.FineBare(aim) + "mm"
	}
	return style.FineBare(aim) + "in"
}

func round2(f float64) float64 { return math.Round(f*100) / 100 }
