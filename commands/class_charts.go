package commands

import (
	"context"
	"fmt"
	"slices"

	"shimwright/commands/drawing"
	"shimwright/storage"
)

// outcomeStore knows how single setups came out.
type outcomeStore interface {
	Outcomes(ctx context.Context, shopID int64, first, last storage.Day, limit int) ([]storage.Outcome, error)
}

// charted is how many setups the charts of a report look at, the newest.
const charted = 400

// charts are the pictures of a report: test cuts to the first snug one by week,
// and the play of each measured setup against the snug band.
func (s *session) charts(from, to storage.Day) ([]Picture, error) {
	all, err := s.app.Store.Outcomes(s, s.shop.ID, from, to, charted)
	if err != nil {
		return nil, err
	}
	slices.Reverse(all) // oldest first
	title := fmt.Sprintf("%s to %s", from, to)
	cuts := drawing.WeeklyCuts{Title: title}
	plays := drawing.PlayChart{Title: title, Style: s.style, Grades: s.shop.Settings.Grades}
	for _, o := range all {
		if !s.instructor && o.MemberID != s.member.ID {
			continue
		}
		label := weekWord(o.Day)
		if o.ToSnug > 0 {
			if n := len(cuts.Weeks); n == 0 || cuts.Weeks[n-1].Label != label {
				cuts.Weeks = append(cuts.Weeks, drawing.Week{Label: label})
			}
			last := &cuts.Weeks[len(cuts.Weeks)-1]
			last.Cuts = append(last.Cuts, o.ToSnug)
		}
		if o.Play != nil {
			plays.Cuts = append(plays.Cuts, drawing.PlayCut{Group: label, Play: *o.Play})
		}
	}
	var out []Picture
	if len(cuts.Weeks) > 0 {
		out = append(out, picture("cuts-by-week", drawing.Weekly(cuts)))
	}
	if len(plays.Cuts) > 0 {
		out = append(out, picture("play", drawing.Plays(plays)))
	}
	return out, nil
}

// weekWord names a day's week by its Monday: "4 Mar".
func weekWord(day storage.Day) string {
	t := day.Time()
	return t.AddDate(0, 0, -((int(t.Weekday()) + 6) % 7)).Format("2 Jan")
}
