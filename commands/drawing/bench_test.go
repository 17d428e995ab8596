package drawing

import (
	"bytes"
	"image"
	"image/png"
	"testing"
)

// BenchmarkStack draws a stack picture whole, beside the bare encoding of an image
// of its size: the same pixels, an empty picture of the same palette, and one of
// plain RGBA. Medians: go test -bench . -count 9, then benchstat.
func BenchmarkStack(b *testing.B) {
	p := stackPictures(b)["inch"]
	b.Run("whole", func(b *testing.B) {
		for b.Loop() {
			if _, err := PNG(Stack(p), Light()); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("scene", func(b *testing.B) {
		for b.Loop() {
			Stack(p)
		}
	})
	s := Stack(p)
	b.Run("raster", func(b *testing.B) {
		for b.Loop() {
			if _, err := raster(s, Light()); err != nil {
				b.Fatal(err)
			}
		}
	})
	img, err := raster(s, Light())
	if err != nil {
		b.Fatal(err)
	}
	b.Run("encode", func(b *testing.B) {
		for b.Loop() {
			if _, err := encode(img); err != nil {
				b.Fatal(err)
			}
		}
	})
	for _, bare := range []struct {
		name string
		img  image.Image
	}{
		{"bare", img},
		{"bare-empty", image.NewPaletted(img.Rect, img.Palette)},
		{"bare-rgba", image.NewRGBA(img.Rect)},
	} {
		b.Run(bare.name, func(b *testing.B) {
			var out bytes.Buffer
			enc := png.Encoder{CompressionLevel: png.BestSpeed}
			for b.Loop() {
				out.Reset()
				if err := enc.Encode(&out, bare.img); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
