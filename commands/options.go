package commands

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// Bench limits of the options that are lengths [shop]. They also tell the units apart.
var (
	depthRange    = solver.Range{Min: solver.Inch / 32, Max: 2 * solver.Inch}
	grooveRange   = solver.Range{Min: solver.Inch / 32, Max: 4 * solver.Inch}
	aimRange      = solver.Range{Min: -10 * solver.Mil, Max: solver.Inch / 16}
	partRange     = solver.Range{Min: solver.Inch / 64, Max: solver.Inch}
	shimRange     = solver.Range{Min: solver.Mil / 2, Max: solver.Inch / 16}
	diameterRange = solver.Range{Min: 4 * solver.Inch, Max: 20 * solver.Inch}
	arborRange    = solver.Range{Min: 0, Max: 3 * solver.Inch}
)

// examples are right values of the options for which a thickness of stock would
// be a strange example.
var examples = map[string]string{
	"depth": "1/4 or 6mm", "aim": "0.004 or 0.1mm", "arbor": "13/16 or 20mm", "insert": "7/8 or 22mm",
	"pair": "1/4 or 6.4mm", "kerf": "1/8 or 3.2mm", "plate": "0.090 or 2.2mm", "tooth": "0.125 or 3.2mm",
	"chippers": `"4 x 1/8, 3/32, 1/16"`, "shims": `"2 x 0.004, 2 x 0.010"`,
	"height": "36 or 900mm", "case-depth": "11 1/2 or 290mm", "step": "1 or 25mm", "kick": "3 or 80mm", "openings": "12, 10, rest",
	"teeth": "24", "chipper-teeth": "4", "speed": "4000", "max-speed": "7000",
}

// readings reads the stock option: one reading or several.
func (s *session) readings(a args, option string) ([]solver.Measure, error) {
	all, err := solver.ParseReadings(a[option], s.style.Unit, solver.StockRange)
	return all, measureError(option, err)
}

// length reads an option that is one length; the zero measure where it is not given.
func (s *session) length(a args, option string, r solver.Range) (solver.Measure, error) {
	if strings.TrimSpace(a[option]) == "" {
		return solver.Measure{}, nil
	}
	m, err := solver.ParseMeasure(a[option], s.style.Unit, r)
	return m, measureError(option, err)
}

// measureError turns the parser's word into one for the member.
func measureError(option string, err error) error {
	var bad *solver.MeasureError
	if !errors.As(err, &bad) {
		return err
	}
	hint := bad.Hint
	switch {
	case hint != "" && strings.Contains(bad.Problem, hint):
		hint = option + ":" + bad.Hint
	case examples[option] != "":
		hint = "For instance " + option + ":" + examples[option]
	case hint != "":
		hint = "For instance " + option + ":" + hint
	}
	return &UserError{Option: option, Message: bad.Problem, Hint: hint}
}

// whole reads an option that is a whole number within limits; def where not given.
func whole(a args, option string, lo, hi, def int) (int, error) {
	text := strings.TrimSpace(a[option])
	if text == "" {
		return def, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < lo || n > hi {
		return 0, &UserError{Option: option, Message: fmt.Sprintf("%s is a whole number from %d to %d, not %q.", option, lo, hi, clip(text, 20)), Hint: option + ":" + wholeExample(option, max(lo, min(hi, def)))}
	}
	return n, nil
}

func wholeExample(option string, def int) string {
	if e := examples[option]; e != "" {
		return e
	}
	return strconv.Itoa(def)
}

func yes(a args, option string) bool { return a[option] == "yes" }

// name reads the name option: a name of the shop's own choice.
func name(a args) (string, error) {
	const option = "name"
	text := clip(a[option], maxLine)
	switch {
	case text == "":
		return "", &UserError{Option: option, Message: "The name is empty.", Hint: option + `:"Blue case"`}
	case len([]rune(text)) > maxName:
		return "", &UserError{Option: option, Message: fmt.Sprintf("That name is longer than %d characters.", maxName), Hint: option + `:"Blue case"`}
	}
	return text, nil
}

// byName finds the one record that a member means: the whole name without regard
// to case, else the only one that begins so.
func byName[T any](all []T, nameOf func(T) string, wanted string) (T, bool) {
	var found T
	wanted = strings.ToLower(clip(wanted, 100))
	hits := 0
	for _, x := range all {
		n := strings.ToLower(nameOf(x))
		if n == wanted {
			return x, true
		}
		if wanted != "" && strings.HasPrefix(n, wanted) {
			found, hits = x, hits+1
		}
	}
	return found, hits == 1
}

func setName(s storage.Set) string { return s.Name }
func sawName(s storage.Saw) string { return s.Name }

// setNamed finds a set of the shop by name.
func (s *session) setNamed(wanted string) (storage.Set, error) {
	all, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return storage.Set{}, err
	}
	set, ok := byName(all, setName, wanted)
	if !ok {
		return storage.Set{}, notNamed("set", wanted, all, setName)
	}
	return set, nil
}

// sawNamed finds a saw of the shop by name.
func (s *session) sawNamed(wanted string) (storage.Saw, error) {
	all, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return storage.Saw{}, err
	}
	saw, ok := byName(all, sawName, wanted)
	if !ok {
		return storage.Saw{}, notNamed("saw", wanted, all, sawName)
	}
	return saw, nil
}

func notNamed[T any](kind, wanted string, all []T, nameOf func(T) string) *UserError {
	var names []string
	for _, x := range all[:min(len(all), 8)] {
		names = append(names, nameOf(x))
	}
	hint := "/" + kind + " add adds one."
	if len(names) > 0 {
		hint = fmt.Sprintf("%s:%q", kind, names[0])
	}
	return &UserError{Option: kind, Message: fmt.Sprintf("This shop has no %s %q. It has: %s.", kind, clip(wanted, maxName), strings.Join(names, ", ")), Hint: hint}
}

func choicesOf[T any](all []T, nameOf func(T) string, typed string) []Choice {
	var out []Choice
	typed = strings.ToLower(strings.TrimSpace(typed))
	for _, x := range all {
		if n := nameOf(x); strings.Contains(strings.ToLower(n), typed) {
			out = append(out, Choice{Label: clip(n, 100), Value: clip(n, 100)})
		}
	}
	return out
}

func completeSets(s *session, typed string) ([]Choice, error) {
	all, err := s.app.Store.Sets(s, s.shop.ID)
	return choicesOf(all, setName, typed), err
}

func completeSaws(s *session, typed string) ([]Choice, error) {
	all, err := s.app.Store.Saws(s, s.shop.ID)
	return choicesOf(all, sawName, typed), err
}
