package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/bot/fakediscord"
)

// stage is a small invented class, and who is acting in it where.
type stage struct {
	s     *fakediscord.Server
	out   io.Writer
	hall  *fakediscord.Guild
	annex *fakediscord.Guild
	users map[string]*fakediscord.User
	user  *fakediscord.User
	place *fakediscord.Channel

	last    *fakediscord.Interaction
	shown   map[*fakediscord.Interaction]int // steps already printed
	posts   map[string]bool                  // channel messages already printed
	message fakediscord.Message              // the one whose buttons are pressed: the last with any
	older   []fakediscord.Message            // those before it
	modal   *fakediscord.Modal

	endpoint string // of signed interactions
	broken   int    // violations already printed
}

const (
	firstPlace  = "bench"
	secondPlace = "notices"
	thirdPlace  = "annex" // of another server
)

func newStage(s *fakediscord.Server, out io.Writer) *stage {
	st := &stage{
		s: s, out: out, hall: s.AddGuild("Evening class"), annex: s.AddGuild("Saturday class"), users: map[string]*fakediscord.User{},
		shown: map[*fakediscord.Interaction]int{}, posts: map[string]bool{},
	}
	teacher := st.hall.AddRole("teacher", 0)
	admin := st.hall.AddRole("admin", fakediscord.PermissionAdministrator)
	for name, roles := range map[string][]*fakediscord.Role{"ada": {admin}, "teo": {teacher}, "mira": nil, "jun": nil} {
		st.users[name] = s.AddUser(name)
		st.hall.Join(st.users[name], roles...)
	}
	st.user, st.place = st.users["mira"], st.hall.Channel(firstPlace)
	st.hall.Channel(secondPlace)
	st.annex.Channel(thirdPlace)
	return st
}

const help = `/stack stock:23/32         run a command, as it is registered
? /stack set:ol            ask for suggestions for the last option
press Too loose            press a button by its label or custom_id
submit width=23/32         send the open form; several fields: a=1; b=2
older                      go back to the message with buttons before this one
together 2 press Snug      the same N times at once: a double tap, a flood
again                      deliver the last interaction once more
as mira | teo | ada        act as a member, a teacher, an administrator
in bench | notices | dm    go to a channel, or to direct messages with the bot
in annex                   go to a channel of another server
rename NAME                give the server another name
fault KIND [TIMES] [ROUTE] spoil requests: 429 429all 429html 403 500 502html 503 drop lost cut slow late;
                           on the route callback, edit, followup, post, server or gateway; else on any
gateway KIND [CODE]        spoil the connection: drop op7 op9 op9r silent slow close
calm                       no more faults
forge bad|old|none|changed send a PING to that address with a signature that is wrong
endpoint URL | off         signed HTTP interactions to a bot's address, or the gateway
save DIR                   write the files of the last answer
commands, status, violations, help, quit
`

// play reads lines until the input or the context ends.
func (st *stage) play(ctx context.Context, in io.Reader) error {
	st.welcome()
	lines := make(chan string)
	go func() {
		defer close(lines)
		for sc := bufio.NewScanner(in); sc.Scan(); {
			select {
			case lines <- sc.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	for {
		st.news()
		st.printf("%s in %s> ", st.user.Name, st.where())
		select {
		case <-ctx.Done():
			return nil
		case line, more := <-lines:
			if !more || line == "quit" {
				st.printf("\n")
				return nil
			}
			if err := st.do(ctx, strings.TrimSpace(line)); err != nil {
				st.printf("  ! %v\n", err)
			}
		}
	}
}

func (st *stage) printf(format string, args ...any) { _, _ = fmt.Fprintf(st.out, format, args...) }

func (st *stage) where() string {
	if st.place.Guild == nil {
		return "dm"
	}
	return "#" + st.place.Name
}

func (st *stage) welcome() {
	st.printf("Discord's stand-in is at %s. Start the bot beside it with\n\n", st.s.URL())
	st.printf("  SHIMWRIGHT_DISCORD_API=%s SHIMWRIGHT_TOKEN=any shimwright serve -guild %s\n\n", st.s.URL(), st.hall.ID)
	st.printf("For HTTP interactions add -interactions-addr 127.0.0.1:8766 and\n\n  SHIMWRIGHT_PUBLIC_KEY=%s\n\nthen type: endpoint http://127.0.0.1:8766\n", st.s.PublicKey())
	if path, err := st.s.Description(); err != nil {
		st.printf("Requests are held against our own rules only: %v\n", err)
	} else {
		st.printf("Requests are held against %s and our own rules.\n", path)
	}
	st.printf("%s", "Type help for what can be done.\n")
}

func (st *stage) do(ctx context.Context, line string) error {
	word, rest, _ := strings.Cut(line, " ")
	rest = strings.TrimSpace(rest)
	switch {
	case line == "" || word == "help":
		st.printf("%s", help)
	case strings.HasPrefix(line, "/"):
		return st.act(ctx, func() (*fakediscord.Interaction, error) { return st.s.Type(st.user, st.place, line) })
	case word == "?":
		return st.act(ctx, func() (*fakediscord.Interaction, error) { return st.s.TypeAhead(st.user, st.place, rest) })
	case word == "press":
		return st.press(ctx, rest)
	case word == "submit":
		return st.submit(ctx, rest)
	case word == "older":
		return st.goBack()
	case word == "together":
		return st.together(ctx, rest)
	case word == "forge":
		return st.forge(ctx, rest)
	case word == "again":
		if st.last == nil {
			return errors.New("nothing was done yet")
		}
		st.s.Redeliver(st.last)
		return st.follow(ctx, st.last, time.Second)
	case word == "as":
		u := st.users[rest]
		if u == nil {
			return fmt.Errorf("nobody is named %q: try as mira", rest)
		}
		if st.user = u; st.place.Guild == nil {
			st.place = st.s.DM(u)
		}
	case word == "in":
		return st.move(strings.TrimPrefix(rest, "#"))
	case word == "rename":
		if st.place.Guild == nil || rest == "" {
			return errors.New("in a server, give its new name: rename Sunday class")
		}
		st.place.Guild.Rename(rest)
	case word == "fault":
		return st.fault(rest)
	case word == "gateway":
		return st.disturb(rest)
	case word == "calm":
		st.s.ClearFaults()
	case word == "endpoint":
		if rest == "off" {
			rest = ""
		}
		st.endpoint = rest
		return st.s.DeliverTo(ctx, rest)
	case word == "save":
		return st.save(rest)
	case word == "commands":
		st.printf("  here: %v\n  global: %v\n", st.s.Registered(st.hall), st.s.Registered(nil))
	case word == "status":
		st.printf("  %d sessions, %d connections, %d IDENTIFYs, %d RESUMEs, %d rejected requests\n",
			st.s.Sessions(), st.s.Connections(), st.s.Identifies(), st.s.Resumes(), st.s.RejectedRequests())
	case word == "violations":
		for _, v := range st.s.Violations() {
			st.printf("  %s\n", v)
		}
	default:
		return fmt.Errorf("%q is not known: help lists what is", word)
	}
	return nil
}

func (st *stage) move(place string) error {
	switch place {
	case "dm":
		st.place = st.s.DM(st.user)
	case firstPlace, secondPlace:
		st.place = st.hall.Channel(place)
	case thirdPlace:
		st.place = st.annex.Channel(place)
	default:
		return fmt.Errorf("there is no channel %q: try in %s", place, secondPlace)
	}
	return nil
}

// act does something and shows what the bot answers.
func (st *stage) act(ctx context.Context, do func() (*fakediscord.Interaction, error)) error {
	ia, err := do()
	if err != nil {
		return err
	}
	st.last = ia
	if ia.Deliveries() == 0 {
		st.printf("  (no bot is connected)\n")
	}
	return st.follow(ctx, ia, 20*time.Second)
}

// follow prints the answer, and what fills it if it is a deferral.
func (st *stage) follow(ctx context.Context, ia *fakediscord.Interaction, patience time.Duration) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	_, err := ia.Settled(ctx)
	st.print(ia)
	if errors.Is(err, fakediscord.ErrExpired) {
		return fmt.Errorf("the application did not respond (%d attempts, refused: %v)", ia.Attempts(), ia.Refusals())
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return errors.New("nothing more came yet")
	}
	return err
}

// news prints what came in the meantime.
func (st *stage) news() {
	for ia := range st.shown {
		st.print(ia)
	}
	for _, name := range []string{firstPlace, secondPlace} {
		for _, m := range st.s.Messages(st.hall.Channel(name)) {
			if m.InteractionID == "" && !st.posts[m.ID] {
				st.posts[m.ID] = true
				st.printf("  posted in #%s\n", name)
				st.show(m)
			}
		}
	}
	all := st.s.Violations()
	for _, v := range all[min(st.broken, len(all)):] {
		st.printf("  VIOLATION %s\n", v)
	}
	st.broken = len(all)
}

var callbackNames = map[int]string{
	fakediscord.CallbackMessage: "answer", fakediscord.CallbackDeferMessage: "thinking", fakediscord.CallbackDeferUpdate: "thinking, message unchanged",
	fakediscord.CallbackUpdate: "message changed", fakediscord.CallbackAutocomplete: "suggestions", fakediscord.CallbackModal: "form",
}

func (st *stage) print(ia *fakediscord.Interaction) {
	steps := ia.Steps()
	for _, a := range steps[min(st.shown[ia], len(steps)):] {
		what := a.Step
		if a.Step == fakediscord.StepCallback {
			d, _ := ia.Latency()
			what = fmt.Sprintf("%s after %v", callbackNames[a.Type], d.Round(100*time.Microsecond))
		}
		st.printf("  [%s]%s\n", what, map[bool]string{true: " only you see this", false: ""}[a.Ephemeral()])
		for _, c := range a.Choices {
			st.printf("  - %s (%v)\n", c.Name, c.Value)
		}
		if a.Modal != nil {
			st.modal = a.Modal
			st.printf("  %s\n", a.Modal.Title)
			for _, f := range a.Modal.Inputs() {
				st.printf("  | %s: %s [%s]\n", f.CustomID, f.Label, f.Value)
			}
		}
		if !a.Loading() && a.Message.ID != "" {
			st.show(a.Message)
		}
	}
	st.shown[ia] = len(steps)
}

// show prints a message as a phone would, roughly.
func (st *stage) show(m fakediscord.Message) {
	for _, line := range strings.Split(m.Content, "\n") {
		st.printf("  | %s\n", line)
	}
	for _, e := range m.Embeds {
		st.printf("  | # %s\n", e.Title)
		for _, line := range strings.Split(e.Description, "\n") {
			st.printf("  | # %s\n", line)
		}
		for _, f := range e.Fields {
			st.printf("  | # %s: %s\n", f.Name, f.Value)
		}
	}
	for _, f := range m.Files {
		st.printf("  | file %s, %d bytes, %dx%d: %s\n", f.Name, len(f.Data), f.Width, f.Height, f.Description)
	}
	for _, b := range m.Buttons() {
		st.printf("  | (%s) %s\n", b.Label, b.CustomID)
	}
	if len(m.Buttons()) > 0 && m.ID != st.message.ID {
		if st.message.ID != "" {
			st.older = append(st.older, st.message)
		}
		st.message = m
	}
}

// goBack turns to an older message: its buttons still work.
func (st *stage) goBack() error {
	n := len(st.older)
	if n == 0 {
		return errors.New("there is no older message with buttons")
	}
	st.message, st.older = st.older[n-1], st.older[:n-1]
	first, _, _ := strings.Cut(st.message.Content, "\n")
	st.printf("  | %s\n", first)
	for _, b := range st.message.Buttons() {
		st.printf("  | (%s) %s\n", b.Label, b.CustomID)
	}
	return nil
}

// together does the same several times before it waits for an answer.
func (st *stage) together(ctx context.Context, rest string) error {
	count, line, _ := strings.Cut(rest, " ")
	n, err := strconv.Atoi(count)
	if err != nil || n < 1 || n > 1000 {
		return errors.New("say how often, up to 1000, and what: together 2 press Snug")
	}
	do := func() (*fakediscord.Interaction, error) { return st.s.Type(st.user, st.place, line) }
	if label, press := strings.CutPrefix(line, "press "); press {
		if do, err = st.button(label); err != nil {
			return err
		}
	}
	all := make([]*fakediscord.Interaction, n)
	for i := range all {
		if all[i], err = do(); err != nil {
			return err
		}
	}
	for _, ia := range all {
		st.last = ia
		if err := st.follow(ctx, ia, 20*time.Second); err != nil {
			st.printf("  ! %v\n", err)
		}
	}
	return nil
}

var tweaks = map[string]fakediscord.Tweak{
	"bad": {BadSignature: true}, "old": {Age: time.Hour}, "none": {NoSignature: true}, "changed": {Tampered: true},
}

func (st *stage) forge(ctx context.Context, kind string) error {
	t, known := tweaks[kind]
	if !known || st.endpoint == "" {
		return errors.New("name an endpoint first, then forge bad, old, none or changed")
	}
	status, answer, err := st.s.Signed(ctx, st.endpoint, []byte(`{"id":"1","application_id":"1","type":1,"token":"ping","version":1}`), t)
	st.printf("  %d %s\n", status, strings.TrimSpace(string(answer)))
	return err
}

func (st *stage) press(ctx context.Context, which string) error {
	do, err := st.button(which)
	if err != nil {
		return err
	}
	return st.act(ctx, do)
}

// button finds a button of the message by its label or id.
func (st *stage) button(which string) (func() (*fakediscord.Interaction, error), error) {
	if st.message.ID == "" {
		return nil, errors.New("no message with buttons was shown yet")
	}
	now, _ := st.s.Message(st.message.ID)
	i := slices.IndexFunc(now.Buttons(), func(b fakediscord.Component) bool { return b.Label == which || b.CustomID == which })
	if i < 0 {
		return nil, fmt.Errorf("the message has no button %q", which)
	}
	b := now.Buttons()[i]
	if b.Disabled || b.CustomID == "" {
		return nil, fmt.Errorf("the button %q cannot be pressed", which)
	}
	return func() (*fakediscord.Interaction, error) { return st.s.Press(st.user, now, b.CustomID), nil }, nil
}

func (st *stage) submit(ctx context.Context, rest string) error {
	if st.modal == nil {
		return errors.New("no form is open")
	}
	values := map[string]string{}
	for _, pair := range strings.Split(rest, ";") {
		if strings.TrimSpace(pair) == "" {
			continue
		}
		key, value, has := strings.Cut(pair, "=")
		key = strings.TrimSpace(key)
		if !has || !slices.ContainsFunc(st.modal.Inputs(), func(f fakediscord.Component) bool { return f.CustomID == key }) {
			return fmt.Errorf("the form has no field %q: write submit field=value", key)
		}
		values[key] = strings.TrimSpace(value)
	}
	form := st.modal
	st.modal = nil
	return st.act(ctx, func() (*fakediscord.Interaction, error) { return st.s.Submit(st.user, form, values), nil })
}

// faults by the words that a person types.
var faults = map[string]fakediscord.Fault{
	"429":     {Status: 429, RetryAfter: time.Second},
	"429all":  {Status: 429, RetryAfter: time.Second, Global: true},
	"429html": {Status: 429, HTML: true},
	"403":     {Status: 403},
	"500":     {Status: 500},
	"502html": {Status: 502, HTML: true},
	"503":     {Status: 503},
	"drop":    {Drop: true},
	"lost":    {Drop: true, TakesEffect: true},
	"cut":     {Cut: true, TakesEffect: true},
	"slow":    {Delay: 2 * time.Second, TakesEffect: true},
	"late":    {Delay: 4 * time.Second},
}

// routes by the words that a person types.
var routes = map[string]fakediscord.Route{
	"callback": fakediscord.RouteCallback, "edit": fakediscord.RouteOriginal, "followup": fakediscord.RouteFollowups,
	"post": fakediscord.RouteChannelMessages, "server": fakediscord.RouteGuild, "gateway": fakediscord.RouteGatewayBot,
}

func (st *stage) fault(rest string) error {
	words := strings.Fields(rest)
	if len(words) == 0 {
		words = []string{""}
	}
	f, known := faults[words[0]]
	if !known {
		return fmt.Errorf("no fault is named %q: try fault 500 3", words[0])
	}
	for _, word := range words[1:] {
		n, err := strconv.Atoi(word)
		route := routes[word]
		switch {
		case err == nil:
			f.Times = n
		case route != "":
			f.Route = route
		default:
			return fmt.Errorf("%q is neither a number of times nor a route: try fault 500 3 callback", word)
		}
	}
	st.s.Inject(f)
	return nil
}

// disturbances by the words that a person types.
var disturbances = map[string]fakediscord.Disturbance{
	"drop":   {Do: fakediscord.Drop},
	"op7":    {Do: fakediscord.Reconnect},
	"op9":    {Do: fakediscord.Invalidate},
	"op9r":   {Do: fakediscord.Invalidate, Resumable: true},
	"silent": {Do: fakediscord.Silence},
	"slow":   {Do: fakediscord.Slow, Delay: time.Second},
	"close":  {Do: fakediscord.Close, Code: fakediscord.CloseUnknownError},
}

func (st *stage) disturb(rest string) error {
	kind, code, _ := strings.Cut(rest, " ")
	d, known := disturbances[kind]
	if !known {
		return fmt.Errorf("no disturbance is named %q: try gateway close 4004", kind)
	}
	if code != "" {
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil || kind != "close" {
			return fmt.Errorf("%q is out of place: try gateway close 4004", code)
		}
		d.Code = n
	}
	st.s.Disturb(d)
	return nil
}

func (st *stage) save(dir string) error {
	if dir == "" || st.last == nil {
		return errors.New("name a folder, after an answer with files: save /tmp/pictures")
	}
	saved := map[string]bool{}
	for _, a := range st.last.Steps() {
		for _, f := range a.Files {
			path := filepath.Join(dir, filepath.Base(f.Name))
			if saved[f.ID] {
				continue
			}
			saved[f.ID] = true
			if err := os.WriteFile(path, f.Data, 0o600); err != nil {
				return err
			}
			st.printf("  wrote %s\n", path)
		}
	}
	return nil
}
