package fakediscord

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"net"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Opcodes of the gateway.
const (
	opDispatch       = 0
	opHeartbeat      = 1
	opIdentify       = 2
	opPresence       = 3
	opVoiceState     = 4
	opResume         = 6
	opReconnect      = 7
	opRequestMembers = 8
	opInvalidSession = 9
	opHello          = 10
	opHeartbeatACK   = 11
)

const (
	replayLimit = 1024 // events kept for a RESUME; the number is ours
	sendLimit   = 120  // sends a client has in sendWindow
	sendWindow  = time.Minute
	payloadMax  = 4096 // bytes that a client may send at once
	identifyDay = 24 * time.Hour
)

// privilegedIntents are GUILD_MEMBERS, GUILD_PRESENCES and MESSAGE_CONTENT,
// which an application must be granted.
const (
	privilegedIntents = 1<<1 | 1<<8 | 1<<15
	knownIntents      = 1<<0 | 1<<1 | 1<<2 | 1<<3 | 1<<4 | 1<<5 | 1<<6 | 1<<7 | 1<<8 | 1<<9 | 1<<10 |
		1<<11 | 1<<12 | 1<<13 | 1<<14 | 1<<15 | 1<<16 | 1<<20 | 1<<21 | 1<<24 | 1<<25
)

// session outlives its connections until it is ended or invalidated.
type session struct {
	id     string
	shard  [2]int
	seq    int64
	replay []event // the last replayLimit events, oldest first
	conn   *conn   // nil while the bot is away
	ended  bool
}

type event struct {
	seq     int64
	payload []byte
}

// conn is one websocket. Fields below mu belong to the outgoing queue; the
// rest belongs to the server's mutex.
type conn struct {
	s        *Server
	ws       *websocket.Conn
	version  int
	session  *session
	compress bool
	silent   bool
	sends    []time.Time

	mu     sync.Mutex
	wake   chan struct{}
	done   chan struct{} // closed when write has returned
	queue  []frame
	slow   time.Duration
	closed bool
}

// frame is a payload, or the end of the connection when code is not 0.
type frame struct {
	payload  []byte
	compress bool
	code     int
	reason   string
}

type packet struct {
	Op int             `json:"op"`
	D  json.RawMessage `json:"d"`
	S  *int64          `json:"s"`
	T  *string         `json:"t"`
}

func pack(op int, d any) []byte {
	raw, err := json.Marshal(d)
	if err != nil {
		panic(err) // only our own structs come here
	}
	b, _ := json.Marshal(packet{Op: op, D: raw})
	return b
}

func packEvent(name string, seq int64, d json.RawMessage) []byte {
	b := make([]byte, 0, len(d)+len(name)+48)
	b = append(b, `{"op":0,"s":`...)
	b = strconv.AppendInt(b, seq, 10)
	b = append(b, `,"t":"`...)
	b = append(b, name...)
	b = append(b, `","d":`...)
	b = append(b, d...)
	return append(b, '}')
}

var upgrader = websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}

func (s *Server) serveGateway(w http.ResponseWriter, r *http.Request) {
	ws, err := upgrader.Upgrade(w, r, nil)
	if err != nil {
		return
	}
	q := r.URL.Query()
	version, _ := strconv.Atoi(orDefault(q.Get("v"), "6"))
	c := &conn{s: s, ws: ws, version: version, wake: make(chan struct{}, 1), done: make(chan struct{})}
	if !s.enter() {
		_ = ws.Close()
		return
	}
	go func() { defer s.wg.Done(); defer close(c.done); c.write() }()
	s.lock()
	s.conns[c] = struct{}{}
	if s.life.Err() != nil {
		c.drop()
	}
	if s.fatal != 0 && !s.ContractOff {
		s.refusals = append(s.refusals, Violation{
			At: s.now(), Method: r.Method, Path: r.URL.Path, Rule: "RECONNECT_AFTER_FATAL",
			Message: fmt.Sprintf("the bot comes back after close code %d", s.fatal),
		})
	}
	switch {
	case version != 9 && version != 10:
		c.close(CloseInvalidAPIVersion, "Invalid API version")
	case q.Get("compress") != "" || q.Get("encoding") == "etf":
		c.close(CloseDecodeError, "the stand-in speaks JSON without transport compression")
	}
	if d := s.planned(AtConnect); d != nil {
		c.disturb(*d)
	}
	c.send(pack(opHello, map[string]any{
		"heartbeat_interval": s.heartbeat().Milliseconds(),
		"_trace":             []string{"stand-in"},
	}))
	s.mu.Unlock()
	code := c.read()
	c.finish()

	s.lock()
	defer s.mu.Unlock()
	delete(s.conns, c)
	if ses := c.session; ses != nil && ses.conn == c {
		ses.conn = nil
		if code == websocket.CloseNormalClosure || code == websocket.CloseGoingAway {
			ses.ended = true
		}
		s.moved()
	}
}

// finish lets a close frame out, if one is due, and cuts the socket.
func (c *conn) finish() {
	if !c.closing() {
		c.drop()
	}
	<-c.done
	_ = c.ws.Close()
}

func (c *conn) closing() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.closed
}

func (s *Server) heartbeat() time.Duration {
	return orDefault(s.HeartbeatInterval, 41250*time.Millisecond)
}

// moved tells the waiters that a session came or went.
func (s *Server) moved() {
	close(s.gatewayMoved)
	s.gatewayMoved = make(chan struct{})
}

// read serves the connection until it ends and returns the client's close code.
func (c *conn) read() int {
	for {
		// A bot that misses a heartbeat by half an interval is gone.
		if !c.closing() {
			_ = c.ws.SetReadDeadline(time.Now().Add(c.s.heartbeat() * 3 / 2))
		}
		kind, raw, err := c.ws.ReadMessage()
		if err != nil {
			if ce, ok := err.(*websocket.CloseError); ok { //nolint:errorlint // gorilla returns it bare
				return ce.Code
			}
			if ne, ok := err.(net.Error); ok && ne.Timeout() { //nolint:errorlint // likewise
				c.timedOut()
			}
			return 0
		}
		var p packet
		c.s.lock()
		if kind != websocket.TextMessage || len(raw) > payloadMax || json.Unmarshal(raw, &p) != nil {
			c.close(CloseDecodeError, "Error while decoding payload")
		} else {
			c.receive(p)
		}
		c.s.mu.Unlock()
	}
}

func (c *conn) timedOut() {
	c.s.lock()
	defer c.s.mu.Unlock()
	if c.silent {
		return
	}
	if c.session != nil {
		c.session.ended = true
	}
	c.close(CloseSessionTimedOut, "Session timed out")
}

// receive handles one packet; the server is locked.
func (c *conn) receive(p packet) {
	s, now := c.s, c.s.now()
	if c.silent || c.closing() {
		return
	}
	c.sends = append(since(c.sends, now.Add(-sendWindow)), now)
	if len(c.sends) > sendLimit {
		c.close(CloseRateLimited, "Rate limited")
		return
	}
	switch p.Op {
	case opHeartbeat:
		if d := s.planned(AtHeartbeat); d != nil && c.disturb(*d) {
			return
		}
		c.send(pack(opHeartbeatACK, nil))
	case opIdentify:
		c.identify(p.D)
	case opResume:
		c.resume(p.D)
	case opPresence, opVoiceState, opRequestMembers:
		if c.session == nil {
			c.close(CloseNotAuthenticated, "Not authenticated")
		}
	default:
		c.close(CloseUnknownOpcode, "Unknown opcode")
	}
}

func (c *conn) identify(raw json.RawMessage) {
	s := c.s
	var d struct {
		Token      string
		Compress   bool
		Shard      *[2]int
		Intents    *int64
		Properties map[string]any
	}
	if json.Unmarshal(raw, &d) != nil || d.Intents == nil || d.Properties == nil {
		c.close(CloseDecodeError, "Error while decoding payload")
		return
	}
	now := s.now()
	last := time.Time{}
	if n := len(s.identifies); n > 0 {
		last = s.identifies[n-1]
	}
	s.identifies = append(since(s.identifies, now.Add(-identifyDay)), now)
	shard := [2]int{0, 1}
	if d.Shard != nil {
		shard = *d.Shard
	}
	switch {
	case c.session != nil:
		c.close(CloseAlreadyAuthenticated, "Already authenticated")
		return
	case len(s.identifies) > s.identifyTotal() || s.tokenReset:
		s.tokenReset = true
		c.close(CloseAuthenticationFailed, "Authentication failed")
		return
	case !s.tokenOK(d.Token):
		c.close(CloseAuthenticationFailed, "Authentication failed")
		return
	case shard[1] < 1 || shard[0] < 0 || shard[0] >= shard[1]:
		c.close(CloseInvalidShard, "Invalid shard")
		return
	case len(s.guilds) >= 2500 && shard[1] < 2:
		c.close(CloseShardingRequired, "Sharding required")
		return
	case *d.Intents < 0 || *d.Intents&^int64(knownIntents) != 0:
		c.close(CloseInvalidIntents, "Invalid intent(s)")
		return
	case *d.Intents&privilegedIntents != 0:
		c.close(CloseDisallowedIntents, "Disallowed intent(s)")
		return
	case s.IdentifySpacing > 0 && now.Sub(last) < s.IdentifySpacing:
		c.send(pack(opInvalidSession, false))
		return
	}
	c.compress = d.Compress
	if f := s.planned(AtIdentify); f != nil && c.disturb(*f) {
		return
	}
	ses := &session{id: fmt.Sprintf("%032x", s.rng.Uint64()), shard: shard, conn: c}
	c.session = ses
	s.sessions[ses.id] = ses
	s.sessionOrder = append(s.sessionOrder, ses)
	s.forgetSessions()
	ses.dispatch("READY", s.readyJSON(c.version, ses))
	s.moved()
}

// forgetSessions lets the oldest sessions without a connection go.
func (s *Server) forgetSessions() {
	keep := s.sessionOrder[:0]
	for i, ses := range s.sessionOrder {
		if ses.conn == nil && (ses.ended || i < len(s.sessionOrder)-32) {
			delete(s.sessions, ses.id)
			continue
		}
		keep = append(keep, ses)
	}
	s.sessionOrder = keep
}

type readyApplication struct {
	ID       string `json:"id"`
	Flags    int    `json:"flags"`
	FlagsNew string `json:"flags_new"`
}

type readyGuild struct {
	ID          string `json:"id"`
	Unavailable bool   `json:"unavailable"`
}

type readyJSON struct {
	V                int              `json:"v"`
	User             userJSON         `json:"user"`
	Guilds           []readyGuild     `json:"guilds"`
	SessionID        string           `json:"session_id"`
	ResumeGatewayURL string           `json:"resume_gateway_url"`
	Shard            [2]int           `json:"shard"`
	Application      readyApplication `json:"application"`
}

func (s *Server) readyJSON(version int, ses *session) json.RawMessage {
	r := readyJSON{
		V: version, User: s.app.json(), Guilds: []readyGuild{}, SessionID: ses.id,
		ResumeGatewayURL: "ws://" + s.host(), Shard: ses.shard,
		Application: readyApplication{ID: s.app.ID, FlagsNew: "0"},
	}
	for _, g := range s.guildOrder {
		if shardOf(g.ID, ses.shard[1]) == ses.shard[0] {
			r.Guilds = append(r.Guilds, readyGuild{ID: g.ID, Unavailable: true})
		}
	}
	b, _ := json.Marshal(r)
	return b
}

func (c *conn) resume(raw json.RawMessage) {
	s := c.s
	var d struct {
		Token     string
		SessionID string `json:"session_id"`
		Seq       *int64
	}
	if json.Unmarshal(raw, &d) != nil || d.Seq == nil {
		c.close(CloseDecodeError, "Error while decoding payload")
		return
	}
	if c.session != nil {
		c.close(CloseAlreadyAuthenticated, "Already authenticated")
		return
	}
	if !s.tokenOK(d.Token) || s.tokenReset {
		c.close(CloseAuthenticationFailed, "Authentication failed")
		return
	}
	s.resumes++
	ses := s.sessions[d.SessionID]
	if ses == nil || ses.ended {
		c.send(pack(opInvalidSession, false))
		return
	}
	if *d.Seq > ses.seq {
		ses.ended = true
		c.close(CloseInvalidSeq, "Invalid seq")
		return
	}
	if len(ses.replay) > 0 && ses.replay[0].seq > *d.Seq+1 {
		ses.ended = true
		c.send(pack(opInvalidSession, false))
		return
	}
	if f := s.planned(AtResume); f != nil && c.disturb(*f) {
		return
	}
	if ses.conn != nil {
		ses.conn.drop()
	}
	ses.conn, c.session = c, ses
	for _, e := range ses.replay {
		if e.seq > *d.Seq {
			c.sendPlain(e.payload)
		}
	}
	ses.dispatch("RESUMED", json.RawMessage(`{"_trace":["stand-in"]}`))
	s.moved()
}

// dispatch numbers an event, keeps it for replay and sends it. RESUMED is not
// kept: a later RESUME replays what was missed, not that something was.
func (ses *session) dispatch(name string, d json.RawMessage) {
	ses.seq++
	e := event{ses.seq, packEvent(name, ses.seq, d)}
	if name != "RESUMED" {
		ses.replay = append(ses.replay, e)
	}
	if len(ses.replay) > 2*replayLimit {
		ses.replay = append([]event(nil), ses.replay[len(ses.replay)-replayLimit:]...)
	}
	if ses.conn != nil {
		ses.conn.sendPlain(e.payload)
	}
}

// broadcast sends an event to every session whose shard has the server, and
// says to how many connected ones.
func (s *Server) broadcast(guildID, name string, d json.RawMessage) int {
	n := 0
	for _, ses := range s.sessionOrder {
		if ses.ended || shardOf(guildID, ses.shard[1]) != ses.shard[0] {
			continue
		}
		if c := ses.conn; c != nil {
			if f := s.planned(AtDispatch); f != nil {
				c.disturb(*f)
			}
			if !c.silent {
				n++
			}
		}
		ses.dispatch(name, d)
	}
	return n
}

// shardOf is Discord's formula; direct messages go to shard 0.
func shardOf(guildID string, count int) int {
	id, _ := strconv.ParseUint(guildID, 10, 64)
	return int(id >> 22 % uint64(count))
}

// send queues a packet that is not an event.
func (c *conn) send(payload []byte) { c.sendPlain(payload) }

func (c *conn) sendPlain(payload []byte) {
	if !c.silent {
		c.enqueue(frame{payload: payload, compress: c.compress})
	}
}

// close queues the end of the connection behind what is already queued. The
// server is locked.
func (c *conn) close(code int, reason string) {
	if fatalCode(code) {
		c.s.fatal = code
	}
	c.enqueue(frame{code: code, reason: reason})
}

// fatalCode says after which close codes a bot must not come back.
func fatalCode(code int) bool {
	return code == CloseAuthenticationFailed || code >= CloseInvalidShard && code <= CloseDisallowedIntents
}

func (c *conn) enqueue(f frame) {
	c.mu.Lock()
	if !c.closed {
		c.queue = append(c.queue, f)
		if f.code != 0 {
			c.closed = true
		}
	}
	c.mu.Unlock()
	c.nudge()
}

func (c *conn) nudge() {
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// drop cuts the socket without a word.
func (c *conn) drop() {
	c.mu.Lock()
	c.closed, c.queue = true, nil
	c.mu.Unlock()
	if t, ok := c.ws.NetConn().(*net.TCPConn); ok {
		_ = t.SetLinger(0)
	}
	_ = c.ws.NetConn().Close()
	c.nudge()
}

// write sends the queue until the connection is closed.
func (c *conn) write() {
	var z deflater
	for range c.wake {
		for {
			c.mu.Lock()
			if len(c.queue) == 0 {
				closed := c.closed
				c.mu.Unlock()
				if closed {
					return
				}
				break
			}
			f := c.queue[0]
			c.queue = c.queue[1:]
			slow := c.slow
			c.mu.Unlock()
			if slow > 0 {
				select {
				case <-time.After(slow):
				case <-c.s.closed:
				}
			}
			_ = c.ws.SetWriteDeadline(time.Now().Add(5 * time.Second))
			var err error
			switch {
			case f.code != 0:
				msg := websocket.FormatCloseMessage(f.code, f.reason)
				_ = c.ws.WriteControl(websocket.CloseMessage, msg, time.Now().Add(time.Second))
				_ = c.ws.NetConn().SetReadDeadline(time.Now().Add(time.Second))
			case f.compress:
				err = c.ws.WriteMessage(websocket.BinaryMessage, z.deflate(f.payload))
			default:
				err = c.ws.WriteMessage(websocket.TextMessage, f.payload)
			}
			if err != nil {
				c.drop()
			}
		}
	}
}

// deflater makes one whole zlib stream of each payload, reusing its memory.
type deflater struct {
	buf bytes.Buffer
	w   *zlib.Writer
}

func (z *deflater) deflate(p []byte) []byte {
	z.buf.Reset()
	if z.w == nil {
		z.w, _ = zlib.NewWriterLevel(&z.buf, zlib.BestSpeed)
	} else {
		z.w.Reset(&z.buf)
	}
	_, _ = z.w.Write(p)
	_ = z.w.Close()
	return z.buf.Bytes()
}

func (s *Server) identifyTotal() int { return orDefault(s.IdentifyTotal, 1000) }

func (s *Server) tokenOK(token string) bool {
	if len(token) > 4 && token[:4] == "Bot " {
		token = token[4:]
	}
	return token != "" && (s.Token == "" || token == s.Token)
}

// Identifies counts the IDENTIFYs of the last day, refused ones included.
func (s *Server) Identifies() int {
	s.lock()
	defer s.mu.Unlock()
	s.identifies = since(s.identifies, s.now().Add(-identifyDay))
	return len(s.identifies)
}

// Resumes counts the RESUMEs, refused ones included.
func (s *Server) Resumes() int {
	s.lock()
	defer s.mu.Unlock()
	return s.resumes
}

// TokenReset says whether the bot spent more IDENTIFYs than its budget.
func (s *Server) TokenReset() bool {
	s.lock()
	defer s.mu.Unlock()
	return s.tokenReset
}

// Connections counts the open gateway sockets, authenticated or not.
func (s *Server) Connections() int {
	s.lock()
	defer s.mu.Unlock()
	return len(s.conns)
}

// Sessions counts the sessions that have a connection now.
func (s *Server) Sessions() int {
	s.lock()
	defer s.mu.Unlock()
	return s.live()
}

func (s *Server) live() int {
	n := 0
	for _, ses := range s.sessionOrder {
		if ses.conn != nil && !ses.ended && !ses.conn.silent {
			n++
		}
	}
	return n
}

// WaitReady returns once a session is connected and not silent.
func (s *Server) WaitReady(ctx context.Context) error { return s.WaitSessions(ctx, 1) }

// WaitSessions returns once exactly n sessions are connected and not silent;
// 0 waits for the bot to leave.
func (s *Server) WaitSessions(ctx context.Context, n int) error {
	for {
		s.lock()
		have, moved, closed := s.live(), s.gatewayMoved, s.closed
		s.mu.Unlock()
		if have == n {
			return nil
		}
		select {
		case <-moved:
		case <-closed:
			return fmt.Errorf("fakediscord: closed with %d of %d sessions", have, n)
		case <-ctx.Done():
			return fmt.Errorf("fakediscord: %d of %d sessions: %w", have, n, ctx.Err())
		}
	}
}

func hashHex(text string) string {
	h := fnv.New64a()
	_, _ = h.Write([]byte(text))
	return strconv.FormatUint(h.Sum64(), 16)
}
