package bot

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

func TestMain(m *testing.M) {
	// Most tests wait: for a session to close, for a deferral to be due.
	if err := flag.Set("test.parallel", "12"); err != nil {
		panic(err)
	}
	goleak.VerifyTestMain(m,
		// Defect 1: an Open that waits for its own lock cannot be ended, only left.
		goleak.IgnoreAnyFunction("github.com/bwmarrin/discordgo.(*Session).Open"))
}

// script is an App made of functions.
type script struct {
	run      func(context.Context, commands.Call) (commands.Reply, error)
	complete func(context.Context, commands.Call, string) ([]commands.Choice, error)
	press    func(context.Context, commands.Press) (commands.Reply, error)
}

func (s *script) Run(ctx context.Context, c commands.Call) (commands.Reply, error) {
	if s.run == nil {
		return commands.Reply{Text: "ok"}, nil
	}
	return s.run(ctx, c)
}

func (s *script) Complete(ctx context.Context, c commands.Call, o string) ([]commands.Choice, error) {
	if s.complete == nil {
		return nil, nil
	}
	return s.complete(ctx, c, o)
}

func (s *script) Press(ctx context.Context, p commands.Press) (commands.Reply, error) {
	if s.press == nil {
		return commands.Reply{Text: "pressed"}, nil
	}
	return s.press(ctx, p)
}

// lineup has one of everything that definitions know, but completions: only
// package commands can make an option that completes.
func lineup() []commands.Command {
	return []commands.Command{
		{Name: "stack", Summary: "Find a stack", Options: []commands.Option{
			{Name: "set", Summary: "Which cutter set"},
			{Name: "stock", Summary: "Readings of the panel", Required: true},
			{Name: "joint", Summary: "The joint", Choices: []commands.Choice{{Label: "Dado", Value: "dado"}, {Label: "Groove", Value: "groove"}}},
			{Name: "count", Summary: "How many", Kind: commands.Whole},
			{Name: "kept", Summary: "Kept the old stack", Kind: commands.YesNo},
		}},
		{Name: "mine", Summary: "What I logged", Private: true},
		{Name: "set", Summary: "Cutter sets", Subs: []commands.Command{
			{Name: "add", Summary: "Add a set", Options: []commands.Option{{Name: "name", Summary: "Its name", Required: true}}},
			{Name: "role", Summary: "Who instructs", Private: true, Options: []commands.Option{
				{Name: "role", Summary: "The role", Kind: commands.Role, Required: true},
				{Name: "post", Summary: "Where to post", Kind: commands.Channel},
			}},
		}},
	}
}

// logbook keeps what was logged.
type logbook struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logbook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logbook) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// rig is a bot that runs against a stand-in.
type rig struct {
	t      *testing.T
	server *fakediscord.Server
	hall   *fakediscord.Guild
	bench  *fakediscord.Channel
	mira   *fakediscord.User
	app    *script
	db     string // file of the App that ships, if this is it
	log    *logbook
	cfg    Config

	cancel context.CancelFunc
	done   chan error
}

const testToken = "MTA.shim.wright-secret"

// tooLong is how long a handler takes that is to be deferred; others have half of
// it even on a machine with much else to do.
const tooLong = 800 * time.Millisecond

// quick is a pace for tests: what would take seconds takes a tenth.
func quick() pace {
	p := pace{}.filled()
	p.deferAfter = tooLong / 2
	p.drain = 3 * time.Second
	p.nameWait = 50 * time.Millisecond
	p.burst, p.refill = 1000, 1000
	p.open, p.ready, p.gone = 2*time.Second, time.Second, 500*time.Millisecond
	p.locked = 2 * time.Second
	p.backMin, p.backMax = 20*time.Millisecond, 200*time.Millisecond
	return p
}

// newRig makes a stand-in and a bot that has not started; change may adjust both.
func newRig(t *testing.T, change func(*rig)) *rig {
	t.Helper()
	r := &rig{t: t, server: &fakediscord.Server{Token: testToken}, app: &script{}, log: &logbook{}}
	r.cfg = newRigConfig(r.server, lineup(), r.log)
	r.cfg.App = r.app
	if change != nil {
		change(r)
	}
	if err := r.server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.server.Close)
	r.hall = r.server.AddGuild("Evening class")
	r.bench = r.hall.Channel("bench")
	r.mira = r.server.AddUser("mira")
	r.hall.Join(r.mira)
	r.cfg.API = r.server.URL()
	return r
}

func newRigConfig(s *fakediscord.Server, cmds []commands.Command, log *logbook) Config {
	return Config{
		Token: testToken, API: s.URL(), App: &script{}, Commands: cmds, pace: quick(),
		Log:          slog.New(slog.NewJSONHandler(log, nil)),
		Metrics:      prometheus.NewRegistry(),
		FormFor:      func(string) (commands.Form, bool) { return commands.Form{}, false },
		PrivatePress: func(id string) bool { return strings.Contains(id, "private") },
	}
}

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// start runs the bot until the test ends, and then looks for what nobody should
// have sent.
func (r *rig) start() *rig {
	r.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	r.cancel, r.done = cancel, make(chan error, 1)
	go func() { r.done <- Run(ctx, r.cfg) }()
	r.t.Cleanup(func() {
		if err := r.stop(); err != nil {
			r.t.Errorf("Run: %v", err)
		}
		for _, v := range r.server.Violations() {
			r.t.Errorf("Discord would refuse: %v", v)
		}
		if strings.Contains(r.log.String(), testToken) {
			r.t.Error("the token is in the log")
		}
	})
	if r.cfg.InteractionsAddr == "" {
		if err := waitFor(func() bool { return strings.Contains(r.log.String(), "connected to the gateway") }); err != nil {
			r.t.Fatalf("not ready: %v\n%s", err, r.log)
		}
	}
	return r
}

func (r *rig) stop() error {
	r.cancel()
	select {
	case err := <-r.done:
		r.done <- err
		return err
	case <-time.After(15 * time.Second):
		return errors.New("Run does not end")
	}
}

func soon(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 8*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// settled is what a member ends up with.
func (r *rig) settled(ia *fakediscord.Interaction) fakediscord.Answer {
	r.t.Helper()
	a, err := ia.Settled(soon(r.t))
	if err != nil {
		r.t.Fatalf("no answer: %v\nrefused: %v\n%s", err, ia.Refusals(), r.log)
	}
	return a
}

func (r *rig) stack(stock string) *fakediscord.Interaction {
	return r.server.Command(r.mira, r.bench, "stack", fakediscord.String("stock", stock))
}

func mustJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
