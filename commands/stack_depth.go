package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// intoOptions say what a dado is cut into, where that bears on its depth.
func intoOptions() []Option {
	return []Option{
		{Name: "panel", Summary: "Thickness of the side it is cut into, if not that of the stock"},
		{Name: "other-face", Summary: "Depth of a dado in the other face of the same panel"},
		{Name: "offset", Summary: "Yes if the dadoes of the two faces do not face each other", Kind: YesNo},
		{Name: "stopped", Summary: "Yes if it ends short of the edge", Kind: YesNo},
	}
}

// cutInto reads them into a setup, and refuses what is not to be cut: too little
// left between two faces, and a stopped cut where the shop bars it.
func (s *session) cutInto(setup *storage.Setup, a args) (err error) {
	if setup.Panel, err = s.length(a, "panel", solver.StockRange); err != nil {
		return err
	}
	if setup.OtherFace, err = s.length(a, "other-face", depthRange); err != nil {
		return err
	}
	setup.Apart, setup.Stopped = yes(a, "offset"), yes(a, "stopped")
	if setup.Stopped && s.shop.Settings.NoStopped {
		return &UserError{Option: "stopped", Message: "This shop's rules bar stopped dadoes and grooves on the saw.", Hint: "Cut it through and cover its end, or use a router as your instructor shows."}
	}
	if setup.OtherFace.Length == 0 {
		if setup.Apart {
			return &UserError{Option: "offset", Message: "offset is about two faces: give other-face, the depth of the other dado, too.", Hint: "depth:1/4 other-face:1/4 offset:yes"}
		}
		return nil
	}
	if setup.Depth.Length == 0 {
		return &UserError{Option: "depth", Message: "For dadoes in both faces give both depths.", Hint: "depth:3/16 other-face:3/16"}
	}
	v := &view{s: s, setup: *setup, thinnest: thinnest(setup.Readings)}
	if c := v.depthCheck(); c.Verdict == solver.DepthRefused {
		return &UserError{
			Option: "other-face",
			Message: fmt.Sprintf("%s and %s from both faces leave %s of %s; at least %s has to remain. Do not cut it.",
				setup.Depth, setup.OtherFace, v.fine(max(0, c.Web)), v.setup.Style.Size(v.panel()), v.fine(c.MinWeb)),
			Hint: fmt.Sprintf("At most %s for each face; or offset:yes, where they do not face each other.", atMost(v.setup.Style, c.To)),
		}
	}
	return nil
}

// atMost writes the most that is allowed, rounded down, so that it is allowed too.
func atMost(style solver.Style, most solver.Length) string {
	grain := solver.Mil / 2
	if style.Unit == solver.MillimetreUnit {
		grain = solver.Millimetre / 100
	}
	return style.Fine(most - most%grain)
}

func thinnest(readings []solver.Measure) solver.Measure {
	least := readings[0]
	for _, r := range readings {
		if r.Length < least.Length {
			least = r
		}
	}
	return least
}

// depthRule is the shop's rule, or the usual one.
func (s *session) depthRule() solver.DepthRule {
	if s.shop.Settings.Depth == (solver.DepthRule{}) {
		return solver.DefaultDepthRule()
	}
	return s.shop.Settings.Depth
}

// panel is how thick the piece is that is cut into; where that was not told, as
// thick as the thinnest reading of the stock.
func (v *view) panel() solver.Length {
	if v.setup.Panel.Length > 0 {
		return v.setup.Panel.Length
	}
	return v.thinnest.Length
}

// depthCheck holds the depth against the rule; both depths where there are two.
func (v *view) depthCheck() solver.DepthCheck {
	if v.setup.OtherFace.Length > 0 {
		return solver.CheckBothFaces(v.setup.Depth.Length, v.setup.OtherFace.Length, v.panel(), v.setup.Apart, v.s.depthRule())
	}
	return solver.CheckDepth(v.setup.Depth.Length, v.panel(), v.s.depthRule())
}

// panelWord names what is cut into.
func (v *view) panelWord() string {
	if v.setup.Panel.Length > 0 {
		return "a side of " + v.setup.Panel.String()
	}
	return "a side as thick as this stock"
}

// depthLines hold the depth against the shop's rule.
func (v *view) depthLines() []string {
	size := v.setup.Style.Size
	if v.setup.Depth.Length == 0 {
		usual := solver.UsualDepth(v.panel(), v.setup.Style.Unit, v.s.depthRule())
		c := solver.CheckDepth(usual, v.panel(), v.s.depthRule())
		out := []string{
			"Depth:",
			fmt.Sprintf("None given. In %s %s is usual and leaves %s; at least %s has to remain [common practice, no source].", v.panelWord(), size(usual), v.fine(c.Web), v.fine(c.MinWeb)),
		}
		return append(out, v.stoppedLines(usual)...)
	}
	depth := v.setup.Depth.Length
	c := v.depthCheck()
	out := []string{"Depth:"}
	leaves := fmt.Sprintf("%s leaves %s", v.setup.Depth, v.fine(c.Web))
	if v.setup.OtherFace.Length > 0 {
		leaves = fmt.Sprintf("%s and %s from both faces leave %s between them", v.setup.Depth, v.setup.OtherFace, v.fine(c.Web))
		if v.setup.Apart {
			leaves = fmt.Sprintf("%s and %s from both faces, offset: %s stays under the deeper one", v.setup.Depth, v.setup.OtherFace, v.fine(c.Web))
		}
	}
	switch c.Verdict {
	case solver.DepthRefused:
		return append(out, v.depthRefusal())
	case solver.DepthDeep:
		out = append(out, leaves+": deeper than usual, yet enough remains.")
	case solver.DepthShallow:
		out = append(out, fmt.Sprintf("%s; that is shallow, the usual least is %s.", leaves, v.fine(c.From)))
	default:
		out = append(out, fmt.Sprintf("%s: within the usual %s to %s.", leaves, v.setup.Style.FineBare(c.From), v.fine(c.To)))
	}
	if passes := solver.DepthPasses(depth, solver.DefaultBite); len(passes) > 1 {
		var each []string
		for _, p := range passes {
			each = append(each, v.fine(p))
		}
		out = append(out, fmt.Sprintf("Raise the stack in %d passes: %s. A saw short of power takes more.", len(passes), strings.Join(each, ", ")))
	}
	if !v.rabbet() {
		out = append(out, fmt.Sprintf("The shelf end stays a paper's thickness short of the floor: %s long in the dado.", v.fine(solver.TongueLength(depth, solver.PaperThickness))))
	}
	return append(out, v.stoppedLines(depth)...)
}

// stoppedLines say how far a stopped dado runs out.
func (v *view) stoppedLines(depth solver.Length) []string {
	if d := v.set.Parts.Diameter; d > 0 {
		if run, ok := solver.RunOut(d, depth); ok {
			return []string{fmt.Sprintf("A stopped dado runs out in a curve of %s beyond its full depth.", v.fine(run))}
		}
	}
	if v.setup.Stopped {
		return []string{"How far it runs out, the cutter's diameter tells: enter it with /set change diameter:8."}
	}
	return nil
}

// stoppedWord is the caution of a stopped cut, with its run-out; empty for a cut
// that goes through.
func (v *view) stoppedWord() string {
	if !v.setup.Stopped {
		return ""
	}
	depth := v.setup.Depth.Length
	if depth == 0 {
		depth = solver.UsualDepth(v.panel(), v.setup.Style.Unit, v.s.depthRule())
	}
	return lines(append([]string{"Stopped: only if the shop's rules and local code allow it on this saw, and only as your instructor shows it. The work is never lifted or drawn back while the stack turns."}, v.stoppedLines(depth)...)...)
}

// depthRefusal says why a depth is not to be cut; empty where none is given or it
// leaves enough.
func (v *view) depthRefusal() string {
	if v.setup.Depth.Length == 0 {
		return ""
	}
	c := v.depthCheck()
	if c.Verdict != solver.DepthRefused {
		return ""
	}
	return v.depthWord(v.setup.Depth, c)
}

func (v *view) depthWord(depth solver.Measure, c solver.DepthCheck) string {
	most := atMost(v.setup.Style, min(c.To, v.panel()-c.MinWeb))
	if v.setup.OtherFace.Length > 0 && !v.setup.Apart {
		return fmt.Sprintf("%s deep, and %s in the other face, leave %s of %s; at least %s has to remain. Do not cut it; cut no deeper than %s.", depth, v.setup.OtherFace, v.fine(max(0, c.Web)), v.panelWord(), v.fine(c.MinWeb), most)
	}
	if c.Web <= 0 {
		return fmt.Sprintf("%s deep goes through %s. Do not cut it; cut no deeper than %s.", depth, v.panelWord(), most)
	}
	return fmt.Sprintf("%s deep leaves %s of %s; at least %s has to remain. Do not cut it; cut no deeper than %s.", depth, v.fine(c.Web), v.panelWord(), v.fine(c.MinWeb), most)
}

// depthReach is how far a cut may be from its depth unsaid, 1/64 in [shop].
const depthReach = solver.Inch / 64

// cutDepth holds the depth of a test cut against what was asked and what has to
// remain; ok says that there is nothing to set right.
func (v *view) cutDepth(depth solver.Measure) (text string, ok bool) {
	cut := *v
	cut.setup.Depth = depth
	if c := cut.depthCheck(); c.Verdict == solver.DepthRefused {
		return v.depthWord(depth, c), false
	}
	c := cut.depthCheck()
	want := v.setup.Depth
	off := depth.Length - want.Length
	switch {
	case want.Length == 0:
		return fmt.Sprintf("Depth %s leaves %s; at least %s has to remain.", depth, v.fine(c.Web), v.fine(c.MinWeb)), true
	case off.Abs() <= depthReach:
		return fmt.Sprintf("Depth %s: as wanted (%s), leaves %s.", depth, want, v.fine(c.Web)), true
	case off > 0:
		return fmt.Sprintf("Depth %s is %s deeper than the %s wanted: lower the stack by that.", depth, v.fine(off), want), false
	}
	return fmt.Sprintf("Depth %s is %s short of the %s wanted: raise the stack by that.", depth, v.fine(-off), want), false
}

// labelNotes say what panels sold under a label measure, and where that is known
// from, where a reading equals the label and may have been copied from it.
func (v *view) labelNotes() []string {
	var out []string
	seen := map[solver.Length]bool{}
	for _, r := range v.setup.Readings {
		if seen[r.Length] {
			continue
		}
		seen[r.Length] = true
		limits := solver.PanelLabels(r.Length, r.Unit)
		if len(limits) == 0 {
			continue
		}
		var words []string
		shown := limits[:min(2, len(limits))]
		for i, p := range shown {
			word := fmt.Sprintf("%s %s to %s", p.Standard, v.setup.Style.FineBare(p.Min), v.setup.Style.Fine(p.Max))
			switch last := i == len(shown)-1; {
			case shown[0].Mark != shown[len(shown)-1].Mark || last && len(shown) == 1:
				word += " [" + markWords[p.Mark] + "]"
			case last:
				word += " [both " + markWords[p.Mark] + "]"
			}
			words = append(words, word)
		}
		more := ""
		if len(limits) > len(words) {
			more = fmt.Sprintf(" (/panels has %d more)", len(limits)-len(words))
		}
		out = append(out, fmt.Sprintf("%s is a label as well as a size. Panels sold as %s measure: %s%s. Measure yours.", r, r, strings.Join(words, "; "), more))
	}
	return out
}
