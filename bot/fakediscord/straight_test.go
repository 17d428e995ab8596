package fakediscord_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"

	"shimwright/bot/fakediscord"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// bot is a client written for these tests: raw JSON over the wire, no library.
type bot struct {
	t     *testing.T
	s     *fakediscord.Server
	ws    *websocket.Conn
	seq   int64
	ready map[string]any
}

func start(t *testing.T, s *fakediscord.Server) *fakediscord.Server {
	t.Helper()
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

type frame struct {
	Op int             `json:"op"`
	D  json.RawMessage `json:"d"`
	S  int64           `json:"s"`
	T  string          `json:"t"`
}

func (b *bot) dial() {
	b.t.Helper()
	ws, res, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(b.s.URL(), "http")+"/?v=9&encoding=json", nil)
	if err != nil {
		b.t.Fatal(err)
	}
	_ = res.Body.Close()
	b.t.Cleanup(func() { _ = ws.Close() })
	b.ws = ws
}

func (b *bot) read() frame {
	b.t.Helper()
	f, err := b.next()
	if err != nil {
		b.t.Fatal(err)
	}
	return f
}

func (b *bot) next() (frame, error) {
	_ = b.ws.SetReadDeadline(time.Now().Add(5 * time.Second))
	_, raw, err := b.ws.ReadMessage()
	if err != nil {
		return frame{}, err
	}
	var f frame
	if err := json.Unmarshal(raw, &f); err != nil {
		return frame{}, err
	}
	if f.S > 0 {
		b.seq = f.S
	}
	checkEvent(b.t, f.T, f.D)
	return f, nil
}

func (b *bot) write(op int, d any) {
	b.t.Helper()
	if err := b.ws.WriteJSON(map[string]any{"op": op, "d": d}); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bot) identify() {
	b.t.Helper()
	b.write(2, map[string]any{"token": "secret", "intents": 0, "properties": map[string]string{"os": "linux"}})
}

// connect goes the straight road to READY.
func connect(t *testing.T, s *fakediscord.Server) *bot {
	t.Helper()
	b := &bot{t: t, s: s}
	b.dial()
	if f := b.read(); f.Op != 10 {
		t.Fatalf("first packet has op %d, want HELLO", f.Op)
	}
	b.identify()
	f := b.read()
	if f.T != "READY" {
		t.Fatalf("got op %d %s, want READY", f.Op, f.T)
	}
	if err := json.Unmarshal(f.D, &b.ready); err != nil {
		t.Fatal(err)
	}
	return b
}

func request(t *testing.T, s *fakediscord.Server, method, path, contentType, body string) (int, string, http.Header) {
	t.Helper()
	return requestAs(t, s, "", method, path, contentType, body)
}

func requestAs(t *testing.T, s *fakediscord.Server, agent, method, path, contentType, body string) (int, string, http.Header) {
	t.Helper()
	if agent == "" {
		agent = "DiscordBot (https://example.invalid, 1)"
	}
	req, err := http.NewRequestWithContext(t.Context(), method, s.URL()+"/api/v9"+path, bytes.NewReader([]byte(body)))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bot secret")
	req.Header.Set("User-Agent", agent)
	if contentType != "" {
		req.Header.Set("Content-Type", contentType)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = res.Body.Close(); http.DefaultClient.CloseIdleConnections() }()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	checkResponse(t, method, req.URL.Path, res, raw)
	return res.StatusCode, string(raw), res.Header
}

func callback(t *testing.T, s *fakediscord.Server, ia *fakediscord.Interaction, body string) (int, string) {
	t.Helper()
	status, answer, _ := request(t, s, http.MethodPost, "/interactions/"+ia.ID+"/"+ia.Token+"/callback", "application/json", body)
	return status, answer
}

func soon(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	t.Cleanup(cancel)
	return ctx
}

func TestStraightRoad(t *testing.T) {
	s := start(t, &fakediscord.Server{Token: "secret"})
	hall := s.AddGuild("Evening class")
	mira := s.AddUser("mira")
	b := connect(t, s)
	if err := s.WaitReady(soon(t)); err != nil {
		t.Fatal(err)
	}
	status, body, _ := request(t, s, http.MethodPut, "/applications/"+s.ApplicationID()+"/guilds/"+hall.ID+"/commands",
		"application/json", `[{"name":"stack","description":"Find a stack"}]`)
	if status != 200 || len(s.Registered(hall)) != 1 {
		t.Fatalf("registering: %d %s", status, body)
	}
	ia := s.Command(mira, hall.Channel("bench"), "stack", fakediscord.String("width", "23/32"))
	if f := b.read(); f.T != "INTERACTION_CREATE" || !strings.Contains(string(f.D), `"value":"23/32"`) {
		t.Fatalf("got %s %s", f.T, f.D)
	}
	if status, body := callback(t, s, ia, `{"type":4,"data":{"content":"Stack A","allowed_mentions":{"parse":[]},
		"components":[{"type":1,"components":[{"type":2,"style":1,"label":"Too loose","custom_id":"1:loose"}]}]}}`); status != 204 {
		t.Fatalf("callback: %d %s", status, body)
	}
	a, err := ia.Wait(soon(t))
	if err != nil || a.Content != "Stack A" || a.Type != fakediscord.CallbackMessage {
		t.Fatalf("answer %+v, %v", a, err)
	}
	press := s.Press(mira, a.Message, a.Button("Too loose"))
	if f := b.read(); !strings.Contains(string(f.D), `"custom_id":"1:loose"`) {
		t.Fatalf("got %s", f.D)
	}
	if status, body := callback(t, s, press, `{"type":7,"data":{"content":"Stack B","allowed_mentions":{"parse":[]}}}`); status != 204 {
		t.Fatalf("update: %d %s", status, body)
	}
	m, _ := s.Message(a.ID)
	if m.Content != "Stack B" || len(m.Buttons()) != 1 {
		t.Errorf("after the update: %+v", m)
	}
	complete := s.Complete(mira, hall.Channel("bench"), "stack", fakediscord.Focus(fakediscord.String("set", "ab")))
	b.read()
	if status, body := callback(t, s, complete, `{"type":8,"data":{"choices":[{"name":"Set A","value":"a"}]}}`); status != 204 {
		t.Fatalf("completion: %d %s", status, body)
	}
	c, err := complete.Wait(soon(t))
	if err != nil || len(c.Choices) != 1 || c.Choices[0].Name != "Set A" {
		t.Errorf("choices %+v, %v", c, err)
	}
	if v := s.Violations(); len(v) > 0 {
		t.Errorf("violations: %v", v)
	}
	if _, ok := ia.Latency(); !ok || ia.Answers() != 1 {
		t.Errorf("no latency, or %d answers", ia.Answers())
	}
}
