package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// lotStore finds setups by their lot of stock and by their project.
type lotStore interface {
	LotSetups(ctx context.Context, shopID int64, lot string, limit int) ([]storage.Setup, error)
	ProjectSetups(ctx context.Context, shopID int64, project string, limit int) ([]storage.Setup, error)
	Lots(ctx context.Context, shopID int64, limit int) ([]string, error)
	Projects(ctx context.Context, shopID int64, limit int) ([]string, error)
}

const (
	// readingsKeep is how long readings of stock that nobody worked on hold [shop].
	readingsKeep = 6 * 7 * 24 * time.Hour
	lookedBack   = 50 // setups of a lot that are looked through
	workedShown  = 5
)

func againCommand() Command {
	return Command{
		Name: "again", Summary: "What worked for this lot or project, and whether to measure anew", Example: `/again lot:"oak ply 3"`, Private: true,
		Options: []Option{
			{Name: "lot", Summary: "The lot of stock; else that of your last setup", complete: completeLots},
			{Name: "project", Summary: "Or the project", complete: completeProjects},
			{Name: "since", Summary: "What was done to the stock since it was measured", Choices: []Choice{
				{"nothing", "nothing"}, {"sanded or planed", "sanded"}, {"finished or painted", "finished"}, {"another season, or another room", "season"},
			}},
		},
		run: runAgain,
	}
}

func completeLots(s *session, typed string) ([]Choice, error) {
	all, err := s.app.Store.Lots(s, s.shop.ID, 200)
	return choicesOf(all, func(n string) string { return n }, typed), err
}

func completeProjects(s *session, typed string) ([]Choice, error) {
	all, err := s.app.Store.Projects(s, s.shop.ID, 200)
	return choicesOf(all, func(n string) string { return n }, typed), err
}

// label reads the name of a lot or a project; empty where none is given.
func label(a args, option string) (string, error) {
	text := clip(a[option], maxName+1)
	if len([]rune(text)) > maxName {
		return "", &UserError{Option: option, Message: fmt.Sprintf("The name of a %s has at most %d characters.", option, maxName), Hint: option + `:"hall bookcase"`}
	}
	return text, nil
}

func runAgain(s *session, a args) (Reply, error) {
	what, all, err := s.setupsCalled(a)
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	if len(all) == 0 {
		return Reply{Private: true, Text: lines("This shop has no setup of "+what+" yet.", `/stack stock:"0.703 0.705" lot:"oak ply 3" makes one.`)}, nil
	}
	var worked []string
	var best *storage.Setup
	for i := range all {
		rev, snug := workedWith(all[i])
		if snug == 0 || len(worked) == workedShown {
			continue
		}
		line, err := s.workedLine(all[i], rev, snug, names)
		if err != nil {
			return Reply{}, err
		}
		worked = append(worked, line)
		if best == nil {
			best = &all[i]
		}
	}
	if best == nil {
		return Reply{Private: true, Text: lines(
			fmt.Sprintf("Nothing has come out snug for %s yet, in %d %s.", what, len(all), plural(len(all), "setup", "setups")),
			"/setups shows where they stand.",
		)}, nil
	}
	why := measureAnew(a["since"], s.caller.At.Sub(best.Created))
	r := Reply{Private: true}
	head := fmt.Sprintf("The readings of %s still serve for %s, if the stock lay still since.", s.local(best.Created).Format("2 Jan 2006"), what)
	if why != "" {
		head = fmt.Sprintf("Measure %s anew: %s.", what, why)
	}
	text := append([]string{head, "What was snug:"}, worked...)
	if why == "" {
		r.Actions = []Action{{ID: action{verb: verbAgain, setup: best.No}.String(), Label: fmt.Sprintf("Stack as in setup %d", best.No)}}
	} else {
		text = append(text, fmt.Sprintf("Then /stack with the new readings%s set:%q saw:%q.", labelOptions(*best), orRetired(names.sets[best.SetID]), orRetired(names.saws[best.SawID])))
	}
	r.Text = lines(append(text, "A new loading needs its own test cut. "+deferral)...)
	return r, nil
}

func labelOptions(setup storage.Setup) string {
	out := ""
	if setup.Project != "" {
		out += fmt.Sprintf(" project:%q", setup.Project)
	}
	if setup.Lot != "" {
		out += fmt.Sprintf(" lot:%q", setup.Lot)
	}
	return out
}

// setupsCalled finds the setups that /again is about, newest first.
func (s *session) setupsCalled(a args) (what string, all []storage.Setup, err error) {
	lot, err := label(a, "lot")
	if err != nil {
		return "", nil, err
	}
	project, err := label(a, "project")
	if err != nil {
		return "", nil, err
	}
	if lot != "" && project != "" {
		return "", nil, &UserError{Option: "project", Message: "Give the lot or the project, not both.", Hint: `/again lot:"oak ply 3"`}
	}
	if lot == "" && project == "" {
		mine, err := s.app.Store.SetupHeads(s, s.shop.ID, s.member.ID, 1)
		if err != nil {
			return "", nil, err
		}
		if len(mine) > 0 {
			if lot = mine[0].Lot; lot == "" {
				project = mine[0].Project
			}
		}
		if lot == "" && project == "" {
			return "", nil, &UserError{Option: "lot", Message: "Say which lot or project; your last setup names none.", Hint: `/again lot:"oak ply 3"`}
		}
	}
	if lot != "" {
		all, err = s.app.Store.LotSetups(s, s.shop.ID, lot, lookedBack)
		return "lot " + lot, all, err
	}
	all, err = s.app.Store.ProjectSetups(s, s.shop.ID, project, lookedBack)
	return "project " + project, all, err
}

// workedWith is the stack of the setup's last snug cut, and how many snug cuts
// that stack had; 0 where none was.
func workedWith(setup storage.Setup) (revision, snug int) {
	for i := len(setup.Cuts) - 1; i >= 0; i-- {
		c := setup.Cuts[i]
		if c.Voided || c.Odd || c.Grade != solver.Snug {
			continue
		}
		if snug == 0 {
			revision = c.Revision
		}
		if c.Revision == revision {
			snug++
		}
	}
	return revision, snug
}

func (s *session) workedLine(setup storage.Setup, revision, snug int, names shopNames) (string, error) {
	set, err := s.app.Store.SetByID(s, s.shop.ID, setup.SetID)
	if err != nil {
		return "", err
	}
	v := view{s: s, setup: setup, set: set}
	p := setup.Stacks[revision]
	stack := v.partsWord(p.Stack)
	if p.Passes > 1 {
		stack = fmt.Sprintf("%s passes of %s, moved by %s", number(p.Passes), stack, v.exactMove(p.Move))
	}
	return fmt.Sprintf("Setup %d, %s: %s; %s on %s, stock %s, snug %s, by %s.", setup.No, s.local(setup.Created).Format("2 Jan"), stack,
		set.Name, orRetired(names.saws[setup.SawID]), stockWord(setup), timesWord(snug), names.member(setup.MemberID)), nil
}

func timesWord(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// stockWord is the stock of a setup from its thinnest to its thickest reading.
func stockWord(setup storage.Setup) string {
	thick, thin := readingEnds(setup.Readings)
	if thin.Length == thick.Length {
		return thick.String()
	}
	return thin.String() + " to " + thick.String()
}

// measureAnew says why readings no longer hold; empty where they do.
func measureAnew(since string, age time.Duration) string {
	switch {
	case since == "sanded":
		return "sanding takes off more than a shim is thick"
	case since == "finished":
		return "a finish adds to it and can swell it"
	case since == "season":
		return "wood moves with the season and the room"
	case age > readingsKeep:
		return fmt.Sprintf("it was measured %d weeks ago, and after %d that is too long", int(age/(7*24*time.Hour)), int(readingsKeep/(7*24*time.Hour)))
	}
	return ""
}

// pressAgain asks anew for what worked, with the readings as they were.
func (s *session) pressAgain(act action) (Reply, error) {
	old, err := s.app.Store.Setup(s, s.shop.ID, act.setup)
	if isNotFound(err) {
		return Reply{}, noSetup(act.setup)
	}
	if err != nil {
		return Reply{}, err
	}
	if why := measureAnew("", s.caller.At.Sub(old.Created)); why != "" {
		return Reply{}, &UserError{Message: "Measure it anew: " + why + ".", Hint: "/stack stock:23/32" + labelOptions(old)}
	}
	set, err := s.app.Store.SetByID(s, s.shop.ID, old.SetID)
	if err != nil {
		return Reply{}, err
	}
	saw, err := s.app.Store.SawByID(s, s.shop.ID, old.SawID)
	if err != nil {
		return Reply{}, err
	}
	if set.Retired || saw.Retired {
		return Reply{}, &UserError{Message: "Its set or its saw is no longer in the shop.", Hint: "/stack stock:23/32" + labelOptions(old)}
	}
	return s.answer(storage.Setup{
		ShopID: s.shop.ID, MemberID: s.member.ID, SetID: old.SetID, SawID: old.SawID, Joint: old.Joint, Readings: old.Readings,
		Width: old.Width, Depth: old.Depth, Aim: old.Aim, Style: old.Style, Grades: s.shop.Settings.Grades, Project: old.Project, Lot: old.Lot,
		State: storage.Planned, Interaction: s.caller.Interaction, Created: s.caller.At,
	}, set, saw, false)
}

// labelWord names what a setup belongs to.
func labelWord(setup storage.Setup) string {
	var out []string
	if setup.Project != "" {
		out = append(out, "project "+setup.Project)
	}
	if setup.Lot != "" {
		out = append(out, "lot "+setup.Lot)
	}
	return strings.Join(out, ", ")
}
