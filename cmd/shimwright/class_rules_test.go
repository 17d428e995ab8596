package main

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/commands"
)

// askAs asks as someone at a time of the test; a refusal ends the test.
func askAs(t *testing.T, app *commands.App, who string, at time.Time, line string) commands.Reply {
	t.Helper()
	caller := someone(who)
	caller.At = at
	r, err := ask1(app, caller, line)
	if err != nil {
		t.Fatalf("%s %s: %v", who, line, err)
	}
	return r
}

// refusedAs is the refusal that a line has to get.
func refusedAs(t *testing.T, app *commands.App, who commands.Caller, line string) *commands.UserError {
	t.Helper()
	_, err := ask1(app, who, line)
	var refused *commands.UserError
	if !errors.As(err, &refused) {
		t.Fatalf("%s %s: %v, want a refusal", who.MemberName, line, err)
	}
	return refused
}

// follows is the detail that a reply sends at once, to the asker alone.
func follows(r commands.Reply) string {
	for _, d := range r.Details {
		if d.Now {
			return d.Text
		}
	}
	return ""
}

// TestCautionsOnceAnEvening: the whole list follows the first setup of a member's
// evening, which ends at four by the shop's clock; plans of the board end with it.
// Chicago: 20:00 on 8 March 2031 is 02:00 UTC; that night the clock goes forward,
// so that four o'clock is 09:00 UTC.
func TestCautionsOnceAnEvening(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	at := func(day, hour, minute int) time.Time { return time.Date(2031, 3, day, hour, minute, 0, 0, time.UTC) }
	askAs(t, app, "Ines", at(9, 1, 0), `/class settings zone:America/Chicago cautions:"Sleeves up"`)
	for _, tc := range []struct {
		who, line string
		at        time.Time
		whole     bool
	}{
		{"Ada", `/stack stock:"0.1 0.9"`, at(9, 1, 59), false}, // nothing to load
		{"Ada", `/stack stock:0.703`, at(9, 2, 0), true},
		{"Ada", `/stack stock:0.703`, at(9, 5, 59), false}, // 23:59
		{"Ada", `/stack stock:0.703`, at(9, 6, 30), false}, // past midnight
		{"Ada", `/stack stock:0.703`, at(9, 8, 59), false}, // 3:59, an hour earlier than on other days
		{"Ada", `/stack stock:0.703`, at(9, 9, 0), true},
		{"Tomek", `/gauge plan from:0.70 to:0.72 step:0.01`, at(9, 9, 0), true},
		{"Wren", `/safety`, at(9, 9, 0), false},
		{"Wren", `/stack stock:0.703`, at(9, 9, 1), false}, // read on request
		{"Robin", `/tongue stock:"0.70 0.72"`, at(9, 9, 1), true},
	} {
		r := askAs(t, app, tc.who, tc.at, tc.line)
		list := follows(r)
		if (list != "") != tc.whole || strings.Contains(r.Text, "all its cautions follow") != tc.whole {
			t.Errorf("%s %s at %s: the list follows: %v\n%s", tc.who, tc.line, tc.at, list != "", r.Text)
		}
		if tc.whole && (!strings.Contains(list, "1. Power disconnected") || !strings.Contains(list, "- Sleeves up") || !strings.HasSuffix(list, deferral) || !strings.HasSuffix(r.Text, deferral)) {
			t.Errorf("%s %s: the list is\n%s\nafter\n%s", tc.who, tc.line, list, r.Text)
		}
	}
}

// TestPlansOfAnEvening: the queue forgets plans at four, not at midnight, and a bench
// that asked twice waits once.
func TestPlansOfAnEvening(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	night := time.Date(2031, 3, 4, 23, 50, 0, 0, time.UTC)
	askAs(t, app, "Ada", night, `/stack stock:0.703`)
	askAs(t, app, "Ada", night.Add(time.Minute), `/stack stock:0.703 pieces:4`)
	askAs(t, app, "Tomek", night.Add(time.Minute), `/stack stock:0.703`)
	for after, want := range map[time.Duration]string{
		2 * time.Minute: "2 benches wait", 4*time.Hour + 9*time.Minute: "2 benches wait", 4*time.Hour + 10*time.Minute: "Nobody waits",
	} {
		r := askAs(t, app, "Ines", night.Add(after), `/class queue`)
		if !strings.HasPrefix(r.Text, want) || strings.Contains(r.Text, "setup 1 ") {
			t.Errorf("after %s want %s\n%s", after, want, r.Text)
		}
	}
	askAs(t, app, "Tomek", night.Add(2*time.Minute), `press 1:loaded:3:0:0:`) // no longer waits, and is not done
	r := askAs(t, app, "Ines", night.Add(3*time.Minute), `/class queue`)
	if !strings.HasPrefix(r.Text, "1 bench waits") || !strings.Contains(r.Text, "Left at this setting: setup 3 (Tomek, pieces not told). Cut them all, and a spare, before changing.") {
		t.Errorf("with a stack loaded:\n%s", r.Text)
	}
}

// TestHeldBackForEveryone: a setup that waits for its release says so to whoever
// looks, wherever it is shown; an instructor's own does not wait, for anyone.
func TestHeldBackForEveryone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	shopAfter(t, path, classSoFar) // check-off needed; setup 1 is Ada's, cut before she was checked off
	app := openTest(t, path)
	at := evening.Add(time.Minute)
	r := askAs(t, app, "Tomek", at, `/stack stock:0.500`) // setup 2
	for _, a := range r.Actions {
		if a.Label == "Loaded" || strings.HasPrefix(a.Label, "Power is off") {
			t.Errorf("the button %q invites to load it", a.Label)
		}
	}
	askAs(t, app, "Ines", at, `/stack stock:0.705`) // setup 3
	for _, who := range []string{"Tomek", "Ada", "Ines"} {
		for line, want := range map[string]string{
			`/setups setup:2`: "Not released: ask your instructor before you load or cut it (not checked off on Starter saw).",
			`/class board`:    "Setup 2: Tomek, Starter inch set on Starter saw, planned, not released.",
			`/class queue`:    "setup 2 (Tomek, pieces not told, not released)",
			`/setups`:         "2: dado 0.500 in, Starter inch set on Starter saw, planned, not released",
		} {
			if r := askAs(t, app, who, at, line); !strings.Contains(r.Text, want) {
				t.Errorf("%s %s: want %q\n%s", who, line, want, r.Text)
			}
		}
		for line, not := range map[string]string{
			`/setups setup:3`: "Not released", `/class board`: "Setup 3: Ines, Starter inch set on Starter saw, planned, not", `/class queue`: "setup 3 (Ines, pieces not told, not",
		} {
			if r := askAs(t, app, who, at, line); strings.Contains(r.Text, not) || strings.Contains(r.Text, "Released for loading") {
				t.Errorf("%s %s: an instructor's own setup is held\n%s", who, line, r.Text)
			}
		}
	}
	review := func(want string) {
		t.Helper()
		if r := askAs(t, app, "Ines", at, `/class review`); !strings.Contains(r.Text, want) {
			t.Errorf("want %q in\n%s", want, r.Text)
		}
	}
	review("1 near miss noted this evening: /class near-miss shows it.")
	review("Setup 2: Tomek, dado, Starter inch set on Starter saw, planned, 0 test cuts. Look: waits for a release.")
	for _, line := range []string{`press 1:power:2:0:0:`, `press 1:loaded:2:0:0:`, `/testcut setup:2 feel:tight`} {
		const want = "Not released: ask your instructor"
		if r := askAs(t, app, "Tomek", at, line); !strings.Contains(r.Text, want) || strings.Contains(r.Text, "Load from the inner flange: blade, 1/8") && strings.HasPrefix(line, "press 1:power") {
			t.Errorf("%s: want %q\n%s", line, want, r.Text)
		}
	}
	review("loaded or cut without a release")
	askAs(t, app, "Ines", at.Add(time.Minute), `press 1:release:2:0:0:`)
	if r := askAs(t, app, "Tomek", at.Add(time.Minute), `/setups setup:2`); strings.Contains(r.Text, "Not released") || !strings.Contains(r.Text, "Released at this saw by Ines") {
		t.Errorf("released, and yet\n%s", r.Text)
	}
}

// TestTakenDownWithPowerOn: taking down is a touching of the arbor like any other:
// without power off confirmed since the last cut the setup is flagged in the review
// of that evening, whichever bench confirmed it.
func TestTakenDownWithPowerOn(t *testing.T) {
	for name, tc := range map[string]struct {
		before  []string // after setup 1 was loaded and cut with power off, setup 2 used the stack
		flagged bool
	}{
		"not confirmed":             {nil, true},
		"confirmed":                 {[]string{`Ada press 1:power:1:0:0:`}, false},
		"confirmed at the other":    {[]string{`Tomek press 1:power:2:0:1:`}, false},
		"cut again after confirmed": {[]string{`Ada press 1:power:1:0:0:`, `Tomek /testcut feel:snug`}, true},
	} {
		t.Run(name, func(t *testing.T) {
			app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
			at := evening
			do := func(line string) commands.Reply {
				t.Helper()
				at = at.Add(time.Minute)
				who, rest, _ := strings.Cut(line, " ")
				return askAs(t, app, who, at, rest)
			}
			for _, line := range append([]string{
				`Ada /stack stock:0.500`, `Ada press 1:power:1:0:0:`, `Ada press 1:loaded:1:0:0:`, `Ada /testcut feel:snug`,
				`Tomek /stack stock:0.505`, `Tomek press 1:keep:2:0:0:1`, `Tomek press 1:checked:1:1:0:1`, `Tomek /testcut feel:snug`,
			}, tc.before...) {
				do(line)
			}
			r := do(`Wren press 1:down:0:0:0:1`)
			if strings.Contains(r.Text, "so setup 1 is flagged") != tc.flagged {
				t.Errorf("flagged: want %v\n%s", tc.flagged, r.Text)
			}
			r = do(`Ines /class review`)
			want := "Taken down without power off confirmed: setup 1 on Starter saw, by Wren " + at.Add(-time.Minute).Format("2 Jan 15:04") + "."
			if strings.Contains(r.Text, want) != tc.flagged {
				t.Errorf("review: want %v %q\n%s", tc.flagged, want, r.Text)
			}
			if r = do(`Ines /setups setup:1`); strings.Contains(r.Text, "; power off was not.") != tc.flagged {
				t.Errorf("setup: want %v\n%s", tc.flagged, r.Text)
			}
			at = evening.AddDate(0, 0, 1)
			if r = do(`Ines /class review`); strings.Contains(r.Text, "Taken down without") {
				t.Errorf("still there the next evening:\n%s", r.Text)
			}
		})
	}
}

// TestInstructorInDirectMessage: Discord sends no roles there, so an instructor is
// refused like a member, and told why and where it works.
func TestInstructorInDirectMessage(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	shopAfter(t, path, classSoFar)
	app := openTest(t, path)
	here := someone("Ruth")
	here.Roles = []string{"role 7"}
	if _, err := ask1(app, here, `/class review`); err != nil {
		t.Fatalf("in the shop's channel: %v", err)
	}
	direct := someone("Ruth")
	direct.ShopKey = ""
	const why = "If you are an instructor, use the shop's own channel: a direct message shows me no roles."
	for _, line := range []string{
		`/class review`, `/class settings`, `/class near-miss`, `/class roster member:Ada`, `press 1:release:1:0:0:`, `press 1:pieces:1:0:0: cut:2`,
		`/testcut undo setup:1`, `/set retire set:"Starter inch set"`, `/mydata erase member:Ada`,
	} {
		if refused := refusedAs(t, app, direct, line); !strings.HasSuffix(refused.Hint, why) {
			t.Errorf("%s: %s\n%s", line, refused.Message, refused.Hint)
		}
		who := someone("Wren")
		if refused := refusedAs(t, app, who, line); strings.Contains(refused.Hint, why) {
			t.Errorf("%s in the channel: %s", line, refused.Hint)
		}
	}
	if r, err := ask1(app, direct, `/stack stock:0.703`); err != nil || !strings.Contains(r.Text, "(not checked off on Starter saw). "+why) {
		t.Errorf("a setup by direct message: %v\n%s", err, r.Text)
	}
	for _, line := range []string{`/class roster`, `/class report`} {
		if r, err := ask1(app, direct, line); err != nil || !strings.Contains(r.Text, why) {
			t.Errorf("%s: %v\n%s", line, err, r.Text)
		}
	}
}

// TestSettingsByName: a role and a channel show as the platform calls them, and
// every setting can be put back to a new shop's.
func TestSettingsByName(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	fresh := askAs(t, app, "Ines", evening, `/class settings`)
	call := commands.Call{
		Caller: someone("Ines"), Name: "class settings",
		Options: map[string]string{
			"instructors": "900100", "review": "900200", "grades": "-0.004in 0.002in 0.007in 0.015in", "depth": "1/4 2/5 3/5", "cautions": "Sleeves up",
			"stopped": "no", "check-off": "yes", "keep": "400", "backups": "14", "zone": "America/Chicago", "hours": "Mon 18:00-21:00", "digest": "yes",
		},
		Names: map[string]string{"900100": "Bench leads", "900200": "notices"},
	}
	r, err := app.Run(testContext, call)
	if err != nil || !strings.Contains(r.Text, "and the role Bench leads") || !strings.Contains(r.Text, "Review channel: notices.") || strings.Contains(r.Text, "9001") || strings.Contains(r.Text, "9002") {
		t.Fatalf("%v\n%s", err, r.Text)
	}
	lead := someone("Ruth")
	lead.Roles = []string{"900100"}
	if _, err := ask1(app, lead, `/class review`); err != nil {
		t.Errorf("by the role: %v", err)
	}
	if refused := refusedAs(t, app, someone("Ines"), `/class settings clear:review`); refused.Option != "review" { // the digest needs it
		t.Errorf("%+v", refused)
	}
	if refused := refusedAs(t, app, someone("Ines"), `/class settings clear:zone zone:UTC`); refused.Option != "clear" {
		t.Errorf("%+v", refused)
	}
	for _, what := range []string{
		"digest", "instructors", "review", "grades", "depth", "cautions", "stopped", "check-off", "keep", "backups", "zone", "hours",
	} {
		r = askAs(t, app, "Ines", evening, `/class settings clear:`+what)
	}
	_, got, _ := strings.Cut(r.Text, "\n")
	if _, want, _ := strings.Cut(fresh.Text, "\n"); got != want {
		t.Errorf("cleared:\n%s\nnew:\n%s", got, want)
	}
	if _, err := ask1(app, lead, `/class review`); err == nil {
		t.Error("the role that was cleared still makes instructors")
	}
	r = askAs(t, app, "Ines", evening, `/class settings clear:set`)
	r2 := askAs(t, app, "Ines", evening, `/class settings clear:saw`)
	if !strings.Contains(r.Text, "Usual set: none.") || !strings.Contains(r2.Text, "Usual saw: none.") {
		t.Errorf("%s\n%s", r.Text, r2.Text)
	}
	if r := askAs(t, app, "Ada", evening, `/stack stock:0.703`); !strings.Contains(r.Text, "Starter inch set on Starter saw") {
		t.Errorf("without a usual set:\n%s", r.Text)
	}
}

// TestQueueOfTen: while a set is new, a cut of it is known to no better than the
// width of snug, so no two benches go together and the queue says why; after some
// measured cuts benches with nearly the same stock do.
func TestQueueOfTen(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	at := evening
	plan := func() {
		t.Helper()
		for i := range 10 { // 0.703 to 0.712
			at = at.Add(time.Minute)
			askAs(t, app, fmt.Sprintf("Member %d", i), at, fmt.Sprintf(`/stack stock:%.3f pieces:4`, 0.703+float64(i)/1000))
		}
	}
	plan()
	r := askAs(t, app, "Ines", at, `/class queue`)
	if n := strings.Count(r.Text, "Restack "); n != 10 || !strings.Contains(r.Text, "with no test cut of Starter inch set its cuts are known to 0.007 in only") {
		t.Errorf("%d restacks while nothing is learned:\n%s", n, r.Text)
	}
	at = evening.AddDate(0, 0, 1)
	for i := range 8 { // it cuts its sum, give or take a thousandth
		askAs(t, app, "Ines", at.Add(time.Duration(i)*time.Minute), `/stack stock:0.703`)
		askAs(t, app, "Ines", at.Add(time.Duration(i)*time.Minute), fmt.Sprintf(`/testcut groove:0.70%d`, 7+i%2))
	}
	at = at.Add(time.Hour)
	askAs(t, app, "Ines", at, `press 1:down:0:0:0:1`)
	plan()
	r = askAs(t, app, "Ines", at, `/class queue`)
	if n := strings.Count(r.Text, "Restack "); n < 2 || n > 4 || !strings.Contains(r.Text, "Grouped where the snug widths overlap") || strings.Contains(r.Text, "go together") {
		t.Errorf("%d restacks for ten benches within 0.009 in, where snug is 0.007 in wide:\n%s", n, r.Text)
	}
}

// TestWhoIsTold: those with an open setup whose stack has a chipped piece are named,
// with the saw it is on; not who has nothing to do with it, and not for plans of
// another evening, which say so when they are looked at.
func TestWhoIsTold(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	askAs(t, app, "Old", evening.AddDate(0, 0, -1), `/stack stock:0.500`)
	for _, line := range []string{
		`Ada /set take set:"Starter inch set"`, `Ada /stack stock:0.500`, `Ada press 1:loaded:2:0:0:`, // with 1/8
		`Tomek /stack stock:0.503`, // with 1/8
		`Wren /stack stock:0.250`,  // the pair alone, or no stack
	} {
		who, rest, _ := strings.Cut(line, " ")
		askAs(t, app, who, evening, rest)
	}
	r := askAs(t, app, "Ines", evening, `/set change set:"Starter inch set" piece:"chipper 1/8" out:1`)
	const want = "Open setups with such a piece, to be looked at: Tomek (setup 3, planned), Ada (setup 2, planned)."
	if r.Private || !strings.Contains(r.Text, want) || !strings.Contains(r.Text, "It may be on Starter saw now.") {
		t.Errorf("want %s\n%s", want, r.Text)
	}
	r = askAs(t, app, "Ines", evening, `/set change set:"Starter inch set" piece:"shim 0.008" out:2`)
	if strings.Contains(r.Text, "Open setups") {
		t.Errorf("a shim that nobody has in:\n%s", r.Text)
	}
	askAs(t, app, "Ines", evening, `/set change set:"Starter inch set" piece:"chipper 1/8" out:4`)
	r = askAs(t, app, "Old", evening, `/setups setup:1`)
	if !strings.HasPrefix(r.Text, "A piece of this stack has gone out of service.") {
		t.Errorf("an older plan:\n%s", r.Text)
	}
}

// TestExportIsWhole: every table that names a member has its part in the export, and
// none of it is empty for a member who did everything.
func TestExportIsWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	app := openTest(t, path)
	for i, line := range []string{
		`Tomek /stack stock:0.703`, `Tomek press 1:loaded:1:0:0:`, `Ines press 1:checked:1:1:0:1`, `Ines /stack stock:0.500 pieces:4`, `Ines press 1:power:2:0:0:`,
		`Ines press 1:loaded:2:0:0:`, `Ines /testcut groove:0.5045 depth:1/4 note:"a word"`, `Ines press 1:pieces:2:0:0: cut:2`,
		`Ines /class near-miss note:"the offcut came back"`, `Ines /class roster member:Ines saw:"Starter saw"`, `Ines /set upkeep set:"Starter inch set" what:sharpened`,
		`Ines /set take set:"Starter metric set"`, `Ines press 1:down:0:0:0:1`, `Ines /units unit:mm`,
	} {
		who, rest, _ := strings.Cut(line, " ")
		askAs(t, app, who, evening.Add(time.Duration(i)*time.Minute), rest)
	}
	r := askAs(t, app, "Ines", evening.Add(time.Hour), `/mydata export`)
	var all map[string]any
	if err := json.Unmarshal(r.Files[0].Data, &all); err != nil {
		t.Fatal(err)
	}
	parts := map[string]string{ // by table and column
		"setups member_id": "setups", "cuts member_id": "test_cuts", "setup_moves member_id": "steps", "setup_marks member_id": "confirmations",
		"cautions_read member_id": "cautions_read", "saw_loads member_id": "loadings", "load_checks member_id": "checks", "set_custody member_id": "sets_taken",
		"checkoffs member_id": "check_offs", "checkoffs by_id": "granted", "near_misses member_id": "near_misses", "upkeep member_id": "upkeep",
		"figures member_id": "setups", "tallies member_id": "setups", // sums of those
		"saw_loads ended_by": "steps", "set_custody ended_by": "sets_taken", // who took a saw down moved its setups; who passed a set on had it or is an instructor
	}
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.QueryContext(testContext, `SELECT t.name || ' ' || c.name FROM sqlite_schema t, pragma_table_info(t.name) c
		WHERE t.type = 'table' AND c.name IN ('member_id', 'by_id', 'ended_by') ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	n := 0
	for rows.Next() {
		var column string
		if err := rows.Scan(&column); err != nil {
			t.Fatal(err)
		}
		n++
		list, isList := all[parts[column]].([]any)
		if parts[column] == "" || all[parts[column]] == nil || isList && len(list) == 0 {
			t.Errorf("%s has nothing in the export, %q:\n%s", column, parts[column], r.Files[0].Data)
		}
	}
	if err := rows.Err(); err != nil || n != len(parts) {
		t.Errorf("%d columns name a member, want %d; %v", n, len(parts), err)
	}
	for _, want := range []string{`"depth_mm": "6.35"`, `"pieces": 4`, `"pieces_cut": 2`, `"note": "a word"`, `"what": "power-off"`, `"what": "sharpened"`, `"unit": "mm"`} {
		if !strings.Contains(string(r.Files[0].Data), want) {
			t.Errorf("want %s in\n%s", want, r.Files[0].Data)
		}
	}
}

// TestGaugeBoardWithPowerOn: each dado of a gauge board is a stack of its own; where
// power off was confirmed fewer times the outcome counts, and the board is flagged.
func TestGaugeBoardWithPowerOn(t *testing.T) {
	for presses, flagged := range map[int]bool{0: true, 2: true, 3: false} {
		app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
		r := askAs(t, app, "Ada", evening, `/gauge plan from:0.70 to:0.72 step:0.01`)
		if len(r.Actions) != 2 || r.Actions[0].Label != "Power is off" {
			t.Fatalf("buttons %+v", r.Actions)
		}
		for range presses {
			if r := askAs(t, app, "Ada", evening, "press "+r.Actions[0].ID); !strings.Contains(r.Text, "next stack of the board") {
				t.Errorf("pressed:\n%s", r.Text)
			}
		}
		r = askAs(t, app, "Ada", evening.Add(time.Hour), `/gauge log widths:"0.701 0.711 0.721"`)
		if !strings.HasPrefix(r.Text, "3 widths of the board logged") || strings.Contains(r.Text, "so the setup is flagged") != flagged {
			t.Errorf("%d presses:\n%s", presses, r.Text)
		}
		r = askAs(t, app, "Ines", evening.Add(time.Hour), `/class review`)
		if strings.Contains(r.Text, "Look: power off not confirmed.") != flagged || !strings.HasPrefix(r.Text, "1 open setup") {
			t.Errorf("%d presses:\n%s", presses, r.Text)
		}
	}
}

// TestRosterOfEndedCheckOffs: a check-off that has ended is in the roster with its
// day, and counts no more; one that was withdrawn is gone.
func TestRosterOfEndedCheckOffs(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	askAs(t, app, "Ada", evening, `/set take set:"Starter inch set"`)
	askAs(t, app, "Tomek", evening, `/saw now`)
	askAs(t, app, "Ines", evening, `/class roster member:Ada saw:"Starter saw" until:2031-03-05`)
	askAs(t, app, "Ines", evening, `/class roster member:Tomek saw:"Starter saw"`)
	for days, want := range map[int]string{
		1: "2 of 3 members are checked off. Here a check-off is not needed.\nAda: Starter saw until 2031-03-05.\nTomek: Starter saw.",
		2: "1 of 3 members are checked off. Here a check-off is not needed.\nAda: Starter saw ended on 2031-03-05.\nTomek: Starter saw.",
	} {
		if r := askAs(t, app, "Ines", evening.AddDate(0, 0, days), `/class roster`); !strings.HasPrefix(r.Text, want) {
			t.Errorf("after %d days:\n%s\nwant\n%s", days, r.Text, want)
		}
	}
	askAs(t, app, "Ines", evening, `/class roster member:Tomek saw:"Starter saw" withdraw:yes`)
	if r := askAs(t, app, "Ines", evening, `/class roster`); !strings.Contains(r.Text, "Tomek: not checked off.") {
		t.Errorf("withdrawn:\n%s", r.Text)
	}
	if r := askAs(t, app, "Ada", evening, `/mydata erase`); !strings.Contains(r.Text, "First return Starter inch set:") {
		t.Errorf("with a set out:\n%s", r.Text)
	}
	if r := askAs(t, app, "Tomek", evening, `/mydata erase`); strings.Contains(r.Text, "First return") {
		t.Errorf("with none:\n%s", r.Text)
	}
}
