package commands

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// loadStore knows what is on each saw.
type loadStore interface {
	Loads(ctx context.Context, shopID int64) ([]storage.Load, error)
	ChangeArbor(ctx context.Context, shopID, sawID, setupNo, memberID int64, at time.Time, change func(*storage.Arbor) error) (storage.Arbor, error)
	OpenSetups(ctx context.Context, shopID int64, plansSince time.Time, limit int) ([]storage.Setup, error)
}

// takenDown is what a member confirms with the one button.
const takenDown = "stack off, standard blade, insert, guard and riving knife back"

// mostOpen is how many open setups a reply looks at.
const mostOpen = 200

// loadAt is what is on a saw; nil for its standard blade.
func (s *session) loadAt(sawID int64) (*storage.Load, error) {
	all, err := s.app.Store.Loads(s, s.shop.ID)
	for i := range all {
		if all[i].SawID == sawID {
			return &all[i], err
		}
	}
	return nil, err
}

// holds says whether a stack of the set is the one on the saw.
func holds(l *storage.Load, setID int64, stack solver.Stack) bool {
	return l != nil && l.SetID == setID && l.Stack.Equal(stack)
}

// onSaw says whether the stack of the setup is on its saw now.
func (v *view) onSaw() bool {
	return len(v.setup.Stacks) > 0 && holds(v.load, v.set.ID, v.setup.Stacks[v.setup.Loaded].Stack)
}

func (s *session) when(t time.Time) string { return s.local(t).Format("2 Jan 15:04") }

func (n shopNames) member(id int64) string {
	if name := n.members[id]; name != "" {
		return name
	}
	return "a former member"
}

// loadedWord says who loaded a stack and who checked it.
func (s *session) loadedWord(l storage.Load, names shopNames) string {
	out := fmt.Sprintf("loaded by %s %s", names.member(l.MemberID), s.when(l.At))
	if n := len(l.Checks); n > 0 {
		return out + fmt.Sprintf(", checked by %s %s", names.member(l.Checks[n-1].MemberID), s.when(l.Checks[n-1].At))
	}
	return out + ", checked by nobody else yet"
}

// pressLoaded notes that a setup's stack is on its saw.
func (s *session) pressLoaded(act action) (Reply, error) {
	v, err := s.loadView(act.setup)
	if err != nil {
		return Reply{}, err
	}
	switch {
	case act.revision >= len(v.setup.Stacks):
		return Reply{}, &UserError{Message: "That button shows a stack that this setup never had.", Hint: "/setups shows your setups with fresh buttons."}
	case v.set.Parts.Kind == solver.Blade:
		return Reply{}, &UserError{Message: "An ordinary blade is not kept track of.", Hint: "/saw now shows the stacked sets on the saws."}
	case v.set.Retired || v.saw.Retired:
		return Reply{}, &UserError{Message: "Its set or its saw is no longer in the shop.", Hint: "/stack stock:23/32 makes a new setup."}
	case !v.setup.State.Open():
		return Reply{}, &UserError{Message: fmt.Sprintf("Setup %d is %s.", v.setup.No, v.setup.State), Hint: "/stack makes a new one for the same stock."}
	}
	var before *storage.Load
	after, err := s.putOn(v, act.revision, &before)
	if err != nil {
		return Reply{}, err
	}
	if _, err := s.app.Store.PassSet(s, s.shop.ID, v.set.ID, s.member.ID, s.caller.At, func(now storage.Custody) (int64, error) {
		if now.MemberID != 0 {
			return now.MemberID, nil
		}
		return s.member.ID, nil
	}); err != nil {
		return Reply{}, err
	}
	for _, setup := range after.Open {
		if setup.No == v.setup.No {
			v.setup = setup
		}
	}
	text := []string{
		fmt.Sprintf("On %s now: %s, setup %d, loaded by %s.", v.saw.Name, v.partsWord(after.Load.Stack), v.setup.No, s.member.Name),
		"Insert for the stack in, turned by hand through a full turn, nothing touches. Who did not load it checks it before using it.",
	}
	if held := v.heldWord(); held != "" {
		text = append(text, held)
	}
	if before != nil && before.Setup != v.setup.No {
		text = append(text, fmt.Sprintf("It took the place of the stack of setup %d, which stays open until the saw is taken down.", before.Setup))
	}
	if !confirmed(&v.setup, act.revision) {
		text = append(text, arborCaution)
	}
	if usesOut(v.set.Parts, after.Load.Stack) {
		text = append(text, "A piece of it is out of service: power off, take it off, look at every piece.")
	}
	return Reply{Text: lines(append(text, v.footWord())...), Actions: []Action{checkAction(*after.Load, 0), downAction(v.saw.ID, 0), showAction(v.setup.No, 0)}}, nil
}

// putOn makes a stack of the setup the one on its saw. What was there before goes
// to before.
func (s *session) putOn(v *view, revision int, before **storage.Load) (storage.Arbor, error) {
	stack := v.setup.Stacks[revision].Stack
	a, err := s.app.Store.ChangeArbor(s, s.shop.ID, v.saw.ID, v.setup.No, s.member.ID, s.caller.At, func(a *storage.Arbor) error {
		if holds(a.Load, v.set.ID, stack) {
			return &UserError{Message: "That stack is on " + v.saw.Name + " already.", Hint: "/saw now shows who loaded it and who checked it."}
		}
		if before != nil {
			*before = a.Load
		}
		a.Load = &storage.Load{SetID: v.set.ID, Setup: v.setup.No, Revision: revision, Stack: stack, MemberID: s.member.ID, At: s.caller.At}
		for i := range a.Open {
			setup := &a.Open[i]
			if setup.No != v.setup.No {
				continue
			}
			setup.Loaded = revision
			if last := lastCut(setup); last == nil || last.Revision == revision {
				continue
			}
			if _, ok := passageFor(setup.State, storage.Cutting, storage.Reloading); ok {
				s.put(setup, storage.Reloading, storage.Cutting, "")
			}
		}
		return nil
	})
	return a, err
}

// seen notes, after a logged cut, that the stack that was cut is on the saw:
// whoever cut with it had it there. An ordinary blade is not kept track of.
func (s *session) seen(v *view, setup storage.Setup, revision int) error {
	stack := setup.Stacks[revision].Stack
	if v.set.Parts.Kind == solver.Blade || holds(v.load, v.set.ID, stack) {
		return nil
	}
	_, err := s.app.Store.ChangeArbor(s, s.shop.ID, v.saw.ID, setup.No, s.member.ID, s.caller.At, func(a *storage.Arbor) error {
		if !holds(a.Load, v.set.ID, stack) {
			a.Load = &storage.Load{SetID: v.set.ID, Setup: setup.No, Revision: revision, Stack: stack, MemberID: s.member.ID, At: s.caller.At}
		}
		return nil
	})
	return err
}

// sawOf reads the saw that a button names.
func (s *session) sawOf(act action) (storage.Saw, error) {
	id, err := strconv.ParseInt(act.arg, 10, 64)
	if err != nil {
		return storage.Saw{}, staleButton()
	}
	saw, err := s.app.Store.SawByID(s, s.shop.ID, id)
	if isNotFound(err) {
		return saw, staleButton()
	}
	return saw, err
}

func staleButton() *UserError {
	return &UserError{Message: "That button is from an older version.", Hint: "/saw now and /class board have fresh ones."}
}

// pressChecked notes that a member who did not load the stack looked it over.
func (s *session) pressChecked(act action) (Reply, error) {
	saw, err := s.sawOf(act)
	if err != nil {
		return Reply{}, err
	}
	a, err := s.app.Store.ChangeArbor(s, s.shop.ID, saw.ID, 0, s.member.ID, s.caller.At, func(a *storage.Arbor) error {
		switch {
		case a.Load == nil || a.Load.No != int64(act.cut):
			return &UserError{Message: "That stack is not on " + saw.Name + " any more.", Hint: "/saw now shows what is, with fresh buttons."}
		case a.Load.MemberID == s.member.ID:
			return &UserError{Message: "You loaded it: who did not load it checks it.", Hint: "Ask who uses it next, or your instructor, to look and press Checked."}
		case a.Load.KnownTo(s.member.ID):
			return &UserError{Message: "You have checked it already.", Hint: "/saw now shows what is on each saw."}
		}
		a.Load.Checks = append(a.Load.Checks, storage.LoadCheck{MemberID: s.member.ID, At: asKept(s.caller.At)})
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(
		fmt.Sprintf("%s: %s.", saw.Name, s.loadedWord(*a.Load, names)),
		"Checked means, with the power off: every tooth whole, no tip touching another, shims where they belong, nut tight, insert clear, turned by hand.", deferral,
	), Actions: []Action{downAction(saw.ID, 0), showAction(a.Load.Setup, 0)}}, nil
}

// asKept is a time as storage gives it back.
func asKept(t time.Time) time.Time { return time.UnixMilli(t.UnixMilli()).UTC() }

// pressDown confirms that a saw has its standard blade, insert, guard and riving
// knife back, which closes every setup that was cut on it.
func (s *session) pressDown(act action) (Reply, error) {
	saw, err := s.sawOf(act)
	if err != nil {
		return Reply{}, err
	}
	var closed []string
	var setID int64
	powered, flagged := true, int64(0)
	_, err = s.app.Store.ChangeArbor(s, s.shop.ID, saw.ID, 0, s.member.ID, s.caller.At, func(a *storage.Arbor) error {
		loadedFor := int64(0)
		if a.Load != nil {
			loadedFor, setID = a.Load.Setup, a.Load.SetID
		}
		powered = powerOffSince(a)
		last := -1 // the setup to flag: that of the load, else the one closed last
		for i := range a.Open {
			setup := &a.Open[i]
			if setup.State == storage.Planned && setup.No != loadedFor {
				continue
			}
			if err := s.move(setup, storage.TakeDown, storage.TakenDown, ""); err != nil {
				return err
			}
			closed = append(closed, strconv.FormatInt(setup.No, 10))
			if last < 0 || a.Open[last].No != loadedFor {
				last = i
			}
		}
		if !powered && last >= 0 {
			setup := &a.Open[last]
			setup.Mark(storage.Mark{Kind: storage.Unconfirmed, Revision: setup.Loaded, MemberID: s.member.ID, At: s.caller.At})
			flagged = setup.No
		}
		if a.Load == nil && len(closed) == 0 {
			return &UserError{Message: saw.Name + " is taken down already; nothing on it is open.", Hint: "/saw now shows what is on each saw."}
		}
		a.Load = nil
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	text := []string{fmt.Sprintf("%s is taken down, confirmed by %s: %s.", saw.Name, s.member.Name, takenDown)}
	if len(closed) > 0 {
		text = append(text, fmt.Sprintf("Closed with it: %s %s.", plural(len(closed), "setup", "setups"), strings.Join(closed, ", ")))
	}
	switch {
	case flagged > 0:
		text = append(text, fmt.Sprintf("Power off was not confirmed for it, so setup %d is flagged. %s", flagged, arborCaution))
	case !powered:
		text = append(text, "Power off was not confirmed for it. "+arborCaution)
	}
	r := Reply{}
	if setID != 0 {
		now, err := s.holder(setID)
		if err != nil {
			return Reply{}, err
		}
		if now.MemberID != 0 {
			names, err := s.names()
			if err != nil {
				return Reply{}, err
			}
			text = append(text, fmt.Sprintf("%s is still with %s: count its pieces, then return it.", orRetired(names.sets[setID]), names.member(now.MemberID)))
			r.Actions = []Action{returnAction(setID, "Return the set", 0)}
		}
	}
	r.Text = lines(append(text, deferral)...)
	return r, nil
}

func checkAction(l storage.Load, row int) Action {
	id := action{verb: verbChecked, setup: l.Setup, cut: int(l.No), arg: strconv.FormatInt(l.SawID, 10)}
	return Action{ID: id.String(), Label: "Checked", Row: row}
}

func downAction(sawID int64, row int) Action {
	id := action{verb: verbDown, arg: strconv.FormatInt(sawID, 10)}
	return Action{ID: id.String(), Label: "Taken down: blade, insert, guard, knife back", Row: row}
}

func showAction(setup int64, row int) Action {
	id := action{verb: verbSetup, setup: setup}
	return Action{ID: id.String(), Label: fmt.Sprintf("Setup %d", setup), Row: row}
}

func sawNowCommand() Command {
	return Command{
		Name: "now", Summary: "What is on each saw: the stack, since when, who loaded and checked it", Example: "/saw now",
		run: func(s *session, _ args) (Reply, error) { return s.sawsNow() },
	}
}

// sawsNow is what is on each saw, with the buttons that change it: a row a saw.
func (s *session) sawsNow() (Reply, error) {
	b, err := s.readBoard()
	if err != nil {
		return Reply{}, err
	}
	r := Reply{}
	text := []string{"On the saws now:"}
	for i, saw := range b.saws {
		text = append(text, b.sawLine(saw))
		if l, ok := b.loads[saw.ID]; ok && i < 5 {
			check, down, show := checkAction(l, i), downAction(saw.ID, i), showAction(l.Setup, i)
			check.Label, down.Label = "Checked: "+clip(saw.Name, 40), "Taken down: "+clip(saw.Name, 40)
			power := action{verb: verbPower, setup: l.Setup, revision: l.Revision}
			r.Actions = append(r.Actions, check, Action{ID: power.String(), Label: "Power is off: " + clip(saw.Name, 40), Row: i}, down, show)
		} else if open := b.cutOn(saw.ID); len(open) > 0 && i < 5 {
			down := downAction(saw.ID, i)
			down.Label = "Taken down: " + clip(saw.Name, 40)
			r.Actions = append(r.Actions, down)
		}
	}
	text = append(text, "Taken down means: "+takenDown+". Who did not load a stack checks it before using it.")
	r.Text = lines(text...)
	return r, nil
}
