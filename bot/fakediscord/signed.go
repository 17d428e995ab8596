package fakediscord

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"
)

// Tweak spoils a signed request.
type Tweak struct {
	Age          time.Duration // how old the timestamp is; negative for the future
	BadSignature bool          // a well-formed signature of something else
	NoSignature  bool          // the headers are absent
	Tampered     bool          // the body was changed after signing
}

// Signed posts a body to a bot's endpoint as Discord does, and returns the
// status and the answer.
func (s *Server) Signed(ctx context.Context, url string, body []byte, t Tweak) (int, []byte, error) {
	res, err := s.post(ctx, url, body, t)
	return res.status, res.body, err
}

// response is what an endpoint answered.
type response struct {
	status      int
	contentType string
	body        []byte
}

func (s *Server) post(ctx context.Context, url string, body []byte, t Tweak) (response, error) {
	s.lock()
	stamp := strconv.FormatInt(s.now().Add(-t.Age).Unix(), 10)
	key, client := s.private, s.client
	s.mu.Unlock()
	signature := ed25519.Sign(key, append([]byte(stamp), body...))
	if t.BadSignature {
		signature = ed25519.Sign(key, []byte("another message"))
	}
	if t.Tampered {
		body = append(bytes.Clone(body), ' ')
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, url, bytes.NewReader(body))
	if err != nil {
		return response{}, fmt.Errorf("fakediscord: %w", err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "Discord-Interactions/1.0 (+https://discord.com)")
	if !t.NoSignature {
		req.Header.Set("X-Signature-Ed25519", hex.EncodeToString(signature))
		req.Header.Set("X-Signature-Timestamp", stamp)
	}
	res, err := client.Do(req)
	if err != nil {
		return response{}, fmt.Errorf("fakediscord: %w", err)
	}
	defer func() { _ = res.Body.Close() }()
	answer, err := io.ReadAll(io.LimitReader(res.Body, requestMax))
	if err != nil {
		return response{}, fmt.Errorf("fakediscord: %w", err)
	}
	return response{res.StatusCode, res.Header.Get("Content-Type"), answer}, nil
}

// DeliverTo sends interactions to a bot's HTTP endpoint from now on, and no
// longer over the gateway. As Discord does when the address is saved, it first
// asks whether a PING gets its pong and a bad signature gets 401. An empty url
// goes back to the gateway.
func (s *Server) DeliverTo(ctx context.Context, url string) error {
	if url != "" {
		ping := []byte(`{"id":"` + s.freshID() + `","application_id":"` + s.ApplicationID() +
			`","type":1,"token":"ping","version":1}`)
		status, answer, err := s.Signed(ctx, url, ping, Tweak{})
		if err != nil {
			return err
		}
		var pong struct{ Type int }
		if status != http.StatusOK || json.Unmarshal(answer, &pong) != nil || pong.Type != CallbackPong {
			return fmt.Errorf("fakediscord: PING got %d %q, not 200 {\"type\":1}", status, answer)
		}
		status, _, err = s.Signed(ctx, url, ping, Tweak{BadSignature: true})
		if err != nil {
			return err
		}
		if status != http.StatusUnauthorized {
			return fmt.Errorf("fakediscord: a bad signature got %d, not 401", status)
		}
	}
	s.lock()
	defer s.mu.Unlock()
	s.endpoint = url
	return nil
}

func (s *Server) freshID() string {
	s.lock()
	defer s.mu.Unlock()
	return s.newID()
}

// deliver posts an interaction and takes the answer out of the response. A bot
// may also say 202 and use the callback route.
func (s *Server) deliver(ia *Interaction, url string) {
	if !s.enter() {
		return
	}
	s.lock()
	ia.deliveries++
	s.mu.Unlock()
	go func() {
		defer s.wg.Done()
		ctx, cancel := context.WithTimeout(s.life, s.expiry())
		defer cancel()
		res, err := s.post(ctx, url, ia.payload, Tweak{})
		s.lock()
		if err != nil {
			if !errors.Is(err, context.Canceled) {
				ia.refuse(reply{value: apiError{Message: err.Error()}})
			}
			s.mu.Unlock()
			return
		}
		if res.status == http.StatusAccepted || res.status == http.StatusNoContent {
			s.mu.Unlock()
			return
		}
		ia.attempts++
		s.mu.Unlock()
		c := &call{
			s: s, method: http.MethodPost, path: url, route: RouteCallback,
			header: http.Header{}, raw: res.body, arrived: s.now(), at: time.Now(),
		}
		rep := fail(res.status, 0, "the endpoint answered "+http.StatusText(res.status))
		if res.status == http.StatusOK {
			rep = c.answer(ia, res.contentType)
		}
		if rep.status >= 300 {
			s.lock()
			ia.refuse(rep)
			s.mu.Unlock()
		}
	}()
}
