// Package bot is the Discord adapter: it turns what Discord sends into calls of
// an App and its replies into messages, and keeps the connection alive.
//
//   - definitions.go, register.go: the slash commands as Discord knows them;
//   - decode.go: what comes in; wire.go: what goes out;
//   - render.go, escape.go: a reply as a message;
//   - desk.go, flood.go: from an interaction to its one answer;
//   - deliver.go, rest.go: getting an answer to Discord;
//   - servers.go: what servers are called;
//   - post.go: messages of the bot's own accord;
//   - session.go, dial.go, frames.go: one gateway connection; supervise.go, budget.go: keeping one;
//   - signed.go: interactions over HTTP instead of the gateway;
//   - metrics.go, health.go: what an operator looks at.
package bot

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

// App answers what members ask. An error is a *commands.UserError or a fault.
type App interface {
	Run(ctx context.Context, c commands.Call) (commands.Reply, error)
	Complete(ctx context.Context, c commands.Call, option string) ([]commands.Choice, error)
	Press(ctx context.Context, p commands.Press) (commands.Reply, error)
}

// Config is what Run and Register need. Token, App and Commands must be set.
type Config struct {
	Token    string // the bot's token, without "Bot "
	API      string // base address in place of https://discord.com; empty for Discord itself
	App      App
	Commands []commands.Command
	Log      *slog.Logger // nil: slog.Default()

	// Draw turns a scene into a PNG; nil leaves pictures out.
	Draw func(drawing.Scene) ([]byte, error)
	// FormFor and PrivatePress tell from a button's id alone whether it opens a
	// form and whether its answer is private; nil: those of package commands.
	FormFor      func(id string) (commands.Form, bool)
	PrivatePress func(id string) bool

	Guild      string // register the commands to this server alone; empty: everywhere
	Shard      int    // this process's shard, from 0
	ShardCount int    // 0 and 1: no sharding

	// InteractionsAddr takes signed HTTP interactions there instead of the
	// gateway; PublicKey is the application's, in hex.
	InteractionsAddr string
	PublicKey        string

	HealthAddr string               // serves /healthz, /readyz and /metrics; empty: none
	Metrics    *prometheus.Registry // nil: one of its own

	Now func() time.Time // nil: time.Now

	pace  pace
	blind bool // do not read along gateway connections, as behind a proxy
}

// pace holds every delay and bound, so that tests need not wait for real ones.
type pace struct {
	deferAfter time.Duration // a handler still busy then is deferred
	window     time.Duration // Discord forgets an unanswered interaction
	completeIn time.Duration // a completion still busy then is answered empty
	handler    time.Duration // a handler is told to stop
	token      time.Duration // an interaction's token dies
	drain      time.Duration // shutdown waits for handlers
	workers    int           // handlers at once
	queue      int           // interactions that may wait for a worker
	nameWait   time.Duration // the first request of a server waits for its name
	nameOld    time.Duration // a server's name is asked for again

	burst  float64       // interactions a member may send at once
	refill float64       // and per second from then on
	slow   time.Duration // a member over that waits at most so long

	open      time.Duration // Open is abandoned
	ready     time.Duration // READY or RESUMED must follow
	gone      time.Duration // an Open whose line was cut must return
	locked    time.Duration // a session lock held so long is a deadlock
	heartbeat time.Duration // taken where HELLO could not be read
	backMin   time.Duration // first wait before a reconnect
	backMax   time.Duration
	stable    time.Duration // a session that lived so long resets the wait

	identifies int // in 24 hours
}

func (p pace) filled() pace {
	if p != (pace{}) {
		return p
	}
	return pace{
		deferAfter: 1500 * time.Millisecond,
		window:     3 * time.Second,
		completeIn: 2500 * time.Millisecond,
		handler:    time.Minute,
		token:      15 * time.Minute,
		drain:      15 * time.Second,
		workers:    32,
		queue:      512,
		nameWait:   300 * time.Millisecond,
		nameOld:    10 * time.Minute,
		burst:      8,
		refill:     2,
		slow:       time.Second,
		open:       20 * time.Second,
		ready:      5 * time.Second,
		gone:       2 * time.Second,
		locked:     5 * time.Second,
		heartbeat:  45 * time.Second,
		backMin:    time.Second,
		backMax:    time.Minute,
		stable:     time.Minute,
		identifies: identifyADay - identifySpare,
	}
}

// filled is the configuration with its defaults, or what is missing.
func (c Config) filled() (Config, error) {
	if c.Token == "" {
		return c, &Fatal{Code: ExitToken, Fix: "there is no bot token: set SHIMWRIGHT_TOKEN or SHIMWRIGHT_TOKEN_FILE"}
	}
	if c.Shard < 0 || c.ShardCount < 0 || c.Shard > 0 && c.Shard >= c.ShardCount {
		return c, &Fatal{Code: ExitShard, Fix: fmt.Sprintf("shard %d of %d does not exist: shards count from 0 to one less than the shard count", c.Shard, c.ShardCount)}
	}
	if key, err := hex.DecodeString(c.PublicKey); c.InteractionsAddr != "" && (err != nil || len(key) != ed25519.PublicKeySize) {
		return c, &Fatal{Code: ExitConfig, Fix: "the public key is not 64 hex digits: copy it from the application's General Information page into SHIMWRIGHT_PUBLIC_KEY"}
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.FormFor == nil {
		c.FormFor = commands.FormFor
	}
	if c.PrivatePress == nil {
		c.PrivatePress = commands.PrivatePress
	}
	if c.Metrics == nil {
		c.Metrics = prometheus.NewRegistry()
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	c.pace = c.pace.filled()
	return c, nil
}

// Exit codes of a Fatal.
const (
	ExitToken   = 3 // no bot token, or one that Discord does not accept
	ExitShard   = 4 // a shard that does not exist, or too few shards
	ExitVersion = 5 // Discord no longer speaks our version
	ExitIntents = 6 // intents that Discord does not grant
	ExitConfig  = 7 // an address, a key or a server that cannot be used
)

// Fatal is a fault that trying again cannot mend. Code is the exit code of the
// program, Fix says what to do.
type Fatal struct {
	Code int
	Fix  string
}

func (f *Fatal) Error() string { return f.Fix }

// Run registers the commands and answers members until ctx ends; then it lets
// running handlers finish. The error is a *Fatal where the configuration is at
// fault.
func Run(ctx context.Context, cfg Config) error {
	cfg, err := cfg.filled()
	if err != nil {
		return err
	}
	m := newMetrics(cfg.Metrics)
	r, err := newREST(cfg)
	if err != nil {
		return err
	}
	defer r.close()

	health, err := startHealth(cfg, m)
	if err != nil {
		return err
	}
	defer health.stop()

	if err := r.whoAmI(ctx); err != nil {
		return stopped(ctx, err)
	}
	if cfg.Shard == 0 {
		if err := register(ctx, r, cfg, cfg.Guild, false); err != nil {
			return stopped(ctx, err)
		}
	}
	d := newDesk(cfg, r, m)
	defer context.AfterFunc(ctx, func() {
		d.stopping.Store(true)
		cfg.Log.Info("told to stop; whoever waits gets an answer first")
	})()
	if cfg.InteractionsAddr != "" {
		err = serveSigned(ctx, cfg, d, health)
	} else {
		err = supervise(ctx, cfg, r, d, m, health)
	}
	health.ready(false)
	d.drain()
	return err
}

// Register writes the commands to one server, or everywhere where guild is
// empty; remove takes them away.
func Register(ctx context.Context, cfg Config, guild string, remove bool) error {
	cfg, err := cfg.filled()
	if err != nil {
		return err
	}
	r, err := newREST(cfg)
	if err != nil {
		return err
	}
	defer r.close()
	if err := r.whoAmI(ctx); err != nil {
		return err
	}
	return register(ctx, r, cfg, guild, remove)
}

// stopped is nil for an error that only says that ctx ended.
func stopped(ctx context.Context, err error) error {
	if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return nil
	}
	return err
}
