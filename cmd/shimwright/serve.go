package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"shimwright/bot"
	"shimwright/commands"
)

// discordFlags are the settings that serve and register share.
func (p *program) discordConfig() (bot.Config, error) {
	cfg := bot.Config{
		API: p.env("SHIMWRIGHT_DISCORD_API"), Commands: commands.Commands(),
		Log: slog.New(slog.NewTextHandler(p.stderr, nil)),
	}
	var err error
	cfg.Token, err = p.token()
	return cfg, err
}

// token is SHIMWRIGHT_TOKEN, or what the file SHIMWRIGHT_TOKEN_FILE holds; with
// or without the word that precedes it in Discord's examples.
func (p *program) token() (string, error) {
	bare := func(text string) string {
		return strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(text), "Bot "))
	}
	if t := bare(p.env("SHIMWRIGHT_TOKEN")); t != "" {
		return t, nil
	}
	path := p.env("SHIMWRIGHT_TOKEN_FILE")
	if path == "" {
		return "", noToken("there is no bot token: set SHIMWRIGHT_TOKEN, or SHIMWRIGHT_TOKEN_FILE to a file that holds it")
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "", noToken(fmt.Sprintf("there is no bot token: SHIMWRIGHT_TOKEN_FILE names a file that cannot be read (%v)", err))
	}
	t := bare(string(data))
	if t == "" {
		return "", noToken(fmt.Sprintf("there is no bot token: the file %s of SHIMWRIGHT_TOKEN_FILE is empty; put the token from the application's Bot page into it", path))
	}
	return t, nil
}

func noToken(fix string) *bot.Fatal { return &bot.Fatal{Code: bot.ExitToken, Fix: fix} }

// goMemory is what the Go part of the program tries to stay below: the collector
// works harder near it, and what is free goes back to the system. What lives takes
// a quarter of it; the program's code and SQLite's caches come on top
// (BenchmarkMemory in package bot). An operator's GOMEMLIMIT goes before it.
const goMemory = 30 << 20

// serve connects to Discord and answers there until it is told to stop.
func serve(ctx context.Context, p *program, args []string) int {
	if p.env("GOMEMLIMIT") == "" {
		defer debug.SetMemoryLimit(debug.SetMemoryLimit(goMemory))
	}
	f := flag.NewFlagSet("serve", flag.ContinueOnError)
	db := p.dbFlag(f)
	guild := f.String("guild", p.env("SHIMWRIGHT_GUILD"), "register the commands to this server `id` alone (SHIMWRIGHT_GUILD)")
	interactions := f.String("interactions-addr", p.env("SHIMWRIGHT_INTERACTIONS_ADDR"), "take signed HTTP interactions on this `address` instead of the gateway (SHIMWRIGHT_INTERACTIONS_ADDR)")
	health := f.String("health-addr", p.env("SHIMWRIGHT_HEALTH_ADDR"), "serve /healthz, /readyz and /metrics on this `address` (SHIMWRIGHT_HEALTH_ADDR)")
	shard := f.String("shard", p.env("SHIMWRIGHT_SHARD"), "this process's shard as `ID/COUNT`, such as 0/2 (SHIMWRIGHT_SHARD)")
	if code, done := p.parse(f, args); done {
		return code
	}
	cfg, err := p.discordConfig()
	if err != nil {
		return p.ended(err)
	}
	cfg.Guild, cfg.InteractionsAddr, cfg.HealthAddr = *guild, *interactions, *health
	cfg.PublicKey = p.env("SHIMWRIGHT_PUBLIC_KEY")
	if cfg.Shard, cfg.ShardCount, err = parseShard(*shard); err != nil {
		return p.ended(err)
	}
	var timed func(string, time.Duration)
	cfg.Metrics, timed = databaseTime()
	app, closeApp, err := openTimedApp(ctx, *db, timed)
	if err != nil {
		return p.fault(err)
	}
	defer closeApp() //nolint:errcheck // every commit is durable before its reply
	cfg.App, cfg.Draw = app, pictures()
	post, err := bot.NewPoster(cfg)
	if err != nil {
		return p.ended(err)
	}
	defer post.Close()
	due, stop := context.WithCancel(ctx)
	ticker := time.NewTicker(dueEvery)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		jobs{app, "discord", post, p.now, cfg.Log}.run(due, ticker.C)
	}()
	defer func() { // before the database closes
		stop()
		ticker.Stop()
		<-ended
	}()
	return p.ended(bot.Run(ctx, cfg))
}

// databaseTime is a registry with the time that transactions took, and what counts it.
func databaseTime() (*prometheus.Registry, func(kind string, took time.Duration)) {
	took := prometheus.NewHistogramVec(prometheus.HistogramOpts{
		Name: "shimwright_database_seconds", Help: "Transactions, the wait for their turn included.",
		Buckets: prometheus.ExponentialBuckets(0.0001, 4, 8),
	}, []string{"kind"})
	registry := prometheus.NewRegistry()
	registry.MustRegister(took)
	return registry, func(kind string, d time.Duration) { took.WithLabelValues(kind).Observe(d.Seconds()) }
}

// register writes the commands to Discord without connecting, or clears them.
func register(ctx context.Context, p *program, args []string) int {
	f := flag.NewFlagSet("register", flag.ContinueOnError)
	guild := f.String("guild", "", "to this server `id` alone; else everywhere")
	remove := f.Bool("clear", false, "take the commands away instead")
	if code, done := p.parse(f, args); done {
		return code
	}
	cfg, err := p.discordConfig()
	if err != nil {
		return p.ended(err)
	}
	return p.ended(bot.Register(ctx, cfg, *guild, *remove))
}

// ended turns the end of a Discord run into an exit code; a fatal one has its own.
func (p *program) ended(err error) int {
	var fatal *bot.Fatal
	switch {
	case errors.As(err, &fatal):
		fmt.Fprintf(p.stderr, "shimwright: %s\n", fatal.Fix)
		return fatal.Code
	case err != nil && !errors.Is(err, context.Canceled):
		return p.fault(err)
	}
	return exitOK
}

func parseShard(text string) (id, count int, err error) {
	if text == "" {
		return 0, 0, nil
	}
	a, b, ok := strings.Cut(text, "/")
	id, err1 := strconv.Atoi(a)
	count, err2 := strconv.Atoi(b)
	if !ok || err1 != nil || err2 != nil || id < 0 || id >= count {
		return 0, 0, &bot.Fatal{Code: bot.ExitShard, Fix: fmt.Sprintf("%q is no shard: write ID/COUNT such as 0/2, the id below the count", text)}
	}
	return id, count, nil
}
