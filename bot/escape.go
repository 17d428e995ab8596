package bot

import (
	"strings"
	"unicode"
)

// zeroWidth is a space without width: it breaks a mention or an address without
// being seen.
const zeroWidth = "\u200b"

// escape makes text show as it was written: names and notes come from members,
// and nothing in them may format, link or mention.
func escape(s string) string {
	var b strings.Builder
	b.Grow(len(s) + len(s)/8)
	for i, line := range strings.Split(s, "\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		escapeLine(&b, line)
	}
	return b.String()
}

func escapeLine(b *strings.Builder, line string) {
	start := len(line) - len(strings.TrimLeft(line, " \t"))
	digits := start
	for digits < len(line) && line[digits] >= '0' && line[digits] <= '9' {
		digits++
	}
	for i, r := range line {
		switch {
		case hidden(r):
			continue
		case r == '@':
			b.WriteString("@" + zeroWidth)
			continue
		case r == '<':
			b.WriteString("\\<" + zeroWidth)
			continue
		case r == ':' && strings.HasPrefix(line[i:], "://"):
			b.WriteString(":" + zeroWidth)
			continue
		case strings.ContainsRune("\\*_~`|[", r):
			b.WriteByte('\\')
		case i == start && strings.ContainsRune(">#-+", r):
			b.WriteByte('\\')
		case i == digits && digits > start && (r == '.' || r == ')') && (i+1 == len(line) || line[i+1] == ' '):
			b.WriteByte('\\') // "3. " would become a list and may be renumbered
		}
		b.WriteRune(r)
	}
}

// hidden runes change how the rest reads, or cannot be seen: controls and the
// marks that turn the direction of writing.
func hidden(r rune) bool {
	return r != '\t' && unicode.IsControl(r) ||
		r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0x200e || r == 0x200f || r == 0xfeff || r == unicode.ReplacementChar
}

// units is a text's length as Discord's limits count at their strictest. A code
// point takes one or two UTF-16 units, so UTF-16 is never the smaller count.
func units(s string) int {
	n := 0
	for _, r := range s {
		n++
		if r > 0xffff {
			n++
		}
	}
	return n
}

// cut shortens text to so many units, the last three of them dots.
func cut(s string, limit int) string {
	if units(s) <= limit {
		return s
	}
	return s[:prefix(s, limit-3)] + "..."
}

// prefix is the number of bytes that so many units take.
func prefix(s string, limit int) int {
	n := 0
	for i, r := range s {
		n++
		if r > 0xffff {
			n++
		}
		if n > limit {
			return i
		}
	}
	return len(s)
}

// split cuts text into parts of at most so many units: at line breaks, else at
// spaces, else anywhere but inside an escape.
func split(s string, limit int) []string {
	var parts []string
	for units(s) > limit {
		end := prefix(s, limit)
		skip := 0
		if i := strings.LastIndexByte(s[:end], '\n'); i > 0 {
			end, skip = i, 1
		} else if i := strings.LastIndexByte(s[:end], ' '); i > 0 {
			end, skip = i, 1
		} else {
			slashes := len(s[:end]) - len(strings.TrimRight(s[:end], "\\"))
			if slashes%2 == 1 && end > 1 {
				end--
			}
		}
		parts = append(parts, s[:end])
		s = s[end+skip:]
	}
	if s != "" || len(parts) == 0 {
		parts = append(parts, s)
	}
	return parts
}
