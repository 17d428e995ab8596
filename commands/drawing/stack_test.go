package drawing

import (
	"math"
	"slices"
	"strings"
	"testing"

	"shimwright/solver"
)

// Seen from the inner flange the drawn pieces are those of the stack, in order;
// every cutter is as wide as it is, every shim at least that and says its size;
// L is on the left whichever hand the nut is on.
func TestStackPieces(t *testing.T) {
	for name, p := range stackPictures(t) {
		if p.Set.Kind == solver.Blade {
			continue
		}
		i := slices.IndexFunc(Stack(p).Views, func(v View) bool { return v.Name == "across" })
		v := Stack(p).Views[i]
		var rects []Rect
		letters := map[string]float64{}
		for _, shape := range v.Shapes {
			switch s := shape.(type) {
			case Rect:
				if strings.HasSuffix(s.What, ", plate") || strings.HasPrefix(s.What, "shim ") {
					rects = append(rects, s)
				}
			case Text:
				letters[s.Text] = s.X
			default:
			}
		}
		slices.SortFunc(rects, func(a, b Rect) int {
			if p.Saw.Nut == solver.Left {
				a, b = b, a
			}
			return int(math.Copysign(1, a.X-b.X))
		})
		pieces := p.Stack.Pieces()
		if len(rects) != len(pieces) {
			t.Fatalf("%s: %d pieces drawn, want %d", name, len(rects), len(pieces))
		}
		if letters["L"] >= letters["R"] {
			t.Errorf("%s: L at %f, R at %f", name, letters["L"], letters["R"])
		}
		for i, piece := range pieces {
			got, want := rects[i], piece.Part.Size.MM()
			switch piece.Kind {
			case solver.FlangeBlade, solver.NutBlade:
				want = want / 2 * (1 - plateInset) // the tooth makes up the rest
			case solver.ShimPiece:
				if got.Stands != piece.Part.Size || got.W < want-1e-9 {
					t.Errorf("%s, piece %d: %+v for a shim of %f", name, i, got, want)
				}
				continue
			case solver.ChipperPiece:
			}
			if math.Abs(got.W-want) > 1e-9 {
				t.Errorf("%s, piece %d is drawn %f wide, want %f", name, i, got.W, want)
			}
		}
	}
}

// Four chippers of four teeth: 360/16 = 22.5 degrees from one to the next, so that
// their first teeth stand at 0, 22.5, 45 and 67.5 from the top, clockwise.
func TestFanAngles(t *testing.T) {
	s := Stack(stackPictures(t)["inch"])
	i := slices.IndexFunc(s.Views, func(v View) bool { return v.Name == "along the arbor" })
	seen := map[string]bool{}
	next := 0.0
	for _, shape := range s.Views[i].Shapes {
		tooth, ok := shape.(Poly)
		if !ok || !strings.HasPrefix(tooth.What, "chipper") || !strings.HasSuffix(tooth.What, "tooth") || seen[tooth.What] {
			continue
		}
		seen[tooth.What] = true
		var mid Point
		for _, q := range tooth.Points {
			mid.X, mid.Y = mid.X+q.X/4, mid.Y+q.Y/4
		}
		if got := math.Atan2(mid.X, -mid.Y) * 180 / math.Pi; math.Abs(got-next) > 1e-6 {
			t.Errorf("%s stands at %f degrees, want %f", tooth.What, got, next)
		}
		next += 22.5
	}
	if len(seen) != 4 {
		t.Errorf("%d chippers", len(seen))
	}
}
