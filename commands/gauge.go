package commands

import (
	"errors"
	"fmt"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

func gaugeCommand() Command {
	return Command{
		Name: "gauge", Summary: "A board of test dadoes in fixed steps: plan it, log its widths", Example: "/gauge plan from:0.70 to:0.76 step:0.005",
		Subs: []Command{
			{
				Name: "plan", Summary: "Which stack cuts each dado of the board", Example: "/gauge plan from:0.70 to:0.76 step:0.005",
				Options: []Option{
					{Name: "from", Summary: "Width of the first dado", Required: true},
					{Name: "to", Summary: "Width that the last dado reaches", Required: true},
					{Name: "step", Summary: "From one dado to the next", Required: true},
					{Name: "set", Summary: "Which cutter set; else the one you used last", complete: completeSets},
					{Name: "saw", Summary: "Which saw; else the one you used last", complete: completeSaws},
				},
				run: planGauge,
			},
			{
				Name: "log", Summary: "The widths that were measured, many at once", Example: "/gauge log setup:7 widths:0.7195 0.7240 - 0.7340",
				Options: []Option{
					{Name: "widths", Summary: "In the order of the dadoes; - for one not cut", Required: true},
					{Name: "setup", Summary: "Which board; else your last one", complete: completeSetups},
					{Name: "first", Summary: "Number of the dado that the first width is of; else 1", Kind: Whole},
				},
				run: logGauge,
			},
		},
	}
}

// stepRange is what a board may step by.
var stepRange = solver.Range{Min: solver.Mil, Max: solver.Inch / 8}

func planGauge(s *session, a args) (Reply, error) {
	from, err := s.length(a, "from", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	to, err := s.length(a, "to", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	step, err := s.length(a, "step", stepRange)
	if err != nil {
		return Reply{}, err
	}
	setup := storage.Setup{
		ShopID: s.shop.ID, MemberID: s.member.ID, Joint: storage.Gauge, Grades: s.shop.Settings.Grades, State: storage.Planned,
		Readings: []solver.Measure{from, to}, Style: solver.Style{Unit: from.Unit, Notation: from.Notation},
		Interaction: s.caller.Interaction, Created: s.caller.At,
	}
	set, saw, err := s.tools(a, setup.Style.Unit)
	if err != nil {
		return Reply{}, err
	}
	setup.SetID, setup.SawID = set.ID, saw.ID
	belief, err := s.app.Store.Belief(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	v := newView(s, setup, set, saw, belief)
	if err := v.refuse(); err != nil {
		return Reply{}, err
	}
	rungs, ok := solver.Ladder(v.problem(), from.Length, to.Length, step.Length)
	if !ok {
		return Reply{}, &UserError{Option: "step", Message: fmt.Sprintf("From %s to %s in steps of %s is no ladder of 1 to %d dadoes.", from, to, step, solver.MaxRungs), Hint: "/gauge plan from:0.70 to:0.76 step:0.005"}
	}
	for _, r := range rungs {
		p := planned(r.Stack)
		p.Target = r.Target
		v.setup.Stacks = append(v.setup.Stacks, p)
	}
	added, err := s.app.Store.AddSetup(s, v.setup)
	if err != nil && !errors.Is(err, storage.ErrConflict) {
		return Reply{}, err
	}
	v.setup = added
	return v.made(v.gaugeReply)
}

// gaugeReply is the ladder of a board, with what was measured of it.
func (v *view) gaugeReply() Reply {
	measured := map[int]solver.Measure{}
	for _, c := range v.setup.Cuts {
		if !c.Voided {
			measured[c.Revision] = c.Floor
		}
	}
	first, last := v.setup.Stacks[0], v.setup.Stacks[len(v.setup.Stacks)-1]
	out := []string{fmt.Sprintf("Gauge board of %d dadoes, %s to %s.", len(v.setup.Stacks), v.exact(first.Target), v.exact(last.Target))}
	if end := v.setup.Readings[1]; last.Target > end.Length {
		out = append(out, fmt.Sprintf("The steps do not land on %s: the last two are %s and %s.", end, v.exact(v.setup.Stacks[max(0, len(v.setup.Stacks)-2)].Target), v.exact(last.Target)))
	}
	missed := 0
	for i, p := range v.setup.Stacks {
		line := fmt.Sprintf("%d: %s: %s", i+1, v.exact(p.Target), v.partsWord(p.Stack))
		if off := width(p) - p.Target; off.Abs() > solver.GaugeReach {
			missed++
			line += fmt.Sprintf("; not reached, the nearest is about %s", v.fine(width(p)))
		}
		if m, ok := measured[i]; ok {
			line += fmt.Sprintf("; measured %s", m)
		}
		out = append(out, line)
	}
	if missed > 0 {
		out = append(out, fmt.Sprintf("%d of them this set does not reach in one pass; leave them out or cut the nearest.", missed))
	}
	out = append(out, arborCaution+" Each dado is a new stack: press Power is off each time.",
		"Cut each once on one board, label it at once with its number, measure at the floor, then log all widths: "+fmt.Sprintf("/gauge log setup:%d widths:...", v.setup.No),
		v.footWord())
	r := Reply{Text: lines(out...), Data: v.gaugeData()}
	if v.setup.State.Open() {
		r.Actions = []Action{v.powerAction(0), downAction(v.saw.ID, 0)}
	}
	return r
}

// exact writes a mark of the ladder as it is, not rounded to what a caliper tells.
func (v *view) exact(l solver.Length) string {
	return solver.Style{Unit: v.setup.Style.Unit}.Size(l)
}

type gaugeData struct {
	Setup int64      `json:"setup"`
	Rungs []rungJSON `json:"rungs"`
}

type rungJSON struct {
	TargetMM   string    `json:"target_mm"`
	Stack      stackJSON `json:"stack"`
	Reached    bool      `json:"reached"`
	MeasuredMM string    `json:"measured_mm"` // empty: not measured
}

func (v *view) gaugeData() gaugeData {
	d := gaugeData{Setup: v.setup.No, Rungs: []rungJSON{}}
	for _, p := range v.setup.Stacks {
		d.Rungs = append(d.Rungs, rungJSON{TargetMM: p.Target.DecimalMM(), Stack: stackOut(p), Reached: (width(p) - p.Target).Abs() <= solver.GaugeReach})
	}
	for _, c := range v.setup.Cuts {
		if !c.Voided && c.Revision < len(d.Rungs) {
			d.Rungs[c.Revision].MeasuredMM = c.Floor.Length.DecimalMM()
		}
	}
	return d
}

// logGauge takes the measured widths of a board as so many test cuts. All are
// read before the first is logged.
func logGauge(s *session, a args) (Reply, error) {
	no, err := s.setupNumber(a["setup"])
	if err != nil {
		return Reply{}, err
	}
	v, err := s.loadView(no)
	if err != nil {
		return Reply{}, err
	}
	if v.setup.Joint != storage.Gauge {
		return Reply{}, &UserError{Option: "setup", Message: fmt.Sprintf("Setup %d is no gauge board.", no), Hint: "/gauge plan from:0.70 to:0.76 step:0.005 makes one."}
	}
	first, err := whole(a, "first", 1, len(v.setup.Stacks), 1)
	if err != nil {
		return Reply{}, err
	}
	widths, err := s.rungWidths(a["widths"], first, len(v.setup.Stacks))
	if err != nil {
		return Reply{}, err
	}
	logged, odd := 0, 0
	for i, m := range widths {
		if m.Length == 0 {
			continue
		}
		cut := storage.Cut{MemberID: s.member.ID, Revision: first - 1 + i, Floor: m, At: s.caller.At}
		if s.caller.Interaction != "" {
			cut.Interaction = fmt.Sprintf("%s/%d", s.caller.Interaction, first+i)
		}
		setup, err := s.app.Store.LogCut(s, s.shop.ID, no, func(b *storage.Bench) error {
			if alreadyLogged(b.Setup, cut, aimedAt{}) > 0 {
				return errAlready
			}
			v := newView(s, *b.Setup, v.set, v.saw, *b.Belief)
			if v.takeRung(cut, b.LogID, b.Belief) == solver.Odd {
				odd++
			}
			*b.Setup = v.setup
			return nil
		})
		if errors.Is(err, errAlready) {
			continue
		}
		if err != nil {
			return Reply{}, err
		}
		logged++
		v.setup = setup
	}
	fresh, err := s.viewOf(v.setup)
	if err != nil {
		return Reply{}, err
	}
	text := []string{fmt.Sprintf("%d %s of the board logged as evidence on %s.", logged, plural(logged, "width", "widths"), v.set.Name)}
	if odd > 0 {
		text = append(text, fmt.Sprintf("%d of them %s not agree with what this set has cut so far: measure again.", odd, plural(odd, "does", "do")))
	}
	text = append(text, fresh.flagLines(fresh.setup.Cuts[len(fresh.setup.Cuts)-1].No)...)
	text = append(text, fmt.Sprintf("/set learned set:%q shows what they taught.", v.set.Name), fresh.footWord())
	return Reply{Text: lines(text...), Data: fresh.gaugeData()}, nil
}

// takeRung puts a measured dado into the board of the view and what it teaches
// into the belief.
func (v *view) takeRung(cut storage.Cut, logID int64, belief *solver.Belief) solver.Fate {
	setup := &v.setup
	cut.No = len(setup.Cuts) + 1
	cut.Loading = cut.Revision + 1
	cut.Grade = setup.Grades.Of(cut.Floor.Length - setup.Stacks[cut.Revision].Target)
	e, _ := evidence(storage.Logged{ID: logID, Cut: cut, Setup: *setup, Set: v.set})
	next, verdict := belief.Observe(e)
	*belief = next
	cut.Odd = verdict.Fate == solver.Odd
	v.flagRung(cut)
	setup.Cuts = append(setup.Cuts, cut)
	setup.Loaded = cut.Revision
	if setup.State == storage.Planned {
		setup.Move(storage.Move{To: storage.Cutting, Deed: storage.CutLogged, MemberID: cut.MemberID, At: cut.At})
	}
	return verdict.Fate
}

// rungWidths reads measured widths in the order of the dadoes; a dash stands for
// one that was not cut.
func (s *session) rungWidths(text string, first, rungs int) ([]solver.Measure, error) {
	var out []solver.Measure
	// Each stretch between dashes is a list of readings of its own.
	fields := strings.Fields(text)
	var list []string
	flush := func() error {
		if len(list) == 0 {
			return nil
		}
		all, err := solver.ParseReadings(strings.Join(list, " "), s.style.Unit, grooveRange)
		if err != nil {
			return measureError("widths", err)
		}
		out, list = append(out, all...), nil
		return nil
	}
	for _, f := range fields {
		if f != "-" && f != "–" && f != "—" {
			list = append(list, f)
			continue
		}
		if err := flush(); err != nil {
			return nil, err
		}
		out = append(out, solver.Measure{})
	}
	if err := flush(); err != nil {
		return nil, err
	}
	if first-1+len(out) > rungs {
		return nil, &UserError{Option: "widths", Message: fmt.Sprintf("That is more widths than the board has dadoes (%d).", rungs), Hint: "widths:0.7195 0.7240 - 0.7340"}
	}
	return out, nil
}
