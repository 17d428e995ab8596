package bot

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"
)

// line is the network connection under a gateway session. The library keeps the
// heartbeat interval to itself, deadlocks when it is asked to reconnect at the
// wrong moment, and identifies without counting when its session is invalid. So
// the line reads along: it notes the interval, and ends the connection itself on
// either demand, before the library sees it. It can also be cut from outside.
type line struct {
	mu       sync.Mutex
	conn     net.Conn
	blind    bool          // a proxy is between: nothing can be read along
	interval time.Duration // of the latest HELLO; 0: not seen
	demand   error         // why the line ended the connection; nil: it did not
	code     int           // of the close frame that the server sent; 0: none
}

// Demands of the gateway that the line carries out.
var (
	errReconnect = errors.New("the gateway asked to reconnect")
	errResumable = errors.New("the gateway does not take the session just now")
	errInvalid   = errors.New("the gateway does not know the session any more")
)

// dialer makes connections that the line reads along.
func (l *line) dialer(cfg *tls.Config) *websocket.Dialer {
	d := &websocket.Dialer{
		HandshakeTimeout: 10 * time.Second,
		Proxy:            http.ProxyFromEnvironment,
		NetDialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
			return l.dial(ctx, network, addr, nil)
		},
	}
	probe := &http.Request{URL: &url.URL{Scheme: "https", Host: "gateway.discord.gg"}}
	if proxy, err := http.ProxyFromEnvironment(probe); err != nil || proxy != nil {
		l.blind = true
	}
	if !l.blind {
		if cfg == nil {
			cfg = &tls.Config{MinVersion: tls.VersionTLS12}
		}
		d.NetDialTLSContext = func(ctx context.Context, network, addr string) (net.Conn, error) {
			return l.dial(ctx, network, addr, cfg)
		}
	}
	return d
}

func (l *line) dial(ctx context.Context, network, addr string, cfg *tls.Config) (net.Conn, error) {
	var under net.Dialer
	conn, err := under.DialContext(ctx, network, addr)
	if err != nil {
		return nil, err
	}
	if cfg != nil {
		host, _, err := net.SplitHostPort(addr)
		if err != nil {
			_ = conn.Close()
			return nil, err
		}
		cfg = cfg.Clone()
		cfg.ServerName = host
		secure := tls.Client(conn, cfg)
		if err := secure.HandshakeContext(ctx); err != nil {
			_ = conn.Close()
			return nil, err
		}
		conn = secure
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn = conn
	if l.blind {
		return conn, nil
	}
	return &tapped{Conn: conn, line: l}, nil
}

// begin forgets what the last connection showed.
func (l *line) begin() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn, l.interval, l.demand, l.code = nil, 0, nil, 0
}

// cut ends the connection without a word, which ends whatever waits on it.
func (l *line) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.conn != nil {
		_ = l.conn.Close()
	}
}

// seen is the interval of this connection's HELLO, 0 before it came, and the
// demand that ended the connection.
func (l *line) seen() (interval time.Duration, demand error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.interval, l.demand
}

// closed is the code with which the server closed this connection, as an error;
// nil where it has not.
func (l *line) closed() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.code == 0 {
		return nil
	}
	return &websocket.CloseError{Code: l.code}
}

// tapped passes on what it reads, up to a demand.
type tapped struct {
	net.Conn
	line   *line
	frames frames
	over   error
	mute   atomic.Bool // the server has closed: what follows would be a close frame of 1000
}

// Write refuses once the server has closed. The library answers every close with
// 1000, which says that the session is over for us too.
func (t *tapped) Write(p []byte) (int, error) {
	if t.mute.Load() {
		_ = t.Conn.Close()
		return 0, net.ErrClosed
	}
	return t.Conn.Write(p)
}

func (t *tapped) Read(p []byte) (int, error) {
	if t.over != nil {
		return 0, t.over
	}
	n, err := t.Conn.Read(p)
	upTo, demand := t.frames.feed(p[:n])
	t.line.mu.Lock()
	defer t.line.mu.Unlock()
	t.line.interval = t.frames.interval
	t.mute.Store(t.frames.closed)
	t.line.code = t.frames.code
	if demand != nil {
		t.line.demand, t.over = demand, demand
		_ = t.Conn.Close() // a close frame would end the session
		if upTo == 0 {
			return 0, demand
		}
		return upTo, nil
	}
	return n, err
}
