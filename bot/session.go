package bot

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

// newSession is a discordgo session that does nothing by itself: no reconnects,
// no repeats, no cache of the world, no intents, no logging of what passes.
func newSession(cfg Config, rd *road) (*discordgo.Session, error) {
	s, err := discordgo.New("Bot " + cfg.Token)
	if err != nil {
		return nil, err
	}
	s.Client = &http.Client{Transport: rd, Timeout: 20 * time.Second}
	s.ShouldReconnectOnError = false
	s.ShouldReconnectVoiceOnSessionError = false
	s.ShouldRetryOnRateLimit = false
	s.MaxRestRetries = 0
	s.StateEnabled = false
	s.Compress = false     // so that the line can read along
	s.Identify.Intents = 0 // interactions need none
	s.LogLevel = -1        // its lines carry addresses with tokens, and payloads
	s.SyncEvents = true    // our handlers only take note; bare goroutines are not for us
	s.ShardID, s.ShardCount = cfg.Shard, max(1, cfg.ShardCount)
	return s, nil
}

// gateway is one discordgo session over its connections. It can resume as long
// as it is not abandoned.
type gateway struct {
	session *discordgo.Session
	line    *line
	pace    pace
	alive   chan string   // READY or RESUMED came
	down    chan struct{} // the session says that it is disconnected
	readies atomic.Int64  // READYs since the beginning, one IDENTIFY each
}

func newGateway(cfg Config, rd *road, d *desk) (*gateway, error) {
	s, err := newSession(cfg, rd)
	if err != nil {
		return nil, err
	}
	g := &gateway{session: s, line: &line{blind: cfg.blind}, pace: cfg.pace, alive: make(chan string, 1), down: make(chan struct{}, 1)}
	s.Dialer = g.line.dialer(nil)
	// Called with the session's lock held while it opens: take note and return.
	s.AddHandler(func(_ *discordgo.Session, _ *discordgo.Ready) {
		g.readies.Add(1)
		note(g.alive, "identify")
	})
	s.AddHandler(func(_ *discordgo.Session, _ *discordgo.Resumed) { note(g.alive, "resume") })
	s.AddHandler(func(_ *discordgo.Session, _ *discordgo.Disconnect) { note(g.down, struct{}{}) })
	s.AddHandler(func(_ *discordgo.Session, e *discordgo.Event) {
		if e.Type != "INTERACTION_CREATE" {
			return
		}
		defer func() {
			if p := recover(); p != nil {
				cfg.Log.Error("an interaction could not be taken", "panic", p, "stack", string(debug.Stack()))
			}
		}()
		d.take(e.RawData, nil)
	})
	return g, nil
}

// note leaves a value without waiting; one that is still there will do.
func note[T any](c chan T, v T) {
	select {
	case c <- v:
	default:
	}
}

// ending is how a connection ended.
type ending uint8

const (
	ended   ending = iota // ctx is done, the session is closed
	dropped               // the session can resume, where it ever was ready
	spoiled               // it would fail again: begin anew
	stuck                 // it hangs and was abandoned
)

// connect opens a connection; it gives up on one that hangs. up says that it
// is open and wants to be watched.
func (g *gateway) connect(ctx context.Context) (up bool, how ending, err error) {
	empty(g.alive)
	empty(g.down)
	g.line.begin()
	opened := make(chan error, 1)
	go func() { opened <- g.open() }()
	limit := time.NewTimer(g.pace.open)
	defer limit.Stop()
	poll := time.NewTicker(g.tick())
	defer poll.Stop()
	began := time.Now()
	for {
		select {
		case err := <-opened:
			if err == nil {
				return true, dropped, nil
			}
			_, demand := g.line.seen()
			if demand != nil {
				err = demand
			}
			var closed *websocket.CloseError
			if errors.As(err, &closed) && closed.Code >= 4000 || errors.Is(err, errInvalid) {
				return false, spoiled, err
			}
			return false, dropped, err
		case <-ctx.Done():
			g.line.cut()
			if !g.gone(opened) {
				return false, stuck, nil
			}
			return false, ended, nil
		case <-poll.C:
			// HELLO came, but nothing after it for 1.5 intervals.
			if beat, _ := g.line.seen(); beat == 0 || time.Since(began) < beat+beat/2 {
				continue
			}
		case <-limit.C:
		}
		g.line.cut()
		if g.gone(opened) {
			return false, dropped, errSilent
		}
		return false, stuck, errSilent
	}
}

// open is the library's Open, which trips over packets that are JSON but no
// packets.
func (g *gateway) open() (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("opening the gateway: panic: %v", p)
		}
	}()
	return g.session.Open()
}

// gone waits a little for an Open whose line was cut. One that still does not
// return waits for its own lock, and will for ever.
func (g *gateway) gone(opened chan error) bool {
	select {
	case err := <-opened:
		if err == nil { // it had just succeeded
			g.close(websocket.CloseServiceRestart)
		}
		return true
	case <-time.After(g.pace.gone):
		return false
	}
}

// watch stays with an open connection until it ends.
func (g *gateway) watch(ctx context.Context, up func(how string)) (ending, error) {
	beat := g.heartbeat()
	first := time.NewTimer(g.pace.ready)
	defer first.Stop()
	poll := time.NewTicker(g.tick())
	defer poll.Stop()
	var lockedSince time.Time
	for {
		select {
		case <-ctx.Done():
			if !g.close(websocket.CloseNormalClosure) {
				return stuck, nil
			}
			return ended, nil
		case how := <-g.alive:
			first.Stop()
			up(how)
		case <-g.down:
			if _, demand := g.line.seen(); demand != nil {
				if errors.Is(demand, errInvalid) {
					return spoiled, demand
				}
				return dropped, demand
			}
			return dropped, g.line.closed()
		case <-first.C:
			if !g.close(websocket.CloseServiceRestart) {
				return stuck, errNotReady
			}
			return spoiled, errNotReady
		case <-poll.C:
			if !g.session.TryRLock() {
				if lockedSince.IsZero() {
					lockedSince = time.Now()
				} else if time.Since(lockedSince) > g.pace.locked {
					g.line.cut()
					return stuck, errSilent
				}
				continue
			}
			ack := g.session.LastHeartbeatAck
			g.session.RUnlock()
			lockedSince = time.Time{}
			if time.Since(ack) > beat+beat/2 {
				// 1012 keeps the session for a resume; 1000 would end it.
				if !g.close(websocket.CloseServiceRestart) {
					return stuck, errSilent
				}
				return dropped, errSilent
			}
		}
	}
}

// close ends the connection with a code, unless the session hangs; then the line
// is cut.
func (g *gateway) close(code int) bool {
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = g.session.CloseWithCode(code)
	}()
	select { // it sleeps for 1 s under its lock
	case <-done:
		return true
	case <-time.After(time.Second + g.pace.gone):
		g.line.cut()
		return false
	}
}

// identifies is how many IDENTIFYs this session has cost: every READY was one,
// and so is what a new session sends straight after HELLO.
func (g *gateway) identifies() int64 {
	n := g.readies.Load()
	if beat, _ := g.line.seen(); n == 0 && beat > 0 {
		return 1
	}
	return n
}

// heartbeat is the interval that HELLO asked for, or what is usual.
func (g *gateway) heartbeat() time.Duration {
	if beat, _ := g.line.seen(); beat > 0 {
		return beat
	}
	return g.pace.heartbeat
}

// tick is how often to look at a session: often enough to notice silence in
// time.
func (g *gateway) tick() time.Duration {
	return min(time.Second, max(5*time.Millisecond, g.heartbeat()/20))
}

func empty[T any](c chan T) {
	select {
	case <-c:
	default:
	}
}
