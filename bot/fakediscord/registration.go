package fakediscord

import (
	"encoding/json"
	"slices"
	"time"
)

// command is a registered application command. Its options are kept as they
// were sent; what acting as a member needs of them is read on demand.
type command struct {
	ID          string          `json:"id"`
	Application string          `json:"application_id"`
	Version     string          `json:"version"`
	GuildID     string          `json:"guild_id,omitempty"`
	Type        int             `json:"type"`
	Name        string          `json:"name"`
	NameL10n    json.RawMessage `json:"name_localizations"`
	Description string          `json:"description"`
	DescL10n    json.RawMessage `json:"description_localizations"`
	Permissions *string         `json:"default_member_permissions"`
	DM          bool            `json:"dm_permission"`
	Contexts    json.RawMessage `json:"contexts"`
	Integration json.RawMessage `json:"integration_types,omitempty"`
	Options     json.RawMessage `json:"options,omitempty"`
	NSFW        bool            `json:"nsfw"`
}

const createsADay = 200

func getCommands(c *call) reply {
	s := c.s
	s.lock()
	defer s.mu.Unlock()
	guild, no := c.commandGuild()
	if no != nil {
		return *no
	}
	return ok(s.commandsJSON(guild))
}

func (s *Server) commandsJSON(guild string) []*command {
	if s.commands[guild] == nil {
		return []*command{}
	}
	return s.commands[guild]
}

func (c *call) commandGuild() (string, *reply) {
	id := c.params["guild_id"]
	if id != "" && c.s.guilds[id] == nil {
		return "", &errMissingAccess
	}
	return id, nil
}

// putCommands replaces all commands of a server, or the global ones. A name
// that was there keeps its id, and its version when nothing changed.
func putCommands(c *call) reply {
	s := c.s
	if refused := s.check(c, formCommands, callContext{}); refused != nil {
		return *refused
	}
	var in []command
	if err := json.Unmarshal(c.raw, &in); err != nil {
		return invalidForm([]problem{{code: "MODEL_TYPE_CONVERT", message: err.Error()}})
	}
	s.lock()
	defer s.mu.Unlock()
	guild, no := c.commandGuild()
	if no != nil {
		return *no
	}
	old := s.commands[guild]
	now := s.now()
	creates := since(s.creates[guild], now.Add(-24*time.Hour))
	list := make([]*command, len(in))
	for i := range in {
		cmd := in[i]
		cmd.Application, cmd.GuildID = s.app.ID, guild
		cmd.Type = orDefault(cmd.Type, 1)
		cmd.ID, cmd.Version = s.newID(), s.newID()
		cmd.Options = stripEmpty(cmd.Options)
		j := slices.IndexFunc(old, func(o *command) bool { return o.Name == cmd.Name && o.Type == cmd.Type })
		if j < 0 {
			creates = append(creates, now)
		} else {
			cmd.ID = old[j].ID
			same := cmd
			same.Version = old[j].Version
			a, _ := json.Marshal(same)
			b, _ := json.Marshal(old[j])
			if string(a) == string(b) {
				cmd.Version = old[j].Version
			}
		}
		list[i] = &cmd
	}
	if len(creates) > createsADay {
		return errTooManyCommands
	}
	s.creates[guild] = creates
	s.commands[guild] = list
	return ok(list)
}

// stripEmpty leaves out of options what Discord does not send back: null,
// false and empty lists.
func stripEmpty(raw json.RawMessage) json.RawMessage {
	var v any
	if len(raw) == 0 || json.Unmarshal(raw, &v) != nil {
		return nil
	}
	list, _ := v.([]any)
	if len(list) == 0 {
		return nil
	}
	var strip func(any)
	strip = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, e := range v {
				strip(e)
			}
		case map[string]any:
			for k, e := range v {
				l, isList := e.([]any)
				if e == nil || e == false || isList && len(l) == 0 {
					delete(v, k)
					continue
				}
				strip(e)
			}
		}
	}
	strip(v)
	out, _ := json.Marshal(v)
	return out
}

// Registered are the names of the commands of a server, or the global ones if
// g is nil, in the order in which the bot sent them.
func (s *Server) Registered(g *Guild) []string {
	s.lock()
	defer s.mu.Unlock()
	id := ""
	if g != nil {
		id = g.ID
	}
	names := []string{}
	for _, c := range s.commands[id] {
		names = append(names, c.Name)
	}
	return names
}

// find is the command that a member of the server sees by that name.
func (s *Server) find(g *Guild, name string) *command {
	scopes := []string{""}
	if g != nil {
		scopes = []string{g.ID, ""}
	}
	for _, id := range scopes {
		for _, c := range s.commands[id] {
			if c.Name == name {
				return c
			}
		}
	}
	return nil
}
