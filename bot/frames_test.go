package bot

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/gorilla/websocket"
	"pgregory.net/rapid"
)

// textFrame is a server's frame of text, by RFC 6455, section 5.2.
func textFrame(payload string) []byte {
	b := []byte{0x81}
	switch n := len(payload); {
	case n < 126:
		b = append(b, byte(n))
	case n < 1<<16:
		b = binary.BigEndian.AppendUint16(append(b, 126), uint16(n))
	default:
		b = binary.BigEndian.AppendUint64(append(b, 127), uint64(n))
	}
	return append(b, payload...)
}

const upgrade = "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\n\r\n"

func TestFrames(t *testing.T) {
	hello := textFrame(`{"op":10,"d":{"heartbeat_interval":41250,"_trace":["x"]}}`)
	long := textFrame(`{"op":0,"d":"` + strings.Repeat(`{\"op\":7}`, 300) + `"}`)
	huge := textFrame(`{"op":7,"d":"` + strings.Repeat("x", 70000) + `"}`)
	tests := map[string]struct {
		in     [][]byte
		passes int // frames before the demand
		demand error
	}{
		"nothing to see": {[][]byte{hello, textFrame(`{"op":11}`), textFrame(`{"t":"READY","op":0,"d":{"op":7}}`)}, 3, nil},
		"reconnect":      {[][]byte{hello, textFrame(`{"t":null,"s":null,"op":7,"d":null}`), hello}, 1, errReconnect},
		"invalid":        {[][]byte{hello, long, textFrame(`{"op":9,"d":false}`)}, 2, errInvalid},
		"resumable":      {[][]byte{hello, textFrame(`{"op":9,"d":true}`)}, 1, errResumable},
		"too long":       {[][]byte{hello, long, huge}, 3, nil},
		"no JSON":        {[][]byte{hello, textFrame(`op 7`), {0x82, 1, 7}, {0x88, 2, 0x0f, 0xa0}}, 4, nil},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) { // however the bytes are cut up
				stream := []byte(upgrade)
				want := len(stream)
				for i, f := range tt.in {
					stream = append(stream, f...)
					if i < tt.passes {
						want += len(f)
					}
				}
				var f frames
				passed := 0
				for len(stream) > 0 {
					n := rapid.IntRange(1, min(len(stream), 5000)).Draw(rt, "bytes")
					upTo, demand := f.feed(stream[:n])
					passed += upTo
					if demand != nil {
						if !errors.Is(demand, tt.demand) {
							rt.Fatalf("demand %v, want %v", demand, tt.demand)
						}
						// What of that frame came earlier has passed already, and ends
						// in the middle.
						if passed < want || passed > want+64 {
							rt.Fatalf("%d bytes passed, want %d", passed, want)
						}
						return
					}
					stream = stream[n:]
				}
				if tt.demand != nil || passed != want || f.interval != 41250*time.Millisecond || f.closed != (name == "no JSON") {
					rt.Fatalf("%d bytes passed, want %d; interval %v", passed, want, f.interval)
				}
			})
		})
	}
}

// The line reads along under TLS too, as with Discord itself.
func TestLineUnderTLS(t *testing.T) {
	var up websocket.Upgrader
	server := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		c, err := up.Upgrade(w, req, nil)
		if err != nil {
			return
		}
		defer c.Close()
		_ = c.WriteMessage(websocket.TextMessage, []byte(`{"op":10,"d":{"heartbeat_interval":41250}}`))
		_ = c.WriteMessage(websocket.TextMessage, []byte(`{"op":7,"d":null}`))
		_, _, _ = c.ReadMessage()
	}))
	defer server.Close()
	roots := x509.NewCertPool()
	roots.AddCert(server.Certificate())
	l := &line{}
	d := l.dialer(&tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12})
	c, resp, err := d.DialContext(context.Background(), "wss"+strings.TrimPrefix(server.URL, "https"), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	_ = resp.Body.Close()
	if _, m, err := c.ReadMessage(); err != nil || !bytes.Contains(m, []byte("41250")) {
		t.Fatalf("%s, %v", m, err)
	}
	if _, m, err := c.ReadMessage(); !errors.Is(err, errReconnect) {
		t.Errorf("got %s, %v; want the demand", m, err)
	}
	if beat, demand := l.seen(); beat != 41250*time.Millisecond || !errors.Is(demand, errReconnect) {
		t.Errorf("seen %v, %v", beat, demand)
	}
}

// A reader that gives single bytes changes nothing.
func TestTappedReads(t *testing.T) {
	stream := append([]byte(upgrade), textFrame(`{"op":11}`)...)
	a, b := net.Pipe()
	go func() {
		_, _ = b.Write(stream)
		_ = b.Close()
	}()
	got, err := readAll(&tapped{Conn: a, line: &line{}})
	if err != nil || !bytes.Equal(got, stream) {
		t.Errorf("%q, %v", got, err)
	}
}

func readAll(c net.Conn) ([]byte, error) {
	var b bytes.Buffer
	_, err := b.ReadFrom(iotest.OneByteReader(c))
	return b.Bytes(), err
}
