package fakediscord

import (
	"slices"
	"strconv"
)

// Permission bits that matter here.
const (
	PermissionAdministrator  uint64 = 1 << 3
	PermissionViewChannel    uint64 = 1 << 10
	PermissionSendMessages   uint64 = 1 << 11
	PermissionEmbedLinks     uint64 = 1 << 14
	PermissionAttachFiles    uint64 = 1 << 15
	PermissionUseCommands    uint64 = 1 << 31
	PermissionSendInThreads  uint64 = 1 << 38
	permissionsOfOrdinaryBot        = PermissionViewChannel | PermissionSendMessages | PermissionEmbedLinks |
		PermissionAttachFiles | PermissionUseCommands | PermissionSendInThreads
	permissionsOfEveryone = PermissionViewChannel | PermissionSendMessages | PermissionUseCommands
)

// Channel types.
const (
	ChannelText         = 0
	ChannelDM           = 1
	ChannelAnnouncement = 5
	ChannelThread       = 11
	ChannelForum        = 15
)

// User is a person, or the bot.
type User struct {
	ID, Name, DisplayName string

	bot bool
	dm  *Channel
}

// Role is a role of one server; the one whose ID is the server's is @everyone.
type Role struct {
	ID, Name    string
	Permissions uint64
}

// Channel is a place to type in. Guild is nil for direct messages.
type Channel struct {
	ID, Name string
	Type     int
	Guild    *Guild

	recipient *User
	parent    *Channel // of a thread
	bot       uint64   // what the bot may do here
	gone      bool
}

// Guild is a Discord server.
type Guild struct {
	ID, Name string

	s        *Server
	roles    []*Role
	channels []*Channel
	members  map[string][]*Role
}

// AddUser makes a person.
func (s *Server) AddUser(name string) *User {
	s.lock()
	defer s.mu.Unlock()
	u := &User{ID: s.newID(), Name: name, DisplayName: name}
	s.users[u.ID] = u
	return u
}

// AddGuild makes a server with its @everyone role. The bot is in it.
func (s *Server) AddGuild(name string) *Guild {
	s.lock()
	defer s.mu.Unlock()
	g := &Guild{ID: s.newID(), Name: name, s: s, members: map[string][]*Role{}}
	g.roles = []*Role{{ID: g.ID, Name: "@everyone", Permissions: permissionsOfEveryone}}
	s.guilds[g.ID] = g
	s.guildOrder = append(s.guildOrder, g)
	return g
}

// DM is the channel of direct messages between a user and the bot.
func (s *Server) DM(u *User) *Channel {
	s.lock()
	defer s.mu.Unlock()
	if u.dm == nil {
		u.dm = &Channel{ID: s.newID(), Type: ChannelDM, recipient: u, bot: permissionsOfOrdinaryBot}
		s.channels[u.dm.ID] = u.dm
	}
	return u.dm
}

// AddChannel makes a channel of one of the Channel types, in which the bot may
// see, write and attach files.
func (g *Guild) AddChannel(name string, kind int) *Channel {
	g.s.lock()
	defer g.s.mu.Unlock()
	return g.addChannel(name, kind)
}

func (g *Guild) addChannel(name string, kind int) *Channel {
	c := &Channel{ID: g.s.newID(), Name: name, Type: kind, Guild: g, bot: permissionsOfOrdinaryBot}
	if kind == ChannelThread {
		for _, p := range g.channels {
			if p.Type != ChannelThread {
				c.parent = p
			}
		}
		if c.parent == nil {
			c.parent = g.addChannel(name, ChannelText)
		}
	}
	g.channels = append(g.channels, c)
	g.s.channels[c.ID] = c
	return c
}

// Channel is the text channel of that name, made when there is none.
func (g *Guild) Channel(name string) *Channel {
	g.s.lock()
	defer g.s.mu.Unlock()
	for _, c := range g.channels {
		if c.Name == name {
			return c
		}
	}
	return g.addChannel(name, ChannelText)
}

// RestrictBot leaves the bot only these permissions in the channel.
func (g *Guild) RestrictBot(c *Channel, permissions uint64) {
	g.s.lock()
	defer g.s.mu.Unlock()
	c.bot = permissions
}

// RemoveChannel deletes the channel: the bot then gets 404.
func (g *Guild) RemoveChannel(c *Channel) {
	g.s.lock()
	defer g.s.mu.Unlock()
	c.gone = true
}

// AddRole makes a role with these permission bits.
func (g *Guild) AddRole(name string, permissions uint64) *Role {
	g.s.lock()
	defer g.s.mu.Unlock()
	r := &Role{ID: g.s.newID(), Name: name, Permissions: permissions}
	g.roles = append(g.roles, r)
	return r
}

// Everyone is the role that every member has; its id is the server's.
func (g *Guild) Everyone() *Role { return g.roles[0] }

// Join makes a user a member with exactly these roles; again, to change them.
func (g *Guild) Join(u *User, roles ...*Role) {
	g.s.lock()
	defer g.s.mu.Unlock()
	g.members[u.ID] = slices.Clone(roles)
}

// Rename gives the server another name. Without intents the gateway does not
// tell the bot.
func (g *Guild) Rename(name string) {
	g.s.lock()
	defer g.s.mu.Unlock()
	g.Name = name
}

// permissions are a member's bits over the whole server.
func (g *Guild) permissions(u *User) uint64 {
	p := g.roles[0].Permissions
	for _, r := range g.members[u.ID] {
		p |= r.Permissions
	}
	return p
}

// The forms below are what Discord sends.

type userJSON struct {
	ID            string  `json:"id"`
	Username      string  `json:"username"`
	Discriminator string  `json:"discriminator"`
	GlobalName    *string `json:"global_name"`
	Avatar        *string `json:"avatar"`
	Bot           bool    `json:"bot,omitempty"`
	PublicFlags   int     `json:"public_flags"`
	Flags         int     `json:"flags"`
	PrimaryGuild  *string `json:"primary_guild"`
}

func (u *User) json() userJSON {
	j := userJSON{ID: u.ID, Username: u.Name, Discriminator: "0", Bot: u.bot}
	if u.DisplayName != "" {
		j.GlobalName = &u.DisplayName
	}
	return j
}

type memberJSON struct {
	User        *userJSON `json:"user,omitempty"`
	Nick        *string   `json:"nick"`
	Avatar      *string   `json:"avatar"`
	Roles       []string  `json:"roles"`
	JoinedAt    string    `json:"joined_at"`
	Deaf        *bool     `json:"deaf,omitempty"`
	Mute        *bool     `json:"mute,omitempty"`
	Flags       int       `json:"flags"`
	Pending     bool      `json:"pending"`
	Permissions string    `json:"permissions"`
}

func (g *Guild) memberJSON(u *User) *memberJSON {
	user, no := u.json(), false
	m := &memberJSON{
		User: &user, Roles: []string{}, JoinedAt: "2025-09-01T17:00:00.000000+00:00",
		Deaf: &no, Mute: &no, Permissions: bits(g.permissions(u)),
	}
	for _, r := range g.members[u.ID] {
		m.Roles = append(m.Roles, r.ID)
	}
	return m
}

type roleColorsJSON struct {
	Primary   int  `json:"primary_color"`
	Secondary *int `json:"secondary_color"`
	Tertiary  *int `json:"tertiary_color"`
}

type roleJSON struct {
	ID           string         `json:"id"`
	Name         string         `json:"name"`
	Color        int            `json:"color"`
	Colors       roleColorsJSON `json:"colors"`
	Hoist        bool           `json:"hoist"`
	Icon         *string        `json:"icon"`
	UnicodeEmoji *string        `json:"unicode_emoji"`
	Position     int            `json:"position"`
	Permissions  string         `json:"permissions"`
	Managed      bool           `json:"managed"`
	Mentionable  bool           `json:"mentionable"`
	Flags        int            `json:"flags"`
}

func (r *Role) json() roleJSON {
	return roleJSON{ID: r.ID, Name: r.Name, Permissions: bits(r.Permissions)}
}

// json is the server as GET /guilds/{id} shows it to a bot that is in it.
func (g *Guild) json() map[string]any {
	roles := []roleJSON{}
	for _, r := range g.roles {
		roles = append(roles, r.json())
	}
	j := map[string]any{
		"id": g.ID, "name": g.Name, "owner_id": g.s.app.ID, "roles": roles, "region": "deprecated",
		"features": []string{}, "emojis": []any{}, "stickers": []any{}, "preferred_locale": "en-US",
		"afk_timeout": 300, "system_channel_flags": 0, "widget_enabled": false, "verification_level": 1,
		"default_message_notifications": 1, "mfa_level": 0, "explicit_content_filter": 0, "max_members": 500000,
		"max_video_channel_users": 25, "max_stage_video_channel_users": 50, "premium_tier": 0,
		"premium_subscription_count": 0, "premium_progress_bar_enabled": false, "nsfw": false, "nsfw_level": 0,
	}
	for _, none := range []string{
		"icon", "description", "home_header", "splash", "discovery_splash", "banner", "application_id",
		"afk_channel_id", "system_channel_id", "widget_channel_id", "max_presences", "vanity_url_code",
		"rules_channel_id", "safety_alerts_channel_id", "public_updates_channel_id", "incidents_data",
	} {
		j[none] = nil
	}
	return j
}

type threadJSON struct {
	Archived            bool   `json:"archived"`
	AutoArchiveDuration int    `json:"auto_archive_duration"`
	ArchiveTimestamp    string `json:"archive_timestamp"`
	Locked              bool   `json:"locked"`
}

type channelJSON struct {
	ID          string      `json:"id"`
	Type        int         `json:"type"`
	Name        string      `json:"name,omitempty"`
	GuildID     string      `json:"guild_id,omitempty"`
	ParentID    string      `json:"parent_id,omitempty"`
	Permissions string      `json:"permissions,omitempty"`
	Thread      *threadJSON `json:"thread_metadata,omitempty"`
}

// json is the channel as an interaction names where it came from.
func (c *Channel) json() channelJSON {
	j := channelJSON{ID: c.ID, Type: c.Type, Name: c.Name}
	if c.Guild != nil {
		j.GuildID = c.Guild.ID
	}
	return j
}

// resolved is the channel as the value of an option, with the caller's rights.
func (c *Channel) resolved(permissions uint64) channelJSON {
	j := channelJSON{ID: c.ID, Type: c.Type, Name: c.Name, Permissions: bits(permissions)}
	if c.Type == ChannelThread {
		j.ParentID = c.parent.ID
		j.Thread = &threadJSON{AutoArchiveDuration: 1440, ArchiveTimestamp: "2025-09-01T17:00:00.000000+00:00"}
	}
	return j
}

func bits(p uint64) string { return strconv.FormatUint(p, 10) }
