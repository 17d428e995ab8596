package solver

// TongueShoulder is the least by which the dado for a tongue is narrower than
// the thinnest reading, so that a shoulder remains: 1/32 in [geometry; cp].
const TongueShoulder = Inch / 32

// TonguePlan joins panels that vary more than one dado can take. Every panel gets
// a tongue of one thickness; what varies is the shoulder. The tongue has to be cut
// from the face that stays, the panel on edge against a tall fence or a router
// referenced on that face: a rabbet cut flat on the table takes a constant depth
// off and leaves the tongue as uneven as the panel.
type TonguePlan struct {
	Stack  Stack   // without shims
	Width  Length  // expected, of the dado
	SD     float64 // of that width, inches
	Tongue Length  // thickness, all panels alike
	Snug   Window  // thicknesses of tongue that are snug in the expected dado
	// Shoulders are what is taken off the thinnest and the thickest panel. Neither
	// is a setting: the tongue's thickness is.
	Thinnest, Thickest Length
}

// PlanTongue plans for panels between thinnest and thickest: the widest dado
// without shims that is at least TongueShoulder under the thinnest reading, and a
// tongue with the play in the middle of the snug range. The second result is
// false where set and saw have no stack as narrow as that. p.Window is not used.
func PlanTongue(p Problem, thickest, thinnest Length, g Grades) (TonguePlan, bool) {
	p.Set.Shims = nil
	s, ok := newSpace(p.Set, p.Saw, &p.Model, Stack{})
	if p.Set.Kind == Blade || !ok {
		return TonguePlan{}, false
	}
	k, ok := s.fewestShims(0, thinnest-TongueShoulder)
	if !ok {
		return TonguePlan{}, false
	}
	c := Expect(p, s.stack(k))
	t := TongueFor(c.Width(), thickest, thinnest, g)
	t.Stack, t.SD = c.Stack, c.SD
	return t, true
}

// TongueFor is the tongue for a dado of a given width, with the play in the middle
// of the snug range. It has no stack.
func TongueFor(dado, thickest, thinnest Length, g Grades) TonguePlan {
	t := TonguePlan{Width: dado, Snug: Window{dado - g.SnugTo, dado - g.SnugFrom}}
	t.Tongue = t.Snug.Mid()
	t.Thinnest, t.Thickest = thinnest-t.Tongue, thickest-t.Tongue
	return t
}
