package solver

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"
)

// Measure is one reading: the exact length, the unit it was given in (or, bare,
// was taken to be in), how it was written, and the text itself without what
// surrounds it.
type Measure struct {
	Length   Length
	Unit     Unit
	Notation Notation
	Text     string
}

// String is the reading as typed, with the unit added where it was bare. A
// measure without text is written in its unit and notation.
func (m Measure) String() string {
	switch {
	case m.Text == "":
		return Style{m.Unit, m.Notation}.Size(m.Length)
	case isBare(m.Text):
		return m.Text + " " + m.Unit.String()
	}
	return m.Text
}

func isBare(text string) bool {
	for _, g := range fold(text) {
		if isUnitRune(g.r) {
			return false
		}
	}
	return true
}

// Range is the inclusive bench limits of an option. Zero and negative lengths
// are refused as such unless Min is zero, or negative.
type Range struct{ Min, Max Length }

// StockRange is what can be stock [shop]: from 1/16 in, less than any panel let
// into a dado, to 2 1/2 in, a bench leg. It is also what tells the units apart:
// the millimetres of common panels (3, 18) are too thick in inches, and their
// inches (0.703) too thin in millimetres.
var StockRange = Range{Min: Inch / 16, Max: 5 * Inch / 2}

// examples are good readings by size: in a shop of inches, and of millimetres.
// All of one line have to lie in the range of the option they are shown for.
var examples = []struct{ inch, mm string }{
	{"23/32, 0.703 or 17.9mm", "17.9, 18.2 or 23/32in"},
	{"1/4, 0.250 or 6.4mm", "6.4, 6 or 1/4in"},
	{"0.010 or 0.25mm", "0.25 or 0.010in"},
	{"8 or 203mm", "203 or 8in"},
}

// example is what to type, for a range and a member's unit.
func (r Range) example(bare Unit) string {
	for _, e := range examples {
		text := e.inch
		if bare == MillimetreUnit {
			text = e.mm
		}
		good := true
		for _, w := range splitReadings(strings.ReplaceAll(text, " or", ",")) {
			l, bad := w.length(bare)
			good = good && bad == nil && r.holds(l)
		}
		if good {
			return text
		}
	}
	return Style{bare, Fractions}.SizeBare(r.Max)
}

func (r Range) holds(d decimal.Decimal) bool {
	return d.Cmp(decimal.NewFromInt(int64(r.Min))) >= 0 && d.Cmp(decimal.NewFromInt(int64(r.Max))) <= 0
}

// MeasureError says what is wrong with one reading. Text is what was typed, cut
// where it is long; Index is the reading's place in a list of several, from 1,
// else 0; Problem is whole sentences that name the text; Hint shows what to type
// instead: "18mm", or a few good readings, "23/32, 0.703 or 17.9mm".
type MeasureError struct {
	Text    string
	Index   int
	Problem string
	Hint    string
}

// Error is the problem.
func (e *MeasureError) Error() string { return e.Problem }

// ParseMeasure reads one measurement; a number without a unit is in the unit
// bare. What is read, in the words of a regular grammar after fold:
//
//	[whole (space | -)] num/den, den a power of two from 2 to 512
//	digits [(. | ,) digits] or (. | ,) digits
//
// each with in, inch, inches, ", mm, cm or their long names after it or not. The
// length is exact or refused. The error is a *MeasureError.
func ParseMeasure(text string, bare Unit, r Range) (Measure, error) {
	written := splitReadings(clipped(text))
	switch len(written) {
	case 0:
		return Measure{}, &MeasureError{Text: shown(text), Problem: "No measurement was given.", Hint: r.example(bare)}
	case 1:
		m, bad := written[0].measure(bare, r)
		if bad != nil {
			return Measure{}, bad
		}
		return m, nil
	}
	return Measure{}, &MeasureError{
		Text: shown(text), Hint: r.example(bare),
		Problem: fmt.Sprintf("%s is %d readings, and one is wanted here.", shown(text), len(written)),
	}
}

// maxReading is the longest reading, in characters: more than 2.00000000 inches
// could ever need.
const maxReading = 40

// clipped is enough of a text to tell that it is too long for one reading.
func clipped(text string) string {
	if utf8.RuneCountInString(text) <= MaxListText {
		return text
	}
	return string([]rune(text)[:MaxListText])
}

// shown is a text as a message can carry it: one line, printable, cut.
func shown(text string) string {
	var b strings.Builder
	n := 0
	for _, r := range strings.TrimSpace(text) {
		if unicode.Is(unicode.Cf, r) && r != '\u200b' {
			continue // reads as nothing, so it shows as nothing
		}
		if n == maxReading {
			return b.String() + "..."
		}
		n++
		if unicode.IsSpace(r) || !unicode.IsPrint(r) {
			r = ' '
		}
		b.WriteRune(r)
	}
	return b.String()
}

type unitName struct {
	unit Unit
	one  Length
}

// unitNames are the names that are read, and the length of one of each.
var unitNames = map[string]unitName{
	`"`: {InchUnit, Inch}, "''": {InchUnit, Inch}, "in": {InchUnit, Inch}, "ins": {InchUnit, Inch},
	"inch": {InchUnit, Inch}, "inches": {InchUnit, Inch},
	"mm": {MillimetreUnit, Millimetre}, "millimetre": {MillimetreUnit, Millimetre},
	"millimetres": {MillimetreUnit, Millimetre}, "millimeter": {MillimetreUnit, Millimetre},
	"millimeters": {MillimetreUnit, Millimetre},
	"cm":          {MillimetreUnit, 10 * Millimetre}, "centimetre": {MillimetreUnit, 10 * Millimetre},
	"centimetres": {MillimetreUnit, 10 * Millimetre}, "centimeter": {MillimetreUnit, 10 * Millimetre},
	"centimeters": {MillimetreUnit, 10 * Millimetre},
}

// refusedUnits are understood, and not taken.
var refusedUnits = map[string]string{
	"'": "feet", "ft": "feet", "foot": "feet", "feet": "feet",
	"m": "metres", "metre": "metres", "metres": "metres", "meter": "metres", "meters": "metres",
}

var (
	fractionForm = regexp.MustCompile(`^(-?)(?:(\d+)[ -])?(\d+)/(\d+)$`)
	glyphForm    = regexp.MustCompile(`^(-?)(?:(\d+)[ -]?)?\{(\d+)/(\d+)\}$`)
	decimalForm  = regexp.MustCompile(`^-?(?:\d+(?:[.,]\d+)?|[.,]\d+)$`)
	exponentForm = regexp.MustCompile(`^e[-+]?\d+$`)
	gluedForm    = regexp.MustCompile(`^(?:"|''|in|inch|inches|mm|cm)[-.,\d{]`)
)

// measure is the reading as a length in r. An error has no Index.
func (w written) measure(bare Unit, r Range) (Measure, *MeasureError) {
	fail := func(problem, hint string) (Measure, *MeasureError) {
		if hint == "" {
			hint = r.example(bare)
		}
		return Measure{}, &MeasureError{Text: shown(w.text), Problem: problem, Hint: hint}
	}
	most := maxReading
	if w.unit != "" {
		most += len(" mm") // the longest bare one is printed with its unit, and reads back
	}
	if utf8.RuneCountInString(w.text) > most {
		return fail(fmt.Sprintf("%s is too long; a reading has at most %d characters.", shown(w.text), maxReading), "")
	}
	length, bad := w.length(bare)
	if bad != nil {
		hint := ""
		if bad.nearest != 0 && r.holds(decimal.NewFromInt(int64(bad.nearest))) {
			hint = Style{InchUnit, Fractions}.SizeBare(bad.nearest) + "in"
		}
		return fail(bad.problem, hint)
	}
	m := Measure{Unit: bare, Text: w.text}
	if w.unit != "" {
		m.Unit = w.unitOf(bare).unit
	} else if w.last {
		m.Text = strings.TrimRight(w.text, ".．") // a full stop
	}
	if w.isFraction() {
		m.Notation = Fractions
	}
	name := shown(m.String())
	switch {
	case length.IsZero() && r.Min > 0:
		return fail(fmt.Sprintf("%s is zero; a measurement here is more than that.", name), "")
	case length.IsNegative() && r.Min >= 0:
		return fail(fmt.Sprintf("%s is negative; a measurement here is not.", name), "")
	}
	if w.unit == "" {
		if problem, hint := w.doubt(m, length, bare, r); problem != "" {
			return fail(problem, hint)
		}
	}
	if !r.holds(length) {
		return fail(r.outside(name, length, m.Unit)+".", "")
	}
	if !length.IsInteger() {
		return fail(fmt.Sprintf("%s has more decimals than are kept exactly, 8 in inches and 9 in millimetres.", name), "")
	}
	m.Length = Length(length.IntPart())
	return m, nil
}

// outside says how a length lies outside the range, in the unit it was given in.
func (r Range) outside(name string, length decimal.Decimal, u Unit) string {
	s := Style{u, Fractions}
	if length.Cmp(decimal.NewFromInt(int64(r.Min))) < 0 {
		return fmt.Sprintf("%s is under the smallest taken here, %s", name, s.Size(r.Min))
	}
	return fmt.Sprintf("%s is over the largest taken here, %s", name, s.Size(r.Max))
}

// doubt is the question to ask where a bare number makes no sense in the
// member's unit, and what answers it. A fraction is no millimetre reading, even
// where its length would do.
func (w written) doubt(m Measure, length decimal.Decimal, bare Unit, r Range) (problem, hint string) {
	meant := w
	meant.unit = bare.other().String()
	hint = shown(m.Text) + meant.unit
	swapped, bad := meant.length(bare)
	fits := bad == nil && swapped.IsInteger() && r.holds(swapped)
	switch {
	case m.Notation == Fractions && bare == MillimetreUnit:
		if !fits {
			hint = ""
			if r.holds(length) {
				hint = length.Shift(-9).String() + "mm"
			}
			return fmt.Sprintf("%s has no unit, and millimetres are not written as fractions.", shown(m.Text)), hint
		}
		problem = fmt.Sprintf("%s has no unit, and millimetres are not written as fractions", shown(m.Text))
	case m.Notation == Fractions && length.Cmp(decimal.NewFromInt(int64(bare.one()))) < 0:
		return "", "" // nobody writes 1/8 mm; 17 1/2 is another matter
	case fits && !r.holds(length):
		problem = r.outside(shown(m.String()), length, bare)
	default:
		return "", ""
	}
	return fmt.Sprintf("%s. Did you mean %s %s? Write %s.", problem, shown(m.Text), meant.unit, hint), hint
}

// flaw is what keeps a reading from being a length; nearest is not zero where a
// length on a rule is close.
type flaw struct {
	problem string
	nearest Length
}

func (w written) unitOf(bare Unit) unitName {
	u, ok := unitNames[strings.TrimSuffix(w.unit, ".")]
	if !ok {
		u.unit, u.one = bare, bare.one()
	}
	return u
}

func (w written) isFraction() bool { return strings.Contains(w.number, "/") }

// digits is the number without a full stop or the hyphen of 3/4-inch.
func (w written) digits() string {
	number := w.number
	if len(number) > 1 && w.unit != "" {
		number = strings.TrimSuffix(number, "-")
	}
	if len(number) > 1 && (w.unit != "" || w.last) {
		number = strings.TrimSuffix(number, ".")
	}
	return number
}

// length is the reading in picometres, of any size and not always whole.
func (w written) length(bare Unit) (decimal.Decimal, *flaw) {
	if problem := w.badUnit(); problem != "" {
		return decimal.Zero, &flaw{problem: problem}
	}
	number, one := w.digits(), w.unitOf(bare).one
	match := fractionForm.FindStringSubmatch(number)
	if match == nil {
		match = glyphForm.FindStringSubmatch(number)
	}
	switch {
	case match != nil:
		return w.fraction(match[1], match[2], match[3], match[4], one)
	case strings.HasPrefix(number, ",") && !w.first || !decimalForm.MatchString(number):
		return decimal.Zero, &flaw{problem: w.badNumber(number)}
	}
	d, err := decimal.NewFromString(strings.Replace(number, ",", ".", 1))
	if err != nil {
		return decimal.Zero, &flaw{problem: fmt.Sprintf("%s is not a measurement.", shown(w.text))}
	}
	return d.Mul(decimal.NewFromInt(int64(one))), nil
}

// fraction is sign(whole num/den) in units of one.
func (w written) fraction(sign, whole, num, den string, one Length) (decimal.Decimal, *flaw) {
	n, d, unitsWhole := bigInt(num), bigInt(den), bigInt(whole)
	text := shown(w.text)
	switch {
	case d.Sign() == 0:
		return decimal.Zero, &flaw{problem: text + " is a fraction by zero."}
	case whole != "" && n.Cmp(d) >= 0:
		return decimal.Zero, &flaw{problem: fmt.Sprintf(
			"%s has a fraction of 1 or more after a whole number. Two readings have a semicolon between them.", text)}
	}
	n.Add(n, unitsWhole.Mul(unitsWhole, d))
	if sign != "" {
		n.Neg(n)
	}
	if !onRule(d) {
		return decimal.Zero, w.offRule(new(big.Rat).SetFrac(n, d), one)
	}
	part := int64(one) / d.Int64() // whole: every unit is a multiple of 512 pm
	return decimal.NewFromBigInt(n, 0).Mul(decimal.NewFromInt(part)), nil
}

func bigInt(digits string) *big.Int {
	n := new(big.Int)
	if digits != "" {
		n.SetString(digits, 10)
	}
	return n
}

// onRule says whether 1/den in is a division of a rule: 2, 4, ... 512.
func onRule(den *big.Int) bool {
	d := den.Int64()
	return den.IsInt64() && d >= 2 && d <= 512 && d&(d-1) == 0
}

func (w written) offRule(value *big.Rat, one Length) *flaw {
	text := shown(w.text)
	if one != Inch && w.unit != "" {
		return &flaw{problem: text + " is not a division of a rule; millimetres are written as decimals."}
	}
	if w.unit == "" {
		text += " in"
	}
	problem := text + " is not on a rule, which has 1/2 to 1/512"
	bench := big.NewRat(1000, 1) // far more than any option takes, and small enough to round
	nearest := Length(0)
	if value.Cmp(bench) < 0 && value.Cmp(new(big.Rat).Neg(bench)) > 0 {
		of128 := roundRat(value, 128) // roundRat gives value in 128ths
		nearest = of128 * (Inch / 128)
	}
	if nearest == 0 {
		return &flaw{problem: problem + "."}
	}
	return &flaw{problem + "; the nearest 1/128 is " + Style{InchUnit, Fractions}.SizeBare(nearest) + ".", nearest}
}

// badUnit says what is wrong with what follows the number, "" if nothing.
func (w written) badUnit() string {
	text, unit := shown(w.text), strings.TrimSuffix(w.unit, ".")
	_, known := unitNames[unit]
	switch {
	case w.number == "" && known:
		return text + " is a unit without a number before it."
	case w.unit == "" || known && w.number != "":
		return ""
	case w.number == "":
		return text + " is not a measurement."
	case refusedUnits[unit] == "metres":
		return text + " is in metres; sizes here are in millimetres or inches."
	case refusedUnits[unit] != "":
		return text + " is in feet; sizes here are in inches or millimetres."
	case exponentForm.MatchString(w.unit):
		return text + " has an exponent; a measurement is written in plain digits."
	case gluedForm.MatchString(w.unit):
		return text + " runs into the next reading; put a space or a semicolon between them."
	case strings.Trim(unit, "abcdefghijklmnopqrstuvwxyz") == "":
		return "In " + text + ", the word after the number is not a unit known here; in, mm and cm are."
	}
	return text + " is not a measurement."
}

// badNumber says what is wrong with a number that has none of the forms.
func (w written) badNumber(number string) string {
	text := shown(w.text)
	commas, points := strings.Count(number, ","), strings.Count(number, ".")
	switch {
	case isWhole(strings.TrimSuffix(number, ".")):
		return text + " ends in a point with another reading after it; leave the point out."
	case commas > 0:
		return text + " can be read in two ways. Put a space after a comma between readings; " +
			"a comma between digits is a decimal point."
	case strings.Contains(strings.TrimLeft(number, "-"), "-"):
		return text + " has a dash that joins two numbers; put a space between readings."
	case points > 1:
		return text + " has more than one decimal point."
	case points > 0 && strings.ContainsAny(number, "/{"):
		return text + " has a decimal inside a fraction."
	}
	return text + " is not a measurement."
}
