package commands

import (
	"fmt"

	"shimwright/solver"
)

func fitCommand() Command {
	return Command{
		Name: "fit", Summary: "How stock goes into a groove, both measured", Example: "/fit stock:0.703 groove:0.708",
		Options: []Option{
			{Name: "stock", Summary: "Thickness as measured, one reading or several", Required: true},
			{Name: "groove", Summary: "The groove as measured, at its floor", Required: true},
			{Name: "mouth", Summary: "The groove as measured, at its mouth"},
		},
		run: runFit,
	}
}

type fitData struct {
	PlayMM endsJSON `json:"play_mm"`
	Grade  endsJSON `json:"grade"`
	Notes  []string `json:"notes"`
}

// swellAim is the play to aim for in plywood that is glued with a water-based
// glue; with none it can swell shut [sec, practice case P03].
const swellAim = 4 * solver.Mil

func runFit(s *session, a args) (Reply, error) {
	readings, err := s.readings(a, "stock")
	if err != nil {
		return Reply{}, err
	}
	floor, err := s.length(a, "groove", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	mouth, err := s.length(a, "mouth", grooveRange)
	if err != nil {
		return Reply{}, err
	}
	thick, thin := readingEnds(readings)
	style := solver.Style{Unit: readings[0].Unit, Notation: readings[0].Notation}
	grades := s.shop.Settings.Grades
	tight, slack := floor.Length-thick.Length, floor.Length-thin.Length
	d := fitData{
		PlayMM: endsJSON{tight.DecimalMM(), slack.DecimalMM()},
		Grade:  endsJSON{string(grades.Of(tight)), string(grades.Of(slack))}, Notes: []string{},
	}
	text := []string{fitHead(style, grades, thick, thin, tight, slack)}
	add := func(code, line string) {
		d.Notes = append(d.Notes, code)
		text = append(text, line)
	}
	if mouth.Length > 0 && !solver.WallsParallel(floor.Length, mouth.Length) {
		wide := mouth.Length - floor.Length
		add("walls", fmt.Sprintf("The mouth is %s %s than the floor: fence, gauge or feed is not parallel to the cutters, or the work rocked. Set that right first; shims do not cure it.", style.Fine(wide.Abs()), widerNarrower(wide)))
	}
	window := grades.Window(thick.Length, thin.Length)
	switch {
	case len(d.Notes) > 0: // the walls come first
	case window.Empty():
		add("spread", fmt.Sprintf("No single dado fits all of this stock: it spreads by %s. Sort it into lots, thin the fat ends, or cut a tongue of one thickness.", style.Fine(thick.Length-thin.Length)))
	case window.Has(floor.Length):
		text = append(text, "Leave it as it is.")
	default:
		by := window.Mid() - floor.Length
		word := "wider: add about that much in shims, or take the next chipper"
		if by < 0 {
			word = "narrower: take out shims, or use a thinner chipper shimmed up"
		}
		text = append(text, fmt.Sprintf("The middle of snug is %s, %s %s.", style.Fine(window.Mid()), style.Fine(by.Abs()), word))
	}
	if label, ok := solver.LikelyLabel(thick.Length, floor.Length, thick.Unit); ok {
		add("label", fmt.Sprintf("The groove is about what the label %s says, the stock is not: by %s such panels measure %s to %s. Cut for the panel in hand, and take the test piece from the same panel.", label.Label, label.Standard, style.FineBare(label.Min), style.Fine(label.Max)))
	}
	if times := slack / grades.SnugTo; grades.Of(slack) == solver.Sloppy && times >= 2 {
		add("far-too-wide", fmt.Sprintf("That is about %d times the most that is snug (%s).", (2*slack+grades.SnugTo)/(2*grades.SnugTo), style.Fine(grades.SnugTo)))
	}
	if tight >= grades.Enter && tight < grades.SnugFrom {
		add("swell", fmt.Sprintf("Plywood with no play can swell shut once water-based glue is on: aim for %s.", style.Fine(swellAim)))
	}
	if len(readings) == 1 {
		add("single-reading", "One reading can mislead: measure four along the end that enters, corners included.")
	}
	text = append(text, "Measure stock and groove with the same caliper, so that its error cancels.")
	pic := measuredFit(style, grades, window, readings, floor.Length, grades.Of(tight))
	return Reply{Text: lines(text...), Data: d, Pictures: []Picture{pic}}, nil
}

func fitHead(style solver.Style, grades solver.Grades, thick, thin solver.Measure, tight, slack solver.Length) string {
	a, b := grades.Of(tight), grades.Of(slack)
	if tight == slack {
		return fmt.Sprintf("%s: play %s.", capitalised(string(a)), style.Fine(tight))
	}
	if a == b {
		return fmt.Sprintf("%s: play %s at %s, %s at %s.", capitalised(string(a)), style.Fine(tight), thick, style.Fine(slack), thin)
	}
	return fmt.Sprintf("%s at %s (play %s), %s at %s (play %s).", capitalised(string(a)), thick, style.Fine(tight), b, thin, style.Fine(slack))
}
