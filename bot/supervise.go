package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"time"

	"github.com/gorilla/websocket"
)

var (
	errSilent   = errors.New("the gateway fell silent")
	errNotReady = errors.New("the gateway took the connection but never said ready")
)

// supervise keeps one gateway session connected until ctx ends or a reason comes
// up that trying again cannot mend.
func supervise(ctx context.Context, cfg Config, r *rest, d *desk, m *metrics, h *health) error {
	var (
		bud   = budget{limit: cfg.pace.identifies}
		g     *gateway
		fails int
		paid  int64 // IDENTIFYs of g in the budget
	)
	for {
		if g == nil {
			if err := afford(ctx, cfg, r, &bud); err != nil {
				return stopped(ctx, err)
			}
			fresh, err := newGateway(cfg, r.road, d)
			if err != nil {
				return err
			}
			g, paid = fresh, 0
		}
		began := time.Now()
		up, how, err := g.connect(ctx)
		if up {
			how, err = g.watch(ctx, func(way string) {
				m.connects.WithLabelValues(way).Inc()
				h.ready(true)
				cfg.Log.InfoContext(ctx, "connected to the gateway", "how", way, "shard", cfg.Shard)
			})
		} else if how != ended {
			m.connects.WithLabelValues("failed").Inc()
		}
		h.ready(false)
		for ; paid < g.identifies(); paid++ {
			bud.spend(cfg.Now())
		}
		if ctx.Err() != nil {
			if how == dropped && up {
				g.close(websocket.CloseNormalClosure)
			}
			return nil
		}
		if fatal := fatalClose(err); fatal != nil {
			return fatal
		}
		if how == stuck {
			m.abandoned.Inc()
		}
		if how == stuck || how == spoiled || g.readies.Load() == 0 {
			g = nil
		}
		if time.Since(began) > cfg.pace.stable {
			fails = 0
		}
		wait := backoff(cfg.pace, fails, rand.Float64()) //nolint:gosec // spreads bots out, no secret
		fails++
		cfg.Log.WarnContext(ctx, "the gateway connection ended", "why", why(err), "again_in", wait.Round(time.Millisecond).String(), "resume", g != nil)
		if sleep(ctx, wait) != nil {
			return nil
		}
	}
}

// backoff is the wait before the next try: doubled with each failure, and spread
// so that many bots do not come back at once. spread is in [0, 1).
func backoff(p pace, fails int, spread float64) time.Duration {
	full := p.backMax
	if fails < 30 {
		full = min(p.backMax, p.backMin<<fails)
	}
	return full/2 + time.Duration(spread*float64(full/2))
}

// afford waits until an IDENTIFY is in the budget.
func afford(ctx context.Context, cfg Config, r *rest, b *budget) error {
	for {
		out, err := r.steady(ctx, http.MethodGet, "/gateway/bot", nil)
		var fatal *Fatal
		switch {
		case errors.As(err, &fatal) || ctx.Err() != nil:
			return err
		case err != nil: // our own count still holds
			cfg.Log.WarnContext(ctx, "Discord does not say how many IDENTIFYs are left", "error", err)
		default:
			var answer struct {
				Shards int `json:"shards"`
				Limit  *struct {
					Remaining  int `json:"remaining"`
					ResetAfter int `json:"reset_after"` // ms
				} `json:"session_start_limit"`
			}
			if json.Unmarshal(out, &answer) == nil && answer.Limit != nil {
				b.heard(answer.Limit.Remaining, time.Duration(answer.Limit.ResetAfter)*time.Millisecond, cfg.Now())
			}
			if answer.Shards > max(1, cfg.ShardCount) {
				cfg.Log.WarnContext(ctx, "Discord recommends more shards", "recommended", answer.Shards, "configured", max(1, cfg.ShardCount))
			}
		}
		hold := b.wait(cfg.Now())
		if hold <= 0 {
			return nil
		}
		cfg.Log.ErrorContext(ctx, "the day's IDENTIFYs are used up; holding back so that the token is not reset", "for", hold.Round(time.Second).String())
		if err := sleep(ctx, min(hold, 10*time.Minute)); err != nil {
			return err
		}
	}
}

// fatalClose says what to fix where Discord closed for a reason that stays.
func fatalClose(err error) *Fatal {
	var closed *websocket.CloseError
	if !errors.As(err, &closed) {
		return nil
	}
	switch closed.Code {
	case 4004:
		return &Fatal{ExitToken, "Discord does not accept the bot token (4004): copy it again from the application's Bot page, or reset it there"}
	case 4010:
		return &Fatal{ExitShard, "Discord does not accept the shard (4010): the shard id must be below the shard count"}
	case 4011:
		return &Fatal{ExitShard, "the bot is in too many servers for this many shards (4011): raise the shard count"}
	case 4012:
		return &Fatal{ExitVersion, "Discord no longer speaks this gateway version (4012): update the program"}
	case 4013, 4014:
		return &Fatal{ExitIntents, fmt.Sprintf("Discord does not grant the intents asked for (%d): this program asks for none, so update it", closed.Code)}
	}
	return nil
}

// why is an error in words that carry no address.
func why(err error) string {
	var closed *websocket.CloseError
	switch {
	case err == nil:
		return "disconnected"
	case errors.As(err, &closed):
		return fmt.Sprintf("close code %d", closed.Code)
	}
	for _, ours := range []error{errSilent, errNotReady, errReconnect, errResumable, errInvalid} {
		if errors.Is(err, ours) {
			return ours.Error()
		}
	}
	if f := explain(err); f.status != 0 {
		return f.Error()
	}
	return "the connection was lost or never came about"
}
