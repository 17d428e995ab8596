package bot

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"time"
)

// servers knows what servers are called. An interaction names its server by id
// alone, and without intents the gateway tells no more, so the name is asked for:
// when a server is first heard of, and again once the answer is old, since
// servers are renamed.
type servers struct {
	rest *rest
	now  func() time.Time
	old  time.Duration // an answer is asked for anew
	soon time.Duration // and after a failure that may pass

	turn  chan struct{} // one request at a time: interactions must not feel them
	mu    sync.Mutex
	known map[string]*server // as many as there are servers with the bot
}

type server struct {
	name string
	met  time.Time     // when it was first heard of
	due  time.Time     // to be asked for again
	told chan struct{} // closed after the first request, whatever came of it
}

func newServers(cfg Config, r *rest) *servers {
	return &servers{
		rest: r, now: cfg.Now, old: cfg.pace.nameOld, soon: cfg.pace.nameOld / 10,
		turn: make(chan struct{}, 1), known: map[string]*server{},
	}
}

// name is what the server is called; empty where that is not known. The first
// requests of a server wait for it, for so long after the very first. What has to
// be asked for is asked for in goroutines that start runs.
func (s *servers) name(ctx context.Context, id string, wait time.Duration, start func(func())) string {
	if id == "" {
		return ""
	}
	s.mu.Lock()
	x := s.known[id]
	if x == nil {
		x = &server{met: time.Now(), told: make(chan struct{})}
		s.known[id] = x
	}
	if now := s.now(); !now.Before(x.due) {
		x.due = now.Add(s.old)
		start(func() { s.ask(ctx, id, x) })
	}
	s.mu.Unlock()
	patience := time.NewTimer(time.Until(x.met.Add(wait)))
	defer patience.Stop()
	select {
	case <-x.told:
	case <-patience.C:
	case <-ctx.Done():
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return x.name
}

// ask sends the request, once. Where the bot is not in the server itself, only
// its commands are, Discord does not say the name.
func (s *servers) ask(ctx context.Context, id string, x *server) {
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
	}
	once, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	out, err := s.rest.do(once, newLane(), http.MethodGet, "/guilds/"+id, "application/json", nil)
	var guild struct {
		Name string `json:"name"`
	}
	if err == nil {
		err = json.Unmarshal(out, &guild)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case err == nil && guild.Name != "":
		x.name = guild.Name
	case err != nil && !explain(err).lasting():
		x.due = s.now().Add(s.soon)
	}
	select {
	case <-x.told:
	default:
		close(x.told)
	}
}
