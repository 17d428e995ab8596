package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// halfLap is a rabbet as deep as half the board and as wide as its mate.
const halfLap = "half-lap"

// lapRange is how wide a rabbet or half-lap may be: it is as wide as its mate [shop].
var lapRange = solver.Range{Min: grooveRange.Min, Max: 12 * solver.Inch}

func passesCommand() Command {
	return Command{
		Name: "passes", Summary: "What one pass cannot do: which stack, how many passes, which move", Example: "/passes stock:1.5",
		Options: append([]Option{
			{Name: "stock", Summary: "Thickness as measured, best four readings: 0.980 0.981", Required: true},
			{Name: "joint", Summary: "What you cut; else a dado", Choices: []Choice{
				{"dado, across the grain", string(storage.Dado)},
				{"groove, along the grain", string(storage.Groove)},
				{"rabbet, at an edge", string(storage.Rabbet)},
				{"half-lap, half of each board", halfLap},
			}},
			{Name: "width", Summary: "Rabbets and half-laps: how wide; a half-lap is as wide as its mate"},
			{Name: "set", Summary: "Which cutter set or blade; else the set you used last", complete: completeSets},
			{Name: "saw", Summary: "Which saw; else the one you used last", complete: completeSaws},
			{Name: "depth", Summary: "How deep, to have it checked; a half-lap is half the stock"},
			{Name: "aim", Summary: "Play you want over the thickest reading, instead of the usual"},
			{Name: "pieces", Summary: "How many pieces you cut with it, for the queue", Kind: Whole},
		}, intoOptions()...),
		run: runPasses,
	}
}

func runPasses(s *session, a args) (Reply, error) {
	if a["joint"] != halfLap {
		return s.planned(a, true)
	}
	if strings.TrimSpace(a["width"]) == "" {
		return Reply{}, &UserError{Option: "width", Message: "A half-lap needs width: how wide the board is that crosses it.", Hint: "/passes joint:half-lap stock:3/4 width:2 1/2"}
	}
	lap := args{}
	for k, v := range a {
		lap[k] = v
	}
	lap["joint"] = string(storage.Rabbet)
	if strings.TrimSpace(lap["depth"]) == "" {
		readings, err := s.readings(a, "stock")
		if err != nil {
			return Reply{}, err
		}
		var all []solver.Length
		for _, r := range readings {
			all = append(all, r.Length)
		}
		_, thinnest := solver.Ends(all)
		lap["depth"] = solver.Style{Unit: readings[0].Unit}.Size(thinnest / 2)
	}
	return s.planned(lap, true)
}

// tried holds the plan against what its passes remove. A plan that leaves a ridge
// or moves a wall is a fault of ours, and is not shown.
func (v *view) tried() error {
	for _, p := range v.setup.Stacks {
		if c := v.check(p); !c.OK {
			return fmt.Errorf("%d passes of %s moved by %s do not leave the groove wanted", p.Passes, p.Stack.Sum().DecimalMM(), p.Move.DecimalMM())
		}
	}
	return nil
}

// check tries the passes of a planned stack out.
func (v *view) check(p storage.PlannedStack) solver.PassCheck {
	if v.rabbet() {
		return v.lapPlan(p).Check()
	}
	return v.passPlan(p).Check()
}

func (v *view) lapPlan(p storage.PlannedStack) solver.LapPlan {
	return solver.LapPlan{Stack: p.Stack, Offset: p.Offset, N: p.Passes, Move: p.Move, Width: v.rabbetWidth(), Over: v.over(p)}
}

func (v *view) passPlan(p storage.PlannedStack) solver.PassPlan {
	return solver.PassPlan{Stack: p.Stack, Offset: p.Offset, N: p.Passes, Move: p.Move, Width: width(p)}
}

// over is how far the last pass of a rabbet reaches past the end of the board.
func (v *view) over(p storage.PlannedStack) solver.Length {
	if p.Passes > 1 {
		return solver.LapOverlap
	}
	return width(p) - v.rabbetWidth()
}

// starts are where the passes begin, from the wall or shoulder that the first cuts.
func (v *view) starts(p storage.PlannedStack) []solver.Length {
	if v.rabbet() {
		return v.lapPlan(p).Starts()
	}
	return v.passPlan(p).Starts()
}

// withBlade is the view with an ordinary blade of the shop in place of a set whose
// outer pair is too wide for the groove, or that the saw does not take; the view
// itself where no blade does it. The setup then belongs to the blade, which learns
// its kerf from the test cuts.
func (v *view) withBlade(belief solver.Belief) (*view, error) {
	if v.set.Parts.Kind == solver.Blade || v.answer.Below != nil || v.rabbet() || v.window.Empty() {
		return v, nil
	}
	sets, err := v.s.app.Store.Sets(v.s, v.s.shop.ID)
	if err != nil {
		return nil, err
	}
	best := v
	for _, set := range sets {
		if set.Parts.Kind != solver.Blade {
			continue
		}
		setup := v.setup
		setup.SetID = set.ID
		b := newView(v.s, setup, set, v.saw, belief)
		b.load, b.instead = v.load, v.set.Name
		if b.refuse() != nil {
			continue
		}
		b.search()
		if b.passes == nil || best.passes != nil && (b.passes.N > best.passes.N || b.passes.N == best.passes.N && b.passes.Chance <= best.passes.Chance) {
			continue
		}
		best = b
	}
	if best.passes != nil {
		best.plan()
		return best, best.tried()
	}
	return v, nil
}

// passDetail tells the passes one by one, and what comes out when the moves are off.
func (v *view) passDetail() []string {
	now, ok := v.loaded()
	if !ok || now.Passes < 2 {
		return nil
	}
	var at []string
	for _, s := range v.starts(now) {
		at = append(at, strings.TrimSuffix(v.exactMove(s), " "+v.setup.Style.Unit.String()))
	}
	from := "wall"
	if v.rabbet() {
		from = "shoulder"
	}
	out := []string{fmt.Sprintf("Passes at %s %s from where the first stands. The first cuts the %s that stays; the stop is then moved by the spacer block, %s thick, so that each pass falls towards the other side.", strings.Join(at, ", "), v.setup.Style.Unit, from, v.exactMove(now.Move))}
	c := v.check(now)
	cut := now.Stack.Sum() + now.Offset
	tried := fmt.Sprintf("Tried out: no ridge on the floor, no wall moved; neighbouring passes overlap by %s.", v.fine(cut-now.Move))
	if v.rabbet() {
		return append(out, tried, fmt.Sprintf("The last pass reaches %s past the end. Moves off by %s together leave no ridge either: a rabbet or half-lap has one wall.", v.setup.Style.Size(v.over(now)), v.fine(solver.Length(now.Passes-1)*solver.MoveError)))
	}
	narrow, wide := c.Narrowest.Groove.Width(), c.Widest.Groove.Width()
	worst := fmt.Sprintf("Every move off by %s the same way: %s to %s, play %s to %s: %s to %s.", v.fine(solver.MoveError), v.setup.Style.FineBare(narrow), v.fine(wide),
		v.setup.Style.FineBare(narrow-v.thickest.Length), v.fine(wide-v.thinnest.Length), v.setup.Grades.Of(narrow-v.thickest.Length), v.setup.Grades.Of(wide-v.thinnest.Length))
	if len(c.Narrowest.Ridges)+len(c.Widest.Ridges) > 0 {
		worst += " A ridge may stay: look at the floor."
	}
	return append(out, tried, worst)
}

// passesData is the data of /passes: that of /stack and the passes.
type passesData struct {
	stackData
	StartsMM    []string  `json:"starts_mm"`
	OverlapMM   string    `json:"overlap_mm"`
	MoveErrorMM string    `json:"move_error_mm"`
	GrooveMM    rangeJSON `json:"groove_mm"` // with every move off by the error
	Ridge       bool      `json:"ridge"`     // may stay then
}

// rangeJSON is a least and a greatest length.
type rangeJSON struct {
	Least    string `json:"least"`
	Greatest string `json:"greatest"`
}

func (v *view) passesData() passesData {
	d := passesData{stackData: v.stackData(), StartsMM: []string{}, OverlapMM: "0", MoveErrorMM: solver.MoveError.DecimalMM()}
	now, ok := v.loaded()
	if !ok {
		return d
	}
	for _, s := range v.starts(now) {
		d.StartsMM = append(d.StartsMM, s.DecimalMM())
	}
	c := v.check(now)
	d.GrooveMM = rangeJSON{c.Narrowest.Groove.Width().DecimalMM(), c.Widest.Groove.Width().DecimalMM()}
	d.Ridge = len(c.Narrowest.Ridges)+len(c.Widest.Ridges) > 0
	if now.Passes > 1 {
		d.OverlapMM = (now.Stack.Sum() + now.Offset - now.Move).DecimalMM()
	}
	return d
}
