package commands

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// personalStore gives a member what is on record of them, and blanks it.
type personalStore interface {
	Personal(ctx context.Context, shopID, memberID int64) (storage.Personal, error)
	Erase(ctx context.Context, shopID, memberID int64) (storage.Erasure, error)
}

func mydataCommand() Command {
	return Command{
		Name: "mydata", Summary: "What is on record of you: see it, take it with you, erase it", Example: "/mydata show", Private: true,
		Subs: []Command{
			{Name: "show", Summary: "What is on record of you, and who sees it", Example: "/mydata show", Private: true, run: showData},
			{Name: "export", Summary: "All of it as a JSON file", Example: "/mydata export", Private: true, run: exportData},
			{
				Name: "erase", Summary: "Blank your name and your notes, for good; the test cuts stay, nameless", Example: "/mydata erase", Private: true,
				Options: []Option{
					{Name: "sure", Summary: "Yes to do it at once, without the question", Kind: YesNo},
					{Name: "member", Summary: "Instructors: someone who asked for it, or has left", complete: completeRoster},
				},
				run: eraseData,
			},
		},
	}
}

func showData(s *session, _ args) (Reply, error) {
	p, err := s.app.Store.Personal(s, s.shop.ID, s.member.ID)
	if err != nil {
		return Reply{}, err
	}
	notes := 0
	for _, c := range p.Cuts {
		notes += min(1, len(c.Note))
	}
	count := func(n int, one, many string) string { return fmt.Sprintf("%d %s", n, plural(n, one, many)) }
	keep := "until you erase it"
	if days := s.shop.Settings.KeepDays; days > 0 {
		keep = fmt.Sprintf("until you erase it, or until you have not been seen for %d days", days)
	}
	return Reply{Private: true, Text: lines(
		fmt.Sprintf("On record of you: your name %q, your key in this chat, %s, %s with %s.", s.member.Name, count(len(p.Setups), "setup", "setups"),
			count(len(p.Cuts), "test cut", "test cuts"), count(notes, "note", "notes")),
		fmt.Sprintf("Also %s, %s of a set, %s of a saw, %s, %s and %s.", count(len(p.CheckOffs), "check-off", "check-offs"), count(len(p.SetsTaken), "taking", "takings"),
			count(len(p.Loads), "loading", "loadings"), count(len(p.Marks)+len(p.Checks), "mark about power off and checks", "marks about power off and checks"),
			count(len(p.Moves), "step of a setup", "steps of setups"), count(len(p.NearMisses), "near miss", "near misses")),
		"Everyone in the shop sees your setups and their test cuts. Instructors see the class's figures and your near misses. Your notes are not in any report.",
		fmt.Sprintf("The name is kept %s, and cut at %d characters.", keep, maxName),
		"/mydata export gives you all of it; /mydata erase blanks your name and your notes.",
	)}, nil
}

func exportData(s *session, _ args) (Reply, error) {
	p, err := s.app.Store.Personal(s, s.shop.ID, s.member.ID)
	if err != nil {
		return Reply{}, err
	}
	out := s.personalOut(p)
	text, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Private: true, Data: out,
		Text:  lines("Here is all that is on record of you, as a JSON file.", "Lengths are millimetres, times UTC."),
		Files: []File{{Name: "mydata.json", Type: "application/json", Alt: "All that is on record of you", Data: append(text, '\n')}},
	}, nil
}

func eraseData(s *session, a args) (Reply, error) {
	m := s.member
	if a["member"] != "" {
		if err := s.needInstructor("Erasing another member"); err != nil {
			return Reply{}, err
		}
		var err error
		if m, err = s.rosterMember("member", a["member"]); err != nil {
			return Reply{}, err
		}
	}
	if yes(a, "sure") {
		return s.erase(m.ID)
	}
	whose := "your name, your key and your notes"
	if m.ID != s.member.ID {
		whose = "name, key and notes of " + m.Name
	}
	text := []string{
		"This blanks " + whose + ", for good: it cannot be taken back.",
		"Setups, test cuts and check-offs stay in the shop's record, without a name. A check-off is lost with the name.",
	}
	held, err := s.stillHas(m)
	if err != nil {
		return Reply{}, err
	}
	if held != "" {
		text = append(text, held)
	}
	id := action{verb: verbErase, arg: strconv.FormatInt(m.ID, 10)}
	return Reply{
		Private: true,
		Text:    lines(text...),
		Actions: []Action{{ID: id.String(), Label: "Erase it"}},
	}, nil
}

// stillHas warns of sets that are with the member to be erased: nobody could be
// asked for them afterwards. Empty where there is none.
func (s *session) stillHas(m storage.Member) (string, error) {
	names, err := s.names()
	if err != nil {
		return "", err
	}
	out, err := s.app.Store.SetsOut(s, s.shop.ID)
	var sets []string
	for _, c := range out {
		if c.MemberID == m.ID {
			sets = append(sets, orRetired(names.sets[c.SetID]))
		}
	}
	if err != nil || len(sets) == 0 {
		return "", err
	}
	return fmt.Sprintf("First return %s: afterwards the board says only that a former member has it.", strings.Join(sets, ", ")), nil
}

// pressErase carries the erasure out, for oneself or as an instructor.
func (s *session) pressErase(act action) (Reply, error) {
	id, err := strconv.ParseInt(act.arg, 10, 64)
	if err != nil {
		return Reply{}, &UserError{Message: "That button is not one of mine.", Hint: "/mydata erase"}
	}
	if id != s.member.ID {
		if err := s.needInstructor("Erasing another member"); err != nil {
			return Reply{}, err
		}
	}
	return s.erase(id)
}

func (s *session) erase(memberID int64) (Reply, error) {
	e, err := s.app.Store.Erase(s, s.shop.ID, memberID)
	if isNotFound(err) {
		return Reply{}, &UserError{Message: "There is no such member here, or they were erased before.", Hint: "/class roster lists the members."}
	}
	if err != nil {
		return Reply{}, err
	}
	days := backupDays(s.shop.Settings)
	text := []string{
		fmt.Sprintf("Erased: the name, the key and %d %s. Setups and test cuts stay, without a name.", e.Notes, plural(e.Notes, "note or project", "notes and projects")),
		fmt.Sprintf("Backups made before now keep the name until %s at the latest (%d days).", s.local(s.caller.At).AddDate(0, 0, days).Format("2 January 2006"), days),
		"What was written in the chat itself is not mine to erase: delete it there. Whoever uses a command again is a new member.",
	}
	if e.Held {
		text = append(text, "The database's own log is being read just now; it drops the name as soon as that is over.")
	}
	return Reply{Private: true, Replace: true, Text: lines(text...)}, nil
}

// The public JSON form of a member's data. Lengths are decimal strings in
// millimetres, times RFC 3339 in UTC.

type personalData struct {
	Shop       string          `json:"shop"`
	Name       string          `json:"name"`
	Key        string          `json:"key"`
	Unit       string          `json:"unit,omitempty"`
	Minor      bool            `json:"minor"`
	LastSeen   storage.Day     `json:"last_seen,omitempty"`
	Setups     []setupData     `json:"setups"`
	TestCuts   []ownCutData    `json:"test_cuts"`
	CheckOffs  []checkOffData  `json:"check_offs"`
	NearMisses []noteData      `json:"near_misses"`
	SetsTaken  []whatData      `json:"sets_taken"`
	Loadings   []whatData      `json:"loadings"`
	Steps      []setupStepData `json:"steps"`

	CautionsRead  *time.Time     `json:"cautions_read,omitempty"`
	Confirmations []markData     `json:"confirmations"`
	Checks        []whatData     `json:"checks"` // of stacks that others loaded
	Granted       []checkOffData `json:"granted"`
	Upkeep        []upkeepData   `json:"upkeep"`
}

type markData struct {
	Setup int64            `json:"setup"`
	Cut   int              `json:"cut,omitempty"`
	At    time.Time        `json:"at"`
	What  storage.MarkKind `json:"what"`
}

type upkeepData struct {
	At   time.Time         `json:"at"`
	Set  string            `json:"set,omitempty"`
	Saw  string            `json:"saw,omitempty"`
	What solver.UpkeepKind `json:"what"`
}

type setupData struct {
	Setup      int64         `json:"setup"`
	Made       time.Time     `json:"made"`
	Joint      storage.Joint `json:"joint"`
	State      storage.State `json:"state"`
	Set        string        `json:"set"`
	Saw        string        `json:"saw"`
	Project    string        `json:"project,omitempty"`
	Lot        string        `json:"lot,omitempty"`
	ReadingsMM []string      `json:"readings_mm"`
	DepthMM    string        `json:"depth_mm,omitempty"`
	WidthMM    string        `json:"width_mm,omitempty"` // of a rabbet
	Pieces     int           `json:"pieces,omitempty"`
	Done       int           `json:"pieces_cut,omitempty"`
}

type ownCutData struct {
	Setup   int64     `json:"setup"`
	Cut     int       `json:"cut"`
	At      time.Time `json:"at"`
	Grade   string    `json:"grade"`
	Slips   *int      `json:"slips,omitempty"`
	FloorMM string    `json:"floor_mm,omitempty"`
	MouthMM string    `json:"mouth_mm,omitempty"`
	PieceMM string    `json:"piece_mm,omitempty"`
	DepthMM string    `json:"depth_mm,omitempty"`
	Note    string    `json:"note,omitempty"`
	Voided  bool      `json:"voided"`
}

type checkOffData struct {
	Saw     string      `json:"saw"`
	Granted bool        `json:"granted"`
	Until   storage.Day `json:"until,omitempty"`
	At      time.Time   `json:"at"`
}

type noteData struct {
	At   time.Time `json:"at"`
	Note string    `json:"note"`
}

type whatData struct {
	At    time.Time `json:"at"`
	Set   string    `json:"set,omitempty"`
	Saw   string    `json:"saw,omitempty"`
	Setup int64     `json:"setup,omitempty"`
}

type setupStepData struct {
	Setup int64         `json:"setup"`
	At    time.Time     `json:"at"`
	What  storage.Deed  `json:"what"`
	To    storage.State `json:"to"`
	Word  string        `json:"word,omitempty"`
}

func (s *session) personalOut(p storage.Personal) personalData {
	names, err := s.names()
	if err != nil { // the record counts, the names of its tools are a help
		names = shopNames{}
	}
	d := personalData{
		Shop: s.shop.Name, Name: p.Member.Name, Key: p.Member.Key, Minor: p.Member.Minor, LastSeen: p.Member.Seen,
		Confirmations: []markData{}, Checks: []whatData{}, Granted: []checkOffData{}, Upkeep: []upkeepData{},
		Setups: []setupData{}, TestCuts: []ownCutData{}, CheckOffs: []checkOffData{}, NearMisses: []noteData{}, SetsTaken: []whatData{}, Loadings: []whatData{}, Steps: []setupStepData{},
	}
	if p.Member.Style != nil {
		d.Unit = p.Member.Style.Unit.String()
	}
	for _, x := range p.Setups {
		out := setupData{
			Setup: x.No, Made: x.Created, Joint: x.Joint, State: x.State, Set: orRetired(names.sets[x.SetID]), Saw: orRetired(names.saws[x.SawID]),
			Project: x.Project, Lot: x.Lot, Pieces: x.Pieces, Done: x.Done,
		}
		for _, r := range x.Readings {
			out.ReadingsMM = append(out.ReadingsMM, r.Length.DecimalMM())
		}
		if x.Depth.Length > 0 {
			out.DepthMM = x.Depth.Length.DecimalMM()
		}
		if x.Width.Length > 0 {
			out.WidthMM = x.Width.Length.DecimalMM()
		}
		d.Setups = append(d.Setups, out)
	}
	for _, c := range p.Cuts {
		out := ownCutData{Setup: c.Setup, Cut: c.No, At: c.At, Grade: string(c.Grade), Slips: c.Slips, Note: c.Note, Voided: c.Voided}
		if c.Floor.Length > 0 {
			out.FloorMM = c.Floor.Length.DecimalMM()
		}
		if c.Mouth.Length > 0 {
			out.MouthMM = c.Mouth.Length.DecimalMM()
		}
		if c.Piece.Length > 0 {
			out.PieceMM = c.Piece.Length.DecimalMM()
		}
		if c.Depth.Length > 0 {
			out.DepthMM = c.Depth.Length.DecimalMM()
		}
		d.TestCuts = append(d.TestCuts, out)
	}
	for _, c := range p.CheckOffs {
		d.CheckOffs = append(d.CheckOffs, checkOffData{Saw: orRetired(names.saws[c.SawID]), Granted: c.Granted, Until: c.Until, At: c.At})
	}
	for _, n := range p.NearMisses {
		d.NearMisses = append(d.NearMisses, noteData{At: n.At, Note: n.Note})
	}
	for _, c := range p.SetsTaken {
		d.SetsTaken = append(d.SetsTaken, whatData{At: c.At, Set: orRetired(names.sets[c.SetID])})
	}
	for _, l := range p.Loads {
		d.Loadings = append(d.Loadings, whatData{At: l.At, Saw: orRetired(names.saws[l.SawID]), Setup: l.Setup})
	}
	for _, m := range p.Moves {
		d.Steps = append(d.Steps, setupStepData{Setup: m.Setup, At: m.At, What: m.Deed, To: m.To, Word: m.Word})
	}
	if !p.Cautions.IsZero() {
		d.CautionsRead = &p.Cautions
	}
	for _, m := range p.Marks {
		d.Confirmations = append(d.Confirmations, markData{Setup: m.Setup, Cut: m.Cut, At: m.At, What: m.Kind})
	}
	for _, c := range p.Checks {
		d.Checks = append(d.Checks, whatData{At: c.At, Saw: orRetired(names.saws[c.SawID]), Setup: c.Setup})
	}
	for _, c := range p.Granted {
		d.Granted = append(d.Granted, checkOffData{Saw: orRetired(names.saws[c.SawID]), Granted: c.Granted, Until: c.Until, At: c.At})
	}
	for _, u := range p.Upkeep {
		out := upkeepData{At: u.At, What: u.Upkeep.Kind}
		if u.SetID > 0 {
			out.Set = orRetired(names.sets[u.SetID])
		}
		if u.SawID > 0 {
			out.Saw = orRetired(names.saws[u.SawID])
		}
		d.Upkeep = append(d.Upkeep, out)
	}
	return d
}
