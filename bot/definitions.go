package bot

import (
	"encoding/json"
	"strings"

	"shimwright/commands"
)

// Option types of an application command.
const (
	optSub     = 1
	optString  = 3
	optInteger = 4
	optBoolean = 5
	optChannel = 7
	optRole    = 8
)

// postable are the channels that take a post of ours: text, announcement and the
// three kinds of thread. A forum itself takes none.
var postable = []int{0, 5, 10, 11, 12}

// definition is an application command in Discord's form. Empty lists are left
// out: Discord reads an absent list as an empty one here, and answers so.
type definition struct {
	Type             int                `json:"type"` // 1: a slash command
	Name             string             `json:"name"`
	Description      string             `json:"description"`
	Options          []definitionOption `json:"options,omitempty"`
	IntegrationTypes []int              `json:"integration_types,omitempty"`
	Contexts         []int              `json:"contexts,omitempty"`
	// Permissions stays unset: it covers a whole command, and the rights of
	// subcommands differ. It is here so that a foreign value is noticed.
	Permissions *string `json:"default_member_permissions,omitempty"`
	NSFW        bool    `json:"nsfw,omitempty"`
}

type definitionOption struct {
	Type         int                `json:"type"`
	Name         string             `json:"name"`
	Description  string             `json:"description"`
	Required     bool               `json:"required,omitempty"`
	Autocomplete bool               `json:"autocomplete,omitempty"`
	Choices      []choice           `json:"choices,omitempty"`
	ChannelTypes []int              `json:"channel_types,omitempty"`
	Options      []definitionOption `json:"options,omitempty"`
}

// define puts commands into Discord's form, for one server or for all. A global
// one is installed to servers only and works in servers and in direct messages
// with the bot; to a single server Discord takes neither field.
func define(cmds []commands.Command, oneServer bool) []definition {
	defs := make([]definition, 0, len(cmds))
	for _, c := range cmds {
		d := definition{Type: 1, Name: strings.ToLower(c.Name), Description: c.Summary}
		if len(c.Subs) > 0 {
			for _, sub := range c.Subs {
				d.Options = append(d.Options, definitionOption{
					Type: optSub, Name: strings.ToLower(sub.Name), Description: sub.Summary, Options: defineOptions(sub.Options),
				})
			}
		} else {
			d.Options = defineOptions(c.Options)
		}
		if !oneServer {
			d.IntegrationTypes = []int{0}
			d.Contexts = []int{0, 1}
		}
		defs = append(defs, d)
	}
	return defs
}

// defineOptions puts required options first, as Discord demands.
func defineOptions(opts []commands.Option) []definitionOption {
	var required, others []definitionOption
	for _, o := range opts {
		d := definitionOption{Name: strings.ToLower(o.Name), Description: o.Summary, Required: o.Required}
		switch o.Kind {
		case commands.Whole:
			d.Type = optInteger
		case commands.YesNo:
			d.Type = optBoolean
		case commands.Role:
			d.Type = optRole
		case commands.Channel:
			d.Type, d.ChannelTypes = optChannel, postable
		default:
			d.Type = optString
			for _, c := range o.Choices {
				d.Choices = append(d.Choices, choice{Name: c.Label, Value: c.Value})
			}
			d.Autocomplete = o.Completes() && len(d.Choices) == 0
		}
		if o.Required {
			required = append(required, d)
		} else {
			others = append(others, d)
		}
	}
	return append(required, others...)
}

// sameDefinitions compares what Discord holds with what we would send, whatever
// the order of the commands and whatever Discord adds to them.
func sameDefinitions(present json.RawMessage, want []definition, oneServer bool) (bool, error) {
	var have []definition
	if err := json.Unmarshal(present, &have); err != nil {
		return false, err
	}
	if len(have) != len(want) {
		return false, nil
	}
	byName := make(map[string]string, len(have))
	for _, d := range have {
		if oneServer {
			d.IntegrationTypes, d.Contexts = nil, nil
		}
		if d.Type == 0 {
			d.Type = 1
		}
		b, err := json.Marshal(d)
		if err != nil {
			return false, err
		}
		byName[d.Name] = string(b)
	}
	for _, d := range want {
		b, err := json.Marshal(d)
		if err != nil {
			return false, err
		}
		if byName[d.Name] != string(b) {
			return false, nil
		}
	}
	return true, nil
}
