package bot

import (
	"context"
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
	var each sync.Map // member: interactions so far
	tally(b, users, func(u *fakediscord.User, _ int) *fakediscord.Interaction {
		n, _ := each.LoadOrStore(u, new(int))
		// No setup takes hundreds of test cuts: a new one after each eight.
		if count := n.(*int); *count%8 == 7 {
			if _, err := s.Command(u, bench, "stack", fakediscord.String("stock", "23/32")).Wait(context.Background()); err != nil {
				b.Error(err)
			}
		}
		*n.(*int)++
		return do(s, u, bench)
	})
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
