package commands

import (
	"fmt"
	"strings"

	"shimwright/solver"
)

func panelsCommand() Command {
	return Command{
		Name: "panels", Summary: "What a panel or board sold under a label may measure, by standard", Example: "/panels label:3/4",
		Options: []Option{
			{Name: "label", Summary: "As it is sold: 23/32, 3/4, 18mm, 4/4, 1x", Required: true, complete: completeLabels},
			{Name: "measured", Summary: "What yours measures, to be held against it"},
		},
		run: runPanels,
	}
}

func completeLabels(_ *session, typed string) ([]Choice, error) {
	var all []string
	seen := map[string]bool{}
	for _, p := range solver.PanelLimits() {
		if !seen[p.Label] {
			seen[p.Label] = true
			all = append(all, p.Label)
		}
	}
	return choicesOf(all, func(s string) string { return s }, typed), nil
}

// markWords say where a figure comes from.
var markWords = map[solver.Mark]string{
	solver.Published: "published", solver.SecondHand: "read second-hand", solver.Common: "common practice, no source",
	solver.Memory: "from memory, check it", solver.ShopChoice: "a default of this shop",
}

type panelsData struct {
	Label  string      `json:"label"`
	Limits []limitJSON `json:"limits"`
	Notes  []string    `json:"notes"`
}

type limitJSON struct {
	Standard   string      `json:"standard"`
	Label      string      `json:"label"`
	MinMM      string      `json:"min_mm"`
	MaxMM      string      `json:"max_mm"`
	PrintedMM  string      `json:"recommended_mm,omitempty"`
	Mark       solver.Mark `json:"mark"`
	MeasuredOK *bool       `json:"measured_within,omitempty"`
}

func runPanels(s *session, a args) (Reply, error) {
	limits, err := s.labelled(a["label"])
	if err != nil {
		return Reply{}, err
	}
	measured, err := s.length(a, "measured", solver.StockRange)
	if err != nil {
		return Reply{}, err
	}
	style := solver.Style{Unit: limits[0].Unit}
	least, greatest := limits[0].Min, limits[0].Max
	for _, p := range limits {
		least, greatest = min(least, p.Min), max(greatest, p.Max)
	}
	label := limits[0].Label
	d := panelsData{Label: label, Limits: []limitJSON{}, Notes: []string{}}
	text := []string{fmt.Sprintf("Sold as %s: %s to %s, by what it is.", label, style.FineBare(least), style.Fine(greatest))}
	if least == greatest {
		text[0] = fmt.Sprintf("Sold as %s: %s.", label, style.Fine(least))
	}
	within := 0
	for _, p := range limits {
		l := limitJSON{Standard: p.Standard, Label: p.Label, MinMM: p.Min.DecimalMM(), MaxMM: p.Max.DecimalMM(), Mark: p.Mark}
		line := fmt.Sprintf("%s: %s to %s", p.Standard, style.FineBare(p.Min), style.Fine(p.Max))
		if p.Min == p.Max {
			line = fmt.Sprintf("%s: %s, no tolerance known", p.Standard, style.Fine(p.Min))
		}
		if p.Recommended > 0 {
			l.PrintedMM = p.Recommended.DecimalMM()
			line += ", often printed as " + style.Fine(p.Recommended)
		}
		if measured.Length > 0 {
			ok := p.Min <= measured.Length && measured.Length <= p.Max
			l.MeasuredOK = &ok
			if ok {
				within++
				line += ": yours is within"
			} else {
				line += ": yours is outside"
			}
		}
		text = append(text, line+" ["+markWords[p.Mark]+"].")
		d.Limits = append(d.Limits, l)
	}
	if measured.Length > 0 && within == 0 {
		d.Notes = append(d.Notes, "outside")
		text = append(text, fmt.Sprintf("%s is outside all of these: another label, another standard, or sanded and planed since.", measured))
	}
	return Reply{Text: lines(append(text, "No label is a measurement: measure yours at four places along the end that enters, then /stack stock:... with the readings.")...), Data: d}, nil
}

// labelled are the limits of a label; where EN 315 has none of that thickness, its
// formula gives them.
func (s *session) labelled(text string) ([]solver.PanelLimit, error) {
	plain := strings.ToLower(strings.Join(strings.Fields(clip(text, 40)), ""))
	var out []solver.PanelLimit
	for _, p := range solver.PanelLimits() {
		if strings.ReplaceAll(strings.ToLower(p.Label), " ", "") == plain {
			out = append(out, p)
		}
	}
	// 1 is PS 1's label as well as 4/4 and 1x are an inch: a label's own text goes first.
	if len(out) > 0 {
		return out, nil
	}
	m, err := solver.ParseMeasure(text, s.style.Unit, solver.StockRange)
	if err != nil {
		return nil, measureError("label", err)
	}
	for _, p := range solver.PanelLabels(m.Length, m.Unit) {
		if p.Standard != solver.HardwoodS2S && p.Standard != solver.SoftwoodDress {
			out = append(out, p)
		}
	}
	if len(out) == 0 && m.Unit == solver.MillimetreUnit {
		out = []solver.PanelLimit{solver.EN315Limit(m.Length)}
	}
	if len(out) == 0 {
		return nil, &UserError{Option: "label", Message: fmt.Sprintf("%s is no label that I know.", m), Hint: "label:23/32, label:3/4, label:18mm, label:4/4 or label:1x"}
	}
	return out, nil
}
