package fakediscord

import (
	"encoding/json"
)

// Types of a callback.
const (
	CallbackPong           = 1
	CallbackMessage        = 4
	CallbackDeferMessage   = 5
	CallbackDeferUpdate    = 6
	CallbackUpdate         = 7
	CallbackAutocomplete   = 8
	CallbackModal          = 9
	callbackLaunchActivity = 12
)

// callbackBody is a first answer; what Data holds depends on Type.
type callbackBody struct {
	Type int             `json:"type"`
	Data json.RawMessage `json:"data"`
}

// Choice is a suggestion of an autocomplete answer.
type Choice struct {
	Name  string `json:"name"`
	Value any    `json:"value"`
}

// Modal is a form that the bot opened. It is submitted with Submit.
type Modal struct {
	CustomID   string      `json:"custom_id"`
	Title      string      `json:"title"`
	Components []Component `json:"components"`

	from *Interaction
}

// Inputs are the fields of the form, in order.
func (m *Modal) Inputs() []Component {
	var list []Component
	walk(m.Components, func(c Component) {
		if c.CustomID != "" {
			list = append(list, c)
		}
	})
	return list
}

func postCallback(c *call) reply {
	s := c.s
	s.lock()
	ia := s.interactions[c.params["interaction_id"]]
	if ia == nil || ia.Token != c.params["interaction_token"] {
		s.mu.Unlock()
		_ = s.check(c, formCallback, callContext{})
		return errUnknownIA
	}
	ia.attempts++
	s.mu.Unlock()
	rep := c.answer(ia, c.header.Get("Content-Type"))
	if rep.status >= 300 {
		s.lock()
		ia.refuse(rep)
		s.mu.Unlock()
	}
	return rep
}

// callContext is what a check needs to know beyond the body.
type callContext struct {
	interaction int    // its Type, 0 if unknown
	onMessage   bool   // it came from a component on a message
	files       []File // what the message to be edited has
	focused     int    // option type of the field being completed
}

// answer takes a first answer, from the callback route or from the body of an
// HTTP interaction's response.
func (c *call) answer(ia *Interaction, contentType string) reply {
	s := c.s
	s.lock()
	context := callContext{interaction: ia.Type, onMessage: ia.source != nil, focused: ia.focused}
	if ia.source != nil {
		context.files = ia.source.Files
	}
	s.mu.Unlock()
	c.header.Set("Content-Type", contentType)
	refused := s.check(c, formCallback, context)
	b, problems := readBody(contentType, c.raw)

	s.lock()
	defer s.mu.Unlock()
	switch {
	case ia.answered:
		return errAcknowledged
	case c.arrived.Sub(ia.sent) > s.expiry():
		return errUnknownIA
	case refused != nil:
		return *refused
	case problems != nil:
		return invalidForm(problems)
	}
	var cb callbackBody
	if json.Unmarshal(b.json, &cb) != nil || !ia.allows(cb.Type) {
		return invalidForm([]problem{{path: []string{"type"}, code: "BASE_TYPE_CHOICES", message: "This callback type cannot answer this interaction."}})
	}
	a := Answer{Step: StepCallback, Type: cb.Type, At: c.at}
	var m *stored
	var in messageBody
	switch cb.Type {
	case CallbackMessage, CallbackDeferMessage, CallbackUpdate:
		if len(cb.Data) > 0 && json.Unmarshal(cb.Data, &in) != nil {
			return invalidForm([]problem{{path: []string{"data"}, code: "MODEL_TYPE_CONVERT", message: "Only dictionaries may be used in a ModelType"}})
		}
	}
	switch cb.Type {
	case CallbackMessage:
		m = s.newMessage(ia.channel, ia)
		m.Flags, m.owner = in.Flags, ia.user
		if !s.writeMessage(m, in, b.files) {
			return s.emptied(c)
		}
		s.keep(m)
	case CallbackDeferMessage:
		m = s.newMessage(ia.channel, ia)
		m.Flags, m.owner = FlagLoading|in.Flags&FlagEphemeral, ia.user
		s.keep(m)
		ia.loading = true
	case CallbackDeferUpdate:
		m = ia.source
	case CallbackUpdate:
		m = ia.source
		if !s.writeMessage(m, in, b.files) {
			return s.emptied(c)
		}
		m.Edited, m.edited = true, s.now()
	case CallbackAutocomplete:
		var d struct {
			Choices []Choice `json:"choices"`
		}
		_ = json.Unmarshal(cb.Data, &d)
		a.Choices = d.Choices
	case CallbackModal:
		a.Modal = &Modal{from: ia}
		_ = json.Unmarshal(cb.Data, a.Modal)
		n := 0
		number(a.Modal.Components, &n)
	}
	ia.answered, ia.original = true, m
	if m != nil {
		a.Message = m.Message
	}
	ia.latency = c.at.Sub(ia.dispatched)
	ia.step(a)
	if c.query.Get("with_response") != "true" {
		return noContent()
	}
	return ok(s.callbackJSON(ia, cb.Type, m))
}

type callbackInteraction struct {
	ID        string `json:"id"`
	Type      int    `json:"type"`
	MessageID string `json:"response_message_id,omitempty"`
	Loading   *bool  `json:"response_message_loading,omitempty"`
	Ephemeral *bool  `json:"response_message_ephemeral,omitempty"`
	ChannelID string `json:"channel_id,omitempty"`
	GuildID   string `json:"guild_id,omitempty"`
}

type callbackResource struct {
	Type    int          `json:"type"`
	Message *messageJSON `json:"message,omitempty"`
}

type callbackJSON struct {
	Interaction callbackInteraction `json:"interaction"`
	Resource    *callbackResource   `json:"resource,omitempty"`
}

func (s *Server) callbackJSON(ia *Interaction, kind int, m *stored) callbackJSON {
	j := callbackJSON{Interaction: callbackInteraction{ID: ia.ID, Type: ia.Type, ChannelID: ia.channel.ID}}
	if ia.channel.Guild != nil {
		j.Interaction.GuildID = ia.channel.Guild.ID
	}
	if m != nil {
		loading, ephemeral := m.Loading(), m.Ephemeral()
		j.Interaction.MessageID, j.Interaction.Loading, j.Interaction.Ephemeral = m.ID, &loading, &ephemeral
		if kind == CallbackMessage || kind == CallbackUpdate {
			mj := s.messageJSON(m)
			j.Resource = &callbackResource{Type: kind, Message: &mj}
		}
	}
	return j
}

// allows says which callbacks can answer which interactions.
func (ia *Interaction) allows(callback int) bool {
	switch callback {
	case CallbackPong:
		return ia.Type == TypePing
	case CallbackMessage, CallbackDeferMessage:
		return ia.Type == TypeCommand || ia.Type == TypeComponent || ia.Type == TypeModal
	case CallbackDeferUpdate, CallbackUpdate:
		return ia.source != nil && (ia.Type == TypeComponent || ia.Type == TypeModal)
	case CallbackAutocomplete:
		return ia.Type == TypeAutocomplete
	case CallbackModal, callbackLaunchActivity:
		return ia.Type == TypeCommand || ia.Type == TypeComponent
	}
	return false
}

// byToken is the interaction of a webhook route, or why there is none. An
// unanswered one has no webhook yet; its token dies after 15 minutes.
func (c *call) byToken() (*Interaction, *reply) {
	s := c.s
	if c.params["webhook_id"] != s.app.ID {
		return nil, &errUnknownWebhook
	}
	token := c.params["webhook_token"]
	ia := s.interactions[tokenID(token)]
	switch {
	case ia == nil || ia.Token != token || c.arrived.Sub(ia.sent) > s.tokenLife():
		return nil, &errWebhookToken
	case !ia.answered || ia.Type == TypeAutocomplete:
		return nil, &errUnknownWebhook
	}
	return ia, nil
}

// target is the message that a webhook route names.
func (c *call) target() (*Interaction, *stored, *reply) {
	ia, no := c.byToken()
	if no != nil {
		return nil, nil, no
	}
	m := ia.original
	if id, named := c.params["message_id"]; named {
		m = c.s.messages[id]
		if m != nil && m.from != ia && m != ia.original {
			m = nil
		}
	}
	if m == nil || m.Deleted {
		return nil, nil, &errUnknownMessage
	}
	return ia, m, nil
}

func getAnswer(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	_, m, no := c.target()
	if no != nil {
		return *no
	}
	return ok(c.s.messageJSON(m))
}

func patchAnswer(c *call) reply {
	s := c.s
	s.lock()
	_, m, no := c.target()
	var known callContext
	if m != nil {
		known.files = m.Files
	}
	s.mu.Unlock()
	b, in, refused := c.message(formEdit, known)
	if no != nil {
		return *no
	}
	if refused != nil {
		return *refused
	}
	s.lock()
	defer s.mu.Unlock()
	ia, m, no := c.target()
	if no != nil {
		return *no
	}
	edited := !m.Loading()
	if !s.writeMessage(m, in, b.files) {
		return s.emptied(c)
	}
	if edited {
		m.Edited, m.edited = true, s.now()
	}
	ia.step(Answer{Step: StepEdit, Message: m.Message, At: c.at})
	return ok(s.messageJSON(m))
}

func deleteAnswer(c *call) reply {
	s := c.s
	s.lock()
	defer s.mu.Unlock()
	ia, m, no := c.target()
	if no != nil {
		return *no
	}
	m.Deleted = true
	ia.step(Answer{Step: StepDelete, Message: m.Message, At: c.at})
	return noContent()
}

// postFollowup adds a message to an answered interaction. Straight after a
// deferral it fills the deferred message instead, whose privacy stays.
func postFollowup(c *call) reply {
	s := c.s
	s.lock()
	ia, no := c.byToken()
	loading := ia != nil && ia.loading && ia.original.Loading()
	s.mu.Unlock()
	b, in, refused := c.message(formFollowup, callContext{})
	if no != nil {
		return *no
	}
	if refused != nil {
		return *refused
	}
	s.lock()
	defer s.mu.Unlock()
	a := Answer{Step: StepFollowup, At: c.at}
	var m *stored
	if loading && ia.original.Loading() {
		m, a.Step = ia.original, StepEdit
	} else {
		m = s.newMessage(ia.channel, ia)
		m.Flags, m.owner = in.Flags, ia.user
	}
	if !s.writeMessage(m, in, b.files) {
		return s.emptied(c)
	}
	s.keep(m)
	a.Message = m.Message
	ia.step(a)
	return ok(s.messageJSON(m))
}
