package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/commands"
)

// A shop with one of everything: Ada is checked off, has Blue case, made setups 1
// and 2 and a gauge board, 3; Wren is a member; Ruth has the instructors' role.
var everythingSoFar = []string{
	`Ines /set add name:"Blue case" pair:1/4 chippers:"4 x 1/8" shims:"2 x 0.004, 2 x 0.010"`,
	`Ines /saw add name:"East saw" arbor:13/16`,
	`Ines /set add name:"Old case" pair:1/4`,
	`Wren /saw now`,
	`Ruth /saw now`,
	`Ada /set take set:"Blue case"`,
	`Ada /stack stock:0.703 lot:"oak ply 3"`,
	`Ada /testcut feel:snug`,
	`Ada /stack stock:0.500`,
	`Ada /gauge plan from:0.70 to:0.72 step:0.01`,
	`Ines /class roster member:Ada saw:"Starter saw"`,
}

type right struct{ line, may string }

// The lines that are not the command's own example, by command, and who may send
// them in the shop's own server: all, the one who made it or has it (Ada) and
// instructors, instructors alone, or administrators alone. Every other is for all.
var rightLines = map[string][]right{
	"testcut": {{`/testcut setup:1 feel:snug`, "all"}, {`/testcut undo setup:1`, "made"}},
	"gauge log": {
		{`/gauge log setup:3 widths:"0.700 0.710 0.720"`, "all"},
	},
	"print":      {{`/print what:card setup:1`, "all"}},
	"set add":    {{`/set add name:"Red case" pair:1/4`, "teach"}},
	"set change": {{`/set change set:"Blue case" piece:"chipper 1/8" measured:0.1235`, "teach"}, {`/set change set:"Blue case" piece:"chipper 1/8" out:1`, "all"}},
	"set retire": {{`/set retire set:"Old case"`, "teach"}},
	"set upkeep": {{`/set upkeep set:"Blue case" what:sharpened`, "teach"}},
	"set take":   {{`/set take set:"Old case"`, "all"}},
	"set hand":   {{`/set hand set:"Blue case" to:Wren`, "made"}},
	"set return": {{`/set return set:"Blue case"`, "made"}},
	"saw add":    {{`/saw add name:"West saw" arbor:13/16`, "teach"}},
	"saw change": {{`/saw change saw:"East saw" insert:13/16`, "teach"}},
	"saw retire": {{`/saw retire saw:"East saw"`, "teach"}},
	"units":      {{`/units unit:mm`, "all"}, {`/units unit:mm shop:yes`, "teach"}},
	"class review": {
		{`/class review`, "teach"},
		{`press 1:release:1:0:0:`, "teach"},
		{`press 1:back:1:0:0: word:"look again"`, "teach"},
		{`press 1:aside:2:0:0:`, "made"},
		{`press 1:pieces:1:0:0: cut:2`, "made"},
		{`press 1:down:0:0:0:1`, "all"},
		{`press 1:power:1:0:0:`, "all"},
	},
	"class roster":    {{`/class roster`, "all"}, {`/class roster member:Wren`, "teach"}, {`/class roster member:Wren saw:"East saw"`, "teach"}, {`/class roster member:Wren minor:yes`, "teach"}},
	"class settings":  {{`/class settings`, "teach"}, {`/class settings check-off:yes`, "teach"}, {`/class settings clear:instructors`, "admin"}},
	"class near-miss": {{`/class near-miss`, "teach"}, {`/class near-miss note:"a tooth is loose"`, "all"}},
	"class report":    {{`/class report`, "all"}, {`/class report csv:yes`, "all"}},
	"mydata erase":    {{`/mydata erase`, "all"}, {`/mydata erase sure:yes`, "all"}, {`/mydata erase member:Ada sure:yes`, "teach"}, {`press 1:erase:0:0:0:4`, "made"}},
}

// TestEveryCommandByRole is the matrix of every command by who sends it and where.
// In the shop's own server a member, one who is checked off, an instructor by role
// and an administrator; in a direct message, which tells no roles, the same four
// count as members; from another server nothing reaches this shop, whatever someone
// is there; who belongs to no shop gets nowhere by direct message. A refusal says
// what is wrong and who can, and changes nothing.
func TestEveryCommandByRole(t *testing.T) {
	dir := t.TempDir()
	seeded := shopAfter(t, filepath.Join(dir, "seed.db"), everythingSoFar)
	work := filepath.Join(dir, "work.db")
	fresh := func() (app *commands.App, done func()) {
		for _, suffix := range []string{"", "-wal", "-shm"} {
			_ = os.Remove(work + suffix)
		}
		if err := os.WriteFile(work, seeded, 0o600); err != nil {
			t.Fatal(err)
		}
		app, closeApp, err := openApp(testContext, work)
		if err != nil {
			t.Fatal(err)
		}
		return app, func() {
			if err := closeApp(); err != nil {
				t.Fatal(err)
			}
		}
	}
	state := func(app *commands.App) string { return boardAt(t, app) + "\n" + classAt(t, app) }

	app, done := fresh()
	untouched := state(app)
	done()
	for _, lines := range everyLine(t) {
		for _, tc := range lines {
			for _, who := range []string{"Wren", "Ada", "Ruth", "Ines"} {
				caller := someone(who)
				if who == "Ruth" {
					caller.Roles = []string{"role 7"}
				}
				teach := caller.Admin || who == "Ruth"
				for _, place := range []string{"own server", "direct message"} {
					if place == "direct message" {
						caller.ShopKey, caller.Roles, caller.Admin, teach = "", nil, false, false
					}
					may := tc.may == "all" || tc.may == "teach" && teach || tc.may == "made" && (teach || who == "Ada") || tc.may == "admin" && caller.Admin
					where := tc.line + " by " + who + " in " + place
					app, done := fresh()
					reply, err := ask1(app, caller, tc.line)
					var refused *commands.UserError
					switch {
					case may && err != nil:
						t.Errorf("%s: %v", where, err)
					case may && !reply.Private && private(tc.line):
						t.Errorf("%s: the answer is for everyone, and was deferred in private", where)
					case may:
					case !errors.As(err, &refused):
						t.Errorf("%s: %v, want a refusal", where, err)
					case !strings.Contains(refused.Message+refused.Hint, "nstructor"): // or the administrator, who makes instructors
						t.Errorf("%s: does not say who can: %s %s", where, refused.Message, refused.Hint)
					case state(app) != untouched:
						t.Errorf("%s was refused, and yet:\n%s\nbefore:\n%s", where, state(app), untouched)
					}
					done()
				}
			}
		}
	}

	elsewhere, done := fresh() // one for all: nothing of it may reach the shop
	defer done()
	for _, lines := range everyLine(t) {
		for _, tc := range lines {
			for _, who := range []string{"Olga", "Wren", "Ada", "Ruth", "Ines"} {
				caller := someone(who)
				caller.ShopKey, caller.Roles = "elsewhere", []string{"role 7"}
				_, err := ask1(elsewhere, caller, tc.line)
				var refused *commands.UserError
				if err != nil && !errors.As(err, &refused) {
					t.Errorf("%s by %s from another server: %v", tc.line, who, err)
				}
				if err == nil && (tc.may == "teach" || tc.may == "admin") && !caller.Admin {
					t.Errorf("%s by %s from another server: the role of this one counts there", tc.line, who)
				}
			}
			sid := someone("Sid")
			sid.ShopKey = ""
			if r, err := ask1(elsewhere, sid, tc.line); err == nil {
				t.Errorf("%s by one of no shop: %s", tc.line, r.Text)
			}
		}
	}
	if got := state(elsewhere); got != untouched {
		t.Errorf("another server changed this shop:\n%s\nbefore:\n%s", got, untouched)
	}
}

// everyLine is a line or more for each command there is.
func everyLine(t *testing.T) map[string][]right {
	t.Helper()
	out := map[string][]right{}
	add := func(name, example string) {
		if out[name] = rightLines[name]; out[name] == nil {
			out[name] = []right{{example, "all"}}
		}
	}
	for _, c := range commands.Commands() {
		for _, sub := range c.Subs {
			add(c.Name+" "+sub.Name, sub.Example)
		}
		if len(c.Subs) == 0 {
			add(c.Name, c.Example)
		}
	}
	for name := range rightLines {
		if out[name] == nil {
			t.Errorf("there is no command %s", name)
		}
	}
	return out
}
