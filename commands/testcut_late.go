package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// lateReply answers an old button: the cut counts for the stack that it showed;
// what the setup holds now is shown to the asker alone, with fresh buttons and with
// what this cut says of it.
func (v *view) lateReply(done step) Reply {
	r := v.reply()
	r.Private = true
	r.Data = testcutData{Setup: v.setup.No, Cut: done.cut.No, State: v.setup.State, Grade: done.cut.Grade, Notes: []string{"late"}}
	text := []string{fmt.Sprintf("Cut %d logged: %s, for the stack that the button showed: %s.", done.cut.No, v.outcomeWord(done.cut), v.partsWord(done.from.Stack))}
	if better := v.betterWord(); better != "" {
		text = append(text, better)
	}
	now := "The setup's stack by now, with fresh buttons:"
	if v.onSaw() {
		now = "On the saw by now, with fresh buttons:"
	}
	r.Text = lines(append(append(text, now, r.Text), v.flagLines(done.cut.No)...)...)
	return r
}

// muchBetter is how much likelier a change has to make a snug cut to be worth a
// word [shop].
const muchBetter = 0.1

// betterWord says what to change of a stack that was not cut yet, by what is known
// now; empty where it may as well be tried.
func (v *view) betterWord() string {
	now, ok := v.loaded()
	if !ok || v.rabbet() || v.window.Empty() || now.Passes > 1 || v.set.Parts.Kind == solver.Blade {
		return ""
	}
	change, ok := solver.Advise(v.problem(), now.Stack)
	if !ok || !change.Reached || change.TakenOff == 0 || change.Chance < now.Chance+muchBetter {
		return ""
	}
	to := planned(change.Candidate)
	return fmt.Sprintf("By this cut the stack below would fit better with a change: %s; then about %s, snug %s. /stack with the same stock plans it so.",
		v.changeWord(step{from: storage.PlannedStack{Stack: now.Stack}, to: to}), v.fine(width(to)), percent(to.Chance))
}
