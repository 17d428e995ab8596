package bot

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// slowly answers after the deferral is due.
func slowly(reply commands.Reply, err error) func(context.Context, commands.Call) (commands.Reply, error) {
	return func(context.Context, commands.Call) (commands.Reply, error) {
		time.Sleep(tooLong)
		return reply, err
	}
}

// Rule: a first answer within 3 s; a busy handler is deferred by itself, as the
// command declares, and that choice is final.
func TestRuleSlowHandlersAreDeferred(t *testing.T) {
	t.Parallel()
	secret := &commands.UserError{Option: "stock", Message: "Mira typed 0", Hint: "like 23/32"}
	tests := map[string]struct {
		command string
		reply   commands.Reply
		err     error
		private bool
		want    string
		apart   string // what the asker alone gets behind it
	}{
		"public":                     {"stack", commands.Reply{Text: "a"}, nil, false, "**a**", ""},
		"private":                    {"mine", commands.Reply{Text: "a", Private: true}, nil, true, "**a**", ""},
		"private error":              {"mine", commands.Reply{}, secret, true, "**stock: Mira typed 0**\nlike 23/32", ""},
		"error after a public defer": {"stack", commands.Reply{}, secret, false, sayApart, "**stock: Mira typed 0**\nlike 23/32"},
		"private after public":       {"stack", commands.Reply{Text: "Mira's own", Private: true}, nil, false, sayApart, "**Mira's own**"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { r.app.run = slowly(tt.reply, tt.err) }).start()
			ia := r.server.Command(r.mira, r.bench, tt.command)
			first, err := ia.Wait(soon(t))
			if err != nil || first.Type != fakediscord.CallbackDeferMessage || first.Ephemeral() != tt.private {
				t.Fatalf("first %+v, %v", first, err)
			}
			a := r.settled(ia)
			if a.Step != fakediscord.StepEdit || a.Content != tt.want || a.Ephemeral() != tt.private {
				t.Errorf("then %+v", a)
			}
			if tt.apart == "" {
				return
			}
			steps, err := ia.WaitSteps(soon(t), 3)
			if err != nil || len(steps) != 3 || steps[2].Step != fakediscord.StepFollowup || !steps[2].Ephemeral() || steps[2].Content != tt.apart {
				t.Errorf("behind it %+v, %v", steps, err)
			}
		})
	}
}

// What is for the asker alone beside an answer, such as cautions, comes behind it
// in private, and again where it may not have arrived.
func TestDetailsForTheAskerAlone(t *testing.T) {
	t.Parallel()
	reply := commands.Reply{Text: "a", Details: []commands.Detail{{Action: commands.Action{ID: "c", Label: "Cautions"}, Text: "unplug it", Now: true}}}
	own := reply
	own.Private = true
	quick := func(context.Context, commands.Call) (commands.Reply, error) { return reply, nil }
	tests := map[string]struct {
		run   func(context.Context, commands.Call) (commands.Reply, error)
		fault fakediscord.Fault
		steps int
	}{
		"at once":                {quick, fakediscord.Fault{}, 2},
		"at once, with a fault":  {quick, fakediscord.Fault{Status: 502, Times: 2}, 2},
		"deferred":               {slowly(reply, nil), fakediscord.Fault{}, 3},
		"deferred, with a fault": {slowly(reply, nil), fakediscord.Fault{Drop: true}, 3},
		"deferred, all private":  {slowly(own, nil), fakediscord.Fault{}, 4},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { r.app.run = tt.run }).start()
			if tt.fault != (fakediscord.Fault{}) {
				tt.fault.Route = fakediscord.RouteFollowups
				r.server.Inject(tt.fault)
			}
			ia := r.stack("1")
			steps, err := ia.WaitSteps(soon(t), tt.steps)
			if err != nil || len(steps) != tt.steps {
				t.Fatalf("steps %+v, %v", ia.Steps(), err)
			}
			if a := steps[tt.steps-1]; a.Step != fakediscord.StepFollowup || !a.Ephemeral() || a.Content != "**unplug it**" {
				t.Errorf("behind it %+v", a)
			}
		})
	}
}

// Nothing private is sent behind a public deferral that still stands empty: it
// would take its place. One that does not get through is owned up to in public.
func TestPrivateAnswersStayPrivateThroughFaults(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		fault fakediscord.Fault
		want  []string // what the steps after the deferral say
	}{
		"no edit":      {fakediscord.Fault{Route: fakediscord.RouteOriginal, Status: 404, Times: -1}, nil},
		"no follow-up": {fakediscord.Fault{Route: fakediscord.RouteFollowups, Status: 500, Times: -1}, []string{sayApart, sayLost}},
		"limited":      {fakediscord.Fault{Route: fakediscord.RouteFollowups, Status: 429, RetryAfter: 50 * time.Millisecond}, []string{sayApart, "**Mira's own**"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { r.app.run = slowly(commands.Reply{Text: "Mira's own", Private: true}, nil) }).start()
			r.server.Inject(tt.fault)
			ia := r.stack("1")
			if _, err := ia.Wait(soon(t)); err != nil {
				t.Fatal(err)
			}
			if err := r.stop(); err != nil { // drains
				t.Fatal(err)
			}
			var got []string
			for _, s := range ia.Steps()[1:] {
				got = append(got, s.Content)
				if strings.Contains(s.Content, "Mira") && !s.Ephemeral() {
					t.Errorf("everyone reads %q", s.Content)
				}
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// Presses are deferred as their id declares; what would have replaced a message
// comes as a new one then.
func TestRuleSlowPressesAreDeferred(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			return commands.Reply{Text: "x", Actions: []commands.Action{{ID: "private", Label: "P"}, {ID: "open", Label: "O"}}}, nil
		}
		r.app.press = func(_ context.Context, p commands.Press) (commands.Reply, error) {
			time.Sleep(tooLong)
			return commands.Reply{Text: "done", Private: p.ID == "private", Replace: true}, nil
		}
	}).start()
	shown := r.settled(r.stack("1"))
	for _, id := range []string{"private", "open"} {
		ia := r.server.Press(r.mira, shown.Message, id)
		a := r.settled(ia)
		if a.Ephemeral() != (id == "private") || a.Content != "**done**" || a.ID == shown.ID || ia.Answers() != 1 {
			t.Errorf("%s: %+v", id, a)
		}
	}
}

// A private answer never takes the place of a public message.
func TestPrivateDoesNotReplacePublic(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			return commands.Reply{Text: "x", Private: c.Name == "mine", Actions: []commands.Action{{ID: "b", Label: "B"}}}, nil
		}
		r.app.press = func(context.Context, commands.Press) (commands.Reply, error) {
			return commands.Reply{Text: "mine alone", Private: true, Replace: true}, nil
		}
	}).start()
	public := r.settled(r.stack("1"))
	if a := r.settled(r.server.Press(r.mira, public.Message, "b")); a.Type != fakediscord.CallbackMessage || !a.Ephemeral() {
		t.Errorf("on a public message: %+v", a)
	}
	private := r.settled(r.server.Command(r.mira, r.bench, "mine"))
	if a := r.settled(r.server.Press(r.mira, private.Message, "b")); a.Type != fakediscord.CallbackUpdate {
		t.Errorf("on a private message: %+v", a)
	}
}

// Rule: content holds 2000; the rest follows, as private as the beginning.
func TestRuleLongAnswersGoOn(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("a line of the answer\n", 250)
	for name, command := range map[string]string{"at once": "stack", "deferred": "mine"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.app.run = func(ctx context.Context, c commands.Call) (commands.Reply, error) {
					if c.Name == "mine" {
						return slowly(commands.Reply{Text: long, Private: true}, nil)(ctx, c)
					}
					return commands.Reply{Text: long, Private: true}, nil
				}
			}).start()
			ia := r.server.Command(r.mira, r.bench, command)
			want := 3
			if command == "mine" {
				want = 4
			}
			steps, err := ia.WaitSteps(soon(t), want)
			if err != nil {
				t.Fatal(err)
			}
			lines := 0
			for _, s := range steps {
				if !s.Ephemeral() {
					t.Errorf("step %s is public", s.Step)
				}
				lines += strings.Count(s.Content, "a line of the answer")
			}
			if lines != 250 {
				t.Errorf("%d lines arrived, want 250", lines)
			}
		})
	}
}

// Defect 4: a panic in a handler ends nothing; the member gets a reference, and
// the log has the line to it.
func TestDefect04PanicsAreAnswered(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			if c.Options["stock"] == "fault" {
				return commands.Reply{}, errors.New("database is locked")
			}
			panic("boom")
		}
		r.app.press = func(context.Context, commands.Press) (commands.Reply, error) { panic("press") }
		r.app.complete = func(context.Context, commands.Call, string) ([]commands.Choice, error) { panic("complete") }
	}).start()
	ref := regexp.MustCompile(`reference ([0-9a-f]{8})`)
	for _, ia := range []*fakediscord.Interaction{r.stack("x"), r.stack("fault"), r.server.Press(r.mira, fakediscord.Message{ChannelID: r.bench.ID}, "b")} {
		a := r.settled(ia)
		m := ref.FindStringSubmatch(a.Content)
		if m == nil || !a.Ephemeral() || !strings.Contains(r.log.String(), m[1]) {
			t.Errorf("answer %+v, log %s", a, r.log)
		}
	}
	if a := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "x")))); len(a.Choices) != 0 {
		t.Errorf("choices %+v", a.Choices)
	}
}

// A completion cannot be deferred: one that takes too long is empty.
func TestRuleCompletionsAreNeverDeferred(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.pace.completeIn = 300 * time.Millisecond
		r.app.complete = func(ctx context.Context, _ commands.Call, _ string) ([]commands.Choice, error) {
			<-ctx.Done()
			return []commands.Choice{{Label: "late", Value: "late"}}, ctx.Err()
		}
	}).start()
	ia := r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "x")))
	if a := r.settled(ia); a.Type != fakediscord.CallbackAutocomplete || len(a.Choices) != 0 || ia.Answers() != 1 {
		t.Errorf("answer %+v", a)
	}
}

// Rule: opening a form touches no App; it works while every worker is busy.
func TestRuleFormsOpenAtOnce(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := newRig(t, func(r *rig) {
		r.cfg.pace.workers = 1
		r.cfg.FormFor = func(id string) (commands.Form, bool) {
			return commands.Form{Title: "T", Fields: []commands.Field{{Name: "f", Label: "F"}}}, id == "form"
		}
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			<-release
			return commands.Reply{Text: "x"}, nil
		}
	}).start()
	busy := r.stack("1")
	form := r.settled(r.server.Press(r.mira, fakediscord.Message{ChannelID: r.bench.ID}, "form"))
	if form.Type != fakediscord.CallbackModal || form.Modal == nil {
		t.Errorf("answer %+v", form)
	}
	close(release)
	r.settled(busy)
}

// A full queue gets an apology, and who is inside gets an answer.
func TestFullQueueApologises(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := newRig(t, func(r *rig) {
		r.cfg.pace.workers, r.cfg.pace.queue = 1, 2
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			<-release
			return commands.Reply{Text: "done"}, nil
		}
	}).start()
	var inside []*fakediscord.Interaction
	for range 3 {
		ia := r.stack("1")
		inside = append(inside, ia)
		if _, err := ia.Wait(soon(t)); err != nil { // deferred
			t.Fatal(err)
		}
	}
	a := r.settled(r.stack("4"))
	ref := regexp.MustCompile(`reference ([0-9a-f]{8})`).FindStringSubmatch(a.Content)
	if ref == nil || a.Content != fmt.Sprintf(sayBusy, ref[1]) || !a.Ephemeral() || !strings.Contains(r.log.String(), ref[1]) {
		t.Errorf("the fourth: %+v\n%s", a, r.log)
	}
	if a := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "x")))); a.Type != fakediscord.CallbackAutocomplete {
		t.Errorf("a completion: %+v", a)
	}
	close(release)
	for _, ia := range inside {
		if a := r.settled(ia); a.Content != "**done**" {
			t.Errorf("inside: %+v", a)
		}
	}
}

// A member who floods is slowed, others are not.
func TestFloodSlowsThatMemberOnly(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.pace.burst, r.cfg.pace.refill, r.cfg.pace.slow = 2, 0.01, time.Second
	}).start()
	other := r.server.AddUser("otto")
	r.hall.Join(other)
	got := map[string]int{}
	for range 4 {
		got[r.settled(r.stack("1")).Content]++
	}
	if got["**ok**"] != 2 || got[saySlow] != 2 {
		t.Errorf("the flooding member got %v", got)
	}
	if a := r.settled(r.server.Command(other, r.bench, "stack")); a.Content != "**ok**" {
		t.Errorf("the other member got %+v", a)
	}
}

func TestFloodBucket(t *testing.T) {
	f := newFlood(2, 1, time.Second)
	now := time.Unix(0, 0)
	steps := []struct {
		at   float64 // s
		wait float64
		ok   bool
	}{
		{0, 0, true},
		{0, 0, true},
		{0, 1, true},  // taken in advance
		{0, 0, false}, // two seconds are too long
		{0.5, 0, false},
		{1.5, 0.5, true}, // 1.5 tokens came, one was owed: half a one is left
		{10, 0, true},
	}
	for i, s := range steps {
		wait, ok := f.take("m", now.Add(time.Duration(s.at*float64(time.Second))))
		if ok != s.ok || wait != time.Duration(s.wait*float64(time.Second)) {
			t.Errorf("step %d: %v, %v; want %v s, %v", i, wait, ok, s.wait, s.ok)
		}
	}
	for i := range 10000 {
		f.take(string(rune('a'+i%26))+string(rune('a'+i/26)), now.Add(time.Duration(i)*time.Minute))
	}
	if n := len(f.members); n > 4096 {
		t.Errorf("%d members are kept", n)
	}
}

// Rule: what a resumed session replays after 3 s is not run.
func TestRuleExpiredInteractionsAreNotRun(t *testing.T) {
	t.Parallel()
	var runs atomic.Int32
	r := newRig(t, func(r *rig) {
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			runs.Add(1)
			return commands.Reply{Text: "ok"}, nil
		}
		r.cfg.pace.window = 600 * time.Millisecond
	}).start()
	old := r.stack("1")
	r.settled(old)
	time.Sleep(700 * time.Millisecond)
	r.server.Redeliver(old)
	r.settled(r.stack("2"))
	if n := runs.Load(); n != 2 {
		t.Errorf("%d runs, want 2", n)
	}
	if !strings.Contains(metricText(t, r), `shimwright_interactions_total{command="unknown",outcome="expired"} 1`) {
		t.Error("it does not count as expired")
	}
}

// A redelivered interaction is run once.
func TestRedeliveredInteractionRunsOnce(t *testing.T) {
	t.Parallel()
	var runs atomic.Int32
	r := newRig(t, func(r *rig) {
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			runs.Add(1)
			return commands.Reply{Text: "ok"}, nil
		}
	}).start()
	ia := r.stack("1")
	r.server.Redeliver(ia)
	r.settled(ia)
	r.settled(r.stack("2"))
	if n := runs.Load(); n != 2 || ia.Attempts() != 1 {
		t.Errorf("%d runs, %d attempts", n, ia.Attempts())
	}
}

// Faults on the way of the first answer: each is overcome within 3 s, with one
// answer.
func TestAnswersSurviveFaults(t *testing.T) {
	t.Parallel()
	callback := func(f fakediscord.Fault) fakediscord.Fault { f.Route = fakediscord.RouteCallback; return f }
	original := func(f fakediscord.Fault) fakediscord.Fault { f.Route = fakediscord.RouteOriginal; return f }
	tests := map[string]struct {
		faults []fakediscord.Fault
		slow   bool
	}{
		"502":                    {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 502})}, false},
		"503 twice":              {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 503, Times: 2})}, false},
		"an HTML 500":            {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 500, HTML: true})}, false},
		"500 that took effect":   {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 500, TakesEffect: true})}, false},
		"a dropped socket":       {[]fakediscord.Fault{callback(fakediscord.Fault{Drop: true})}, false},
		"dropped after effect":   {[]fakediscord.Fault{callback(fakediscord.Fault{Drop: true, TakesEffect: true})}, false},
		"cut half way":           {[]fakediscord.Fault{callback(fakediscord.Fault{Cut: true, TakesEffect: true})}, false},
		"a slow answer":          {[]fakediscord.Fault{callback(fakediscord.Fault{Delay: 2500 * time.Millisecond, TakesEffect: true})}, false},
		"a slow request":         {[]fakediscord.Fault{callback(fakediscord.Fault{Delay: 2500 * time.Millisecond})}, false},
		"429":                    {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 429, RetryAfter: 100 * time.Millisecond})}, false},
		"an HTML 429":            {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 429, HTML: true, RetryAfter: time.Second})}, false},
		"deferred with effect":   {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 500, TakesEffect: true})}, true},
		"edit 502":               {[]fakediscord.Fault{original(fakediscord.Fault{Status: 502})}, true},
		"edit 429":               {[]fakediscord.Fault{original(fakediscord.Fault{Status: 429, RetryAfter: 100 * time.Millisecond})}, true},
		"edit global 429":        {[]fakediscord.Fault{original(fakediscord.Fault{Status: 429, RetryAfter: 100 * time.Millisecond, Global: true})}, true},
		"edit dropped":           {[]fakediscord.Fault{original(fakediscord.Fault{Drop: true, Times: 2})}, true},
		"deferral and edit fail": {[]fakediscord.Fault{callback(fakediscord.Fault{Status: 503}), original(fakediscord.Fault{Status: 503})}, true},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				if tt.slow {
					r.app.run = slowly(commands.Reply{Text: "ok"}, nil)
				}
			}).start()
			for _, f := range tt.faults {
				r.server.Inject(f)
			}
			ia := r.stack("1")
			if a := r.settled(ia); a.Content != "**ok**" || ia.Answers() != 1 {
				t.Errorf("answer %+v, %d answers", a, ia.Answers())
			}
		})
	}
}

// Rule: a 404 on a webhook is not repeated.
func TestRuleUnknownWebhooksAreLeftAlone(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) { r.app.run = slowly(commands.Reply{Text: "ok"}, nil) }).start()
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteOriginal, Status: http.StatusNotFound, Times: -1})
	ia := r.stack("1")
	if _, err := ia.Wait(soon(t)); err != nil {
		t.Fatal(err)
	}
	if err := r.stop(); err != nil { // drains
		t.Fatal(err)
	}
	if n := r.server.Requests(fakediscord.RouteOriginal); n != 1 {
		t.Errorf("%d edits, want 1", n)
	}
}

// An interaction that Discord has forgotten is given up after one try.
func TestUnknownInteractionIsGivenUp(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.server.Expiry = time.Nanosecond
	}).start()
	ia := r.stack("1")
	if err := waitFor(func() bool { return len(ia.Refusals()) > 0 }); err != nil {
		t.Fatal(err)
	}
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	if n := ia.Attempts(); n != 1 {
		t.Errorf("%d tries, want 1", n)
	}
	if !strings.Contains(metricText(t, r), `shimwright_interactions_total{command="stack",outcome="expired"} 1`) {
		t.Errorf("it does not count as expired:\n%s", metricText(t, r))
	}
}

// An answer that another process gave first is not doubled.
func TestAnsweredElsewhereIsLeftAlone(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) { r.app.run = slowly(commands.Reply{Text: "ok"}, nil) }).start()
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteCallback, TakesEffect: true, Delay: time.Millisecond})
	ia := r.stack("1")
	// A second bot with the same token answers at once.
	other, err := newREST(must(newRigConfig(r.server, nil, r.log).filled()))
	if err != nil {
		t.Fatal(err)
	}
	defer other.close()
	in, err := decode(ia.Payload())
	if err != nil {
		t.Fatal(err)
	}
	d := delivery{rest: other, in: in, lane: newLane(), until: time.Now().Add(2 * time.Second)}
	if err := d.callback(context.Background(), callback{Type: cbMessage, Data: plain("other", false)}); err != nil {
		t.Fatal(err)
	}
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	if ia.Answers() != 1 || len(ia.Steps()) != 1 {
		t.Errorf("steps %+v", ia.Steps())
	}
	if !strings.Contains(metricText(t, r), `outcome="elsewhere"} 1`) {
		t.Error("it does not count as answered elsewhere")
	}
}

// Shutdown lets running handlers finish.
func TestShutdownDrains(t *testing.T) {
	t.Parallel()
	entered := make(chan struct{})
	r := newRig(t, func(r *rig) {
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			close(entered)
			time.Sleep(1500 * time.Millisecond)
			return commands.Reply{Text: "finished"}, nil
		}
	}).start()
	ia := r.stack("1")
	<-entered
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	steps := ia.Steps()
	if len(steps) == 0 || steps[len(steps)-1].Content != "**finished**" {
		t.Errorf("steps %+v", steps)
	}
}

// A handler that does not end is cut off, and its member told.
func TestHandlerThatHangs(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	defer close(release)
	r := newRig(t, func(r *rig) {
		r.cfg.pace.handler = tooLong
		r.cfg.pace.drain = 100 * time.Millisecond
		r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
			<-release
			return commands.Reply{Text: "late"}, nil
		}
	}).start()
	if a := r.settled(r.stack("1")); !strings.Contains(a.Content, "reference") {
		t.Errorf("answer %+v", a)
	}
}

func waitFor(done func() bool) error {
	for range 800 {
		if done() {
			return nil
		}
		time.Sleep(10 * time.Millisecond)
	}
	return errors.New("it did not come about")
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// metricText is what /metrics shows.
func metricText(t *testing.T, r *rig) string {
	t.Helper()
	families, err := r.cfg.Metrics.Gather()
	if err != nil {
		t.Fatal(err)
	}
	return exposition(families)
}
