package commands

import (
	"fmt"
	"strconv"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// The details of a setup, in the order of their buttons.
var detailOrder = []struct{ code, label string }{
	{"why", "Why"},
	{"others", "Two other stacks"},
	{"passes", "The passes"},
	{"limits", "Limits checked"},
	{"fan", "Fan angle"},
	{"depth", "Depth"},
	{"cautions", "All cautions"},
}

// details are what a phone shows behind buttons and a terminal below the reply.
func (v *view) details() []Detail {
	var out []Detail
	for _, d := range detailOrder {
		if text, ok := v.detail(d.code); ok {
			out = append(out, v.detailAs(d.code, d.label, text))
		}
	}
	return out
}

func (v *view) detailAs(code, label, text string) Detail {
	id := action{verb: verbShow, setup: v.setup.No, revision: v.setup.Loaded, arg: code}
	return Detail{Action: Action{ID: id.String(), Label: label, Row: 2}, Text: text}
}

// otherActions take one of the other stacks instead, until the first cut.
func (v *view) otherActions() []Action {
	if v.setup.State != storage.Planned {
		return nil
	}
	var out []Action
	for i, o := range v.others() {
		id := action{verb: verbUse, setup: v.setup.No, revision: v.setup.Loaded, arg: strconv.Itoa(o.place)}
		out = append(out, Action{ID: id.String(), Label: fmt.Sprintf("Use other stack %d", i+1), Row: 3})
	}
	return out
}

// other is a stack beside the one on the saw, and its place in the search's answer.
type other struct {
	place int
	solver.Candidate
}

// others are the two best stacks beside the one on the saw.
func (v *view) others() []other {
	now, ok := v.loaded()
	if !ok || !v.answer.Reached || v.rabbet() {
		return nil
	}
	var out []other
	for i, c := range v.answer.Ranked {
		if len(out) < 2 && (now.Passes > 1 || !c.Stack.Equal(now.Stack)) {
			out = append(out, other{i, c})
		}
	}
	return out
}

// detail is one of them by its code; false where the setup has none of that kind.
func (v *view) detail(code string) (string, bool) {
	var out []string
	switch code {
	case "why":
		out = v.whyLines()
	case "others":
		out = v.otherLines()
	case "passes":
		if v.tellPasses { // in the reply itself
			break
		}
		if out = v.passDetail(); len(out) > 0 {
			out = append([]string{"The passes:"}, out...)
		}
	case "limits":
		out = v.limitLines()
	case "fan":
		out = v.fanLines()
	case "depth":
		out = v.depthLines()
	case "cautions":
		out = v.cautionLines()
	}
	return lines(out...), len(out) > 0
}

func (v *view) whyLines() []string {
	now, ok := v.loaded()
	if !ok || v.rabbet() {
		return nil
	}
	if v.answer.Ranked == nil {
		v.search()
	}
	g := v.setup.Grades
	out := []string{"Why this stack:"}
	out = append(out, fmt.Sprintf("Stock: %s. Snug is a play of %s to %s (this shop's grade, an assumption you can change).", v.readingsWord(), v.fine(g.SnugFrom), v.fine(g.SnugTo)))
	if v.window.Empty() {
		out = append(out, fmt.Sprintf("No width is snug on every piece; the middle between the ends is %s.", v.fine(v.window.Mid())))
		return append(out, fmt.Sprintf("Nearest to it: %s, about %s: %s. It fits nothing well.", v.partsWord(now.Stack), v.fine(width(now)), v.gradeWord(width(now))))
	}
	if v.setup.Aim.Text != "" {
		out = append(out, fmt.Sprintf("You aim for a play of %s at the thickest reading: a width of %s.", v.setup.Aim, v.fine(v.window.Mid())))
	} else {
		out = append(out, fmt.Sprintf("Snug on every piece: a width of %s to %s; the target is %s.", v.fine(v.window.Lo), v.fine(v.window.Hi), v.fine(v.window.Mid())))
	}
	out = append(out, fmt.Sprintf("The parts add up to %s; %s.", v.fine(now.Stack.Sum()), v.learnedWord(now)))
	if now.Passes > 1 {
		out = append(out, fmt.Sprintf("%s passes moved by %s each make %s.", capitalised(number(now.Passes)), v.exactMove(now.Move), v.fine(width(now))))
	}
	out = append(out, fmt.Sprintf("One cut comes out at %s, give or take %s; %s that it is %s.", v.fine(width(now)), v.fine(now.SD), percent(now.Chance), v.goalWord()))
	for _, n := range v.notes() {
		if n.text != "" && !n.phone {
			out = append(out, n.text)
		}
	}
	return out
}

// goalWord is what the chance of a stack is the chance of.
func (v *view) goalWord() string {
	if v.setup.Aim.Text != "" {
		return "about as wide as you aim for"
	}
	return "snug everywhere"
}

func (v *view) readingsWord() string {
	if len(v.setup.Readings) == 1 {
		return v.thickest.String()
	}
	if v.thickest.Length == v.thinnest.Length {
		return fmt.Sprintf("%d readings, all %s", len(v.setup.Readings), v.thickest)
	}
	return fmt.Sprintf("%d readings from %s to %s", len(v.setup.Readings), v.thinnest, v.thickest)
}

func (v *view) otherLines() []string {
	if v.rabbet() {
		return nil
	}
	if v.answer.Ranked == nil {
		v.search()
	}
	others := v.others()
	if len(others) == 0 {
		return nil
	}
	out := []string{"Two other stacks:"}
	if len(others) == 1 {
		out[0] = "One other stack:"
	}
	for i, c := range others {
		out = append(out, fmt.Sprintf("%d: %s. Cuts about %s, %s. %s: %s.", i+1, v.partsWord(c.Stack), v.fine(c.Width()), v.playWord(c.Width()), v.chanceWord("cut"), percent(c.Chance)))
	}
	return out
}

func (v *view) limitLines() []string {
	now, ok := v.loaded()
	stack := now.Stack
	if !ok {
		stack = solver.Stack{Outer: v.set.Parts.Outer.Part(), Gaps: [][]solver.Part{nil}}
	}
	out := []string{"Limits checked:"}
	for _, c := range solver.CheckStack(v.set.Parts, v.saw.Saw, stack) {
		out = append(out, "- "+v.checkText(c))
	}
	if soft := v.softShims(); soft != "" {
		out = append(out, "- "+soft)
	}
	return append(out, "What is not known here stands in the manuals of saw and set.")
}

// checkText says one check in words.
func (v *view) checkText(c solver.Check) string {
	size := v.setup.Style.Size
	fine := v.fine
	if !c.Known {
		what := map[solver.CheckCode]string{
			solver.ArborCheck: "arbor capacity", solver.InsertCheck: "opening of the insert", solver.LargestCheck: "largest diameter, or the set's",
			solver.SmallestCheck: "smallest diameter, or the set's", solver.SpeedCheck: "speed of the arbor, or the set's marked maximum",
		}[c.Code]
		return "not known: " + what + "."
	}
	switch c.Code {
	case solver.NoStackCheck:
		if c.OK {
			return fmt.Sprintf("%s takes a stacked set.", v.saw.Name)
		}
		return fmt.Sprintf("%s takes no stacked set.", v.saw.Name)
	case solver.ArborCheck:
		return fmt.Sprintf("stack %s, arbor %s with both flanges and a full thread past the nut%s", fine(c.Value), size(c.Limit), verdict(c))
	case solver.SetWidthCheck:
		return fmt.Sprintf("stack %s, the set's widest %s%s", fine(c.Value), size(c.Limit), verdict(c))
	case solver.InsertCheck:
		return fmt.Sprintf("stack %s, insert opening %s%s Turn it by hand before power.", fine(c.Value), size(c.Limit), verdict(c))
	case solver.LargestCheck:
		return fmt.Sprintf("diameter of the set %s, the saw's largest %s%s", size(c.Value), size(c.Limit), verdict(c))
	case solver.SmallestCheck:
		return fmt.Sprintf("diameter of the set %s, the saw's smallest %s%s", size(c.Value), size(c.Limit), verdict(c))
	case solver.SpeedCheck:
		return fmt.Sprintf("arbor %d a minute, the set is marked for %d%s", int(c.Value), int(c.Limit), verdict(c))
	case solver.GapCheck:
		return fmt.Sprintf("fullest gap %s of shims, limit %s, and %d shims in a gap%s", fine(c.Value), fine(c.Limit), v.set.Parts.Gap.Count, verdict(c))
	}
	return string(c.Code)
}

func verdict(c solver.Check) string {
	if c.OK {
		return ": fits."
	}
	return ": does not fit."
}

func (v *view) fanLines() []string {
	now, ok := v.loaded()
	if !ok || v.set.Parts.Kind == solver.Blade {
		return nil
	}
	f := solver.Fan(v.set.Parts, now.Stack)
	out := []string{"Fan angle:"}
	switch f.Rule {
	case solver.FanEach:
		out = append(out, fmt.Sprintf("Turn each of the %d chippers %s degrees from the last.", f.Chippers, degrees(f.Turn)))
	case solver.FanMixed:
		out = append(out, "The chippers have different tooth counts: no angle fits all. Turn them by hand until no tip touches another.")
	case solver.FanOuters:
		if f.Turn > 0 {
			out = append(out, fmt.Sprintf("No chipper: turn one outer blade %s degrees, half a tooth, against the other.", degrees(f.Turn)))
		} else {
			out = append(out, "No chipper: turn one outer blade half a tooth against the other.")
		}
	case solver.FanUnknown:
		out = append(out, "The tooth counts are not entered: spread the chippers evenly by hand until no tip touches another.")
	case solver.FanNone:
		out = append(out, "One chipper needs no fan; turn it so that its tips stand between those of the outer blades.")
	}
	for _, c := range f.Clearances {
		text := fmt.Sprintf("%d outer teeth and %d chipper teeth: every tip clears by %.2f degrees at best", c.Outer, c.Chipper, c.Degrees)
		if c.Rim > 0 {
			text += ", " + v.fine(c.Rim) + " at the rim"
		}
		out = append(out, text+".")
	}
	return append(out, "If any tips touch, do not run it.")
}

func degrees(d float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", d), "0"), ".")
}
