package commands

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// cutStore keeps the log of test cuts and what was learned from it.
type cutStore interface {
	Belief(ctx context.Context, shopID int64) (solver.Belief, error)
	LogCut(ctx context.Context, shopID, no int64, log func(*storage.Bench) error) (storage.Setup, error)
	ReviseCuts(ctx context.Context, shopID, no int64, revise func(*storage.Setup) error, replay func([]storage.Logged) solver.Belief) (storage.Setup, error)
}

func testcutCommand() Command {
	return Command{
		Name: "testcut", Summary: "Log how a test cut came out, and what to change", Example: "/testcut feel:tight",
		Options: []Option{
			{Name: "feel", Summary: "How the stock went in, by hand", Choices: feelChoices()},
			{Name: "groove", Summary: "The groove as measured, at its floor"},
			{Name: "mouth", Summary: "The groove as measured, at its mouth"},
			{Name: "slips", Summary: "How many slips of printer paper went in beside the stock", Kind: Whole},
			{Name: "piece", Summary: "The test piece's own thickness, if you measured it"},
			{Name: "depth", Summary: "How deep the cut came out, if you measured it"},
			{Name: "setup", Summary: "Which setup; else your last one", complete: completeSetups},
			{Name: "kept", Summary: "Yes if you kept the stack as it was and did not follow the advice", Kind: YesNo},
			{Name: "note", Summary: "Anything worth remembering"},
			{Name: "cut", Summary: "Number of an earlier cut whose groove was measured since", Kind: Whole},
			{Name: "undo", Summary: "Void the last test cut instead", Kind: YesNo},
		},
		run: runTestcut,
	}
}

func feelChoices() []Choice {
	hints := map[solver.Grade]string{
		solver.WontEnter: "will not go in", solver.Tight: "wants a mallet", solver.Snug: "in by hand, grips and lifts",
		solver.Loose: "leans or drops out", solver.Sloppy: "rattles",
	}
	var out []Choice
	for _, g := range solver.AllGrades {
		out = append(out, Choice{fmt.Sprintf("%s: %s", g, hints[g]), string(g)})
	}
	return out
}

var measureForm = Form{Title: "Groove as measured", Fields: []Field{
	{Name: "groove", Label: "Width at the floor", Example: "0.708 or 18.0mm", Required: true, Max: 40},
	{Name: "mouth", Label: "Width at the mouth, if measured", Example: "0.708", Max: 40},
	{Name: "piece", Label: "Test piece's thickness, if measured", Example: "0.703", Max: 40},
	{Name: "depth", Label: "Depth of the cut, if measured", Example: "1/4", Max: 40},
	{Name: "note", Label: "Note", Example: "north saw, new insert", Max: maxNote},
}}

var slipsForm = Form{Title: "Slips of paper", Fields: []Field{
	{Name: "slips", Label: "How many went in beside the stock", Example: "2", Required: true, Max: 3},
	{Name: "piece", Label: "Test piece's thickness, if measured", Example: "0.703", Max: 40},
	{Name: "note", Label: "Note", Example: "paper is 0.004 in", Max: maxNote},
}}

func runTestcut(s *session, a args) (Reply, error) {
	no, err := s.setupNumber(a["setup"])
	if err != nil {
		return Reply{}, err
	}
	if yes(a, "undo") {
		return s.undo(no, 0)
	}
	cut, err := s.outcome(a)
	if err != nil {
		return Reply{}, err
	}
	if a["cut"] != "" {
		return s.measureLater(no, a, cut)
	}
	return s.logCut(no, cut, aimedAt{kept: yes(a, "kept"), latest: true})
}

// setupNumber reads the setup option: a number, or "last" for the member's newest.
func (s *session) setupNumber(text string) (int64, error) {
	text = strings.TrimSpace(text)
	if text == "" || strings.EqualFold(text, "last") {
		mine, err := s.app.Store.SetupHeads(s, s.shop.ID, s.member.ID, 1)
		if err != nil {
			return 0, err
		}
		if len(mine) == 0 {
			return 0, &UserError{Option: "setup", Message: "You have no setup yet.", Hint: "/stack stock:23/32 makes one."}
		}
		return mine[0].No, nil
	}
	no, err := strconv.ParseInt(text, 10, 64)
	if err != nil || no < 1 {
		return 0, &UserError{Option: "setup", Message: fmt.Sprintf("setup is a number, or last, not %q.", clip(text, 20)), Hint: "setup:last"}
	}
	return no, nil
}

// outcome reads how a test cut came out; just one of feel, groove and slips.
func (s *session) outcome(a args) (storage.Cut, error) {
	c := storage.Cut{MemberID: s.member.ID, Interaction: s.caller.Interaction, At: s.caller.At}
	told := 0
	for _, o := range []string{"feel", "groove", "slips"} {
		if strings.TrimSpace(a[o]) != "" {
			told++
		}
	}
	if told != 1 {
		msg := "Say how the cut came out: by feel, by the measured groove, or by slips of paper."
		if told > 1 {
			msg = "Say it one way only: by feel, by the measured groove, or by slips of paper."
		}
		return c, &UserError{Option: "feel", Message: msg, Hint: "/testcut feel:snug, /testcut groove:0.708 or /testcut slips:2"}
	}
	var err error
	if a["feel"] != "" {
		g, ok := gradeOf(a["feel"])
		if !ok {
			return c, &UserError{Option: "feel", Message: fmt.Sprintf("%q is none of the five grades.", clip(a["feel"], 30)), Hint: "feel:snug"}
		}
		c.Feel = g
	}
	if c.Floor, err = s.length(a, "groove", grooveRange); err != nil {
		return c, err
	}
	if c.Mouth, err = s.length(a, "mouth", grooveRange); err != nil {
		return c, err
	}
	if c.Mouth.Length > 0 && c.Floor.Length == 0 {
		return c, &UserError{Option: "groove", Message: "mouth needs groove, the width at the floor, beside it.", Hint: "/testcut groove:0.708 mouth:0.709"}
	}
	if c.Piece, err = s.length(a, "piece", solver.StockRange); err != nil {
		return c, err
	}
	if c.Depth, err = s.length(a, "depth", depthRange); err != nil {
		return c, err
	}
	if strings.TrimSpace(a["slips"]) != "" {
		n, err := whole(a, "slips", 0, 20, 2)
		if err != nil {
			return c, err
		}
		c.Slips = &n
	}
	if len([]rune(a["note"])) > maxNote {
		return c, &UserError{Option: "note", Message: fmt.Sprintf("That note is longer than %d characters.", maxNote), Hint: "note:north saw"}
	}
	c.Note = clip(a["note"], maxNote)
	return c, nil
}

// aimedAt says which stack an outcome is for and, from a button, which cut it
// was to become.
type aimedAt struct {
	latest   bool // a command: the stack on the saw now, or the one before it
	kept     bool // the advice after the last cut was not followed
	revision int  // a button: the stack that it showed
	cut      int  // a button: the number of the cut that it logs
}

// pressCut answers the buttons and forms that log or void a cut.
func pressCut(s *session, act action, values map[string]string) (Reply, error) {
	if act.verb == verbUndo {
		return s.undo(act.setup, act.cut)
	}
	a := args{}
	for k, v := range values {
		a[k] = v
	}
	if act.verb == verbFeel {
		a["feel"] = act.arg
	}
	cut, err := s.outcome(a)
	if err != nil {
		return Reply{}, err
	}
	return s.logCut(act.setup, cut, aimedAt{revision: act.revision, cut: act.cut})
}

// errAlready says that a cut was logged before: a double tap, or a request that
// was delivered twice.
var errAlready = errors.New("this cut is in the log already")

// logCut logs an outcome and says what to do next.
func (s *session) logCut(no int64, cut storage.Cut, aim aimedAt) (Reply, error) {
	before, err := s.loadView(no)
	if err != nil {
		return Reply{}, err
	}
	if len(before.setup.Stacks) == 0 {
		return Reply{}, &UserError{Option: "setup", Message: fmt.Sprintf("Setup %d has no stack that could have been cut.", no), Hint: "/stack stock:23/32 makes a new one."}
	}
	if before.setup.Joint == storage.Gauge {
		return Reply{}, &UserError{Option: "setup", Message: fmt.Sprintf("Setup %d is a gauge board.", no), Hint: fmt.Sprintf("/gauge log setup:%d widths:0.719", no)}
	}
	if before.rabbet() && cut.Floor.Length == 0 {
		return Reply{}, &UserError{Option: "groove", Message: "A rabbet has no play to feel: measure its width.", Hint: "/testcut groove:3/8"}
	}
	var done step
	var already int
	setup, err := s.app.Store.LogCut(s, s.shop.ID, no, func(b *storage.Bench) error {
		already = alreadyLogged(b.Setup, cut, aim)
		if already > 0 {
			return errAlready
		}
		if !aim.latest && (aim.revision >= len(b.Setup.Stacks) || aim.cut != len(b.Setup.Cuts)+1) {
			return &UserError{Message: "That button is for a stack or a cut that this setup never had.", Hint: "/setups shows your setups with fresh buttons."}
		}
		set := before.set
		set.Parts = b.Set.Parts
		v := newView(s, *b.Setup, set, before.saw, *b.Belief)
		v.load = before.load
		done = v.take(cut, aim, b.LogID, b.Belief)
		*b.Setup = v.setup
		return nil
	})
	switch {
	case errors.Is(err, errAlready):
		return s.alreadyReply(no, already)
	case err != nil:
		return Reply{}, err
	}
	if done.next != stepLate {
		if err := s.seen(before, setup, done.cut.Revision); err != nil {
			return Reply{}, err
		}
	}
	v, err := s.viewOf(setup)
	if err != nil {
		return Reply{}, err
	}
	if done.next == stepLate {
		return v.lateReply(done), nil
	}
	return v.cutReply(done), nil
}

// alreadyLogged is the number of the cut that this outcome is already, or 0.
func alreadyLogged(setup *storage.Setup, cut storage.Cut, aim aimedAt) int {
	for _, c := range setup.Cuts {
		if cut.Interaction != "" && c.Interaction == cut.Interaction || aim.cut > 0 && c.No == aim.cut {
			return c.No
		}
	}
	return 0
}

func (s *session) alreadyReply(no int64, cut int) (Reply, error) {
	v, err := s.loadView(no)
	if err != nil {
		return Reply{}, err
	}
	r := v.reply()
	r.Private = true
	r.Text = lines(fmt.Sprintf("Already logged as cut %d of setup %d.", cut, no), "Below is where it stands now, with fresh buttons.", r.Text)
	return r, nil
}

// undo voids a cut, the setup's last one where no number is given.
func (s *session) undo(no int64, cutNo int) (Reply, error) {
	var voided storage.Cut
	setup, err := s.app.Store.ReviseCuts(s, s.shop.ID, no, func(setup *storage.Setup) error {
		at := -1
		for i, c := range setup.Cuts {
			if !c.Voided {
				at = i
			}
		}
		if at < 0 {
			return &UserError{Option: "undo", Message: fmt.Sprintf("Setup %d has no test cut to void.", no), Hint: "/testcut feel:snug logs one."}
		}
		if cutNo > 0 && setup.Cuts[at].No != cutNo {
			return &UserError{Option: "undo", Message: fmt.Sprintf("Cut %d is not the last one of setup %d; only the last can be voided.", cutNo, no), Hint: "/testcut undo"}
		}
		c := &setup.Cuts[at]
		if !s.may(whoLogged, setup, c.MemberID) {
			return &UserError{Option: "undo", Message: "Only who logged it, who made the setup, or an instructor voids a test cut.", Hint: s.whoCan("Ask one of them.")}
		}
		c.Voided = true
		voided = *c
		setup.Loaded = c.Revision
		s.settle(setup, storage.Voiding, stateAfter(setup))
		return nil
	}, relearn)
	if isNotFound(err) {
		return Reply{}, noSetup(no)
	}
	if err != nil {
		return Reply{}, err
	}
	v, err := s.viewOf(setup)
	if err != nil {
		return Reply{}, err
	}
	r := v.reply()
	r.Text = lines(fmt.Sprintf("Cut %d of setup %d is void. It stays in the log and counts for nothing.", voided.No, no), r.Text)
	return r, nil
}

// relearn makes a shop's belief from its whole log.
func relearn(log []storage.Logged) solver.Belief {
	var all []solver.Evidence
	for _, l := range log {
		if l.Upkeep != nil {
			all = append(all, upkeepEvidence(*l.Upkeep, l.ID))
		} else if e, ok := evidence(l); ok {
			all = append(all, e)
		}
	}
	return solver.Replay(all)
}

// evidence is what a logged cut says of its set and saw; false for a cut that
// says nothing of them.
func evidence(l storage.Logged) (solver.Evidence, bool) {
	c := l.Cut
	if c.Voided || !parallel(c) || l.Setup.Joint == storage.Rabbet || c.Revision >= len(l.Setup.Stacks) {
		return solver.Evidence{}, false // a rabbet's width is the fence's
	}
	stack := l.Setup.Stacks[c.Revision]
	moved := solver.Length(stack.Passes-1) * stack.Move // the stop's share of the width
	e := solver.Evidence{
		CutID: l.ID, SetKey: key(l.Setup.SetID), SawKey: key(l.Setup.SawID), Set: l.Set.Parts,
		Stack: stack.Stack, Moves: stack.Passes - 1, Feel: c.Feel, Stock: l.Setup.TestPiece(c), Grades: l.Setup.Grades,
	}
	e.Stock.Mean -= moved
	if c.Floor.Length > 0 {
		e.Groove = c.Floor.Length - moved
	}
	if c.Slips != nil {
		e.Slips = solver.Slips{Count: *c.Slips, Thickness: solver.PaperSlip}
	}
	return e, true
}

func parallel(c storage.Cut) bool {
	return c.Mouth.Length == 0 || solver.WallsParallel(c.Floor.Length, c.Mouth.Length)
}
