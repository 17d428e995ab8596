package bot

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"time"
)

// frames reads along what a websocket server sends (RFC 6455, section 5.2:
// frames without a mask), as far as it takes to see the gateway's short packets.
// Long and compressed ones pass unread.
type frames struct {
	interval time.Duration // of HELLO
	closed   bool          // a close frame has passed,
	code     int           // with this code; 0 for none

	tail []byte // of the HTTP response that comes first
	open bool   // that response has passed
	buf  []byte // the frame so far
	skip uint64 // bytes of a long frame still to pass
}

// maxRead is the payload up to which a frame is read: HELLO has some hundred
// bytes, the demands fewer.
const maxRead = 1024

// feed takes the next bytes. On a demand it says how many of them come before the
// frame that makes it.
func (f *frames) feed(p []byte) (upTo int, demand error) {
	start := 0
	for i := 0; i < len(p); {
		switch {
		case !f.open:
			f.tail = append(f.tail, p[i])
			if len(f.tail) > 4 {
				f.tail = f.tail[1:]
			}
			f.open = bytes.Equal(f.tail, []byte("\r\n\r\n"))
			i++
			continue
		case f.skip > 0:
			n := min(f.skip, uint64(len(p)-i))
			f.skip -= n
			i += int(n)
			continue
		case len(f.buf) == 0:
			start = i
		}
		f.buf = append(f.buf, p[i])
		i++
		head, size, ok := frameHead(f.buf)
		if !ok {
			continue
		}
		if size > maxRead {
			f.skip, f.buf = size, f.buf[:0]
			continue
		}
		if uint64(len(f.buf)-head) < size {
			continue
		}
		text := f.buf[0] == 0x81 // a whole text message in one frame
		payload := f.buf[head:]
		if f.buf[0]&0x0f == 8 {
			f.closed = true
			if len(payload) >= 2 {
				f.code = int(binary.BigEndian.Uint16(payload))
			}
		}
		f.buf = f.buf[:0]
		if text {
			if demand := f.read(payload); demand != nil {
				return start, demand
			}
		}
	}
	return len(p), nil
}

// frameHead reads a frame's header: its length, and that of the payload.
func frameHead(b []byte) (head int, size uint64, ok bool) {
	if len(b) < 2 {
		return 0, 0, false
	}
	switch b[1] & 0x7f {
	case 126:
		if len(b) < 4 {
			return 0, 0, false
		}
		return 4, uint64(binary.BigEndian.Uint16(b[2:])), true
	case 127:
		if len(b) < 10 {
			return 0, 0, false
		}
		return 10, binary.BigEndian.Uint64(b[2:]), true
	}
	return 2, uint64(b[1] & 0x7f), true
}

func (f *frames) read(payload []byte) (demand error) {
	var packet struct {
		Op   int             `json:"op"`
		Data json.RawMessage `json:"d"`
	}
	if json.Unmarshal(payload, &packet) != nil {
		return nil
	}
	switch packet.Op {
	case 7:
		return errReconnect
	case 9:
		if string(packet.Data) == "true" {
			return errResumable
		}
		return errInvalid
	case 10:
		var hello struct {
			Interval int `json:"heartbeat_interval"` // ms
		}
		if json.Unmarshal(packet.Data, &hello) == nil && hello.Interval > 0 {
			f.interval = time.Duration(hello.Interval) * time.Millisecond
		}
	}
	return nil
}
