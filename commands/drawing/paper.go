package drawing

// Paper is a size of paper to print on, upright.
type Paper struct {
	Name          string
	Width, Height float64 // millimetres
}

// The papers [pub: ISO 216; ANSI/ASME Y14.1, 8.5 x 11 in].
var (
	A4     = Paper{"A4", 210, 297}
	Letter = Paper{"Letter", 215.9, 279.4}
)

// paperMargin is room for a printer's edge and a strip of tape.
const paperMargin = 14.0

// Sizes of letters on paper, millimetres: 3.5 is 10 points.
const (
	printTitle = 6.5
	printBold  = 4.4
	printBody  = 3.6
	printSmall = 3.1
)

// sheets lays rows out on as many pages as they need. head draws the top of each
// page and returns where the rows begin; row draws row i at a height and tall is
// how much it takes. Foot stands at the bottom of every page; alt speaks of the
// rows from first up to, not including, after.
func (p Paper) sheets(name, foot string, alt func(first, after int) string, rows int, tall float64, head func(*View) float64, row func(v *View, i int, y float64)) []Scene {
	var out []Scene
	for i := 0; i == 0 || i < rows; {
		v := page("page")
		y := head(&v)
		first := i
		for ; i < rows && (i == first || y+tall <= p.Height-paperMargin-8); i++ {
			row(&v, i, y)
			y += tall
		}
		paragraph(&v, foot, paperMargin, p.Height-paperMargin-3, p.Width-2*paperMargin, printSmall, Quiet, false)
		out = append(out, Scene{Name: name, Alt: clip(alt(first, i)), Width: p.Width, Height: p.Height, Views: []View{v}})
		if rows == 0 {
			break
		}
	}
	return out
}

// shrunk is a scene put at x, y of another page, k times as large.
func (s Scene) shrunk(x, y, k float64) []View {
	out := make([]View, len(s.Views))
	for i, v := range s.Views {
		v.X, v.Y = x+v.X*k, y+v.Y*k
		v.ScaleX, v.ScaleY = v.ScaleX*k, v.ScaleY*k
		shapes := make([]Shape, len(v.Shapes))
		for j, shape := range v.Shapes {
			switch s := shape.(type) {
			case Line:
				s.Thick *= k
				shapes[j] = s
			case Circle:
				s.R *= k
				shapes[j] = s
			case Text:
				s.Size *= k
				shapes[j] = s
			default:
				shapes[j] = shape
			}
		}
		v.Shapes = shapes
		out[i] = v
	}
	return out
}
