package solver

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// glyph is one plain character of what was typed, and the bytes from..to of
// the text that it stands for.
type glyph struct {
	r        rune
	from, to int
}

// fold turns what phones, keyboards and web pages put into a text into plain
// lower-case characters: every decimal digit becomes 0 to 9, every inch mark ",
// every foot mark ', every dash -, every kind of line end \n, every other space
// a space; characters of no width go. A fraction that is one character, or is
// set in raised and lowered digits, becomes {3/4}: the braces keep 1¾ from being
// read as 13/4. A character with no place in a measurement that might pass for
// one of these becomes �.
func fold(text string) []glyph {
	f := folder{glyphs: make([]glyph, 0, len(text))}
	for at, r := range text {
		// A broken byte is one byte long, whatever the rune that stands for it.
		_, size := utf8.DecodeRuneInString(text[at:])
		f.from, f.to = at, at+size
		f.add(r)
	}
	f.close()
	return f.glyphs
}

type folder struct {
	glyphs   []glyph
	from, to int
	stage    stage
	lowered  bool // the last character was a lowered digit
}

// stage is where the folder is in a fraction set in raised and lowered digits.
type stage uint8

const (
	noFraction stage = iota
	inNumerator
	inDenominator
)

func (f *folder) put(r rune) { f.glyphs = append(f.glyphs, glyph{r, f.from, f.to}) }

func (f *folder) close() {
	if f.stage == noFraction {
		return
	}
	f.stage = noFraction
	end := f.glyphs[len(f.glyphs)-1].to
	f.glyphs = append(f.glyphs, glyph{'}', end, end})
}

func (f *folder) add(r rune) {
	lowered := f.lowered
	f.lowered = false
	if raised := strings.IndexRune("⁰¹²³⁴⁵⁶⁷⁸⁹", r); raised >= 0 {
		if f.stage != inNumerator {
			f.close()
			f.put('{')
			f.stage = inNumerator
		}
		f.put('0' + rune(utf8.RuneCountInString("⁰¹²³⁴⁵⁶⁷⁸⁹"[:raised])))
		return
	}
	if r >= '₀' && r <= '₉' {
		last := rune(0)
		if n := len(f.glyphs); n > 0 {
			last = f.glyphs[n-1].r
		}
		if !lowered && last != '/' {
			f.close()
			f.put(unicode.ReplacementChar)
			return
		}
		f.put('0' + r - '₀')
		f.lowered = true
		return
	}
	if r == '⅟' {
		f.close()
		f.put('{')
		f.put('1')
		f.put('/')
		f.stage = inDenominator
		return
	}
	plain := plainRune(r)
	switch {
	case plain == "":
		f.lowered = lowered
		return
	case plain == "/" && f.stage == inNumerator:
		f.stage = inDenominator
	case f.stage == inDenominator && isDigit(rune(plain[0])) && !lowered:
	default:
		f.close()
	}
	for _, p := range plain {
		f.put(p)
	}
}

// plainRune is what stands for r, "" for a character without width.
func plainRune(r rune) string {
	if r >= '！' && r <= '～' { // full width
		r -= '！' - '!'
	}
	switch r {
	case '{', '}':
		return string(unicode.ReplacementChar)
	case '\n', '\r', '\v', '\f', '\u0085', '\u2028', '\u2029':
		return "\n"
	case '\u200b': // a place where a line may break
		return " "
	case '⁄', '∕', '⧸':
		return "/"
	case '“', '”', '„', '‟', '″', '‶', 'ʺ', '〃':
		return `"`
	case '‘', '’', '‚', '‛', '′', '‵', 'ʹ', 'ʼ', '´', '`':
		return "'"
	case '‐', '‑', '‒', '–', '—', '―', '−', '﹣', '﹘', '⁃':
		return "-"
	case '·', '٫':
		return "."
	case '،':
		return ","
	case '、', '؛':
		return ";"
	case '㎜':
		return "mm"
	case '㎝':
		return "cm"
	case '㏌':
		return "in"
	}
	if fraction, ok := vulgarFractions[r]; ok {
		return "{" + fraction + "}"
	}
	switch {
	case unicode.IsSpace(r):
		return " "
	case unicode.Is(unicode.Cf, r):
		return ""
	case unicode.Is(unicode.Nd, r):
		return string('0' + digitValue(r))
	}
	return string(unicode.ToLower(r))
}

var vulgarFractions = map[rune]string{
	'¼': "1/4", '½': "1/2", '¾': "3/4", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8",
	'⅓': "1/3", '⅔': "2/3", '⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5", '⅙': "1/6", '⅚': "5/6",
	'⅐': "1/7", '⅑': "1/9", '⅒': "1/10", '↉': "0/3",
}

// digitValue is the value of a decimal digit of any script. Unicode encodes the
// digits of a script in a row from zero to nine, some scripts side by side.
func digitValue(r rune) rune {
	n := rune(0)
	for unicode.Is(unicode.Nd, r-n-1) {
		n++
	}
	return n % 10
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }
