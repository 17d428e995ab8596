package commands

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// changeSet changes one piece of a set, or what holds for the whole set. Anyone
// may take a piece out of service; the rest is for instructors.
func changeSet(s *session, a args) (Reply, error) {
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	if len(a) < 2 {
		return Reply{}, &UserError{Message: "Say what to change.", Hint: `/set change set:"Blue case" piece:"chipper 1/8" out:1`}
	}
	s.style.Unit = set.Parts.Unit
	changed, err := s.app.Store.UpdateSet(s, s.shop.ID, set.ID, func(x *storage.Set) error {
		if err := s.change(x, a); err != nil {
			return err
		}
		x.Generic = x.Generic && onlyTakesOut(a) // a piece taken out leaves the sizes nominal
		return nil
	})
	if errors.Is(err, storage.ErrConflict) {
		return Reply{}, &UserError{Option: "name", Message: "This shop has a set of that name already.", Hint: `name:"Blue case 2"`}
	}
	if err != nil {
		return Reply{}, err
	}
	text := append([]string{changed.Name + " is changed."}, setText(changed)...)
	r := Reply{}
	if a["out"] != "" && a["out"] != "0" {
		warning, err := s.affected(changed, a["piece"])
		if err != nil {
			return Reply{}, err
		}
		text = slices.Insert(text, 1, warning...) // before what the set has
	}
	r.Text = lines(text...)
	return r, nil
}

func (s *session) change(x *storage.Set, a args) error {
	if !onlyTakesOut(a) {
		if err := s.needInstructor("Changing a set"); err != nil {
			return err
		}
	}
	if a["name"] != "" {
		title, err := name(a)
		if err != nil {
			return err
		}
		x.Name = title
	}
	if a["soft-shims"] != "" {
		x.Parts.SoftOK = yes(a, "soft-shims")
	}
	if a["piece"] == "" {
		for _, o := range []string{"measured", "count", "out", "plate", "tooth", "teeth", "material"} {
			if a[o] != "" {
				return &UserError{Option: "piece", Message: fmt.Sprintf("%s needs piece beside it: which one is meant?", o), Hint: `piece:"chipper 1/8"`}
			}
		}
		return s.setLimits(&x.Parts, a)
	}
	if err := s.changePiece(&x.Parts, a); err != nil {
		return err
	}
	limits := args{}
	for _, o := range []string{"diameter", "max-speed", "max-width", "gap-limit", "bare-gap-limit", "gap-shims"} {
		limits[o] = a[o]
	}
	if err := s.setLimits(&x.Parts, limits); err != nil {
		return err
	}
	chippers, shims := 0, 0
	for _, c := range x.Parts.Chippers {
		chippers += c.Count
	}
	for _, c := range x.Parts.Shims {
		shims += c.Count
	}
	if chippers > solver.MaxChippers || shims > solver.MaxShims {
		return &UserError{Option: "count", Message: fmt.Sprintf("A set has at most %d chippers and %d shims.", solver.MaxChippers, solver.MaxShims), Hint: "count:2"}
	}
	return nil
}

// onlyTakesOut says that nothing but pieces out of service is asked for.
func onlyTakesOut(a args) bool {
	for o := range a {
		if o != "set" && o != "piece" && o != "out" {
			return false
		}
	}
	return a["out"] != "" && a["out"] != "0"
}

// pieceNamed reads the piece option: "pair" or "kerf", or "chipper" or "shim" with
// the nominal size of one that the set has.
func pieceNamed(p solver.Set, text string) (kind string, nominal solver.Length, err error) {
	kind, size, _ := strings.Cut(strings.TrimSpace(strings.ToLower(text)), " ")
	bad := &UserError{Option: "piece", Message: fmt.Sprintf("This set has no piece %q. It has: %s.", clip(text, 30), strings.Join(pieceList(p), ", ")), Hint: "piece:" + pieceList(p)[0]}
	switch kind {
	case "pair", "kerf":
		return "pair", p.Outer.Nominal, nil
	case "chipper":
		m, err := solver.ParseMeasure(size, p.Unit, partRange)
		if err == nil && slices.ContainsFunc(p.Chippers, func(c solver.Chipper) bool { return c.Nominal == m.Length }) {
			return kind, m.Length, nil
		}
	case "shim":
		m, err := solver.ParseMeasure(size, p.Unit, shimRange)
		if err == nil && slices.ContainsFunc(p.Shims, func(c solver.Shim) bool { return c.Nominal == m.Length }) {
			return kind, m.Length, nil
		}
	}
	return "", 0, bad
}

func (s *session) changePiece(p *solver.Set, a args) error {
	kind, nominal, err := pieceNamed(*p, a["piece"])
	if err != nil {
		return err
	}
	if kind == "pair" {
		return s.changePair(p, a)
	}
	r := partRange
	if kind == "shim" {
		r = shimRange
	}
	measured, err := s.measured(a, r)
	if err != nil {
		return err
	}
	switch kind {
	case "chipper":
		for i := range p.Chippers {
			c := &p.Chippers[i]
			if c.Nominal != nominal {
				continue
			}
			if measured.given {
				c.Measured = measured.to
			}
			tooth, err := s.length(a, "tooth", partRange)
			if err != nil {
				return err
			}
			if tooth.Length > 0 && tooth.Length < c.Part().Size {
				return &UserError{Option: "tooth", Message: "A tooth is not narrower than its plate.", Hint: "tooth:0.140"}
			}
			if tooth.Length > 0 {
				c.Tooth = tooth.Length
			}
			if c.Teeth, err = whole(a, "teeth", 0, 12, c.Teeth); err != nil {
				return &UserError{Option: "teeth", Message: "A chipper has 0 to 12 teeth.", Hint: "teeth:4"}
			}
			return counts(a, &c.Count, &c.Out, solver.MaxChippers)
		}
	case "shim":
		for i := range p.Shims {
			c := &p.Shims[i]
			if c.Nominal != nominal {
				continue
			}
			if measured.given {
				c.Measured = measured.to
			}
			if a["material"] != "" {
				c.Material = solver.Material(a["material"])
			}
			return counts(a, &c.Count, &c.Out, solver.MaxShims)
		}
	}
	return nil
}

func (s *session) changePair(p *solver.Set, a args) error {
	measured, err := s.measured(a, partRange)
	if err != nil {
		return err
	}
	if measured.given {
		p.Outer.Measured = measured.to
	}
	for _, o := range []struct {
		name string
		to   *solver.Length
	}{{"plate", &p.Outer.Plate}, {"tooth", &p.Outer.Tooth}} {
		m, err := s.length(a, o.name, partRange)
		if err != nil {
			return err
		}
		if m.Length > 0 {
			*o.to = m.Length
		}
	}
	if p.Outer.Tooth > 0 && p.Outer.Tooth < p.Outer.Plate {
		return &UserError{Option: "tooth", Message: "A tooth is not narrower than its plate.", Hint: "plate:0.090 tooth:0.125"}
	}
	if p.Outer.Teeth, err = whole(a, "teeth", 0, 120, p.Outer.Teeth); err != nil {
		return err
	}
	count, out := 1, 0
	if p.Outer.Out {
		out = 1
	}
	if err := counts(a, &count, &out, 1); err != nil {
		return err
	}
	p.Outer.Out = out > 0
	return nil
}

// newSize is what the measured option says: nothing, none, or a size.
type newSize struct {
	given bool
	to    solver.Length
}

func (s *session) measured(a args, r solver.Range) (newSize, error) {
	if strings.EqualFold(strings.TrimSpace(a["measured"]), "none") {
		return newSize{given: true}, nil
	}
	m, err := s.length(a, "measured", r)
	return newSize{m.Length > 0, m.Length}, err
}

func counts(a args, count, out *int, most int) error {
	n, err := whole(a, "count", 0, most, *count)
	if err != nil {
		return err
	}
	o, err := whole(a, "out", 0, n, min(*out, n))
	if err != nil {
		return err
	}
	*count, *out = n, o
	return nil
}

// pieceList names every piece of a set as the piece option takes it.
func pieceList(p solver.Set) []string {
	if p.Kind == solver.Blade {
		return []string{"kerf"}
	}
	out := []string{"pair"}
	for _, c := range p.Chippers {
		out = append(out, "chipper "+pieceWord(p.Unit, c.Nominal))
	}
	for _, c := range p.Shims {
		out = append(out, "shim "+shimWord(p.Unit, c.Nominal))
	}
	return out
}

// completePieces offers the pieces of every set of the shop: which set is meant
// may not be typed yet.
func completePieces(s *session, typed string) ([]Choice, error) {
	all, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return nil, err
	}
	var names []string
	seen := map[string]bool{}
	for _, set := range all {
		for _, p := range pieceList(set.Parts) {
			if !seen[p] {
				seen[p] = true
				names = append(names, p)
			}
		}
	}
	return choicesOf(names, func(n string) string { return n }, typed), nil
}
