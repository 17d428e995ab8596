package main

import (
	"context"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/bot"
	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// Where the bot may not post, or the channel is gone, the digest pauses after one
// try and the board says so; asked for again, it is sent again.
func TestDigestPausesWhereItMayNotPost(t *testing.T) {
	t.Parallel()
	for name, bar := range map[string]func(*fakediscord.Guild, *fakediscord.Channel){
		"forbidden": func(g *fakediscord.Guild, c *fakediscord.Channel) {
			g.RestrictBot(c, fakediscord.PermissionViewChannel)
		},
		"gone": func(g *fakediscord.Guild, c *fakediscord.Channel) { g.RemoveChannel(c) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := &fakediscord.Server{}
			if err := s.Start(); err != nil {
				t.Fatal(err)
			}
			t.Cleanup(s.Close)
			hall := s.AddGuild("Evening class")
			notices := hall.Channel("notices")
			app := openTest(t, filepath.Join(t.TempDir(), "class.db"))
			post, err := bot.NewPoster(bot.Config{Token: "any", API: s.URL(), Log: slog.New(slog.DiscardHandler)})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(post.Close)
			say := func(line string) string {
				who := commands.Caller{Platform: "discord", ShopKey: hall.ID, MemberKey: "ines", MemberName: "Ines", Admin: true, At: evening}
				r, err := ask1(app, who, line)
				if err != nil {
					t.Fatalf("%s: %v", line, err)
				}
				return r.Text
			}
			tuesday := func(week int) {
				now := time.Date(2031, 3, 4+7*week, 20, 45, 0, 0, time.UTC)
				jobs{app, "discord", post, func() time.Time { return now }, slog.New(slog.DiscardHandler)}.once(context.Background())
			}
			tries := func() int { return s.Requests(fakediscord.RouteChannelMessages) }

			say(`/class settings review:` + notices.ID + ` hours:"Tue 18:00-21:00" digest:yes`)
			if tuesday(0); len(s.Messages(notices)) != 1 || strings.Contains(say("/class board"), "paused") {
				t.Fatalf("the first digest: %+v", s.Messages(notices))
			}
			bar(hall, notices)
			tuesday(1)
			tuesday(2)
			if got := say("/class board"); tries() != 2 || !strings.Contains(got, "The digest is paused: I may not post in the review channel.") {
				t.Errorf("%d tries, want 2; the board says\n%s", tries(), got)
			}
			if got := say("/class settings"); !strings.Contains(got, "The digest is paused") {
				t.Errorf("the settings do not say so:\n%s", got)
			}
			if got := say("/class settings digest:yes"); strings.Contains(got, "paused") {
				t.Errorf("asked for again, it stays paused:\n%s", got)
			}
			if tuesday(3); tries() != 3 {
				t.Errorf("%d tries, want a third after it was asked for again", tries())
			}
			other := hall.Channel("other")
			say(`/class settings review:` + other.ID)
			if tuesday(4); len(s.Messages(other)) != 1 || strings.Contains(say("/class board"), "paused") {
				t.Errorf("in another channel: %+v", s.Messages(other))
			}
			for _, v := range s.Violations() {
				t.Errorf("Discord would refuse: %v", v)
			}
		})
	}
}
