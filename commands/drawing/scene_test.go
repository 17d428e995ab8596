package drawing

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite the golden scenes and their small pictures")

// Scenes are golden as text. Their figures: widths in millimetres are the parts'
// (1/8 in is 3.175), what a shape stands for is beside it.
func TestScenes(t *testing.T) {
	for name, s := range scenes(t) {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join("testdata", name+".txt")
			if *update {
				if err := os.WriteFile(file, []byte(s.String()), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), s.String()); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// Every figure in a picture's alt text stands in the picture too, or is the
// number of something drawn, and the text fits its limit.
func TestAlt(t *testing.T) {
	for name, s := range scenes(t) {
		if n := utf8.RuneCountInString(s.Alt); n == 0 || n > AltMax {
			t.Errorf("%s: alt text of %d characters", name, n)
		}
		shown := strings.Join(texts(s), " ")
		for _, word := range strings.FieldsFunc(s.Alt, func(r rune) bool { return strings.ContainsRune(" ,;:()", r) }) {
			word = strings.TrimRight(word, ".")
			if strings.Contains(word, ".") && !strings.Contains(shown, word) {
				t.Errorf("%s: alt says %q, the picture does not: %s", name, word, shown)
			}
		}
	}
}

func texts(s Scene) []string {
	var out []string
	for _, v := range s.Views {
		for _, shape := range v.Shapes {
			if text, ok := shape.(Text); ok {
				out = append(out, text.Text)
			}
		}
	}
	return out
}

// No text leaves the page.
func TestTextOnPage(t *testing.T) {
	for name, s := range scenes(t) {
		for _, v := range s.Views {
			for _, shape := range v.Shapes {
				text, ok := shape.(Text)
				if !ok {
					continue
				}
				x0, x1 := extent(&v, text)
				if y := v.PageY(text.Y); x0 < 0 || x1 > s.Width || y-text.Size < 0 || y > s.Height {
					t.Errorf("%s: %q lies at %.1f to %.1f, %.1f", name, text.Text, x0, x1, y)
				}
			}
		}
	}
}

func extent(v *View, text Text) (x0, x1 float64) {
	x0, wide := v.PageX(text.X), widthOf(text.Text, text.Size, text.Bold)
	switch text.Anchor {
	case Middle:
		x0 -= wide / 2
	case End:
		x0 -= wide
	case Start:
	}
	return x0, x0 + wide
}
