package drawing

import (
	"fmt"
	"strconv"
	"strings"
)

// String is the scene as text, one shape a line: for tests and for reading.
func (s Scene) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %s x %s mm\nalt: %s\n", s.Name, num(s.Width), num(s.Height), s.Alt)
	for _, v := range s.Views {
		fmt.Fprintf(&b, "\n%s at %s,%s", v.Name, num(v.X), num(v.Y))
		if v.ScaleX != 1 || v.ScaleY != 1 {
			fmt.Fprintf(&b, " scale %s across, %s down", num(v.ScaleX), num(v.ScaleY))
		}
		b.WriteByte('\n')
		for _, shape := range v.Shapes {
			b.WriteString("  " + line(shape) + "\n")
		}
	}
	return b.String()
}

func line(shape Shape) string {
	var words []string
	say := func(format string, a ...any) { words = append(words, fmt.Sprintf(format, a...)) }
	switch s := shape.(type) {
	case Rect:
		say("rect %s", s.What)
		say("%s,%s %sx%s", num(s.X), num(s.Y), num(s.W), num(s.H))
		say("%s", paint(s.Fill, s.Line))
		if s.Stands != 0 {
			say("stands for %s mm", s.Stands.DecimalMM())
		}
	case Line:
		say("line %s", s.What)
		say("%s,%s to %s,%s %s %s thick", num(s.X0), num(s.Y0), num(s.X1), num(s.Y1), s.Role, num(s.Thick))
		if s.Dashed {
			say("dashed")
		}
	case Poly:
		say("poly %s", s.What)
		for _, p := range s.Points {
			say("%s,%s", num(p.X), num(p.Y))
		}
		say("%s", paint(s.Fill, s.Line))
	case Circle:
		say("circle %s", s.What)
		say("%s,%s r %s %s", num(s.X), num(s.Y), num(s.R), paint(s.Fill, s.Line))
	case Text:
		say("text %q", s.Text)
		say("%s,%s %s size %s %s", num(s.X), num(s.Y), []string{"start", "middle", "end"}[s.Anchor], num(s.Size), s.Role)
		if s.Bold {
			say("bold")
		}
	}
	return strings.Join(words, " ")
}

func paint(fill, line Role) string {
	switch {
	case fill == None:
		return "outlined " + line.String()
	case line == None:
		return fill.String()
	}
	return fill.String() + " outlined " + line.String()
}

// num has at most three decimals: a micrometre where the view is to scale.
func num(v float64) string {
	out := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
	if out == "-0" {
		return "0"
	}
	return out
}

// String is the role's name.
func (r Role) String() string {
	return [roles]string{
		"none", "ground", "ink", "quiet", "measure", "steel", "inner", "carbide", "shim",
		"board", "panel", "band", "badge", "on-badge",
	}[r]
}
