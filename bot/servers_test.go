package bot

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// The App gets the server's name with every request in it, a new one once the old
// is old, and none in a direct message; asking for it holds nobody up.
func TestServersByName(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var heard []string
	r := newRig(t, func(r *rig) {
		r.cfg.pace.nameOld, r.cfg.pace.nameWait = 2*time.Second, 5*time.Second
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			mu.Lock()
			defer mu.Unlock()
			heard = append(heard, c.ShopName)
			return commands.Reply{Text: "ok"}, nil
		}
	}).start()
	last := func() string {
		mu.Lock()
		defer mu.Unlock()
		return heard[len(heard)-1]
	}
	for range 3 {
		if r.settled(r.stack("1")); last() != "Evening class" {
			t.Errorf("the App heard %q", last())
		}
	}
	if n := r.server.Requests(fakediscord.RouteGuild); n != 1 {
		t.Errorf("the name was asked for %d times, want 1", n)
	}
	if r.settled(r.server.Command(r.mira, r.server.DM(r.mira), "stack")); last() != "" {
		t.Errorf("in a direct message the App heard %q", last())
	}
	r.hall.Rename("Saturday class")
	if err := waitFor(func() bool { r.settled(r.stack("1")); return last() == "Saturday class" }); err != nil {
		t.Errorf("renamed, the App still hears %q", last())
	}
	if strings.Contains(r.log.String(), "class") {
		t.Errorf("the name is in the log:\n%s", r.log)
	}
}

// A name that cannot be had is done without, and not asked for with each request.
func TestServersWithoutName(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]fakediscord.Fault{
		"not in the server": {Status: 403},
		"slow":              {Delay: time.Hour},
		"limited":           {Status: 429, RetryAfter: time.Second},
		"a page":            {HTML: true, Status: 502},
		"dropped":           {Drop: true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
					return commands.Reply{Text: "at " + c.ShopName + "."}, nil
				}
			}).start()
			fault.Route, fault.Times = fakediscord.RouteGuild, -1
			r.server.Inject(fault)
			for range 3 {
				if a := r.settled(r.stack("1")); a.Type != fakediscord.CallbackMessage || a.Content != "**at .**" {
					t.Errorf("answer %+v", a)
				}
			}
			// Go's client itself repeats a GET whose connection was closed under it.
			if n := r.server.Requests(fakediscord.RouteGuild); n != 1 && !(fault.Drop && n == 2) {
				t.Errorf("the name was asked for %d times, want 1", n)
			}
		})
	}
}

// In a direct message a member of two servers picks one by its name; a renamed
// server is offered by the new one.
func TestRealAppAsksWhichShop(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		shipping(t)(r)
		r.cfg.pace.nameOld, r.cfg.pace.nameWait = 100*time.Millisecond, 5*time.Second
	}).start()
	direct := func() fakediscord.Answer { return r.settled(r.server.Command(r.mira, r.server.DM(r.mira), "setups")) }
	if a := direct(); !strings.Contains(a.Content, "which shop") {
		t.Errorf("of no shop yet: %s", a.Content)
	}
	r.settled(r.stack("23/32"))
	if a := direct(); len(a.Buttons()) == 0 || strings.Contains(a.Content, "Which shop") {
		t.Errorf("of one shop: %+v", a)
	}
	annex := r.server.AddGuild("Saturday class")
	annex.Join(r.mira)
	elsewhere := func() { r.settled(r.server.Command(r.mira, annex.Channel("annex"), "setups")) }
	elsewhere()
	ask := direct()
	if !ask.Ephemeral() || ask.Button("Evening class") == "" || ask.Button("Saturday class") == "" {
		t.Fatalf("of two shops: %+v", ask)
	}
	annex.Rename("Sunday class")
	if err := waitFor(func() bool {
		time.Sleep(120 * time.Millisecond)
		elsewhere()
		ask = direct()
		return ask.Button("Sunday class") != ""
	}); err != nil {
		t.Fatalf("renamed: %+v", ask)
	}
	if a := r.settled(r.server.Press(r.mira, ask.Message, ask.Button("Evening class"))); !strings.Contains(a.Content, "Evening class") {
		t.Errorf("picked: %+v", a)
	}
	if a := direct(); len(a.Buttons()) == 0 || strings.Contains(a.Content, "Which shop") {
		t.Errorf("after the pick: %+v", a)
	}
}
