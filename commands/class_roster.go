package commands

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/storage"
)

// rosterStore knows the members and who was checked off for which saw.
type rosterStore interface {
	Member(ctx context.Context, shopID, id int64) (storage.Member, error)
	SawMember(ctx context.Context, shopID, id int64, day storage.Day) error
	AddCheckOff(ctx context.Context, c storage.CheckOff) error
	CheckOffs(ctx context.Context, shopID int64) ([]storage.CheckOff, error)
	CheckOff(ctx context.Context, shopID, memberID, sawID int64) (storage.CheckOff, error)
}

const rosterExample = `/class roster member:Ada saw:"Window saw" until:2026-06-30`

func rosterCommand() Command {
	return Command{
		Name: "roster", Summary: "Who is checked off for the stacked set, on which saw, until when", Example: rosterExample, Private: true,
		Options: []Option{
			{Name: "member", Summary: "Whom to show, check off or mark", complete: completeRoster},
			{Name: "saw", Summary: "Check the member off for this saw", complete: completeSaws},
			{Name: "until", Summary: "The last day, as 2026-06-30; else no end"},
			{Name: "withdraw", Summary: "Yes to withdraw the check-off for the saw instead", Kind: YesNo},
			{Name: "minor", Summary: "Yes for a minor: every setup of theirs needs a release", Kind: YesNo},
		},
		run: runRoster,
	}
}

func runRoster(s *session, a args) (Reply, error) {
	changes := a["saw"] != "" || a["until"] != "" || a["withdraw"] != "" || a["minor"] != ""
	if !s.instructor && (changes || a["member"] != "") {
		return Reply{}, s.needInstructor("The roster of the class")
	}
	if a["member"] == "" {
		if changes {
			return Reply{}, &UserError{Option: "member", Message: "Say which member.", Hint: rosterExample}
		}
		return s.rosterReply()
	}
	m, err := s.rosterMember("member", a["member"])
	if err != nil {
		return Reply{}, err
	}
	var done []string
	if a["minor"] != "" {
		minor := yes(a, "minor")
		if m, err = s.app.Store.UpdateMember(s, s.shop.ID, m.ID, func(m *storage.Member) error { m.Minor = minor; return nil }); err != nil {
			return Reply{}, err
		}
		word := "is not marked as a minor"
		if minor {
			word = "is marked as a minor: every setup of theirs needs your release"
		}
		done = append(done, m.Name+" "+word+".")
	}
	switch {
	case a["saw"] != "":
		word, err := s.checkOff(m, a)
		if err != nil {
			return Reply{}, err
		}
		done = append(done, word)
	case a["until"] != "" || a["withdraw"] != "":
		return Reply{}, &UserError{Option: "saw", Message: "Say for which saw.", Hint: rosterExample}
	}
	line, err := s.rosterLine(m)
	return Reply{Private: true, Text: lines(append(done, line)...)}, err
}

// checkOff grants a member a saw, or withdraws it.
func (s *session) checkOff(m storage.Member, a args) (string, error) {
	saw, err := s.sawNamed(a["saw"])
	if err != nil {
		return "", err
	}
	until, err := s.day(a, "until", "")
	if err != nil {
		return "", err
	}
	c := storage.CheckOff{ShopID: s.shop.ID, MemberID: m.ID, SawID: saw.ID, Granted: !yes(a, "withdraw"), Until: until, ByID: s.member.ID, At: s.caller.At}
	switch {
	case !c.Granted && until != "":
		return "", &UserError{Option: "until", Message: "A check-off is withdrawn at once: leave until out.", Hint: `/class roster member:Ada saw:"Window saw" withdraw:yes`}
	case until != "" && until < s.today():
		return "", &UserError{Option: "until", Message: fmt.Sprintf("%s is over.", until), Hint: "until:" + string(storage.DayOf(s.local(s.caller.At).AddDate(0, 3, 0)))}
	}
	if err := s.app.Store.AddCheckOff(s, c); err != nil {
		return "", err
	}
	if !c.Granted {
		return fmt.Sprintf("%s is no longer checked off on %s.", m.Name, saw.Name), nil
	}
	return fmt.Sprintf("%s is checked off for the stacked set on %s%s.", m.Name, saw.Name, untilWord(until)), nil
}

func untilWord(until storage.Day) string {
	if until == "" {
		return ""
	}
	return " until " + string(until)
}

// rostered is how many members one reply lists.
const rostered = 40

// rosterReply is the class as an instructor sees it; anyone else sees themselves.
func (s *session) rosterReply() (Reply, error) {
	all, err := s.present()
	if err != nil {
		return Reply{}, err
	}
	if !s.instructor {
		line, err := s.rosterLine(s.member)
		return Reply{Private: true, Text: lines(line, s.whoCan(s.checkOffRule()+" The whole roster is for instructors."))}, err
	}
	offs, saws, err := s.grantedCheckOffs()
	if err != nil {
		return Reply{}, err
	}
	n := 0
	var text []string
	for _, m := range all {
		if slices.ContainsFunc(offs[m.ID], func(c storage.CheckOff) bool { return c.Valid(s.today()) }) {
			n++
		}
		if len(text) < rostered {
			text = append(text, s.rosterWord(m, offs[m.ID], saws))
		}
	}
	head := fmt.Sprintf("%d of %d %s checked off. %s", n, len(all), plural(len(all), "member is", "members are"), s.checkOffRule())
	if len(all) > rostered {
		text = append(text, fmt.Sprintf("And %d more: /class roster member:NAME shows one.", len(all)-rostered))
	}
	return Reply{Private: true, Text: lines(append([]string{head}, text...)...)}, nil
}

func (s *session) checkOffRule() string {
	if s.shop.Settings.CheckOff {
		return "Here a setup without check-off is shown, not released."
	}
	return "Here a check-off is not needed."
}

// grantedCheckOffs are those that were not withdrawn, by member, and the saws' names.
func (s *session) grantedCheckOffs() (map[int64][]storage.CheckOff, map[int64]string, error) {
	names, err := s.names()
	if err != nil {
		return nil, nil, err
	}
	all, err := s.app.Store.CheckOffs(s, s.shop.ID)
	out := map[int64][]storage.CheckOff{}
	for _, c := range all {
		if _, there := names.saws[c.SawID]; there && c.Granted {
			out[c.MemberID] = append(out[c.MemberID], c)
		}
	}
	return out, names.saws, err
}

func (s *session) rosterLine(m storage.Member) (string, error) {
	offs, saws, err := s.grantedCheckOffs()
	return s.rosterWord(m, offs[m.ID], saws), err
}

func (s *session) rosterWord(m storage.Member, offs []storage.CheckOff, saws map[int64]string) string {
	var words []string
	for _, c := range offs {
		word := saws[c.SawID] + untilWord(c.Until)
		if !c.Valid(s.today()) {
			word = fmt.Sprintf("%s ended on %s", saws[c.SawID], c.Until)
		}
		words = append(words, word)
	}
	out := m.Name + ": not checked off"
	if len(words) > 0 {
		out = m.Name + ": " + strings.Join(words, ", ")
	}
	if m.Minor {
		out += "; minor, a release each time"
	}
	return out + "."
}

// Members by name. Names are not unique: of two alike each is told by a number.

// present are the members who were not erased.
func (s *session) present() ([]storage.Member, error) {
	all, err := s.app.Store.Members(s, s.shop.ID)
	out := all[:0:0]
	for _, m := range all {
		if !m.Erased {
			out = append(out, m)
		}
	}
	return out, err
}

// calledIn gives the name under which each of the members is found.
func calledIn(all []storage.Member) func(storage.Member) string {
	count := map[string]int{}
	for _, m := range all {
		count[strings.ToLower(m.Name)]++
	}
	return func(m storage.Member) string {
		if m.Name == "" || count[strings.ToLower(m.Name)] > 1 {
			return strings.TrimSpace(m.Name + " #" + strconv.FormatInt(m.ID, 10))
		}
		return m.Name
	}
}

func completeRoster(s *session, typed string) ([]Choice, error) {
	if !s.instructor {
		return nil, nil
	}
	all, err := s.present()
	return choicesOf(all, calledIn(all), typed), err
}

// rosterMember finds a member of the shop by name, or by name and number.
func (s *session) rosterMember(option, wanted string) (storage.Member, error) {
	all, err := s.present()
	if err != nil {
		return storage.Member{}, err
	}
	called := calledIn(all)
	m, ok := byName(all, called, wanted)
	if ok {
		return m, nil
	}
	var alike []string
	for _, m := range all {
		if strings.HasPrefix(strings.ToLower(called(m)), strings.ToLower(clip(wanted, 100))) {
			alike = append(alike, called(m))
		}
	}
	if len(alike) > 1 {
		return m, &UserError{Option: option, Message: fmt.Sprintf("%q may be %s.", clip(wanted, maxName), strings.Join(alike[:min(len(alike), 8)], ", ")), Hint: fmt.Sprintf("%s:%q", option, alike[0])}
	}
	return m, &UserError{Option: option, Message: fmt.Sprintf("I know no one called %q here; whoever has used the bot once is known.", clip(wanted, maxName)), Hint: fmt.Sprintf("%s:%q", option, called(s.member))}
}

// Days, in the shop's own zone.

func (s *session) local(t time.Time) time.Time { return t.In(s.zone) }

func (s *session) today() storage.Day { return storage.DayOf(s.local(s.caller.At)) }

// day reads an option that is a date; def where it is not given.
func (s *session) day(a args, option string, def storage.Day) (storage.Day, error) {
	text := strings.TrimSpace(a[option])
	if text == "" {
		return def, nil
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil || t.Year() < 2000 || t.Year() > 2200 {
		return "", &UserError{Option: option, Message: fmt.Sprintf("%s is a date written year-month-day, not %q.", option, clip(text, 20)), Hint: option + ":" + string(s.today())}
	}
	return storage.DayOf(t), nil
}
