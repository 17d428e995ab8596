package fakediscord_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
)

// clock is one that a test moves.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

func newClock() *clock { return &clock{t: time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)} }

type scene struct {
	*fakediscord.Server
	t     *testing.T
	clock *clock
	mira  *fakediscord.User
	hall  *fakediscord.Guild
	bench *fakediscord.Channel
}

func newScene(t *testing.T) *scene {
	t.Helper()
	c := newClock()
	s := &scene{Server: &fakediscord.Server{Now: c.now}, t: t, clock: c}
	start(t, s.Server)
	s.mira, s.hall = s.AddUser("mira"), s.AddGuild("Hall")
	s.bench = s.hall.Channel("bench")
	return s
}

// want makes a request and wants its status and, for an error, its code.
func (s *scene) want(method, path, body string, status, code int) string {
	s.t.Helper()
	kind := ""
	if body != "" {
		kind = "application/json"
	}
	if strings.HasPrefix(body, "--") {
		kind = mixed
	}
	got, answer, _ := request(s.t, s.Server, method, path, kind, body)
	if got != status || code != 0 && !strings.Contains(answer, fmt.Sprintf(`"code":%d`, code)) {
		s.t.Errorf("%s %s: got %d %s, want %d with code %d", method, path, got, answer, status, code)
	}
	return answer
}

func (s *scene) answer(ia *fakediscord.Interaction, body string, status, code int) {
	s.t.Helper()
	s.want(http.MethodPost, "/interactions/"+ia.ID+"/"+ia.Token+"/callback", body, status, code)
}

func (s *scene) hook(ia *fakediscord.Interaction) string {
	return "/webhooks/" + s.ApplicationID() + "/" + ia.Token
}

func (s *scene) command() *fakediscord.Interaction { return s.Command(s.mira, s.bench, "stack") }

func TestAnswerOnce(t *testing.T) {
	s := newScene(t)
	ia := s.command()
	s.answer(ia, msg(`"content":"one"`), 204, 0)
	s.answer(ia, msg(`"content":"two"`), 400, 40060)
	if ia.Answers() != 1 || ia.Attempts() != 2 || len(ia.Refusals()) != 1 || ia.Refusals()[0].Code != 40060 {
		t.Errorf("%d answers, %d attempts, refusals %v", ia.Answers(), ia.Attempts(), ia.Refusals())
	}
	if a, _ := ia.Wait(soon(t)); a.Content != "one" {
		t.Errorf("the second answer won: %q", a.Content)
	}
}

func TestExpiry(t *testing.T) {
	s := newScene(t)
	inTime, late := s.command(), s.command()
	s.clock.add(3 * time.Second)
	s.answer(inTime, msg(`"content":"just"`), 204, 0)
	s.clock.add(time.Millisecond)
	if !late.Expired() || inTime.Expired() {
		t.Errorf("expired: %v and %v, want true and false", late.Expired(), inTime.Expired())
	}
	s.answer(late, msg(`"content":"late"`), 404, 10062)
	s.want(http.MethodPost, "/interactions/123/nonsense/callback", msg(`"content":"x"`), 404, 10062)
	s.want(http.MethodPost, "/interactions/"+late.ID+"/guess/callback", msg(`"content":"x"`), 404, 10062)
	if _, err := late.Wait(soon(t)); err != fakediscord.ErrExpired {
		t.Errorf("got %v", err)
	}
	original := s.hook(late) + "/messages/@original"
	s.want(http.MethodPatch, original, `{`+quiet+`,"content":"x"}`, 404, 10015)
	if got := broken(s.Server); len(got) > 0 {
		t.Errorf("broken %v", got)
	}
	s.want(http.MethodPatch, original, `{`+quiet+`,"content":"x"}`, 404, 10015)
	if got := broken(s.Server); len(got) != 1 || got[0] != "WEBHOOK_404_REPEATED" {
		t.Errorf("broken %v after a repeated 404", got)
	}
}

// TestExpiryInRealTime is the way most tests meet it: no clock of their own.
func TestExpiryInRealTime(t *testing.T) {
	s := start(t, &fakediscord.Server{Expiry: 20 * time.Millisecond})
	mira := s.AddUser("mira")
	ia := s.Command(mira, s.DM(mira), "stack")
	if _, err := ia.Wait(soon(t)); err != fakediscord.ErrExpired {
		t.Errorf("got %v", err)
	}
}

func TestTokenLife(t *testing.T) {
	s := newScene(t)
	ia := s.command()
	s.answer(ia, msg(`"content":"x","components":[{"type":1,"components":[{"type":2,"style":1,"label":"b","custom_id":"b"}]}]`), 204, 0)
	a, _ := ia.Wait(soon(t))
	s.clock.add(15 * time.Minute)
	s.want(http.MethodPatch, s.hook(ia)+"/messages/@original", `{`+quiet+`,"content":"y"}`, 200, 0)
	s.clock.add(time.Millisecond)
	s.want(http.MethodPatch, s.hook(ia)+"/messages/@original", `{`+quiet+`,"content":"z"}`, 401, 50027)
	s.want(http.MethodPost, s.hook(ia), `{`+quiet+`,"content":"z"}`, 401, 50027)
	// The message lives on: a press brings a token of its own.
	press := s.Press(s.mira, a.Message, "b")
	s.answer(press, `{"type":7,"data":{`+quiet+`,"content":"pressed"}}`, 204, 0)
	s.want(http.MethodPatch, s.hook(press)+"/messages/@original", `{`+quiet+`,"content":"edited"}`, 200, 0)
	if m, _ := s.Message(a.ID); m.Content != "edited" || !m.Edited {
		t.Errorf("the message reads %q", m.Content)
	}
}

// TestDeferral: the choice of privacy is final, the next follow-up fills the
// message, and only then are others new.
func TestDeferral(t *testing.T) {
	for _, flags := range []int{0, fakediscord.FlagEphemeral} {
		s := newScene(t)
		ia := s.command()
		s.answer(ia, fmt.Sprintf(`{"type":5,"data":{"flags":%d}}`, flags), 204, 0)
		a, _ := ia.Wait(soon(t))
		if !a.Loading() || a.Ephemeral() != (flags != 0) {
			t.Errorf("deferred message has flags %d", a.Flags)
		}
		other := fakediscord.FlagEphemeral - flags
		s.want(http.MethodPost, s.hook(ia), fmt.Sprintf(`{`+quiet+`,"content":"filled","flags":%d}`, other), 200, 0)
		settled, err := ia.Settled(soon(t))
		if err != nil || settled.ID != a.ID || settled.Loading() || settled.Ephemeral() != (flags != 0) {
			t.Errorf("settled %+v, %v", settled, err)
		}
		s.want(http.MethodPost, s.hook(ia), `{`+quiet+`,"content":"more"}`, 200, 0)
		steps, _ := ia.WaitSteps(soon(t), 3)
		if steps[2].Step != fakediscord.StepFollowup || steps[2].ID == a.ID {
			t.Errorf("steps %+v", steps)
		}
	}
}

func TestDeferredUpdate(t *testing.T) {
	s := newScene(t)
	ia := s.command()
	s.answer(ia, msg(`"content":"x"`), 204, 0)
	a, _ := ia.Wait(soon(t))
	press := s.Press(s.mira, a.Message, "b")
	s.answer(press, `{"type":6}`, 204, 0)
	s.want(http.MethodPatch, s.hook(press)+"/messages/@original", `{`+quiet+`,"content":"y"}`, 200, 0)
	settled, err := press.Settled(soon(t))
	if err != nil || settled.ID != a.ID || settled.Content != "y" {
		t.Errorf("settled %+v, %v", settled, err)
	}
}

// TestEdits: absent keys stay, empty ones clear, attachments are kept by name.
func TestEdits(t *testing.T) {
	s := newScene(t)
	ia := s.command()
	s.answer(ia, withFile(png), 204, 0)
	original := s.hook(ia) + "/messages/@original"
	s.want(http.MethodPatch, original, `{`+quiet+`,"content":"y"}`, 200, 0)
	steps := ia.Steps()
	last := steps[len(steps)-1]
	if len(last.Files) != 1 || string(last.Files[0].Data) != "PNG" || last.Files[0].Description != "The stack, outside in" {
		t.Fatalf("files %+v", last.Files)
	}
	kept := last.Files[0].ID
	s.want(http.MethodPatch, original, multi(partJSON, `{`+quiet+`,"attachments":[{"id":"`+kept+`"},{"id":"0","description":"second"}]}`,
		`name="files[0]"; filename="b.png"`, "PNG2"), 200, 0)
	m, _ := s.Message(last.ID)
	if len(m.Files) != 2 || m.Files[0].ID != kept || m.Files[1].Name != "b.png" || m.Content != "y" {
		t.Errorf("message %+v", m)
	}
	s.want(http.MethodPatch, original, `{`+quiet+`,"attachments":[]}`, 200, 0)
	if m, _ := s.Message(last.ID); len(m.Files) != 0 {
		t.Errorf("files %+v", m.Files)
	}
	s.want(http.MethodDelete, original, "", 204, 0)
	s.want(http.MethodGet, original, "", 404, 10008)
}

// TestEphemeralIsOutOfReach: no channel route finds a private message, and the
// token of another interaction does not either.
func TestEphemeralIsOutOfReach(t *testing.T) {
	s := newScene(t)
	ia, other := s.command(), s.command()
	s.answer(ia, msg(`"content":"x","flags":64`), 204, 0)
	s.answer(other, msg(`"content":"x"`), 204, 0)
	a, _ := ia.Wait(soon(t))
	s.want(http.MethodPatch, "/channels/"+s.bench.ID+"/messages/"+a.ID, `{`+quiet+`,"content":"y"}`, 404, 10008)
	s.want(http.MethodPatch, s.hook(other)+"/messages/"+a.ID, `{`+quiet+`,"content":"y"}`, 404, 10008)
	if got := s.Messages(s.bench); len(got) != 1 || got[0].ID == a.ID {
		t.Errorf("everyone sees %+v", got)
	}
}

func TestPosts(t *testing.T) {
	s := newScene(t)
	forum := s.hall.AddChannel("ideas", fakediscord.ChannelForum)
	thread := s.hall.AddChannel("jig", fakediscord.ChannelThread)
	gone := s.hall.Channel("old")
	s.hall.RemoveChannel(gone)
	hidden, mute, bare := s.hall.Channel("staff"), s.hall.Channel("rules"), s.hall.Channel("text")
	s.hall.RestrictBot(hidden, 0)
	s.hall.RestrictBot(mute, fakediscord.PermissionViewChannel)
	s.hall.RestrictBot(bare, fakediscord.PermissionViewChannel|fakediscord.PermissionSendMessages)
	plain := `{` + quiet + `,"content":"x"}`
	file := multi(partJSON, `{`+quiet+`,"attachments":`+png+`}`, partFile, "PNG")
	for _, tc := range []struct {
		channel      *fakediscord.Channel
		body         string
		status, code int
	}{
		{s.bench, plain, 200, 0},
		{thread, plain, 200, 0},
		{s.DM(s.mira), plain, 200, 0},
		{bare, plain, 200, 0},
		{bare, file, 403, 50013},
		{mute, plain, 403, 50013},
		{hidden, plain, 403, 50001},
		{gone, plain, 404, 10003},
		{forum, plain, 400, 50008},
	} {
		s.want(http.MethodPost, "/channels/"+tc.channel.ID+"/messages", tc.body, tc.status, tc.code)
	}
	nonce := `{` + quiet + `,"content":"due","nonce":"job-7","enforce_nonce":true}`
	path := "/channels/" + s.bench.ID + "/messages"
	s.clock.add(time.Minute)
	one, two := s.want(http.MethodPost, path, nonce, 200, 0), s.want(http.MethodPost, path, nonce, 200, 0)
	if one != two || len(s.Messages(s.bench)) != 2 {
		t.Errorf("a repeated nonce made %s and %s", one, two)
	}
	s.clock.add(10 * time.Minute)
	s.want(http.MethodPost, path, nonce, 200, 0)
	if n := len(s.Messages(s.bench)); n != 3 {
		t.Errorf("%d messages, want the nonce forgotten", n)
	}
}

func TestCommandsAreCompared(t *testing.T) {
	s := newScene(t)
	path := "/applications/" + s.ApplicationID() + "/guilds/" + s.hall.ID + "/commands"
	one := s.want(http.MethodPut, path, commands(""), 200, 0)
	same := s.want(http.MethodPut, path, options(""), 200, 0)
	if one != same {
		t.Errorf("the same commands came back as\n%s\n%s", one, same)
	}
	if got := s.want(http.MethodGet, path, "", 200, 0); got != one {
		t.Errorf("GET says\n%s\nPUT said\n%s", got, one)
	}
	if changed := s.want(http.MethodPut, path, strings.Replace(commands(""), "Find", "Seek", 1), 200, 0); changed == one {
		t.Error("a change left the version as it was")
	}
	s.want(http.MethodPut, path, `[]`, 200, 0)
	if got := s.Registered(s.hall); len(got) != 0 {
		t.Errorf("left over: %v", got)
	}
	// 1 create above; the 200th is the last of the day.
	for i := range 199 {
		s.clock.add(time.Second)
		s.want(http.MethodPut, path, fmt.Sprintf(`[{"name":"c%d","description":"d"}]`, i), 200, 0)
	}
	s.want(http.MethodPut, path, `[{"name":"last","description":"d"}]`, 400, 30034)
	s.clock.add(24 * time.Hour)
	s.want(http.MethodPut, path, `[{"name":"last","description":"d"}]`, 200, 0)
	s.want(http.MethodGet, "/applications/1/commands", "", 404, 10002)
}

func TestRateLimits(t *testing.T) {
	s := newScene(t)
	ia := s.command()
	s.answer(ia, msg(`"content":"x"`), 204, 0)
	original := s.hook(ia) + "/messages/@original"
	for range 5 {
		s.want(http.MethodPatch, original, `{`+quiet+`,"content":"y"}`, 200, 0)
	}
	status, body, h := request(t, s.Server, http.MethodPatch, original, "application/json", `{`+quiet+`,"content":"y"}`)
	if status != 429 || h.Get("Retry-After") != "2" || h.Get("X-RateLimit-Scope") != "user" || h.Get("X-RateLimit-Remaining") != "0" ||
		!strings.Contains(body, `"retry_after":2,"global":false`) {
		t.Errorf("got %d %s %v", status, body, h)
	}
	s.clock.add(2 * time.Second)
	s.want(http.MethodPatch, original, `{`+quiet+`,"content":"y"}`, 200, 0)
	for i := range 51 {
		status, _, h = request(t, s.Server, http.MethodGet, []string{"/users/@me", "/gateway/bot"}[i%2], "", "")
	}
	if status != 429 || h.Get("X-RateLimit-Global") != "true" || h.Get("X-RateLimit-Scope") != "global" {
		t.Errorf("the 51st request in a second got %d %v", status, h)
	}
	ia = s.command()
	s.answer(ia, msg(`"content":"callbacks are not counted"`), 204, 0)
	if n := s.RejectedRequests(); n != 2 {
		t.Errorf("%d rejected requests, want 2", n)
	}
}

func TestUnauthorized(t *testing.T) {
	s := start(t, &fakediscord.Server{Token: "other"})
	if status, body, _ := request(t, s, http.MethodGet, "/users/@me", "", ""); status != 401 || !strings.Contains(body, "401: Unauthorized") {
		t.Errorf("got %d %s", status, body)
	}
	if status, _, _ := request(t, s, http.MethodGet, "/gateway", "", ""); status != 200 {
		t.Errorf("GET /gateway got %d, it needs no token", status)
	}
}

func TestHistory(t *testing.T) {
	s := newScene(t)
	s.Server.History = 4
	for range 20 {
		s.answer(s.command(), msg(`"content":"x"`), 204, 0)
	}
	if n := len(s.Interactions()); n < 4 || n > 8 {
		t.Errorf("%d interactions remembered", n)
	}
	if n := len(s.Messages(s.bench)); n > 8 {
		t.Errorf("%d messages remembered", n)
	}
}

func TestRolesReachTheBot(t *testing.T) {
	s := newScene(t)
	teacher := s.hall.AddRole("teacher", 0)
	s.hall.Join(s.mira, teacher)
	if p := string(s.command().Payload()); !strings.Contains(p, `"roles":["`+teacher.ID+`"]`) {
		t.Error(p)
	}
	if !slices.Contains([]string{s.hall.Everyone().ID}, s.hall.ID) {
		t.Error("@everyone has another id than the server")
	}
}
