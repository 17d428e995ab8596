package drawing

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
)

var themes = []Theme{Light(), Dark()}

// A picture is 1080 pixels wide and no larger than 60 kB.
func TestPNG(t *testing.T) {
	look := os.Getenv("PICTURES") // where a person can look at them
	for name, s := range scenes(t) {
		if s.Width != ScreenWidth {
			continue
		}
		for _, theme := range themes {
			data, err := PNG(s, theme)
			if err != nil {
				t.Fatal(err)
			}
			cfg, err := png.DecodeConfig(bytes.NewReader(data))
			if err != nil || cfg.Width != 1080 {
				t.Errorf("%s: %+v, %v", name, cfg, err)
			}
			t.Log(name, theme.Name, len(data))
			if len(data) > 60_000 {
				t.Errorf("%s, %s: %d bytes", name, theme.Name, len(data))
			}
			if look != "" {
				if err := os.WriteFile(filepath.Join(look, name+"_"+theme.Name+".png"), data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// What is written is read back by image/png pixel for pixel, at odd widths too.
func TestEncode(t *testing.T) {
	colours := color.Palette{rgb(0xffffff), rgb(0x101418), rgb(0x8c1d18)}
	for _, size := range []image.Point{{1, 1}, {2, 3}, {7, 5}, {1080, 4}} {
		img := image.NewPaletted(image.Rectangle{Max: size}, colours)
		for i := range img.Pix {
			img.Pix[i] = uint8(i / 3 % 3)
		}
		copy(img.Pix[img.Stride*(size.Y-1):], img.Pix[max(0, img.Stride*(size.Y-2)):][:size.X]) // two rows alike
		data, err := encode(img)
		if err != nil {
			t.Fatal(err)
		}
		got, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(size, err)
		}
		for y := range size.Y {
			for x := range size.X {
				if got.At(x, y) != img.At(x, y) {
					t.Fatalf("%v: pixel %d,%d is %v, want %v", size, x, y, got.At(x, y), img.At(x, y))
				}
			}
		}
	}
}

// Text keeps 4.5 to 1 against what lies under it, in the pixels: at least 95 in
// a hundred of those under a line of text, so that a line or an edge may cross a
// letter but no text stands on a ground too near to it.
// Formula: WCAG 2.2, relative luminance and contrast ratio [pub].
func TestContrast(t *testing.T) {
	for name, s := range scenes(t) {
		for _, theme := range themes {
			under, err := raster(without(s), theme)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range s.Views {
				for _, shape := range v.Shapes {
					text, ok := shape.(Text)
					if !ok {
						continue
					}
					x0, x1 := extent(&v, text)
					y := v.PageY(text.Y)
					box := image.Rect(snap(x0), snap(y-text.Size*0.7), snap(x1), snap(y)).Intersect(under.Rect)
					bad, all := 0, 0
					for py := box.Min.Y; py < box.Max.Y; py++ {
						for px := box.Min.X; px < box.Max.X; px++ {
							all++
							if contrast(theme.Colours[text.Role], under.At(px, py)) < 4.5 {
								bad++
							}
						}
					}
					if all == 0 || bad*20 > all {
						t.Errorf("%s, %s: %q has %d of %d pixels under it too near in colour", name, theme.Name, text.Text, bad, all)
					}
				}
			}
		}
	}
}

// The palette's own figures, by hand: black on white is 21 to 1, and a grey of
// 0x77 on white 4.48, the known nearest miss [pub: WCAG technique G18].
func TestContrastFormula(t *testing.T) {
	white, grey := rgb(0xffffff), rgb(0x777777)
	if got := contrast(rgb(0), white); math.Abs(got-21) > 1e-9 {
		t.Error(got)
	}
	if got := contrast(grey, white); math.Abs(got-4.48) > 0.005 {
		t.Error(got)
	}
}

func without(s Scene) Scene {
	views := make([]View, len(s.Views))
	for i, v := range s.Views {
		views[i] = v
		views[i].Shapes = nil
		for _, shape := range v.Shapes {
			if _, ok := shape.(Text); !ok {
				views[i].Shapes = append(views[i].Shapes, shape)
			}
		}
	}
	s.Views = views
	return s
}

func contrast(a, b color.Color) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func luminance(c color.Color) float64 {
	r, g, b, _ := c.RGBA()
	part := func(v uint32) float64 {
		f := float64(v) / 0xffff
		if f <= 0.04045 {
			return f / 12.92
		}
		return math.Pow((f+0.055)/1.055, 2.4)
	}
	return 0.2126*part(r) + 0.7152*part(g) + 0.0722*part(b)
}
