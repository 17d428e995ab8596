package bot

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// ledger is an App that keeps test cuts as the real one does: a commit first, the
// answer after it.
type ledger struct {
	mu   sync.Mutex
	rng  *rand.Rand
	cuts map[string][]int // numbers by interaction
	last int
}

// mood is what one request does besides answering.
func (l *ledger) mood() (wait time.Duration, fate int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	fate = l.rng.IntN(100)
	if l.rng.IntN(20) == 0 {
		wait = 300 * time.Millisecond // past the deferral
	}
	return wait, fate
}

func (l *ledger) answer(ctx context.Context, private bool, text string) (commands.Reply, error) {
	wait, fate := l.mood()
	if err := sleep(ctx, wait); err != nil {
		return commands.Reply{}, err
	}
	reply := commands.Reply{Text: text, Private: private, Actions: []commands.Action{
		{ID: "cut", Label: "Cut"}, {ID: "form", Label: "Form"}, {ID: "private", Label: "Mine"},
	}}
	switch fate {
	case 0:
		panic("soak")
	case 1:
		return commands.Reply{}, errors.New("soak")
	case 2, 3:
		return commands.Reply{}, &commands.UserError{Option: "stock", Message: "soak"}
	case 4:
		reply.Text = strings.Repeat("a line of the answer\n", 120)
	}
	return reply, nil
}

func (l *ledger) Run(ctx context.Context, c commands.Call) (commands.Reply, error) {
	return l.answer(ctx, c.Name == "mine", "stack")
}

func (l *ledger) Complete(ctx context.Context, _ commands.Call, _ string) ([]commands.Choice, error) {
	_, err := l.answer(ctx, false, "")
	return []commands.Choice{{Label: "L", Value: "v"}}, err
}

func (l *ledger) Press(ctx context.Context, p commands.Press) (commands.Reply, error) {
	if p.ID != "cut" {
		return l.answer(ctx, p.ID == "private", "pressed")
	}
	wait, _ := l.mood()
	if err := sleep(ctx, wait); err != nil {
		return commands.Reply{}, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.last++
	l.cuts[p.Interaction] = append(l.cuts[p.Interaction], l.last)
	return commands.Reply{Text: fmt.Sprintf("logged as cut %d", l.last)}, nil
}

// TestSoak sends 2,000 interactions a minute through every fault that the
// stand-in knows. Five seconds by default; SHIMWRIGHT_SOAK=1m for a minute, or
// longer by hand.
func TestSoak(t *testing.T) {
	length := 5 * time.Second
	if s := os.Getenv("SHIMWRIGHT_SOAK"); s != "" {
		d, err := time.ParseDuration(s)
		if err != nil {
			t.Fatalf("SHIMWRIGHT_SOAK: %v; give a duration like 1m", err)
		}
		length = d
	}
	total := int(2000 * length.Minutes())
	const seed = 20260806
	app := &ledger{rng: rand.New(rand.NewPCG(seed, 1)), cuts: map[string][]int{}}
	r := newRig(t, func(r *rig) {
		beating(r)
		r.server.Seed = seed
		r.server.HeartbeatInterval = 800 * time.Millisecond
		r.cfg.App = app
		r.cfg.FormFor = func(id string) (commands.Form, bool) {
			return commands.Form{Title: "T", Fields: []commands.Field{{Name: "f", Label: "F"}}}, id == "form"
		}
	}).start()
	shown := fakediscord.Message{ChannelID: r.bench.ID}
	var form *fakediscord.Modal
	for form == nil || shown.ID == "" { // something to press, before the weather turns
		if a, err := r.stack("1").Wait(soon(t)); err == nil && len(a.Buttons()) == 3 {
			shown = a.Message
		}
		if a, err := r.server.Press(r.mira, shown, "form").Wait(soon(t)); err == nil {
			form = a.Modal
		}
	}
	weather(r.server)

	rng := rand.New(rand.NewPCG(seed, 2))
	var users []*fakediscord.User
	for i := range 20 {
		u := r.server.AddUser(fmt.Sprintf("member%d", i))
		r.hall.Join(u)
		users = append(users, u)
	}
	var sent []*fakediscord.Interaction
	pause := length / time.Duration(total)
	for range total {
		u := users[rng.IntN(len(users))]
		var ia *fakediscord.Interaction
		switch rng.IntN(7) {
		case 0:
			ia = r.server.Command(u, r.bench, "stack", fakediscord.String("stock", "23/32"))
		case 1:
			ia = r.server.Command(u, r.server.DM(u), "mine")
		case 2:
			ia = r.server.Complete(u, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "b")))
		case 3:
			ia = r.server.Press(u, shown, "form")
		case 4:
			ia = r.server.Submit(u, form, map[string]string{"f": "1"})
		default:
			ia = r.server.Press(u, shown, "cut")
		}
		if rng.IntN(25) == 0 {
			r.server.Redeliver(ia)
		}
		sent = append(sent, ia)
		time.Sleep(time.Duration(rng.Int64N(int64(2 * pause))))
	}
	r.server.ClearFaults()
	time.Sleep(3100 * time.Millisecond) // what is unanswered now stays so
	answersAgainPlainly(t, r)
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	judge(t, app, sent)
}

// weather plans every fault, each by chance and for as long as the soak lasts.
func weather(s *fakediscord.Server) {
	const short = 150 * time.Millisecond
	for _, f := range []fakediscord.Fault{
		{Status: 429, RetryAfter: short},
		{Status: 429, RetryAfter: short, Global: true},
		{Status: 429, HTML: true, RetryAfter: time.Second},
		{Status: 500}, {Status: 502}, {Status: 503},
		{Status: 502, HTML: true},
		{Status: 500, TakesEffect: true},
		{Drop: true}, {Drop: true, TakesEffect: true},
		{Cut: true, TakesEffect: true},
		{Delay: 700 * time.Millisecond}, {Delay: 700 * time.Millisecond, TakesEffect: true},
	} {
		f.Times = -1
		for route, chance := range map[fakediscord.Route]float64{
			fakediscord.RouteCallback: 0.012, fakediscord.RouteOriginal: 0.05, fakediscord.RouteGateway: 0.03, fakediscord.RouteGatewayBot: 0.03,
		} {
			f.Route, f.Chance = route, chance
			s.Inject(f)
		}
	}
	type d = fakediscord.Disturbance
	for _, w := range []d{
		{Do: fakediscord.Drop}, {Do: fakediscord.Close, Code: 4000}, {Do: fakediscord.Close, Code: 4009}, {Do: fakediscord.Close, Code: 1000},
		{Do: fakediscord.Reconnect}, {Do: fakediscord.Invalidate}, {Do: fakediscord.Invalidate, Resumable: true},
		{Do: fakediscord.Silence}, {Do: fakediscord.Beat}, {Do: fakediscord.Slow, Delay: 20 * time.Millisecond},
	} {
		s.DisturbAt(fakediscord.AtDispatch, -1, 0.0008, w)
		s.DisturbAt(fakediscord.AtHeartbeat, -1, 0.008, w)
		s.DisturbAt(fakediscord.AtConnect, -1, 0.02, w)
		s.DisturbAt(fakediscord.AtIdentify, -1, 0.03, w)
		s.DisturbAt(fakediscord.AtResume, -1, 0.03, w)
	}
}

// answersAgainPlainly: after the weather the bot must be well.
func answersAgainPlainly(t *testing.T, r *rig) {
	t.Helper()
	if err := waitFor(func() bool {
		a, err := r.stack("after").Settled(soon(t))
		return err == nil && a.Content != ""
	}); err != nil {
		t.Fatalf("the bot does not come back\n%s", r.log)
	}
}

// judge looks at every interaction when all is over.
func judge(t *testing.T, app *ledger, sent []*fakediscord.Interaction) {
	t.Helper()
	app.mu.Lock()
	defer app.mu.Unlock()
	answered, never, tried, lost := 0, 0, 0, 0
	owner := map[int]string{}
	for id, cuts := range app.cuts {
		if len(cuts) != 1 {
			t.Errorf("interaction %s was logged %d times: %v", id, len(cuts), cuts)
		}
		for _, n := range cuts {
			owner[n] = id
		}
	}
	for _, ia := range sent {
		steps := ia.Steps()
		switch {
		case len(steps) == 0 && ia.Expired():
			switch {
			case ia.Deliveries() == 0:
				never++
			case ia.Attempts() > 0:
				tried++
			default:
				lost++
			}
			continue
		case len(steps) == 0 || ia.Answers() != 1 || steps[0].Step != fakediscord.StepCallback:
			t.Errorf("%s has %d first answers in %d steps", ia.ID, ia.Answers(), len(steps))
			continue
		}
		answered++
		last := steps[0]
		for _, s := range steps[1:] {
			if s.Step == fakediscord.StepEdit && last.Step == fakediscord.StepEdit && s.Content != last.Content {
				t.Errorf("%s has two answers: %q, %q", ia.ID, last.Content, s.Content)
			}
			if s.Step == fakediscord.StepEdit {
				last = s
			}
		}
		if last.Type == fakediscord.CallbackDeferMessage || last.Loading() {
			t.Errorf("%s was deferred and never answered", ia.ID)
		}
		var n int
		if _, err := fmt.Sscanf(last.Content, "**logged as cut %d**", &n); err == nil && owner[n] != ia.ID {
			t.Errorf("%s was told that it is cut %d, which the log does not say", ia.ID, n)
		}
	}
	t.Logf("%d interactions: %d answered, %d that came while the gateway was down, %d on a connection that broke, %d whose every try met a fault; %d cuts logged",
		len(sent), answered, never, lost, tried, len(app.cuts))
	// A connection that breaks takes with it what was on its way, and each try can
	// meet a fault; more than one in fifty would be the bot's own doing.
	if never > len(sent)/3 {
		t.Errorf("the gateway was down for %d of %d interactions", never, len(sent))
	}
	if lost+tried > 2+len(sent)/50 {
		t.Errorf("%d of %d interactions expired although they were delivered", lost+tried, len(sent))
	}
}
