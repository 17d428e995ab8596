package drawing

import (
	"bytes"
	"testing"
)

// The same scene comes from the same bytes, another scene or theme does not, and
// a cache holds no more than it should, those asked for last.
func TestCache(t *testing.T) {
	var c Cache
	draw := func(s Scene, theme Theme) *byte {
		t.Helper()
		data, err := c.PNG(s, theme)
		if err != nil {
			t.Fatal(err)
		}
		return &data[0]
	}
	scene := func(text string) Scene {
		v := page("words")
		v.add(Text{X: 1, Y: 6, Size: 4, Role: Ink, Text: text})
		return Scene{Name: "words", Width: 20, Height: 8, Views: []View{v}}
	}
	first := draw(scene("23/32"), Light())
	if draw(scene("23/32"), Light()) != first {
		t.Error("drawn again")
	}
	if draw(scene("23/32"), Dark()) == first || draw(scene("25/32"), Light()) == first {
		t.Error("another picture's bytes")
	}
	for i := range keep - 1 {
		draw(scene(string(rune('a'+i%26))+string(rune('a'+i/26))), Light())
		draw(scene("23/32"), Light())
	}
	if draw(scene("23/32"), Light()) != first {
		t.Error("dropped although it was asked for")
	}
	if len(c.kept) != keep {
		t.Errorf("%d kept", len(c.kept))
	}
	want, err := PNG(scene("25/32"), Light())
	if err != nil {
		t.Fatal(err)
	}
	got, err := c.PNG(scene("25/32"), Light())
	if err != nil || !bytes.Equal(got, want) {
		t.Error("not what PNG draws", err)
	}
}

// BenchmarkCache asks for a picture that is there, beside drawing it.
func BenchmarkCache(b *testing.B) {
	s := Stack(stackPictures(b)["inch"])
	var c Cache
	for name, draw := range map[string]func(Scene, Theme) ([]byte, error){"kept": c.PNG, "drawn": PNG} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := draw(s, Light()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
