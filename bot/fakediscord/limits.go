package fakediscord

import (
	"math"
	"net/http"
	"strconv"
	"time"
)

// The limit of the whole bot and of rejected requests are documented. Those of
// single routes are not, a client must read them in the headers; ours are an
// assumption near what the real ones are said to be.
const (
	globalLimit  = 50
	globalWindow = time.Second
	rejectLimit  = 10000
	rejectWindow = 10 * time.Minute

	routeLimit  = 5
	routeWindow = 2 * time.Second
	plainLimit  = 50
	plainWindow = time.Second
)

// bucket counts the requests to one route and one channel or token.
type bucket struct {
	used  int
	reset time.Time
}

// limit counts a request and refuses one too many. Callbacks are not counted.
func (s *Server) limit(c *call, e *endpoint) (reply, bool) {
	s.lock()
	defer s.mu.Unlock()
	now := s.now()
	s.rejected = since(s.rejected, now.Add(-rejectWindow))
	if len(s.rejected) >= rejectLimit {
		return reply{status: http.StatusTooManyRequests, page: page("Error 1015", "You are being rate limited")}, true
	}
	if c.route == RouteCallback {
		return reply{}, false
	}
	if !e.open {
		s.global = since(s.global, now.Add(-globalWindow))
		if len(s.global) >= globalLimit {
			return tooMany(s.global[0].Add(globalWindow).Sub(now), true, "global"), true
		}
		s.global = append(s.global, now)
	}
	if len(s.buckets) > 4096 {
		for k, b := range s.buckets {
			if now.After(b.reset) {
				delete(s.buckets, k)
			}
		}
	}
	n, window := limitOf(c.route)
	b := s.buckets[c.bucket()]
	if b == nil || !now.Before(b.reset) {
		b = &bucket{reset: now.Add(window)}
		s.buckets[c.bucket()] = b
	}
	b.used++
	if b.used > n {
		return tooMany(b.reset.Sub(now), false, "user"), true
	}
	return reply{}, false
}

func limitOf(r Route) (int, time.Duration) {
	switch r {
	case RouteFollowups, RouteOriginal, RouteFollowup, RouteChannelMessages, RouteChannelMessage:
		return routeLimit, routeWindow
	}
	return plainLimit, plainWindow
}

// bucket names what a request shares its limit with: the method, the route and
// the channel, server or webhook in it.
func (c *call) bucket() string {
	major := c.params["channel_id"] + c.params["guild_id"] + c.params["webhook_id"] + c.params["webhook_token"]
	return c.method + " " + string(c.route) + " " + major
}

func (s *Server) limitHeaders(c *call, h http.Header) {
	n, window := limitOf(c.route)
	s.lock()
	now := s.now()
	left, reset := n-1, window
	if b := s.buckets[c.bucket()]; b != nil {
		left, reset = max(0, n-b.used), max(0, b.reset.Sub(now))
	}
	s.mu.Unlock()
	h.Set("X-RateLimit-Limit", strconv.Itoa(n))
	h.Set("X-RateLimit-Remaining", strconv.Itoa(left))
	h.Set("X-RateLimit-Reset", strconv.FormatFloat(float64(now.Add(reset).UnixMilli())/1000, 'f', 3, 64))
	h.Set("X-RateLimit-Reset-After", strconv.FormatFloat(reset.Seconds(), 'f', 3, 64))
	h.Set("X-RateLimit-Bucket", hashHex(c.method+" "+string(c.route)))
}

// tooMany is a 429 with everything that Discord says in one.
func tooMany(after time.Duration, global bool, scope string) reply {
	seconds := math.Ceil(max(0, after.Seconds())*1000) / 1000
	r := reply{status: http.StatusTooManyRequests, value: apiError{
		Message: "You are being rate limited.", RetryAfter: &seconds, Global: &global,
	}}
	if global {
		scope = "global"
	}
	r.header = http.Header{
		"Retry-After":             {retryHeader(after)},
		"X-Ratelimit-Scope":       {scope},
		"X-Ratelimit-Remaining":   {"0"},
		"X-Ratelimit-Reset-After": {strconv.FormatFloat(seconds, 'f', 3, 64)},
		"Via":                     {"1.1 google"},
	}
	if global {
		r.header["X-Ratelimit-Global"] = []string{"true"}
	}
	return r
}

// retryHeader is in whole seconds, rounded up.
func retryHeader(d time.Duration) string {
	return strconv.Itoa(int(math.Ceil(max(0, d.Seconds()))))
}
