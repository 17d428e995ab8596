package fakediscord

import (
	"bytes"
	"encoding/json"
	"image"
	_ "image/gif"  // sizes of uploads
	_ "image/jpeg" // sizes of uploads
	_ "image/png"  // sizes of uploads
	"mime"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Flags of a message.
const (
	FlagSuppressEmbeds        = 1 << 2
	FlagEphemeral             = 1 << 6
	FlagLoading               = 1 << 7
	FlagSuppressNotifications = 1 << 12
	FlagComponentsV2          = 1 << 15
)

// Message is what members see, as it was at one moment.
type Message struct {
	ID, ChannelID string
	Content       string
	Flags         int
	Embeds        []Embed
	Components    []Component
	Files         []File
	Nonce         string
	InteractionID string // what it answers, "" for a post
	Edited        bool
	Deleted       bool
}

// Ephemeral says whether only the person who acted sees the message.
func (m Message) Ephemeral() bool { return m.Flags&FlagEphemeral != 0 }

// Loading says whether it still shows that the bot is thinking.
func (m Message) Loading() bool { return m.Flags&FlagLoading != 0 }

// Buttons are the buttons of all rows, in order.
func (m Message) Buttons() []Component {
	var list []Component
	walk(m.Components, func(c Component) {
		if c.Type == ComponentButton {
			list = append(list, c)
		}
	})
	return list
}

// Button is the custom_id of the button that reads label, "" if none does.
func (m Message) Button(label string) string {
	for _, b := range m.Buttons() {
		if b.Label == label {
			return b.CustomID
		}
	}
	return ""
}

// File is an attachment. Width and Height are 0 for what is no picture.
type File struct {
	ID, Name, ContentType string
	Description           string // alt text
	Data                  []byte
	Width, Height         int
}

// Embed is a card below the content.
type Embed struct {
	Type        string       `json:"type,omitempty"`
	Title       string       `json:"title,omitempty"`
	Description string       `json:"description,omitempty"`
	URL         string       `json:"url,omitempty"`
	Color       *int         `json:"color,omitempty"`
	Timestamp   string       `json:"timestamp,omitempty"`
	Author      *EmbedAuthor `json:"author,omitempty"`
	Footer      *EmbedFooter `json:"footer,omitempty"`
	Image       *EmbedImage  `json:"image,omitempty"`
	Thumbnail   *EmbedImage  `json:"thumbnail,omitempty"`
	Fields      []EmbedField `json:"fields,omitempty"`
}

// EmbedAuthor is the line above an embed's title.
type EmbedAuthor struct {
	Name    string `json:"name"`
	URL     string `json:"url,omitempty"`
	IconURL string `json:"icon_url,omitempty"`
}

// EmbedFooter is the line below an embed.
type EmbedFooter struct {
	Text    string `json:"text"`
	IconURL string `json:"icon_url,omitempty"`
}

// EmbedImage is a picture in an embed.
type EmbedImage struct {
	URL         string `json:"url"`
	Description string `json:"description,omitempty"`
}

// EmbedField is a name and a value in an embed.
type EmbedField struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	Inline bool   `json:"inline"`
}

// Component types.
const (
	ComponentRow       = 1
	ComponentButton    = 2
	ComponentSelect    = 3
	ComponentTextInput = 4
	ComponentLabel     = 18
)

// Component is any part of a message or a modal that people act on.
type Component struct {
	Type        int             `json:"type"`
	ID          int             `json:"id"`
	CustomID    string          `json:"custom_id,omitempty"`
	Style       int             `json:"style,omitempty"`
	Label       string          `json:"label,omitempty"`
	Description string          `json:"description,omitempty"`
	Content     string          `json:"content,omitempty"`
	Placeholder string          `json:"placeholder,omitempty"`
	Value       string          `json:"value,omitempty"`
	Disabled    bool            `json:"disabled,omitempty"`
	Required    *bool           `json:"required,omitempty"`
	MinLength   *int            `json:"min_length,omitempty"`
	MaxLength   *int            `json:"max_length,omitempty"`
	MinValues   *int            `json:"min_values,omitempty"`
	MaxValues   *int            `json:"max_values,omitempty"`
	URL         string          `json:"url,omitempty"`
	Emoji       json.RawMessage `json:"emoji,omitempty"`
	Options     []SelectOption  `json:"options,omitempty"`
	Components  []Component     `json:"components,omitempty"`
	Component   *Component      `json:"component,omitempty"`
}

// SelectOption is one line of a select menu.
type SelectOption struct {
	Label       string          `json:"label"`
	Value       string          `json:"value"`
	Description string          `json:"description,omitempty"`
	Default     bool            `json:"default,omitempty"`
	Emoji       json.RawMessage `json:"emoji,omitempty"`
}

func walk(list []Component, visit func(Component)) {
	for _, c := range list {
		visit(c)
		walk(c.Components, visit)
		if c.Component != nil {
			walk([]Component{*c.Component}, visit)
		}
	}
}

// number gives each component an id, and a menu its range, as Discord does.
func number(list []Component, next *int) {
	for i := range list {
		*next++
		if list[i].ID == 0 {
			list[i].ID = *next
		}
		if one := 1; list[i].Type == ComponentSelect {
			list[i].MinValues = orDefault(list[i].MinValues, &one)
			list[i].MaxValues = orDefault(list[i].MaxValues, &one)
		}
		number(list[i].Components, next)
		if list[i].Component != nil {
			*next++
			list[i].Component.ID = *next
		}
	}
}

// stored is a message and what the stand-in knows of it.
type stored struct {
	Message
	channel *Channel
	owner   *User // who alone sees an ephemeral one
	from    *Interaction
	created time.Time
	edited  time.Time
}

// opt tells an absent key from null and from a value.
type opt[T any] struct {
	set   bool
	value T
}

func (o *opt[T]) UnmarshalJSON(b []byte) error {
	o.set = true
	return json.Unmarshal(b, &o.value)
}

type attachmentRef struct {
	ID          any    `json:"id"`
	Filename    string `json:"filename"`
	Description string `json:"description"`
}

// messageBody is a message as a bot writes it.
type messageBody struct {
	Content      opt[string]          `json:"content"`
	Embeds       opt[[]Embed]         `json:"embeds"`
	Components   opt[[]Component]     `json:"components"`
	Attachments  opt[[]attachmentRef] `json:"attachments"`
	Flags        int                  `json:"flags"`
	Nonce        any                  `json:"nonce"`
	EnforceNonce bool                 `json:"enforce_nonce"`
}

func idText(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		b, _ := json.Marshal(v)
		return string(b)
	}
	return ""
}

// newMessage makes an empty message that is not yet kept.
func (s *Server) newMessage(ch *Channel, ia *Interaction) *stored {
	m := &stored{Message: Message{ID: s.newID(), ChannelID: ch.ID}, channel: ch, from: ia, created: s.now()}
	if ia != nil {
		m.InteractionID = ia.ID
	}
	return m
}

// write puts what a body says into a message: keys that are absent stay as they
// were. It returns false when nothing would be left to see.
func (s *Server) writeMessage(m *stored, b messageBody, files []upload) bool {
	next := m.Message
	if b.Content.set {
		next.Content = b.Content.value
	}
	if b.Components.set {
		next.Components = b.Components.value
		n := 0
		number(next.Components, &n)
	}
	if b.Attachments.set {
		next.Files = nil
		for _, ref := range b.Attachments.value {
			i := slices.IndexFunc(m.Files, func(f File) bool { return f.ID == idText(ref.ID) })
			if i >= 0 {
				next.Files = append(next.Files, m.Files[i])
			}
		}
	}
	for _, up := range files {
		f := File{ID: s.newID(), Name: up.name, ContentType: up.contentType, Data: up.data}
		if f.ContentType == "" || f.ContentType == "application/octet-stream" {
			f.ContentType = orDefault(mime.TypeByExtension(filepath.Ext(up.name)), "application/octet-stream")
		}
		for _, ref := range b.Attachments.value {
			if idText(ref.ID) == string(rune('0'+up.n)) {
				f.Description = ref.Description
				f.Name = orDefault(ref.Filename, f.Name)
			}
		}
		if cfg, _, err := image.DecodeConfig(bytes.NewReader(up.data)); err == nil {
			f.Width, f.Height = cfg.Width, cfg.Height
		}
		next.Files = append(slices.Clip(next.Files), f)
	}
	if b.Embeds.set {
		next.Embeds = b.Embeds.value
		for i := range next.Embeds {
			e := &next.Embeds[i]
			e.Type = "rich"
			for _, img := range []*EmbedImage{e.Image, e.Thumbnail} {
				if img != nil {
					img.URL = s.resolveAttachment(img.URL, next)
				}
			}
		}
	}
	if next.Content == "" && len(next.Embeds)+len(next.Components)+len(next.Files) == 0 {
		return false
	}
	next.Flags &^= FlagLoading
	m.Message = next
	return true
}

// resolveAttachment turns attachment://name into the file's address.
func (s *Server) resolveAttachment(url string, m Message) string {
	name, has := strings.CutPrefix(url, "attachment://")
	if !has {
		return url
	}
	for _, f := range m.Files {
		if f.Name == name {
			return s.fileURL(m.ChannelID, f)
		}
	}
	return url
}

func (s *Server) fileURL(channelID string, f File) string {
	return "http://" + s.host() + "/attachments/" + channelID + "/" + f.ID + "/" + f.Name
}

// keep stores a message.
func (s *Server) keep(m *stored) { s.messages[m.ID] = m }

type attachmentJSON struct {
	ID          string `json:"id"`
	Filename    string `json:"filename"`
	Size        int    `json:"size"`
	URL         string `json:"url"`
	ProxyURL    string `json:"proxy_url"`
	ContentType string `json:"content_type,omitempty"`
	Description string `json:"description,omitempty"`
	Width       int    `json:"width,omitempty"`
	Height      int    `json:"height,omitempty"`
	Ephemeral   bool   `json:"ephemeral,omitempty"`
}

type metadataJSON struct {
	ID         string            `json:"id"`
	Type       int               `json:"type"`
	User       userJSON          `json:"user"`
	Owners     map[string]string `json:"authorizing_integration_owners"`
	Interacted string            `json:"interacted_message_id,omitempty"`
	Trigger    *metadataJSON     `json:"triggering_interaction_metadata,omitempty"`
}

type messageJSON struct {
	ID              string           `json:"id"`
	Type            int              `json:"type"`
	ChannelID       string           `json:"channel_id"`
	Author          userJSON         `json:"author"`
	Content         string           `json:"content"`
	Timestamp       string           `json:"timestamp"`
	EditedTimestamp *string          `json:"edited_timestamp"`
	TTS             bool             `json:"tts"`
	MentionEveryone bool             `json:"mention_everyone"`
	Mentions        []userJSON       `json:"mentions"`
	MentionRoles    []string         `json:"mention_roles"`
	Attachments     []attachmentJSON `json:"attachments"`
	Embeds          []Embed          `json:"embeds"`
	Components      []Component      `json:"components"`
	Pinned          bool             `json:"pinned"`
	Flags           int              `json:"flags"`
	Nonce           string           `json:"nonce,omitempty"`
	ApplicationID   string           `json:"application_id,omitempty"`
	WebhookID       string           `json:"webhook_id,omitempty"`
	Metadata        *metadataJSON    `json:"interaction_metadata,omitempty"`
}

const stampForm = "2006-01-02T15:04:05.000000-07:00"

func stamp(t time.Time) string { return t.UTC().Format(stampForm) }

// json is the message as Discord sends it.
func (s *Server) messageJSON(m *stored) messageJSON {
	j := messageJSON{
		ID: m.ID, ChannelID: m.ChannelID, Author: s.app.json(), Content: m.Content, Timestamp: stamp(m.created),
		Mentions: []userJSON{}, MentionRoles: []string{}, Attachments: []attachmentJSON{},
		Embeds: m.Embeds, Components: m.Components, Flags: m.Flags, Nonce: m.Nonce, ApplicationID: s.app.ID,
	}
	if j.Embeds == nil {
		j.Embeds = []Embed{}
	}
	if j.Components == nil {
		j.Components = []Component{}
	}
	if m.Edited {
		t := stamp(m.edited)
		j.EditedTimestamp = &t
	}
	for _, f := range m.Files {
		url := s.fileURL(m.ChannelID, f)
		j.Attachments = append(j.Attachments, attachmentJSON{
			ID: f.ID, Filename: f.Name, Size: len(f.Data), URL: url, ProxyURL: url, ContentType: f.ContentType,
			Description: f.Description, Width: f.Width, Height: f.Height, Ephemeral: m.Ephemeral(),
		})
	}
	if m.from != nil {
		j.WebhookID = s.app.ID
		j.Metadata = m.from.metadata()
		if m.from.Type == TypeCommand {
			j.Type = 20 // CHAT_INPUT_COMMAND
		}
	}
	return j
}

// postable is the channel, or why the bot cannot post there.
func (c *call) postable(files int) (*Channel, *reply) {
	ch := c.s.channels[c.params["channel_id"]]
	need := PermissionSendMessages
	switch {
	case ch == nil || ch.gone:
		return nil, &errUnknownChannel
	case ch.Guild == nil:
		return ch, nil
	case ch.bot&PermissionViewChannel == 0:
		return nil, &errMissingAccess
	case ch.Type == ChannelForum:
		return nil, &errNotText
	case ch.Type == ChannelThread:
		need = PermissionSendInThreads
	}
	if files > 0 {
		need |= PermissionAttachFiles
	}
	if ch.bot&need != need {
		return nil, &errNoPermission
	}
	return ch, nil
}

func postMessage(c *call) reply {
	s := c.s
	b, in, refused := c.message(formPost, callContext{})
	if refused != nil {
		return *refused
	}
	s.lock()
	defer s.mu.Unlock()
	ch, no := c.postable(len(b.files))
	if no != nil {
		return *no
	}
	nonce := idText(in.Nonce)
	key := ch.ID + " " + nonce
	if old := s.nonces[key]; in.EnforceNonce && old != nil && s.now().Sub(old.created) < nonceLife {
		return ok(s.messageJSON(old))
	}
	m := s.newMessage(ch, nil)
	m.Nonce = nonce
	m.Flags = in.Flags
	if !s.writeMessage(m, in, b.files) {
		return s.emptied(c)
	}
	s.keep(m)
	if nonce != "" {
		s.nonces[key] = m
	}
	return ok(s.messageJSON(m))
}

// nonceLife is how long a nonce keeps a post single: "the past few minutes",
// says the documentation; the number is ours.
const nonceLife = 3 * time.Minute

// channelMessage finds one of the bot's own messages by its channel.
func (c *call) channelMessage() (*stored, *reply) {
	if _, no := c.postable(0); no != nil {
		return nil, no
	}
	m := c.s.messages[c.params["message_id"]]
	if m == nil || m.Deleted || m.ChannelID != c.params["channel_id"] || m.Ephemeral() {
		return nil, &errUnknownMessage
	}
	return m, nil
}

func getMessage(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	m, no := c.channelMessage()
	if no != nil {
		return *no
	}
	return ok(c.s.messageJSON(m))
}

func patchMessage(c *call) reply {
	s := c.s
	s.lock()
	m, no := c.channelMessage()
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
	if m, no = c.channelMessage(); no != nil {
		return *no
	}
	if !s.writeMessage(m, in, b.files) {
		return s.emptied(c)
	}
	m.Edited, m.edited = true, s.now()
	return ok(s.messageJSON(m))
}

func deleteMessage(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	m, no := c.channelMessage()
	if no != nil {
		return *no
	}
	m.Deleted = true
	return noContent()
}

// Messages are the messages in a channel that everyone there sees, in order.
func (s *Server) Messages(ch *Channel) []Message {
	s.lock()
	defer s.mu.Unlock()
	var list []Message
	for _, m := range s.messages {
		if m.ChannelID == ch.ID && !m.Deleted && !m.Ephemeral() {
			list = append(list, m.Message)
		}
	}
	slices.SortFunc(list, func(a, b Message) int {
		if len(a.ID) != len(b.ID) {
			return len(a.ID) - len(b.ID)
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list
}

// Message is a message as it is now.
func (s *Server) Message(id string) (Message, bool) {
	s.lock()
	defer s.mu.Unlock()
	if m := s.messages[id]; m != nil {
		return m.Message, true
	}
	return Message{}, false
}
