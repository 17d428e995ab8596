package drawing

import (
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The letters are the Go fonts: made for screens, open, and with the fractions.
var (
	regular = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(goregular.TTF) })
	bold    = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(gobold.TTF) })
)

func letters(isBold bool) (*sfnt.Font, error) {
	if isBold {
		return bold()
	}
	return regular()
}

// widthOf is how wide a text is drawn, in the unit of size. Kerning is left out
// here and where it is drawn.
func widthOf(text string, size float64, isBold bool) float64 {
	f, err := letters(isBold)
	if err != nil {
		return 0 // PNG and PDF report it
	}
	var (
		buf sfnt.Buffer
		sum fixed.Int26_6
	)
	em := f.UnitsPerEm()
	for _, r := range text {
		if g, err := f.GlyphIndex(&buf, r); err == nil {
			if a, err := f.GlyphAdvance(&buf, g, fixed.I(int(em)), 0); err == nil {
				sum += a
			}
		}
	}
	return float64(sum) / 64 / float64(em) * size
}

// wrap breaks a text into lines no wider than width, at spaces.
func wrap(text string, width, size float64, isBold bool) []string {
	var out []string
	now := ""
	for _, word := range strings.Fields(text) {
		next := word
		if now != "" {
			next = now + " " + word
		}
		if now != "" && widthOf(next, size, isBold) > width {
			out = append(out, now)
			next = word
		}
		now = next
	}
	if now != "" {
		out = append(out, now)
	}
	return out
}
