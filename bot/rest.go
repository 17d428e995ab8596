package bot

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
)

// rest sends requests to Discord through a discordgo session that is never
// opened; gateway sessions come and go beside it and share its HTTP client.
type rest struct {
	session *discordgo.Session
	road    *road
	pace    pace
	log     *slog.Logger
	app     string // the application's id, once whoAmI has asked
}

func newREST(cfg Config) (*rest, error) {
	rd, err := newRoad(cfg.API, cfg.Now)
	if err != nil {
		return nil, err
	}
	s, err := newSession(cfg, rd)
	if err != nil {
		return nil, err
	}
	return &rest{session: s, road: rd, pace: cfg.pace, log: cfg.Log}, nil
}

func (r *rest) close() { r.road.under.CloseIdleConnections() }

// lane is one rate limit bucket. Each interaction has its own: in a common one
// its edits would queue behind all others', and the library never frees a bucket
// that its session knows. A lane goes with its interaction, and is used by one
// goroutine at a time.
type lane struct {
	limiter *discordgo.RateLimiter
	bucket  *discordgo.Bucket
}

func newLane() *lane {
	l := discordgo.NewRatelimiter()
	return &lane{limiter: l, bucket: l.GetBucket("")}
}

// do sends one request, once. The library would sleep through a rate limit
// without regard to ctx, so the waiting is done here, and repeating is left to
// the caller, who knows what may be repeated.
func (r *rest) do(ctx context.Context, l *lane, method, path, contentType string, body []byte) ([]byte, error) {
	if err := sleep(ctx, l.limiter.GetWaitTime(l.bucket, 1)); err != nil {
		return nil, err
	}
	return r.session.RequestWithLockedBucket(method, discordgo.EndpointAPI+strings.TrimPrefix(path, "/"), contentType, body,
		l.limiter.LockBucketObject(l.bucket), 0,
		discordgo.WithContext(ctx), discordgo.WithRetryOnRatelimit(false), discordgo.WithRestRetries(0))
}

// steady sends a request that may be repeated, until it is answered or the
// reason to fail is a lasting one.
func (r *rest) steady(ctx context.Context, method, path string, body []byte) ([]byte, error) {
	l := newLane()
	for try := 0; ; try++ {
		out, err := r.do(ctx, l, method, path, "application/json", body)
		if err == nil {
			return out, nil
		}
		f := explain(err)
		switch {
		case f.status == http.StatusUnauthorized:
			return nil, &Fatal{Code: ExitToken, Fix: "Discord does not accept the bot token: copy it again from the application's Bot page, or reset it there"}
		case f.lasting() || try == 7 || ctx.Err() != nil:
			return nil, f
		}
		wait := max(f.retry, r.pace.backMin<<try/2)
		r.log.WarnContext(ctx, "Discord does not answer as it should; trying again", "request", method+" "+path, "why", f.Error(), "again_in", wait.String())
		if err := sleep(ctx, wait); err != nil {
			return nil, err
		}
	}
}

// whoAmI learns the application's id, and by the way whether the token is good
// and how far the clocks are apart.
func (r *rest) whoAmI(ctx context.Context) error {
	out, err := r.steady(ctx, http.MethodGet, "/applications/@me", nil)
	if err != nil {
		return fmt.Errorf("asking Discord for the application: %w", err)
	}
	var app struct {
		ID string `json:"id"`
	}
	if err := json.Unmarshal(out, &app); err != nil || app.ID == "" {
		return errors.New("asking Discord for the application: the answer has no id")
	}
	r.app = app.ID
	return nil
}

// failure is why a request failed, in words that name no token and no text of a
// member: the library's own errors carry addresses and bodies.
type failure struct {
	status int           // HTTP status; 0 where no readable answer came
	code   int           // Discord's own code, 0 if none
	retry  time.Duration // on 429, how long to wait
	cause  string
}

func (f *failure) Error() string {
	switch {
	case f.status == 0:
		return "no usable answer: " + f.cause
	case f.code != 0:
		return fmt.Sprintf("HTTP %d, code %d", f.status, f.code)
	}
	return fmt.Sprintf("HTTP %d", f.status)
}

// lasting failures come again when the request is repeated.
func (f *failure) lasting() bool {
	return f.status >= 400 && f.status < 500 && f.status != http.StatusTooManyRequests
}

func explain(err error) *failure {
	var limited *discordgo.RateLimitError
	var refused *discordgo.RESTError
	var address *url.Error
	switch {
	case errors.As(err, &limited):
		return &failure{status: http.StatusTooManyRequests, retry: limited.RetryAfter}
	case errors.As(err, &refused):
		f := &failure{status: refused.Response.StatusCode}
		if refused.Message != nil {
			f.code = refused.Message.Code
		}
		return f
	case errors.As(err, &address):
		return &failure{cause: address.Err.Error()}
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return &failure{cause: err.Error()}
	}
	// A 502 comes without a type and with its body.
	return &failure{cause: "a bad gateway, or an answer cut short"}
}

// road leads requests to Discord, or to the base address that stands in for it.
// It also reads Discord's clock from each answer.
type road struct {
	under *http.Transport
	base  *url.URL // nil: Discord itself
	now   func() time.Time
	ahead atomic.Int64 // nanoseconds that Discord's clock is ahead of ours
}

func newRoad(api string, now func() time.Time) (*road, error) {
	under := http.DefaultTransport.(*http.Transport).Clone()
	under.MaxIdleConns, under.MaxIdleConnsPerHost = 256, 256
	rd := &road{under: under, now: now}
	if api == "" {
		return rd, nil
	}
	base, err := url.Parse(api)
	if err != nil || base.Scheme != "http" && base.Scheme != "https" || base.Host == "" {
		return nil, &Fatal{Code: ExitConfig, Fix: fmt.Sprintf("the API address %q cannot be used: give one like http://127.0.0.1:8080", api)}
	}
	base.Path = strings.TrimSuffix(base.Path, "/")
	base.Path = strings.TrimSuffix(strings.TrimSuffix(base.Path, "/api/v"+discordgo.APIVersion), "/api")
	rd.base = base
	return rd, nil
}

func (rd *road) RoundTrip(req *http.Request) (*http.Response, error) {
	if rd.base != nil && req.URL.Host == "discord.com" {
		req = req.Clone(req.Context())
		req.URL.Scheme, req.URL.Host, req.Host = rd.base.Scheme, rd.base.Host, ""
		req.URL.Path = rd.base.Path + req.URL.Path
		req.URL.RawPath = ""
	}
	sent := rd.now()
	resp, err := rd.under.RoundTrip(req)
	if err != nil {
		return nil, err
	}
	rd.readClock(resp, sent)
	if resp.StatusCode == http.StatusTooManyRequests && !strings.Contains(resp.Header.Get("Content-Type"), "json") {
		plainLimit(resp)
	}
	return resp, nil
}

// readClock compares clocks by the Date of an answer, which has whole seconds.
// Less than two seconds apart is within what such a reading can tell.
func (rd *road) readClock(resp *http.Response, sent time.Time) {
	date, err := http.ParseTime(resp.Header.Get("Date"))
	if err != nil {
		return
	}
	now := rd.now()
	if now.Sub(sent) > time.Second {
		return // too slow an answer to tell
	}
	ahead := date.Add(500 * time.Millisecond).Sub(sent.Add(now.Sub(sent) / 2))
	if ahead.Abs() < 2*time.Second {
		ahead = 0
	}
	rd.ahead.Store(int64(ahead))
}

// discordNow is the time on Discord's clock.
func (rd *road) discordNow() time.Time { return rd.now().Add(time.Duration(rd.ahead.Load())) }

// plainLimit turns a 429 that is an HTML page, as proxies send, into the form
// that the library can read.
func plainLimit(resp *http.Response) {
	wait, err := strconv.ParseFloat(resp.Header.Get("Retry-After"), 64)
	if err != nil || wait < 0 || wait > 3600 {
		wait = 1
	}
	_, _ = io.Copy(io.Discard, io.LimitReader(resp.Body, 64<<10))
	_ = resp.Body.Close()
	body := fmt.Appendf(nil, `{"message":"rate limited","retry_after":%g,"global":false}`, wait)
	resp.Body = io.NopCloser(bytes.NewReader(body))
	resp.ContentLength = int64(len(body))
	resp.Header.Set("Content-Type", "application/json")
}

// sleep waits, or returns early with ctx's error.
func sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
