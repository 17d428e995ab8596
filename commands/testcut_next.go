package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// nextStep says what follows a test cut.
type nextStep uint8

const (
	stepChange   nextStep = iota // another stack, or another move of the stop
	stepSame                     // the stack stays, cut again
	stepConfirm                  // snug once: one more to confirm
	stepDone                     // dialled in
	stepWalls                    // fence or feed, not the stack
	stepStuck                    // no stack reaches it
	stepUneven                   // no width fits all of the stock
	stepMeasured                 // a rabbet: logged, the fence sets the width
	stepLate                     // an old button: another stack is on the saw by now
	stepEdge                     // snug twice, yet likely at the edge of snug
	stepGone                     // a piece of the stack is out of service
)

// step is what became of a test cut.
type step struct {
	cut      storage.Cut
	fate     solver.Fate
	released int
	next     nextStep
	from     storage.PlannedStack // that was cut
	to       storage.PlannedStack // to load next
	takenOff int
	edge     bool // the change is advised although two cuts were snug
}

// take counts a cut: it puts the cut, the advice and the state into the setup of
// the view, and what was learned into the belief.
func (v *view) take(cut storage.Cut, aim aimedAt, logID int64, belief *solver.Belief) step {
	setup := &v.setup
	cut.No = len(setup.Cuts) + 1
	cut.Revision = setup.Loaded
	last := lastCut(setup)
	if !aim.latest {
		cut.Revision = aim.revision
	} else if aim.kept && last != nil {
		cut.Revision = last.Revision
	}
	cut.Loading = 1
	if last != nil {
		cut.Loading = last.Loading
		if last.Revision != cut.Revision || startsAnew(setup, *last) {
			cut.Loading++
		}
	}
	late := !aim.latest && cut.Revision != setup.Loaded
	if !late {
		setup.Loaded = cut.Revision
	}
	now := setup.Stacks[cut.Revision]
	cut.Grade = v.gradeOfCut(cut)

	done := step{from: now}
	if e, ok := evidence(storage.Logged{ID: logID, Cut: cut, Setup: *setup, Set: v.set}); ok {
		next, verdict := belief.Observe(e)
		*belief = next
		done.fate, done.released = verdict.Fate, len(verdict.Released)
		cut.Odd = verdict.Fate == solver.Odd
	}
	v.flag(cut, late)
	setup.Cuts = append(setup.Cuts, cut)
	v.model = belief.Model(key(v.set.ID), v.set.Parts, key(v.saw.ID))
	done.cut = cut
	to := stateAfter(setup)
	switch {
	case late:
	case usesOut(v.set.Parts, now.Stack):
		to, done.next = storage.Cutting, stepGone
	case to == storage.DialledIn && !v.settled(now):
		to, done.next = storage.Cutting, stepEdge
	}
	v.s.settle(setup, storage.CutLogged, to)
	if late {
		done.next = stepLate
		return done
	}
	v.advise(&done)
	return done
}

// cutPieces is what to do with a stack that is dialled in.
const cutPieces = "cut your pieces, and a spare, before anything on the arbor moves."

// sureEnough is the chance of a snug cut that dialled in asks for [shop].
const sureEnough = 0.9

// settled says whether two snug cuts can be believed: the chance of the next one
// is high enough, or within two points of as high as what is known of the set lets
// any stack have. If not, they were lucky ones at the edge of snug.
func (v *view) settled(now storage.PlannedStack) bool {
	now = v.expect(now)
	if now.Chance >= sureEnough || now.Passes > 1 || v.set.Parts.Kind == solver.Blade {
		return true
	}
	change, ok := solver.Advise(v.problem(), now.Stack)
	return !ok || !change.Reached || change.TakenOff == 0
}

// advise fills in what to do next, and puts a new stack into the setup where
// there is one.
func (v *view) advise(done *step) {
	setup := &v.setup
	now := done.from
	done.to = now
	switch {
	case done.next == stepGone:
		return
	case v.rabbet():
		done.next = stepMeasured
		return
	case !parallel(done.cut):
		done.next = stepWalls
		return
	case v.window.Empty():
		done.next = stepUneven
		return
	case setup.State == storage.DialledIn || setup.State == storage.Released:
		done.next = stepDone
		return
	case done.cut.Grade == solver.Snug && done.next != stepEdge:
		done.next = stepConfirm
		return
	}
	p := v.problem()
	change, ok := solver.Advise(p, now.Stack)
	switch {
	case now.Passes > 1 || v.set.Parts.Kind == solver.Blade:
		plan, ok := solver.PassesWith(p, now.Stack)
		if !ok {
			done.next = stepStuck
			return
		}
		done.to = plannedPasses(plan)
	case !ok || !change.Reached: // what one stack does not reach, passes may
		plan, ok := solver.PlanPasses(v.set.Parts, v.saw.Saw, v.model, v.window)
		if !ok {
			done.next = stepStuck
			return
		}
		done.to, done.takenOff = plannedPasses(plan), now.Stack.TakenOff(plan.Stack)
	default:
		done.to, done.takenOff = planned(change.Candidate), change.TakenOff
	}
	if done.to.Stack.Equal(now.Stack) && done.to.Passes == now.Passes && v.exactMove(done.to.Move) == v.exactMove(now.Move) {
		done.next = stepSame
		return
	}
	done.edge = done.next == stepEdge
	done.next = stepChange
	setup.Stacks = append(setup.Stacks, done.to)
	setup.Loaded = len(setup.Stacks) - 1
}

// gradeOfCut is the grade that an outcome amounts to, for the test piece where
// its thickness is given, else for the middle of the readings.
func (v *view) gradeOfCut(c storage.Cut) solver.Grade {
	piece := v.setup.TestPiece(c).Mean
	switch {
	case c.Feel != "":
		return c.Feel
	case c.Slips != nil: // the middle of the interval that the slips leave
		return v.setup.Grades.Of((2*solver.Length(*c.Slips) + 1) * solver.PaperSlip / 2)
	default:
		return v.setup.Grades.Of(c.Floor.Length - piece)
	}
}

func lastCut(setup *storage.Setup) *storage.Cut {
	for i := len(setup.Cuts) - 1; i >= 0; i-- {
		if !setup.Cuts[i].Voided {
			return &setup.Cuts[i]
		}
	}
	return nil
}

// stateAfter is the state that the cuts of a setup amount to: dialled in after
// two snug cuts in one loading [cp], or one measured groove inside the window.
func stateAfter(setup *storage.Setup) storage.State {
	last := lastCut(setup)
	if last == nil {
		return storage.Planned
	}
	if setup.Joint == storage.Rabbet || last.Revision != setup.Loaded { // another stack, not cut yet
		return storage.Cutting
	}
	if last.Grade != solver.Snug || !parallel(*last) {
		return storage.Cutting
	}
	if last.Floor.Length > 0 && insideWindow(setup, last.Floor.Length) {
		return storage.DialledIn
	}
	snug := 0
	for i := len(setup.Cuts) - 1; i >= 0; i-- {
		c := setup.Cuts[i]
		if c.Voided {
			continue
		}
		if c.Loading != last.Loading || c.Grade != solver.Snug || c.Odd || !parallel(c) {
			break
		}
		snug++
	}
	if snug >= 2 {
		return storage.DialledIn
	}
	return storage.Cutting
}

func insideWindow(setup *storage.Setup, groove solver.Length) bool {
	var readings []solver.Length
	for _, r := range setup.Readings {
		readings = append(readings, r.Length)
	}
	thick, thin := solver.Ends(readings)
	return setup.Grades.Window(thick, thin).Has(groove)
}

// testcutData is the public JSON form of a logged cut.
type testcutData struct {
	Setup int64         `json:"setup"`
	Cut   int           `json:"cut"`
	State storage.State `json:"state"`
	Grade solver.Grade  `json:"grade"`
	Next  *stackJSON    `json:"next"`
	// DepthMM is the measured depth; left out where none was given.
	DepthMM string   `json:"depth_mm,omitempty"`
	Notes   []string `json:"notes"`
}

func (v *view) cutReply(done step) Reply {
	d := testcutData{Setup: v.setup.No, Cut: done.cut.No, State: v.setup.State, Grade: done.cut.Grade, Notes: []string{}}
	if done.next == stepChange {
		next := stackOut(done.to)
		d.Next = &next
	}
	head, rest := v.nextWords(done, &d)
	text := []string{fmt.Sprintf("Cut %d logged: %s. %s", done.cut.No, v.outcomeWord(done.cut), head)}
	if depth := done.cut.Depth; depth.Length > 0 {
		d.DepthMM = depth.Length.DecimalMM()
		word, ok := v.cutDepth(depth)
		if !ok { // before any word of cutting pieces
			d.Notes = append(d.Notes, "depth")
			word = "First the depth, before any piece is cut: " + word
		}
		rest = append([]string{word}, rest...)
	}
	text = append(text, rest...)
	if done.fate == solver.Odd {
		d.Notes = append(d.Notes, "odd")
		text = append(text, "It does not agree with what this set has cut so far, so it is set aside until another cut bears it out. Measure this one: groove at the floor, and the test piece.")
	}
	if done.released > 0 {
		d.Notes = append(d.Notes, "released")
		text = append(text, fmt.Sprintf("It bears out %s set aside before; %s now.", plural(done.released, "a cut", "cuts"), plural(done.released, "it counts", "they count")))
	}
	if off := v.model.Mean[0]; v.model.Cuts >= 2 && solver.InchesFloat(off).Abs() >= solver.CheckRunout {
		d.Notes = append(d.Notes, "check-runout")
		text = append(text, fmt.Sprintf("%s on %s cuts %s off its sum: check runout and alignment before you trust shims.", v.set.Name, v.saw.Name, v.fine(solver.InchesFloat(off))))
	}
	text = append(append(text, v.reopenedLines(done.cut)...), v.flagLines(done.cut.No)...)
	text = append(text, v.footWord())
	r := Reply{Text: lines(text...), Data: d, Actions: append(v.outcomeActions(), v.lifeActions()...)}
	undo := action{verb: verbUndo, setup: v.setup.No, cut: done.cut.No}
	show := action{verb: verbSetup, setup: v.setup.No}
	r.Actions = append(
		r.Actions,
		Action{ID: undo.String(), Label: fmt.Sprintf("Void cut %d", done.cut.No), Row: 2},
		Action{ID: show.String(), Label: "Show the setup", Row: 2},
	)
	if pic, ok := v.fitPicture(); ok {
		r.Pictures = []Picture{pic}
	}
	return r
}

// outcomeWord says how a cut came out, as it was told.
func (v *view) outcomeWord(c storage.Cut) string {
	switch {
	case c.Floor.Length > 0 && v.rabbet():
		return fmt.Sprintf("%s wide", c.Floor)
	case c.Floor.Length > 0:
		return fmt.Sprintf("groove %s, play %s, %s", c.Floor, v.fine(c.Floor.Length-v.setup.TestPiece(c).Mean), c.Grade)
	case c.Slips != nil:
		return fmt.Sprintf("%d %s of paper, %s", *c.Slips, plural(*c.Slips, "slip", "slips"), c.Grade)
	}
	return string(c.Grade)
}

// nextWords says what to do next, the end of the first line and the lines after it.
func (v *view) nextWords(done step, d *testcutData) (head string, rest []string) {
	switch done.next {
	case stepDone:
		if chance := v.expect(done.from).Chance; chance < sureEnough {
			word := fmt.Sprintf("By what this set has cut so far, the chance that the next cut is snug on every piece: %s.", percent(chance))
			if done.cut.Floor.Length == 0 {
				word += " A measured groove would make it surer."
			}
			rest = append(rest, word)
		}
		head = "Dialled in: " + cutPieces
		if v.heldWord() != "" { // which flagLines say
			head = "Dialled in, but cut no piece yet."
		}
		return head, append(rest, "Any part moved starts it again. When done, power off first: stack off, standard blade, insert, guard and riving knife back.")
	case stepConfirm:
		return "One more to confirm: same stack, cut again in scrap.", []string{"Leave everything as it is; two snug cuts in one loading make it dialled in."}
	case stepWalls:
		d.Notes = append(d.Notes, "walls")
		return "Do not shim.", []string{v.wallsWord(done.cut)}
	case stepUneven:
		d.Notes = append(d.Notes, "spread")
		return "No single dado fits all of this stock.", []string{"Sort it into lots, thin the fat ends, or cut a tongue of one thickness; then ask again."}
	case stepStuck:
		d.Notes = append(d.Notes, "out-of-reach")
		return fmt.Sprintf("No stack of %s gets it right, in one pass or in several.", v.set.Name), []string{"It cuts wider than this stock needs: ask again with /stack, which takes an ordinary blade where the shop has one, or take another set."}
	case stepMeasured:
		return "The fence sets a rabbet's width, not the stack.", []string{fmt.Sprintf("Wanted: %s. Move the fence by the difference and cut again.", v.setup.Style.Size(v.rabbetWidth()))}
	case stepGone:
		d.Notes = append(d.Notes, "out-of-service")
		return "Do not cut on.", nil // flagLines say why
	case stepSame:
		return "Leave the stack as it is and cut once more.", []string{"By what is known, no change makes it much likelier; measure the groove if you can."}
	}
	if done.edge {
		d.Notes = append(d.Notes, "edge")
		word := "Snug, but not sure yet"
		if now := v.expect(done.from); done.to.Chance >= now.Chance+muchBetter {
			word = "Snug, but likely by luck, at the edge of snug"
		}
		rest = append(rest, fmt.Sprintf("%s: as it stands the next cut is snug with %s only.", word, percent(v.expect(done.from).Chance)))
	}
	if done.to.Passes > 1 {
		return v.nextPasses(done)
	}
	return fmt.Sprintf("Next: %s.", v.changeWord(done)), append(rest,
		arborCaution,
		fmt.Sprintf("Then it holds %s and cuts about %s: %s, snug %s.", v.partsWord(done.to.Stack), v.fine(width(done.to)), v.playWord(width(done.to)), percent(done.to.Chance)),
		fmt.Sprintf("%s %s off. %s Then cut again in the same scrap; if you keep the old stack instead, say kept:yes.", number2(done.takenOff), plural(done.takenOff, "piece comes", "pieces come"), v.loadWord(done.to.Stack)),
	)
}

// wallsWord says what a mouth tells that is not as wide as the floor.
func (v *view) wallsWord(c storage.Cut) string {
	wide := c.Mouth.Length - c.Floor.Length
	return fmt.Sprintf("The mouth is %s %s than the floor: fence, gauge or feed is not parallel to the cutters, or the work rocked. Power off, set that right, then cut again with the same stack. Nothing is learned of the set from this cut.", v.fine(wide.Abs()), widerNarrower(wide))
}

// nextPasses says what to do next in passes: another move of the stop, or passes
// where one was tried.
func (v *view) nextPasses(done step) (head string, rest []string) {
	to := done.to
	together := fmt.Sprintf("about %s: %s, snug %s", v.fine(width(to)), v.playWord(width(to)), percent(to.Chance))
	if !to.Stack.Equal(done.from.Stack) {
		return fmt.Sprintf("Next: %s passes with %s, the stop moved by %s.", number(to.Passes), v.partsWord(to.Stack), v.exactMove(to.Move)), []string{
			"No single stack reaches it; together " + together + ".",
			arborCaution,
			fmt.Sprintf("%s %s off. %s Then cut again in the same scrap.", number2(done.takenOff), plural(done.takenOff, "piece comes", "pieces come"), v.loadWord(to.Stack)),
		}
	}
	if to.Passes == done.from.Passes {
		head = fmt.Sprintf("Next: move the stop %s instead of %s.", v.exactMove(to.Move), v.exactMove(done.from.Move))
	} else {
		head = fmt.Sprintf("Next: %s passes with the same stack, the stop moved by %s.", number(to.Passes), v.exactMove(to.Move))
	}
	return head, []string{"Then " + together + ". The arbor stays as it is."}
}

func widerNarrower(l solver.Length) string {
	if l < 0 {
		return "narrower"
	}
	return "wider"
}

func number2(n int) string { return capitalised(number(n)) }

// changeWord is what goes in and out: "add shim 0.004", "1/8 out, 3/32 in".
func (v *view) changeWord(done step) string {
	in, out := difference(done.from.Stack, done.to.Stack)
	var words []string
	say := func(verb string, parts []solver.Piece) {
		for _, p := range parts {
			if p.Kind == solver.ShimPiece {
				words = append(words, fmt.Sprintf("%s shim %s", verb, v.shimWord(p.Part)))
			} else {
				words = append(words, fmt.Sprintf("%s chipper %s", verb, v.chipperWord(p.Part)))
			}
		}
	}
	say("take out", out)
	say("add", in)
	if len(words) == 0 {
		return "the same pieces, shims moved"
	}
	text := words[0]
	for _, w := range words[1:] {
		text += ", " + w
	}
	return text
}

// difference lists the pieces that are only in the one and only in the other.
func difference(from, to solver.Stack) (in, out []solver.Piece) {
	left := from.Pieces()
	for _, p := range to.Pieces() {
		found := false
		for i, q := range left {
			if p.Same(q) {
				left = append(left[:i:i], left[i+1:]...)
				found = true
				break
			}
		}
		if !found {
			in = append(in, p)
		}
	}
	return in, left
}
