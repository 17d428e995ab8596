package commands

import (
	"fmt"
	"strings"

	"shimwright/commands/drawing"
	"shimwright/solver"
	"shimwright/storage"
)

func printCommand() Command {
	return Command{
		Name: "print", Summary: "A page to print: setup card, gauge board, width chart", Example: "/print what:card", Private: true,
		Options: []Option{
			{Name: "what", Summary: "Which page", Required: true, Choices: []Choice{
				{"setup card, to tape to the saw", "card"}, {"gauge board, to label its dadoes", "gauge"}, {"width chart of a set", "widths"},
			}},
			{Name: "setup", Summary: "For a card or a gauge board: which; else your last one", complete: completeSetups},
			{Name: "set", Summary: "For a width chart: which cutter set; else the one you used last", complete: completeSets},
			{Name: "saw", Summary: "For a width chart: which saw; else the one you used last", complete: completeSaws},
			{Name: "paper", Summary: "A4 or Letter; else what suits the shop's unit", Choices: []Choice{{"A4", "a4"}, {"Letter", "letter"}}},
		},
		run: runPrint,
	}
}

func runPrint(s *session, a args) (Reply, error) {
	paper := drawing.Letter
	if a["paper"] == "a4" || a["paper"] == "" && s.shop.Settings.Unit == solver.MillimetreUnit {
		paper = drawing.A4
	}
	if a["what"] == "widths" {
		return s.printWidths(a, paper)
	}
	no, err := s.setupNumber(a["setup"])
	if err != nil {
		return Reply{}, err
	}
	v, err := s.loadView(no)
	if err != nil {
		return Reply{}, err
	}
	gauge := v.setup.Joint == storage.Gauge
	switch {
	case a["what"] == "gauge" && !gauge:
		return Reply{}, &UserError{Option: "setup", Message: fmt.Sprintf("Setup %d is no gauge board.", no), Hint: "/gauge plan from:0.70 to:0.76 step:0.005 makes one."}
	case a["what"] == "gauge":
		return v.printGauge(paper)
	case gauge || !v.cuttable():
		return Reply{}, &UserError{Option: "setup", Message: fmt.Sprintf("Setup %d has no stack that a card could show.", no), Hint: "/stack stock:23/32 makes one; /print what:gauge prints a board."}
	}
	return v.printCard(paper)
}

// pdf is a reply with pages to print.
func (s *session) pdf(text, name, alt string, pages []drawing.Scene) (Reply, error) {
	data, err := drawing.PDF(pages, s.caller.At)
	if err != nil {
		return Reply{}, fmt.Errorf("print %s: %w", name, err)
	}
	return Reply{Private: true, Text: text, Files: []File{{Name: name + ".pdf", Type: "application/pdf", Alt: alt, Data: data}}}, nil
}

func (v *view) printCard(paper drawing.Paper) (Reply, error) {
	all := v.cautionLines()
	cautions := all[1 : len(all)-1] // without the head and the deferral
	for i, c := range cautions {
		if _, text, ok := strings.Cut(c, ". "); ok {
			cautions[i] = text
		}
	}
	p, _ := v.stackScene()
	page := drawing.SetupCard(drawing.CardPage{
		Picture: p, Who: v.s.member.Name, When: v.s.caller.At.In(v.s.shop.Settings.Location()).Format("2 January 2006, 15:04"),
		Cautions: cautions, Deferral: deferral,
	}, paper)
	return v.s.pdf(lines(fmt.Sprintf("The card of setup %d, to tape to the saw.", v.setup.No), "It holds for this stack alone: any change makes a new card.", deferral),
		fmt.Sprintf("setup-%d", v.setup.No), page.Alt, []drawing.Scene{page})
}

func (v *view) printGauge(paper drawing.Paper) (Reply, error) {
	p := drawing.GaugePage{
		Title: fmt.Sprintf("Gauge board %d, %s on %s", v.setup.No, v.set.Name, v.saw.Name), Set: v.set.Parts, Style: v.setup.Style, Foot: deferral,
	}
	for _, r := range v.setup.Stacks {
		c := solver.Expect(v.problem(), r.Stack)
		p.Rungs = append(p.Rungs, solver.Rung{Target: r.Target, Stack: c, Reached: (c.Width() - r.Target).Abs() <= solver.GaugeReach})
	}
	pages := drawing.GaugeBoard(p, paper)
	return v.s.pdf(fmt.Sprintf("The page of gauge board %d: cut, label, write down what each measures.", v.setup.No), fmt.Sprintf("gauge-%d", v.setup.No), pages[0].Alt, pages)
}

func (s *session) printWidths(a args, paper drawing.Paper) (Reply, error) {
	set, saw, err := s.tools(a, s.style.Unit)
	if err != nil {
		return Reply{}, err
	}
	rows := solver.Widths(set.Parts, saw.Saw)
	if len(rows) == 0 {
		return Reply{}, &UserError{Option: "set", Message: fmt.Sprintf("%s has no stack on %s.", set.Name, saw.Name), Hint: "Name a stacked set and a saw that takes one."}
	}
	pages := drawing.WidthChart(drawing.WidthPage{
		Title: fmt.Sprintf("Widths of %s on %s", set.Name, saw.Name), Set: set.Parts, Style: solver.Style{Unit: set.Parts.Unit}, Rows: rows,
		Foot: "Sums of the parts; what the set really cuts is learned from test cuts. " + deferral,
	}, paper)
	return s.pdf(lines(fmt.Sprintf("Every width of %s on %s, without shims and with one.", set.Name, saw.Name), "These are sums of parts; /stack knows what its test cuts have taught."), "widths", pages[0].Alt, pages)
}
