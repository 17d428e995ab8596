package fakediscord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Types of an interaction.
const (
	TypePing         = 1
	TypeCommand      = 2
	TypeComponent    = 3
	TypeAutocomplete = 4
	TypeModal        = 5
)

// Option types of a command.
const (
	optSub     = 1
	optGroup   = 2
	optString  = 3
	optInteger = 4
	optBoolean = 5
	optUser    = 6
	optChannel = 7
	optRole    = 8
	optNumber  = 10
)

// ErrExpired is what Wait returns when no answer came in time. Discord then
// tells the member that the application did not respond.
var ErrExpired = errors.New("the interaction expired without an answer")

// Option is one value of a command as a member fills it in.
type Option struct {
	name    string
	kind    int
	value   any
	focused bool
	options []Option
	resolve any // *User, *Role or *Channel
}

// String is a text option.
func String(name, value string) Option { return Option{name: name, kind: optString, value: value} }

// Int is a whole number option.
func Int(name string, value int64) Option { return Option{name: name, kind: optInteger, value: value} }

// Number is an option with a fraction.
func Number(name string, value float64) Option {
	return Option{name: name, kind: optNumber, value: value}
}

// Bool is a yes or no option.
func Bool(name string, value bool) Option { return Option{name: name, kind: optBoolean, value: value} }

// OfUser is an option that names a member.
func OfUser(name string, u *User) Option {
	return Option{name: name, kind: optUser, value: u.ID, resolve: u}
}

// OfRole is an option that names a role, @everyone included.
func OfRole(name string, r *Role) Option {
	return Option{name: name, kind: optRole, value: r.ID, resolve: r}
}

// OfChannel is an option that names a channel.
func OfChannel(name string, c *Channel) Option {
	return Option{name: name, kind: optChannel, value: c.ID, resolve: c}
}

// Sub is a subcommand with its options.
func Sub(name string, options ...Option) Option {
	return Option{name: name, kind: optSub, options: options}
}

// Group is a group that holds one subcommand.
func Group(name string, sub Option) Option {
	return Option{name: name, kind: optGroup, options: []Option{sub}}
}

// Focus marks the option in which the cursor is, for Complete. What is half
// typed goes out as text, even in a number.
func Focus(o Option) Option { o.focused = true; return o }

// Interaction is something that a member did, and what came of it.
type Interaction struct {
	ID, Token string
	Type      int

	s          *Server
	user       *User
	channel    *Channel
	source     *stored // the message that was acted on
	trigger    *Interaction
	focused    int
	payload    json.RawMessage
	sent       time.Time // by the server's clock
	dispatched time.Time // real time
	deliveries int
	attempts   int
	answered   bool
	loading    bool
	original   *stored
	latency    time.Duration
	steps      []Answer
	refusals   []Refusal
	changed    chan struct{}
}

// Steps of an answer.
const (
	StepCallback = "callback"
	StepEdit     = "edit"
	StepFollowup = "followup"
	StepDelete   = "delete"
)

// Answer is one accepted step: the first answer, an edit, a follow-up or a
// deletion. Message is what it left to see; Modal and Choices belong to the
// callbacks that open a form or complete an option.
type Answer struct {
	Step string
	Type int // of a callback
	Message
	Modal   *Modal
	Choices []Choice
	At      time.Time
}

// Refusal is an attempt to answer that Discord refuses.
type Refusal struct {
	Status, Code int
	Message      string
}

// Command runs a slash command as a user in a channel.
func (s *Server) Command(u *User, ch *Channel, name string, options ...Option) *Interaction {
	return s.act(u, ch, TypeCommand, nil, nil, s.commandData(u, ch, name, options))
}

// Complete asks for suggestions while a user types; one option is in Focus.
func (s *Server) Complete(u *User, ch *Channel, name string, options ...Option) *Interaction {
	return s.act(u, ch, TypeAutocomplete, nil, nil, s.commandData(u, ch, name, options))
}

// Press presses a button: customID is sent as it is, so it may be forged. The
// message goes out as it is now.
func (s *Server) Press(u *User, m Message, customID string) *Interaction {
	data := map[string]any{"custom_id": customID, "component_type": ComponentButton, "id": 1}
	for _, b := range m.Buttons() {
		if b.CustomID == customID {
			data["id"] = b.ID
		}
	}
	return s.onMessage(u, m, data)
}

// Select picks values in a select menu.
func (s *Server) Select(u *User, m Message, customID string, values ...string) *Interaction {
	return s.onMessage(u, m, map[string]any{
		"custom_id": customID, "component_type": ComponentSelect, "id": 1, "values": values,
	})
}

func (s *Server) onMessage(u *User, m Message, data map[string]any) *Interaction {
	s.lock()
	source := s.messages[m.ID]
	ch := s.channels[m.ChannelID]
	if source == nil {
		source = &stored{Message: m, channel: ch, created: s.now()}
	}
	s.mu.Unlock()
	delete(data, "id")
	return s.act(u, ch, TypeComponent, source, nil, actData{data: data})
}

// Submit sends a form with these values by custom_id; what is not named keeps
// what the bot filled in.
func (s *Server) Submit(u *User, m *Modal, values map[string]string) *Interaction {
	field := func(c Component) map[string]any {
		v, given := values[c.CustomID]
		if !given {
			v = c.Value
		}
		f := map[string]any{"type": c.Type, "id": c.ID, "custom_id": c.CustomID}
		if c.Type == ComponentSelect {
			f["values"] = []string{v}
		} else {
			f["value"] = v
		}
		return f
	}
	rows := []any{}
	for _, c := range m.Components {
		switch {
		case c.Component != nil:
			rows = append(rows, map[string]any{"type": c.Type, "id": c.ID, "component": field(*c.Component)})
		case c.Type == ComponentRow:
			fields := []any{}
			for _, in := range c.Components {
				fields = append(fields, field(in))
			}
			rows = append(rows, map[string]any{"type": c.Type, "id": c.ID, "components": fields})
		}
	}
	data := map[string]any{"custom_id": m.CustomID, "components": rows}
	return s.act(u, m.from.channel, TypeModal, m.from.source, m.from, actData{data: data})
}

// Send dispatches an interaction whose data is the caller's: to send what
// Discord might invent next.
func (s *Server) Send(u *User, ch *Channel, kind int, data any) *Interaction {
	return s.act(u, ch, kind, nil, nil, actData{data: data})
}

// Redeliver sends an interaction once more as it was, as a replay does.
func (s *Server) Redeliver(ia *Interaction) {
	s.lock()
	n := 0
	if s.endpoint == "" {
		n = s.broadcast(ia.guildID(), "INTERACTION_CREATE", ia.payload)
	}
	ia.deliveries += n
	endpoint := s.endpoint
	s.mu.Unlock()
	if endpoint != "" {
		s.deliver(ia, endpoint)
	}
}

func (ia *Interaction) guildID() string {
	if ia.channel.Guild == nil {
		return "0"
	}
	return ia.channel.Guild.ID
}

type actData struct {
	data    any
	focused int
}

// commandData builds the data of a command; what its options name is resolved.
func (s *Server) commandData(u *User, ch *Channel, name string, options []Option) actData {
	s.lock()
	defer s.mu.Unlock()
	cmd := s.find(ch.Guild, name)
	id := s.newID()
	data := map[string]any{"name": name, "type": 1}
	if cmd != nil {
		id = cmd.ID
		if cmd.GuildID != "" {
			data["guild_id"] = cmd.GuildID
		}
	}
	data["id"] = id
	resolved := map[string]map[string]any{}
	put := func(kind, id string, v any) {
		if resolved[kind] == nil {
			resolved[kind] = map[string]any{}
		}
		resolved[kind][id] = v
	}
	focused := 0
	var build func([]Option) []any
	build = func(list []Option) []any {
		out := []any{}
		for _, o := range list {
			j := map[string]any{"name": o.name, "type": o.kind}
			if o.kind == optSub || o.kind == optGroup {
				j["options"] = build(o.options)
				out = append(out, j)
				continue
			}
			j["value"] = o.value
			if o.focused {
				focused = o.kind
				j["focused"] = true
				j["value"] = fmt.Sprint(o.value)
			}
			switch v := o.resolve.(type) {
			case *User:
				put("users", v.ID, v.json())
				if ch.Guild != nil {
					m := ch.Guild.memberJSON(v)
					m.User, m.Deaf, m.Mute = nil, nil, nil
					put("members", v.ID, m)
				}
			case *Role:
				put("roles", v.ID, v.json())
			case *Channel:
				p := uint64(0)
				if ch.Guild != nil {
					p = ch.Guild.permissions(u)
				}
				put("channels", v.ID, v.resolved(p))
			}
			out = append(out, j)
		}
		return out
	}
	if len(options) > 0 {
		data["options"] = build(options)
	}
	if len(resolved) > 0 {
		data["resolved"] = resolved
	}
	return actData{data, focused}
}

type interactionGuild struct {
	ID       string   `json:"id"`
	Features []string `json:"features"`
	Locale   string   `json:"locale"`
}

type interactionJSON struct {
	ID             string            `json:"id"`
	ApplicationID  string            `json:"application_id"`
	Type           int               `json:"type"`
	Token          string            `json:"token"`
	Version        int               `json:"version"`
	Data           any               `json:"data,omitempty"`
	Guild          *interactionGuild `json:"guild,omitempty"`
	GuildID        string            `json:"guild_id,omitempty"`
	GuildLocale    string            `json:"guild_locale,omitempty"`
	Channel        channelJSON       `json:"channel"`
	ChannelID      string            `json:"channel_id"`
	Member         *memberJSON       `json:"member,omitempty"`
	User           *userJSON         `json:"user,omitempty"`
	Message        *messageJSON      `json:"message,omitempty"`
	AppPermissions string            `json:"app_permissions"`
	Locale         string            `json:"locale"`
	Entitlements   []any             `json:"entitlements"`
	Owners         map[string]string `json:"authorizing_integration_owners"`
	Context        int               `json:"context"`
	UploadLimit    int               `json:"attachment_size_limit"`
}

// act makes an interaction and delivers it.
func (s *Server) act(u *User, ch *Channel, kind int, source *stored, trigger *Interaction, d actData) *Interaction {
	s.lock()
	ia := &Interaction{
		s: s, ID: s.newID(), Type: kind, user: u, channel: ch, source: source, trigger: trigger,
		focused: d.focused, sent: s.now(), changed: make(chan struct{}),
	}
	ia.Token = tokenMark + ia.ID + "-" + strconv.FormatUint(s.rng.Uint64(), 36)
	j := interactionJSON{
		ID: ia.ID, ApplicationID: s.app.ID, Type: kind, Token: ia.Token, Version: 1, Data: d.data,
		Channel: ch.json(), ChannelID: ch.ID, AppPermissions: bits(ch.bot), Locale: "en-US",
		Entitlements: []any{}, Owners: ia.owners(), UploadLimit: fileMax,
	}
	if g := ch.Guild; g != nil {
		if _, member := g.members[u.ID]; !member {
			g.members[u.ID] = nil
		}
		j.Guild = &interactionGuild{ID: g.ID, Features: []string{}, Locale: "en-US"}
		j.GuildID, j.GuildLocale, j.Member = g.ID, "en-US", g.memberJSON(u)
	} else {
		user := u.json()
		j.User, j.Context = &user, 1
	}
	if source != nil {
		m := s.messageJSON(source)
		j.Message = &m
	}
	raw, err := json.Marshal(j)
	if err != nil {
		panic(err) // Send was given what JSON cannot hold
	}
	ia.payload = raw
	s.interactions[ia.ID] = ia
	s.order = append(s.order, ia)
	s.forget()
	endpoint := s.endpoint
	ia.dispatched = time.Now()
	if endpoint == "" {
		ia.deliveries = s.broadcast(ia.guildID(), "INTERACTION_CREATE", raw)
	}
	s.mu.Unlock()
	if endpoint != "" {
		s.deliver(ia, endpoint)
	}
	return ia
}

const tokenMark = "stand-in-"

// tokenID is the interaction that a token is of, if it is one of ours.
func tokenID(token string) string {
	id, _, _ := strings.Cut(strings.TrimPrefix(token, tokenMark), "-")
	return id
}

// forget keeps History interactions and their messages.
func (s *Server) forget() {
	if s.History == 0 || len(s.order) < 2*s.History {
		return
	}
	cut := len(s.order) - s.History
	for _, ia := range s.order[:cut] {
		delete(s.interactions, ia.ID)
	}
	s.order = slices.Clone(s.order[cut:])
	maps.DeleteFunc(s.messages, func(_ string, m *stored) bool {
		return m.from != nil && s.interactions[m.from.ID] == nil
	})
}

func (ia *Interaction) owners() map[string]string { return map[string]string{"0": ia.guildID()} }

func (ia *Interaction) metadata() *metadataJSON {
	m := &metadataJSON{ID: ia.ID, Type: ia.Type, User: ia.user.json(), Owners: ia.owners()}
	if ia.Type == TypeComponent && ia.source != nil {
		m.Interacted = ia.source.ID
	}
	if ia.trigger != nil {
		m.Trigger = ia.trigger.metadata()
	}
	return m
}

// step records an accepted step; the server is locked.
func (ia *Interaction) step(a Answer) {
	ia.steps = append(ia.steps, a)
	ia.tell()
}

func (ia *Interaction) refuse(r reply) {
	ref := Refusal{Status: r.status}
	if e, ok := r.value.(apiError); ok {
		ref.Code, ref.Message = e.Code, e.Message
	}
	ia.refusals = append(ia.refusals, ref)
	ia.tell()
}

func (ia *Interaction) tell() {
	close(ia.changed)
	ia.changed = make(chan struct{})
}

// await blocks until done, which sees the server locked, or until the token
// died unanswered.
func (ia *Interaction) await(ctx context.Context, done func() bool) error {
	s := ia.s
	for {
		s.lock()
		if done() {
			s.mu.Unlock()
			return nil
		}
		if ia.expired() {
			s.mu.Unlock()
			return ErrExpired
		}
		changed, closed := ia.changed, s.closed
		tick := 5 * time.Millisecond // a clock of the caller's moves when it likes
		if s.Now == nil {
			tick = max(time.Millisecond, s.expiry()-s.now().Sub(ia.sent)+time.Millisecond)
			if ia.answered {
				tick = time.Hour
			}
		}
		s.mu.Unlock()
		t := time.NewTimer(tick)
		select {
		case <-changed:
		case <-t.C:
		case <-closed:
			t.Stop()
			return errors.New("fakediscord: closed")
		case <-ctx.Done():
			t.Stop()
			return ctx.Err()
		}
		t.Stop()
	}
}

func (ia *Interaction) expired() bool {
	return !ia.answered && ia.s.now().Sub(ia.sent) > ia.s.expiry()
}

// Wait returns the first answer, which may be a deferral, or ErrExpired.
func (ia *Interaction) Wait(ctx context.Context) (Answer, error) {
	var a Answer
	err := ia.await(ctx, func() bool {
		if len(ia.steps) == 0 {
			return false
		}
		a = ia.steps[0]
		return true
	})
	return a, err
}

// Settled returns what the member ends up with: the first answer, or, where it
// was a deferral, the step that filled it.
func (ia *Interaction) Settled(ctx context.Context) (Answer, error) {
	var a Answer
	err := ia.await(ctx, func() bool {
		for _, step := range ia.steps {
			deferral := step.Step == StepCallback && (step.Type == CallbackDeferMessage || step.Type == CallbackDeferUpdate)
			if !deferral {
				a = step
				return true
			}
		}
		return false
	})
	return a, err
}

// WaitSteps returns once there are n steps.
func (ia *Interaction) WaitSteps(ctx context.Context, n int) ([]Answer, error) {
	var list []Answer
	err := ia.await(ctx, func() bool {
		list = slices.Clone(ia.steps)
		return len(list) >= n
	})
	return list, err
}

// WaitRefusal returns once an attempt to answer was refused.
func (ia *Interaction) WaitRefusal(ctx context.Context) error {
	return ia.await(ctx, func() bool { return len(ia.refusals) > 0 })
}

// Steps are the accepted steps so far, the first answer first.
func (ia *Interaction) Steps() []Answer {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return slices.Clone(ia.steps)
}

// Answers counts the accepted first answers: 1, or 0 when it is not answered.
func (ia *Interaction) Answers() int {
	n := 0
	for _, a := range ia.Steps() {
		if a.Step == StepCallback {
			n++
		}
	}
	return n
}

// Expired says whether the time ran out without an answer.
func (ia *Interaction) Expired() bool {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return ia.expired()
}

// Attempts counts the tries to give a first answer, refused ones included.
func (ia *Interaction) Attempts() int {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return ia.attempts
}

// Refusals are the refused tries to give a first answer.
func (ia *Interaction) Refusals() []Refusal {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return slices.Clone(ia.refusals)
}

// Deliveries counts the connections that it was sent to, replays excluded.
func (ia *Interaction) Deliveries() int {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return ia.deliveries
}

// Latency is the real time from dispatch to the arrival of the first answer.
func (ia *Interaction) Latency() (time.Duration, bool) {
	ia.s.lock()
	defer ia.s.mu.Unlock()
	return ia.latency, ia.answered
}

// Payload is the interaction as it was sent.
func (ia *Interaction) Payload() json.RawMessage { return ia.payload }

// Interactions are all that are remembered, oldest first.
func (s *Server) Interactions() []*Interaction {
	s.lock()
	defer s.mu.Unlock()
	return slices.Clone(s.order)
}
