package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// reply is a setup as a member sees it: the answer, why, what to do next.
func (v *view) reply() Reply {
	if v.setup.Joint == storage.Gauge {
		return v.gaugeReply()
	}
	if v.answer.Ranked == nil && !v.rabbet() {
		v.search()
	}
	r := Reply{Data: v.stackData()}
	if v.tellPasses {
		r.Data = v.passesData()
	}
	now, ok := v.loaded()
	if v.cuttable() {
		r.Actions = append(v.outcomeActions(), v.otherActions()...)
		r.Actions = append(r.Actions, v.lifeActions()...)
	}
	r.Details = v.details()
	r.Text = lines(append(v.lifeLines(), v.answerLines(now, ok)...)...)
	if pic, ok := v.stackPicture(); ok {
		r.Pictures = []Picture{pic}
	}
	return r
}

func (v *view) answerLines(now storage.PlannedStack, ok bool) []string {
	var out []string
	switch {
	case v.rabbet():
		out = v.rabbetLines(now, ok)
	case v.window.Empty():
		out = v.unevenLines()
	case !ok:
		out = v.outOfReachLines()
	case now.Passes > 1:
		out = v.passLines(now)
	default:
		out = []string{
			fmt.Sprintf("Stack: %s. %s.", v.partsWord(now.Stack), v.expectWord(now)),
			fmt.Sprintf("Width %s: %s. %s: %s; %s.", v.fine(width(now)), v.playWord(width(now)), v.chanceWord("cut"), percent(now.Chance), v.learnedWord(now)),
		}
	}
	for _, n := range v.notes() {
		if n.phone {
			out = append(out, n.text)
		}
	}
	if v.cuttable() && v.outWord() == "" {
		switch {
		case v.onSaw() && (v.setup.State == storage.DialledIn || v.setup.State == storage.Released) && v.heldWord() == "":
			out = append(out, v.onSawWord()+" "+capitalised(cutPieces))
		case v.onSaw():
			out = append(out, v.onSawWord()+" "+v.nextWord())
		default:
			out = append(out, v.loadWord(now.Stack)+" "+v.nextWord())
		}
		out = append(out, arborCaution)
	}
	return append(out, v.footWord())
}

// chanceWord says what the chance is of: "First cut snug", or with an aim of the
// member's own "Next try as wide as you aim for".
func (v *view) chanceWord(what string) string {
	word := "First "
	if validCuts(v.setup) > 0 {
		word = "Next "
	}
	if v.setup.Aim.Text != "" {
		return word + what + " about as wide as you aim for"
	}
	return word + what + " snug"
}

// nextWord is what to do once the stack is on.
func (v *view) nextWord() string {
	if v.rabbet() {
		return "Then a test cut in scrap, measured."
	}
	return "Then test-cut scrap of this same stock and tell me how it went."
}

// footWord names the setup and defers.
func (v *view) footWord() string {
	if v.setup.No == 0 {
		return deferral
	}
	where := fmt.Sprintf("Setup %d, %s on %s", v.setup.No, v.set.Name, v.saw.Name)
	switch n := validCuts(v.setup); {
	case v.setup.State == storage.DialledIn:
		where += ", dialled in"
	case n > 0:
		where += fmt.Sprintf(", %d test %s so far", n, plural(n, "cut", "cuts"))
	}
	return where + ". " + deferral
}

func (v *view) rabbetLines(now storage.PlannedStack, ok bool) []string {
	w := v.rabbetWidth()
	if v.set.Parts.Kind == solver.Blade {
		return []string{
			fmt.Sprintf("%s is an ordinary blade: a rabbet or half-lap is planned with a stacked set only.", v.set.Name),
			"Name a stacked set with set:, or ask your instructor.",
		}
	}
	if !ok {
		return []string{
			fmt.Sprintf("No stack of %s on %s is wide enough for a rabbet of %s.", v.set.Name, v.saw.Name, v.setup.Style.Size(w)),
			fmt.Sprintf("It has to be at least %s wider than the rabbet, the rest buried in a sacrificial fence. Take another set or saw, or ask your instructor.", v.setup.Style.Size(solver.LapOverlap)),
		}
	}
	if now.Passes > 1 {
		out := []string{
			fmt.Sprintf("Rabbet or half-lap %s wide: %s passes with %s, the stop moved by %s.", v.setup.Style.Size(w), number(now.Passes), v.partsWord(now.Stack), v.exactMove(now.Move)),
			fmt.Sprintf("The first pass cuts the shoulder, the last reaches %s past the end; so no shims and no play. A spacer block of the move's thickness makes it repeatable.", v.setup.Style.Size(v.over(now))),
		}
		if v.model.Cuts > 0 {
			out = append(out, fmt.Sprintf("One pass is reckoned as %s: it %s.", v.fine(now.Stack.Sum()+now.Offset), v.learnedWord(now)))
		}
		if v.tellPasses {
			out = append(out, v.passDetail()...)
		}
		return out
	}
	return []string{
		fmt.Sprintf("Rabbet %s wide: %s, the rest buried in the fence.", v.setup.Style.Size(w), v.partsWord(now.Stack)),
		fmt.Sprintf("The stack is about %s; the fence sets the width, so no shims and no play. Lock a sacrificial fence and raise the turning stack into it, then set the fence so that %s is left showing.", v.fine(width(now)), v.setup.Style.Size(w)),
	}
}

// cuttable says whether there is a stack that can be right: none is where no
// width fits all of the stock.
func (v *view) cuttable() bool {
	return len(v.setup.Stacks) > 0 && (v.rabbet() || !v.window.Empty())
}

func (v *view) unevenLines() []string {
	spread := v.thickest.Length - v.thinnest.Length
	snug := v.setup.Grades.SnugTo - v.setup.Grades.SnugFrom
	var readings []solver.Length
	for _, r := range v.setup.Readings {
		readings = append(readings, r.Length)
	}
	var lots []string
	for _, lot := range solver.Lots(readings, v.setup.Grades) {
		thick, thin := solver.Ends(lot)
		word := v.setup.Style.SizeBare(thin)
		if thick != thin {
			word += " to " + v.setup.Style.SizeBare(thick)
		}
		lots = append(lots, word)
	}
	return []string{
		fmt.Sprintf("No single dado fits all of this stock: it spreads by %s, and snug allows %s.", v.fine(spread), v.fine(snug)),
		fmt.Sprintf("Sort it into lots and cut a dado for each (%s %s); or thin the fat ends to the thinnest; or cut a tongue of one thickness from the face that stays. If it is one panel, measure it again first.", strings.Join(lots, ", "), v.setup.Style.Unit),
	}
}

func (v *view) passLines(now storage.PlannedStack) []string {
	out := []string{
		fmt.Sprintf("%s passes with %s, the stop moved by %s. %s.", capitalised(number(now.Passes)), v.partsWord(now.Stack), v.exactMove(now.Move), v.expectWord(now)),
		fmt.Sprintf("Together %s: %s. %s: %s; %s. A spacer block of the move's thickness makes it repeatable.", v.fine(width(now)), v.playWord(width(now)), v.chanceWord("try"), percent(now.Chance), v.learnedWord(now)),
	}
	if why := v.whyNotOnePass(); why != "" {
		out = append(out, "One pass does not reach "+v.fine(v.window.Mid())+": "+why)
	}
	if v.tellPasses {
		out = append(out, v.passDetail()...)
	}
	return out
}

// exactMove writes the move of a stop to half a thousandth, or a hundredth of a
// millimetre: what is rounded off adds up over the passes.
func (v *view) exactMove(move solver.Length) string {
	if half := solver.Mil / 2; v.setup.Style.Unit == solver.InchUnit {
		move = (move + half/2) / half * half
	}
	return v.fine(move)
}

// whyNotOnePass names the nearest stacks and what stands in the way.
func (v *view) whyNotOnePass() string {
	if v.answer.Below == nil && v.answer.Above == nil {
		return ""
	}
	target := v.window.Mid()
	var near []string
	if b := v.answer.Below; b != nil {
		near = append(near, fmt.Sprintf("%s below (%s)", v.fine(b.Width()), v.partsWord(b.Stack)))
	}
	if a := v.answer.Above; a != nil {
		near = append(near, fmt.Sprintf("%s above (%s)", v.fine(a.Width()), v.partsWord(a.Stack)))
	}
	return fmt.Sprintf("nearest %s. %s", strings.Join(near, " and "), v.obstacle(target))
}

// obstacle says what keeps one pass from the target.
func (v *view) obstacle(target solver.Length) string {
	widest := solver.MaxSum(v.set.Parts, v.saw.Saw)
	switch {
	case v.saw.Saw.Arbor > 0 && target > widest && widest == v.saw.Saw.Arbor:
		return fmt.Sprintf("%s takes a stack of %s.", v.saw.Name, v.setup.Style.Size(widest))
	case target > widest:
		return fmt.Sprintf("Set and insert allow %s.", v.fine(widest))
	case v.answer.Above != nil && v.answer.Below != nil:
		return fmt.Sprintf("The shims do not bridge it: at most %d in a gap, %s together.", v.set.Parts.Gap.Count, v.fine(v.set.Parts.Gap.Chipper))
	case v.answer.Above == nil:
		return fmt.Sprintf("That is all its chippers with shims, at most %d in a gap, %s together; a further chipper would do it.", v.set.Parts.Gap.Count, v.fine(v.set.Parts.Gap.Chipper))
	}
	return "It is narrower than the outer pair; never cut with one outer blade alone."
}

func (v *view) outOfReachLines() []string {
	target := v.window.Mid()
	const thinner = "Take a thinner blade, or a router with a bit of that width; ask your instructor."
	if v.set.Parts.Kind == solver.Blade {
		return []string{fmt.Sprintf("%s cuts wider than the %s that is wanted.", v.set.Name, v.fine(target)), thinner}
	}
	out := []string{fmt.Sprintf("%s does not reach %s on %s.", v.set.Name, v.fine(target), v.saw.Name)}
	if why := v.whyNotOnePass(); why != "" {
		out = append(out, capitalised(why))
	}
	if v.answer.Below == nil && v.answer.Above != nil {
		out = append(out, "No ordinary blade of the shop is thin enough for it either. "+thinner)
	}
	return out
}

func number(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	if n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}

func lines(all ...string) string { return strings.Join(all, "\n") }

// note is something worth saying about a setup, with its code for the public JSON.
type note struct {
	code  string
	text  string
	phone bool // stands in the short reply
}

// notes are what the readings, the set and the stack ask to be said.
func (v *view) notes() []note {
	var out []note
	add := func(code, text string, phone bool) { out = append(out, note{code, text, phone}) }
	if held := v.heldWord(); held != "" {
		add("not-released", held, true)
	}
	if len(v.setup.Readings) == 1 && !v.rabbet() {
		add("single-reading", "One reading can mislead: measure four along the end that enters, corners included, after sanding.", true)
	}
	if v.window.Empty() {
		add("spread", "", false)
	}
	for _, p := range v.labelNotes() {
		add("label", p, true)
	}
	if now, ok := v.loaded(); ok && v.tellPasses && now.Passes == 1 && v.cuttable() {
		add("one-pass", "One pass does it; nothing has to be moved.", true)
	}
	switch {
	case v.instead == "":
	case v.saw.Saw.NoStack:
		add("blade", fmt.Sprintf("%s takes no stacked set, so an ordinary blade cuts it in passes instead of %s. In doubt another saw or a router: your instructor and the saw's manual decide.", v.saw.Name, v.instead), true)
	default:
		add("blade", fmt.Sprintf("It is narrower than the outer pair of %s, which never cuts with one blade alone; so an ordinary blade cuts it.", v.instead), true)
	}
	if v.set.Generic {
		add("nominal", v.set.Name+" is nominal sizes in common use, not your set: enter yours with /set add.", false)
	}
	if v.model.Cuts == 0 {
		add("not-learned", "", false)
	}
	if _, ok := v.offer(); ok {
		add("on-saw", "", false)
	}
	if now, ok := v.loaded(); ok {
		if now.Passes > 1 {
			add("passes", "", false)
		}
		if now.Stack.WidestGap() > solver.RidgeNote {
			add("ridge", fmt.Sprintf("One gap is opened by more than %s: look for a ridge on the floor after the test cut.", v.fine(solver.RidgeNote)), true)
		}
		for _, c := range solver.Fan(v.set.Parts, now.Stack).Clearances {
			if !c.Comfortable {
				add("tips", fmt.Sprintf("%d outer teeth and %d chipper teeth clear by %.2f degrees at best: turn by hand, look for touching tips, and do not run it if any touch.", c.Outer, c.Chipper, c.Degrees), true)
			}
		}
	}
	if v.setup.Aim.Text != "" && v.setup.Grades.Of(v.setup.Aim.Length) != solver.Snug {
		add("aim", fmt.Sprintf("You aim for a play of %s; the usual grades call that %s.", v.setup.Aim, v.setup.Grades.Of(v.setup.Aim.Length)), true)
	}
	if refusal := v.depthRefusal(); refusal != "" {
		add("depth", refusal, true)
	}
	if v.setup.OtherFace.Length > 0 {
		add("both-faces", v.depthLines()[1], true)
	}
	if word := v.stoppedWord(); word != "" {
		add("stopped", word, true)
	}
	if v.saw.Saw.Brake {
		add("brake", "This saw has a brake: fit the cartridge made for stacked sets, and keep to its manual's limits on width and diameter.", true)
	}
	if soft := v.softShims(); soft != "" {
		add("soft-shims", soft, false)
	}
	return out
}

// softShims says which shims are left out because they are no rigid rings.
func (v *view) softShims() string {
	if v.set.Parts.SoftOK {
		return ""
	}
	var words []string
	for _, s := range v.set.Parts.Shims {
		if !s.Material.Rigid() {
			words = append(words, fmt.Sprintf("%s (%s)", v.shimWord(s.Part()), s.Material))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return "Left out: " + strings.Join(words, ", ") + ". Tape, paper and lids creep, compress and fall into the arbor thread; a shop has to allow them."
}

// outcomeActions are the buttons that log the next test cut against the stack
// shown here.
func (v *view) outcomeActions() []Action {
	next := len(v.setup.Cuts) + 1
	at := func(verb verb, arg string) string {
		return action{verb: verb, setup: v.setup.No, cut: next, revision: v.setup.Loaded, arg: arg}.String()
	}
	measure := Action{ID: at(verbMeasure, ""), Label: "Measured", Row: 1, Form: &measureForm}
	if v.rabbet() {
		return []Action{measure}
	}
	var out []Action
	for _, g := range solver.AllGrades {
		out = append(out, Action{ID: at(verbFeel, gradeCode(g)), Label: capitalised(string(g))})
	}
	return append(out, measure, Action{ID: at(verbSlips, ""), Label: "Slips of paper", Row: 1, Form: &slipsForm})
}

func gradeCode(g solver.Grade) string { return strings.ReplaceAll(string(g), " ", "-") }

func gradeOf(code string) (solver.Grade, bool) {
	for _, g := range solver.AllGrades {
		if gradeCode(g) == code || string(g) == code {
			return g, true
		}
	}
	return "", false
}
