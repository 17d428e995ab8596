package bot

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
	"shimwright/commands/drawing"
)

// freeAddr is a loopback address that nobody listens on.
func freeAddr(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// overHTTP starts a bot that takes signed requests; the stand-in first checks, as
// Discord does, that PING gets its pong and a bad signature 401.
func overHTTP(t *testing.T, change func(*rig)) (*rig, string) {
	t.Helper()
	r := newRig(t, change)
	r.cfg.InteractionsAddr, r.cfg.PublicKey = freeAddr(t), r.server.PublicKey()
	url := "http://" + r.cfg.InteractionsAddr + "/interactions"
	r.start()
	if err := waitFor(func() bool {
		c, err := net.Dial("tcp", r.cfg.InteractionsAddr)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}); err != nil {
		t.Fatal(err, r.log)
	}
	if err := r.server.DeliverTo(soon(t), url); err != nil {
		t.Fatal(err)
	}
	return r, url
}

// The same answers as over the gateway, in the response or after it.
func TestSignedInteractions(t *testing.T) {
	t.Parallel()
	r, _ := overHTTP(t, func(r *rig) {
		r.cfg.Draw = func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
		r.cfg.FormFor = func(id string) (commands.Form, bool) {
			return commands.Form{Title: "T", Fields: []commands.Field{{Name: "f", Label: "F"}}}, id == "form"
		}
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			reply := commands.Reply{Text: "ok", Actions: []commands.Action{{ID: "b", Label: "B"}, {ID: "form", Label: "F"}, {ID: "drawn", Label: "D"}}}
			switch c.Options["stock"] {
			case "slow":
				time.Sleep(tooLong)
			case "long":
				reply.Text = strings.Repeat("a line of the answer\n", 120)
			case "bad":
				return reply, &commands.UserError{Message: "no"}
			case "panic":
				panic("boom")
			}
			return reply, nil
		}
		r.app.press = func(_ context.Context, p commands.Press) (commands.Reply, error) {
			reply := commands.Reply{Text: "pressed", Replace: true}
			if p.ID == "drawn" {
				reply.Pictures = []commands.Picture{{Name: "p", Alt: "says the same"}}
			}
			return reply, nil
		}
		r.app.complete = func(context.Context, commands.Call, string) ([]commands.Choice, error) {
			return []commands.Choice{{Label: "L", Value: "v"}}, nil
		}
	})
	a := r.settled(r.stack("1"))
	if a.Type != fakediscord.CallbackMessage || a.Content != "**ok**" {
		t.Errorf("answer %+v", a)
	}
	if s := r.settled(r.stack("slow")); s.Step != fakediscord.StepEdit || s.Content != "**ok**" {
		t.Errorf("slow %+v", s)
	}
	if s, err := r.stack("long").WaitSteps(soon(t), 2); err != nil || s[1].Step != fakediscord.StepFollowup {
		t.Errorf("long %+v, %v", s, err)
	}
	if s := r.settled(r.stack("bad")); s.Content != "**no**" || !s.Ephemeral() {
		t.Errorf("bad %+v", s)
	}
	if s := r.settled(r.stack("panic")); !strings.Contains(s.Content, "reference") {
		t.Errorf("panic %+v", s)
	}
	if s := r.settled(r.server.Press(r.mira, a.Message, "form")); s.Modal == nil {
		t.Errorf("form %+v", s)
	}
	if s := r.settled(r.server.Press(r.mira, a.Message, "b")); s.Type != fakediscord.CallbackUpdate || s.Content != "**pressed**" {
		t.Errorf("press %+v", s)
	}
	if s := r.settled(r.server.Press(r.mira, a.Message, "drawn")); s.Step != fakediscord.StepEdit || len(s.Files) != 1 || s.Files[0].Description != "says the same" || s.ID != a.ID {
		t.Errorf("with a picture %+v", s)
	}
	if s := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "x")))); len(s.Choices) != 1 {
		t.Errorf("choices %+v", s)
	}
	if n := r.server.Requests(fakediscord.RouteCallback); n != 0 {
		t.Errorf("%d callbacks by another way", n)
	}
}

// A proxy may hand one interaction to two processes. The second does not write
// over what the first has answered, though nobody tells it.
func TestSignedAnsweredByAnotherProcess(t *testing.T) {
	t.Parallel()
	r, _ := overHTTP(t, nil)
	second := newRigConfig(r.server, lineup(), r.log)
	second.InteractionsAddr, second.PublicKey = freeAddr(t), r.server.PublicKey()
	second.Draw = func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
	second.App = &script{run: func(_ context.Context, c commands.Call) (commands.Reply, error) {
		if c.Options["stock"] == "slow" {
			time.Sleep(tooLong)
			return commands.Reply{Text: "already logged"}, nil
		}
		return commands.Reply{Text: "already logged", Pictures: []commands.Picture{{Name: "p", Alt: "says the same"}}}, nil
	}}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Run(ctx, second) }()
	defer func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	}()
	all := []*fakediscord.Interaction{r.stack("1"), r.stack("slow")}
	for _, ia := range all {
		r.settled(ia)
	}
	if err := waitFor(func() bool { return r.server.DeliverTo(soon(t), "http://"+second.InteractionsAddr) == nil }); err != nil {
		t.Fatal(err)
	}
	for _, ia := range all {
		r.server.Redeliver(ia)
	}
	if err := waitFor(func() bool {
		families, err := second.Metrics.Gather()
		return err == nil && strings.Contains(exposition(families), `shimwright_interactions_total{command="stack",outcome="elsewhere"} 2`)
	}); err != nil {
		t.Error("the second process did not notice", r.log)
	}
	for _, ia := range all {
		if steps := ia.Steps(); steps[len(steps)-1].Content != "**ok**" {
			t.Errorf("steps %+v", steps)
		}
	}
}

// What is not from Discord, too old, too large or no interaction is turned away.
func TestSignedRefusals(t *testing.T) {
	t.Parallel()
	r, url := overHTTP(t, nil)
	ping := []byte(`{"id":"1","type":1,"token":"x"}`)
	for name, tt := range map[string]struct {
		body  []byte
		tweak fakediscord.Tweak
		want  int
	}{
		"ping":             {ping, fakediscord.Tweak{}, 200},
		"bad signature":    {ping, fakediscord.Tweak{BadSignature: true}, 401},
		"no signature":     {ping, fakediscord.Tweak{NoSignature: true}, 401},
		"tampered":         {ping, fakediscord.Tweak{Tampered: true}, 401},
		"four minutes old": {ping, fakediscord.Tweak{Age: 4 * time.Minute}, 200},
		"six minutes old":  {ping, fakediscord.Tweak{Age: 6 * time.Minute}, 401},
		"from the future":  {ping, fakediscord.Tweak{Age: -6 * time.Minute}, 401},
		"no JSON":          {[]byte("x"), fakediscord.Tweak{}, 400},
		"an unknown kind":  {[]byte(`{"id":"1","type":9,"token":"x"}`), fakediscord.Tweak{}, 400},
		"long forgotten":   {[]byte(`{"id":"1","type":2,"token":"x","data":{"name":"stack"},"user":{"id":"5"}}`), fakediscord.Tweak{}, 400},
		"too large":        {bytes.Repeat([]byte(" "), maxBody+1), fakediscord.Tweak{}, 413},
	} {
		got, _, err := r.server.Signed(soon(t), url, tt.body, tt.tweak)
		if err != nil || got != tt.want {
			t.Errorf("%s: %d, %v; want %d", name, got, err, tt.want)
		}
	}
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	http.DefaultClient.CloseIdleConnections()
	if resp.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("GET: %d", resp.StatusCode)
	}
}

func TestSignedConfig(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*Config){
		"key":     func(c *Config) { c.PublicKey = "abc" },
		"address": func(c *Config) { c.InteractionsAddr = "nowhere at all" },
		"health":  func(c *Config) { c.HealthAddr = "nowhere at all" },
		"API":     func(c *Config) { c.API = "discord.com" },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, nil)
			r.cfg.InteractionsAddr, r.cfg.PublicKey = "127.0.0.1:0", r.server.PublicKey()
			change(&r.cfg)
			var fatal *Fatal
			if err := Run(context.Background(), r.cfg); !errors.As(err, &fatal) || fatal.Code != ExitConfig {
				t.Errorf("got %v", err)
			}
		})
	}
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		return 0, ""
	}
	defer resp.Body.Close()
	defer http.DefaultClient.CloseIdleConnections()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(b)
}

func TestHealth(t *testing.T) {
	t.Parallel()
	addr := freeAddr(t)
	r := newRig(t, func(r *rig) { r.cfg.HealthAddr = addr }).start()
	base := "http://" + addr
	if code, _ := get(t, base+"/healthz"); code != 200 {
		t.Errorf("healthz %d", code)
	}
	if code, _ := get(t, base+"/readyz"); code != 200 {
		t.Errorf("readyz %d", code)
	}
	r.settled(r.stack("1"))
	if err := waitFor(func() bool {
		_, text := get(t, base+"/metrics")
		return strings.Contains(text, `shimwright_interactions_total{command="stack",outcome="answered"} 1`) &&
			strings.Contains(text, `shimwright_gateway_connects_total{how="identify"} 1`) &&
			strings.Contains(text, "shimwright_answer_seconds_count 1")
	}); err != nil {
		_, text := get(t, base+"/metrics")
		t.Error(text)
	}
	r.server.DisturbAt(fakediscord.AtConnect, -1, 0, fakediscord.Disturbance{Do: fakediscord.Drop})
	r.server.Disturb(fakediscord.Disturbance{Do: fakediscord.Drop})
	if err := waitFor(func() bool { code, _ := get(t, base+"/readyz"); return code == 503 }); err != nil {
		t.Error("readyz stays up without a connection")
	}
	if code, _ := get(t, base+"/healthz"); code != 200 {
		t.Errorf("healthz %d", code)
	}
}
