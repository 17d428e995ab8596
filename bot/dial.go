package bot

import (
	"bytes"
	"context"
	"crypto/tls"
	"net"
	"net/http"
	"regexp"
	"strconv"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// line is the network connection under a gateway session. The library keeps the
// heartbeat interval to itself and holds its lock while it hangs, so the line
// reads the interval from HELLO as it passes, and can be cut from outside.
type line struct {
	mu       sync.Mutex
	conn     net.Conn
	interval time.Duration // 0: not seen
}

// dialer makes connections that the line listens to. Through a proxy it cannot
// look inside, and the interval stays unknown.
func (l *line) dialer(cfg *tls.Config) *websocket.Dialer {
	d := &websocket.Dialer{
		HandshakeTimeout: 10 * time.Second,
		Proxy:            http.ProxyFromEnvironment,
		NetDialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
			return l.dial(ctx, network, addr, nil)
		},
	}
	if probe, err := http.NewRequest(http.MethodGet, "https://gateway.discord.gg", nil); err == nil {
		if proxy, err := http.ProxyFromEnvironment(probe); err == nil && proxy == nil {
			if cfg == nil {
				cfg = &tls.Config{MinVersion: tls.VersionTLS12}
			}
			d.NetDialTLSContext = func(ctx context.Context, network, addr string) (net.Conn, error) {
				return l.dial(ctx, network, addr, cfg)
			}
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
	l.conn = conn
	l.mu.Unlock()
	return &tapped{Conn: conn, line: l}, nil
}

// cut ends the connection without a word, which ends whatever waits on it.
func (l *line) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.conn != nil {
		_ = l.conn.Close()
	}
}

// heartbeat is the interval of the latest HELLO, or the one given.
func (l *line) heartbeat(otherwise time.Duration) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.interval > 0 {
		return l.interval
	}
	return otherwise
}

// tapped reads along until HELLO has passed.
type tapped struct {
	net.Conn
	line *line
	head []byte
	done bool
}

var helloInterval = regexp.MustCompile(`"heartbeat_interval"\s*:\s*([0-9]{1,9})\D`)

func (t *tapped) Read(p []byte) (int, error) {
	n, err := t.Conn.Read(p)
	if t.done {
		return n, err
	}
	t.head = append(t.head, p[:n]...)
	if m := helloInterval.FindSubmatch(t.head); m != nil {
		ms, _ := strconv.Atoi(string(bytes.Clone(m[1])))
		t.line.mu.Lock()
		t.line.interval = time.Duration(ms) * time.Millisecond
		t.line.mu.Unlock()
		t.done = true
	}
	if t.done || len(t.head) > 8<<10 {
		t.done, t.head = true, nil
	}
	return n, err
}
