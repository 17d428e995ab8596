package drawing

import (
	"strings"

	"shimwright/solver"
)

// Places on the page, in millimetres, of what is beside the cutters. Flanges,
// nut and thread are no parts of the set: they are drawn as signs, not to scale.
const (
	shaftLong   = 3.0
	flangeWide  = 5.0
	nutWide     = 8.5
	threadLong  = 10.0
	cutterTall  = 33.0
	toothTall   = 5.0
	flangeTall  = 13.0
	shimTall    = 19.0 // a shim is a ring, smaller than the plates
	shimShown   = 2.2  // least width at which a shim is drawn, while there is room
	shimShare   = 0.35 // of the space for the stack, at most for shims
	plateInset  = 0.22 // of an outer blade's share: how far its tooth stands out over its plate
	largestZoom = 5.0
	stackSpace  = ScreenWidth - 2*margin - shaftLong - 2*flangeWide - nutWide - threadLong
)

// arborViews are the cutters on their arbor and where they ended up.
type arborViews struct {
	views       []View
	left, right float64 // walls of the cut, on the page
	zoom        float64 // page millimetres for one of a cutter
	bottom      float64
}

// placed is a piece of the stack with its place from the inner flange, in
// millimetres of the view. before and after are the open gaps beside a cutter.
type placed struct {
	solver.Piece
	at, wide      float64
	before, after float64
}

// place lays the pieces side by side from the inner flange. zoom is millimetres
// of page for one of a cutter; a shim is drawn wider than that.
func (p StackPicture) place() (pieces []placed, zoom, wide float64) {
	if p.Set.Kind == solver.Blade {
		w := p.Stack.Outer.Size.MM()
		return []placed{{Piece: solver.Piece{Kind: solver.FlangeBlade, Part: p.Stack.Outer}, wide: w}}, largestZoom, w
	}
	shims := float64(len(p.Stack.Shims()))
	shown := min(shimShown, shimShare*stackSpace/max(1, shims))
	cutters := p.Stack.Outer.Size.MM()
	for _, c := range p.Stack.Chippers {
		cutters += c.Size.MM()
	}
	zoom = min(largestZoom, (stackSpace-shown*shims)/cutters)
	last := -1 // the cutter before
	for _, piece := range p.Stack.Pieces() {
		w := piece.Part.Size.MM()
		switch piece.Kind {
		case solver.FlangeBlade, solver.NutBlade:
			w /= 2
		case solver.ShimPiece:
			w = max(w, shown/zoom)
		case solver.ChipperPiece:
		}
		c := placed{Piece: piece, at: wide, wide: w}
		if piece.Kind != solver.ShimPiece {
			if last >= 0 {
				c.before = wide - pieces[last].at - pieces[last].wide
				pieces[last].after = c.before
			}
			last = len(pieces)
		}
		pieces = append(pieces, c)
		wide += w
	}
	return pieces, min(zoom, stackSpace/wide), wide
}

// arbor draws the side view from the given height down, with the width cut as a
// dimension line below.
func (p StackPicture) arbor(top float64) arborViews {
	pieces, zoom, wide := p.place()
	labels, signs := page("labels"), page("arbor")
	across := View{Name: "across", ScaleX: zoom, ScaleY: 1}

	// From the outside in: shaft and inner flange on one hand, the rest on the other.
	used := shaftLong + 2*flangeWide + nutWide + threadLong + wide*zoom
	flange := (ScreenWidth-used)/2 + shaftLong + flangeWide
	across.X = flange
	if p.nutLeft() {
		across.X = ScreenWidth - flange - wide*zoom
	}
	// at is the place in the across view of a span that begins `from` after the flange.
	at := func(from, long float64) float64 {
		if p.nutLeft() {
			return wide - from - long
		}
		return from
	}
	order := top
	names := order + 3
	across.Y = names + p.nameTall() + 1.6 + cutterTall/2
	signs.Y = across.Y

	p.orderArrow(&labels, order, across.X, across.X+wide*zoom)
	inset := pieces[0].wide * plateInset * zoom
	if p.Set.Kind == solver.Blade {
		inset = pieces[0].wide * 0.15 * zoom
	}
	p.signs(&signs, across.X+inset, across.X+wide*zoom-inset)
	var tags, shimTags []tag
	for i, c := range pieces {
		x := at(c.at, c.wide)
		mid := across.PageX(x + c.wide/2)
		switch c.Kind {
		case solver.FlangeBlade, solver.NutBlade:
			p.outerBlade(&across, c, x)
			nominal := c.Part.Nominal / 2
			if p.Set.Kind == solver.Blade {
				nominal = c.Part.Nominal
			}
			tags = append(tags, tag{from: mid, words: []string{p.cutterWord(nominal)}})
		case solver.ChipperPiece:
			p.chipper(&across, c, x)
			tags = append(tags, tag{from: mid, words: []string{p.cutterWord(c.Part.Nominal)}})
		case solver.ShimPiece:
			across.add(Rect{What: "shim " + p.shimWord(c.Part.Nominal), X: x, Y: -shimTall / 2, W: c.wide, H: shimTall, Fill: ShimRole, Line: Ink, Stands: c.Part.Size})
			if n := len(shimTags); n > 0 && pieces[i-1].Kind == solver.ShimPiece {
				shimTags[n-1].words = append(shimTags[n-1].words, p.shimWord(c.Part.Nominal))
				continue
			}
			shimTags = append(shimTags, tag{from: mid, words: []string{p.shimWord(c.Part.Nominal)}})
		}
	}
	size := spreadTags(tags, body, true)
	for _, t := range tags {
		labels.add(Line{What: "to its cutter", X0: t.at, Y0: names + p.nameTall() + 0.4, X1: t.from, Y1: across.Y - cutterTall/2 - 0.2, Role: Ink, Thick: 0.2})
		fraction(&labels, t.words[0], t.at, names, p.nameTall(), size)
	}
	left, right := across.X, across.X+wide*zoom
	bottom := across.Y + cutterTall/2
	walls := len(labels.Shapes)
	labels.add(Line{}, Line{})
	if len(shimTags) > 0 {
		bottom = p.shimTags(&labels, shimTags, across.Y, bottom)
	}
	bottom += 3.5
	for i, x := range []float64{left, right} { // under the labels of the shims
		labels.Shapes[walls+i] = Line{What: "wall of the cut", X0: x, Y0: across.Y + cutterTall/2, X1: x, Y1: bottom + 1.5, Role: Measure, Thick: 0.2}
	}
	dimension(&labels, left, right, bottom, p.widthWord())
	return arborViews{[]View{signs, across, labels}, left, right, zoom, bottom + 8.5}
}

func (p StackPicture) widthWord() string {
	if p.Passes > 1 {
		return "one pass cuts about " + p.Style.Fine(p.Width-solver.Length(p.Passes-1)*p.Move)
	}
	return "cuts about " + p.Style.Fine(p.Width)
}

// outerBlade draws an outer blade from its edge. Its teeth stand out over the
// plate on the outer side and rise to a point there: the left one's on the left.
// Where shims open a gap the teeth beside it still meet, so that no ridge stays.
func (p StackPicture) outerBlade(v *View, c placed, x float64) {
	left := (c.Kind == solver.FlangeBlade) != p.nutLeft()
	letter, name := "R", "right"
	if left {
		letter, name = "L", "left"
	}
	const r = cutterTall / 2
	if p.Set.Kind == solver.Blade {
		v.add(
			Rect{What: "plate of the blade", X: x + c.wide*0.15, Y: -r + toothTall, W: c.wide * 0.7, H: 2 * (r - toothTall), Fill: Steel, Line: Ink},
			Rect{What: "tooth of the blade", X: x, Y: -r, W: c.wide, H: toothTall, Fill: Carbide, Line: Ink},
			Rect{What: "tooth of the blade", X: x, Y: r - toothTall, W: c.wide, H: toothTall, Fill: Carbide, Line: Ink},
		)
		return
	}
	inset, tall := c.wide*plateInset, 2*(r-toothTall)
	gap := (c.before + c.after) / 2 // one of them is none
	out, in, plate := x, x+c.wide+gap, x+inset
	if !left {
		out, in, plate = x+c.wide, x-gap, x
	}
	v.add(Rect{What: name + " blade, plate", X: plate, Y: -tall / 2, W: c.wide - inset, H: tall, Fill: Steel, Line: Ink})
	for _, up := range []float64{-1, 1} {
		v.add(Poly{What: name + " blade, tooth", Fill: Carbide, Line: Ink, Points: []Point{
			{out, up * r}, {in, up * (r - 2)}, {in, up * (r - toothTall)}, {out, up * (r - toothTall)},
		}})
	}
	// The letter stands in a square on the left blade, on a disc on the right one.
	mid := plate + (c.wide-inset)/2
	size := max(3.4, min(5, (c.wide-inset)*v.ScaleX*0.8))
	if left {
		v.add(Rect{What: "square of the left blade", X: mid - size/2/v.ScaleX, Y: -7 - size/2, W: size / v.ScaleX, H: size, Fill: Badge})
	} else {
		v.add(Circle{What: "disc of the right blade", X: mid, Y: -7, R: size / 2, Fill: Badge})
	}
	v.add(Text{X: mid, Y: -7 + size*0.27, Size: size * 0.78, Bold: true, Anchor: Middle, Role: OnBadge, Text: letter})
}

// chipper draws a chipper from its edge, plate to plate with its neighbours.
func (p StackPicture) chipper(v *View, c placed, x float64) {
	const (
		r    = cutterTall/2 - 2 // the points of the outer blades reach a hair further
		tall = toothTall - 2
	)
	before, after := c.before/2, c.after/2
	if p.nutLeft() {
		before, after = after, before
	}
	name := "chipper " + p.cutterWord(c.Part.Nominal)
	v.add(
		Rect{What: name + ", plate", X: x, Y: -r + tall, W: c.wide, H: 2 * (r - tall), Fill: Inner, Line: Ink},
		Rect{What: name + ", tooth", X: x - before, Y: -r, W: c.wide + before + after, H: tall, Fill: Carbide, Line: Ink},
		Rect{What: name + ", tooth", X: x - before, Y: r - tall, W: c.wide + before + after, H: tall, Fill: Carbide, Line: Ink},
	)
}

// signs draws shaft, flanges, nut and free thread around the stack.
func (p StackPicture) signs(v *View, left, right float64) {
	// to is a span outward from the stack on the flange's or the nut's hand.
	span := func(nut bool, from, long float64) float64 {
		if nut != p.nutLeft() {
			return right + from
		}
		return left - from - long
	}
	add := func(what string, nut bool, from, long, tall float64, fill Role) {
		v.add(Rect{What: what, X: span(nut, from, long), Y: -tall / 2, W: long, H: tall, Fill: fill, Line: Ink})
	}
	name := func(word string, nut bool, from, long, y float64) {
		v.add(Text{X: span(nut, from, long) + long/2, Y: y, Size: small, Anchor: Middle, Role: Ink, Text: word})
	}
	const (
		above = -flangeTall/2 - 1.2
		below = flangeTall/2 + 3.6
		from  = flangeWide + nutWide
	)
	add("arbor", false, flangeWide, shaftLong, 6, Steel)
	add("inner flange", false, 0, flangeWide, flangeTall, Steel)
	name("inner", false, 1.6, flangeWide, above)
	name("flange", false, 2.6, flangeWide, below)
	add("outer flange", true, 0, flangeWide, flangeTall, Steel)
	name("flange", true, 2.6, flangeWide, below)
	add("nut", true, flangeWide, nutWide, 11, Inner)
	for _, y := range []float64{-2.6, 2.6} {
		x := span(true, flangeWide, nutWide)
		v.add(Line{What: "edge of the nut", X0: x, Y0: y, X1: x + nutWide, Y1: y, Role: Ink, Thick: outline})
	}
	name("nut", true, flangeWide, nutWide, 1.2)
	add("free thread", true, from, threadLong, 6, Ground)
	x := span(true, from, threadLong)
	for i := range 4 {
		d := 1.5 + 2*float64(i)
		v.add(Line{What: "thread", X0: x + d, Y0: 3, X1: x + d + 1, Y1: -3, Role: Ink, Thick: outline})
	}
	name("free", true, from+1, threadLong, -8.2)
	name("thread", true, from+1, threadLong, -4.4)
}

// orderArrow is the loading order over the stack.
func (p StackPicture) orderArrow(v *View, y, left, right float64) {
	const word = "load this way"
	from, to, wide := left, right, widthOf(word, small, false)+2
	if from > to-wide-8 { // a narrow stack
		mid := (from + to) / 2
		from, to = mid-wide/2-6, mid+wide/2+6
	}
	mid := (from + to) / 2
	v.add(Text{X: mid, Y: y + 1.1, Size: small, Anchor: Middle, Role: Quiet, Text: word})
	tail, head := from, to
	if p.nutLeft() {
		tail, head = to, from
	}
	sign := 1.0
	if head < tail {
		sign = -1
	}
	v.add(
		Line{What: "loading order", X0: tail, Y0: y, X1: mid - sign*wide/2, Y1: y, Role: Quiet, Thick: 0.4},
		Line{What: "loading order", X0: mid + sign*wide/2, Y0: y, X1: head - sign*2, Y1: y, Role: Quiet, Thick: 0.4},
		Poly{What: "head of the loading order", Fill: Quiet, Points: []Point{{head, y}, {head - sign*3, y - 1.4}, {head - sign*3, y + 1.4}}},
	)
}

// shimTags writes the shims of each gap below the cutters.
func (p StackPicture) shimTags(v *View, tags []tag, middle, y float64) float64 {
	size := spreadTags(tags, body, false)
	most := 0
	for _, t := range tags {
		most = max(most, len(t.words))
		v.add(Line{What: "to its shim", X0: t.from, Y0: middle + shimTall/2 - 2, X1: t.from, Y1: y + 0.6, Role: Ink, Thick: 0.4})
		v.add(Line{What: "to its shim", X0: t.from, Y0: y + 0.6, X1: t.at, Y1: y + 2.6, Role: Ink, Thick: 0.4})
		wide := widthOf(t.words[0], size, true)
		v.add(Rect{What: "ground of the label", X: t.at - wide/2, Y: y + 2.8, W: wide, H: 3 + float64(len(t.words))*body*1.15, Fill: Ground})
		for i, w := range append([]string{plainShim(len(t.words))}, t.words...) {
			v.add(Text{X: t.at, Y: y + 5.8 + float64(i)*body*1.15, Size: size, Bold: i > 0, Anchor: Middle, Role: Ink, Text: w})
		}
	}
	return y + 5.8 + float64(most)*body*1.15
}

func plainShim(n int) string {
	if n == 1 {
		return "shim"
	}
	return "shims"
}

// tag is a label with where it belongs and, after spreadTags, where it stands.
type tag struct {
	from  float64
	words []string
	at    float64
}

// nameTall is the height of the row of names: two digits where one is a fraction.
func (p StackPicture) nameTall() float64 {
	for _, c := range append([]solver.Part{{Nominal: p.Stack.Outer.Nominal / 2}}, p.Stack.Chippers...) {
		if strings.Contains(p.cutterWord(c.Nominal), "/") {
			return 8.4
		}
	}
	return 4.2
}

// fraction writes a size, a fraction with its bar lying, centred at x.
func fraction(v *View, word string, x, top, tall, size float64) {
	whole, rest, mixed := strings.Cut(word, " ")
	if !mixed {
		whole, rest = "", word
	}
	num, den, ok := strings.Cut(rest, "/")
	if !ok {
		v.add(Text{X: x, Y: top + tall/2 + 1.5, Size: size, Bold: true, Anchor: Middle, Role: Ink, Text: word})
		return
	}
	wide := max(widthOf(num, size, true), widthOf(den, size, true))
	if mixed {
		w := widthOf(whole, size, true)
		v.add(Text{X: x - wide/2 - 0.3, Y: top + tall/2 + 1.4, Size: size, Bold: true, Anchor: End, Role: Ink, Text: whole})
		x += w / 4
	}
	v.add(
		Text{X: x, Y: top + tall/2 - 0.9, Size: size, Bold: true, Anchor: Middle, Role: Ink, Text: num},
		Line{What: "bar of " + word, X0: x - wide/2, Y0: top + tall/2, X1: x + wide/2, Y1: top + tall/2, Role: Ink, Thick: 0.3},
		Text{X: x, Y: top + tall/2 + 3.6, Size: size, Bold: true, Anchor: Middle, Role: Ink, Text: den},
	)
}

// dimension is a dimension line with its text beneath.
func dimension(v *View, left, right, y float64, word string) {
	v.add(Line{What: "width of the cut", X0: left, Y0: y, X1: right, Y1: y, Role: Measure, Thick: 0.4})
	arrow := func(x, sign float64) {
		v.add(Poly{What: "end of the dimension", Fill: Measure, Points: []Point{{x, y}, {x + sign*2.6, y - 1.1}, {x + sign*2.6, y + 1.1}}})
	}
	arrow(left, 1)
	arrow(right, -1)
	v.add(Text{X: inside((left+right)/2, widthOf(word, strong, true)), Y: y + 5.4, Size: strong, Bold: true, Anchor: Middle, Role: Measure, Text: word})
}

// inside moves the middle of a text so that it stays on a screen page.
func inside(mid, wide float64) float64 {
	return max(margin+wide/2, min(ScreenWidth-margin-wide/2, mid))
}
