package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"shimwright/commands"
)

// deferral ends every reply about a setup, in words that are not looked up.
const deferral = "your instructor decide."

// TestRepliesOfAnEvening holds every reply of an evening, typed and pressed, to
// what a chat takes and to what has to stand in it.
func TestRepliesOfAnEvening(t *testing.T) {
	app, closeApp, err := openApp(testContext, t.TempDir()+"/evening.db")
	if err != nil {
		t.Fatal(err)
	}
	defer closeApp()
	b := newBench(t)
	who := commands.Caller{Platform: "test", ShopKey: "shop", ShopName: "Shop", MemberKey: "me", MemberName: "Me", Admin: true, At: b.clock}
	long := strings.Repeat("W", 40)
	var many []string
	for i := range 64 {
		many = append(many, fmt.Sprintf("0.7%02d", i))
	}
	lines := []string{
		`/set add name:"` + long + `" pair:1/4 chippers:"4 x 1/8, 4 x 3/32, 4 x 1/16, 1 x 0.110, 1 x 0.100, 1 x 0.080, 1 x 0.050" ` +
			`shims:"4 x 0.004, 4 x 0.005, 4 x 0.006, 4 x 0.007, 4 x 0.008, 4 x 0.009, 4 x 0.010, 4 x 0.012, 2 x 0.015, 2 x 0.020, 2 x 0.025, 2 x 0.031" diameter:8 max-speed:7000 max-width:1 teeth:24 chipper-teeth:7`,
		`/saw add name:"` + strings.Repeat("M", 40) + `" arbor:1 insert:1-1/8 largest:10 smallest:6 speed:4000 nut:left outer-flange:may-be-off fence:allowed brake:yes`,
		`/stack stock:"0.703 0.705 45/64" depth:5/8 set:` + long + ` saw:MMM`,
		`/testcut feel:tight note:"` + strings.Repeat("n", 200) + `"`, `/testcut feel:snug`, `/testcut feel:snug`,
		`/stack stock:"` + strings.Join(many, " ") + `"`, `/stack stock:"0.9921875 0.9931234" set:` + long,
		`/stack stock:3/4 set:Starter-nothing`,
		`/stack stock:3/4 set:"Starter inch set" saw:Starter`, `/testcut feel:loose`, `/testcut slips:3`, `/testcut kept feel:sloppy`,
		`/testcut groove:0.757 mouth:0.7575 piece:0.752`, `/testcut groove:0.757 mouth:0.79`, `/testcut undo`,
		`/stack stock:2.5`, `/testcut feel:tight`, `/stack stock:0.28`, `/stack stock:0.2`, `/stack stock:0.2 set:"Plain blade"`,
		`/testcut feel:tight`, `/stack stock:1/2 joint:rabbet width:3/8 set:"Starter inch set"`, `/testcut groove:3/8`,
		`/stack stock:"0.7 0.703" joint:groove aim:0.012 depth:1/16`, `/stack stock:18mm set:"Starter metric set"`, `/units unit:mm`,
		`/stack stock:"17.9 18" depth:6`, `/testcut feel:tight`, `/fit stock:"17.1 19" groove:18 mouth:25`, `/fit stock:11/16in groove:3/4in`,
		`/setups`, `/setups setup:1`, `/setups whose:shop`, `/set show`, `/set show set:` + long, `/saw show saw:MMM`, `/saw show`,
		`/help`, `/help command:set`, `/help command:stack`, `/safety`, `/units unit:in`,
	}
	answered := 0
	for _, line := range lines {
		name, options, err := commands.ParseLine(line)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		r, err := app.Run(testContext, commands.Call{Caller: who, Name: name, Options: options})
		if err != nil {
			checkRefusal(t, line, err)
			continue
		}
		answered++
		checkReply(t, line, r)
		for _, press := range r.Details {
			again, err := app.Press(testContext, commands.Press{Caller: who, ID: press.Action.ID})
			if err != nil {
				t.Errorf("%s, [%s]: %v", line, press.Action.Label, err)
				continue
			}
			where := line + ", [" + press.Action.Label + "]"
			checkReply(t, where, again)
			if again.Text != press.Text || !again.Private {
				t.Errorf("%s: the button says\n%s\nthe terminal\n%s", where, again.Text, press.Text)
			}
		}
		for _, press := range r.Actions {
			if press.Form == nil && strings.Contains(press.ID, ":setup:") {
				again, err := app.Press(testContext, commands.Press{Caller: who, ID: press.ID})
				if err != nil {
					t.Errorf("%s, [%s]: %v", line, press.Label, err)
				}
				checkReply(t, line+", ["+press.Label+"]", again)
			}
		}
	}
	if answered < len(lines)-1 { // one names a set that is not there
		t.Errorf("%d of %d lines were answered", answered, len(lines))
	}
}

func checkReply(t *testing.T, where string, r commands.Reply) {
	t.Helper()
	fail := func(format string, args ...any) {
		t.Helper()
		t.Errorf("%s: "+format+"\n%s", append(append([]any{where}, args...), r.Text)...)
	}
	// Discord counts UTF-16 units; the first line becomes bold with four more.
	if n := units(r.Text) + 4; n > 2000 && !strings.HasPrefix(where, "/help command:set") {
		fail("%d characters", n)
	}
	rows := map[int]int{}
	for _, a := range r.Actions {
		rows[a.Row]++
		checkAction(t, where, a)
	}
	total := 0
	for row, n := range rows {
		total += (n + 4) / 5
		if n > 5 {
			fail("%d buttons in row %d", n, row)
		}
	}
	for _, d := range r.Details {
		checkAction(t, where, d.Action)
		if units(d.Text)+4 > 2000 {
			fail("detail %s has %d characters", d.Action.Label, units(d.Text))
		}
	}
	if total += (len(r.Details) + 4) / 5; total > 5 {
		fail("%d rows of buttons", total)
	}
	text := strings.TrimSpace(r.Text)
	if strings.Contains(text, "Load from the inner flange") {
		for _, must := range []string{"nut tight to a wrench", "Before you touch the arbor: power disconnected"} {
			if !strings.Contains(text, must) {
				fail("a stack without %q", must)
			}
		}
		if !strings.HasSuffix(text, deferral) {
			fail("a stack without the deferral at its end")
		}
	}
	if strings.Contains(text, "Cautions") && !strings.HasSuffix(text, deferral) {
		fail("cautions that do not end with the deferral")
	}
	if bad := clumsy.FindString(strings.ReplaceAll(text, "\n  ", "\n")); bad != "" {
		fail("has %q", bad)
	}
}

// clumsy is wording that only a slip leaves in a reply.
var clumsy = regexp.MustCompile(`  |\bin in\b|\bmm mm\b|\.\.|!|<nil>| [,.]`)

func checkAction(t *testing.T, where string, a commands.Action) {
	t.Helper()
	if n := units(a.ID); n < 1 || n > 100 {
		t.Errorf("%s: the id %q has %d characters", where, a.ID, n)
	}
	if n := units(a.Label); n < 1 || n > 80 {
		t.Errorf("%s: the label %q has %d characters", where, a.Label, n)
	}
	if a.Form != nil {
		form, ok := commands.FormFor(a.ID)
		if !ok || form.Title != a.Form.Title {
			t.Errorf("%s: the form of %q is not the one that its id opens", where, a.Label)
		}
	}
}

func checkRefusal(t *testing.T, where string, err error) {
	t.Helper()
	bad, ok := err.(*commands.UserError)
	if !ok {
		t.Errorf("%s: a fault: %v", where, err)
		return
	}
	if bad.Message == "" || bad.Hint == "" || units(bad.Message+bad.Hint)+10 > 2000 {
		t.Errorf("%s: message %q, hint %q", where, bad.Message, bad.Hint)
	}
}

func units(s string) int { return len(utf16.Encode([]rune(s))) }
