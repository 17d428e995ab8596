package bot

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// BenchmarkComplete reports the time from dispatch to callback for each kind of
// option that is completed from storage, in a shop with thirty members, a dozen
// sets, six saws and more than a hundred setups: alone; and eight in flight all the
// time, while four more members do nothing but plan and log test cuts. Goal: p99
// under 50 ms.
//
//	go test ./bot -run '^$' -bench Complete -benchtime 5000x
func BenchmarkComplete(b *testing.B) {
	type option = fakediscord.Option
	focus := func(name string) option { return fakediscord.Focus(fakediscord.String(name, "e")) }
	for _, kind := range []struct {
		name, command string
		options       []option
	}{
		{"set", "stack", []option{focus("set")}},
		{"saw", "stack", []option{focus("saw")}},
		{"setup", "testcut", []option{focus("setup")}},
		{"member", "class", []option{fakediscord.Sub("roster", focus("member"))}},
	} {
		for _, class := range []struct {
			name            string
			typing, cutting int
		}{{"alone", 1, 0}, {"8 in flight, 4 cutting", 8, 4}} {
			b.Run(kind.name+"/"+class.name, func(b *testing.B) {
				s := &fakediscord.Server{Token: testToken, ContractOff: true, History: 2000}
				if err := s.Start(); err != nil {
					b.Fatal(err)
				}
				defer s.Close()
				hall := s.AddGuild("Evening class")
				app, _ := openApp(b)
				defer ourBot(b, s, app, commands.Commands())()
				if err := s.WaitReady(context.Background()); err != nil {
					b.Fatal(err)
				}
				users := furnish(b, s, hall)
				bench := hall.Channel("bench")
				stop := load(b, s, bench, users[20:20+class.cutting])
				defer stop()
				tally(b, users[:class.typing], func(u *fakediscord.User, _ int) *fakediscord.Interaction {
					return s.Complete(u, bench, kind.command, kind.options...)
				})
			})
		}
	}
}

// furnish fills the shop: members with setups, sets and saws.
func furnish(b *testing.B, s *fakediscord.Server, hall *fakediscord.Guild) []*fakediscord.User {
	b.Helper()
	bench := hall.Channel("bench")
	admin := hall.AddRole("admin", fakediscord.PermissionAdministrator)
	var users []*fakediscord.User
	do := func(ia *fakediscord.Interaction) {
		b.Helper()
		if a, err := ia.Settled(context.Background()); err != nil || a.Ephemeral() {
			b.Fatalf("%v: %s", err, a.Content)
		}
	}
	for i := range 30 {
		u := s.AddUser("member" + strconv.Itoa(i))
		hall.Join(u, admin)
		users = append(users, u)
		for range 4 {
			do(s.Command(u, bench, "stack", fakediscord.String("stock", "23/32")))
		}
	}
	text := fakediscord.String
	for i := range 10 {
		do(s.Command(users[0], bench, "set", fakediscord.Sub("add", text("name", fmt.Sprintf("Set %d", i)),
			text("pair", "1/8"), text("chippers", "4 x 1/8, 3/32, 1/16"), text("shims", "2 x 0.004, 2 x 0.010, 0.020"), text("diameter", "8"))))
	}
	for i := range 5 {
		do(s.Command(users[0], bench, "saw", fakediscord.Sub("add", text("name", fmt.Sprintf("Saw %d", i)),
			text("arbor", "13/16"), text("insert", "7/8"))))
	}
	return users
}

// load has members plan and log test cuts, one after the other without a pause.
func load(b *testing.B, s *fakediscord.Server, bench *fakediscord.Channel, users []*fakediscord.User) (stop func()) {
	b.Helper()
	var over atomic.Bool
	var wg sync.WaitGroup
	for _, u := range users {
		wg.Go(func() {
			for n := 0; !over.Load(); n++ {
				ia := s.Command(u, bench, "testcut", fakediscord.String("feel", "snug"))
				if n%8 == 0 {
					ia = s.Command(u, bench, "stack", fakediscord.String("stock", "23/32"))
				}
				if _, err := ia.Settled(context.Background()); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	return func() { over.Store(true); wg.Wait() }
}

// tally spreads b.N interactions over members, each of whom waits for an answer
// before the next, and reports median and p99 from dispatch to callback.
func tally(b *testing.B, users []*fakediscord.User, do func(u *fakediscord.User, n int) *fakediscord.Interaction) {
	b.Helper()
	var mu sync.Mutex
	var took []time.Duration
	var wg sync.WaitGroup
	var next atomic.Int64
	b.ResetTimer()
	for _, u := range users {
		wg.Go(func() {
			for {
				n := int(next.Add(1))
				if n > b.N {
					return
				}
				ia := do(u, n)
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
