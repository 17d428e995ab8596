package bot

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"shimwright/commands"
)

// Interaction types.
const (
	inPing       = 1
	inCommand    = 2
	inComponent  = 3
	inCompletion = 4
	inModal      = 5
)

// interaction is what Discord sends when a member does something, as far as we
// read it. The gateway and the HTTP mode share this decoder.
type interaction struct {
	ID      string          `json:"id"`
	App     string          `json:"application_id"`
	Type    int             `json:"type"`
	Token   string          `json:"token"`
	Guild   string          `json:"guild_id"`
	Channel string          `json:"channel_id"`
	Member  *member         `json:"member"` // in a server
	User    *user           `json:"user"`   // in a direct message
	Data    json.RawMessage `json:"data"`
	Message *struct {
		Flags int `json:"flags"`
	} `json:"message"` // the one that a button was on

	arrived time.Time
}

type member struct {
	User        *user    `json:"user"`
	Nick        string   `json:"nick"`
	Roles       []string `json:"roles"`
	Permissions string   `json:"permissions"`
}

type user struct {
	ID     string `json:"id"`
	Name   string `json:"username"`
	Global string `json:"global_name"`
}

type commandData struct {
	Name    string        `json:"name"`
	Type    int           `json:"type"`
	Options []optionValue `json:"options"`

	Resolved resolved `json:"resolved"`
}

// resolved are the roles and channels that options mean.
type resolved struct {
	Roles    map[string]called `json:"roles"`
	Channels map[string]called `json:"channels"`
}

type called struct {
	Name string `json:"name"`
}

// name is what the role or the channel with this id is called; empty where it
// is neither.
func (r resolved) name(kind int, id string) string {
	switch kind {
	case optRole:
		return r.Roles[id].Name
	case optChannel:
		return r.Channels[id].Name
	}
	return ""
}

type optionValue struct {
	Name    string          `json:"name"`
	Type    int             `json:"type"`
	Value   json.RawMessage `json:"value"`
	Options []optionValue   `json:"options"`
	Focused bool            `json:"focused"`
}

type pressData struct {
	CustomID   string       `json:"custom_id"`
	Type       int          `json:"component_type"`
	Components []modalEntry `json:"components"`
}

// modalEntry is a row with inputs, a label with one, or the input itself.
type modalEntry struct {
	CustomID   string          `json:"custom_id"`
	Value      json.RawMessage `json:"value"`
	Components []modalEntry    `json:"components"`
	Component  *modalEntry     `json:"component"`
}

// decode reads an interaction and checks what every kind must have.
func decode(raw []byte) (*interaction, error) {
	var in interaction
	if err := json.Unmarshal(raw, &in); err != nil {
		return nil, fmt.Errorf("an interaction that is no JSON of its kind: %w", err)
	}
	if in.Type == inPing {
		return &in, nil
	}
	if _, err := strconv.ParseUint(in.ID, 10, 64); err != nil {
		return nil, fmt.Errorf("an interaction of type %d without a usable id", in.Type)
	}
	if in.Token == "" || strings.ContainsAny(in.Token, "/?#") {
		return nil, fmt.Errorf("interaction %s of type %d without a usable token", in.ID, in.Type)
	}
	return &in, nil
}

// created is when Discord made the interaction, from its snowflake:
// milliseconds since 2015 above 22 other bits.
func (in *interaction) created() time.Time {
	id, err := strconv.ParseUint(in.ID, 10, 64)
	if err != nil {
		return time.Time{}
	}
	return time.UnixMilli(int64(id>>22) + 1420070400000)
}

// from is who asks: the member in a server, the user in a direct message.
func (in *interaction) from() (*user, error) {
	u := in.User
	if in.Member != nil {
		u = in.Member.User
	}
	if u == nil || u.ID == "" {
		return nil, fmt.Errorf("interaction %s comes from nobody", in.ID)
	}
	return u, nil
}

const permissionAdministrator = 1 << 3

func (in *interaction) caller(at time.Time) (commands.Caller, error) {
	u, err := in.from()
	if err != nil {
		return commands.Caller{}, err
	}
	c := commands.Caller{
		Platform:    "discord",
		MemberKey:   u.ID,
		MemberName:  u.Name,
		Interaction: in.ID,
		At:          at,
	}
	if u.Global != "" {
		c.MemberName = u.Global
	}
	if in.Member != nil {
		c.ShopKey = in.Guild
		c.Roles = in.Member.Roles
		if in.Member.Nick != "" {
			c.MemberName = in.Member.Nick
		}
		bits, err := strconv.ParseUint(in.Member.Permissions, 10, 64)
		c.Admin = err == nil && bits&permissionAdministrator != 0
	}
	return c, nil
}

// call is the command of an interaction, and the option being typed, if any.
func (in *interaction) call(at time.Time) (c commands.Call, focused string, err error) {
	c.Caller, err = in.caller(at)
	if err != nil {
		return c, "", err
	}
	var data commandData
	if err := json.Unmarshal(in.Data, &data); err != nil {
		return c, "", fmt.Errorf("interaction %s: a command that cannot be read: %w", in.ID, err)
	}
	if data.Name == "" || data.Type > 1 {
		return c, "", fmt.Errorf("interaction %s: a command of kind %d without use for us", in.ID, data.Type)
	}
	c.Name = data.Name
	opts := data.Options
	for len(opts) == 1 && (opts[0].Type == 1 || opts[0].Type == 2) {
		c.Name += " " + opts[0].Name
		opts = opts[0].Options
	}
	c.Options = make(map[string]string, len(opts))
	for _, o := range opts {
		if o.Focused {
			focused = o.Name
		}
		text, ok := o.text()
		if !ok {
			continue
		}
		// A role option offers @everyone, whose id is the server's: naming it
		// would make an instructor of everybody.
		if o.Type == optRole && text == in.Guild {
			return c, focused, &commands.UserError{
				Option:  o.Name,
				Message: "That is everybody, not a role.",
				Hint:    "Pick a role that only the people meant have, or make one in the server's settings.",
			}
		}
		c.Options[o.Name] = text
		if named := data.Resolved.name(o.Type, text); named != "" {
			if c.Names == nil {
				c.Names = map[string]string{}
			}
			c.Names[text] = named
		}
	}
	return c, focused, nil
}

// text is an option's value as text: what was typed, "yes" or "no", a number, an
// id. A half-typed number comes as a string while it is completed.
func (o optionValue) text() (string, bool) {
	var v any
	d := json.NewDecoder(strings.NewReader(string(o.Value)))
	d.UseNumber()
	if d.Decode(&v) != nil {
		return "", false
	}
	switch v := v.(type) {
	case string:
		return v, true
	case bool:
		if v {
			return "yes", true
		}
		return "no", true
	case json.Number:
		return v.String(), true
	}
	return "", false
}

// press is the button or the form of an interaction.
func (in *interaction) press(at time.Time) (p commands.Press, err error) {
	p.Caller, err = in.caller(at)
	if err != nil {
		return p, err
	}
	var data pressData
	if err := json.Unmarshal(in.Data, &data); err != nil {
		return p, fmt.Errorf("interaction %s: a press that cannot be read: %w", in.ID, err)
	}
	if in.Type == inComponent && data.Type != componentBtn {
		return p, fmt.Errorf("interaction %s: component type %d without use for us", in.ID, data.Type)
	}
	if data.CustomID == "" {
		return p, fmt.Errorf("interaction %s: a press without an id", in.ID)
	}
	p.ID = data.CustomID
	if in.Type == inModal {
		p.Values = map[string]string{}
		collect(data.Components, p.Values, 0)
	}
	return p, nil
}

// collect takes the text inputs out of a form's nested components.
func collect(entries []modalEntry, into map[string]string, depth int) {
	if depth > 4 {
		return
	}
	for _, e := range entries {
		if e.Component != nil {
			collect([]modalEntry{*e.Component}, into, depth+1)
		}
		collect(e.Components, into, depth+1)
		if e.CustomID == "" {
			continue
		}
		if text, ok := (optionValue{Value: e.Value}).text(); ok {
			into[e.CustomID] = text
		}
	}
}
