package bot

import (
	"bytes"
	"image"
	"image/png"
)

// tinyPNG is a picture of one pixel.
var tinyPNG = func() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err)
	}
	return b.Bytes()
}()
