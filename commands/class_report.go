package commands

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// reportStore counts what a report says.
type reportStore interface {
	Figures(ctx context.Context, shopID int64, first, last storage.Day) ([]storage.MemberWeek, error)
}

const (
	reportDays    = 12 * 7 // a report looks back, where no date is given
	reportWeeks   = 6      // weeks that a reply shows
	reportMembers = 25     // members likewise; the CSV has all
)

func reportCommand() Command {
	return Command{
		Name: "report", Summary: "Setups, test cuts to the first snug one, spread and trend, by member", Example: "/class report from:2026-03-01 to:2026-03-31", Private: true,
		Options: []Option{
			{Name: "from", Summary: "The first day, as 2026-03-01; else twelve weeks back"},
			{Name: "to", Summary: "The last day; else today"},
			{Name: "csv", Summary: "Yes for a file that a spreadsheet reads", Kind: YesNo},
		},
		run: runReport,
	}
}

// report is the figures of a class between two days, both of them in it.
type report struct {
	from, to storage.Day
	class    storage.Figures
	members  []memberFigures // most setups first
	weeks    []storage.MemberWeek
	all      []storage.MemberWeek // by member and week
	names    map[int64]string
}

type memberFigures struct {
	id int64
	storage.Figures
}

// runReport is the class's for an instructor, a member's own for anyone else.
func runReport(s *session, a args) (Reply, error) {
	to, err := s.day(a, "to", s.today())
	if err != nil {
		return Reply{}, err
	}
	from, err := s.day(a, "from", daysBefore(to, reportDays-1))
	if err != nil {
		return Reply{}, err
	}
	if from > to {
		return Reply{}, &UserError{Option: "from", Message: fmt.Sprintf("%s comes after %s.", from, to), Hint: fmt.Sprintf("/class report from:%s to:%s", to, from)}
	}
	weeks, err := s.app.Store.Figures(s, s.shop.ID, from, to)
	if err != nil {
		return Reply{}, err
	}
	members, err := s.app.Store.Members(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	if !s.instructor {
		weeks = slices.DeleteFunc(weeks, func(w storage.MemberWeek) bool { return w.MemberID != s.member.ID })
	}
	rep := newReport(from, to, weeks, members)
	r := Reply{Private: true, Text: lines(rep.lines(s)...), Data: rep.data()}
	if r.Pictures, err = s.charts(from, to); err != nil {
		return Reply{}, err
	}
	if yes(a, "csv") {
		r.Files = []File{{Name: fmt.Sprintf("report-%s-%s.csv", from, to), Type: "text/csv; charset=utf-8", Alt: "The report for a spreadsheet", Data: rep.csv()}}
	}
	return r, nil
}

func daysBefore(day storage.Day, n int) storage.Day {
	return storage.DayOf(day.Time().AddDate(0, 0, -n))
}

func newReport(from, to storage.Day, weeks []storage.MemberWeek, members []storage.Member) report {
	rep := report{from: from, to: to, all: weeks, names: map[int64]string{}}
	called := calledIn(members)
	for _, m := range members {
		if rep.names[m.ID] = called(m); m.Erased {
			rep.names[m.ID] = fmt.Sprintf("(erased #%d)", m.ID)
		}
	}
	byMember, byWeek := map[int64]storage.Figures{}, map[storage.Day]storage.Figures{}
	for _, w := range weeks {
		rep.class = rep.class.Add(w.Figures)
		byMember[w.MemberID] = byMember[w.MemberID].Add(w.Figures)
		byWeek[w.Week] = byWeek[w.Week].Add(w.Figures)
	}
	for id, f := range byMember {
		rep.members = append(rep.members, memberFigures{id, f})
	}
	slices.SortFunc(rep.members, func(a, b memberFigures) int {
		return cmp.Or(cmp.Compare(b.Setups, a.Setups), cmp.Compare(a.id, b.id))
	})
	for week, f := range byWeek {
		rep.weeks = append(rep.weeks, storage.MemberWeek{Week: week, Figures: f})
	}
	slices.SortFunc(rep.weeks, func(a, b storage.MemberWeek) int { return cmp.Compare(a.Week, b.Week) })
	return rep
}

func (rep report) lines(s *session) []string {
	who := "The class"
	if !s.instructor {
		who = "You"
	}
	if rep.class.Setups == 0 {
		out := []string{fmt.Sprintf("%s made no setup from %s to %s.", who, rep.from, rep.to)}
		if !s.instructor {
			out = append(out, s.whoCan("The class's figures are for instructors."))
		}
		return out
	}
	f := rep.class
	out := []string{fmt.Sprintf("%s, %s to %s: %s.", who, rep.from, rep.to, figuresWord(f))}
	if spread, ok := f.PlaySpread(); ok {
		mean := solver.Length(f.PlaySum / f.Plays * storage.PlayUnit)
		out = append(out, fmt.Sprintf("Play as left: mean %s, spread (standard deviation) %s, over %d measured.", s.style.Fine(mean), s.style.Fine(solver.Length(spread)), f.Plays))
	}
	if word, n := commonest(f.Remedies); n > 0 {
		out = append(out, fmt.Sprintf("Commonest remedy: %s (%d).", word, n))
	}
	out = append(out, "By week:")
	for _, w := range rep.weeks[max(0, len(rep.weeks)-reportWeeks):] {
		out = append(out, fmt.Sprintf("%s: %s.", w.Week, figuresWord(w.Figures)))
	}
	if !s.instructor {
		return append(out, s.whoCan("The class's figures are for instructors."))
	}
	out = append(out, "By member:")
	for _, m := range rep.members[:min(len(rep.members), reportMembers)] {
		out = append(out, fmt.Sprintf("%s: %s%s.", rep.names[m.id], figuresWord(m.Figures), memberMore(s.style, m.Figures)))
	}
	if n := len(rep.members) - reportMembers; n > 0 {
		out = append(out, fmt.Sprintf("And %d more: csv:yes has them all.", n))
	}
	return out
}

// figuresWord is "12 setups, first cut snug 42 %, 2.1 cuts to the first snug one".
func figuresWord(f storage.Figures) string {
	words := []string{fmt.Sprintf("%d %s", f.Setups, plural(int(f.Setups), "setup", "setups"))}
	if rate, ok := f.FirstRate(); ok {
		words = append(words, fmt.Sprintf("first cut snug %.0f %%", 100*rate))
	} else {
		words = append(words, "none cut")
	}
	if mean, ok := f.CutsToSnug(); ok {
		words = append(words, fmt.Sprintf("%.1f %s to the first snug one", mean, plural(int(10*mean)-9, "cut", "cuts")))
	}
	return strings.Join(words, ", ")
}

func memberMore(style solver.Style, f storage.Figures) string {
	out := ""
	if spread, ok := f.PlaySpread(); ok {
		out += ", spread " + style.Fine(solver.Length(spread))
	}
	if word, n := commonest(f.Remedies); n > 0 {
		out += ", mostly " + word
	}
	return out
}

// commonest is what was changed most often after a cut that was not snug.
func commonest(r storage.Remedies) (word string, n int64) {
	for _, c := range []struct {
		word string
		n    int64
	}{
		{"shims added", r.Thicker},
		{"shims taken out", r.Thinner},
		{"another chipper", r.Chipper},
		{"the stop moved", r.Stop},
		{"nothing changed, cut again", r.Same},
	} {
		if c.n > n {
			word, n = c.word, c.n
		}
	}
	return word, n
}
