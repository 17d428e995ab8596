package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// paper is an output that can be read while it is written.
type paper struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (p *paper) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.b.Write(b)
}

func (p *paper) text() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.b.String()
}

// until waits for a text to be printed and returns all that was.
func (p *paper) until(t *testing.T, want string) string {
	t.Helper()
	for limit := time.Now().Add(10 * time.Second); ; time.Sleep(2 * time.Millisecond) {
		if text := p.text(); strings.Contains(text, want) {
			return text
		}
		if time.Now().After(limit) {
			t.Fatalf("no %q in\n%s", want, p.text())
		}
	}
}

type bot struct {
	t   *testing.T
	url string

	hall string
}

func (b *bot) request(method, path, body string) {
	req, err := http.NewRequest(method, b.url+"/api/v9"+path, strings.NewReader(body))
	if err != nil {
		b.t.Error(err)
		return
	}
	req.Header.Set("Authorization", "Bot any")
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "DiscordBot (https://example.invalid, 1)")
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		return // a fault of the script
	}
	_, _ = io.Copy(io.Discard, res.Body)
	_ = res.Body.Close()
}

// serve answers as a bot would: a command with a button, a button with a form,
// a form with its value, a half-typed option with itself.
func (b *bot) serve(ws *websocket.Conn) {
	const quiet = `"allowed_mentions":{"parse":[]}`
	for {
		var p struct {
			Op int
			T  string
			D  struct {
				ID, Token string
				Type      int
				Data      struct {
					Components []struct{ Components []struct{ Value string } }
				}
			}
		}
		if err := ws.ReadJSON(&p); err != nil {
			return
		}
		answer := ""
		switch {
		case p.Op == 10:
			_ = ws.WriteJSON(map[string]any{"op": 2, "d": map[string]any{"token": "any", "intents": 0, "properties": map[string]string{}}})
		case p.T == "INTERACTION_CREATE" && p.D.Type == 2:
			answer = `{"type":4,"data":{` + quiet + `,"content":"Stack them","components":[{"type":1,"components":[{"type":2,"style":1,"label":"Log it","custom_id":"log"}]}]}}`
		case p.T == "INTERACTION_CREATE" && p.D.Type == 3:
			answer = `{"type":9,"data":{"custom_id":"m","title":"Measured","components":[{"type":1,"components":[{"type":4,"custom_id":"w","style":1,"label":"Width"}]}]}}`
		case p.T == "INTERACTION_CREATE" && p.D.Type == 4:
			answer = `{"type":8,"data":{"choices":[{"name":"Old faithful","value":"old"}]}}`
		case p.T == "INTERACTION_CREATE" && p.D.Type == 5:
			answer = `{"type":4,"data":{` + quiet + `,"flags":64,"content":"Logged ` + p.D.Data.Components[0].Components[0].Value + `"}}`
		}
		if answer != "" {
			b.request(http.MethodPost, "/interactions/"+p.D.ID+"/"+p.D.Token+"/callback", answer)
		}
	}
}

func TestPlay(t *testing.T) {
	in, typed := io.Pipe()
	var out paper
	done := make(chan error, 1)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() { done <- run(ctx, []string{"-addr", "127.0.0.1:0"}, in, &out) }()
	text := out.until(t, "mira in #bench> ")
	b := &bot{
		t: t, url: regexp.MustCompile(`http://127\.0\.0\.1:\d+`).FindString(text),
		hall: regexp.MustCompile(`-guild (\d+)`).FindStringSubmatch(text)[1],
	}
	ws, res, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(b.url, "http")+"/?v=10", nil)
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	var wg sync.WaitGroup
	wg.Go(func() { b.serve(ws) })
	defer wg.Wait()
	defer func() { _ = ws.Close() }()
	say := func(line, want string) {
		t.Helper()
		before := len(out.text())
		if _, err := io.WriteString(typed, line+"\n"); err != nil {
			t.Fatal(err)
		}
		for limit := time.Now().Add(10 * time.Second); ; time.Sleep(2 * time.Millisecond) {
			fresh := out.text()[before:]
			if strings.HasSuffix(fresh, "> ") {
				if !strings.Contains(fresh, want) {
					t.Fatalf("%s printed\n%s\nwant %q", line, fresh, want)
				}
				return
			}
			if time.Now().After(limit) {
				t.Fatalf("%s printed only\n%s", line, fresh)
			}
		}
	}
	for limit := time.Now().Add(10 * time.Second); !strings.Contains(out.text(), "1 sessions"); {
		say("status", "IDENTIFY")
		if time.Now().After(limit) {
			t.Fatal("the bot did not connect")
		}
	}
	me := struct{ ID string }{}
	getJSON(t, b.url+"/api/v9/users/@me", &me)
	b.request(http.MethodPut, "/applications/"+me.ID+"/guilds/"+b.hall+"/commands",
		`[{"name":"stack","description":"d","options":[{"type":3,"name":"set","description":"d","autocomplete":true}]}]`)

	say("commands", "here: [stack]")
	say("help", "press Too loose")
	say("/stack set:old", "| (Log it) log")
	say("again", "")
	say("press Nothing", `the message has no button "Nothing"`)
	say("press Log it", "| w: Width []")
	say("submit x=1", `the form has no field "x"`)
	say("submit w=23/32", "| Logged 23/32")
	say("? /stack set:ol", "- Old faithful (old)")
	say("/stack set:", "! option set")
	say("/nothing", `! no command "nothing"`)
	say("together 2 /stack set:old", "| (Log it) log")
	if got := strings.Count(out.text(), "| Stack them"); got != 3 {
		t.Errorf("%d answers, want one and two", got)
	}
	say("together x", "say how often")
	say("older", "| (Log it) log")
	say("older", "| (Log it) log")
	say("older", "no older message")
	say("together 2 press Log it", "| w: Width []")
	say("rename Sunday class", "")
	say("in annex", "mira in #annex> ")
	say("in bench", "")
	say("forge bad", "name an endpoint first")
	say("as nobody", "try as mira")
	say("as ada", "ada in #bench> ")
	say("in dm", "ada in dm> ")
	say("in notices", "ada in #notices> ")
	b.request(http.MethodPost, "/channels/1/messages", `{"content":"loud"}`)
	say("violations", "VIOLATION POST")
	say("fault nonsense", "no fault is named")
	say("fault 500 2", "")
	say("fault 503 callback 1", "")
	say("fault 503 nowhere", "neither a number")
	say("calm", "")
	say("gateway close x", "out of place")
	say("gateway drop", "")
	wg.Wait()
	say("status", "0 sessions")
	say("/stack set:old", "(no bot is connected)")
	if _, err := io.WriteString(typed, "quit\n"); err != nil {
		t.Fatal(err)
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
	_ = typed.Close()
}

func getJSON(t *testing.T, url string, v any) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bot any")
	req.Header.Set("User-Agent", "DiscordBot (https://example.invalid, 1)")
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }()
	if err := json.NewDecoder(res.Body).Decode(v); err != nil {
		t.Fatal(err)
	}
}
