package fakediscord

import (
	"time"
)

// Close codes of the gateway. A bot does not come back after 4004 and 4010 to
// 4014; 1000 and 1001 end the session.
const (
	CloseUnknownError         = 4000
	CloseUnknownOpcode        = 4001
	CloseDecodeError          = 4002
	CloseNotAuthenticated     = 4003
	CloseAuthenticationFailed = 4004
	CloseAlreadyAuthenticated = 4005
	CloseInvalidSeq           = 4007
	CloseRateLimited          = 4008
	CloseSessionTimedOut      = 4009
	CloseInvalidShard         = 4010
	CloseShardingRequired     = 4011
	CloseInvalidAPIVersion    = 4012
	CloseInvalidIntents       = 4013
	CloseDisallowedIntents    = 4014
)

// Fault spoils requests that match it. The zero value of a field asks for
// nothing; the first fault that applies is the only one.
type Fault struct {
	Method string // any if empty
	Route  Route  // any if empty
	// Times is how many matching requests are spoiled: 0 means one, less than
	// 0 means all until ClearFaults.
	Times int
	// Chance spoils a matching request with this probability, always if 0.
	Chance float64

	// TakesEffect carries the request out all the same: only its answer is
	// late, lost or false.
	TakesEffect bool
	// Delay holds the request back before it arrives, or, with TakesEffect,
	// its answer.
	Delay time.Duration
	// Drop cuts the socket instead of answering; Cut does so half way through
	// the answer.
	Drop, Cut bool
	// Status answers with this code; 429 has all its headers.
	Status int
	// HTML makes that answer a page, as the proxy before Discord sends.
	HTML bool
	// RetryAfter is how long a 429 asks to wait, 1 s if zero. Global marks it
	// as the limit of the whole bot.
	RetryAfter time.Duration
	Global     bool
}

type plannedFault struct {
	Fault
	left int
}

// Inject adds a fault behind those already there.
func (s *Server) Inject(f Fault) {
	s.lock()
	defer s.mu.Unlock()
	s.faults = append(s.faults, &plannedFault{f, orDefault(f.Times, 1)})
}

// ClearFaults removes the faults of Inject and DisturbAt.
func (s *Server) ClearFaults() {
	s.lock()
	defer s.mu.Unlock()
	s.faults, s.gatewayPlan = nil, nil
}

// fault takes the first fault that applies to a request.
func (s *Server) fault(method string, route Route) *Fault {
	for _, f := range s.faults {
		if f.left == 0 || f.Method != "" && f.Method != method || f.Route != "" && f.Route != route {
			continue
		}
		if f.Chance > 0 && s.rng.Float64() >= f.Chance {
			continue
		}
		if f.left > 0 {
			f.left--
		}
		return &f.Fault
	}
	return nil
}

// Disturbance is something that goes wrong on a gateway connection.
type Disturbance struct {
	Do        Action
	Code      int           // of Close
	Resumable bool          // of Invalidate: the d of INVALID_SESSION
	Delay     time.Duration // of Slow: before each packet from now on
}

// Action is the kind of a Disturbance.
type Action int

// The actions.
const (
	Drop       Action = iota // cut the socket
	Close                    // close it with Code
	Reconnect                // op 7: asked to reconnect and resume
	Invalidate               // op 9
	Silence                  // stays open, sends and acknowledges nothing more
	Slow                     // sends everything Delay late
	Beat                     // op 1: asks for a heartbeat at once
)

// Moment is when a planned disturbance strikes.
type Moment int

// The moments. At AtIdentify and AtResume all but Slow and Beat take the place
// of READY or RESUMED; at AtDispatch the event itself is kept for replay.
const (
	AtConnect Moment = iota
	AtIdentify
	AtResume
	AtDispatch
	AtHeartbeat
)

type plannedDisturbance struct {
	Disturbance
	at     Moment
	left   int
	chance float64
}

// Disturb strikes every connection at once.
func (s *Server) Disturb(d Disturbance) {
	s.lock()
	defer s.mu.Unlock()
	for c := range s.conns {
		c.disturb(d)
	}
}

// DisturbAt plans a disturbance for the next times such moments (all if times
// is less than 0), each with a probability (always if 0).
func (s *Server) DisturbAt(at Moment, times int, chance float64, d Disturbance) {
	s.lock()
	defer s.mu.Unlock()
	s.gatewayPlan = append(s.gatewayPlan, &plannedDisturbance{d, at, orDefault(times, 1), chance})
}

func (s *Server) planned(at Moment) *Disturbance {
	for _, p := range s.gatewayPlan {
		if p.at != at || p.left == 0 || p.chance > 0 && s.rng.Float64() >= p.chance {
			continue
		}
		if p.left > 0 {
			p.left--
		}
		return &p.Disturbance
	}
	return nil
}

// disturb acts on one connection and says whether that stands in place of what
// was due. The server is locked.
func (c *conn) disturb(d Disturbance) bool {
	switch d.Do {
	case Drop:
		c.drop()
	case Close:
		if ses := c.session; ses != nil && endsSession(d.Code) {
			ses.ended = true
		}
		c.close(d.Code, "injected")
	case Reconnect:
		c.send(pack(opReconnect, nil))
	case Invalidate:
		if ses := c.session; ses != nil {
			ses.ended = !d.Resumable
			ses.conn, c.session = nil, nil
			c.s.moved()
		}
		c.send(pack(opInvalidSession, d.Resumable))
	case Silence:
		c.silent = true
		c.s.moved()
	case Slow:
		c.mu.Lock()
		c.slow = d.Delay
		c.mu.Unlock()
		return false
	case Beat:
		c.send(pack(opHeartbeat, nil))
		return false
	}
	return true
}

// endsSession says which close codes leave nothing to resume.
func endsSession(code int) bool {
	switch code {
	case 1000, 1001, CloseInvalidSeq, CloseSessionTimedOut:
		return true
	}
	return fatalCode(code)
}
