package drawing

import (
	"bytes"
	"fmt"
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
					near := make([]bool, len(under.Palette)) // too near in colour
					for i, c := range under.Palette {
						near[i] = contrast(theme.Colours[text.Role], c) < 4.5
					}
					bad, all := 0, box.Dx()*box.Dy()
					for y := box.Min.Y; y < box.Max.Y; y++ {
						for _, i := range under.Pix[under.PixOffset(box.Min.X, y):][:box.Dx()] {
							if near[i] {
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

// Pictures keep their looks: a quarter of the size, in grey, they are as checked
// in, within a tolerance for another version of the letters or of the edges.
func TestLooks(t *testing.T) {
	all := scenes(t)
	for _, name := range []string{"stack_inch", "stack_passes", "fit_loose", "weekly", "plays"} {
		for _, theme := range themes {
			img, err := raster(all[name], theme)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join("testdata", name+"_"+theme.Name+".png")
			if *update {
				var out bytes.Buffer
				if err := png.Encode(&out, cells(img, img.Rect.Dx()/4)); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(file, out.Bytes(), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			got, err := encode(img)
			if err != nil {
				t.Fatal(err)
			}
			if off, why := differ(got, want, img.Rect.Dx()/4); why != nil || off > 0.01 {
				t.Errorf("%s: %.1f %% of the cells differ, %v", file, off*100, why)
			}
		}
	}
}

// differ is the share of cells, of a grid with so many across, whose brightness
// differs by more than a tenth between two pictures of the same shape.
func differ(a, b []byte, across int) (float64, error) {
	var grids [2]*image.Gray
	for i, data := range [][]byte{a, b} {
		img, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			return 1, err
		}
		grids[i] = cells(img, across)
	}
	if d := grids[0].Rect.Dy() - grids[1].Rect.Dy(); d < -1 || d > 1 {
		return 1, fmt.Errorf("%d and %d cells down", grids[0].Rect.Dy(), grids[1].Rect.Dy())
	}
	both, off := grids[0].Rect.Intersect(grids[1].Rect), 0
	for y := range both.Dy() {
		for x := range both.Dx() {
			if d := int(grids[0].GrayAt(x, y).Y) - int(grids[1].GrayAt(x, y).Y); d > 26 || d < -26 {
				off++
			}
		}
	}
	return float64(off) / float64(both.Dx()*both.Dy()), nil
}

// cells averages a picture's brightness over a grid with so many cells across.
func cells(img image.Image, across int) *image.Gray {
	size := img.Bounds().Size()
	out := image.NewGray(image.Rect(0, 0, across, size.Y*across/size.X))
	for y := range out.Rect.Dy() {
		for x := range across {
			sum, n := 0, 0
			for py := y * size.Y / out.Rect.Dy(); py < (y+1)*size.Y/out.Rect.Dy(); py++ {
				for px := x * size.X / across; px < (x+1)*size.X/across; px++ {
					g, _ := color.GrayModel.Convert(img.At(px, py)).(color.Gray)
					sum += int(g.Y)
					n++
				}
			}
			out.SetGray(x, y, color.Gray{Y: uint8(sum / max(1, n))})
		}
	}
	return out
}
