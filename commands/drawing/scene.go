// Package drawing makes pictures: first a scene, shapes in real units with roles
// instead of colours, then pixels (PNG) or a printed page (PDF).
//
// A scene is a plain value, the same for the same facts, and prints as text. Its
// pictures are in this project's own style; nothing in one is told by colour alone.
package drawing

import "shimwright/solver"

// Scene is a picture before it has pixels.
type Scene struct {
	Name string // what kind of picture: "stack", "fit"
	Alt  string // says the same as the picture, at most AltMax characters
	// Width and Height of the page in millimetres. A picture for a screen is
	// ScreenWidth wide.
	Width, Height float64
	Views         []View
}

// AltMax is the most characters of an alt text [pub: Discord's limit for the
// description of an attachment, 1024].
const AltMax = 1024

// ScreenWidth is the width of a picture for a screen, in millimetres of its
// page; PNG draws 10 pixels to the millimetre.
const ScreenWidth = 108

// View is a part of a scene with a scale of its own. The shapes of a view that
// shows real things are in their real millimetres, with y downward.
type View struct {
	Name           string
	X, Y           float64 // where the view's origin lies on the page, millimetres
	ScaleX, ScaleY float64 // millimetres of page for one of the view's
	Shapes         []Shape
}

// page is a view whose millimetres are those of the page.
func page(name string) View { return View{Name: name, ScaleX: 1, ScaleY: 1} }

func (v *View) add(s ...Shape) { v.Shapes = append(v.Shapes, s...) }

// PageX and PageY are a place of the view on the page.
func (v *View) PageX(x float64) float64 { return v.X + x*v.ScaleX }

// PageY is PageX for the other axis.
func (v *View) PageY(y float64) float64 { return v.Y + y*v.ScaleY }

// Shape is one of Rect, Line, Poly, Circle and Text.
type Shape interface{ shape() }

// Role says what a shape is drawn as; a theme gives it a colour.
type Role uint8

// The roles. None draws nothing.
const (
	None     Role = iota
	Ground        // what everything stands on
	Ink           // outlines and most text
	Quiet         // text of the second rank
	Measure       // dimension lines and their text
	Steel         // plates of the outer blades, flanges, nut
	Inner         // plates of the chippers
	Carbide       // teeth
	ShimRole      // shims
	Board         // wood with the dado
	Panel         // wood that goes into it
	Band          // the snug range
	Badge         // ground of a letter that tells blades apart, and of a mark
	OnBadge       // the letter on it
	roles         // how many
)

// Rect is an upright rectangle.
type Rect struct {
	What       string
	X, Y, W, H float64
	Fill, Line Role
	// Stands is the length that W stands for where it is drawn larger than to
	// scale; 0: to scale.
	Stands solver.Length
}

// Line is a stroke; Thick is in millimetres of the page.
type Line struct {
	What           string
	X0, Y0, X1, Y1 float64
	Role           Role
	Thick          float64
	Dashed         bool
}

// Poly is a closed polygon.
type Poly struct {
	What       string
	Points     []Point
	Fill, Line Role
}

// Point is a place in a view.
type Point struct{ X, Y float64 }

// Circle is a disc or a ring; R is in millimetres of the page.
type Circle struct {
	What       string
	X, Y, R    float64
	Fill, Line Role
}

// Text is one line of letters. Y is the baseline, Size that of the font in
// millimetres of the page.
type Text struct {
	X, Y   float64
	Size   float64
	Bold   bool
	Anchor Anchor
	Role   Role
	Text   string
}

// Anchor is the point of a text that lies at X.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

func (Rect) shape()   {}
func (Line) shape()   {}
func (Poly) shape()   {}
func (Circle) shape() {}
func (Text) shape()   {}

// outline is the thickness of the outline of a filled shape, millimetres of the page.
const outline = 0.3

// A dashed line, millimetres of the page.
const (
	dashOn  = 1.2
	dashOff = 0.9
)
