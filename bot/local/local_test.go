package local

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

var (
	wren  = Person{Key: "wren", Name: "Wren"}
	tobit = Person{Key: "tobit", Name: "Tobit <i>"}
	hazel = Person{Key: "hazel/1", Name: "Hazel", Admin: true}
)

// counting is an App small enough to be seen through: it counts cuts.
type counting struct {
	cuts    int
	callers []commands.Caller
}

func (a *counting) Run(_ context.Context, c commands.Call) (commands.Reply, error) {
	a.callers = append(a.callers, c.Caller)
	switch c.Name {
	case "count":
		return commands.Reply{
			Text:     fmt.Sprintf("%d cuts\nof <b>%s</b>", a.cuts, c.Options["stock"]),
			Details:  []commands.Detail{{Action: commands.Action{ID: "d", Label: "Why"}, Text: "Because it was counted."}},
			Pictures: []commands.Picture{{Name: "cuts", Alt: "A tally of the cuts"}},
			Actions: []commands.Action{
				{ID: "more", Label: "One more", Row: 0},
				{ID: "secret", Label: "Ask alone", Row: 1},
				{ID: "form", Label: "Measured", Row: 1, Form: &commands.Form{Title: "The groove", Fields: []commands.Field{{Name: "floor", Label: "At the floor", Required: true, Max: 12}}}},
			},
		}, nil
	case "mine":
		return commands.Reply{Text: "For " + c.MemberName + " alone", Private: true, Pictures: []commands.Picture{{Name: "own", Alt: "own"}}}, nil
	case "break":
		return commands.Reply{}, errors.New("the disk is full")
	case "panic":
		panic("not so calm")
	}
	return commands.Reply{}, &commands.UserError{Option: "name", Message: "There is no " + c.Name + ".", Hint: "Try /count"}
}

func (a *counting) Complete(_ context.Context, c commands.Call, option string) ([]commands.Choice, error) {
	if option == "set" && c.Options["stock"] == "0.703 45/64" {
		return []commands.Choice{{Label: "Blue case, inch", Value: "Blue case"}}, nil
	}
	return nil, nil
}

func (a *counting) Press(_ context.Context, p commands.Press) (commands.Reply, error) {
	switch p.ID {
	case "more":
		a.cuts++
		return commands.Reply{Text: fmt.Sprintf("%d cuts now", a.cuts), Replace: true}, nil
	case "secret":
		return commands.Reply{Text: "A private word", Private: true, Replace: true}, nil
	case "form":
		if p.Values["floor"] != "0.707" {
			return commands.Reply{}, &commands.UserError{Option: "floor", Message: "That is no length.", Hint: "Example: 0.707"}
		}
		return commands.Reply{Text: "Floor taken as " + p.Values["floor"]}, nil
	}
	return commands.Reply{}, errors.New("no such button")
}

func (a *counting) Unit(_ context.Context, c commands.Caller) (string, error) {
	if c.MemberKey == tobit.Key {
		return "mm", nil
	}
	return "in", nil
}

func parse(line string) (string, map[string]string, error) {
	name, rest, _ := strings.Cut(strings.TrimPrefix(line, "/"), " ")
	key, value, _ := strings.Cut(rest, ":")
	return name, map[string]string{key: value}, nil
}

type site struct {
	*httptest.Server
	t    *testing.T
	page *Page
	app  *counting
	log  *bytes.Buffer
}

func open(t *testing.T, raster func(drawing.Scene, drawing.Theme) ([]byte, error)) *site {
	t.Helper()
	s := &site{t: t, app: &counting{}, log: &bytes.Buffer{}}
	ids := 0
	var err error
	s.page, err = New(Config{
		App: s.app, Parse: parse, ShopKey: "local:bench", ShopName: "Alder & bench", People: []Person{wren, tobit, hazel},
		Commands: []commands.Command{
			{Name: "count", Summary: "Count the cuts", Options: []commands.Option{
				{Name: "depth", Summary: "How deep"},
				{Name: "stock", Summary: "The readings", Required: true},
				{Name: "set", Summary: "The cutter set"},
				{Name: "kept", Summary: "Not followed", Kind: commands.YesNo},
				{Name: "joint", Choices: []commands.Choice{{Label: "dado", Value: "dado"}, {Label: "groove", Value: "groove"}}},
			}},
			{Name: "mine", Summary: "Only mine"},
			{Name: "set", Summary: "Cutter sets", Subs: []commands.Command{{Name: "add", Summary: "Add one"}, {Name: "show", Summary: "Show one"}}},
		},
		Log:    slog.New(slog.NewTextHandler(s.log, nil)),
		Now:    func() time.Time { return time.Date(2026, 3, 4, 19, 5, 0, 0, time.UTC) },
		NewID:  func() string { ids++; return fmt.Sprint("id", ids) },
		Raster: raster,
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Server = httptest.NewServer(s.page)
	t.Cleanup(s.Close)
	return s
}

// do sends a request with headers ("Host" among them) and gives status and body.
func (s *site) do(method, path string, body url.Values, headers ...string) (int, string, http.Header) {
	s.t.Helper()
	r, err := http.NewRequest(method, s.URL+path, strings.NewReader(body.Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return resp.StatusCode, string(text), resp.Header
}

func (s *site) see(who Person) string {
	s.t.Helper()
	code, body, _ := s.do("GET", personPath(who), nil)
	if code != 200 {
		s.t.Fatalf("the page of %s: %d %s", who.Name, code, body)
	}
	return body
}

// post sends a form with the token that stands in the page.
func (s *site) post(who Person, path string, fields ...string) (string, http.Header) {
	s.t.Helper()
	token := regexp.MustCompile(`name="token" value="([^"]+)"`).FindStringSubmatch(s.see(who))[1]
	v := url.Values{"token": {token}}
	for i := 0; i < len(fields); i += 2 {
		v.Set(fields[i], fields[i+1])
	}
	code, body, h := s.do("POST", personPath(who)+path, v, "Origin", s.URL)
	if code != 200 && code != 303 {
		s.t.Fatalf("POST %s: %d %s", path, code, body)
	}
	return body, h
}

func wants(t *testing.T, page string, in, out []string) {
	t.Helper()
	for _, w := range in {
		if !strings.Contains(page, w) {
			t.Errorf("the page lacks %q", w)
		}
	}
	for _, w := range out {
		if strings.Contains(page, w) {
			t.Errorf("the page has %q", w)
		}
	}
}

func TestGuard(t *testing.T) {
	s := open(t, nil)
	_, port, _ := net.SplitHostPort(s.Listener.Addr().String())
	good := url.Values{"token": {s.page.token}, "line": {"/count stock:1"}}
	for _, c := range []struct {
		name, method, path string
		body               url.Values
		headers            []string
		want               int
	}{
		{"our own page", "GET", "/", nil, nil, 200},
		{"localhost", "GET", "/", nil, []string{"Host", "localhost:" + port}, 200},
		{"loopback of IPv6", "GET", "/", nil, []string{"Host", "[::1]:" + port}, 200},
		{"a foreign name (DNS rebinding)", "GET", "/", nil, []string{"Host", "shop.example:" + port}, 403},
		{"a name that only begins like ours", "GET", "/", nil, []string{"Host", "localhost.example:" + port}, 403},
		{"another port", "GET", "/", nil, []string{"Host", "127.0.0.1:1"}, 403},
		{"no port", "GET", "/", nil, []string{"Host", "127.0.0.1"}, 403},
		{"an address of the network", "GET", "/", nil, []string{"Host", "192.168.0.7:" + port}, 403},
		{"a link from elsewhere", "GET", "/", nil, []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate"}, 200},
		{"reading from elsewhere", "GET", "/as/wren/events", nil, []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "cors"}, 403},
		{"reading from another port", "GET", "/as/wren", nil, []string{"Sec-Fetch-Site", "same-site", "Sec-Fetch-Mode", "no-cors"}, 403},
		{"our own form", "POST", "/as/wren/send", good, []string{"Origin", s.URL}, 303},
		{"our own script", "POST", "/as/wren/send", good, []string{"Sec-Fetch-Site", "same-origin", "Accept", "application/json"}, 200},
		{"a foreign origin", "POST", "/as/wren/send", good, []string{"Origin", "http://shop.example"}, 403},
		{"another port of this machine", "POST", "/as/wren/send", good, []string{"Origin", "http://127.0.0.1:1"}, 403},
		{"an origin that hides", "POST", "/as/wren/send", good, []string{"Origin", "null"}, 403},
		{"cross-site", "POST", "/as/wren/send", good, []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate"}, 403},
		{"same-site", "POST", "/as/wren/send", good, []string{"Sec-Fetch-Site", "same-site", "Sec-Fetch-Mode", "navigate"}, 403},
		{"no token", "POST", "/as/wren/send", url.Values{"line": {"/count"}}, nil, 403},
		{"a wrong token", "POST", "/as/wren/send", url.Values{"token": {"x"}, "line": {"/count"}}, nil, 403},
		{"a token in the address", "POST", "/as/wren/send?token=" + s.page.token, url.Values{"line": {"/count"}}, nil, 403},
		{"completions without a token", "POST", "/as/wren/complete", url.Values{"line": {"/"}}, nil, 403},
		{"a body too large", "POST", "/as/wren/send", url.Values{"token": {s.page.token}, "line": {strings.Repeat("x", maxBody)}}, nil, 413},
		{"sending by GET", "GET", "/as/wren/send?token=" + s.page.token, nil, nil, 405},
		{"nobody", "GET", "/as/nobody", nil, nil, 404},
	} {
		t.Run(c.name, func(t *testing.T) {
			s.t = t
			before := len(s.app.callers)
			code, body, h := s.do(c.method, c.path, c.body, c.headers...)
			if code != c.want {
				t.Errorf("status %d, want %d: %s", code, c.want, body)
			}
			if ran := len(s.app.callers) > before; ran != (c.method == "POST" && c.want < 400) {
				t.Errorf("the App was asked: %v", ran)
			}
			for name, want := range map[string]string{
				"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Cache-Control": "no-store",
				"Cross-Origin-Resource-Policy": "same-origin", "Referrer-Policy": "same-origin",
			} {
				if got := h.Get(name); got != want {
					t.Errorf("%s: %q, want %q", name, got, want)
				}
			}
			if csp := h.Get("Content-Security-Policy"); !strings.HasPrefix(csp, "default-src 'self'; ") || strings.Contains(csp, "unsafe") {
				t.Errorf("Content-Security-Policy: %q", csp)
			}
		})
	}
}

func TestConversation(t *testing.T) {
	s := open(t, nil)
	wants(t, s.see(wren), []string{"Alder &amp; bench", "/count", "Cutter sets"}, []string{"<article"})

	_, h := s.post(wren, "/send", "line", `/count stock:<script>alert(1)</script>`)
	if got := h.Get("Location"); got != "/as/wren#m1" {
		t.Errorf("sent to %s", got)
	}
	if got := s.app.callers[0]; got.Platform != "local" || got.ShopKey != "local:bench" || got.MemberKey != "wren" || got.Admin || got.Interaction == "" || got.At.IsZero() {
		t.Errorf("caller %+v", got)
	}
	for _, who := range []Person{wren, tobit, hazel} {
		wants(t, s.see(who), []string{
			`<p class="first">0 cuts</p>`, "of &lt;b&gt;&lt;script&gt;alert(1)", "<summary>Why</summary>", "Because it was counted.",
			`value="more"`, "At the floor", `maxlength="12"`, "Picture: A tally of the cuts",
		}, []string{"<script>alert", "<b>"})
	}

	s.post(hazel, "/press", "message", "1", "button", "more")
	wants(t, s.see(wren), []string{"1 cuts now", "Hazel: One more", "/count stock:"}, []string{"0 cuts", "Only you"})
	wants(t, s.see(wren), []string{`id="m1"`}, []string{`id="m2"`})

	// The buttons went with the reply that was replaced.
	s.post(wren, "/press", "message", "1", "button", "more")
	wants(t, s.see(wren), []string{"1 cuts now", "That button is no longer there."}, []string{"2 cuts"})

	s.post(tobit, "/send", "line", "/count stock:2")
	s.post(tobit, "/press", "message", "3", "button", "form", "value.floor", "wide")
	wants(t, s.see(tobit), []string{"That is no length.", "Example: 0.707", "Tobit &lt;i&gt;"}, []string{"<i>"})
	s.post(tobit, "/press", "message", "3", "button", "form", "value.floor", "0.707", "value.other", "x")
	wants(t, s.see(wren), []string{"Floor taken as 0.707", "Measured (At the floor: 0.707)"}, []string{"That is no length."})
}

func TestPrivateRepliesStayPrivate(t *testing.T) {
	s := open(t, func(_ drawing.Scene, theme drawing.Theme) ([]byte, error) { return []byte(theme.Name), nil })
	s.post(wren, "/send", "line", "/mine")
	wants(t, s.see(wren), []string{"For Wren alone", "/mine</span>", "Only you see this"}, nil)
	wants(t, s.see(tobit), nil, []string{"For Wren alone", "/mine</span>", `id="m1"`})

	// A private reply never takes the place of a public one.
	s.post(hazel, "/send", "line", "/count stock:1")
	s.post(wren, "/press", "message", "2", "button", "secret")
	wants(t, s.see(wren), []string{"A private word", "0 cuts"}, nil)
	wants(t, s.see(tobit), []string{"0 cuts"}, []string{"A private word"})

	// What cannot be seen cannot be pressed, nor its picture had.
	s.post(tobit, "/press", "message", "1", "button", "more")
	if s.app.cuts != 0 {
		t.Error("a hidden message was pressed")
	}
	for _, c := range []struct {
		who  Person
		path string
		want int
	}{
		{wren, "/picture/1/0", 200},
		{wren, "/picture/1/0?rev=1&theme=dark", 200},
		{tobit, "/picture/1/0", 404},
		{tobit, "/picture/2/0", 200},
		{tobit, "/picture/2/1", 404},
		{tobit, "/picture/2/-1", 404},
		{tobit, "/picture/99/0", 404},
	} {
		code, body, h := s.do("GET", personPath(c.who)+c.path, nil)
		theme := "light"
		if strings.HasSuffix(c.path, "theme=dark") {
			theme = "dark"
		}
		if code != c.want || (code == 200) != (body == theme && h.Get("Content-Type") == "image/png") {
			t.Errorf("%s %s: %d %q", c.who.Name, c.path, code, body)
		}
	}

	if got := s.events(tobit, s.page.run+"-0", 2); !strings.Contains(got, "0 cuts") || strings.Contains(got, "For Wren alone") || strings.Contains(got, "A private word") {
		t.Errorf("the events of another: %s", got)
	}
}

func TestErrors(t *testing.T) {
	s := open(t, nil)
	_, h := s.post(wren, "/send", "line", "/nonsense a:b")
	if got := h.Get("Location"); got != "/as/wren?line=%2Fnonsense+a%3Ab#m1" {
		t.Errorf("a line to correct comes back as %s", got)
	}
	wants(t, s.see(wren), []string{"There is no nonsense.", "Try /count", "Only you see this"}, nil)
	wants(t, s.see(tobit), nil, []string{"nonsense"})
	s.post(wren, "/send", "line", "  ")
	wants(t, s.see(wren), []string{"Nothing was typed."}, nil)
	if s.log.Len() > 0 {
		t.Errorf("a user's slip is in the log: %s", s.log)
	}

	for _, c := range []struct{ line, cause string }{{"/break", "the disk is full"}, {"/panic", "not so calm"}} {
		s.log.Reset()
		s.post(wren, "/send", "line", c.line)
		all := regexp.MustCompile(`Something went wrong here\. Reference ([a-z0-9]{6})<`).FindAllStringSubmatch(s.see(wren), -1)
		if len(all) == 0 {
			t.Fatalf("%s: no reference", c.line)
		}
		ref := all[len(all)-1][1]
		if !strings.Contains(s.log.String(), "reference="+ref) || !strings.Contains(s.log.String(), c.cause) {
			t.Errorf("%s: the log does not match reference %s: %s", c.line, ref, s.log)
		}
		wants(t, s.see(wren), nil, []string{c.cause})
	}
}

// events reads the stream of a person until n events came.
func (s *site) events(who Person, after string, n int) string {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", s.URL+personPath(who)+"/events?after="+after, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	var got strings.Builder
	for in := bufio.NewScanner(resp.Body); n > 0 && in.Scan(); {
		fmt.Fprintln(&got, in.Text())
		if in.Text() == "" {
			n--
		}
	}
	if n > 0 {
		s.t.Errorf("%d events did not come after %s", n, got.String())
	}
	return got.String()
}

func TestOthersSeeItLive(t *testing.T) {
	s := open(t, nil)
	got := make(chan string)
	go func() { got <- s.events(tobit, s.page.run+"-0", 3) }()
	time.Sleep(50 * time.Millisecond) // so that the stream is most likely waiting already
	s.post(wren, "/send", "line", "/count stock:7")
	if g := <-got; !strings.Contains(g, "0 cuts") || !strings.Contains(g, "id: "+s.page.run+"-1\n") {
		t.Errorf("events: %s", g)
	}
	for _, stale := range []string{"", "other-1", s.page.run, s.page.run + "-x"} {
		if g := s.events(tobit, url.QueryEscape(stale), 1); !strings.Contains(g, "event: reload") {
			t.Errorf("after %q: %s", stale, g)
		}
	}
}

func TestUnitSwitch(t *testing.T) {
	s := open(t, nil)
	for _, c := range []struct {
		who  Person
		unit string
	}{{wren, "in"}, {tobit, "mm"}} {
		if got := regexp.MustCompile(`data-unit="(..)" aria-pressed="true"`).FindAllStringSubmatch(s.see(c.who), -1); len(got) != 1 || got[0][1] != c.unit {
			t.Errorf("%s has %v pressed, want %s", c.who.Name, got, c.unit)
		}
		if got := s.events(c.who, s.page.run+"-0", 1); !strings.Contains(got, `data: {"unit":"`+c.unit+`"}`) {
			t.Errorf("%s hears %s, want %s", c.who.Name, got, c.unit)
		}
	}
}

func TestTalkForgetsTheOldest(t *testing.T) {
	k := newTalk()
	for range keep + 3 {
		k.add(message{from: wren})
	}
	if all, _, _ := k.since(0, wren); len(all) != keep || all[0].id != 4 {
		t.Errorf("%d messages from %d", len(all), all[0].id)
	}
	if _, ok := k.find(3, wren); ok || k.replace(3, commands.Reply{}, "") {
		t.Error("a forgotten message is found")
	}
}

func TestChoices(t *testing.T) {
	s := open(t, nil)
	for _, c := range []struct {
		line string
		want []string // the lines offered
	}{
		{"", []string{"/count ", "/mine ", "/set "}},
		{"/", []string{"/count ", "/mine ", "/set "}},
		{"C", []string{"/count "}},
		{"/x", nil},
		{"/x y", nil},
		{"/set ", []string{"/set add ", "/set show "}},
		{"/set s", []string{"/set show "}},
		{"/set show ", nil},
		{"/count ", []string{"/count stock:", "/count depth:", "/count set:", "/count kept:", "/count joint:"}},
		{"/count s", []string{"/count stock:", "/count set:"}},
		{"/count stock:0.703 45/64", nil},
		{"/count stock:0.703 45/64 se", []string{"/count stock:0.703 45/64 set:"}},
		{"/count stock:0.703 45/64 set:", []string{`/count stock:0.703 45/64 set:"Blue case" `}},
		{`/count stock:"0.703 45/64" set:"blue ca`, []string{`/count stock:"0.703 45/64" set:"Blue case" `}},
		{`/count stock:"0.703 45/64" set:"Blue case" jo`, []string{`/count stock:"0.703 45/64" set:"Blue case" joint:`}},
		{`/count stock:1 set:Blue`, nil},
		{"/count joint:g", []string{"/count joint:groove "}},
		{"/count kept:", []string{"/count kept:yes ", "/count kept:no "}},
		{`/count stock:1 1/8" joint:d`, []string{`/count stock:1 1/8" joint:dado `}},
	} {
		got := s.page.choices(context.Background(), c.line, wren)
		var lines []string
		for _, g := range got {
			lines = append(lines, g.Line)
		}
		if fmt.Sprintf("%q", lines) != fmt.Sprintf("%q", c.want) {
			t.Errorf("%q offers %q, want %q", c.line, lines, c.want)
		}
	}
	body, _ := s.post(wren, "/complete", "line", "/mi")
	if want := `{"choices":[{"label":"/mine","note":"Only mine","line":"/mine "}]}`; strings.TrimSpace(body) != want {
		t.Errorf("completions: %s, want %s", body, want)
	}
}

func TestListen(t *testing.T) {
	taken, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	busy := taken.Addr().String()
	for addr, want := range map[string]string{
		busy:               busy + " is in use; choose another with -addr",
		"0.0.0.0:8099":     `"0.0.0.0:8099" could be reached from other machines, and this page has no passwords; write an address such as 127.0.0.1:8099`,
		":8099":            `":8099" could be reached from other machines, and this page has no passwords; write an address such as 127.0.0.1:8099`,
		"192.168.1.4:8099": `"192.168.1.4:8099" could be reached from other machines, and this page has no passwords; write an address such as 127.0.0.1:8099`,
		"[::]:8099":        `"[::]:8099" could be reached from other machines, and this page has no passwords; write an address such as 127.0.0.1:8099`,
		"8099":             `"8099" is not an address with a port; write one such as 127.0.0.1:8099`,
		"127.0.0.1:http":   `"127.0.0.1:http" is not an address with a port; write one such as 127.0.0.1:8099`,
		"127.0.0.1:70000":  `"127.0.0.1:70000" is not an address with a port; write one such as 127.0.0.1:8099`,
	} {
		l, err := Listen(addr)
		if err == nil {
			l.Close()
			t.Errorf("%s was opened", addr)
		} else if err.Error() != want {
			t.Errorf("%s: %s", addr, err)
		}
	}
	if l, err := Listen("localhost:0"); err != nil {
		t.Error(err)
	} else {
		l.Close()
	}
}

func TestServeEndsWithOpenStreams(t *testing.T) {
	s := open(t, nil)
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.page.Serve(ctx, l) }()
	resp, err := http.Get("http://" + l.Addr().String() + "/as/wren/events?after=" + s.page.run + "-0")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	cancel()
	if err := <-done; err != nil {
		t.Errorf("serving ended with %v", err)
	}
}

func TestNewRefusesPeopleItCannotTellApart(t *testing.T) {
	for _, people := range [][]Person{nil, {wren, wren}, {{Name: "No key"}}} {
		if _, err := New(Config{People: people}); err == nil {
			t.Errorf("%v was accepted", people)
		}
	}
}
