package bot

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
	"shimwright/storage/sqlite"
)

// moody is the real App on a bad day: some requests take long, panic or fail,
// before or after their work is done.
type moody struct {
	*commands.App
	mu       sync.Mutex
	rng      *rand.Rand
	accepted map[string]int // test cuts that the App said are logged, by interaction
	entered  map[string]bool
}

func (m *moody) mood(id string) (wait time.Duration, fate int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.entered[id] = true
	if m.rng.IntN(20) == 0 {
		wait = tooLong // past the deferral
	}
	return wait, m.rng.IntN(100)
}

// on does the work between what precedes it and what follows.
func (m *moody) on(ctx context.Context, id string, work func() (commands.Reply, error)) (commands.Reply, error) {
	wait, fate := m.mood(id)
	if err := sleep(ctx, wait); err != nil {
		return commands.Reply{}, err
	}
	switch fate {
	case 0:
		panic("soak, before the work")
	case 1:
		return commands.Reply{}, errors.New("soak, before the work")
	case 2:
		return commands.Reply{}, &commands.UserError{Option: "stock", Message: "soak"}
	}
	reply, err := work()
	switch fate {
	case 3:
		panic("soak, after the work")
	case 4:
		reply.Text += strings.Repeat("\nmore of the answer", 120)
	}
	return reply, err
}

func (m *moody) Run(ctx context.Context, c commands.Call) (commands.Reply, error) {
	return m.on(ctx, c.Interaction, func() (commands.Reply, error) {
		reply, err := m.App.Run(ctx, c)
		if c.Name == "testcut" && err == nil {
			m.mu.Lock()
			m.accepted[c.Interaction]++
			m.mu.Unlock()
		}
		return reply, err
	})
}

func (m *moody) Press(ctx context.Context, p commands.Press) (commands.Reply, error) {
	return m.on(ctx, p.Interaction, func() (commands.Reply, error) { return m.App.Press(ctx, p) })
}

// openApp is the App that ships, over a database of its own.
func openApp(tb testing.TB) (app *commands.App, path string) {
	tb.Helper()
	path = filepath.Join(tb.TempDir(), "shop.db")
	db, err := sqlite.Open(context.Background(), path)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := db.Close(); err != nil {
			tb.Error(err)
		}
	})
	return &commands.App{Store: db}, path
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
	real, path := openApp(t)
	app := &moody{App: real, rng: rand.New(rand.NewPCG(seed, 1)), accepted: map[string]int{}, entered: map[string]bool{}}
	r := newRig(t, func(r *rig) {
		beating(r)
		r.server.Seed = seed
		r.server.HeartbeatInterval = 800 * time.Millisecond
		r.cfg.App, r.cfg.Commands = app, commands.Commands()
		r.cfg.FormFor, r.cfg.PrivatePress = nil, nil
	}).start()
	// Something to press before the weather turns.
	rng := rand.New(rand.NewPCG(seed, 2))
	var users []*fakediscord.User
	shown := map[*fakediscord.User]fakediscord.Message{}
	var form *fakediscord.Modal
	for i := range 20 {
		u := r.server.AddUser(fmt.Sprintf("member%d", i))
		r.hall.Join(u)
		users = append(users, u)
		for len(shown) == i || form == nil {
			a, err := r.server.Command(u, r.bench, "stack", fakediscord.String("stock", "23/32")).Wait(soon(t))
			if err != nil || a.Button("Measured") == "" {
				continue
			}
			shown[u] = a.Message
			if a, err := r.server.Press(u, a.Message, a.Button("Measured")).Wait(soon(t)); err == nil {
				form = a.Modal
			}
		}
	}
	weather(r.server)

	var sent []*fakediscord.Interaction
	pause := length / time.Duration(total)
	for range total {
		u := users[rng.IntN(len(users))]
		var ia *fakediscord.Interaction
		buttons := shown[u].Buttons()
		switch rng.IntN(8) {
		case 0:
			ia = r.server.Command(u, r.bench, "stack", fakediscord.String("stock", "23/32"))
		case 1:
			ia = r.server.Command(u, r.server.DM(u), "setups")
		case 2:
			ia = r.server.Complete(u, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "st")))
		case 3:
			ia = r.server.Press(u, shown[u], buttons[rng.IntN(len(buttons))].CustomID)
		case 4:
			ia = r.server.Submit(u, form, map[string]string{"groove": "0.721"})
		default:
			ia = r.server.Command(u, r.bench, "testcut", fakediscord.String("feel", "snug"))
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
	judge(t, app, loggedCuts(t, path), sent)
}

// weather plans every fault, each by chance and for as long as the soak lasts.
func weather(s *fakediscord.Server) {
	const short = 150 * time.Millisecond
	for _, f := range []fakediscord.Fault{
		{Status: 429, RetryAfter: short},
		{Status: 429, RetryAfter: short, Global: true},
		{Status: 429, HTML: true, RetryAfter: time.Second},
		{Status: 500},
		{Status: 502},
		{Status: 503},
		{Status: 502, HTML: true},
		{Status: 500, TakesEffect: true},
		{Drop: true},
		{Drop: true, TakesEffect: true},
		{Cut: true, TakesEffect: true},
		{Delay: 700 * time.Millisecond},
		{Delay: 700 * time.Millisecond, TakesEffect: true},
	} {
		f.Times = -1
		for route, chance := range map[fakediscord.Route]float64{
			fakediscord.RouteCallback: 0.012, fakediscord.RouteOriginal: 0.05, fakediscord.RouteFollowups: 0.05, fakediscord.RouteGateway: 0.03, fakediscord.RouteGatewayBot: 0.03,
		} {
			f.Route, f.Chance = route, chance
			s.Inject(f)
		}
	}
	type d = fakediscord.Disturbance
	for _, w := range []d{
		{Do: fakediscord.Drop},
		{Do: fakediscord.Close, Code: 4000},
		{Do: fakediscord.Close, Code: 4009},
		{Do: fakediscord.Close, Code: 1000},
		{Do: fakediscord.Reconnect},
		{Do: fakediscord.Invalidate},
		{Do: fakediscord.Invalidate, Resumable: true},
		{Do: fakediscord.Silence},
		{Do: fakediscord.Beat},
		{Do: fakediscord.Slow, Delay: 20 * time.Millisecond},
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
		a, err := r.stack("0.7").Settled(soon(t))
		return err == nil && a.Content != ""
	}); err != nil {
		t.Fatalf("the bot does not come back\n%s", r.log)
	}
}

// loggedCuts counts the rows of the log by interaction, past all code of ours.
func loggedCuts(t *testing.T, path string) map[string]int {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query(`SELECT interaction, count(*) FROM cuts GROUP BY interaction`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	cuts := map[string]int{}
	for rows.Next() {
		var id string
		var n int
		if err := rows.Scan(&id, &n); err != nil {
			t.Fatal(err)
		}
		cuts[id] = n
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return cuts
}

var logged = regexp.MustCompile(`^\*\*Cut [0-9]+ logged`)

// judge looks at every interaction when all is over.
func judge(t *testing.T, app *moody, cuts map[string]int, sent []*fakediscord.Interaction) {
	t.Helper()
	app.mu.Lock()
	defer app.mu.Unlock()
	answered, never, tried, lost, told := 0, 0, 0, 0, 0
	for id, n := range cuts {
		if n != 1 {
			t.Errorf("interaction %s is in the log %d times", id, n)
		}
	}
	for id, n := range app.accepted {
		if n != 1 || cuts[id] != 1 {
			t.Errorf("the test cut of %s was accepted %d times and is in the log %d times", id, n, cuts[id])
		}
	}
	for _, ia := range sent {
		steps := ia.Steps()
		switch {
		case len(steps) == 0 && ia.Expired():
			switch {
			case ia.Attempts() > 0 || app.entered[ia.ID]:
				tried++
			case ia.Deliveries() == 0:
				never++
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
			if s.Step == fakediscord.StepEdit && last.Step == fakediscord.StepEdit && s.Content != last.Content && s.Content != sayLost {
				t.Errorf("%s has two answers: %q, %q", ia.ID, last.Content, s.Content)
			}
			if s.Step == fakediscord.StepEdit {
				last = s
			}
		}
		if last.Type == fakediscord.CallbackDeferMessage || last.Loading() {
			t.Errorf("%s was deferred and never answered", ia.ID)
		}
		said := last.Content
		if n := len(steps) - 1; steps[n].Step == fakediscord.StepFollowup && last.Content == sayApart {
			said = steps[n].Content
			if !steps[n].Ephemeral() {
				t.Errorf("%s was told in public what is private: %q", ia.ID, said)
			}
		}
		if logged.MatchString(said) {
			told++
			if cuts[ia.ID] != 1 {
				t.Errorf("%s was told %q, and the log does not have it", ia.ID, said)
			}
		}
	}
	t.Logf("%d interactions: %d answered, %d that came while the gateway was down, %d on a connection that broke or was slow, %d whose every try met a fault; %d cuts in the log, %d were told so",
		len(sent), answered, never, lost, tried, len(cuts), told)
	// A connection that breaks takes with it what was on its way, and each try can
	// meet a fault; more than one in fifty would be the bot's own doing.
	if told == 0 || len(app.accepted) == 0 {
		t.Error("no test cut was logged: nothing was tested")
	}
	// Each break takes a second and more; of five seconds that is a lot.
	if len(sent) >= 2000 && never+lost > len(sent)/2 {
		t.Errorf("%d of %d interactions did not reach the bot", never+lost, len(sent))
	}
	// What was worked on is answered, unless every try of its 3 s meets a fault.
	if tried > 1+len(sent)/100 {
		t.Errorf("%d of %d interactions were worked on and got no answer", tried, len(sent))
	}
}
