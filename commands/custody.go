package commands

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// custodyStore knows who has which set.
type custodyStore interface {
	SetsOut(ctx context.Context, shopID int64) ([]storage.Custody, error)
	PassSet(ctx context.Context, shopID, setID, memberID int64, at time.Time, next func(now storage.Custody) (holder int64, err error)) (storage.Custody, error)
}

func custodyCommands() []Command {
	which := Option{Name: "set", Summary: "Which set", Required: true, complete: completeSets}
	return []Command{
		{
			Name: "take", Summary: "Take a set out: the shop sees that you have it", Example: `/set take set:"Blue case"`,
			Options: []Option{which}, run: func(s *session, a args) (Reply, error) { return s.namedSet(a, s.takeSet) },
		},
		{
			Name: "hand", Summary: "Hand a set that you have over to another member", Example: `/set hand set:"Blue case" to:Ada`,
			Options: []Option{which, {Name: "to", Summary: "Who gets it", Required: true, complete: completeMembers}}, run: handSet,
		},
		{
			Name: "return", Summary: "Put a set that you have back in its place", Example: `/set return set:"Blue case"`,
			Options: []Option{which}, run: func(s *session, a args) (Reply, error) { return s.namedSet(a, s.returnSet) },
		},
	}
}

func (s *session) namedSet(a args, do func(storage.Set) (Reply, error)) (Reply, error) {
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	return do(set)
}

// pressSet answers the buttons that take and return a set; arg is its id.
func (s *session) pressSet(act action) (Reply, error) {
	id, err := strconv.ParseInt(act.arg, 10, 64)
	if err != nil {
		return Reply{}, staleButton()
	}
	set, err := s.app.Store.SetByID(s, s.shop.ID, id)
	if isNotFound(err) {
		return Reply{}, staleButton()
	}
	if err != nil {
		return Reply{}, err
	}
	do := s.takeSet
	if act.verb == verbReturn {
		do = s.returnSet
	}
	r, err := do(set)
	if err != nil || act.cut == 0 {
		return r, err
	}
	return s.board() // from the board: it is renewed in its place
}

// holder says who has a set now; the zero custody where nobody has.
func (s *session) holder(setID int64) (storage.Custody, error) {
	all, err := s.app.Store.SetsOut(s, s.shop.ID)
	for _, c := range all {
		if c.SetID == setID {
			return c, err
		}
	}
	return storage.Custody{}, err
}

func (s *session) takeSet(set storage.Set) (Reply, error) {
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	outOfService := &UserError{Option: "set", Message: set.Name + " is out of service.", Hint: "Take another set, or ask your instructor."}
	if set.Retired || set.Parts.Outer.Out {
		return Reply{}, outOfService
	}
	_, err = s.app.Store.PassSet(s, s.shop.ID, set.ID, s.member.ID, s.caller.At, func(now storage.Custody) (int64, error) {
		switch now.MemberID {
		case 0:
			return s.member.ID, nil
		case s.member.ID:
			return 0, &UserError{Option: "set", Message: fmt.Sprintf("You have %s already, since %s.", set.Name, s.when(now.At)), Hint: fmt.Sprintf("/set return set:%q when you are done.", set.Name)}
		}
		who := names.member(now.MemberID)
		return 0, &UserError{Option: "set", Message: fmt.Sprintf("%s is with %s since %s.", set.Name, who, s.when(now.At)), Hint: fmt.Sprintf("Ask %s to hand it over: /set hand set:%q to:%q", who, set.Name, s.member.Name)}
	})
	if isNotFound(err) { // retired just now
		return Reply{}, outOfService
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Text: lines(
			fmt.Sprintf("%s is with %s now.", set.Name, s.member.Name),
			fmt.Sprintf("Look at every tooth and count the pieces before you load. A chipped piece goes out of service so: /set change set:%q piece:%q out:1", set.Name, pieceList(set.Parts)[min(1, len(pieceList(set.Parts))-1)]),
		),
		Actions: []Action{returnAction(set.ID, "Return the set", 0)},
	}, nil
}

// holderOnly refuses who neither has the set nor is an instructor.
func (s *session) holderOnly(set storage.Set, now storage.Custody, names shopNames) error {
	switch {
	case now.MemberID == 0:
		return &UserError{Option: "set", Message: set.Name + " is in its place: nobody has it.", Hint: fmt.Sprintf("/set take set:%q takes it out.", set.Name)}
	case now.MemberID != s.member.ID && !s.instructor:
		return &UserError{Option: "set", Message: fmt.Sprintf("%s is with %s since %s; only who has it, or an instructor, passes it on.", set.Name, names.member(now.MemberID), s.when(now.At)), Hint: s.whoCan("Ask one of them.")}
	}
	return nil
}

func handSet(s *session, a args) (Reply, error) {
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	to, err := s.rosterMember("to", a["to"])
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	_, err = s.app.Store.PassSet(s, s.shop.ID, set.ID, s.member.ID, s.caller.At, func(now storage.Custody) (int64, error) {
		if now.MemberID == to.ID {
			return 0, &UserError{Option: "to", Message: fmt.Sprintf("%s has %s already.", to.Name, set.Name), Hint: "/class board shows who has what."}
		}
		return to.ID, s.holderOnly(set, now, names)
	})
	if err != nil {
		return Reply{}, err
	}
	text := []string{fmt.Sprintf("%s is with %s now, handed over by %s.", set.Name, to.Name, s.member.Name), "Who takes it over looks at every tooth and counts the pieces."}
	loads, err := s.app.Store.Loads(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	r := Reply{}
	for _, l := range loads {
		if l.SetID == set.ID {
			text = append(text, fmt.Sprintf("It is on %s: check the stack before using it, then press Checked.", orRetired(names.saws[l.SawID])))
			r.Actions = append(r.Actions, checkAction(l, 0))
		}
	}
	r.Actions = append(r.Actions, returnAction(set.ID, "Return the set", 0))
	r.Text = lines(text...)
	return r, nil
}

func (s *session) returnSet(set storage.Set) (Reply, error) {
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	loads, err := s.app.Store.Loads(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	for _, l := range loads {
		if l.SetID == set.ID {
			return Reply{}, &UserError{Option: "set", Message: fmt.Sprintf("%s is still on %s.", set.Name, orRetired(names.saws[l.SawID])), Hint: "Take the saw down first: " + takenDown + "; /saw now has the button."}
		}
	}
	_, err = s.app.Store.PassSet(s, s.shop.ID, set.ID, s.member.ID, s.caller.At, func(now storage.Custody) (int64, error) {
		return 0, s.holderOnly(set, now, names)
	})
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(fmt.Sprintf("%s is back in its place, returned by %s.", set.Name, s.member.Name), "Clean, every piece counted, carbide on wood.")}, nil
}

func takeAction(setID int64, label string, row int) Action {
	return Action{ID: action{verb: verbTake, arg: strconv.FormatInt(setID, 10)}.String(), Label: label, Row: row}
}

func returnAction(setID int64, label string, row int) Action {
	return Action{ID: action{verb: verbReturn, arg: strconv.FormatInt(setID, 10)}.String(), Label: label, Row: row}
}

// completeMembers offers who is in the shop; anyone may hand a set to anyone.
func completeMembers(s *session, typed string) ([]Choice, error) {
	all, err := s.present()
	return choicesOf(all, calledIn(all), typed), err
}

// affected says who has a setup of this evening, or one that was cut, whose stack
// has a piece of the kind that has just gone out of service, and which saws it is
// on. Older plans say so when they are looked at.
func (s *session) affected(set storage.Set, piece string) (text []string, err error) {
	kind, nominal, err := pieceNamed(set.Parts, piece)
	if err != nil {
		return nil, err
	}
	names, err := s.names()
	if err != nil {
		return nil, err
	}
	open, err := s.app.Store.OpenSetups(s, s.shop.ID, s.shop.Settings.EveningBegan(s.caller.At), mostOpen)
	if err != nil {
		return nil, err
	}
	loads, err := s.app.Store.Loads(s, s.shop.ID)
	if err != nil {
		return nil, err
	}
	for _, l := range loads {
		if l.SetID == set.ID && has(l.Stack, kind, nominal) {
			text = append(text, fmt.Sprintf("It may be on %s now. Stop there: power off, take the stack off, look at every piece.", orRetired(names.saws[l.SawID])))
		}
	}
	var who []string
	for _, setup := range open {
		if setup.SetID == set.ID && len(setup.Stacks) > 0 && has(setup.Stacks[setup.Loaded].Stack, kind, nominal) {
			who = append(who, fmt.Sprintf("%s (setup %d, %s)", names.member(setup.MemberID), setup.No, setup.State))
		}
	}
	if len(who) > 0 {
		const most = 12
		more := ""
		if n := len(who) - most; n > 0 {
			who, more = who[:most], fmt.Sprintf(" and %d more", n)
		}
		text = append(text, "Open setups with such a piece, to be looked at: "+strings.Join(who, ", ")+more+".")
	}
	return text, nil
}

// has says whether a stack has a piece of the kind and nominal size.
func has(stack solver.Stack, kind string, nominal solver.Length) bool {
	parts := map[string][]solver.Part{"chipper": stack.Chippers, "shim": stack.Shims()}[kind]
	return kind == "pair" || slices.ContainsFunc(parts, func(p solver.Part) bool { return p.Nominal == nominal })
}
