package bot

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"shimwright/commands"
)

// ErrNoAccess says that the bot may not post in a channel, or that the channel is
// gone. It needs View Channel, Send Messages (in a thread: Send Messages in
// Threads) and Attach Files. Posting again before someone has mended that only
// counts against the address.
var ErrNoAccess = errors.New("the bot may not post in that channel: it needs View Channel, Send Messages or Send Messages in Threads, and Attach Files")

// Poster writes messages to channels of the bot's own accord.
type Poster struct {
	cfg  Config
	rest *rest
}

// NewPoster makes a Poster of its own connection; Close ends it.
func NewPoster(cfg Config) (*Poster, error) {
	cfg, err := cfg.filled()
	if err != nil {
		return nil, err
	}
	r, err := newREST(cfg)
	if err != nil {
		return nil, err
	}
	return &Poster{cfg: cfg, rest: r}, nil
}

// Close ends the connection.
func (p *Poster) Close() { p.rest.close() }

// Post writes a reply to a channel. key names the post, in at most 25 characters:
// the same key posts once, however often it is tried within some minutes.
func (p *Poster) Post(ctx context.Context, channel, key string, reply commands.Reply) error {
	if key == "" || len(key) > 25 {
		return fmt.Errorf("a post's key has 1 to 25 characters, not %d", len(key))
	}
	r := render(reply, p.cfg.Draw, p.cfg.Log)
	parts := []message{r.first}
	for _, text := range r.rest {
		parts = append(parts, plain(text, false))
	}
	l := newLane()
	for i, m := range parts {
		m.Flags = 0 // nothing is private in a channel
		nonce := key
		if i > 0 {
			nonce = fmt.Sprintf("%s+%d", key[:min(len(key), 22)], i)
		}
		if err := p.send(ctx, l, channel, posted{message: m, Nonce: nonce, Enforce: true}); err != nil {
			return err
		}
	}
	return nil
}

// posted is a message with a key against doubling.
type posted struct {
	message
	Nonce   string `json:"nonce"`
	Enforce bool   `json:"enforce_nonce"`
}

// send may repeat a post, since its nonce keeps it single.
func (p *Poster) send(ctx context.Context, l *lane, channel string, m posted) error {
	contentType, body, err := encode(m, m.files)
	if err != nil {
		return err
	}
	for try := 0; ; try++ {
		_, err := p.rest.do(ctx, l, http.MethodPost, "/channels/"+channel+"/messages", contentType, body)
		if err == nil {
			return nil
		}
		f := explain(err)
		switch {
		case f.status == http.StatusForbidden || f.status == http.StatusNotFound:
			return fmt.Errorf("%w (%w)", ErrNoAccess, f)
		case f.lasting() || try == 5 || ctx.Err() != nil:
			return f
		}
		if err := sleep(ctx, max(f.retry, 100*time.Millisecond<<try)); err != nil {
			return err
		}
	}
}
