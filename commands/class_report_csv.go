package commands

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"shimwright/solver"
	"shimwright/storage"
)

// csv is the report for a spreadsheet: the class, each member, each week of the
// class and of each member. Lengths are millimetres, an empty cell is a figure
// that there is none of.
func (rep report) csv() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	row := func(who string, week storage.Day, f storage.Figures) {
		word, _ := commonest(f.Remedies)
		cells := []string{
			inert(who), string(week), strconv.FormatInt(f.Setups, 10), strconv.FormatInt(f.Tried, 10), strconv.FormatInt(f.Cuts, 10),
			strconv.FormatInt(f.Snug, 10), strconv.FormatInt(f.First, 10), "", "", strconv.FormatInt(f.Plays, 10), "", "", word,
		}
		if rate, ok := f.FirstRate(); ok {
			cells[7] = fmt.Sprintf("%.1f", 100*rate)
		}
		if mean, ok := f.CutsToSnug(); ok {
			cells[8] = fmt.Sprintf("%.2f", mean)
		}
		if f.Plays > 0 {
			cells[10] = solver.Length(f.PlaySum / f.Plays * storage.PlayUnit).DecimalMM()
		}
		if spread, ok := f.PlaySpread(); ok {
			cells[11] = fmt.Sprintf("%.4f", spread/float64(solver.Millimetre))
		}
		_ = w.Write(cells) // a buffer takes everything
	}
	_ = w.Write([]string{
		"who", "week from", "setups", "setups cut", "test cuts", "setups with a snug cut", "setups with a snug first cut", "first cut snug %",
		"test cuts to the first snug one", "plays measured", "mean play mm", "spread of play mm", "commonest remedy",
	})
	row("(class)", "", rep.class)
	for _, m := range rep.members {
		row(rep.names[m.id], "", m.Figures)
	}
	for _, week := range rep.weeks {
		row("(class)", week.Week, week.Figures)
	}
	for _, week := range rep.all {
		row(rep.names[week.MemberID], week.Week, week.Figures)
	}
	w.Flush()
	return b.Bytes()
}

// inert keeps a spreadsheet from running a text as a formula or from cutting it
// into cells: an apostrophe before what could begin one, and no semicolon or
// tab, which are separators in some countries.
func inert(text string) string {
	text = strings.Map(func(r rune) rune {
		switch r {
		case ';':
			return ','
		case '\t', '\r', '\n':
			return ' '
		}
		return r
	}, text)
	if begin := strings.TrimLeft(text, " \u00a0\"'"); begin != "" && strings.ContainsRune("=+-@＝＋－＠−", []rune(begin)[0]) {
		return "'" + text
	}
	return text
}

// The public JSON form of a report. Lengths are decimal strings in millimetres.

type reportData struct {
	From    storage.Day   `json:"from"`
	To      storage.Day   `json:"to"`
	Class   figuresData   `json:"class"`
	Members []figuresData `json:"members"`
	Weeks   []figuresData `json:"weeks"`
}

type figuresData struct {
	Member       string      `json:"member,omitempty"`
	Week         storage.Day `json:"week,omitempty"` // its Monday
	Setups       int64       `json:"setups"`
	SetupsCut    int64       `json:"setups_cut"`
	TestCuts     int64       `json:"test_cuts"`
	SetupsSnug   int64       `json:"setups_snug"`
	FirstSnug    int64       `json:"first_cut_snug"`
	CutsToSnug   int64       `json:"cuts_to_first_snug"` // over the setups with a snug cut
	Plays        int64       `json:"plays"`
	PlaySpreadMM string      `json:"play_spread_mm,omitempty"`
	Remedies     struct {
		ShimsAdded int64 `json:"shims_added"`
		ShimsTaken int64 `json:"shims_taken_out"`
		Chipper    int64 `json:"other_chipper"`
		Stop       int64 `json:"stop_moved"`
		Unchanged  int64 `json:"unchanged"`
	} `json:"remedies"`
}

func figuresOut(member string, week storage.Day, f storage.Figures) figuresData {
	d := figuresData{
		Member: member, Week: week, Setups: f.Setups, SetupsCut: f.Tried, TestCuts: f.Cuts, SetupsSnug: f.Snug,
		FirstSnug: f.First, CutsToSnug: f.ToSnug, Plays: f.Plays,
	}
	if spread, ok := f.PlaySpread(); ok {
		d.PlaySpreadMM = fmt.Sprintf("%.4f", spread/float64(solver.Millimetre))
	}
	r := f.Remedies
	d.Remedies.ShimsAdded, d.Remedies.ShimsTaken, d.Remedies.Chipper, d.Remedies.Stop, d.Remedies.Unchanged = r.Thicker, r.Thinner, r.Chipper, r.Stop, r.Same
	return d
}

func (rep report) data() reportData {
	d := reportData{From: rep.from, To: rep.to, Class: figuresOut("", "", rep.class), Members: []figuresData{}, Weeks: []figuresData{}}
	for _, m := range rep.members {
		d.Members = append(d.Members, figuresOut(rep.names[m.id], "", m.Figures))
	}
	for _, w := range rep.weeks {
		d.Weeks = append(d.Weeks, figuresOut("", w.Week, w.Figures))
	}
	return d
}
