package fakediscord_test

import (
	"bytes"
	"compress/zlib"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"shimwright/bot/fakediscord"
)

// closeCode reads until the server closes the connection.
func (b *bot) closeCode() int {
	b.t.Helper()
	for {
		_, err := b.next()
		if err == nil {
			continue
		}
		var ce *websocket.CloseError
		if !errors.As(err, &ce) {
			b.t.Fatalf("no close frame but %v", err)
		}
		return ce.Code
	}
}

func (b *bot) resume(seq int64) {
	b.t.Helper()
	b.write(6, map[string]any{"token": "secret", "session_id": b.ready["session_id"], "seq": seq})
}

// again opens a new connection up to HELLO.
func (b *bot) again() {
	b.t.Helper()
	_ = b.ws.Close()
	b.dial()
	if f := b.read(); f.Op != 10 {
		b.t.Fatalf("got op %d, want HELLO", f.Op)
	}
}

func TestHeartbeat(t *testing.T) {
	b := connect(t, start(t, &fakediscord.Server{}))
	b.write(1, b.seq)
	if f := b.read(); f.Op != 11 {
		t.Errorf("got op %d, want an acknowledgement", f.Op)
	}
}

func TestMissedHeartbeat(t *testing.T) {
	s := start(t, &fakediscord.Server{HeartbeatInterval: 20 * time.Millisecond})
	b := connect(t, s)
	if code := b.closeCode(); code != fakediscord.CloseSessionTimedOut {
		t.Errorf("closed with %d", code)
	}
	b.again()
	b.resume(b.seq)
	if f := b.read(); f.Op != 9 || string(f.D) != "false" {
		t.Errorf("got op %d %s, want INVALID_SESSION false", f.Op, f.D)
	}
}

// TestResume cuts a connection, acts meanwhile, and wants what was missed in
// order with its old numbers, then RESUMED.
func TestResume(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	mira, bench := s.AddUser("mira"), s.AddGuild("Hall").Channel("bench")
	b := connect(t, s)
	s.Command(mira, bench, "one")
	if f := b.read(); f.S != 2 {
		t.Errorf("event has number %d", f.S)
	}
	s.Disturb(fakediscord.Disturbance{Do: fakediscord.Drop})
	if err := s.WaitSessions(soon(t), 0); err != nil {
		t.Fatal(err)
	}
	two := s.Command(mira, bench, "two")
	s.Command(mira, bench, "three")
	if two.Deliveries() != 0 {
		t.Errorf("delivered %d times to nobody", two.Deliveries())
	}
	b.again()
	b.resume(2)
	for i, want := range []string{"two", "three", "RESUMED"} {
		f := b.read()
		if f.S != int64(3+i) || f.T != want && !strings.Contains(string(f.D), `"name":"`+want+`"`) {
			t.Errorf("got %d %s %s, want %s", f.S, f.T, f.D, want)
		}
	}
	if s.Identifies() != 1 || s.Resumes() != 1 {
		t.Errorf("%d IDENTIFYs, %d RESUMEs", s.Identifies(), s.Resumes())
	}
	// What is received after the first RESUME is replayed by the second, the
	// RESUMED between them is not.
	s.Command(mira, bench, "four")
	b.again()
	b.resume(4)
	if f := b.read(); f.S != 6 || !strings.Contains(string(f.D), `"name":"four"`) {
		t.Errorf("got %d %s", f.S, f.D)
	}
}

func TestResumeRefused(t *testing.T) {
	for _, tc := range []struct {
		name  string
		setup func(*fakediscord.Server, *bot)
		code  int // 0 for INVALID_SESSION false
	}{
		{"unknown session", func(_ *fakediscord.Server, b *bot) { b.ready["session_id"] = "nobody" }, 0},
		{"ended by 1000", func(s *fakediscord.Server, b *bot) {
			_ = b.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(1000, ""), time.Now().Add(time.Second))
			if err := s.WaitSessions(soon(b.t), 0); err != nil {
				b.t.Fatal(err)
			}
		}, 0},
		{"number from the future", func(_ *fakediscord.Server, b *bot) { b.seq = 99 }, fakediscord.CloseInvalidSeq},
		{"too much missed", func(s *fakediscord.Server, b *bot) {
			mira, bench := s.AddUser("mira"), s.AddGuild("Hall").Channel("bench")
			s.Disturb(fakediscord.Disturbance{Do: fakediscord.Drop})
			for range 3000 {
				s.Command(mira, bench, "stack")
			}
		}, 0},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := start(t, &fakediscord.Server{})
			b := connect(t, s)
			tc.setup(s, b)
			seq := b.seq
			b.again()
			b.resume(seq)
			if tc.code != 0 {
				if code := b.closeCode(); code != tc.code {
					t.Errorf("closed with %d, want %d", code, tc.code)
				}
				return
			}
			if f := b.read(); f.Op != 9 || string(f.D) != "false" {
				t.Errorf("got op %d %s, want INVALID_SESSION false", f.Op, f.D)
			}
			b.identify() // on the same connection
			if f := b.read(); f.T != "READY" {
				t.Errorf("got op %d %s, want READY", f.Op, f.T)
			}
		})
	}
}

func TestCloseCodes(t *testing.T) {
	properties := map[string]string{"os": "linux"}
	identify := func(more map[string]any) map[string]any {
		d := map[string]any{"token": "secret", "intents": 0, "properties": properties}
		for k, v := range more {
			d[k] = v
		}
		return d
	}
	for _, tc := range []struct {
		name string
		op   int
		d    any
		code int
	}{
		{"unknown opcode", 99, nil, fakediscord.CloseUnknownOpcode},
		{"before IDENTIFY", 3, map[string]any{}, fakediscord.CloseNotAuthenticated},
		{"wrong token", 2, identify(map[string]any{"token": "guess"}), fakediscord.CloseAuthenticationFailed},
		{"no intents", 2, map[string]any{"token": "secret", "properties": properties}, fakediscord.CloseDecodeError},
		{"shard out of range", 2, identify(map[string]any{"shard": []int{2, 2}}), fakediscord.CloseInvalidShard},
		{"unknown intent", 2, identify(map[string]any{"intents": 1 << 30}), fakediscord.CloseInvalidIntents},
		{"intent not granted", 2, identify(map[string]any{"intents": 1 << 15}), fakediscord.CloseDisallowedIntents},
		{"payload over 4096 bytes", 2, identify(map[string]any{"x": strings.Repeat("x", 4096)}), fakediscord.CloseDecodeError},
		{"wrong token in RESUME", 6, map[string]any{"token": "guess", "session_id": "x", "seq": 1}, fakediscord.CloseAuthenticationFailed},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			b := &bot{t: t, s: start(t, &fakediscord.Server{Token: "secret"})}
			b.dial()
			b.read()
			b.write(tc.op, tc.d)
			if code := b.closeCode(); code != tc.code {
				t.Errorf("closed with %d, want %d", code, tc.code)
			}
		})
	}
	t.Run("IDENTIFY twice", func(t *testing.T) {
		b := connect(t, start(t, &fakediscord.Server{}))
		b.identify()
		if code := b.closeCode(); code != fakediscord.CloseAlreadyAuthenticated {
			t.Errorf("closed with %d", code)
		}
	})
	t.Run("121 sends", func(t *testing.T) {
		b := connect(t, start(t, &fakediscord.Server{}))
		for range 120 { // one send was the IDENTIFY
			b.write(1, nil)
		}
		if code := b.closeCode(); code != fakediscord.CloseRateLimited {
			t.Errorf("closed with %d", code)
		}
	})
	t.Run("version 8", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		ws, res, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(s.URL(), "http")+"/?v=8", nil)
		if err != nil {
			t.Fatal(err)
		}
		_ = res.Body.Close()
		b := &bot{t: t, s: s, ws: ws}
		if code := b.closeCode(); code != fakediscord.CloseInvalidAPIVersion {
			t.Errorf("closed with %d", code)
		}
	})
	t.Run("2500 servers on one shard", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		for range 2500 {
			s.AddGuild("Hall")
		}
		b := &bot{t: t, s: s}
		b.dial()
		b.read()
		b.identify()
		if code := b.closeCode(); code != fakediscord.CloseShardingRequired {
			t.Errorf("closed with %d", code)
		}
	})
}

func TestIdentifyBudget(t *testing.T) {
	s := start(t, &fakediscord.Server{IdentifyTotal: 2})
	remaining := func() int {
		_, body, _ := request(t, s, http.MethodGet, "/gateway/bot", "", "")
		var g struct {
			Limit struct{ Remaining int } `json:"session_start_limit"`
		}
		if err := json.Unmarshal([]byte(body), &g); err != nil {
			t.Fatal(err)
		}
		return g.Limit.Remaining
	}
	connect(t, s)
	if n := remaining(); n != 1 {
		t.Errorf("%d of 2 remain after one", n)
	}
	connect(t, s)
	b := &bot{t: t, s: s}
	b.dial()
	b.read()
	b.identify()
	if code := b.closeCode(); code != fakediscord.CloseAuthenticationFailed || !s.TokenReset() {
		t.Errorf("closed with %d, token reset %v", code, s.TokenReset())
	}
	if status, _, _ := request(t, s, http.MethodGet, "/users/@me", "", ""); status != http.StatusUnauthorized {
		t.Errorf("a reset token gets %d", status)
	}
}

// TestStaysAway: a bot that comes back after a fatal close code has broken a
// rule of the gateway, after another code it has not.
func TestStaysAway(t *testing.T) {
	for _, code := range []int{4000, 4004, 4009, 4010, 4014, 1001} {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.Disturb(fakediscord.Disturbance{Do: fakediscord.Close, Code: code})
		b.closeCode()
		b.again()
		fatal := code == 4004 || code >= 4010
		if got := broken(s); fatal != (len(got) == 1 && got[0] == "RECONNECT_AFTER_FATAL") {
			t.Errorf("after %d: %v", code, got)
		}
	}
}

func TestIdentifySpacing(t *testing.T) {
	s := start(t, &fakediscord.Server{IdentifySpacing: time.Hour})
	connect(t, s)
	b := &bot{t: t, s: s}
	b.dial()
	b.read()
	b.identify()
	if f := b.read(); f.Op != 9 || string(f.D) != "false" {
		t.Errorf("got op %d %s", f.Op, f.D)
	}
}

// TestShards sends to each shard what (guild_id >> 22) % count says.
func TestShards(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	mira := s.AddUser("mira")
	var bots [2]*bot
	for i := range bots {
		bots[i] = &bot{t: t, s: s}
		bots[i].dial()
		bots[i].read()
		bots[i].write(2, map[string]any{"token": "x", "intents": 0, "properties": map[string]string{}, "shard": []int{i, 2}})
		bots[i].read()
	}
	seen := [2]int{}
	for range 8 {
		g := s.AddGuild("Hall")
		time.Sleep(time.Millisecond) // ids of the next millisecond fall elsewhere
		ia := s.Command(mira, g.Channel("bench"), "stack")
		if ia.Deliveries() != 1 {
			t.Fatalf("delivered to %d sessions", ia.Deliveries())
		}
		var id uint64
		if err := json.Unmarshal([]byte(g.ID), &id); err != nil {
			t.Fatal(err)
		}
		i := int(id >> 22 % 2)
		if f := bots[i].read(); !strings.Contains(string(f.D), g.ID) {
			t.Errorf("shard %d got %s", i, f.D)
		}
		seen[i]++
	}
	if seen[0] == 0 || seen[1] == 0 {
		t.Errorf("shards saw %v", seen)
	}
	s.Command(mira, s.DM(mira), "stack")
	if f := bots[0].read(); f.T != "INTERACTION_CREATE" {
		t.Errorf("a direct message is not on shard 0")
	}
}

func TestZlib(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	b := &bot{t: t, s: s}
	b.dial()
	b.read()
	b.write(2, map[string]any{"token": "x", "intents": 0, "properties": map[string]string{}, "compress": true})
	for _, want := range []string{"READY", "INTERACTION_CREATE"} {
		kind, raw, err := b.ws.ReadMessage()
		if err != nil || kind != websocket.BinaryMessage {
			t.Fatalf("message of kind %d, %v", kind, err)
		}
		z, err := zlib.NewReader(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		plain, err := io.ReadAll(z)
		if err != nil || !strings.Contains(string(plain), `"t":"`+want+`"`) {
			t.Errorf("%s, %v", plain, err)
		}
		u := s.AddUser("mira")
		s.Command(u, s.DM(u), "stack")
	}
}

func TestDisturbances(t *testing.T) {
	t.Run("op 7 in place of READY", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		s.DisturbAt(fakediscord.AtIdentify, 1, 0, fakediscord.Disturbance{Do: fakediscord.Reconnect})
		b := &bot{t: t, s: s}
		b.dial()
		b.read()
		b.identify()
		if f := b.read(); f.Op != 7 {
			t.Errorf("got op %d", f.Op)
		}
		connect(t, s) // once only
	})
	t.Run("op 7 in place of RESUMED", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.DisturbAt(fakediscord.AtResume, 1, 0, fakediscord.Disturbance{Do: fakediscord.Reconnect})
		b.again()
		b.resume(1)
		if f := b.read(); f.Op != 7 {
			t.Errorf("got op %d", f.Op)
		}
		b.again()
		b.resume(1)
		if f := b.read(); f.T != "RESUMED" {
			t.Errorf("got op %d %s", f.Op, f.T)
		}
	})
	t.Run("op 9 true", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.Disturb(fakediscord.Disturbance{Do: fakediscord.Invalidate, Resumable: true})
		if f := b.read(); f.Op != 9 || string(f.D) != "true" {
			t.Errorf("got op %d %s", f.Op, f.D)
		}
		b.again()
		b.resume(1)
		if f := b.read(); f.T != "RESUMED" {
			t.Errorf("got op %d %s", f.Op, f.T)
		}
	})
	t.Run("close code", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.Disturb(fakediscord.Disturbance{Do: fakediscord.Close, Code: fakediscord.CloseUnknownError})
		if code := b.closeCode(); code != fakediscord.CloseUnknownError {
			t.Errorf("closed with %d", code)
		}
		b.again()
		b.resume(1)
		if f := b.read(); f.T != "RESUMED" {
			t.Errorf("got op %d %s", f.Op, f.T)
		}
	})
	t.Run("silence", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.Disturb(fakediscord.Disturbance{Do: fakediscord.Silence})
		mira := s.AddUser("mira")
		ia := s.Command(mira, s.DM(mira), "stack")
		b.write(1, 1)
		_ = b.ws.SetReadDeadline(time.Now().Add(100 * time.Millisecond))
		if _, raw, err := b.ws.ReadMessage(); err == nil {
			t.Errorf("a silent session sent %s", raw)
		}
		if s.Sessions() != 0 || s.Connections() != 1 || ia.Deliveries() != 0 {
			t.Errorf("%d sessions, %d connections, %d deliveries", s.Sessions(), s.Connections(), ia.Deliveries())
		}
		b.again()
		b.resume(1)
		if f := b.read(); f.T != "INTERACTION_CREATE" {
			t.Errorf("got op %d %s, want what the silence kept back", f.Op, f.T)
		}
	})
	t.Run("dropped before the event", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.DisturbAt(fakediscord.AtDispatch, 1, 0, fakediscord.Disturbance{Do: fakediscord.Drop})
		mira := s.AddUser("mira")
		s.Command(mira, s.DM(mira), "stack")
		if f, err := b.next(); err == nil {
			t.Errorf("got %s", f.T)
		}
		b.again()
		b.resume(1)
		if f := b.read(); f.T != "INTERACTION_CREATE" {
			t.Errorf("got op %d %s", f.Op, f.T)
		}
	})
	t.Run("no acknowledgement", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.DisturbAt(fakediscord.AtHeartbeat, 1, 0, fakediscord.Disturbance{Do: fakediscord.Beat})
		b.write(1, 1)
		if f := b.read(); f.Op != 1 {
			t.Errorf("got op %d, want a request for a heartbeat", f.Op)
		}
		if f := b.read(); f.Op != 11 {
			t.Errorf("got op %d, want an acknowledgement", f.Op)
		}
	})
	t.Run("slow", func(t *testing.T) {
		s := start(t, &fakediscord.Server{})
		b := connect(t, s)
		s.Disturb(fakediscord.Disturbance{Do: fakediscord.Slow, Delay: 50 * time.Millisecond})
		began := time.Now()
		b.write(1, 1)
		b.read()
		if d := time.Since(began); d < 50*time.Millisecond {
			t.Errorf("came after %v", d)
		}
	})
}

// TestRedeliver sends one interaction twice, as a replay does.
func TestRedeliver(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	b := connect(t, s)
	mira := s.AddUser("mira")
	ia := s.Command(mira, s.DM(mira), "stack")
	one := b.read()
	s.Redeliver(ia)
	two := b.read()
	if string(one.D) != string(two.D) || two.S != one.S+1 || ia.Deliveries() != 2 {
		t.Errorf("%d %s and %d %s", one.S, one.D, two.S, two.D)
	}
}

// TestCloseEndsEverything leaves goleak nothing to find with clients connected
// and others trying.
func TestCloseEndsEverything(t *testing.T) {
	s := &fakediscord.Server{}
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	b := connect(t, s)
	s.Inject(fakediscord.Fault{Delay: time.Hour})
	var wg sync.WaitGroup
	wg.Go(func() {
		res, err := http.Get(s.URL() + "/api/v9/gateway")
		if err == nil {
			_ = res.Body.Close()
		}
	})
	for limit := time.Now().Add(5 * time.Second); s.Requests(fakediscord.RouteGateway) == 0; time.Sleep(time.Millisecond) {
		if time.Now().After(limit) {
			t.Fatal("the request did not arrive")
		}
	}
	s.Close()
	s.Close()
	wg.Wait()
	if _, err := b.next(); err == nil {
		t.Error("still connected")
	}
}
