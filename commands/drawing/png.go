package drawing

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// pxPerMM makes a screen page of 108 mm 1080 pixels wide.
const pxPerMM = 10

// PNG draws a scene, 10 pixels to the millimetre of its page.
func PNG(s Scene, t Theme) ([]byte, error) {
	img, err := raster(s, t)
	if err != nil {
		return nil, fmt.Errorf("drawing %s: %w", s.Name, err)
	}
	return encode(img)
}

// raster paints the shapes in order. Upright edges lie on whole pixels, so that
// only slanted ones and letters need blended colours.
func raster(s Scene, t Theme) (*image.Paletted, error) {
	c := newCanvas(int(math.Round(s.Width*pxPerMM)), int(math.Round(s.Height*pxPerMM)), t)
	for _, v := range s.Views {
		for _, shape := range v.Shapes {
			if err := c.paint(&v, shape); err != nil {
				return nil, err
			}
		}
	}
	c.img.Palette = c.colours
	return c.img, nil
}

// levels is how many steps of coverage are told apart at a slanted edge: few, so
// that the picture stays small.
const levels = 4

// most colours: 16 need half a byte a pixel.
const most = 16

// canvas is a picture of palette colours. The first colours are those of the
// roles; blends are added as they occur.
type canvas struct {
	img     *image.Paletted
	colours color.Palette
	blends  [most][roles][levels]uint8 // one more than the colour; 0: not made yet
	index   [roles]uint8
	mask    image.Alpha
	edge    vector.Rasterizer
	buf     sfnt.Buffer
}

func newCanvas(w, h int, t Theme) *canvas {
	c := &canvas{img: image.NewPaletted(image.Rect(0, 0, w, h), nil)}
	c.colours = append(c.colours, t.Colours[Ground]) // a new picture is all zeros
	for role := Ink; role < roles; role++ {
		at := c.colours.Index(t.Colours[role])
		if rgba(c.colours[at]) != t.Colours[role] {
			at = len(c.colours)
			c.colours = append(c.colours, t.Colours[role])
		}
		c.index[role] = uint8(at)
	}
	return c
}

func px(mm float64) float64 { return mm * pxPerMM }

func snap(mm float64) int { return int(math.Round(mm * pxPerMM)) }

func (c *canvas) paint(v *View, shape Shape) error {
	switch s := shape.(type) {
	case Rect:
		c.rect(snap(v.PageX(s.X)), snap(v.PageY(s.Y)), snap(v.PageX(s.X+s.W)), snap(v.PageY(s.Y+s.H)), s.Fill, s.Line)
	case Line:
		c.line(Point{v.PageX(s.X0), v.PageY(s.Y0)}, Point{v.PageX(s.X1), v.PageY(s.Y1)}, s.Thick, s.Role, s.Dashed)
	case Poly:
		pts := make([]Point, len(s.Points))
		for i, p := range s.Points {
			pts[i] = Point{v.PageX(p.X), v.PageY(p.Y)}
		}
		c.fill(pts, s.Fill)
		if s.Line != None {
			for i, p := range pts {
				c.line(p, pts[(i+1)%len(pts)], outline, s.Line, false)
			}
		}
	case Circle:
		at, r := Point{v.PageX(s.X), v.PageY(s.Y)}, s.R
		c.fill(ring(at, r), s.Fill)
		if s.Line != None {
			c.fill(ring(at, r+outline/2), s.Line, ring(at, r-outline/2))
		}
	case Text:
		return c.text(s, v)
	}
	return nil
}

// rect fills whole pixels; an outline lies inside.
func (c *canvas) rect(x0, y0, x1, y1 int, fill, edge Role) {
	x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
	if edge == None {
		c.block(x0, y0, x1, y1, fill)
		return
	}
	t := snap(outline)
	c.block(x0+t, y0+t, x1-t, y1-t, fill)
	c.block(x0, y0, x1, y0+t, edge)
	c.block(x0, y1-t, x1, y1, edge)
	c.block(x0, y0, x0+t, y1, edge)
	c.block(x1-t, y0, x1, y1, edge)
}

func (c *canvas) block(x0, y0, x1, y1 int, role Role) {
	area := image.Rect(x0, y0, x1, y1).Intersect(c.img.Rect)
	if role == None || area.Empty() || x1 <= x0 || y1 <= y0 {
		return
	}
	first := c.img.Pix[c.img.PixOffset(area.Min.X, area.Min.Y):][:area.Dx()]
	for i := range first {
		first[i] = c.index[role]
	}
	for y := area.Min.Y + 1; y < area.Max.Y; y++ {
		copy(c.img.Pix[c.img.PixOffset(area.Min.X, y):], first)
	}
}

func (c *canvas) line(a, b Point, thick float64, role Role, dashed bool) {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 || role == None {
		return
	}
	if dashed {
		for d := 0.0; d < length; d += dashOn + dashOff {
			e := min(d+dashOn, length)
			c.line(between(a, b, d/length), between(a, b, e/length), thick, role, false)
		}
		return
	}
	half := max(1, math.Round(px(thick))) / 2
	switch {
	case a.X == b.X:
		x := int(math.Round(px(a.X) - half))
		c.block(x, snap(min(a.Y, b.Y)), x+int(2*half), snap(max(a.Y, b.Y)), role)
	case a.Y == b.Y:
		y := int(math.Round(px(a.Y) - half))
		c.block(snap(min(a.X, b.X)), y, snap(max(a.X, b.X)), y+int(2*half), role)
	default:
		nx, ny := -(b.Y-a.Y)/length*thick/2, (b.X-a.X)/length*thick/2
		c.fill([]Point{{a.X + nx, a.Y + ny}, {b.X + nx, b.Y + ny}, {b.X - nx, b.Y - ny}, {a.X - nx, a.Y - ny}}, role)
	}
}

func between(a, b Point, t float64) Point { return Point{a.X + (b.X-a.X)*t, a.Y + (b.Y-a.Y)*t} }

// ring is a circle as a polygon fine enough for a pixel.
func ring(at Point, r float64) []Point {
	n := max(12, int(px(r)))
	out := make([]Point, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = Point{at.X + r*cos, at.Y + r*sin}
	}
	return out
}

// fill paints a polygon, in millimetres of the page, less the holes in it.
func (c *canvas) fill(pts []Point, role Role, holes ...[]Point) {
	if role == None || len(pts) < 3 {
		return
	}
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range pts {
		x0, y0, x1, y1 = min(x0, px(p.X)), min(y0, px(p.Y)), max(x1, px(p.X)), max(y1, px(p.Y))
	}
	left, top := int(math.Floor(x0)), int(math.Floor(y0))
	c.begin(int(math.Ceil(x1))-left, int(math.Ceil(y1))-top)
	c.trace(pts, left, top)
	for _, h := range holes {
		back := make([]Point, len(h))
		for i, p := range h {
			back[len(h)-1-i] = p
		}
		c.trace(back, left, top)
	}
	c.end(left, top, role)
}

func (c *canvas) trace(pts []Point, left, top int) {
	for i, p := range pts {
		x, y := float32(px(p.X)-float64(left)), float32(px(p.Y)-float64(top))
		if i == 0 {
			c.edge.MoveTo(x, y)
		} else {
			c.edge.LineTo(x, y)
		}
	}
	c.edge.ClosePath()
}

// begin readies the mask for one path of the given size, end paints it.
func (c *canvas) begin(w, h int) {
	c.edge.Reset(w, h)
	if need := w * h; cap(c.mask.Pix) < need {
		c.mask.Pix = make([]uint8, need)
	}
	c.mask = image.Alpha{Pix: c.mask.Pix[:w*h], Stride: w, Rect: image.Rect(0, 0, w, h)}
}

func (c *canvas) end(left, top int, role Role) {
	c.edge.DrawOp = draw.Src // writes the whole mask, whatever was in it
	c.edge.Draw(&c.mask, c.mask.Rect, image.Opaque, image.Point{})
	c.stamp(&c.mask, left, top, role)
}

// stamp puts a role on the picture through a mask.
func (c *canvas) stamp(mask *image.Alpha, left, top int, role Role) {
	area := mask.Rect.Add(image.Pt(left, top)).Intersect(c.img.Rect)
	for y := area.Min.Y; y < area.Max.Y; y++ {
		row := c.img.Pix[c.img.PixOffset(area.Min.X, y):][:area.Dx()]
		cover := mask.Pix[(y-top)*mask.Stride+area.Min.X-left:][:area.Dx()]
		for x, a := range cover {
			switch level := (int(a)*(levels-1) + 127) / 255; level {
			case 0:
			case levels - 1:
				row[x] = c.index[role]
			default:
				row[x] = c.blend(row[x], role, level)
			}
		}
	}
}

// blend is the palette's colour for a role that covers part of a pixel.
func (c *canvas) blend(under uint8, role Role, level int) uint8 {
	if known := c.blends[under][role][level]; known != 0 {
		return known - 1
	}
	a, b := rgba(c.colours[under]), rgba(c.colours[c.index[role]])
	mix := func(a, b uint8) uint8 {
		return uint8((int(a)*(levels-1-level) + int(b)*level + (levels-1)/2) / (levels - 1))
	}
	mixed := color.RGBA{mix(a.R, b.R), mix(a.G, b.G), mix(a.B, b.B), 0xff}
	at := c.colours.Index(mixed) // the nearest
	if rgba(c.colours[at]) != mixed && len(c.colours) < most {
		at = len(c.colours)
		c.colours = append(c.colours, mixed)
	}
	c.blends[under][role][level] = uint8(at) + 1
	return uint8(at)
}

func rgba(c color.Color) color.RGBA {
	out, _ := c.(color.RGBA)
	return out
}

func (c *canvas) text(s Text, v *View) error {
	f, err := letters(s.Bold)
	if err != nil {
		return err
	}
	x, y := px(v.PageX(s.X)), math.Round(px(v.PageY(s.Y)))
	switch width := px(widthOf(s.Text, s.Size, s.Bold)); s.Anchor {
	case Middle:
		x -= width / 2
	case End:
		x -= width
	case Start:
	}
	size := fixed.Int26_6(math.Round(px(s.Size) * 64))
	for _, r := range s.Text {
		g, err := f.GlyphIndex(&c.buf, r)
		if err != nil {
			return err
		}
		advance, err := f.GlyphAdvance(&c.buf, g, size, 0)
		if err != nil {
			return err
		}
		if err := c.glyph(f, g, size, int(math.Round(x)), int(y), s.Role); err != nil {
			return err
		}
		x += float64(advance) / 64
	}
	return nil
}

func (c *canvas) glyph(f *sfnt.Font, g sfnt.GlyphIndex, size fixed.Int26_6, x, y int, role Role) error {
	segments, err := f.LoadGlyph(&c.buf, g, size, nil)
	if err != nil || len(segments) == 0 {
		return err
	}
	b := segments.Bounds()
	left, top := b.Min.X.Floor(), b.Min.Y.Floor()
	c.begin(b.Max.X.Ceil()-left, b.Max.Y.Ceil()-top)
	at := func(p fixed.Point26_6) (float32, float32) {
		return float32(p.X)/64 - float32(left), float32(p.Y)/64 - float32(top)
	}
	for _, s := range segments {
		x0, y0 := at(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			c.edge.ClosePath()
			c.edge.MoveTo(x0, y0)
		case sfnt.SegmentOpLineTo:
			c.edge.LineTo(x0, y0)
		case sfnt.SegmentOpQuadTo:
			x1, y1 := at(s.Args[1])
			c.edge.QuadTo(x0, y0, x1, y1)
		case sfnt.SegmentOpCubeTo:
			x1, y1 := at(s.Args[1])
			x2, y2 := at(s.Args[2])
			c.edge.CubeTo(x0, y0, x1, y1, x2, y2)
		}
	}
	c.edge.ClosePath()
	c.end(x+left, y+top, role)
	return nil
}
