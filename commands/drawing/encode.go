package drawing

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"io"
	"sync"
)

// encode writes a picture of at most 16 colours as PNG [pub: PNG specification,
// third edition, sections 5, 7 and 10]: half a byte a pixel, rows without a filter.
//
// image/png writes the same file, but asks for each pixel through an interface:
// three times the time, more than all the drawing (BenchmarkStack).
func encode(img *image.Paletted) ([]byte, error) {
	var out bytes.Buffer
	out.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, uint32(img.Rect.Dx()))
	head = binary.BigEndian.AppendUint32(head, uint32(img.Rect.Dy()))
	chunk(&out, "IHDR", append(head, 4, 3, 0, 0, 0)) // 4 bits of a palette, not interlaced
	var colours []byte
	for _, c := range img.Palette {
		rgb := rgba(c)
		colours = append(colours, rgb.R, rgb.G, rgb.B)
	}
	chunk(&out, "PLTE", colours)
	z, _ := deflaters.Get().(*zlib.Writer)
	defer deflaters.Put(z)
	data, err := rows(img, z)
	if err != nil {
		return nil, err
	}
	if len(data) > mostBytes { // a crowded picture takes the time to be small
		if data, err = rows(img, zlib.NewWriter(io.Discard)); err != nil {
			return nil, err
		}
	}
	chunk(&out, "IDAT", data)
	chunk(&out, "IEND", nil)
	return out.Bytes(), nil
}

func chunk(out *bytes.Buffer, kind string, data []byte) {
	var n [4]byte
	binary.BigEndian.PutUint32(n[:], uint32(len(data)))
	out.Write(n[:])
	sum := crc32.NewIEEE()
	both := io.MultiWriter(out, sum)
	_, _ = io.WriteString(both, kind) // neither can fail
	_, _ = both.Write(data)
	binary.BigEndian.PutUint32(n[:], sum.Sum32())
	out.Write(n[:])
}

// mostBytes is how large a picture may be before it is compressed harder.
const mostBytes = 58_000

func rows(img *image.Paletted, z *zlib.Writer) ([]byte, error) {
	var out bytes.Buffer
	z.Reset(&out)
	wide, half := img.Rect.Dx(), (img.Rect.Dx()+1)/2
	packed := make([]byte, 1+half) // the first byte says: no filter
	for y := range img.Rect.Dy() {
		row := img.Pix[y*img.Stride:][:wide]
		for i := range wide / 2 {
			packed[1+i] = row[2*i]<<4 | row[2*i+1]
		}
		if wide%2 == 1 {
			packed[half] = row[wide-1] << 4
		}
		if _, err := z.Write(packed); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

// deflaters keeps compressors, each of which takes a megabyte to set up.
var deflaters = sync.Pool{New: func() any {
	z, _ := zlib.NewWriterLevel(io.Discard, zlib.BestSpeed) // the level is a good one
	return z
}}
