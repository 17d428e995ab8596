package commands

import (
	"errors"
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

func tongueCommand() Command {
	return Command{
		Name: "tongue", Summary: "For panels that vary too much for one dado: a tongue of one thickness", Example: `/tongue stock:0.724 0.744 0.755`,
		Options: []Option{
			{Name: "stock", Summary: "Thickness of all the panels, as measured", Required: true},
			{Name: "set", Summary: "Which cutter set; else the one you used last", complete: completeSets},
			{Name: "saw", Summary: "Which saw; else the one you used last", complete: completeSaws},
			{Name: "depth", Summary: "How deep the dado is, to have it checked"},
			{Name: "dado", Summary: "The dado as cut and measured: the tongue for that one"},
		},
		run: runTongue,
	}
}

type tongueData struct {
	Setup    int64      `json:"setup"` // 0: no dado is planned, it is cut already
	DadoMM   string     `json:"dado_mm"`
	Stack    *stackJSON `json:"stack"`
	TongueMM string     `json:"tongue_mm"`
	SnugMM   rangeJSON  `json:"snug_mm"`     // thicknesses of tongue
	Shoulder endsJSON   `json:"shoulder_mm"` // taken off the face, at the thickest and the thinnest
	LengthMM string     `json:"length_mm"`
	Notes    []string   `json:"notes"`
}

func runTongue(s *session, a args) (Reply, error) {
	setup, set, saw, err := s.asked(args{"stock": a["stock"], "set": a["set"], "saw": a["saw"], "depth": a["depth"]})
	if err != nil {
		return Reply{}, err
	}
	dado, err := s.length(a, "dado", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	belief, err := s.app.Store.Belief(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	v := newView(s, setup, set, saw, belief)
	if dado.Length > 0 {
		return v.tongueFor(dado)
	}
	if err := v.refuse(); err != nil {
		return Reply{}, err
	}
	plan, ok := solver.PlanTongue(v.problem(), v.thickest.Length, v.thinnest.Length, setup.Grades)
	if !ok {
		return Reply{}, &UserError{Option: "set", Message: fmt.Sprintf("%s has no stack without shims that is %s under the thinnest reading, %s.", set.Name, v.setup.Style.Size(solver.TongueShoulder), v.thinnest), Hint: "Take a set with other chippers, or sort the panels into lots with /stack."}
	}
	// The dado is a setup like any other, for stock of the tongue's thickness: it is
	// loaded, checked and test-cut as such. Both ends are alike: the tongue is.
	style := setup.Style
	if style.Unit == solver.InchUnit {
		style.Notation = solver.Decimals
	}
	m := solver.Measure{Length: plan.Tongue, Unit: style.Unit, Notation: style.Notation, Text: style.FineBare(plan.Tongue)}
	if r, err := solver.ParseMeasure(m.Text, style.Unit, solver.StockRange); err == nil {
		m = r
	}
	t := *v
	t.setup.Readings, t.setup.Style = []solver.Measure{m, m}, style
	tv := newView(s, t.setup, set, saw, belief)
	if tv.load, err = s.loadAt(saw.ID); err != nil {
		return Reply{}, err
	}
	tv.setup.Stacks = []storage.PlannedStack{planned(solver.Expect(tv.problem(), plan.Stack))}
	added, err := s.app.Store.AddSetup(s, tv.setup)
	if err != nil && !errors.Is(err, storage.ErrConflict) {
		return Reply{}, err
	}
	tv.setup = added
	return tv.made(func() Reply { return v.tongueReply(tv, plan) })
}

// tongueReply is the plan: v has the panels, t the dado for their tongue.
func (v *view) tongueReply(t *view, plan solver.TonguePlan) Reply {
	now := t.setup.Stacks[0]
	text := []string{
		fmt.Sprintf("Dado %s with %s; a tongue of %s on every panel.", v.fine(plan.Width), t.partsWord(plan.Stack), v.fine(plan.Tongue)),
		fmt.Sprintf("Snug from %s to %s of tongue, whatever the panel: what varies is the shoulder, %s off the thinnest panel (%s) to %s off the thickest (%s).",
			v.setup.Style.FineBare(plan.Snug.Lo), v.fine(plan.Snug.Hi), v.fine(plan.Thinnest), v.thinnest, v.fine(plan.Thickest), v.thickest),
	}
	d := v.tongueData(plan)
	d.Setup = t.setup.No
	out := stackOut(now)
	d.Stack = &out
	if spread := v.thickest.Length - v.thinnest.Length; spread <= v.setup.Grades.SnugTo-v.setup.Grades.SnugFrom {
		d.Notes = append(d.Notes, "one-dado-fits")
		text = append(text, fmt.Sprintf("The panels spread by %s only: one dado fits them all without a tongue, /stack plans it.", v.fine(spread)))
	}
	if held := t.heldWord(); held != "" {
		text = append(text, held)
	}
	text = append(text,
		t.loadWord(plan.Stack)+fmt.Sprintf(" Cut the dado in scrap and measure it, give or take %s; then /tongue with dado: gives the tongue for the one you cut.", v.fine(solver.InchesFloat(plan.SD))),
		arborCaution)
	text = append(text, v.tongueHow()...)
	text = append(text, v.tongueDepth(&d)...)
	r := Reply{Text: lines(append(text, t.footWord())...), Data: d}
	r.Actions = append(append(t.outcomeActions(), t.lifeActions()...), showAction(t.setup.No, 2))
	return r
}

// tongueFor is the tongue for a dado that is cut and measured.
func (v *view) tongueFor(dado solver.Measure) (Reply, error) {
	if dado.Length > v.thinnest.Length-solver.TongueShoulder {
		return Reply{}, &UserError{Option: "dado", Message: fmt.Sprintf("A dado of %s leaves no shoulder on the thinnest panel, %s: it has to be %s narrower at least.", dado, v.thinnest, v.setup.Style.Size(solver.TongueShoulder)), Hint: "/tongue without dado: plans one."}
	}
	plan := solver.TongueFor(dado.Length, v.thickest.Length, v.thinnest.Length, v.setup.Grades)
	d := v.tongueData(plan)
	text := []string{
		fmt.Sprintf("Tongue of %s for the dado of %s, on every panel.", v.fine(plan.Tongue), dado),
		fmt.Sprintf("Snug from %s to %s: make a go block and a no-go block of these two and try every tongue. The shoulder is %s at the thinnest panel, %s at the thickest.",
			v.setup.Style.FineBare(plan.Snug.Lo), v.fine(plan.Snug.Hi), v.fine(plan.Thinnest), v.fine(plan.Thickest)),
	}
	text = append(append(text, v.tongueHow()...), v.tongueDepth(&d)...)
	return Reply{Text: lines(append(text, arborCaution, deferral)...), Data: d}, nil
}

func (v *view) tongueData(plan solver.TonguePlan) tongueData {
	return tongueData{
		DadoMM: plan.Width.DecimalMM(), TongueMM: plan.Tongue.DecimalMM(),
		SnugMM:   rangeJSON{plan.Snug.Lo.DecimalMM(), plan.Snug.Hi.DecimalMM()},
		Shoulder: endsJSON{plan.Thickest.DecimalMM(), plan.Thinnest.DecimalMM()}, Notes: []string{},
	}
}

// tongueHow says how a tongue of one thickness comes about, and why not flat.
func (v *view) tongueHow() []string {
	return []string{
		"Cut it from the face that stays, never flat on the table: a flat rabbet takes a constant depth off and leaves the tongue as uneven as the panel. Mark that face on all; the shoulders all go to one side.",
		edgeCaution,
	}
}

// tongueDepth is how long the tongue is, and what the depth of the dado leaves.
func (v *view) tongueDepth(d *tongueData) []string {
	depth := v.setup.Depth.Length
	if depth == 0 {
		depth = solver.UsualDepth(v.panel(), v.setup.Style.Unit, v.s.depthRule())
	}
	long := solver.TongueLength(depth, solver.PaperThickness)
	d.LengthMM = long.DecimalMM()
	out := []string{fmt.Sprintf("In a dado %s deep the tongue is %s long, a paper's thickness short of the floor.", v.setup.Style.Size(depth), v.fine(long))}
	if refusal := v.depthRefusal(); refusal != "" {
		d.Notes = append(d.Notes, "depth")
		out = append(out, refusal)
	}
	return out
}
