package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"shimwright/commands"
	"shimwright/storage"
)

// A class of which the rights are tested: Ada (member 2, after Ines) is checked
// off on the starter saw and made setup 1; Wren (3) is not, and is a minor.
var classSoFar = []string{
	`Ines /class settings check-off:yes`,
	`Ada /stack stock:0.703 lot:"oak ply 3" project:"hall bookcase"`,
	`Ada /testcut feel:snug note:"Ada's own note"`,
	`Wren /class near-miss note:"the offcut came back"`,
	`Ines /class roster member:Ada saw:"Starter saw" until:2031-06-30`,
	`Ines /class roster member:Wren minor:yes`,
	`Ruth /saw now`,
}

// classAt is what an instructor sees of the class.
func classAt(t *testing.T, app *commands.App) string {
	t.Helper()
	var all []string
	for _, line := range []string{`/class roster`, `/class settings`, `/class near-miss`, `/class report`} {
		r, err := ask1(app, someone("Ines"), line)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r.Text)
	}
	return strings.Join(all, "\n")
}

// TestClassRights is the matrix of who may do what: o a member of another server,
// m a member, k one who is checked off, r an instructor by role, a an
// administrator, d a member in a direct message. Those named may; the others get
// a plain refusal, and nothing changes. Every answer is the asker's alone.
func TestClassRights(t *testing.T) {
	dir := t.TempDir()
	seeded := shopAfter(t, filepath.Join(dir, "class.db"), classSoFar)
	o := someone("Olga")
	o.ShopKey = "elsewhere"
	r, d := someone("Ruth"), someone("Wren")
	r.Roles, d.ShopKey = []string{"role 7"}, ""
	stranger := someone("Sid") // in no shop yet, by direct message
	stranger.ShopKey = ""
	roles := map[byte]commands.Caller{'o': o, 'm': someone("Wren"), 'k': someone("Ada"), 'r': r, 'a': someone("Ines"), 'd': d, 's': stranger}
	for i, tc := range []struct{ line, may string }{
		{`/class roster`, "omkrad"},
		{`/class roster member:Ada`, "ra"},
		{`/class roster member:Wren saw:"Starter saw"`, "ra"},
		{`/class roster member:Ada saw:"Starter saw" withdraw:yes`, "ra"},
		{`/class roster member:Wren minor:no`, "ra"},
		{`/class report`, "omkrad"},
		{`/class report csv:yes`, "omkrad"},
		{`/class settings`, "ra"},
		{`/class settings check-off:no`, "ra"},
		{`/class settings instructors:"role 9"`, "a"},
		{`/class settings clear:instructors`, "a"},
		{`/class near-miss`, "ra"},
		{`/class near-miss note:"a tooth is loose"`, "omkrad"},
		{`/again lot:"oak ply 3"`, "omkrad"},
		{`press 1:again:1:0:0:`, "mkrad"},
		{`/mydata show`, "omkrad"},
		{`/mydata export`, "omkrad"},
		{`/mydata erase`, "omkrad"},
		{`/mydata erase sure:yes`, "omkrad"},
		{`/mydata erase member:Ada sure:yes`, "ra"},
		{`press 1:erase:0:0:0:2`, "kra"}, // Ada's own
	} {
		for role, who := range roles {
			name := filepath.Join(dir, fmt.Sprintf("%d%c.db", i, role))
			if err := os.WriteFile(name, seeded, 0o600); err != nil {
				t.Fatal(err)
			}
			app, closeApp, err := openApp(testContext, name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := ask1(app, who, "/help"); err != nil && role != 's' { // known in the shop from here on
				t.Fatal(err)
			}
			before := classAt(t, app)
			reply, err := ask1(app, who, tc.line)
			if err == nil && (!reply.Private || !private(tc.line) && !strings.HasPrefix(tc.line, "/again ")) && !strings.HasPrefix(tc.line, "press 1:again") {
				t.Errorf("%s by %c: private %v, deferred as %v", tc.line, role, reply.Private, private(tc.line))
			}
			var refused *commands.UserError
			switch may := strings.IndexByte(tc.may, role) >= 0; {
			case may && err != nil:
				t.Errorf("%s by %c: %v", tc.line, role, err)
			case !may && (!errors.As(err, &refused) || refused.Message == "" || refused.Hint == ""):
				t.Errorf("%s by %c: %v, want a plain refusal", tc.line, role, err)
			case !may && classAt(t, app) != before:
				t.Errorf("%s by %c was refused, and yet:\n%s\n%s", tc.line, role, before, classAt(t, app))
			}
			if err := closeApp(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// What others see is no one's notes: not in the report, nor in its file, nor in
// what a member of another shop gets.
func TestNotesAreTheWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	shopAfter(t, path, classSoFar)
	app := openTest(t, path)
	for _, line := range []string{`/class report csv:yes`, `/class roster`, `/class review`, `/setups whose:shop`, `/again lot:"oak ply 3"`} {
		r, err := ask1(app, someone("Ines"), line)
		if err != nil {
			t.Fatal(err)
		}
		all := r.Text
		for _, f := range r.Files {
			all += string(f.Data)
		}
		if strings.Contains(all, "own note") {
			t.Errorf("%s shows a note:\n%s", line, all)
		}
	}
	r, err := ask1(app, someone("Ada"), `/mydata export`)
	if err != nil || len(r.Files) != 1 || !strings.Contains(string(r.Files[0].Data), "Ada's own note") {
		t.Fatalf("the writer's own export lacks it: %+v, %v", r.Files, err)
	}
	var whole struct {
		Name     string `json:"name"`
		TestCuts []any  `json:"test_cuts"`
		Setups   []struct {
			Lot        string   `json:"lot"`
			ReadingsMM []string `json:"readings_mm"`
		} `json:"setups"`
	}
	if err := json.Unmarshal(r.Files[0].Data, &whole); err != nil || whole.Name != "Ada" || len(whole.TestCuts) != 1 || len(whole.Setups) != 1 ||
		whole.Setups[0].Lot != "oak ply 3" || whole.Setups[0].ReadingsMM[0] != "17.8562" { // 0.703 x 25.4
		t.Errorf("export %+v, %v", whole, err)
	}
	r, err = ask1(app, someone("Wren"), `/class report csv:yes`)
	if err != nil || strings.Contains(r.Text+string(r.Files[0].Data), "Ada") {
		t.Errorf("a member's report names another: %s %v", r.Text, err)
	}
}

// TestHeldBack: who is not checked off, and a minor each time, is shown the stack
// and told that it is not released; a release lifts it, a send-back restores it.
func TestHeldBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	shopAfter(t, path, classSoFar)
	app := openTest(t, path)
	steps := []struct {
		who, line, at string
		want          string // part of the line that holds it back; empty: not held
	}{
		{"Ada", `/stack stock:0.703`, "2031-06-30", ""},
		{"Ada", `/stack stock:0.703`, "2031-07-01", "the check-off on Starter saw ended on 2031-06-30"},
		{"Ada", `/stack stock:0.110 set:"Plain blade"`, "2031-07-01", ""}, // no stacked set
		{"Tomek", `/stack stock:0.703`, "2031-03-04", "not checked off on Starter saw"},
		{"Wren", `/stack stock:0.703`, "2031-03-04", "a minor's setup needs a release each time"},
		{"Ines", `/stack stock:0.703`, "2031-03-04", ""},
		{"Ines", `press 1:release:6:0:0:`, "2031-03-04", "-"}, // Wren's
		{"Wren", `/setups setup:6`, "2031-03-04", ""},
		{"Ines", `press 1:back:6:0:0: word:"look again"`, "2031-03-04", "-"},
		{"Wren", `/setups setup:6`, "2031-03-04", "a minor's setup needs a release each time"},
		{"Ines", `/setups setup:6`, "2031-03-04", "a minor's setup needs a release each time"},
		{"Ines", `/class roster member:Tomek saw:"Starter saw"`, "2031-03-04", "-"},
		{"Tomek", `/stack stock:0.703`, "2031-03-04", ""},
		{"Ines", `/class roster member:Tomek saw:"Starter saw" withdraw:yes`, "2031-03-04", "-"},
		{"Tomek", `/stack stock:0.703`, "2031-03-04", "not checked off on Starter saw"},
		{"Ines", `/class settings check-off:no`, "2031-03-04", "-"},
		{"Tomek", `/stack stock:0.703`, "2031-03-04", ""},
		{"Wren", `/stack stock:0.703`, "2031-03-04", "a minor's setup needs a release each time"},
		{"Wren", `/testcut groove:0.7075`, "2031-03-04", "Dialled in, but cut no piece yet."},
	}
	for _, s := range steps {
		who := someone(s.who)
		who.At = storage.Day(s.at).Time().Add(19 * time.Hour)
		r, err := ask1(app, who, s.line)
		if err != nil {
			t.Fatalf("%s %s: %v", s.who, s.line, err)
		}
		held := strings.Contains(r.Text, "Not released: ask your instructor")
		if s.want != "-" && (held != (s.want != "") || !strings.Contains(r.Text, s.want)) {
			t.Errorf("%s %s on %s: want %q\n%s", s.who, s.line, s.at, s.want, r.Text)
		}
		if held && strings.Contains(strings.ToLower(r.Text), "cut your pieces") {
			t.Errorf("%s %s: held back, and yet told to cut\n%s", s.who, s.line, r.Text)
		}
		if strings.HasPrefix(s.line, "/stack") && !strings.Contains(r.Text, "rom the inner flange") && !strings.Contains(s.line, "blade") {
			t.Errorf("%s %s: the stack is not shown\n%s", s.who, s.line, r.Text)
		}
	}
}

// A bad input is told with the option at fault and one right example.
func TestClassRefusals(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	shopAfter(t, path, classSoFar)
	app := openTest(t, path)
	long := strings.Repeat("x", 161)
	for _, tc := range []struct{ line, option string }{
		{`/class roster saw:"Starter saw"`, "member"},
		{`/class roster member:Nobody saw:"Starter saw"`, "member"},
		{`/class roster member:Ada until:2031-07-01`, "saw"},
		{`/class roster member:Ada saw:"Starter saw" until:30.6.2031`, "until"},
		{`/class roster member:Ada saw:"Starter saw" until:2031-02-30`, "until"},
		{`/class roster member:Ada saw:"Starter saw" until:2031-03-03`, "until"}, // yesterday
		{`/class roster member:Ada saw:"Starter saw" until:2031-07-01 withdraw:yes`, "until"},
		{`/class report from:yesterday`, "from"},
		{`/class report to:2031-13-01`, "to"},
		{`/class report from:2031-03-04 to:2031-03-03`, "from"},
		{`/class settings instructors:shop`, "instructors"}, // the server's own id is everyone's role
		{`/class settings instructors:@everyone`, "instructors"},
		{`/class settings grades:"0.001 0.008"`, "grades"},
		{`/class settings grades:"0.001 0.008 0.004 0.015"`, "grades"},
		{`/class settings grades:"1 2 3 4"`, "grades"},
		{`/class settings depth:"1/2 1/3 1/2"`, "depth"},
		{`/class settings depth:"1/3 2/3 1/2"`, "depth"},
		{`/class settings depth:deep`, "depth"},
		{`/class settings keep:5`, "keep"},
		{`/class settings keep:-1`, "keep"},
		{`/class settings zone:Nowhere/Town`, "zone"},
		{`/class settings zone:../etc/passwd`, "zone"},
		{`/class settings zone:Local`, "zone"},
		{`/class settings hours:"Mon 21:00-18:00"`, "hours"},
		{`/class settings hours:"Blue 18:00-21:00"`, "hours"},
		{`/class settings hours:"Mon 25:00-26:00"`, "hours"},
		{`/class settings digest:yes`, "review"},
		{`/class settings digest:yes review:123`, "hours"},
		{`/class settings cautions:"` + long + `"`, "cautions"},
		{`/class settings cautions:"a;b;c;d;e;f;g"`, "cautions"},
		{`/class settings set:"No such set"`, "set"},
		{`/class near-miss note:` + strings.Repeat("y", 501), "note"},
		{`/again lot:a project:b`, "project"},
		{`/again lot:` + strings.Repeat("z", 41), "lot"},
		{`/stack stock:0.7 lot:` + strings.Repeat("z", 41), "lot"},
		{`/mydata erase member:Nobody`, "member"},
	} {
		before := classAt(t, app)
		_, err := ask1(app, someone("Ines"), tc.line)
		var refused *commands.UserError
		if !errors.As(err, &refused) || refused.Option != tc.option || refused.Message == "" || refused.Hint == "" {
			t.Errorf("%s: %#v, want the option %s", tc.line, err, tc.option)
		}
		if after := classAt(t, app); after != before {
			t.Errorf("%s was refused, and yet:\n%s", tc.line, after)
		}
	}
}

// Settings come back as they were given, and are used.
func TestSettingsAreUsed(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	r, err := ask1(app, someone("Ines"), `/class settings instructors:"role 7" grades:"-0.1mm 0.02mm 0.15mm 0.4mm" depth:"1/4 2/5 3/5" review:777 `+
		`cautions:"Sleeves above the elbow; nobody alone at a saw" keep:400 backups:14 zone:America/Chicago hours:"Mon-Wed Fri 18:00-21:30" digest:yes saw:"Starter saw"`)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"the role role 7", "snug to 0.006 in", "1/4 to 2/5 of the panel, at least 3/5 left", "400 days", "14 days", "America/Chicago",
		"Mon Tue Wed Fri 18:00-21:30", "Digest: yes", "Review channel: 777", "- Sleeves above the elbow", "- nobody alone at a saw",
	} {
		if !strings.Contains(r.Text, want) {
			t.Errorf("want %q in\n%s", want, r.Text)
		}
	}
	r, err = ask1(app, someone("Ada"), `/safety`)
	if err != nil || !strings.Contains(r.Text, "- Sleeves above the elbow") {
		t.Errorf("the shop's cautions are not in the list: %s %v", r.Text, err)
	}
	r, err = ask1(app, someone("Ada"), `/stack stock:0.703`)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, d := range r.Details {
		found = found || strings.Contains(d.Text, "- nobody alone at a saw")
	}
	if !found {
		t.Error("the shop's cautions are not in the full list of a setup")
	}
	r, err = ask1(app, someone("Ada"), `/setups`) // 18:00 UTC is noon in Chicago
	if err != nil || !strings.Contains(r.Text, "4 Mar 12:00") {
		t.Errorf("not the shop's time: %s %v", r.Text, err)
	}
	role := someone("Ruth")
	role.Roles = []string{"role 7"}
	if _, err := ask1(app, role, `/class settings cautions:none digest:no keep:0 depth:usual grades:usual hours:none zone:UTC`); err != nil {
		t.Errorf("an instructor by the role: %v", err)
	}
	if r, err = ask1(app, role, `/class settings`); err != nil || !strings.Contains(r.Text, "no cautions of its own") || !strings.Contains(r.Text, "until they are erased") {
		t.Errorf("%s %v", r.Text, err)
	}
}

// Names are shown cut and inert, and no cell of the file is a formula, in a
// spreadsheet that separates by commas or by semicolons.
func TestReportOfHostileNames(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	names := []string{
		`=HYPERLINK("http://x","y")`, `+1+1`, `-2+3`, `@SUM(A1)`, "\t=1+1", " =1+1", `'=1`, `a;=1+1`, `a,=1+1`, "a\n=1+1", "\u202e=1+1", "＝1+1", `"=1+1`, "**bold** <@1> :x:",
		strings.Repeat("=", 10_000),
	}
	for i, name := range names {
		who := someone(fmt.Sprintf("key %d", i))
		who.MemberName = name
		for _, line := range []string{`/stack stock:0.703`, `/testcut feel:tight`, `/testcut feel:snug`} {
			if _, err := ask1(app, who, line); err != nil {
				t.Fatal(err)
			}
		}
	}
	r, err := ask1(app, someone("Ines"), `/class report csv:yes`)
	if err != nil {
		t.Fatal(err)
	}
	file := r.Files[0]
	if file.Name != "report-2030-12-11-2031-03-04.csv" || !strings.HasPrefix(file.Type, "text/csv") { // 84 days, both ends in it
		t.Errorf("%s, %s", file.Name, file.Type)
	}
	rows, err := csv.NewReader(bytes.NewReader(file.Data)).ReadAll()
	if err != nil || len(rows) != 1+1+len(names)+1+len(names) {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, separator := range []string{",", ";"} {
		for _, line := range strings.Split(string(file.Data), "\n") {
			for _, cell := range strings.Split(line, separator) { // worse than any reader: quotes count for nothing
				cell = strings.Trim(cell, "\" \t\u202e")
				if separator == ";" && cell != "" && strings.ContainsAny(cell[:1], "=+-@") {
					t.Errorf("a cell may run: %q in %q", cell, line)
				}
			}
		}
	}
	for _, row := range rows {
		for _, cell := range row {
			if utf8.RuneCountInString(cell) > 60 || regexp.MustCompile("^[ \t\u202e\"']*[=+@＝-]").MatchString(cell) && !strings.HasPrefix(cell, "'") {
				t.Errorf("cell %q", cell)
			}
		}
	}
	for _, line := range strings.Split(r.Text, "\n") {
		if utf8.RuneCountInString(line) > 200 || strings.Contains(line, "\u202e") {
			t.Errorf("line %q", line)
		}
	}
}

// What a report says of an evening counted by hand: Ada is tight, changes shims,
// then snug; Tomek is snug at once. First cut snug 1 of 2; cuts to the first snug
// one (2 + 1)/2 = 1.5.
func TestReport(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	say(t, app, []string{
		`Ada /stack stock:0.703`, `Ada /testcut feel:tight`, `Ada /testcut feel:snug`,
		`Tomek /stack stock:0.703`, `Tomek /testcut groove:0.708`, // play 0.005
		`Wren /stack stock:0.703`,
	})
	r, err := ask1(app, someone("Ines"), `/class report from:2031-03-01 to:2031-03-31`)
	if err != nil {
		t.Fatal(err)
	}
	if want := "The class, 2031-03-01 to 2031-03-31: 3 setups, first cut snug 50 %, 1.5 cuts to the first snug one."; strings.Split(r.Text, "\n")[0] != want {
		t.Errorf("got\n%s\nwant %s", r.Text, want)
	}
	for _, want := range []string{"Commonest remedy: shims added (1).", "2031-03-03: 3 setups", "Ada: 1 setup, first cut snug 0 %, 2.0 cuts", "Tomek: 1 setup, first cut snug 100 %, 1.0 cut ", "Wren: 1 setup, none cut."} {
		if !strings.Contains(r.Text, want) {
			t.Errorf("want %q in\n%s", want, r.Text)
		}
	}
	if r, err = ask1(app, someone("Ines"), `/class report from:2031-03-05`); err == nil {
		t.Errorf("to, today, is before from, and yet: %s", r.Text)
	}
	if r, err = ask1(app, someone("Ines"), `/class report to:2031-03-03`); err != nil || !strings.Contains(r.Text, "made no setup") {
		t.Errorf("%s %v", r.Text, err)
	}
	// Who was erased is still counted.
	if _, err := ask1(app, someone("Ines"), `/mydata erase member:Ada sure:yes`); err != nil {
		t.Fatal(err)
	}
	r, err = ask1(app, someone("Ines"), `/class report csv:yes`)
	if err != nil || !strings.Contains(r.Text, "3 setups, first cut snug 50 %") || strings.Contains(r.Text+string(r.Files[0].Data), "Ada") || !strings.Contains(r.Text, "(erased #") {
		t.Errorf("%s %v", r.Text, err)
	}
}

// /again finds what worked, and holds its readings to six weeks and to what was done.
func TestAgain(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	for _, line := range []string{
		`/stack stock:"0.703 0.705" lot:"Oak ply 3" project:"hall bookcase"`, `/testcut feel:tight`, `/testcut feel:snug`, `/testcut feel:snug`,
		`/stack stock:0.503 lot:"birch"`,
	} {
		if _, err := ask1(app, someone("Ada"), line); err != nil {
			t.Fatal(err)
		}
	}
	at := func(weeks int, line string) commands.Reply {
		t.Helper()
		who := someone("Tomek")
		who.At = evening.AddDate(0, 0, 7*weeks)
		r, err := ask1(app, who, line)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		return r
	}
	for _, tc := range []struct {
		weeks int
		line  string
		head  string
		again bool
	}{
		{1, `/again lot:"oak PLY 3"`, "The readings of 4 Mar 2031 still serve for lot oak PLY 3", true},
		{6, `/again project:"hall bookcase" since:nothing`, "The readings of 4 Mar 2031 still serve", true},
		{7, `/again lot:"oak ply 3"`, "Measure lot oak ply 3 anew: it was measured 7 weeks ago", false},
		{1, `/again lot:"oak ply 3" since:sanded`, "Measure lot oak ply 3 anew: sanding", false},
		{1, `/again lot:"oak ply 3" since:finished`, "Measure lot oak ply 3 anew: a finish", false},
		{1, `/again lot:"oak ply 3" since:season`, "Measure lot oak ply 3 anew: wood moves", false},
		{1, `/again lot:birch`, "Nothing has come out snug for lot birch yet, in 1 setup.", false},
		{1, `/again lot:elm`, "This shop has no setup of lot elm yet.", false},
	} {
		r := at(tc.weeks, tc.line)
		if !strings.HasPrefix(r.Text, tc.head) || (len(r.Actions) > 0) != tc.again {
			t.Errorf("%s after %d weeks: %d buttons\n%s", tc.line, tc.weeks, len(r.Actions), r.Text)
		}
	}
	r := at(1, `/again lot:"oak ply 3"`)
	if !strings.Contains(r.Text, "Setup 1, 4 Mar: pair + ") || !strings.Contains(r.Text, "snug 2 times, by Ada") || !strings.Contains(r.Text, "stock 0.703 in to 0.705 in") {
		t.Errorf("what worked:\n%s", r.Text)
	}
	r = at(1, "press "+r.Actions[0].ID)
	if !strings.Contains(r.Text, "Setup 3,") {
		t.Errorf("asked again:\n%s", r.Text)
	}
	list := at(1, `/setups`)
	if !strings.Contains(list.Text, "3: dado 0.703 in to 0.705 in") || !strings.Contains(list.Text, "project hall bookcase, lot Oak ply 3") {
		t.Errorf("the new setup is not of the lot:\n%s", list.Text)
	}
	late := someone("Tomek")
	late.At = evening.AddDate(0, 0, 70)
	if _, err := ask1(app, late, "press 1:again:1:0:0:"); err == nil {
		t.Error("an old button serves readings that no longer hold")
	}
}

// A name is nowhere in the files after its member pressed the button, and the
// reply says until when backups keep it. The instructor erases who has left.
func TestEraseByButton(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	app := openTest(t, path)
	gone, left := someone("key-of-quast"), someone("key-of-left")
	gone.MemberName, left.MemberName = "Wilhelmina Quast", "Leftward Lund"
	for _, who := range []commands.Caller{gone, left} {
		for _, line := range []string{`/stack stock:0.703 project:"case of ` + who.MemberName + `"`, `/testcut feel:snug note:"note by ` + who.MemberName + `"`, `/class near-miss note:"said ` + who.MemberName + `"`} {
			if _, err := ask1(app, who, line); err != nil {
				t.Fatal(err)
			}
		}
	}
	inFiles := func(word string) bool {
		for _, suffix := range []string{"", "-wal"} {
			raw, err := os.ReadFile(path + suffix)
			if err != nil && !errors.Is(err, os.ErrNotExist) {
				t.Fatal(err)
			}
			if bytes.Contains(raw, []byte(word)) {
				return true
			}
		}
		return false
	}
	if !inFiles("Quast") || !inFiles("key-of-left") {
		t.Fatal("the names are not where they are looked for")
	}
	if _, err := ask1(app, someone("Ines"), `/class settings backups:14`); err != nil {
		t.Fatal(err)
	}
	r, err := ask1(app, gone, `/mydata erase`)
	if err != nil || len(r.Actions) != 1 || !inFiles("Quast") {
		t.Fatalf("%+v, %v", r, err)
	}
	if _, err := ask1(app, left, "press "+r.Actions[0].ID); err == nil {
		t.Fatal("another member pressed it")
	}
	r, err = ask1(app, gone, "press "+r.Actions[0].ID)
	if err != nil || !strings.Contains(r.Text, "18 March 2031 at the latest (14 days)") || !strings.Contains(r.Text, "3 notes and projects") {
		t.Errorf("%s %v", r.Text, err)
	}
	if inFiles("Quast") || inFiles("key-of-quast") {
		t.Error("the name is still in the files")
	}
	if _, err := ask1(app, someone("Ines"), `/mydata erase member:"Leftward Lund" sure:yes`); err != nil {
		t.Fatal(err)
	}
	if inFiles("Lund") || inFiles("key-of-left") {
		t.Error("who left is still in the files")
	}
	r, err = ask1(app, someone("Ines"), `/class near-miss`)
	if err != nil || strings.Count(r.Text, "a former member: (erased)") != 2 {
		t.Errorf("%s %v", r.Text, err)
	}
}

// Two members of one name are told apart by a number.
func TestNamesakes(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	for _, key := range []string{"one", "two"} {
		who := someone(key)
		who.MemberName = "Ada"
		if _, err := ask1(app, who, `/setups`); err != nil {
			t.Fatal(err)
		}
	}
	_, err := ask1(app, someone("Ines"), `/class roster member:Ada minor:yes`)
	var which *commands.UserError
	if !errors.As(err, &which) || !strings.Contains(which.Message, "Ada #1, Ada #2") {
		t.Fatalf("%v", err)
	}
	r, err := ask1(app, someone("Ines"), `/class roster member:"Ada #2" minor:yes`)
	if err != nil || !strings.Contains(r.Text, "minor") {
		t.Errorf("%s %v", r.Text, err)
	}
	choices, err := app.Complete(testContext, commands.Call{Caller: someone("Ines"), Name: "class roster", Options: map[string]string{"member": "ad"}}, "member")
	if err != nil || len(choices) != 2 || choices[1].Value != "Ada #2" {
		t.Errorf("%+v %v", choices, err)
	}
	if choices, err := app.Complete(testContext, commands.Call{Caller: someone("one"), Name: "class roster"}, "member"); err != nil || len(choices) != 0 {
		t.Errorf("a member is offered the roster: %+v %v", choices, err)
	}
}

// posts collects what is sent to channels.
type posts struct {
	mu   sync.Mutex
	sent []string
	fail error
}

func (p *posts) Post(_ context.Context, channel, key string, reply commands.Reply) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sent = append(p.sent, channel+" "+key+"\n"+reply.Text)
	return p.fail
}

// TestDigest: once a class day, in the shop's own half hour before the end, for
// one of ten processes, on its own platform, and never again when it failed.
func TestDigest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	app := openTest(t, path)
	say(t, app, []string{
		`Ines /set add name:"Blue case" pair:1/4 chippers:"4 x 1/8, 3/32, 1/16" shims:"2 x 0.004, 2 x 0.010"`,
		`Ines /class settings review:777 zone:America/Chicago hours:"Tue Thu 18:00-21:00" digest:yes`,
		`Ada /set take set:"Blue case"`, `Ada /stack stock:0.703`, `Ada /testcut feel:tight`, `Tomek /stack stock:0.703`,
	})
	chicago := storage.Settings{Zone: "America/Chicago"}.Location()
	sent := &posts{}
	at := func(platform string, now time.Time) {
		jobs{app, platform, sent, func() time.Time { return now }, slog.New(slog.DiscardHandler)}.once(testContext)
	}
	tuesday := func(hour, minute int) time.Time { return time.Date(2031, 3, 4, hour, minute, 0, 0, chicago) }
	for _, early := range []time.Time{tuesday(18, 0), tuesday(20, 29), tuesday(21, 0), tuesday(20, 45).AddDate(0, 0, 1)} {
		at("test", early)
	}
	at("discord", tuesday(20, 45)) // a shop of another platform
	if len(sent.sent) != 0 {
		t.Fatalf("sent out of time: %q", sent.sent)
	}
	var wg sync.WaitGroup
	for i := range 10 {
		wg.Go(func() {
			other, closeApp, err := openApp(testContext, path)
			if err != nil {
				t.Error(err)
				return
			}
			defer func() { _ = closeApp() }()
			jobs{other, "test", sent, func() time.Time { return tuesday(20, 30+i) }, slog.New(slog.DiscardHandler)}.once(testContext)
		})
	}
	wg.Wait()
	want := "777 digest-1-2031-03-04\nBefore the class ends: 2 open, 0 dialled in, 1 not taken down, 1 set out.\nNot taken down: setup 1 on Starter saw.\nOut: Blue case with Ada."
	if len(sent.sent) != 1 || sent.sent[0] != want {
		t.Fatalf("%d sent: %q\nwant %q", len(sent.sent), sent.sent, want)
	}
	sent.fail = errors.New("no access")
	at("test", tuesday(20, 40).AddDate(0, 0, 2)) // Thursday
	sent.fail = nil
	at("test", tuesday(20, 41).AddDate(0, 0, 2))
	if len(sent.sent) != 2 {
		t.Errorf("%d sent by Thursday, want one more, and no second try", len(sent.sent))
	}
	if _, err := ask1(app, someone("Ines"), `/class settings digest:no`); err != nil {
		t.Fatal(err)
	}
	at("test", tuesday(20, 45).AddDate(0, 0, 7))
	if len(sent.sent) != 2 {
		t.Error("sent although it is off")
	}
}

// Retention is due work too: whoever was not seen for the days of the setting is
// blanked at the first look of a day.
func TestRetentionIsDue(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
	for _, line := range []string{`Ines /class settings keep:30`, `Ada /stack stock:0.703`, `Ines /setups`} {
		who, rest, _ := strings.Cut(line, " ")
		caller := someone(who)
		if line == `Ines /setups` {
			caller.At = evening.AddDate(0, 0, 20)
		}
		if _, err := ask1(app, caller, rest); err != nil {
			t.Fatal(err)
		}
	}
	names := func(days int) string {
		t.Helper()
		if _, err := app.Due(testContext, "test", evening.AddDate(0, 0, days)); err != nil {
			t.Fatal(err)
		}
		who := someone("Ines")
		who.At = evening.AddDate(0, 0, 20)
		r, err := ask1(app, who, `/class roster`)
		if err != nil {
			t.Fatal(err)
		}
		return r.Text
	}
	if r := names(30); !strings.Contains(r, "Ada:") {
		t.Errorf("blanked after 30 days, a day early:\n%s", r)
	}
	if r := names(31); strings.Contains(r, "Ada:") || !strings.Contains(r, "Ines:") {
		t.Errorf("after 31 days:\n%s", r)
	}
}
