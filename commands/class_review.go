package commands

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

func reviewCommand() Command {
	return Command{
		Name: "review", Summary: "Instructors: open setups, those that need a look first", Example: "/class review", Private: true,
		run: func(s *session, _ args) (Reply, error) { return s.review(0) },
	}
}

const (
	// reviewed is how many setups a page shows: a row of buttons each, and one to
	// turn the page.
	reviewed = 4
	// tightFor is how close to a limit of saw or set a stack touches it [shop].
	tightFor = solver.Inch / 64
	// cutsWithoutSnug is how many test cuts without a snug one ask for a look.
	cutsWithoutSnug = 3
	// leftOn is how long after its last cut or move a setup is left on the saw [shop].
	leftOn = 3 * time.Hour
)

// look is an open setup and why it needs a look.
type look struct {
	view *view
	why  []string
}

// review is a page of the open setups, those that need a look first.
func (s *session) review(from int) (Reply, error) {
	if err := s.needInstructor("The review"); err != nil {
		return Reply{}, err
	}
	b, err := s.readBoard()
	if err != nil {
		return Reply{}, err
	}
	var all []look
	flagged := 0
	for _, setup := range b.open {
		if setup.Joint == storage.Gauge && setup.State == storage.Planned {
			continue
		}
		v, err := s.viewOf(setup)
		if err != nil {
			return Reply{}, err
		}
		l := look{v, v.needsLook()}
		if len(l.why) > 0 {
			flagged++
		}
		all = append(all, l)
	}
	slices.SortStableFunc(all, func(a, b look) int {
		return min(1, len(b.why)) - min(1, len(a.why))
	})
	blind, err := s.app.Store.DownUnconfirmed(s, s.shop.ID, s.shop.Settings.EveningBegan(s.caller.At), mostOpen)
	if err != nil {
		return Reply{}, err
	}
	r := Reply{Private: true, Replace: true}
	text := []string{fmt.Sprintf("%d open %s, %d to look at.", len(all), plural(len(all), "setup", "setups"), flagged)}
	if len(blind) > 0 {
		text[0] = fmt.Sprintf("%d open %s, %d to look at; %d taken down without power off.", len(all), plural(len(all), "setup", "setups"), flagged, len(blind))
	}
	from = max(0, min(from, len(all)-1))
	for i, l := range all[from:min(len(all), from+reviewed)] {
		setup := l.view.setup
		line := fmt.Sprintf("Setup %d: %s, %s, %s on %s, %s, %d %s.", setup.No, b.names.member(setup.MemberID), setup.Joint,
			l.view.set.Name, l.view.saw.Name, setup.State, counted(setup), plural(counted(setup), "test cut", "test cuts"))
		if len(l.why) > 0 {
			line += " Look: " + strings.Join(l.why, "; ") + "."
		}
		text = append(text, line)
		r.Actions = append(r.Actions, showAction(setup.No, i))
		if _, ok := passageFor(setup.State, releasedFrom(setup.State), storage.Releasing); ok && (setup.State != storage.Planned || l.view.heldWord() != "") {
			r.Actions = append(r.Actions, Action{ID: action{verb: verbRelease, setup: setup.No}.String(), Label: fmt.Sprintf("Release %d at this saw", setup.No), Row: i})
		}
		r.Actions = append(r.Actions, Action{ID: action{verb: verbBack, setup: setup.No}.String(), Label: fmt.Sprintf("Send %d back", setup.No), Row: i, Form: &backForm})
	}
	for _, saw := range b.saws {
		if _, ok := b.loads[saw.ID]; ok || len(b.cutOn(saw.ID)) > 0 {
			text = append(text, "Not taken down: "+b.sawLine(saw))
		}
	}
	for i, setup := range blind {
		if i == reviewed {
			text = append(text, fmt.Sprintf("And %d more so.", len(blind)-i))
			break
		}
		m := lastMove(&setup)
		text = append(text, fmt.Sprintf("Taken down without power off confirmed: setup %d on %s, by %s %s.", setup.No, orRetired(b.names.saws[setup.SawID]), b.names.member(m.MemberID), s.when(m.At)))
	}
	word, err := s.nearMissWord()
	if err != nil {
		return Reply{}, err
	}
	if word != "" {
		text = append(text, word)
	}
	if next := from + reviewed; next < len(all) {
		r.Actions = append(r.Actions, Action{ID: action{verb: verbReview, arg: strconv.Itoa(next)}.String(), Label: "Next", Row: reviewed})
	}
	if from > 0 {
		r.Actions = append(r.Actions, Action{ID: action{verb: verbReview, arg: strconv.Itoa(max(0, from-reviewed))}.String(), Label: "Back", Row: reviewed})
	}
	r.Text = lines(text...)
	return r, nil
}

func counted(setup storage.Setup) (n int) {
	for _, c := range setup.Cuts {
		if !c.Voided {
			n++
		}
	}
	return n
}

// needsLook says why an instructor should look at an open setup. What was there
// when it was last released or sent back has been looked at.
func (v *view) needsLook() []string {
	var out []string
	setup := v.setup
	switch {
	case v.heldWord() == "":
	case setup.State == storage.Planned && !v.onSaw():
		out = append(out, "waits for a release")
	default:
		out = append(out, "loaded or cut without a release")
	}
	var since, last time.Time
	for _, m := range setup.Moves {
		if m.Deed == storage.Releasing || m.Deed == storage.SendBack {
			since = m.At
		}
		last = m.At
	}
	if len(setup.Stacks) > 0 {
		stack := setup.Stacks[setup.Loaded].Stack
		if usesOut(v.set.Parts, stack) {
			out = append(out, "a piece of its stack is out of service")
		}
		for _, c := range solver.CheckStack(v.set.Parts, v.saw.Saw, stack) {
			if limitTouched(c) {
				out = append(out, "limit: "+strings.TrimSuffix(v.checkText(c), "."))
			}
		}
	}
	cuts, snug, odd := 0, false, 0
	for _, c := range setup.Cuts {
		if c.Voided || !c.At.After(since) {
			continue
		}
		cuts++
		snug = snug || c.Grade == solver.Snug
		if c.Odd {
			odd++
		}
		if c.At.After(last) {
			last = c.At
		}
	}
	if cuts >= cutsWithoutSnug && !snug && !v.rabbet() && setup.Joint != storage.Gauge {
		out = append(out, fmt.Sprintf("%d test cuts without a snug one", cuts))
	}
	if odd > 0 {
		out = append(out, fmt.Sprintf("%d odd %s", odd, plural(odd, "outcome", "outcomes")))
	}
	marked := map[storage.MarkKind]bool{}
	for _, m := range setup.Marks {
		if m.At.After(since) {
			marked[m.Kind] = true
		}
	}
	if marked[storage.Unconfirmed] {
		out = append(out, "power off not confirmed")
	}
	if marked[storage.Unchecked] {
		out = append(out, "cut by one who had not checked the stack")
	}
	switch {
	case setup.State == storage.Planned:
	case setup.Pieces > 0 && setup.Done >= setup.Pieces:
		out = append(out, "all pieces cut, not taken down")
	case v.s.caller.At.Sub(last) > leftOn:
		out = append(out, "not taken down since "+v.s.when(last))
	}
	return out
}

// limitTouched says whether a stack is over a limit, or as good as at it.
func limitTouched(c solver.Check) bool {
	if !c.OK || !c.Known {
		return !c.OK
	}
	switch c.Code {
	case solver.ArborCheck, solver.SetWidthCheck, solver.InsertCheck:
		return c.Limit-c.Value < tightFor
	case solver.GapCheck:
		return c.Value > 0 && c.Value >= c.Limit
	case solver.SpeedCheck:
		return c.Value >= c.Limit
	}
	return false
}

var backForm = Form{Title: "Send back", Fields: []Field{
	{Name: "word", Label: "What to look at; the channel reads it", Example: "the third chipper tooth, then one more test cut", Required: true, Max: maxNote},
}}

// pressRelease releases a setup at the saw where the instructor looked at it.
func (s *session) pressRelease(act action) (Reply, error) {
	if err := s.needInstructor("Releasing a setup"); err != nil {
		return Reply{}, err
	}
	return s.moved(act.setup, storage.Releasing, releasedFrom, "")
}

// releasedFrom is where a release leads: a plan stays one, and may be loaded.
func releasedFrom(from storage.State) storage.State {
	if from == storage.Planned {
		return from
	}
	return storage.Released
}

// pressBack sends a setup back with a word.
func (s *session) pressBack(act action, values map[string]string) (Reply, error) {
	if err := s.needInstructor("Sending a setup back"); err != nil {
		return Reply{}, err
	}
	word := clip(values["word"], maxNote)
	if word == "" {
		return Reply{}, &UserError{Option: "word", Message: "Say what to look at.", Hint: "word:the third chipper tooth"}
	}
	return s.moved(act.setup, storage.SendBack, func(from storage.State) storage.State {
		if from == storage.Planned {
			return from
		}
		return storage.Cutting
	}, word)
}

// pressAside puts a plan nobody cut aside, or takes it up again.
func (s *session) pressAside(act action) (Reply, error) {
	if act.verb == verbUp {
		return s.moved(act.setup, storage.TakeUp, func(storage.State) storage.State { return storage.Planned }, "")
	}
	v, err := s.loadView(act.setup)
	if err != nil {
		return Reply{}, err
	}
	if v.load != nil && v.load.Setup == act.setup {
		return Reply{}, &UserError{Message: fmt.Sprintf("The stack of setup %d is on %s.", act.setup, v.saw.Name), Hint: "Take it down instead: /saw now has the button."}
	}
	return s.moved(act.setup, storage.PutAside, func(storage.State) storage.State { return storage.SetAside }, "")
}

// moved moves a setup and says so in the channel.
func (s *session) moved(no int64, deed storage.Deed, to func(storage.State) storage.State, word string) (Reply, error) {
	setup, err := s.app.Store.UpdateSetup(s, s.shop.ID, no, func(setup *storage.Setup) error {
		return s.move(setup, deed, to(setup.State), word)
	})
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
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Text:    lines(append([]string{fmt.Sprintf("Setup %d of %s on %s: %s", no, names.member(setup.MemberID), v.saw.Name, lowerFirst(v.lifeWord(names)))}, v.footWord())...),
		Actions: []Action{showAction(no, 0)},
	}, nil
}
