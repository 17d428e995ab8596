package solver

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// The most that one list may hold.
const (
	MaxReadings = 64
	// MaxListText is in characters: 64 readings of 30 fit.
	MaxListText = 2000
)

// ParseReadings reads a list of measurements, at most MaxReadings of them.
//
// Readings are separated by spaces, line ends, semicolons, or a comma with a
// space after it (after a unit the space may be missing). A whole number, a
// space and a fraction are one reading, 1 1/8; a comma between digits is a
// decimal point. A unit belongs to the number before it and to no other; numbers
// without one are in the unit bare.
//
// Either every reading is good or the error, a *MeasureError, names the first
// that is not, by its text and, where there are several, its place.
func ParseReadings(text string, bare Unit, r Range) ([]Measure, error) {
	if n := utf8.RuneCountInString(text); n > MaxListText {
		return nil, &MeasureError{
			Text: shown(text), Hint: r.example(bare),
			Problem: fmt.Sprintf("That list is %d characters long; at most %d are read.", n, MaxListText),
		}
	}
	written := splitReadings(text)
	if len(written) == 0 {
		return nil, &MeasureError{Text: shown(text), Problem: "No measurement was given.", Hint: r.example(bare)}
	}
	if len(written) > MaxReadings {
		return nil, &MeasureError{
			Text: shown(written[MaxReadings].text), Index: MaxReadings + 1, Hint: r.example(bare),
			Problem: fmt.Sprintf("That is a list of %d readings; at most %d are taken.", len(written), MaxReadings),
		}
	}
	measures := make([]Measure, 0, len(written))
	for i, w := range written {
		m, bad := w.measure(bare, r)
		if bad != nil {
			if len(written) > 1 {
				bad.Index = i + 1
				bad.Problem = fmt.Sprintf("Reading %d: %s", bad.Index, bad.Problem)
			}
			return nil, bad
		}
		measures = append(measures, m)
	}
	return measures, nil
}

// written is one reading cut out of what was typed.
type written struct {
	text   string // as typed
	number string // folded: digits and , . / - { } and one space in 1 1/8
	unit   string // folded: what follows the number
	// first and last tell its place between separators other than a space: 1. at
	// the end is a number with a full stop, before another it may number a line.
	first, last bool
}

// splitReadings cuts a text into readings; it drops nothing but separators.
func splitReadings(text string) []written {
	var all []written
	glyphs := fold(text)
	start := 0
	for i := range glyphs {
		if separates(glyphs, i) {
			all = append(all, readingsOf(text, glyphs[start:i])...)
			start = i + 1
		}
	}
	return append(all, readingsOf(text, glyphs[start:])...)
}

// separates says whether glyph i stands between readings, and is not a space.
func separates(glyphs []glyph, i int) bool {
	switch glyphs[i].r {
	case ';', '\n':
		return true
	case ',':
		if i+1 == len(glyphs) || strings.ContainsRune(" \n;,", glyphs[i+1].r) {
			return true
		}
		// After a unit or a ¾ a comma cannot be a decimal point.
		return i > 0 && (isUnitRune(glyphs[i-1].r) || glyphs[i-1].r == '}')
	}
	return false
}

func isUnitRune(r rune) bool { return r >= 'a' && r <= 'z' || r == '"' || r == '\'' }

// word is a run of glyphs without a space: a number, a unit, or both.
type word struct {
	number, unit string
	from, to     int
}

// readingsOf puts the words of one line together into readings.
func readingsOf(text string, line []glyph) []written {
	var all []written
	words := wordsOf(line)
	for i := 0; i < len(words); i++ {
		w := words[i]
		first := i == 0
		more := i+1 < len(words)
		if more && w.unit == "" && isWhole(strings.TrimPrefix(w.number, "-")) && startsFraction(words[i+1].number) {
			i++
			w.number += " " + words[i].number
			w.unit, w.to = words[i].unit, words[i].to
			more = i+1 < len(words)
		}
		if more && w.unit == "" && w.number != "" && words[i+1].number == "" {
			i++
			w.unit, w.to = words[i].unit, words[i].to
			more = i+1 < len(words)
		}
		all = append(all, written{text[w.from:w.to], w.number, w.unit, first, !more})
	}
	return all
}

// wordsOf cuts a line at its spaces, but not at those beside a slash.
func wordsOf(line []glyph) []word {
	var words []word
	for i := 0; i < len(line); {
		if line[i].r == ' ' {
			i++
			continue
		}
		start := i
		var b strings.Builder
		for i < len(line) {
			if line[i].r != ' ' {
				b.WriteRune(line[i].r)
				i++
				continue
			}
			next := i
			for next < len(line) && line[next].r == ' ' {
				next++
			}
			if next == len(line) || line[i-1].r != '/' && line[next].r != '/' {
				break
			}
			i = next
		}
		plain := b.String()
		unit := strings.TrimLeft(plain, "0123456789.,/-{}")
		words = append(words, word{plain[:len(plain)-len(unit)], unit, line[start].from, line[i-1].to})
	}
	return words
}

func isWhole(number string) bool { return number != "" && strings.Trim(number, "0123456789") == "" }

func startsFraction(number string) bool {
	if strings.HasPrefix(number, "{") {
		return true
	}
	top, _, ok := strings.Cut(number, "/")
	return ok && isWhole(top)
}
