package fakediscord

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/websocket"
)

// Route is a path of Discord's interface as its OpenAPI description spells it.
type Route string

// The routes that are served, below /api/v9 and /api/v10.
const (
	RouteGateway         Route = "/gateway"
	RouteGatewayBot      Route = "/gateway/bot"
	RouteMe              Route = "/users/@me"
	RouteApplication     Route = "/applications/@me"
	RouteOAuth           Route = "/oauth2/applications/@me"
	RouteGuild           Route = "/guilds/{guild_id}"
	RouteCommands        Route = "/applications/{application_id}/commands"
	RouteGuildCommands   Route = "/applications/{application_id}/guilds/{guild_id}/commands"
	RouteCallback        Route = "/interactions/{interaction_id}/{interaction_token}/callback"
	RouteFollowups       Route = "/webhooks/{webhook_id}/{webhook_token}"
	RouteOriginal        Route = "/webhooks/{webhook_id}/{webhook_token}/messages/@original"
	RouteFollowup        Route = "/webhooks/{webhook_id}/{webhook_token}/messages/{message_id}"
	RouteChannelMessages Route = "/channels/{channel_id}/messages"
	RouteChannelMessage  Route = "/channels/{channel_id}/messages/{message_id}"
	routeUnknown         Route = "unknown"
)

// endpoint is what a route does for one method.
type endpoint struct {
	route  Route
	parts  []string
	handle map[string]func(*call) reply
	open   bool // needs no bot token, and is outside the limit of the whole bot
}

// endpoints are in order: a literal part stands before a parameter.
var endpoints = []endpoint{
	serve(RouteGateway, true, map[string]func(*call) reply{http.MethodGet: getGateway}),
	serve(RouteGatewayBot, false, map[string]func(*call) reply{http.MethodGet: getGatewayBot}),
	serve(RouteMe, false, map[string]func(*call) reply{http.MethodGet: getMe}),
	serve(RouteApplication, false, map[string]func(*call) reply{http.MethodGet: getApplication}),
	serve(RouteOAuth, false, map[string]func(*call) reply{http.MethodGet: getApplication}),
	serve(RouteGuild, false, map[string]func(*call) reply{http.MethodGet: getGuild}),
	serve(RouteCommands, false, map[string]func(*call) reply{
		http.MethodGet: getCommands, http.MethodPut: putCommands,
	}),
	serve(RouteGuildCommands, false, map[string]func(*call) reply{
		http.MethodGet: getCommands, http.MethodPut: putCommands,
	}),
	serve(RouteCallback, true, map[string]func(*call) reply{http.MethodPost: postCallback}),
	serve(RouteFollowups, true, map[string]func(*call) reply{http.MethodPost: postFollowup}),
	serve(RouteOriginal, true, map[string]func(*call) reply{
		http.MethodGet: getAnswer, http.MethodPatch: patchAnswer, http.MethodDelete: deleteAnswer,
	}),
	serve(RouteFollowup, true, map[string]func(*call) reply{
		http.MethodGet: getAnswer, http.MethodPatch: patchAnswer, http.MethodDelete: deleteAnswer,
	}),
	serve(RouteChannelMessages, false, map[string]func(*call) reply{http.MethodPost: postMessage}),
	serve(RouteChannelMessage, false, map[string]func(*call) reply{
		http.MethodGet: getMessage, http.MethodPatch: patchMessage, http.MethodDelete: deleteMessage,
	}),
}

func serve(r Route, open bool, handle map[string]func(*call) reply) endpoint {
	return endpoint{r, strings.Split(string(r)[1:], "/"), handle, open}
}

// call is one request on its way to a route.
type call struct {
	s       *Server
	method  string
	path    string
	route   Route
	params  map[string]string
	query   url.Values
	header  http.Header
	raw     []byte
	arrived time.Time // by the server's clock
	at      time.Time // real time, for latency
}

// reply is what a route answers.
type reply struct {
	status int
	value  any // JSON, nil for an empty body
	header http.Header
	page   string // HTML instead of value
}

func ok(value any) reply { return reply{status: http.StatusOK, value: value} }

func noContent() reply { return reply{status: http.StatusNoContent} }

// apiError is Discord's error form.
type apiError struct {
	Message    string   `json:"message"`
	Code       int      `json:"code"`
	Errors     any      `json:"errors,omitempty"`
	RetryAfter *float64 `json:"retry_after,omitempty"`
	Global     *bool    `json:"global,omitempty"`
}

func fail(status, code int, message string) reply {
	return reply{status: status, value: apiError{Message: message, Code: code}}
}

// Refusals by code, as Discord lists them.
var (
	errUnauthorized    = fail(http.StatusUnauthorized, 0, "401: Unauthorized")
	errNotFound        = fail(http.StatusNotFound, 0, "404: Not Found")
	errMethod          = fail(http.StatusMethodNotAllowed, 0, "405: Method Not Allowed")
	errUnknownApp      = fail(http.StatusNotFound, 10002, "Unknown Application")
	errUnknownChannel  = fail(http.StatusNotFound, 10003, "Unknown Channel")
	errUnknownGuild    = fail(http.StatusNotFound, 10004, "Unknown Guild")
	errUnknownMessage  = fail(http.StatusNotFound, 10008, "Unknown Message")
	errUnknownWebhook  = fail(http.StatusNotFound, 10015, "Unknown Webhook")
	errUnknownIA       = fail(http.StatusNotFound, 10062, "Unknown interaction")
	errMissingAccess   = fail(http.StatusForbidden, 50001, "Missing Access")
	errEmptyMessage    = fail(http.StatusBadRequest, 50006, "Cannot send an empty message")
	errNotText         = fail(http.StatusBadRequest, 50008, "Cannot send messages in a non-text channel")
	errNoPermission    = fail(http.StatusForbidden, 50013, "Missing Permissions")
	errWebhookToken    = fail(http.StatusUnauthorized, 50027, "Invalid Webhook Token")
	errAcknowledged    = fail(http.StatusBadRequest, 40060, "Interaction has already been acknowledged.")
	errTooManyCommands = fail(http.StatusBadRequest, 30034,
		"Max number of daily application command creates has been reached (200)")
)

// requestMax bounds what is read of a body: ten files of ten MiB and a little.
const requestMax = 101 << 20

func (s *Server) serveHTTP(w http.ResponseWriter, r *http.Request) {
	if !s.enter() {
		return
	}
	defer s.wg.Done()
	if websocket.IsWebSocketUpgrade(r) {
		s.serveGateway(w, r)
		return
	}
	if strings.HasPrefix(r.URL.Path, "/attachments/") {
		s.serveAttachment(w, r)
		return
	}
	c, e := s.newCall(r)
	s.lock()
	s.requests[c.route]++
	f := s.fault(c.method, c.route)
	s.mu.Unlock()
	if f == nil {
		f = &Fault{}
	}
	if !f.TakesEffect {
		s.sleep(f.Delay)
		if rep, done := f.answer(); done || f.Drop || f.Cut {
			s.write(w, c, rep, f)
			return
		}
	}
	raw, err := io.ReadAll(http.MaxBytesReader(w, r.Body, requestMax))
	if err != nil {
		s.write(w, c, fail(http.StatusRequestEntityTooLarge, 40005, "Request entity too large"), f)
		return
	}
	c.raw = raw
	c.at, c.arrived = time.Now(), s.now()
	rep := s.route(c, e)
	if f.TakesEffect {
		s.sleep(f.Delay)
		if spoilt, done := f.answer(); done {
			rep = spoilt
		}
	}
	s.write(w, c, rep, f)
}

// newCall finds the route of a request; e is nil where there is none.
func (s *Server) newCall(r *http.Request) (*call, *endpoint) {
	c := &call{s: s, method: r.Method, path: r.URL.Path, route: routeUnknown, header: r.Header, query: r.URL.Query()}
	var parts []string
	for _, v := range []string{"/api/v9/", "/api/v10/"} {
		if path, ok := strings.CutPrefix(r.URL.Path, v); ok {
			parts = strings.Split(path, "/")
		}
	}
	for i := range endpoints {
		e := &endpoints[i]
		if params, ok := e.match(parts); ok {
			c.route, c.params = e.route, params
			return c, e
		}
	}
	return c, nil
}

func (e *endpoint) match(parts []string) (map[string]string, bool) {
	if len(parts) != len(e.parts) {
		return nil, false
	}
	params := map[string]string{}
	for i, p := range e.parts {
		switch {
		case strings.HasPrefix(p, "{"):
			params[p[1:len(p)-1]] = parts[i]
		case p != parts[i]:
			return nil, false
		}
	}
	return params, true
}

// route carries a request out.
func (s *Server) route(c *call, e *endpoint) reply {
	if e == nil {
		s.record(c, problem{code: "UNSERVED_ROUTE", message: "the stand-in does not serve this route"})
		return errNotFound
	}
	handle := e.handle[c.method]
	if handle == nil {
		s.record(c, problem{code: "UNSERVED_METHOD", message: "the stand-in does not serve this method"})
		return errMethod
	}
	if !s.ContractOff && !strings.HasPrefix(c.header.Get("User-Agent"), "DiscordBot (") {
		s.record(c, problem{code: "USER_AGENT", message: `User-Agent must read "DiscordBot (url, version)"`})
		return fail(http.StatusBadRequest, 0, "invalid User-Agent")
	}
	if !e.open {
		auth := c.header.Get("Authorization")
		if !strings.HasPrefix(auth, "Bot ") || !s.tokenOK(auth) || s.TokenReset() {
			return errUnauthorized
		}
		if id, has := c.params["application_id"]; has && id != s.ApplicationID() {
			return errUnknownApp
		}
	}
	if limited, yes := s.limit(c, e); yes {
		return limited
	}
	rep := handle(c)
	if rep.status == http.StatusNotFound && c.params["webhook_id"] != "" && !s.ContractOff {
		s.lock()
		defer s.mu.Unlock()
		if key := c.method + " " + c.path; s.missing[key] {
			s.note(c, problem{code: "WEBHOOK_404_REPEATED", message: "a request to a webhook that got 404 is not made again"})
		} else {
			s.missing[key] = true
		}
	}
	return rep
}

// write sends the answer, or spoils it as the fault asks.
func (s *Server) write(w http.ResponseWriter, c *call, rep reply, f *Fault) {
	if f.Drop {
		cutSocket(w, "")
		return
	}
	if rep.status == http.StatusUnauthorized || rep.status == http.StatusForbidden || rep.status == http.StatusTooManyRequests {
		s.lock()
		s.rejected = append(since(s.rejected, s.now().Add(-rejectWindow)), s.now())
		s.mu.Unlock()
	}
	var body []byte
	contentType := "application/json"
	switch {
	case rep.page != "":
		body, contentType = []byte(rep.page), "text/html; charset=UTF-8"
	case rep.value != nil:
		body, _ = json.Marshal(rep.value)
	}
	h := w.Header()
	if rep.page == "" {
		s.limitHeaders(c, h)
	}
	for k, v := range rep.header {
		h[k] = v
	}
	if body != nil {
		h.Set("Content-Type", contentType)
		h.Set("Content-Length", strconv.Itoa(len(body)))
	}
	if f.Cut && body == nil {
		cutSocket(w, fmt.Sprintf("HTTP/1.1 %d ", orDefault(rep.status, http.StatusOK)))
		return
	}
	if f.Cut {
		h.Set("Content-Type", contentType)
		h.Set("Content-Length", strconv.Itoa(len(body)+512))
		w.WriteHeader(orDefault(rep.status, http.StatusOK))
		_, _ = w.Write(body[:len(body)/2])
		_ = http.NewResponseController(w).Flush()
		panic(http.ErrAbortHandler)
	}
	w.WriteHeader(rep.status)
	_, _ = w.Write(body)
}

// cutSocket closes the connection after a few last bytes.
func cutSocket(w http.ResponseWriter, last string) {
	nc, _, err := http.NewResponseController(w).Hijack()
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	_, _ = nc.Write([]byte(last))
	_ = nc.Close()
}

// answer is the false answer of a fault.
func (f *Fault) answer() (reply, bool) {
	switch {
	case f.Status == 0 && !f.HTML:
		return reply{status: http.StatusOK}, false
	case f.Status == http.StatusTooManyRequests && f.HTML:
		r := reply{status: f.Status, page: page("Error 1015", "You are being rate limited")}
		r.header = http.Header{"Retry-After": {retryHeader(f.retryAfter())}}
		return r, true
	case f.Status == http.StatusTooManyRequests:
		return tooMany(f.retryAfter(), f.Global, "shared"), true
	case f.HTML:
		status := orDefault(f.Status, http.StatusBadGateway)
		return reply{status: status, page: page(strconv.Itoa(status), http.StatusText(status))}, true
	}
	return fail(f.Status, 0, strconv.Itoa(f.Status)+": "+http.StatusText(f.Status)), true
}

func (f *Fault) retryAfter() time.Duration { return orDefault(f.RetryAfter, time.Second) }

func page(title, text string) string {
	return "<!DOCTYPE html>\n<html><head><title>" + title + "</title></head><body><h1>" + title + "</h1><p>" +
		text + "</p></body></html>\n"
}

// sleep waits, but not longer than the server lives.
func (s *Server) sleep(d time.Duration) {
	if d <= 0 {
		return
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-s.closed:
	}
}

func getGateway(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	return ok(map[string]string{"url": "ws://" + c.s.host()})
}

type sessionStartLimit struct {
	Total          int   `json:"total"`
	Remaining      int   `json:"remaining"`
	ResetAfter     int64 `json:"reset_after"`
	MaxConcurrency int   `json:"max_concurrency"`
}

type gatewayBotJSON struct {
	URL    string            `json:"url"`
	Shards int               `json:"shards"`
	Limit  sessionStartLimit `json:"session_start_limit"`
}

func getGatewayBot(c *call) reply {
	s := c.s
	s.lock()
	defer s.mu.Unlock()
	now := s.now()
	s.identifies = since(s.identifies, now.Add(-identifyDay))
	reset := time.Duration(0)
	if len(s.identifies) > 0 {
		reset = s.identifies[0].Add(identifyDay).Sub(now)
	}
	return ok(gatewayBotJSON{
		URL: "ws://" + s.host(), Shards: orDefault(s.Shards, 1),
		Limit: sessionStartLimit{
			Total: s.identifyTotal(), Remaining: max(0, s.identifyTotal()-len(s.identifies)),
			ResetAfter: reset.Milliseconds(), MaxConcurrency: 1,
		},
	})
}

func getMe(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	return ok(struct {
		userJSON
		MFA      bool   `json:"mfa_enabled"`
		Locale   string `json:"locale"`
		Verified bool   `json:"verified"`
	}{c.s.app.json(), true, "en-US", true})
}

func getApplication(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	s := c.s
	owner := User{ID: s.app.ID, Name: "owner", DisplayName: "Owner"}
	key := s.private.Public()
	return ok(map[string]any{
		"id": s.app.ID, "name": s.app.Name, "icon": nil, "description": "", "type": nil,
		"bot": s.app.json(), "bot_public": true, "bot_require_code_grant": false,
		"verify_key": fmt.Sprintf("%x", key), "flags": 0, "flags_new": "0",
		"redirect_uris": []string{}, "interactions_endpoint_url": orNil(s.endpoint),
		"role_connections_verification_url": nil, "owner": owner.json(),
		"approximate_guild_count": len(s.guilds), "approximate_user_install_count": 0,
		"approximate_user_authorization_count": 0, "explicit_content_filter": 0, "team": nil,
		"eligible_oauth2_scopes": []string{"applications.commands", "bot"},
	})
}

func orNil(text string) any {
	if text == "" {
		return nil
	}
	return text
}

func getGuild(c *call) reply {
	c.s.lock()
	defer c.s.mu.Unlock()
	g := c.s.guilds[c.params["guild_id"]]
	if g == nil {
		return errUnknownGuild
	}
	return ok(g.json())
}

// serveAttachment gives back an uploaded file.
func (s *Server) serveAttachment(w http.ResponseWriter, r *http.Request) {
	parts := strings.Split(r.URL.Path, "/")
	s.lock()
	defer s.mu.Unlock()
	for _, m := range s.messages {
		i := slices.IndexFunc(m.Files, func(f File) bool { return len(parts) > 3 && f.ID == parts[3] })
		if i >= 0 && !m.Deleted {
			w.Header().Set("Content-Type", m.Files[i].ContentType)
			_, _ = w.Write(m.Files[i].Data)
			return
		}
	}
	http.NotFound(w, r)
}
