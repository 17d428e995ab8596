package solver

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// PartCount is one entry of a list of pieces as typed: how many, of what size, and
// what they are made of where that was said.
type PartCount struct {
	N        int
	Size     Measure
	Material Material
}

var (
	countFirst = regexp.MustCompile(`^(\d{1,2})\s*[xX×*]\s*(.+)$`)
	countLast  = regexp.MustCompile(`^(.+?)\s*[xX×*]\s*(\d{1,2})$`)
	madeOf     = regexp.MustCompile(`^(.+?)\s+(?i:(steel|brass|plastic|paper|tape|lid))$`)
)

// ParseParts reads a list of pieces: "4 x 1/8, 3/32, 1/16", "2 x 0.004 brass".
// Entries are separated by a semicolon, a line break, or a comma that does not
// stand between digits. The error is a *MeasureError that names the entry.
func ParseParts(text string, bare Unit, r Range) ([]PartCount, error) {
	var out []PartCount
	entries := splitParts(text)
	for i, entry := range entries {
		p := PartCount{N: 1}
		rest := entry
		if m := madeOf.FindStringSubmatch(rest); m != nil {
			rest, p.Material = m[1], Material(strings.ToLower(m[2]))
		}
		if m := countFirst.FindStringSubmatch(rest); m != nil {
			p.N, _ = strconv.Atoi(m[1])
			rest = m[2]
		} else if m := countLast.FindStringSubmatch(rest); m != nil {
			p.N, _ = strconv.Atoi(m[2])
			rest = m[1]
		}
		if p.N < 1 {
			return nil, &MeasureError{Text: entry, Index: i + 1, Problem: fmt.Sprintf("Entry %d, %q, counts no piece.", i+1, shown(entry)), Hint: "2 x 1/8"}
		}
		size, err := ParseMeasure(rest, bare, r)
		if err != nil {
			bad, ok := err.(*MeasureError) //nolint:errorlint // ParseMeasure returns nothing else, unwrapped
			if ok && len(entries) > 1 {
				bad.Index = i + 1
				bad.Problem = fmt.Sprintf("Entry %d: %s", i+1, bad.Problem)
			}
			return nil, err
		}
		p.Size = size
		out = append(out, p)
	}
	return out, nil
}

func splitParts(text string) []string {
	var out []string
	runes := []rune(clipped(text))
	start := 0
	cut := func(end int) {
		if e := strings.TrimSpace(string(runes[start:end])); e != "" {
			out = append(out, e)
		}
		start = end + 1
	}
	for i, r := range runes {
		switch r {
		case ';', '\n':
			cut(i)
		case ',':
			between := i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1])
			if !between {
				cut(i)
			}
		}
	}
	cut(len(runes))
	return out
}
