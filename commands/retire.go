package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"shimwright/storage"
)

// retireStore takes sets and saws out of the shop's list.
type retireStore interface {
	RetireSet(ctx context.Context, shopID, id int64, plansSince time.Time, refuse func(storage.InUse) error) error
	RetireSaw(ctx context.Context, shopID, id int64, plansSince time.Time, refuse func(storage.InUse) error) error
}

func retireSet(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Retiring a set"); err != nil {
		return Reply{}, err
	}
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	err = s.app.Store.RetireSet(s, s.shop.ID, set.ID, s.shop.Settings.EveningBegan(s.caller.At), func(u storage.InUse) error {
		return s.stillInUse("set", set.Name, u, names)
	})
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(set.Name+" is retired.", "Its setups and test cuts stay in the record.")}, nil
}

func retireSaw(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Retiring a saw"); err != nil {
		return Reply{}, err
	}
	saw, err := s.sawNamed(a["saw"])
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	err = s.app.Store.RetireSaw(s, s.shop.ID, saw.ID, s.shop.Settings.EveningBegan(s.caller.At), func(u storage.InUse) error {
		return s.stillInUse("saw", saw.Name, u, names)
	})
	if err != nil {
		return Reply{}, err
	}
	return Reply{Text: lines(saw.Name+" is retired.", "Its setups stay in the record.")}, nil
}

// stillInUse refuses to retire what is on a saw, not finished with, or out; the
// hint is the next step.
func (s *session) stillInUse(option, what string, u storage.InUse, names shopNames) error {
	var why []string
	next := ""
	say := func(step, format string, args ...any) {
		why = append(why, fmt.Sprintf(format, args...))
		if next == "" {
			next = step
		}
	}
	loaded := map[int64]bool{}
	for _, l := range u.Loads {
		loaded[l.Setup] = true
		say("Take it down first: /saw now has the button. Then retire "+what+".",
			"setup %d, %s, is on %s, loaded by %s %s", l.Setup, orRetired(names.sets[l.SetID]), orRetired(names.saws[l.SawID]), names.member(l.MemberID), s.when(l.At))
	}
	for _, setup := range u.Open {
		if loaded[setup.No] {
			continue
		}
		step := fmt.Sprintf("/setups setup:%d shows it; Set aside is one of its buttons. Then retire %s.", setup.No, what)
		if setup.State != storage.Planned {
			step = "Take the saw down first: /saw now has the button. Then retire " + what + "."
		}
		say(step, "setup %d of %s is %s", setup.No, names.member(setup.MemberID), setup.State)
	}
	if c := u.Holder; c.No != 0 {
		say(fmt.Sprintf("/set return set:%q puts it back. Then retire it.", what), "%s has it since %s", names.member(c.MemberID), s.when(c.At))
	}
	if len(why) == 0 {
		return nil
	}
	const most = 5
	more := ""
	if n := len(why) - most; n > 0 {
		why, more = why[:most], fmt.Sprintf("; and %d more", n)
	}
	return &UserError{Option: option, Message: fmt.Sprintf("%s is still in use: %s%s.", what, strings.Join(why, "; "), more), Hint: next}
}
