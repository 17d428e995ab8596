package solver

import "math"

// Share is a part of a whole, Num/Den.
type Share struct {
	Num int64 `json:"num"`
	Den int64 `json:"den"`
}

// Of is the share of a length, rounded down to a picometre.
func (s Share) Of(l Length) Length { return l * Length(s.Num) / Length(s.Den) }

// DepthRule is a shop's rule for the depth of a dado, as shares of the panel.
type DepthRule struct {
	From Share `json:"from"` // shallower than this holds little
	To   Share `json:"to"`   // deeper than this is more than usual
	Web  Share `json:"web"`  // at least so much must remain, under all dadoes together
}

// DefaultDepthRule is a third to a half of the panel, at least half remaining [cp].
func DefaultDepthRule() DepthRule { return DepthRule{Share{1, 3}, Share{1, 2}, Share{1, 2}} }

// DepthVerdict is what a rule says to a depth.
type DepthVerdict uint8

// The verdicts. Only DepthRefused is not to be cut.
const (
	DepthGood DepthVerdict = iota
	DepthShallow
	DepthDeep    // more than usual, yet enough remains
	DepthRefused // too little would remain, or nothing is cut
)

// DepthCheck is a depth held against a rule.
type DepthCheck struct {
	Web, MinWeb Length // what remains, and what must remain at least
	// From and To are the usual depths of this panel. For two dadoes that face
	// each other each has half of To, and From is at most that.
	From, To Length
	Verdict  DepthVerdict
}

// CheckDepth holds the depth of a dado in a panel against the rule.
func CheckDepth(depth, panel Length, rule DepthRule) DepthCheck {
	c := rule.of(panel)
	c.Web = panel - depth
	c.Verdict = c.verdict(depth, depth)
	return c
}

// CheckBothFaces holds dadoes in both faces of one panel against the rule. Where
// they face each other they share what may be taken: a quarter of the panel each
// under the usual rule. Offset along the panel, each stands alone, and the web is
// that under the deeper one.
func CheckBothFaces(a, b, panel Length, offset bool, rule DepthRule) DepthCheck {
	c := rule.of(panel)
	if offset {
		c.Web = panel - max(a, b)
	} else {
		c.Web = panel - a - b
		c.To /= 2
		c.From = min(c.From, c.To)
	}
	c.Verdict = c.verdict(min(a, b), max(a, b))
	return c
}

func (r DepthRule) of(panel Length) DepthCheck {
	return DepthCheck{MinWeb: r.Web.Of(panel), From: r.From.Of(panel), To: r.To.Of(panel)}
}

func (c DepthCheck) verdict(shallower, deeper Length) DepthVerdict {
	switch {
	case shallower <= 0 || c.Web < c.MinWeb || c.Web <= 0:
		return DepthRefused
	case deeper > c.To:
		return DepthDeep
	case shallower < c.From:
		return DepthShallow
	}
	return DepthGood
}

// UsualDepth is the depth to propose where none is given: 1/4 in, or 6 mm, in
// panels about 3/4 in thick where that keeps the rule, else the middle of the
// rule's range rounded down to 1/32 in, or 0.5 mm [cp], or to a half, a quarter and
// so on of that where it would fall below the range.
func UsualDepth(panel Length, unit Unit, rule DepthRule) Length {
	usual, step := Inch/4, Inch/32
	if unit == MillimetreUnit {
		usual, step = 6*Millimetre, Millimetre/2
	}
	if CheckDepth(usual, panel, rule).Verdict == DepthGood {
		return usual
	}
	c := rule.of(panel)
	middle := (c.From + c.To) / 2
	for step > Picometre && middle-middle%step < c.From {
		step /= 2
	}
	return middle - middle%step
}

// DefaultBite is the deepest that one pass is cut [shop]; deep dadoes, and saws
// short of power, take several [sec].
const DefaultBite = Inch / 4

// DepthPasses is the depth to set for each pass of at most bite, the passes
// alike, each rounded to the nearest picometre; the last is the depth itself. It
// is empty where depth or bite is not positive.
func DepthPasses(depth, bite Length) []Length {
	if depth <= 0 || bite <= 0 {
		return nil
	}
	n := (depth + bite - 1) / bite
	out := make([]Length, 0, n)
	for i := Length(1); i <= n; i++ {
		out = append(out, (2*i*depth+n)/(2*n))
	}
	return out
}

// PaperThickness is about that of printer paper, 0.004 in; check yours [cp].
const PaperThickness = 4 * Mil

// TongueLength is how far a tongue, or the end of a shelf, reaches into a dado:
// less than its depth by about a paper's thickness, so that glue has somewhere to
// go [sec]. It is zero where the dado is no deeper than the paper.
func TongueLength(depth, paper Length) Length { return max(0, depth-paper) }

// RunOut is how long the curved end of a stopped dado is, sqrt(2 R d - d^2) for a
// set of radius R and a dado of depth d, to float precision. The second result is
// false where the depth is not between zero and the radius.
func RunOut(diameter, depth Length) (Length, bool) {
	if depth <= 0 || depth > diameter/2 {
		return 0, false
	}
	d, full := depth.Inches(), diameter.Inches()
	return InchesFloat(math.Sqrt(d * (full - d))), true
}
