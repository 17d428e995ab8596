package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/commands"
	"shimwright/storage"
)

// An evening of one shop, for the tests of rights: Ada has Blue case, made setups
// 1 to 3, loaded setup 1 and cut with it; setup 2 waits with an offer to leave
// the arbor alone, setup 3 is set aside.
var eveningSoFar = []string{
	`Ines /set add name:"Blue case" pair:1/4 chippers:"2 x 1/8" shims:"2 x 0.004"`,
	`Wren /saw now`,
	`Tomek /saw now`,
	`Ada /set take set:"Blue case"`,
	`Ada /stack stock:0.500 pieces:6`,
	`Ada press 1:loaded:1:0:0:`,
	`Ada /testcut feel:snug`,
	`Ada /stack stock:0.703`,
	`Ada /stack stock:0.703`,
	`Ada press 1:aside:3:0:0:`,
}

var evening = time.Date(2031, 3, 4, 18, 0, 0, 0, time.UTC)

func someone(name string) commands.Caller {
	return commands.Caller{Platform: "test", ShopKey: "shop", ShopName: "Shop", MemberKey: name, MemberName: name, Admin: name == "Ines", At: evening}
}

func ask1(app *commands.App, who commands.Caller, line string) (commands.Reply, error) {
	if rest, ok := strings.CutPrefix(line, "press "); ok {
		id, values, err := commands.ParsePress(rest)
		if err != nil {
			return commands.Reply{}, err
		}
		return app.Press(testContext, commands.Press{Caller: who, ID: id, Values: values})
	}
	name, options, err := commands.ParseLine(line)
	if err != nil {
		return commands.Reply{}, err
	}
	return app.Run(testContext, commands.Call{Caller: who, Name: name, Options: options})
}

func openTest(t *testing.T, path string) *commands.App {
	t.Helper()
	app, closeApp, err := openApp(testContext, path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = closeApp() })
	return app
}

// say sends lines, each with the name of who sends it before it.
func say(t *testing.T, app *commands.App, lines []string) {
	t.Helper()
	for _, line := range lines {
		who, rest, _ := strings.Cut(line, " ")
		if _, err := ask1(app, someone(who), rest); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
	}
}

// shopAfter makes the file of a shop in which these lines were sent, and in which
// role 7 makes an instructor, and gives its bytes.
func shopAfter(t *testing.T, path string, lines []string) []byte {
	t.Helper()
	app, closeApp, err := openApp(testContext, path)
	if err != nil {
		t.Fatal(err)
	}
	say(t, app, lines)
	if err := errors.Join(instructorRole(app, "role 7"), closeApp()); err != nil {
		t.Fatal(err)
	}
	made, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// TestShopRights is the matrix of who may do what: o a member of another server,
// m a member, k who made it or has it, r an instructor by role, a an
// administrator, d a member in a direct message. Those named may; the others get
// a plain refusal, and nothing changes.
func TestShopRights(t *testing.T) {
	dir := t.TempDir()
	seeded := shopAfter(t, filepath.Join(dir, "evening.db"), eveningSoFar)
	o := someone("Olga")
	o.ShopKey = "elsewhere"
	r, d := someone("Ruth"), someone("Wren")
	r.Roles, d.ShopKey = []string{"role 7"}, ""
	roles := map[byte]commands.Caller{'o': o, 'm': someone("Wren"), 'k': someone("Ada"), 'r': r, 'a': someone("Ines"), 'd': d}
	for i, tc := range []struct{ line, may string }{
		{`/class board`, "omkrad"},
		{`/class queue`, "omkrad"},
		{`/class review`, "ra"},
		{`/saw now`, "omkrad"},
		{`/set take set:"Starter metric set"`, "omkrad"}, // nobody has it; o's shop has its own
		{`/set take set:"Blue case"`, ""},                // Ada has it, and has it already
		{`/set hand set:"Blue case" to:Tomek`, "kra"},
		{`/set return set:"Blue case"`, "kra"},
		{`press 1:power:1:0:0:`, "mkrad"},
		{`press 1:loaded:2:0:0:`, "mkrad"},
		{`press 1:checked:1:1:0:1`, "mrad"}, // Ada loaded it
		{`press 1:down:0:0:0:1`, "mkrad"},
		{`press 1:keep:2:0:0:1`, "kra"},
		{`press 1:aside:2:0:0:`, "kra"},
		{`press 1:takeup:3:0:0:`, "kra"},
		{`press 1:pieces:1:0:0: cut:2`, "kra"},
		{`press 1:release:1:0:0:`, "ra"},
		{`press 1:back:1:0:0: word:"look again"`, "ra"},
		{`press 1:review:0:0:0:0`, "ra"},
		{`press 1:board:0:0:0:`, "omkrad"},
		{`press 1:take:0:0:0:2`, "mkrad"},
		{`press 1:return:0:0:0:4`, "kra"},
	} {
		for role, who := range roles {
			name := fmt.Sprintf("%d%c.db", i, role)
			if err := os.WriteFile(filepath.Join(dir, name), seeded, 0o600); err != nil {
				t.Fatal(err)
			}
			app, closeApp, err := openApp(testContext, filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			before := boardAt(t, app)
			reply, err := ask1(app, who, tc.line)
			if err == nil && reply.Private != private(tc.line) {
				t.Errorf("%s by %c: private %v, and it was deferred as %v", tc.line, role, reply.Private, private(tc.line))
			}
			var refused *commands.UserError
			switch may := strings.IndexByte(tc.may, role) >= 0; {
			case may && err != nil:
				t.Errorf("%s by %c: %v", tc.line, role, err)
			case !may && (!errors.As(err, &refused) || refused.Message == "" || refused.Hint == ""):
				t.Errorf("%s by %c: %v, want a plain refusal", tc.line, role, err)
			case !may && boardAt(t, app) != before:
				t.Errorf("%s by %c was refused, and yet:\n%s\n%s", tc.line, role, before, boardAt(t, app))
			}
			if err := closeApp(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// private says how an adapter defers a line, before the reply is known.
func private(line string) bool {
	if id, ok := strings.CutPrefix(line, "press "); ok {
		id, _, _ = strings.Cut(id, " ")
		return commands.PrivatePress(id)
	}
	for _, c := range commands.Commands() {
		for _, sub := range c.Subs {
			if strings.HasPrefix(line+" ", "/"+c.Name+" "+sub.Name+" ") {
				return sub.Private
			}
		}
	}
	return false
}

// instructorRole sets the role that makes an instructor.
func instructorRole(app *commands.App, role string) error {
	shop, err := app.Store.EnsureShop(testContext, "test:shop", "Shop", storage.Start{}, evening)
	if err != nil {
		return err
	}
	_, err = app.Store.UpdateShop(testContext, shop.ID, func(s *storage.Shop) error { s.Settings.InstructorRole = role; return nil })
	return err
}

// boardAt is the shop's state as the board and the review tell it.
func boardAt(t *testing.T, app *commands.App) string {
	t.Helper()
	var all []string
	for _, line := range []string{`/class board`, `/class review`, `/class queue`} {
		r, err := ask1(app, someone("Ines"), line)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r.Text)
	}
	return strings.Join(all, "\n")
}

// TestFiftyTakeOneSet: of fifty members who ask for one set at the same moment
// one gets it, and each of the others learns who has it.
func TestFiftyTakeOneSet(t *testing.T) {
	app := openTest(t, filepath.Join(t.TempDir(), "race.db"))
	const n = 50
	for i := range n { // known to the shop, as in an ordinary class
		if _, err := ask1(app, someone(fmt.Sprintf("Member %02d", i)), `/set show`); err != nil {
			t.Fatal(err)
		}
	}
	var wg sync.WaitGroup
	errs := make([]error, n)
	start := make(chan struct{})
	for i := range n {
		wg.Go(func() {
			<-start
			_, errs[i] = ask1(app, someone(fmt.Sprintf("Member %02d", i)), `/set take set:"Starter inch set"`)
		})
	}
	close(start)
	wg.Wait()
	winner := -1
	for i, err := range errs {
		if err == nil {
			if winner >= 0 {
				t.Fatalf("members %d and %d both got it", winner, i)
			}
			winner = i
		}
	}
	if winner < 0 {
		t.Fatalf("nobody got it: %v", errs[0])
	}
	want := fmt.Sprintf("Starter inch set is with Member %02d since 4 Mar 18:00.", winner)
	for i, err := range errs {
		var told *commands.UserError
		if i != winner && (!errors.As(err, &told) || told.Message != want) {
			t.Errorf("member %d: %v, want %q", i, err, want)
		}
	}
	r, err := ask1(app, someone("Ines"), `/class board`)
	if err != nil || !strings.Contains(r.Text, fmt.Sprintf("Starter inch set: with Member %02d since 4 Mar 18:00.", winner)) {
		t.Errorf("the board says\n%s\n%v", r.Text, err)
	}
}
