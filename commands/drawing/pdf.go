package drawing

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// PDF prints scenes, one a page and each of its own size, in the colours of the
// light theme. made is the date in the file's properties; the same scenes and
// date give the same bytes.
//
// The library is fpdf, the maintained continuation of gofpdf: shapes, dashes and
// embedded fonts in millimetres, and nothing beside the standard library.
func PDF(pages []Scene, made time.Time) ([]byte, error) {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.SetCatalogSort(true)
	f.SetCreationDate(made)
	f.SetModificationDate(made)
	f.SetCreator("Shimwright", true)
	f.SetLang("en")
	f.AddUTF8FontFromBytes("go", "", goregular.TTF)
	f.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	ink := printer{f, Light()}
	for i, s := range pages {
		if i == 0 {
			f.SetTitle(s.Name, true)
			f.SetSubject(s.Alt, true)
		}
		f.AddPageFormat("P", fpdf.SizeType{Wd: s.Width, Ht: s.Height})
		for _, v := range s.Views {
			for _, shape := range v.Shapes {
				ink.print(&v, shape)
			}
		}
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("printing: %w", err)
	}
	return out.Bytes(), nil
}

type printer struct {
	pdf   *fpdf.Fpdf
	theme Theme
}

func (p printer) print(v *View, shape Shape) {
	switch s := shape.(type) {
	case Rect:
		x0, x1 := v.PageX(s.X), v.PageX(s.X+s.W)
		y0, y1 := v.PageY(s.Y), v.PageY(s.Y+s.H)
		style := p.style(s.Fill, s.Line)
		inset := 0.0
		if s.Line != None { // an outline lies inside
			inset = outline / 2
		}
		p.pdf.Rect(min(x0, x1)+inset, min(y0, y1)+inset, max(x0, x1)-min(x0, x1)-2*inset, max(y0, y1)-min(y0, y1)-2*inset, style)
	case Line:
		c := p.theme.Colours[s.Role]
		p.pdf.SetDrawColor(int(c.R), int(c.G), int(c.B))
		p.pdf.SetLineWidth(s.Thick)
		if s.Dashed {
			p.pdf.SetDashPattern([]float64{dashOn, dashOff}, 0)
			defer p.pdf.SetDashPattern(nil, 0)
		}
		p.pdf.Line(v.PageX(s.X0), v.PageY(s.Y0), v.PageX(s.X1), v.PageY(s.Y1))
	case Poly:
		pts := make([]fpdf.PointType, len(s.Points))
		for i, q := range s.Points {
			pts[i] = fpdf.PointType{X: v.PageX(q.X), Y: v.PageY(q.Y)}
		}
		p.pdf.Polygon(pts, p.style(s.Fill, s.Line))
	case Circle:
		p.pdf.Circle(v.PageX(s.X), v.PageY(s.Y), s.R, p.style(s.Fill, s.Line))
	case Text:
		c := p.theme.Colours[s.Role]
		p.pdf.SetTextColor(int(c.R), int(c.G), int(c.B))
		style := ""
		if s.Bold {
			style = "B"
		}
		p.pdf.SetFont("go", style, s.Size*72/25.4)
		x := v.PageX(s.X)
		switch w := widthOf(s.Text, s.Size, s.Bold); s.Anchor {
		case Middle:
			x -= w / 2
		case End:
			x -= w
		case Start:
		}
		p.pdf.Text(x, v.PageY(s.Y), s.Text)
	}
}

// style sets colours for a filled, an outlined or a both filled and outlined shape.
func (p printer) style(fill, edge Role) string {
	style := ""
	if fill != None {
		c := p.theme.Colours[fill]
		p.pdf.SetFillColor(int(c.R), int(c.G), int(c.B))
		style = "F"
	}
	if edge != None {
		c := p.theme.Colours[edge]
		p.pdf.SetDrawColor(int(c.R), int(c.G), int(c.B))
		p.pdf.SetLineWidth(outline)
		style += "D"
	}
	return style
}
