package bot

import (
	"context"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// BenchmarkAnswer compares the time from dispatch to callback with that of a bare
// discordgo bot, which answers "ok" from its handler and does nothing else, in
// one run against the same stand-in: our adapter with an App that says "ok", and
// with the one that ships for /stack and for a logged test cut with its commit.
//
//	go test ./bot -run '^$' -bench Answer -benchtime 5000x
func BenchmarkAnswer(b *testing.B) {
	ok := func(testing.TB) (App, []commands.Command) { return &script{}, lineup() }
	shipped := func(tb testing.TB) (App, []commands.Command) {
		app, _ := openApp(tb)
		return app, commands.Commands()
	}
	stack := func(s *fakediscord.Server, u *fakediscord.User, ch *fakediscord.Channel) *fakediscord.Interaction {
		return s.Command(u, ch, "stack", fakediscord.String("stock", "23/32"))
	}
	cut := func(s *fakediscord.Server, u *fakediscord.User, ch *fakediscord.Channel) *fakediscord.Interaction {
		return s.Command(u, ch, "testcut", fakediscord.String("feel", "snug"))
	}
	for _, flight := range []int{1, 20, 200} {
		for _, kind := range []struct {
			name string
			app  func(testing.TB) (App, []commands.Command) // nil: the bare bot
			do   ask
		}{{"bare", nil, stack}, {"ok", ok, stack}, {"stack", shipped, stack}, {"testcut", shipped, cut}} {
			b.Run(strconv.Itoa(flight)+" in flight/"+kind.name, func(b *testing.B) {
				s := &fakediscord.Server{Token: testToken, ContractOff: true, History: 2000}
				if err := s.Start(); err != nil {
					b.Fatal(err)
				}
				defer s.Close()
				hall := s.AddGuild("Evening class")
				if kind.app == nil {
					defer bareBot(b, s)()
				} else {
					app, cmds := kind.app(b)
					defer ourBot(b, s, app, cmds)()
				}
				if err := s.WaitReady(context.Background()); err != nil {
					b.Fatal(err)
				}
				measure(b, s, hall.Channel("bench"), flight, kind.do)
			})
		}
	}
}

type ask func(*fakediscord.Server, *fakediscord.User, *fakediscord.Channel) *fakediscord.Interaction

// measure keeps so many interactions in flight and reports median and p99. Each
// member has a setup before the clock starts.
func measure(b *testing.B, s *fakediscord.Server, bench *fakediscord.Channel, flight int, do ask) {
	b.Helper()
	var users []*fakediscord.User
	for i := range flight {
		u := s.AddUser("member" + strconv.Itoa(i))
		users = append(users, u)
		if _, err := s.Command(u, bench, "stack", fakediscord.String("stock", "23/32")).Wait(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
	var mu sync.Mutex
	var took []time.Duration
	var wg sync.WaitGroup
	left := make(chan struct{}, b.N)
	for range b.N {
		left <- struct{}{}
	}
	close(left)
	b.ResetTimer()
	for _, u := range users {
		wg.Go(func() {
			n := 0
			for range left {
				// No setup takes hundreds of test cuts: a new one after each eight.
				if n++; n%8 == 0 {
					if _, err := s.Command(u, bench, "stack", fakediscord.String("stock", "23/32")).Wait(context.Background()); err != nil {
						b.Error(err)
						return
					}
				}
				ia := do(s, u, bench)
				if _, err := ia.Wait(context.Background()); err != nil {
					b.Error(err)
					return
				}
				d, _ := ia.Latency()
				mu.Lock()
				took = append(took, d)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	b.StopTimer()
	if len(took) == 0 {
		return
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
}

// bareBot is the least that a discordgo bot can be.
func bareBot(b *testing.B, s *fakediscord.Server) func() {
	b.Helper()
	rd, err := newRoad(s.URL(), time.Now)
	if err != nil {
		b.Fatal(err)
	}
	dg, err := discordgo.New("Bot " + testToken)
	if err != nil {
		b.Fatal(err)
	}
	dg.Client.Transport = rd
	dg.Dialer = websocket.DefaultDialer
	dg.Identify.Intents = 0
	dg.AddHandler(func(_ *discordgo.Session, i *discordgo.InteractionCreate) {
		if err := dg.InteractionRespond(i.Interaction, &discordgo.InteractionResponse{
			Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{Content: "ok", AllowedMentions: &discordgo.MessageAllowedMentions{}},
		}); err != nil {
			b.Error(err)
		}
	})
	if err := dg.Open(); err != nil {
		b.Fatal(err)
	}
	return func() {
		dg.ShouldReconnectOnError = false
		_ = dg.Close()
		rd.under.CloseIdleConnections()
	}
}

func ourBot(b *testing.B, s *fakediscord.Server, app App, cmds []commands.Command) func() {
	b.Helper()
	cfg := newRigConfig(s, cmds, &logbook{})
	cfg.App, cfg.Log = app, quiet()
	cfg.pace = pace{}.filled()
	cfg.pace.burst, cfg.pace.refill = 1e9, 1e9
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Run(ctx, cfg) }()
	return func() {
		cancel()
		if err := <-done; err != nil {
			b.Error(err)
		}
	}
}

// BenchmarkMemory reports the heap after each fifth of many interactions: it
// should be flat. The desk is driven alone, since the stand-in keeps more than
// the bot does.
//
//	go test ./bot -run '^$' -bench Memory -benchtime 100000x
func BenchmarkMemory(b *testing.B) {
	s := &fakediscord.Server{Token: testToken, ContractOff: true, History: 100}
	if err := s.Start(); err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	cfg, err := newRigConfig(s, lineup(), &logbook{}).filled()
	if err != nil {
		b.Fatal(err)
	}
	cfg.Log = quiet()
	cfg.App = &script{run: func(context.Context, commands.Call) (commands.Reply, error) {
		return commands.Reply{Text: "ok"}, nil
	}}
	r, err := newREST(cfg)
	if err != nil {
		b.Fatal(err)
	}
	defer r.close()
	d := newDesk(cfg, r, newMetrics(cfg.Metrics))
	heap := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc) / (1 << 20)
	}
	for i := range b.N {
		id := strconv.FormatInt((time.Now().UnixMilli()-1420070400000)<<22+int64(i%(1<<22)), 10)
		d.take([]byte(`{"type":2,"id":"`+id+`","token":"t`+id+`","user":{"id":"`+strconv.Itoa(i)+`"},"data":{"name":"stack"}}`), nil)
		for len(d.room) > 100 {
			time.Sleep(time.Millisecond)
		}
		switch i {
		case b.N / 5, b.N / 5 * 3, b.N - 1:
			b.ReportMetric(heap(), "MiB-at-"+strconv.Itoa((i*5+b.N-1)/b.N)+"/5")
		}
	}
	d.drain()
}
