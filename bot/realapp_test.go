package bot

import (
	"context"
	"database/sql"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// The App that ships, over the wire: from three readings to "dialled in".
func TestRealAppDialsIn(t *testing.T) {
	t.Parallel()
	r := newRig(t, shipping(t)).start()
	a := r.settled(r.stack("0.703 45/64 0.705"))
	if !strings.HasPrefix(a.Content, "**Stack: ") || len(a.Components) == 0 || len(a.Components) > maxRows {
		t.Fatalf("answer %+v", a)
	}
	for _, b := range a.Buttons() { // every button is answered
		ia := r.server.Press(r.mira, a.Message, b.CustomID)
		p := r.settled(ia)
		if strings.Contains(p.Content, "reference") {
			t.Errorf("%s: %s", b.Label, p.Content)
		}
		if p.Modal != nil && len(p.Modal.Inputs()) == 0 {
			t.Errorf("%s opens an empty form", b.Label)
		}
	}
	a = r.settled(r.stack("0.703 45/64 0.705"))
	for _, feel := range []string{"Tight", "Snug", "Snug"} {
		a = r.settled(r.server.Press(r.mira, a.Message, a.Button(feel)))
		if !strings.Contains(a.Content, "logged") {
			t.Fatalf("%s: %s", feel, a.Content)
		}
	}
	if !strings.Contains(strings.ToLower(a.Content), "dialled in") {
		t.Errorf("after two snug cuts: %s", a.Content)
	}
	c := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "metric"))))
	if len(c.Choices) != 1 {
		t.Errorf("choices %+v", c.Choices)
	}
	if bad := r.settled(r.stack("three")); !bad.Ephemeral() || !strings.Contains(bad.Content, "stock") {
		t.Errorf("a reading that is none: %+v", bad)
	}
}

// sleepy is an App that takes its time over presses.
type sleepy struct{ App }

func (s sleepy) Press(ctx context.Context, p commands.Press) (commands.Reply, error) {
	time.Sleep(tooLong)
	return s.App.Press(ctx, p)
}

// The buttons of outcomes are deferred in public. A second tap, and a press after
// the stack was changed, get their answer in private all the same.
func TestRealAppSlowPressesStayPrivate(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		app, _ := openApp(t)
		r.cfg.App, r.cfg.Commands = sleepy{app}, commands.Commands()
		r.cfg.FormFor, r.cfg.PrivatePress = nil, nil
	}).start()
	shown := r.settled(r.stack("0.703 45/64 0.705"))
	if a := r.settled(r.server.Press(r.mira, shown.Message, shown.Button("Snug"))); !strings.Contains(a.Content, "Cut 1 logged") || a.Ephemeral() {
		t.Fatalf("the first tap: %+v", a)
	}
	ia := r.server.Press(r.mira, shown.Message, shown.Button("Snug"))
	steps, err := ia.WaitSteps(soon(t), 3)
	if err != nil {
		t.Fatal(err, ia.Steps())
	}
	if steps[1].Content != sayApart || steps[1].Ephemeral() || len(steps[1].Buttons()) != 0 {
		t.Errorf("in public: %+v", steps[1])
	}
	if a := steps[2]; !a.Ephemeral() || !strings.Contains(a.Content, "logged as cut 1") || len(a.Buttons()) == 0 {
		t.Errorf("in private: %+v", a)
	}
}

// shipping makes the rig's bot the one that ships, over a database of its own.
func shipping(t *testing.T) func(*rig) {
	return func(r *rig) {
		r.cfg.App, r.db = openApp(t)
		r.cfg.Commands = commands.Commands()
		r.cfg.FormFor, r.cfg.PrivatePress = nil, nil
	}
}

// Forty minutes after its setup, from the first button, after a restart, by
// another bench, and after the stack was changed: the test cut is logged against
// the stack that the button showed, and the present one is shown in private with
// fresh buttons. A second tap and a redelivery count nothing more.
func TestRealAppLateButton(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	later := func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
	r := newRig(t, func(r *rig) {
		shipping(t)(r)
		r.server.Now, r.cfg.Now = later, later
	}).start()
	first := r.settled(r.stack("0.703 45/64 0.705"))
	shown := firstStack.FindString(first.Content)
	changed := r.settled(r.server.Press(r.mira, first.Message, first.Button("Use other stack 1")))
	if now := firstStack.FindString(changed.Content); shown == "" || now == shown {
		t.Fatalf("the stack did not change: %q, %q", shown, now)
	}
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	ahead.Store(int64(40 * time.Minute))
	r.log = &logbook{}
	again := newRigConfig(r.server, commands.Commands(), r.log)
	again.App, again.Now, again.FormFor, again.PrivatePress = r.cfg.App, later, nil, nil
	r.cfg = again
	r.start()

	jun := r.server.AddUser("jun")
	r.hall.Join(jun)
	press := r.server.Press(jun, first.Message, first.Button("Tight"))
	a := r.settled(press)
	if !strings.Contains(a.Content, "Cut 1 logged: tight, for the stack that the button showed: "+shown) {
		t.Errorf("the late press: %s", a.Content)
	}
	if !a.Ephemeral() || !strings.Contains(a.Content, "Stack: "+firstStack.FindString(changed.Content)) || a.Button("Snug") == "" {
		t.Errorf("the present stack, in private with fresh buttons: %+v", a)
	}
	r.server.Redeliver(press)
	if b := r.settled(r.server.Press(r.mira, first.Message, first.Button("Snug"))); !b.Ephemeral() || !strings.Contains(b.Content, "Already logged as cut 1") {
		t.Errorf("a second tap: %+v", b)
	}
	if cuts := loggedCuts(t, r.db); len(cuts) != 1 || cuts[press.ID] != 1 {
		t.Errorf("in the log: %v", cuts)
	}
}

var firstStack = regexp.MustCompile(`pair [^.]*(?:\.[0-9]+[^.]*)*`)

// A database that somebody else holds: an apology with a reference that the log
// repeats, and nothing is logged; free again, all is well.
func TestRealAppLockedDatabase(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		shipping(t)(r)
		r.cfg.pace.deferAfter = 1500 * time.Millisecond // as it ships
	}).start()
	first := r.settled(r.stack("0.703 45/64 0.705"))
	db, err := sql.Open("sqlite3", r.db)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	hold, err := db.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer hold.Close()
	if _, err := hold.ExecContext(t.Context(), "BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	a := r.settled(r.server.Press(r.mira, first.Message, first.Button("Tight")))
	ref := regexp.MustCompile(`reference ([0-9a-f]{8})`).FindStringSubmatch(a.Content)
	if ref == nil || !a.Ephemeral() || !strings.Contains(r.log.String(), ref[1]) {
		t.Errorf("with the database locked: %+v\n%s", a, r.log)
	}
	if _, err := hold.ExecContext(t.Context(), "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if a := r.settled(r.server.Press(r.mira, first.Message, first.Button("Tight"))); !strings.Contains(a.Content, "Cut 1 logged") {
		t.Errorf("free again: %s", a.Content)
	}
}

// Nothing that members type or are called, and no token, is logged; nor is any of
// it a label of the metrics.
func TestRealAppLogsNoUserText(t *testing.T) {
	t.Parallel()
	r := newRig(t, shipping(t))
	named := []string{"Zebra hall", "zebrabench", "zebramira", "zebrarole", "zebra 0.7", "zebranote", "zebraset", "zebrazone"}
	zoo := r.server.AddGuild(named[0])
	bench, mira, role := zoo.Channel(named[1]), r.server.AddUser(named[2]), zoo.AddRole(named[3], fakediscord.PermissionAdministrator)
	zoo.Join(mira, role)
	r.start()
	first := r.settled(r.server.Command(mira, bench, "stack", fakediscord.String("stock", "23/32")))
	for _, ia := range []*fakediscord.Interaction{
		r.server.Command(mira, bench, "stack", fakediscord.String("stock", named[4])),
		r.server.Command(mira, bench, "testcut", fakediscord.String("feel", "snug"), fakediscord.String("note", named[5])),
		r.server.Command(mira, bench, "set", fakediscord.Sub("show", fakediscord.String("set", named[6]))),
		r.server.Command(mira, bench, "class", fakediscord.Sub("settings", fakediscord.OfRole("instructors", role), fakediscord.OfChannel("review", bench))),
		r.server.Command(mira, bench, "class", fakediscord.Sub("settings", fakediscord.String("zone", named[7]))),
		r.server.Complete(mira, bench, "stack", fakediscord.Focus(fakediscord.String("set", named[6]))),
		r.server.Press(mira, first.Message, "1:zebra:button"),
		r.server.Command(mira, bench, "zebra"),
		r.server.Select(mira, first.Message, "zebra", "zebra"),
	} {
		r.settled(ia)
		if strings.Contains(r.log.String(), ia.Token) {
			t.Errorf("an interaction's token is in the log:\n%s", r.log)
		}
	}
	db, err := sql.Open("sqlite3", r.db)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(t.Context(), "DROP TABLE stacks"); err != nil { // every setup fails from here on
		t.Fatal(err)
	}
	if a := r.settled(r.server.Command(mira, bench, "stack", fakediscord.String("stock", "23/32"), fakediscord.String("lot", "zebra lot"))); !strings.Contains(a.Content, "reference") {
		t.Errorf("with a table gone: %+v", a)
	}
	for where, text := range map[string]string{"log": r.log.String(), "metrics": metricText(t, r)} {
		if low := strings.ToLower(text); strings.Contains(low, "zebra") || strings.Contains(text, testToken) {
			t.Errorf("the %s carries what a member typed:\n%s", where, text)
		}
	}
}
