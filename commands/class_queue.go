package commands

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

func queueCommand() Command {
	return Command{
		Name: "queue", Summary: "The benches that wait, grouped for the fewest restacks", Example: "/class queue", Private: true,
		run: runQueue,
	}
}

// cutAll is what to do before a setting is given up.
const cutAll = "Cut them all, and a spare, before changing."

// lane is the benches that wait at one saw for one set.
type lane struct {
	saw, set int64
	views    []*view
}

func runQueue(s *session, _ args) (Reply, error) {
	b, err := s.readBoard()
	if err != nil {
		return Reply{}, err
	}
	var lanes []*lane
	var apart []string // rabbets, and stock that no one width fits
	r := Reply{Private: true}
	for i := len(b.open) - 1; i >= 0; i-- { // who asked first comes first
		setup := b.open[i]
		if setup.State != storage.Planned || setup.Joint == storage.Gauge || b.loaded(setup) {
			continue
		}
		v, err := s.viewOf(setup)
		if err != nil {
			return Reply{}, err
		}
		switch {
		case v.rabbet():
			apart = append(apart, capitalised(b.benchWord(setup))+": a rabbet, any stack that is wide enough does it.")
		case v.window.Empty():
			apart = append(apart, capitalised(b.benchWord(setup))+": no single dado fits all of its stock; sort it into lots first.")
		default:
			lanes = addToLane(lanes, v)
		}
		if len(r.Actions) < 10 {
			r.Actions = append(r.Actions, showAction(setup.No, len(r.Actions)/5))
		}
	}
	text := []string{"Nobody waits: no setup is planned this evening."}
	if n := len(apart) + benches(lanes); n > 0 {
		text[0] = fmt.Sprintf("%d %s, fewest restacks first:", n, plural(n, "bench waits", "benches wait"))
	}
	for _, saw := range b.saws {
		text = append(text, b.atThisSetting(saw)...)
		for _, l := range lanes {
			if l.saw == saw.ID {
				text = append(text, b.laneLines(l)...)
			}
		}
	}
	text = append(text, apart...)
	r.Text = lines(append(text, "Each restack: power disconnected first. With /stack the bot offers two passes of what is on the saw, without restacking.")...)
	return r, nil
}

func addToLane(lanes []*lane, v *view) []*lane {
	for _, l := range lanes {
		if l.saw == v.saw.ID && l.set == v.set.ID {
			l.views = append(l.views, v)
			return lanes
		}
	}
	return append(lanes, &lane{v.saw.ID, v.set.ID, []*view{v}})
}

func benches(lanes []*lane) (n int) {
	for _, l := range lanes {
		n += len(l.views)
	}
	return n
}

// benchWord names a bench: "setup 4 (Ada, 6 pieces)".
func (b board) benchWord(setup storage.Setup) string {
	held := ""
	if b.held(setup) != "" {
		held = ", not released"
	}
	return fmt.Sprintf("setup %d (%s, %s%s)", setup.No, b.names.member(setup.MemberID), piecesWord(setup), held)
}

// piecesWord says how many pieces are left to cut.
func piecesWord(setup storage.Setup) string {
	if setup.Pieces == 0 {
		return "pieces not told"
	}
	left := max(0, setup.Pieces-setup.Done)
	return fmt.Sprintf("%d %s left", left, plural(left, "piece", "pieces"))
}

// atThisSetting says what is on a saw and what is still to be cut with it.
func (b board) atThisSetting(saw storage.Saw) []string {
	if _, ok := b.loads[saw.ID]; !ok {
		return nil
	}
	out := []string{b.sawLine(saw)}
	var left []string
	for _, setup := range b.open {
		if at := setup.SawID == saw.ID && (setup.State != storage.Planned || b.loaded(setup)); at && (setup.Pieces == 0 || setup.Done < setup.Pieces) {
			left = append(left, b.benchWord(setup))
		}
	}
	load := b.loads[saw.ID]
	if i := slices.IndexFunc(b.sets, func(s storage.Set) bool { return s.ID == load.SetID }); i >= 0 && usesOut(b.sets[i].Parts, load.Stack) {
		return append(out, "A piece of it has gone out of service: power off, take it off, look at every piece.")
	}
	if len(left) > 0 {
		out = append(out, fmt.Sprintf("Left at this setting: %s. %s", strings.Join(left, ", "), cutAll))
	}
	return out
}

// laneLines are the groups of a lane, those that need no restack first.
func (b board) laneLines(l *lane) []string {
	first := l.views[0]
	var windows []solver.Window
	var margin solver.Length
	for _, v := range l.views {
		windows = append(windows, v.window)
		if now, ok := v.loaded(); ok {
			margin = max(margin, now.SD)
		}
	}
	var on *solver.Length
	if load := first.load; load != nil && load.SetID == l.set && !usesOut(first.set.Parts, load.Stack) {
		c := solver.Expect(first.problem(), load.Stack)
		margin = max(margin, solver.InchesFloat(c.SD))
		at := c.Width()
		on = &at
	}
	w := solver.Queue(windows, margin, on)
	names := func(group []int) string {
		var words []string
		for _, i := range group {
			words = append(words, b.benchWord(l.views[i].setup))
		}
		return strings.Join(words, ", ")
	}
	var out []string
	if len(w.AsItIs) > 0 {
		out = append(out, fmt.Sprintf("No restack on %s, the stack that is on serves: %s. %s", first.saw.Name, names(w.AsItIs), cutAll))
	}
	for i, g := range w.Restacks {
		p := first.problem()
		p.Window = g.Window
		what := "no stack of it reaches this in one pass; see the setup"
		if a := solver.Rank(p, 1); a.Reached && first.set.Parts.Kind != solver.Blade {
			best := a.Ranked[0]
			what = fmt.Sprintf("%s, about %s", first.partsWord(best.Stack), first.fine(best.Width()))
		}
		out = append(out, fmt.Sprintf("Restack %d of %s on %s, %s: %s. %s", i+1, first.set.Name, first.saw.Name, what, names(g.Benches), cutAll))
	}
	switch wait := len(l.views) - len(w.AsItIs); {
	case wait < 2:
	case len(w.Restacks) == wait && first.model.Cuts == 0:
		out = append(out, fmt.Sprintf("None of these go together yet: with no test cut of %s its cuts are known to %s only, and snug widths have to overlap by that. Its first test cuts narrow it.", first.set.Name, first.fine(margin)))
	case len(w.Restacks) == wait:
		out = append(out, fmt.Sprintf("None of these go together: their snug widths do not overlap by %s, one standard deviation of a cut.", first.fine(margin)))
	default:
		out = append(out, fmt.Sprintf("Grouped where the snug widths overlap by %s or more, one standard deviation of a cut, or are the same.", first.fine(margin)))
	}
	return out
}

var piecesForm = Form{Title: "Pieces cut", Fields: []Field{
	{Name: "cut", Label: "How many more are cut at this setting", Example: "4", Required: true, Max: 3},
}}

func (v *view) piecesAction(row int) Action {
	id := action{verb: verbPieces, setup: v.setup.No, cut: v.setup.Done}
	return Action{ID: id.String(), Label: "Pieces cut", Row: row, Form: &piecesForm}
}

// pressPieces counts pieces that were cut at a setting. The button carries how
// many there were, so that a double tap counts once.
func (s *session) pressPieces(act action, values map[string]string) (Reply, error) {
	n, err := whole(values, "cut", 1, maxPieces, 1)
	if err != nil {
		return Reply{}, err
	}
	setup, err := s.app.Store.UpdateSetup(s, s.shop.ID, act.setup, func(setup *storage.Setup) error {
		switch {
		case !s.may(whoMade, setup, 0):
			return &UserError{Message: fmt.Sprintf("Only the member who made setup %d, or an instructor, counts its pieces.", setup.No), Hint: s.whoCan("Ask one of them.")}
		case setup.Done != act.cut:
			return &UserError{Message: fmt.Sprintf("Pieces were counted meanwhile: %s.", piecesWord(*setup)), Hint: "/setups shows your setups with fresh buttons."}
		}
		setup.Done += n
		return nil
	})
	if isNotFound(err) {
		return Reply{}, noSetup(act.setup)
	}
	if err != nil {
		return Reply{}, err
	}
	text := fmt.Sprintf("Setup %d: %d cut, %s.", setup.No, setup.Done, piecesWord(setup))
	if setup.Pieces > 0 && setup.Done >= setup.Pieces {
		text = fmt.Sprintf("Setup %d: all %d cut. A spare too? Then take it down.", setup.No, setup.Pieces)
	}
	return Reply{Private: true, Text: lines(text, "/class queue shows who else can use this setting before it is changed.")}, nil
}

// maxPieces is the most that one setup is asked for.
const maxPieces = 500
