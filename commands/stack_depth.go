package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

// depthLines hold the depth against the shop's rule, taking the panel that the
// dado is cut into to be as thick as the stock.
func (v *view) depthLines() []string {
	panel := v.thinnest.Length
	size := v.setup.Style.Size
	rule := solver.DefaultDepthRule()
	if v.setup.Depth.Length == 0 {
		usual := solver.UsualDepth(panel, v.setup.Style.Unit, rule)
		c := solver.CheckDepth(usual, panel, rule)
		return []string{
			"Depth:",
			fmt.Sprintf("None given. In a side as thick as this stock %s is usual and leaves %s; at least %s has to remain [common practice, no source].", size(usual), v.fine(c.Web), v.fine(c.MinWeb)),
		}
	}
	depth := v.setup.Depth.Length
	c := solver.CheckDepth(depth, panel, rule)
	out := []string{"Depth:"}
	switch c.Verdict {
	case solver.DepthRefused:
		return append(out, v.depthRefusal())
	case solver.DepthDeep:
		out = append(out, fmt.Sprintf("%s leaves %s: deeper than usual, yet enough remains.", v.setup.Depth, v.fine(c.Web)))
	case solver.DepthShallow:
		out = append(out, fmt.Sprintf("%s leaves %s; that is shallow, a third of the side is the usual least (%s).", v.setup.Depth, v.fine(c.Web), v.fine(c.From)))
	default:
		out = append(out, fmt.Sprintf("%s leaves %s: within the usual third to half.", v.setup.Depth, v.fine(c.Web)))
	}
	if passes := solver.DepthPasses(depth, solver.DefaultBite); len(passes) > 1 {
		var each []string
		for _, p := range passes {
			each = append(each, v.fine(p))
		}
		out = append(out, fmt.Sprintf("Raise the stack in %d passes: %s.", len(passes), strings.Join(each, ", ")))
	}
	out = append(out, fmt.Sprintf("The shelf end stays a paper's thickness short of the floor: %s long in the dado.", v.fine(solver.TongueLength(depth, solver.PaperThickness))))
	if d := v.set.Parts.Diameter; d > 0 {
		if run, ok := solver.RunOut(d, depth); ok {
			out = append(out, fmt.Sprintf("A stopped dado runs out in a curve of %s.", v.fine(run)))
		}
	}
	return out
}

// depthRefusal says why a depth is not to be cut; empty where none is given or it
// leaves enough.
func (v *view) depthRefusal() string {
	panel := v.thinnest.Length
	c := solver.CheckDepth(v.setup.Depth.Length, panel, solver.DefaultDepthRule())
	if v.setup.Depth.Length == 0 || c.Verdict != solver.DepthRefused {
		return ""
	}
	if c.Web <= 0 {
		return fmt.Sprintf("%s deep goes through a side as thick as this stock. Do not cut it; cut no deeper than %s.", v.setup.Depth, v.fine(min(c.To, panel-c.MinWeb)))
	}
	return fmt.Sprintf("%s deep leaves %s of a side as thick as this stock; at least %s has to remain. Do not cut it; cut no deeper than %s.", v.setup.Depth, v.fine(c.Web), v.fine(c.MinWeb), v.fine(min(c.To, panel-c.MinWeb)))
}

// labelNotes say what panels sold under a label measure, where a reading equals
// the label and may have been copied from it.
func (v *view) labelNotes() []string {
	var out []string
	seen := map[solver.Length]bool{}
	for _, r := range v.setup.Readings {
		if seen[r.Length] {
			continue
		}
		seen[r.Length] = true
		var words []string
		for _, p := range solver.PanelLabels(r.Length, r.Unit) {
			words = append(words, fmt.Sprintf("%s %s to %s", p.Standard, v.setup.Style.FineBare(p.Min), v.setup.Style.Fine(p.Max)))
		}
		if len(words) > 0 {
			out = append(out, fmt.Sprintf("%s is a label as well as a size. Panels sold as %s measure: %s. Measure yours.", r, r, strings.Join(words[:min(2, len(words))], "; ")))
		}
	}
	return out
}
