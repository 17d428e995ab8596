package commands

import (
	"shimwright/solver"
	"shimwright/storage"
)

// The public JSON form. Lengths are decimal strings in millimetres.

type stackData struct {
	Setup      int64         `json:"setup"`
	State      storage.State `json:"state"`
	Joint      storage.Joint `json:"joint"`
	Unit       string        `json:"unit"`
	Stock      stockJSON     `json:"stock"`
	TargetMM   string        `json:"target_mm"`
	Stack      *stackJSON    `json:"stack"`
	PlayMM     *endsJSON     `json:"play_mm"`
	Grade      *endsJSON     `json:"grade"`
	ChanceSnug float64       `json:"chance_snug"`
	Others     []stackJSON   `json:"others"`
	Passes     int           `json:"passes"`
	MoveMM     string        `json:"move_mm"`
	Notes      []string      `json:"notes"`
}

type stockJSON struct {
	ReadingsMM []string `json:"readings_mm"`
	ThickestMM string   `json:"thickest_mm"`
	ThinnestMM string   `json:"thinnest_mm"`
}

type stackJSON struct {
	OuterPairMM string      `json:"outer_pair_mm"`
	Chippers    []countJSON `json:"chippers"`
	Shims       []countJSON `json:"shims"`
	Gaps        [][]string  `json:"gaps"`
	SumMM       string      `json:"sum_mm"`
	OffsetMM    string      `json:"offset_mm"`
	WidthMM     string      `json:"width_mm"`
}

type countJSON struct {
	SizeMM string `json:"size_mm"`
	Count  int    `json:"count"`
}

// endsJSON is a figure or a word at the thickest and at the thinnest reading.
type endsJSON struct {
	Thickest string `json:"thickest"`
	Thinnest string `json:"thinnest"`
}

func (v *view) stackData() stackData {
	d := stackData{
		Setup: v.setup.No, State: v.setup.State, Joint: v.setup.Joint, Unit: v.setup.Style.Unit.String(),
		Stock:  stockJSON{ThickestMM: v.thickest.Length.DecimalMM(), ThinnestMM: v.thinnest.Length.DecimalMM()},
		Others: []stackJSON{}, Notes: []string{}, MoveMM: "0",
	}
	for _, r := range v.setup.Readings {
		d.Stock.ReadingsMM = append(d.Stock.ReadingsMM, r.Length.DecimalMM())
	}
	d.TargetMM = v.window.Mid().DecimalMM()
	if v.rabbet() {
		d.TargetMM = v.rabbetWidth().DecimalMM()
	}
	if now, ok := v.loaded(); ok {
		s := stackOut(now)
		d.Stack, d.Passes, d.MoveMM = &s, now.Passes, now.Move.DecimalMM()
		if !v.rabbet() {
			d.ChanceSnug = now.Chance
			play, grade := v.ends(width(now))
			d.PlayMM, d.Grade = &play, &grade
		}
	}
	for _, o := range v.others() {
		d.Others = append(d.Others, stackOut(planned(o.Candidate)))
	}
	for _, n := range v.notes() {
		d.Notes = append(d.Notes, n.code)
	}
	return d
}

// ends are play and grade of a groove at the thickest and the thinnest reading.
func (v *view) ends(width solver.Length) (play, grade endsJSON) {
	thick, thin := width-v.thickest.Length, width-v.thinnest.Length
	g := v.setup.Grades
	return endsJSON{thick.DecimalMM(), thin.DecimalMM()}, endsJSON{string(g.Of(thick)), string(g.Of(thin))}
}

func stackOut(p storage.PlannedStack) stackJSON {
	count := func(parts []solver.Part) []countJSON {
		out := []countJSON{}
		for _, c := range solver.CountParts(parts) {
			out = append(out, countJSON{c.Size.DecimalMM(), c.N})
		}
		return out
	}
	s := p.Stack
	out := stackJSON{
		OuterPairMM: s.Outer.Size.DecimalMM(), Chippers: count(s.Chippers), Shims: count(s.Shims()), Gaps: [][]string{},
		SumMM: s.Sum().DecimalMM(), OffsetMM: p.Offset.DecimalMM(), WidthMM: (s.Sum() + p.Offset).DecimalMM(),
	}
	for _, gap := range s.Gaps {
		row := []string{}
		for _, g := range gap {
			row = append(row, g.Size.DecimalMM())
		}
		out.Gaps = append(out.Gaps, row)
	}
	return out
}
