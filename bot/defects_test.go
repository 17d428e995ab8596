package bot

import (
	"context"
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
	"shimwright/commands/drawing"
)

// The defects are those of discordgo v0.29.0 that this package guards against.
// Numbers 1, 2, 3, 12, 13 and 14 are in supervise_test.go, 4 in answer_test.go.

// Defect 5: kinds that are not known yet decode to nothing, and the library's
// getters then panic. Ours are answered politely or left alone.
func TestDefect05UnknownKinds(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil).start()
	polite := map[string]*fakediscord.Interaction{
		"a select menu":        r.server.Select(r.mira, fakediscord.Message{ChannelID: r.bench.ID}, "x", "y"),
		"component type 99":    r.server.Send(r.mira, r.bench, 3, map[string]any{"custom_id": "x", "component_type": 99}),
		"component of nobody":  r.server.Send(r.mira, r.bench, 3, map[string]any{}),
		"component, null":      r.server.Send(r.mira, r.bench, 3, nil),
		"a user command":       r.server.Send(r.mira, r.bench, 2, map[string]any{"id": "1", "name": "x", "type": 2}),
		"data of another kind": r.server.Send(r.mira, r.bench, 2, []int{1}),
		"form without an id":   r.server.Send(r.mira, r.bench, 5, map[string]any{"components": []any{map[string]any{"type": 77}}}),
	}
	for name, ia := range polite {
		a := r.settled(ia)
		if a.Content != sayUnknown || !a.Ephemeral() {
			t.Errorf("%s: %+v", name, a)
		}
	}
	form := r.server.Send(r.mira, r.bench, 5, map[string]any{"custom_id": "x", "components": []any{map[string]any{"type": 77, "thing": 1}}})
	if a := r.settled(form); a.Content != "**pressed**" {
		t.Errorf("a form with a strange part: %+v", a)
	}
	r.server.Send(r.mira, r.bench, 6, map[string]any{"x": 1})
	answersAgain(t, r)
	if !strings.Contains(metricText(t, r), `shimwright_interactions_total{command="unknown",outcome="ignored"}`) {
		t.Error("what was ignored is not counted")
	}
}

// Defect 6: all edits share one bucket in the library. Here an interaction whose
// edit is limited holds up no other.
func TestDefect06EachTokenItsOwnBucket(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) { r.app.run = slowly(commands.Reply{Text: "ok"}, nil) }).start()
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteOriginal, Status: 429, RetryAfter: 5 * time.Second})
	limited := r.stack("1")
	if err := waitFor(func() bool { return r.server.Requests(fakediscord.RouteOriginal) == 1 }); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		r.settled(r.stack("2"))
	}
	if n := len(limited.Steps()); n != 1 {
		t.Errorf("the others waited: the limited one has %d steps by now", n)
	}
	r.settled(limited)
}

// Defect 7: the library sleeps through a 429 whatever the context says.
func TestDefect07RateLimitsHeedTheContext(t *testing.T) {
	t.Parallel()
	for _, route := range []fakediscord.Route{fakediscord.RouteCallback, fakediscord.RouteOriginal} {
		t.Run(string(route), func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.app.run = slowly(commands.Reply{Text: "ok"}, nil)
			}).start()
			r.server.Inject(fakediscord.Fault{Route: route, Status: 429, RetryAfter: time.Hour})
			r.stack("1")
			// An hour is beyond the 3 s of an answer and the 15 min of a token.
			if err := waitFor(func() bool { return strings.Contains(r.log.String(), "did not arrive") }); err != nil {
				t.Error("it waits", err)
			}
			if n := r.server.Requests(route); n != 1 {
				t.Errorf("%d tries, want 1", n)
			}
		})
	}
}

// A limit that is shorter, and running, ends with the context.
func TestDefect07WaitingEndsWithTheContext(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.pace.drain = 300 * time.Millisecond
		r.app.run = slowly(commands.Reply{Text: "ok"}, nil)
	}).start()
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteOriginal, Status: 429, RetryAfter: 10 * time.Minute})
	r.stack("1")
	if err := waitFor(func() bool { return r.server.Requests(fakediscord.RouteOriginal) == 1 }); err != nil {
		t.Fatal(err)
	}
	if err := r.stop(); err != nil { // in 15 s, not in ten minutes
		t.Fatal(err)
	}
}

// Defect 7, in part: a 429 of a proxy is an HTML page and reads as bad JSON in
// the library; its Retry-After holds all the same.
func TestDefect07HTMLRateLimits(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil)
	c := must(newREST(must(r.cfg.filled())))
	defer c.close()
	r.server.Inject(fakediscord.Fault{Status: 429, HTML: true, RetryAfter: 7 * time.Second})
	_, err := c.do(context.Background(), newLane(), "GET", "/applications/@me", "application/json", nil)
	if f := explain(err); f.status != 429 || f.retry != 7*time.Second {
		t.Errorf("read as %+v", f)
	}
}

// Defect 8: what is empty must be written as empty, or the old stays; and null
// must not be written at all.
func TestDefect08EmptyIsWritten(t *testing.T) {
	for name, tt := range map[string]struct{ got, want any }{
		"update":      {callback{Type: cbUpdate, Data: plain("x", false)}, `{"type":7,"data":{"content":"x","allowed_mentions":{"parse":[]},"embeds":[],"components":[],"attachments":[]}}`},
		"completions": {callback{Type: cbCompletions, Data: renderChoices(nil)}, `{"type":8,"data":{"choices":[]}}`},
		"commands":    {define(nil, false), `[]`},
		"form":        {renderForm("x", commands.Form{Title: "t"}), `{"custom_id":"x","title":"t","components":[]}`},
	} {
		if got := mustJSON(t, tt.got); got != tt.want {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// Defect 9: the library's debug output and its errors carry tokens. Neither is
// on, and no error is logged as it came.
func TestDefect09NoTokenIsLogged(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) { r.cfg.pace.window = 400 * time.Millisecond }).start()
	s, err := newSession(must(r.cfg.filled()), nil)
	if err != nil || s.Debug || s.LogLevel >= 0 {
		t.Errorf("debug %v, log level %d, %v", s.Debug, s.LogLevel, err)
	}
	for _, f := range []fakediscord.Fault{{Drop: true}, {Status: 429, RetryAfter: time.Minute}, {Status: 400}, {Status: 502, HTML: true}, {Status: 404}} {
		f.Route, f.Times = fakediscord.RouteCallback, -1
		r.server.Inject(f)
		ia := r.stack("what the member typed")
		before := strings.Count(r.log.String(), "did not arrive")
		if err := waitFor(func() bool { return strings.Count(r.log.String(), "did not arrive") > before }); err != nil {
			t.Errorf("%+v left nothing in the log", f)
		}
		r.server.ClearFaults()
		for _, secret := range []string{ia.Token, testToken, "what the member typed"} {
			if strings.Contains(r.log.String(), secret) {
				t.Errorf("%q is in the log:\n%s", secret, r.log)
			}
		}
	}
}

// Defect 10: in a direct message there is no member.
func TestDefect10DirectMessages(t *testing.T) {
	t.Parallel()
	var got atomic.Value
	r := newRig(t, func(r *rig) {
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			got.Store(c.Caller)
			return commands.Reply{Text: "x", Actions: []commands.Action{{ID: "b", Label: "B"}}}, nil
		}
	}).start()
	a := r.settled(r.server.Command(r.mira, r.server.DM(r.mira), "stack"))
	c := got.Load().(commands.Caller)
	if c.MemberKey != r.mira.ID || c.ShopKey != "" || c.Admin || c.Roles != nil {
		t.Errorf("caller %+v", c)
	}
	if p := r.settled(r.server.Press(r.mira, a.Message, "b")); p.Content != "**pressed**" {
		t.Errorf("press %+v", p)
	}
}

// Defect 11: the library's go.mod asks for golang.org/x/crypto of 2021.
func TestDefect11CryptoIsCurrent(t *testing.T) {
	mod, err := os.ReadFile("../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`golang\.org/x/crypto v0\.(\d+)\.\d+\b`).FindSubmatch(mod)
	if m == nil {
		t.Fatal("go.mod does not require golang.org/x/crypto")
	}
	// v0.45.0 mended the latest advisories of its ssh package (November 2025).
	if minor, err := strconv.Atoi(string(m[1])); err != nil || minor < 45 {
		t.Errorf("golang.org/x/crypto v0.%s is old", m[1])
	}
}

// Defect 15: the library asks for most intents and keeps a copy of the world.
func TestDefect15NoIntentsNoState(t *testing.T) {
	s, err := newSession(must(newRigConfig(&fakediscord.Server{}, nil, &logbook{}).filled()), nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.Identify.Intents != 0 || s.StateEnabled || s.ShouldReconnectOnError || s.ShouldRetryOnRateLimit || s.MaxRestRetries != 0 {
		t.Errorf("intents %d, state %v, reconnect %v, retry %v, %d retries", s.Identify.Intents, s.StateEnabled, s.ShouldReconnectOnError, s.ShouldRetryOnRateLimit, s.MaxRestRetries)
	}
}

// Defect 16: the library keeps every bucket for ever. Ours go with their
// interaction, so the session's own stay as many as there are routes.
func TestDefect16BucketsDoNotPileUp(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil)
	cfg := must(r.cfg.filled())
	c := must(newREST(cfg))
	defer c.close()
	if err := c.whoAmI(context.Background()); err != nil {
		t.Fatal(err)
	}
	d := newDesk(cfg, c, newMetrics(cfg.Metrics))
	for i := range 50 {
		id := strconv.FormatInt((time.Now().UnixMilli()-1420070400000)<<22+int64(i), 10)
		d.take([]byte(`{"type":2,"id":"`+id+`","token":"t`+id+`","user":{"id":"5"},"data":{"name":"stack"}}`), nil)
	}
	d.drain()
	if n := r.server.Requests(fakediscord.RouteCallback); n != 50 {
		t.Errorf("%d callbacks", n)
	}
	if n := reflect.ValueOf(c.session.Ratelimiter).Elem().FieldByName("buckets").Len(); n != 0 {
		t.Errorf("%d buckets are left", n)
	}
}

// Defect 17: the library cannot send a picture's alt text, nor say in an edit
// which attachments stay.
func TestDefect17AltTextInEdits(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.Draw = func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
		r.app.run = slowly(commands.Reply{Text: "x", Pictures: []commands.Picture{{Name: "fit", Alt: "says the same"}}}, nil)
	}).start()
	a := r.settled(r.stack("1"))
	if a.Step != fakediscord.StepEdit || len(a.Files) != 1 || a.Files[0].Description != "says the same" {
		t.Errorf("answer %+v", a)
	}
}

// Rule: mentions are never parsed, whatever a member's name or note says.
func TestRuleNothingMentions(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			return commands.Reply{Text: "for @everyone\n<@1> <#2> https://example.invalid *x*"}, nil
		}
	}).start()
	a := r.settled(r.stack("1"))
	for _, bad := range []string{"@everyone", "<@", "<#", "://", " *x"} {
		if strings.Contains(a.Content, bad) {
			t.Errorf("%q is live in %q", bad, a.Content)
		}
	}
}

// What Discord refuses is answered with an apology, and can be found in the log.
func TestRefusedAnswerIsApologisedFor(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil).start()
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteCallback, Status: 400})
	if a := r.settled(r.stack("1")); !strings.Contains(a.Content, "reference") || !a.Ephemeral() {
		t.Errorf("answer %+v", a)
	}
}

// Rule: an administrator is one by the permission bits, not by a name.
func TestRuleAdministratorBits(t *testing.T) {
	for bits, want := range map[string]bool{"8": true, "2147483656": true, "0": false, "2147483647": true, "32": false, "": false, "x": false, "2199023255551": true} {
		in := interaction{Member: &member{User: &user{ID: "5"}, Permissions: bits}}
		if c, err := in.caller(time.Time{}); err != nil || c.Admin != want {
			t.Errorf("permissions %q: admin %v, %v", bits, c.Admin, err)
		}
	}
}

// The clock of an answer's Date tells how far the clocks are apart.
func TestClockSkew(t *testing.T) {
	t.Parallel()
	for name, off := range map[string]time.Duration{"ahead": time.Hour, "behind": -time.Hour, "as good as none": 300 * time.Millisecond} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { r.cfg.Now = func() time.Time { return time.Now().Add(off) } }).start()
			r.settled(r.stack("1")) // not taken for one of another hour
		})
	}
}

func TestExplain(t *testing.T) {
	for err, want := range map[error]string{
		context.DeadlineExceeded: "no usable answer: context deadline exceeded",
		&json.SyntaxError{}:      "no usable answer: a bad gateway, or an answer cut short",
	} {
		if got := explain(err).Error(); got != want {
			t.Errorf("%v: %q", err, got)
		}
	}
	if got := (&failure{status: 404, code: 10062}).Error(); got != "HTTP 404, code 10062" {
		t.Error(got)
	}
}
