package commands

import "shimwright/solver"

// shelvesData is the public JSON form of /shelves. Lengths are decimal strings in
// millimetres.
type shelvesData struct {
	Inside   sizeJSON    `json:"inside_mm"`
	Outside  sizeJSON    `json:"outside_mm"`
	Openings []string    `json:"openings_mm"` // from the floor up, or from the left
	LengthMM string      `json:"length_mm"`   // of a shelf, a divider or a runner
	DadoMM   string      `json:"dado_depth_mm"`
	Pieces   []boardJSON `json:"pieces"` // the two that are mirror images
	Bays     []bayJSON   `json:"bays"`   // with dividers between shelves
	Stick    []stickJSON `json:"story_stick"`
	Cuts     []pieceJSON `json:"cut_list"`
	Sag      []sagJSON   `json:"sag"`
	Notes    []string    `json:"notes"`
}

type sizeJSON struct {
	Height string `json:"height"`
	Width  string `json:"width"`
}

type boardJSON struct {
	Piece     string     `json:"piece"`     // left side, right side, bottom, top
	Reference string     `json:"reference"` // the end that marks are measured from
	FaceUp    string     `json:"face_up"`
	Front     string     `json:"front"` // where its front edge lies
	Edges     []edgeJSON `json:"edges"`
}

type edgeJSON struct {
	AtMM    string `json:"at_mm"`
	ErrorMM string `json:"rounding_mm"`
	ThickMM string `json:"thickness_mm"` // of what stands in it
}

type stickJSON struct {
	Mark  string `json:"mark"`
	Shelf int    `json:"shelf,omitempty"`
	AtMM  string `json:"at_mm"`
}

type pieceJSON struct {
	Part        solver.CasePart `json:"part"`
	Count       int             `json:"count"`
	LengthMM    string          `json:"length_mm"`
	WidthMM     string          `json:"width_mm"`
	ThicknessMM string          `json:"thickness_mm"`
}

type sagJSON struct {
	ThicknessMM string    `json:"thickness_mm"`
	FreeMM      rangeJSON `json:"free_mm"`
	FixedMM     rangeJSON `json:"fixed_mm"`
	LimitMM     string    `json:"limit_mm"`
	FreeOK      bool      `json:"free_ok"`
	FixedOK     bool      `json:"fixed_ok"`
}

func (l *layout) data() shelvesData {
	height, width := l.c.Inside()
	over, wide := l.c.Over()
	d := shelvesData{
		Inside: sizeJSON{height.DecimalMM(), width.DecimalMM()}, Outside: sizeJSON{over.DecimalMM(), wide.DecimalMM()},
		LengthMM: l.c.ShelfLength().DecimalMM(), DadoMM: l.c.Dado.DecimalMM(),
		Openings: []string{}, Pieces: []boardJSON{}, Bays: l.bayData(), Stick: []stickJSON{}, Cuts: []pieceJSON{}, Sag: []sagJSON{}, Notes: append([]string{}, l.notes...),
	}
	for _, o := range l.span.Openings {
		d.Openings = append(d.Openings, exactLength(o).DecimalMM())
	}
	switch l.insert {
	case divider:
		d.LengthMM = l.c.DividerLength().DecimalMM()
		for _, p := range l.crossPieces() {
			d.Pieces = append(d.Pieces, boardJSON{p.part, "left end", "inner", p.turn, edgesJSON(l.edges(p.below), l.thick)})
		}
	default:
		if l.insert == runner {
			d.LengthMM = l.c.ShelfWidth().DecimalMM()
		}
		for _, p := range l.c.Sides(l.span, l.grain) {
			d.Pieces = append(d.Pieces, boardJSON{string(p.Side) + " side", "lower end", "inner", string(p.Front), edgesJSON(p.Edges, l.thick)})
		}
		names := map[solver.StickKind]string{solver.StickFloor: "floor", solver.StickLower: "lower", solver.StickUpper: "upper", solver.StickTop: "top"}
		for _, m := range l.c.StoryStick(l.span, l.grain) {
			d.Stick = append(d.Stick, stickJSON{names[m.Kind], m.Shelf, m.Edge.At.DecimalMM()})
		}
	}
	for _, p := range l.cutList() {
		d.Cuts = append(d.Cuts, pieceJSON{p.Part, p.Count, p.Length.DecimalMM(), p.Width.DecimalMM(), p.Thick.DecimalMM()})
	}
	for _, s := range l.sag {
		d.Sag = append(d.Sag, sagJSON{
			s.thick.DecimalMM(),
			rangeJSON{s.stiff.Free.DecimalMM(), s.soft.Free.DecimalMM()},
			rangeJSON{s.stiff.Fixed.DecimalMM(), s.soft.Fixed.DecimalMM()},
			s.soft.Limit.DecimalMM(), s.soft.FreeOK, s.soft.FixedOK,
		})
	}
	return d
}

func edgesJSON(all []solver.Edge, thick []solver.Length) []edgeJSON {
	var out []edgeJSON
	for i, e := range all {
		out = append(out, edgeJSON{e.At.DecimalMM(), e.Error.DecimalMM(), thick[i].DecimalMM()})
	}
	return out
}
