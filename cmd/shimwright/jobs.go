package main

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"shimwright/bot"
	"shimwright/commands"
)

// poster writes to a channel of the chat; *bot.Poster is one.
type poster interface {
	Post(ctx context.Context, channel, key string, reply commands.Reply) error
}

// jobs is the work that nobody asks for.
type jobs struct {
	app      *commands.App
	platform string
	post     poster
	now      func() time.Time
	log      *slog.Logger
}

// dueEvery is how often due work is looked for.
const dueEvery = time.Minute

// run looks for due work at once and at each tick, until ctx ends.
func (j jobs) run(ctx context.Context, tick <-chan time.Time) {
	for {
		j.once(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick:
		}
	}
}

// once does what is due. Posts are claimed already, so that one which cannot be
// sent is logged and not tried again; where the bot may not post at all, the
// shop's instructors are told and the next are not tried either.
func (j jobs) once(ctx context.Context) {
	posts, err := j.app.Due(ctx, j.platform, j.now())
	if err != nil && ctx.Err() == nil {
		j.log.Error("due work failed", "error", err)
	}
	for _, p := range posts {
		if err := j.post.Post(ctx, p.Channel, p.Key, commands.Reply{Text: p.Text}); err != nil {
			j.log.Error("a post could not be sent", "server", p.ShopKey, "channel", p.Channel, "post", p.Key, "error", err)
			if !errors.Is(err, bot.ErrNoAccess) {
				continue
			}
			if err := j.app.PostRefused(ctx, j.platform, p, j.now()); err != nil {
				j.log.Error("a refused post could not be noted", "server", p.ShopKey, "error", err)
			}
		}
	}
}
