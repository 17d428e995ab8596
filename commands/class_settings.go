package commands

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

const (
	maxCautions     = 6 // the shop's own
	maxCaution      = 160
	settingsExample = `/class settings check-off:yes zone:Europe/Lisbon hours:"Mon Wed 18:00-21:00"`
)

func settingsCommand() Command {
	return Command{
		Name: "settings", Summary: "What the shop decided: rights, grades, cautions, data, hours", Example: settingsExample, Private: true,
		Options: []Option{
			{Name: "instructors", Summary: "The role whose members are instructors here", Kind: Role},
			{Name: "unit", Summary: "Inches or millimetres", Choices: []Choice{{"inches", "in"}, {"millimetres", "mm"}}},
			{Name: "grades", Summary: "Play at the four borders, enter to sloppy: -0.004 0.001 0.008 0.015; or usual"},
			{Name: "depth", Summary: "Shallowest, deepest and least left of the panel: 1/3 1/2 1/2; or usual"},
			{Name: "set", Summary: "The set used where none is named", complete: completeSets},
			{Name: "saw", Summary: "The saw used where none is named", complete: completeSaws},
			{Name: "review", Summary: "The channel for the digest", Kind: Channel},
			{Name: "cautions", Summary: "The shop's own cautions, a semicolon between; or none"},
			{Name: "stopped", Summary: "No: stopped dadoes and grooves are barred on the saw here", Kind: YesNo},
			{Name: "check-off", Summary: "Yes: a setup without check-off is shown, not released", Kind: YesNo},
			{Name: "keep", Summary: "Days after which unseen members and old notes are blanked; 0: never", Kind: Whole},
			{Name: "backups", Summary: "Days that your backups keep a name that was erased", Kind: Whole},
			{Name: "zone", Summary: "Time zone, as Europe/Lisbon or America/Chicago", complete: completeZones},
			{Name: "hours", Summary: "When the class meets: Mon Wed 18:00-21:00; or none"},
			{Name: "digest", Summary: "Yes for a short post in the review channel, once a class day", Kind: YesNo},
			{Name: "clear", Summary: "Put one setting back to what a new shop has", Choices: clearable()},
		},
		run: runSettings,
	}
}

func runSettings(s *session, a args) (Reply, error) {
	if err := s.needInstructor("Reading or changing the shop's settings"); err != nil {
		return Reply{}, err
	}
	if len(a) == 0 {
		return s.settingsReply("The shop's settings:")
	}
	change, err := s.settingsChange(a)
	if err != nil {
		return Reply{}, err
	}
	preview := s.shop.Settings
	for _, c := range change {
		c(&preview)
	}
	if err := digestReady(preview); err != nil {
		return Reply{}, err
	}
	if a["unit"] != "" { // first: the usual set and the starter saw follow it
		unit := map[string]solver.Unit{"in": solver.InchUnit, "mm": solver.MillimetreUnit}[a["unit"]]
		if err := s.shopUnit(unit); err != nil {
			return Reply{}, err
		}
	}
	s.shop, err = s.app.Store.UpdateShop(s, s.shop.ID, func(shop *storage.Shop) error {
		for _, c := range change {
			c(&shop.Settings)
		}
		return digestReady(shop.Settings)
	})
	if err != nil {
		return Reply{}, err
	}
	s.zone = s.shop.Settings.Location()
	return s.settingsReply("Changed. The shop's settings now:")
}

// digestReady refuses a digest that would never come.
func digestReady(set storage.Settings) error {
	switch {
	case !set.Digest:
		return nil
	case set.ReviewChannel == "":
		return &UserError{Option: "review", Message: "The digest needs a channel to go to.", Hint: "Give review, the channel, together with digest:yes; or digest:no."}
	case len(set.Hours.Days) == 0:
		return &UserError{Option: "hours", Message: "The digest comes in class time, and the class has no hours.", Hint: `hours:"Mon Wed 18:00-21:00"; or digest:no.`}
	}
	return nil
}

// settingsChange reads the options, all of them before any is kept.
func (s *session) settingsChange(a args) (out []func(*storage.Settings), err error) {
	add := func(f func(*storage.Settings)) { out = append(out, f) }
	if (a["instructors"] != "" || a["clear"] == "instructors") && !s.caller.Admin {
		return nil, &UserError{Option: "instructors", Message: "Who is an instructor is for an administrator of the server to say.", Hint: "Ask one to use /class settings instructors."}
	}
	if a["instructors"] != "" {
		role := clip(a["instructors"], 100)
		if s.everyone(role) {
			return nil, &UserError{Option: "instructors", Message: "That role is everyone's: it would make every member an instructor.", Hint: "Make a role for your instructors and name that."}
		}
		called := s.called(role)
		add(func(set *storage.Settings) { set.InstructorRole, set.InstructorName = role, called })
	}
	if a["grades"] != "" {
		g, err := s.grades(a)
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.Grades = g })
	}
	if a["depth"] != "" {
		rule, err := depthRule(a)
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.Depth = rule })
	}
	if a["set"] != "" {
		x, err := s.setNamed(a["set"])
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.SetID = x.ID })
	}
	if a["saw"] != "" {
		x, err := s.sawNamed(a["saw"])
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.SawID = x.ID })
	}
	if a["review"] != "" {
		channel := clip(a["review"], 100)
		called := s.called(channel)
		add(func(set *storage.Settings) { set.ReviewChannel, set.ReviewName = channel, called })
	}
	if a["cautions"] != "" {
		own, err := ownCautions(a)
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.Cautions = own })
	}
	if a["stopped"] != "" {
		add(func(set *storage.Settings) { set.NoStopped = !yes(a, "stopped") })
	}
	if a["check-off"] != "" {
		add(func(set *storage.Settings) { set.CheckOff = yes(a, "check-off") })
	}
	for _, o := range []struct {
		name   string
		lo, hi int
		to     func(*storage.Settings) *int
	}{
		{"keep", 30, 3650, func(set *storage.Settings) *int { return &set.KeepDays }},
		{"backups", 1, 3650, func(set *storage.Settings) *int { return &set.BackupDays }},
	} {
		if a[o.name] == "" {
			continue
		}
		n := 0
		if o.name != "keep" || strings.TrimSpace(a[o.name]) != "0" {
			if n, err = whole(a, o.name, o.lo, o.hi, o.lo); err != nil {
				return nil, err
			}
		}
		add(func(set *storage.Settings) { *o.to(set) = n })
	}
	if a["zone"] != "" {
		zone, err := zoneNamed(a["zone"])
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.Zone = zone })
	}
	if a["hours"] != "" {
		h, err := classHours(a)
		if err != nil {
			return nil, err
		}
		add(func(set *storage.Settings) { set.Hours = h })
	}
	if a["digest"] != "" {
		add(func(set *storage.Settings) { set.Digest, set.DigestRefused = yes(a, "digest"), "" })
	}
	if what := a["clear"]; what != "" {
		if a[what] != "" {
			return nil, &UserError{Option: "clear", Message: fmt.Sprintf("%s is given and cleared at once.", capitalised(what)), Hint: "clear:" + what + " alone"}
		}
		for _, c := range clears {
			if c.name == what {
				add(c.to)
			}
		}
	}
	return out, nil
}

// clears put a setting back to what a new shop has.
var clears = []struct {
	name, word string
	to         func(*storage.Settings)
}{
	{"instructors", "the instructor role", func(set *storage.Settings) { set.InstructorRole, set.InstructorName = "", "" }},
	{"review", "the review channel", func(set *storage.Settings) { set.ReviewChannel, set.ReviewName = "", "" }},
	{"set", "the usual set", func(set *storage.Settings) { set.SetID = 0 }},
	{"saw", "the usual saw", func(set *storage.Settings) { set.SawID = 0 }},
	{"grades", "the grades", func(set *storage.Settings) { set.Grades = solver.DefaultGrades() }},
	{"depth", "the depth rule", func(set *storage.Settings) { set.Depth = solver.DepthRule{} }},
	{"cautions", "the shop's own cautions", func(set *storage.Settings) { set.Cautions = nil }},
	{"stopped", "the bar on stopped cuts", func(set *storage.Settings) { set.NoStopped = false }},
	{"check-off", "that a check-off is needed", func(set *storage.Settings) { set.CheckOff = false }},
	{"keep", "how long names are kept", func(set *storage.Settings) { set.KeepDays = 0 }},
	{"backups", "how long backups keep them", func(set *storage.Settings) { set.BackupDays = 0 }},
	{"zone", "the time zone", func(set *storage.Settings) { set.Zone = "" }},
	{"hours", "the class hours", func(set *storage.Settings) { set.Hours = storage.ClassHours{} }},
	{"digest", "the digest", func(set *storage.Settings) { set.Digest = false }},
}

func clearable() []Choice {
	var out []Choice
	for _, c := range clears {
		out = append(out, Choice{c.word, c.name})
	}
	return out
}

// called is what the platform calls a role or a channel; empty where it did not say.
func (s *session) called(key string) string { return clip(s.named[key], maxRoleName) }

// maxRoleName is how much of a role's or a channel's name is kept.
const maxRoleName = 60

// everyone says whether a role is that of all members: Discord gives it the
// server's own id.
func (s *session) everyone(role string) bool {
	_, server, _ := strings.Cut(s.shop.Key, ":")
	return role == server || strings.EqualFold(strings.TrimPrefix(role, "@"), "everyone") || strings.EqualFold(strings.TrimPrefix(role, "@"), "here")
}

// widestPlay is the most play that a border of the grades may be [shop].
const widestPlay = solver.Inch / 8

func (s *session) grades(a args) (solver.Grades, error) {
	wrong := func(message string) error {
		return &UserError{Option: "grades", Message: message, Hint: `grades:"-0.004in 0.001in 0.008in 0.015in", or grades:usual`}
	}
	if strings.EqualFold(strings.TrimSpace(a["grades"]), "usual") {
		return solver.DefaultGrades(), nil
	}
	words := strings.Fields(strings.NewReplacer(";", " ").Replace(a["grades"]))
	if len(words) != 4 {
		return solver.Grades{}, wrong("The grades have four borders: will not enter, tight, snug, loose, sloppy lie between them.")
	}
	at := make([]solver.Length, 0, len(words))
	for _, w := range words {
		m, err := solver.ParseMeasure(w, s.style.Unit, solver.Range{Min: -widestPlay, Max: widestPlay})
		if err != nil {
			return solver.Grades{}, measureError("grades", err)
		}
		if n := len(at); n > 0 && m.Length <= at[n-1] {
			return solver.Grades{}, wrong("Each border of the grades is wider than the one before.")
		}
		at = append(at, m.Length)
	}
	return solver.Grades{Enter: at[0], SnugFrom: at[1], SnugTo: at[2], LooseTo: at[3]}, nil
}

func depthRule(a args) (solver.DepthRule, error) {
	wrong := &UserError{Option: "depth", Message: "The depth rule is three parts of the panel: the shallowest, the deepest, and what must be left.", Hint: `depth:"1/3 1/2 1/2", or depth:usual`}
	if strings.EqualFold(strings.TrimSpace(a["depth"]), "usual") {
		return solver.DepthRule{}, nil
	}
	words := strings.Fields(a["depth"])
	if len(words) != 3 {
		return solver.DepthRule{}, wrong
	}
	var parts [3]solver.Share
	for i, w := range words {
		num, den, ok := strings.Cut(w, "/")
		n, err1 := strconv.ParseInt(num, 10, 64)
		d, err2 := strconv.ParseInt(den, 10, 64)
		if !ok || err1 != nil || err2 != nil || n < 1 || n >= d || d > 100 {
			return solver.DepthRule{}, wrong
		}
		parts[i] = solver.Share{Num: n, Den: d}
	}
	from, to, web := parts[0], parts[1], parts[2]
	switch {
	case from.Num*to.Den > to.Num*from.Den:
		return solver.DepthRule{}, &UserError{Option: "depth", Message: "The shallowest is deeper than the deepest.", Hint: wrong.Hint}
	case to.Num*web.Den+web.Num*to.Den > to.Den*web.Den:
		return solver.DepthRule{}, &UserError{Option: "depth", Message: "The deepest and what must be left are more than the panel together.", Hint: wrong.Hint}
	}
	return solver.DepthRule{From: from, To: to, Web: web}, nil
}

func ownCautions(a args) ([]string, error) {
	if strings.EqualFold(strings.TrimSpace(a["cautions"]), "none") {
		return nil, nil
	}
	var out []string
	for _, line := range strings.FieldsFunc(a["cautions"], func(r rune) bool { return r == ';' || r == '\n' }) {
		line = clip(line, maxCaution+1)
		if line == "" {
			continue
		}
		if len([]rune(line)) > maxCaution {
			return nil, &UserError{Option: "cautions", Message: fmt.Sprintf("A caution has at most %d characters.", maxCaution), Hint: `cautions:"Sleeves above the elbow; nobody alone at a saw"`}
		}
		out = append(out, line)
	}
	if len(out) > maxCautions {
		return nil, &UserError{Option: "cautions", Message: fmt.Sprintf("There is room for %d cautions of your own.", maxCautions), Hint: `cautions:"Sleeves above the elbow; nobody alone at a saw"`}
	}
	return out, nil
}

func zoneNamed(text string) (string, error) {
	name := strings.ReplaceAll(strings.TrimSpace(text), " ", "_")
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || strings.EqualFold(name, "local") {
		return "", &UserError{Option: "zone", Message: fmt.Sprintf("I know no time zone %q.", clip(text, 40)), Hint: "zone:Europe/Lisbon, zone:America/Chicago or zone:UTC"}
	}
	if zone == time.UTC {
		return "", nil
	}
	return name, nil
}

// zonesOffered are some zones by which a member sees how they are written; any
// other of the IANA database can be typed.
var zonesOffered = []string{
	"UTC", "Africa/Johannesburg", "Africa/Lagos", "America/Anchorage", "America/Chicago", "America/Denver", "America/Halifax", "America/Los_Angeles",
	"America/New_York", "America/Phoenix", "America/Sao_Paulo", "Asia/Kolkata", "Asia/Manila", "Asia/Singapore", "Asia/Tokyo", "Australia/Perth",
	"Australia/Sydney", "Europe/Athens", "Europe/Berlin", "Europe/Lisbon", "Europe/London", "Europe/Madrid", "Europe/Paris", "Europe/Warsaw", "Pacific/Auckland",
}

func completeZones(_ *session, typed string) ([]Choice, error) {
	out := choicesOf(zonesOffered, func(z string) string { return z }, typed)
	if zone, err := zoneNamed(typed); err == nil && zone != "" && len(out) == 0 {
		out = []Choice{{zone, zone}}
	}
	return out, nil
}

var weekdays = []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// classHours reads "Mon Wed 18:00-21:00", or "none".
func classHours(a args) (storage.ClassHours, error) {
	text := strings.ToLower(strings.TrimSpace(strings.NewReplacer("–", "-", ",", " ").Replace(a["hours"])))
	wrong := func(message string) error {
		return &UserError{Option: "hours", Message: message, Hint: `hours:"Mon Wed 18:00-21:00", or hours:none`}
	}
	if text == "none" {
		return storage.ClassHours{}, nil
	}
	words := strings.Fields(text)
	if len(words) < 2 {
		return storage.ClassHours{}, wrong("Say on which days the class meets, and from when until when.")
	}
	var h storage.ClassHours
	on := map[time.Weekday]bool{}
	for _, w := range words[:len(words)-1] {
		from, to, span := strings.Cut(w, "-")
		a, ok := weekday(from)
		b, okTo := a, ok
		if span {
			b, okTo = weekday(to)
		}
		if !ok || !okTo {
			return h, wrong(fmt.Sprintf("%q is no day.", clip(w, 20)))
		}
		for d := a; ; d = (d + 1) % 7 {
			if !on[d] {
				on[d] = true
				h.Days = append(h.Days, d)
			}
			if d == b {
				break
			}
		}
	}
	from, to, _ := strings.Cut(words[len(words)-1], "-")
	f, err1 := time.Parse("15:04", from)
	t, err2 := time.Parse("15:04", to)
	if err1 != nil || err2 != nil {
		return h, wrong(fmt.Sprintf("%q are no hours.", clip(words[len(words)-1], 20)))
	}
	h.From, h.To = f.Hour()*60+f.Minute(), t.Hour()*60+t.Minute()
	if h.From >= h.To {
		return h, wrong("A class ends after it begins, and before midnight.")
	}
	return h, nil
}

func weekday(word string) (time.Weekday, bool) {
	for i, name := range weekdays {
		if len(word) >= 3 && strings.HasPrefix(strings.ToLower(time.Weekday(i).String()), word) && strings.HasPrefix(word, name) {
			return time.Weekday(i), true
		}
	}
	return 0, false
}

func hoursWord(h storage.ClassHours) string {
	if len(h.Days) == 0 {
		return "none"
	}
	var days []string
	for _, d := range h.Days {
		days = append(days, d.String()[:3])
	}
	return fmt.Sprintf("%s %02d:%02d-%02d:%02d", strings.Join(days, " "), h.From/60, h.From%60, h.To/60, h.To%60)
}

func (s *session) settingsReply(head string) (Reply, error) {
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	set := s.shop.Settings
	style := solver.Style{Unit: set.Unit}
	g, d := set.Grades, s.depthRule()
	share := func(x solver.Share) string { return fmt.Sprintf("%d/%d", x.Num, x.Den) }
	keep := "until they are erased"
	if set.KeepDays > 0 {
		keep = fmt.Sprintf("%d days after a member was last seen, notes as long", set.KeepDays)
	}
	instructors := "Instructors: administrators only; the option instructors names a role."
	if set.InstructorRole != "" {
		instructors = fmt.Sprintf("Instructors: administrators, and the role %s; clear:instructors takes it back.", orElse(set.InstructorName, set.InstructorRole))
	}
	yesNo := map[bool]string{true: "yes", false: "no"}
	text := []string{
		head,
		instructors,
		fmt.Sprintf("Unit: %s. Usual set: %s. Usual saw: %s.", set.Unit, orElse(names.sets[set.SetID], "none"), orElse(names.saws[set.SawID], "none")),
		fmt.Sprintf("Grades by play: will not enter below %s, tight below %s, snug to %s, loose to %s, sloppy above.", style.Fine(g.Enter), style.Fine(g.SnugFrom), style.Fine(g.SnugTo), style.Fine(g.LooseTo)),
		fmt.Sprintf("Depth: %s to %s of the panel, at least %s left.", share(d.From), share(d.To), share(d.Web)),
		fmt.Sprintf("Check-off needed: %s.", yesNo[set.CheckOff]),
		fmt.Sprintf("Names are kept %s; backups %d days more.", keep, backupDays(set)),
		fmt.Sprintf("Zone: %s; an evening ends at %02d:00. Class hours: %s.", orElse(set.Zone, "UTC"), storage.EveningEnds, hoursWord(set.Hours)),
		fmt.Sprintf("Review channel: %s. Digest: %s.", orElse(set.ReviewName, orElse(set.ReviewChannel, "none")), yesNo[set.Digest]),
	}
	if digestPaused(set) {
		text = append(text, digestWarning)
	}
	if set.NoStopped {
		text = append(text, "Stopped dadoes and grooves are barred on the saw.")
	}
	if len(set.Cautions) > 0 {
		text = append(text, "The shop's own cautions:")
		for _, c := range set.Cautions {
			text = append(text, "- "+c)
		}
	} else {
		text = append(text, "The shop has no cautions of its own.")
	}
	return Reply{Private: true, Text: lines(text...)}, nil
}

// orElse is a text, or another where it is empty.
func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

func backupDays(set storage.Settings) int {
	if set.BackupDays > 0 {
		return set.BackupDays
	}
	return storage.DefaultBackupDays
}
