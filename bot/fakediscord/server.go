package fakediscord

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"strconv"
	"sync"
	"time"
)

// Server is the stand-in. The zero value works; fields are set before Start.
type Server struct {
	// Token is the bot token that is accepted. Empty accepts any.
	Token string
	// Addr is the address to listen on, 127.0.0.1 and a free port if empty.
	Addr string
	// Expiry is the time for a first answer, 3 s if zero.
	Expiry time.Duration
	// TokenLife is how long an interaction's token works, 15 min if zero.
	TokenLife time.Duration
	// Now is the clock for expiry, ids and rate limits, time.Now if nil.
	// Latencies are always measured in real time.
	Now func() time.Time
	// HeartbeatInterval is what HELLO asks for, 41.25 s if zero.
	HeartbeatInterval time.Duration
	// IdentifyTotal is the budget of IDENTIFYs, 1000 if zero. One more than
	// that and the token is reset, as Discord does.
	IdentifyTotal int
	// IdentifySpacing is the least time between two IDENTIFYs; a faster one
	// gets INVALID_SESSION. Discord asks for 5 s; zero asks for none.
	IdentifySpacing time.Duration
	// Shards is the recommended count that /gateway/bot tells, 1 if zero.
	Shards int
	// Seed makes faults that come by chance repeatable.
	Seed uint64
	// SchemaDir holds Discord's openapi.json. If empty: the environment
	// variable DISCORD_SCHEMAS, then ../shared/discord from the module root.
	SchemaDir string
	// ContractOff switches every check of request bodies off. For benchmarks.
	ContractOff bool
	// History is how many interactions are remembered, all if zero.
	History int

	mu       sync.Mutex
	ready    bool            // maps below are made
	life     context.Context // ends with Close
	end      context.CancelFunc
	closed   <-chan struct{} // life's
	wg       sync.WaitGroup
	listener net.Listener
	http     *http.Server
	client   *http.Client
	rng      *rand.Rand
	count    uint64
	private  ed25519.PrivateKey
	endpoint string // where interactions go over HTTP, "" for the gateway
	contract *contract
	noSchema error // why contract is nil

	app          *User
	users        map[string]*User
	guilds       map[string]*Guild
	guildOrder   []*Guild
	channels     map[string]*Channel
	messages     map[string]*stored
	nonces       map[string]*stored
	interactions map[string]*Interaction
	order        []*Interaction
	commands     map[string][]*command // by guild id, "" for global
	creates      map[string][]time.Time
	refusals     []Violation

	conns        map[*conn]struct{}
	sessions     map[string]*session
	sessionOrder []*session
	gatewayMoved chan struct{} // closed and replaced when a session changes
	identifies   []time.Time
	resumes      int
	tokenReset   bool
	fatal        int // the latest close code after which a bot stays away
	gatewayPlan  []*plannedDisturbance

	faults   []*plannedFault
	buckets  map[string]*bucket
	global   []time.Time
	rejected []time.Time // answers of 401, 403 and 429
	requests map[Route]int
	missing  map[string]bool // webhook requests that got 404
}

// lock takes the mutex and makes the zero value usable.
func (s *Server) lock() {
	s.mu.Lock()
	if s.ready {
		return
	}
	s.ready = true
	s.life, s.end = context.WithCancel(context.Background())
	s.closed = s.life.Done()
	s.rng = rand.New(rand.NewPCG(s.Seed, 0x5d15c0bd)) //nolint:gosec // repeatable faults, no secret
	s.users = map[string]*User{}
	s.guilds = map[string]*Guild{}
	s.channels = map[string]*Channel{}
	s.messages = map[string]*stored{}
	s.nonces = map[string]*stored{}
	s.interactions = map[string]*Interaction{}
	s.commands = map[string][]*command{}
	s.creates = map[string][]time.Time{}
	s.conns = map[*conn]struct{}{}
	s.sessions = map[string]*session{}
	s.gatewayMoved = make(chan struct{})
	s.buckets = map[string]*bucket{}
	s.requests = map[Route]int{}
	s.missing = map[string]bool{}
	s.client = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}
	s.app = &User{ID: s.newID(), Name: "stand-in-bot", DisplayName: "Stand-in bot", bot: true}
	_, s.private, _ = ed25519.GenerateKey(nil)
	if !s.ContractOff {
		s.contract, s.noSchema = loadContract(s.SchemaDir)
	}
}

// Start listens on loopback and serves until Close.
func (s *Server) Start() error {
	s.lock()
	defer s.mu.Unlock()
	if s.listener != nil {
		return errors.New("fakediscord: already started")
	}
	addr := s.Addr
	if addr == "" {
		addr = "127.0.0.1:0"
	}
	l, err := (&net.ListenConfig{}).Listen(context.Background(), "tcp", addr)
	if err != nil {
		return fmt.Errorf("fakediscord: %w", err)
	}
	s.listener = l
	s.http = &http.Server{Handler: http.HandlerFunc(s.serveHTTP), ReadHeaderTimeout: 30 * time.Second}
	s.wg.Go(func() { _ = s.http.Serve(l) })
	return nil
}

// Close ends every connection and waits for its goroutines.
func (s *Server) Close() {
	s.lock()
	if s.listener == nil {
		s.end()
		s.mu.Unlock()
		return
	}
	if s.life.Err() != nil {
		s.mu.Unlock()
		return
	}
	s.end()
	for c := range s.conns {
		c.drop()
	}
	s.mu.Unlock()
	_ = s.http.Close()
	s.client.CloseIdleConnections()
	s.wg.Wait()
}

// enter counts a goroutine that Close waits for, unless it is too late.
func (s *Server) enter() bool {
	s.lock()
	defer s.mu.Unlock()
	if s.life.Err() != nil {
		return false
	}
	s.wg.Add(1)
	return true
}

// URL is the address to use in place of https://discord.com, such as
// http://127.0.0.1:8080.
func (s *Server) URL() string {
	s.lock()
	defer s.mu.Unlock()
	return "http://" + s.host()
}

func (s *Server) host() string {
	if s.listener == nil {
		return "127.0.0.1:0"
	}
	return s.listener.Addr().String()
}

// ApplicationID is the id of the bot's application and of its user.
func (s *Server) ApplicationID() string {
	s.lock()
	defer s.mu.Unlock()
	return s.app.ID
}

// PublicKey is the hexadecimal key that signed interactions verify with.
func (s *Server) PublicKey() string {
	s.lock()
	defer s.mu.Unlock()
	return hex.EncodeToString(s.private.Public().(ed25519.PublicKey))
}

// Requests counts the requests that reached a route, faults included.
func (s *Server) Requests(r Route) int {
	s.lock()
	defer s.mu.Unlock()
	return s.requests[r]
}

// RejectedRequests counts the answers of 401, 403 and 429 in the last ten
// minutes. At 10,000 Discord blocks the address, and so does the stand-in.
func (s *Server) RejectedRequests() int {
	s.lock()
	defer s.mu.Unlock()
	s.rejected = since(s.rejected, s.now().Add(-rejectWindow))
	return len(s.rejected)
}

func (s *Server) now() time.Time {
	if s.Now != nil {
		return s.Now()
	}
	return time.Now()
}

func (s *Server) expiry() time.Duration    { return orDefault(s.Expiry, 3*time.Second) }
func (s *Server) tokenLife() time.Duration { return orDefault(s.TokenLife, 15*time.Minute) }

func orDefault[T comparable](v, def T) T {
	var zero T
	if v == zero {
		return def
	}
	return v
}

// epoch is the first second of 2015 in milliseconds, from which ids count.
const epoch = 1420070400000

// newID makes a snowflake: milliseconds since epoch, 22 bits of counter.
func (s *Server) newID() string {
	s.count++
	ms := max(s.now().UnixMilli()-epoch, 1)
	return strconv.FormatUint(uint64(ms)<<22|s.count&0x3fffff, 10)
}

// since drops the times before a moment; the list is in order.
func since(list []time.Time, t time.Time) []time.Time {
	i := 0
	for i < len(list) && list[i].Before(t) {
		i++
	}
	return list[i:]
}
