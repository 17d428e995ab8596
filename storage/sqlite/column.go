package sqlite

import (
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"

	"shimwright/solver"
)

// The types here stand between a field of a record and its column, both ways:
// one list of fields serves a record's INSERT and its scan.

// asJSON keeps what V points to as JSON text.
type asJSON struct{ V any }

func (c asJSON) Value() (driver.Value, error) {
	text, err := json.Marshal(c.V)
	return string(text), err
}

func (c asJSON) Scan(src any) error {
	text, ok := src.(string)
	if !ok {
		return fmt.Errorf("JSON text expected, not %T", src)
	}
	return json.Unmarshal([]byte(text), c.V)
}

// asMillis keeps a time as unix milliseconds, and reads it back in UTC.
type asMillis struct{ T *time.Time }

func (c asMillis) Value() (driver.Value, error) { return c.T.UnixMilli(), nil }

func (c asMillis) Scan(src any) error {
	ms, ok := src.(int64)
	if !ok {
		return fmt.Errorf("unix milliseconds expected, not %T", src)
	}
	*c.T = time.UnixMilli(ms).UTC()
	return nil
}

// orNull keeps the empty string or the id 0 as NULL.
type orNull[T ~string | ~int64] struct{ V *T }

func (c orNull[T]) Value() (driver.Value, error) {
	var none T
	if *c.V == none {
		return nil, nil
	}
	return driver.DefaultParameterConverter.ConvertValue(*c.V)
}

func (c orNull[T]) Scan(src any) error {
	var none T
	switch src := src.(type) {
	case nil:
		*c.V = none
	case T:
		*c.V = src
	default:
		return fmt.Errorf("%T expected, not %T", none, src)
	}
	return nil
}

// asFolded writes a name without regard to case, and reads nothing.
type asFolded struct{ Name *string }

func (c asFolded) Value() (driver.Value, error) { return folded(*c.Name), nil }
func (c asFolded) Scan(any) error               { return nil }

// folded is the same for two names that differ by case alone: each character is
// the least of those that simple case folding holds equal.
func folded(name string) string {
	return strings.Map(func(r rune) rune {
		least := r
		for next := unicode.SimpleFold(r); next != r; next = unicode.SimpleFold(next) {
			least = min(least, next)
		}
		return least
	}, name)
}

// asUnit keeps a unit as "in" or "mm".
type asUnit struct{ U *solver.Unit }

func (c asUnit) Value() (driver.Value, error) { return c.U.String(), nil }

func (c asUnit) Scan(src any) (err error) {
	*c.U, err = unitNamed(src)
	return err
}

func unitNamed(name any) (solver.Unit, error) {
	switch name {
	case "in":
		return solver.InchUnit, nil
	case "mm":
		return solver.MillimetreUnit, nil
	}
	return 0, fmt.Errorf("unit in or mm expected, not %v", name)
}

var notationNames = map[solver.Notation]string{solver.Decimals: "decimal", solver.Fractions: "fraction"}

func notationNamed(name string) (solver.Notation, error) {
	for n, s := range notationNames {
		if s == name {
			return n, nil
		}
	}
	return 0, fmt.Errorf("notation decimal or fraction expected, not %q", name)
}

// asStyle keeps a style as "in fraction".
type asStyle struct{ S *solver.Style }

func (c asStyle) Value() (driver.Value, error) {
	return c.S.Unit.String() + " " + notationNames[c.S.Notation], nil
}

func (c asStyle) Scan(src any) error {
	text, _ := src.(string)
	unit, notation, _ := strings.Cut(text, " ")
	u, errUnit := unitNamed(unit)
	n, errNotation := notationNamed(notation)
	*c.S = solver.Style{Unit: u, Notation: n}
	return errors.Join(errUnit, errNotation)
}

// asStyleOrNull keeps no style as NULL.
type asStyleOrNull struct{ S **solver.Style }

func (c asStyleOrNull) Value() (driver.Value, error) {
	if *c.S == nil {
		return nil, nil
	}
	return asStyle{*c.S}.Value()
}

func (c asStyleOrNull) Scan(src any) error {
	if *c.S = nil; src == nil {
		return nil
	}
	*c.S = new(solver.Style)
	return asStyle{*c.S}.Scan(src)
}

// measureJSON is the form of a measure in the database.
type measureJSON struct {
	Text     string        `json:"text"`
	PM       solver.Length `json:"pm"`
	Unit     string        `json:"unit"`
	Notation string        `json:"notation"`
}

func toJSON(m solver.Measure) measureJSON {
	return measureJSON{Text: m.Text, PM: m.Length, Unit: m.Unit.String(), Notation: notationNames[m.Notation]}
}

func (j measureJSON) measure() (solver.Measure, error) {
	u, errUnit := unitNamed(j.Unit)
	n, errNotation := notationNamed(j.Notation)
	return solver.Measure{Length: j.PM, Unit: u, Notation: n, Text: j.Text}, errors.Join(errUnit, errNotation)
}

// asMeasure keeps a measure as JSON, and the zero one as NULL.
type asMeasure struct{ M *solver.Measure }

func (c asMeasure) Value() (driver.Value, error) {
	if *c.M == (solver.Measure{}) {
		return nil, nil
	}
	return asJSON{toJSON(*c.M)}.Value()
}

func (c asMeasure) Scan(src any) (err error) {
	if *c.M = (solver.Measure{}); src == nil {
		return nil
	}
	var j measureJSON
	if err := (asJSON{&j}).Scan(src); err != nil {
		return err
	}
	*c.M, err = j.measure()
	return err
}

// asMeasures keeps a list of measures as a JSON array.
type asMeasures struct{ M *[]solver.Measure }

func (c asMeasures) Value() (driver.Value, error) {
	list := make([]measureJSON, len(*c.M))
	for i, m := range *c.M {
		list[i] = toJSON(m)
	}
	return asJSON{list}.Value()
}

func (c asMeasures) Scan(src any) error {
	var list []measureJSON
	if err := (asJSON{&list}).Scan(src); err != nil {
		return err
	}
	*c.M = nil
	for _, j := range list {
		m, err := j.measure()
		if err != nil {
			return err
		}
		*c.M = append(*c.M, m)
	}
	return nil
}

// row is what a list of fields writes, for comparing before and after.
func row(fields []any) ([]driver.Value, error) {
	values := make([]driver.Value, len(fields))
	for i, f := range fields {
		v, err := driver.DefaultParameterConverter.ConvertValue(f)
		if err != nil {
			return nil, err
		}
		values[i] = v
	}
	return values, nil
}
