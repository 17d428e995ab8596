package drawing

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

func times(n int, what string) string {
	if n == 1 {
		return what
	}
	return fmt.Sprintf("%d x %s", n, what)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// degrees writes an angle to a hundredth: "22.5".
func degrees(d float64) string {
	return strings.TrimRight(strings.TrimRight(strconv.FormatFloat(d, 'f', 2, 64), "0"), ".")
}

func capitalised(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// clip keeps an alt text within AltMax.
func clip(alt string) string {
	if utf8.RuneCountInString(alt) <= AltMax {
		return alt
	}
	return string([]rune(alt)[:AltMax-3]) + "..."
}
