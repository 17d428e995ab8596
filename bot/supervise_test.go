package bot

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
)

// beating makes the stand-in ask for a quick heartbeat.
func beating(r *rig) {
	r.server.HeartbeatInterval = 400 * time.Millisecond
	r.cfg.pace.heartbeat = 400 * time.Millisecond
}

// answersAgain says that a bot which was disturbed is back.
func answersAgain(t *testing.T, r *rig) {
	t.Helper()
	err := waitFor(func() bool {
		if r.server.Sessions() == 0 {
			return false
		}
		ia := r.stack("again")
		a, err := ia.Settled(soon(t))
		return err == nil && a.Content == "**ok**"
	})
	if err != nil {
		t.Fatalf("the bot does not come back\n%s", r.log)
	}
}

// Every way in which a connection can be disturbed, while it runs and while it
// begins; the bot answers again each time. resumes says whether the session must
// have survived.
func TestGatewayComesBack(t *testing.T) {
	t.Parallel()
	type d = fakediscord.Disturbance
	tests := map[string]struct {
		at      fakediscord.Moment
		now     bool // strike the running session
		do      d
		resumes bool
	}{
		"dropped":                {now: true, do: d{Do: fakediscord.Drop}, resumes: true},
		"closed with 4000":       {now: true, do: d{Do: fakediscord.Close, Code: 4000}, resumes: true},
		"closed with 4007":       {now: true, do: d{Do: fakediscord.Close, Code: 4007}},
		"closed with 4009":       {now: true, do: d{Do: fakediscord.Close, Code: 4009}},
		"closed with 1000":       {now: true, do: d{Do: fakediscord.Close, Code: 1000}},
		"asked to reconnect":     {now: true, do: d{Do: fakediscord.Reconnect}, resumes: true},
		"invalid, resumable":     {now: true, do: d{Do: fakediscord.Invalidate, Resumable: true}, resumes: true},
		"invalid":                {now: true, do: d{Do: fakediscord.Invalidate}},
		"asked for a heartbeat":  {now: true, do: d{Do: fakediscord.Beat}},
		"slow":                   {now: true, do: d{Do: fakediscord.Slow, Delay: 50 * time.Millisecond}},
		"dropped at connect":     {at: fakediscord.AtConnect, do: d{Do: fakediscord.Drop}},
		"dropped at identify":    {at: fakediscord.AtIdentify, do: d{Do: fakediscord.Drop}},
		"silent at identify":     {at: fakediscord.AtIdentify, do: d{Do: fakediscord.Silence}},
		"silent at connect":      {at: fakediscord.AtConnect, do: d{Do: fakediscord.Silence}},
		"invalid at identify":    {at: fakediscord.AtIdentify, do: d{Do: fakediscord.Invalidate}},
		"closed at identify":     {at: fakediscord.AtIdentify, do: d{Do: fakediscord.Close, Code: 4008}},
		"dropped at a dispatch":  {at: fakediscord.AtDispatch, do: d{Do: fakediscord.Drop}, resumes: true},
		"dropped at a heartbeat": {at: fakediscord.AtHeartbeat, do: d{Do: fakediscord.Drop}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, beating)
			if !tt.now && tt.at != fakediscord.AtDispatch {
				r.server.DisturbAt(tt.at, 1, 0, tt.do)
			}
			r.start()
			switch {
			case tt.now:
				r.server.Disturb(tt.do)
				time.Sleep(50 * time.Millisecond)
			case tt.at == fakediscord.AtDispatch:
				r.server.DisturbAt(tt.at, 1, 0, tt.do)
			}
			answersAgain(t, r)
			if tt.resumes && (r.server.Resumes() == 0 || r.server.Identifies() != 1) {
				t.Errorf("%d resumes, %d identifies\n%s", r.server.Resumes(), r.server.Identifies(), r.log)
			}
		})
	}
}

// Defect 1: a demand to reconnect as the first packet deadlocks the library. The
// line carries it out; where it cannot read along, the watchdog gives the session
// up and builds a new one.
func TestDefect01ReconnectAsFirstPacket(t *testing.T) {
	t.Parallel()
	for name, blind := range map[string]bool{"read along": false, "blind": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { beating(r); r.cfg.blind = blind })
			r.server.DisturbAt(fakediscord.AtIdentify, 1, 0, fakediscord.Disturbance{Do: fakediscord.Reconnect})
			r.start()
			answersAgain(t, r)
			abandoned := strings.Contains(metricText(t, r), "shimwright_gateway_abandoned_total 1")
			if abandoned != blind {
				t.Errorf("a session was abandoned: %v", abandoned)
			}
			r.server.DisturbAt(fakediscord.AtResume, 1, 0, fakediscord.Disturbance{Do: fakediscord.Reconnect})
			r.server.Disturb(fakediscord.Disturbance{Do: fakediscord.Drop})
			answersAgain(t, r)
		})
	}
}

// Defect 2: the library's own reconnect never stops. Ours ends at the codes that
// stay, after one IDENTIFY, and says what to do.
func TestDefect02FatalCloseCodes(t *testing.T) {
	t.Parallel()
	for code, want := range map[int]struct {
		exit int
		fix  string
	}{
		4004: {ExitToken, "token"}, 4010: {ExitShard, "shard id"}, 4011: {ExitShard, "raise the shard count"},
		4012: {ExitVersion, "update"}, 4013: {ExitIntents, "4013"}, 4014: {ExitIntents, "4014"},
	} {
		for when, running := range map[string]bool{"at identify": false, "later": true} {
			t.Run(when+" "+string(rune('0'+code-4004)), func(t *testing.T) {
				t.Parallel()
				r := newRig(t, nil)
				do := fakediscord.Disturbance{Do: fakediscord.Close, Code: code}
				r.server.DisturbAt(fakediscord.AtIdentify, -1, 0, do)
				if running {
					r.server.ClearFaults()
				}
				ctx, cancel := context.WithCancel(context.Background())
				defer cancel()
				done := make(chan error, 1)
				go func() { done <- Run(ctx, r.cfg) }()
				if running {
					if err := r.server.WaitReady(soon(t)); err != nil {
						t.Fatal(err)
					}
					r.server.Disturb(do) // once: coming back would find the gateway open
				}
				select {
				case err := <-done:
					var fatal *Fatal
					if !errors.As(err, &fatal) || fatal.Code != want.exit || !strings.Contains(fatal.Fix, want.fix) {
						t.Errorf("got %v, want exit code %d", err, want.exit)
					}
				case <-soon(t).Done():
					t.Fatal("it goes on")
				}
				if n := r.server.Identifies(); n > 2 {
					t.Errorf("%d IDENTIFYs", n)
				}
			})
		}
	}
}

// Defects 3 and 14: a dead link is noticed by its missing acknowledgements within
// 1.5 intervals, where the library takes five, and closed with 1012, which leaves
// the session to resume.
func TestDefect03And14SilenceIsNoticed(t *testing.T) {
	t.Parallel()
	for name, blind := range map[string]bool{"read along": false, "blind": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) { beating(r); r.cfg.blind = blind }).start()
			r.server.Disturb(fakediscord.Disturbance{Do: fakediscord.Silence})
			answersAgain(t, r)
			if r.server.Resumes() != 1 || r.server.Identifies() != 1 {
				t.Errorf("%d resumes, %d identifies; want 1 and 1", r.server.Resumes(), r.server.Identifies())
			}
			if !strings.Contains(r.log.String(), errSilent.Error()) {
				t.Errorf("nobody noticed:\n%s", r.log)
			}
		})
	}
}

// Defect 12: the library resumes at the address of GET /gateway; Discord accepts
// that, if with more disconnects.
func TestDefect12ResumesAtTheOrdinaryAddress(t *testing.T) {
	t.Parallel()
	r := newRig(t, nil).start()
	for range 3 {
		r.server.Disturb(fakediscord.Disturbance{Do: fakediscord.Drop})
		answersAgain(t, r)
	}
	if r.server.Resumes() != 3 || r.server.Identifies() != 1 {
		t.Errorf("%d resumes, %d identifies; want 3 and 1", r.server.Resumes(), r.server.Identifies())
	}
}

// Defect 13: a session that Discord calls invalid identifies anew, and every
// IDENTIFY counts; the bot stops before Discord takes its token away.
func TestDefect13IdentifiesAreBudgeted(t *testing.T) {
	t.Parallel()
	for name, blind := range map[string]bool{"read along": false, "blind": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.cfg.blind = blind
				r.cfg.pace.backMin, r.cfg.pace.backMax = time.Millisecond, 2*time.Millisecond
				r.server.IdentifyTotal = identifySpare + 5
			})
			r.server.DisturbAt(fakediscord.AtIdentify, -1, 0, fakediscord.Disturbance{Do: fakediscord.Close, Code: 4000})
			ctx, cancel := context.WithCancel(context.Background())
			done := make(chan error, 1)
			go func() { done <- Run(ctx, r.cfg) }()
			err := waitFor(func() bool { return strings.Contains(r.log.String(), "used up") })
			cancel()
			if runErr := <-done; err != nil || runErr != nil {
				t.Fatal(err, runErr)
			}
			if n := r.server.Identifies(); n != 5 || r.server.TokenReset() {
				t.Errorf("%d IDENTIFYs, want 5; token reset: %v", n, r.server.TokenReset())
			}
		})
	}
}

// Where Discord does not say what is left, our own count holds.
func TestDefect13OwnCountHolds(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.pace.backMin, r.cfg.pace.backMax = time.Millisecond, 2*time.Millisecond
		r.cfg.pace.identifies = 4
	})
	r.server.Inject(fakediscord.Fault{Route: fakediscord.RouteGatewayBot, Status: 404, Times: -1})
	r.server.DisturbAt(fakediscord.AtIdentify, -1, 0, fakediscord.Disturbance{Do: fakediscord.Drop})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Run(ctx, r.cfg) }()
	err := waitFor(func() bool { return strings.Contains(r.log.String(), "used up") })
	cancel()
	if runErr := <-done; err != nil || runErr != nil {
		t.Fatal(err, runErr)
	}
	if n := r.server.Identifies(); n != 4 {
		t.Errorf("%d IDENTIFYs, want 4", n)
	}
}

// An IDENTIFY that comes too soon is answered with an invalid session; the
// library would identify again at once, and so on.
func TestTooSoonIdentifiesDoNotStorm(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.server.IdentifySpacing = 300 * time.Millisecond
		r.cfg.pace.backMin = 200 * time.Millisecond
	}).start()
	r.server.Disturb(fakediscord.Disturbance{Do: fakediscord.Invalidate})
	answersAgain(t, r)
	if n := r.server.Identifies(); n > 5 {
		t.Errorf("%d IDENTIFYs", n)
	}
}

func TestBudget(t *testing.T) {
	day := time.Unix(0, 0)
	b := budget{limit: identifyADay - identifySpare}
	for i := range identifyADay - identifySpare {
		if w := b.wait(day.Add(time.Duration(i) * time.Second)); w != 0 {
			t.Fatalf("IDENTIFY %d has to wait %v", i, w)
		}
		b.spend(day.Add(time.Duration(i) * time.Second))
	}
	// 950 are spent, the first at 0 s: the next is due a day after it.
	if w := b.wait(day.Add(1000 * time.Second)); w != 24*time.Hour-1000*time.Second {
		t.Errorf("the 951st waits %v", w)
	}
	if w := b.wait(day.Add(24 * time.Hour)); w != 0 {
		t.Errorf("a day later it waits %v", w)
	}
	told := budget{limit: 1000}
	told.heard(identifySpare+1, time.Hour, day)
	if w := told.wait(day); w != 0 {
		t.Errorf("with one left it waits %v", w)
	}
	told.spend(day)
	if w := told.wait(day.Add(time.Minute)); w != 59*time.Minute {
		t.Errorf("with none left it waits %v", w)
	}
	if w := told.wait(day.Add(time.Hour)); w != 0 {
		t.Errorf("after the reset it waits %v", w)
	}
}

func TestBackoff(t *testing.T) {
	p := pace{backMin: time.Second, backMax: time.Minute}
	for _, tt := range []struct {
		fails  int
		spread float64
		want   time.Duration
	}{
		{0, 0, 500 * time.Millisecond},
		{0, 0.5, 750 * time.Millisecond},
		{3, 0, 4 * time.Second},
		{6, 0, 30 * time.Second},
		{6, 0.999, 60*time.Second - 30*time.Millisecond},
		{1000, 0, 30 * time.Second},
	} {
		if got := backoff(p, tt.fails, tt.spread); got != tt.want {
			t.Errorf("backoff(%d, %g) = %v, want %v", tt.fails, tt.spread, got, tt.want)
		}
	}
}

// Rule: sharding; each process says which part it takes, and only the first
// registers.
func TestRuleShards(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ shard, count int }{{-1, 2}, {2, 2}, {1, 0}} {
		var fatal *Fatal
		err := Run(context.Background(), Config{Token: "x", Shard: tt.shard, ShardCount: tt.count})
		if !errors.As(err, &fatal) || fatal.Code != ExitShard {
			t.Errorf("shard %d of %d: %v", tt.shard, tt.count, err)
		}
	}
	r := newRig(t, func(r *rig) { r.cfg.Shard, r.cfg.ShardCount = 1, 2 }).start()
	if n := r.server.Requests(fakediscord.RouteCommands); n != 0 {
		t.Errorf("shard 1 asked for the commands %d times", n)
	}
}
