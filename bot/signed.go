package bot

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"time"
)

const (
	maxBody = 1 << 20         // an interaction is far smaller
	maxAge  = 5 * time.Minute // a signature that old is a replay: an interaction lives 3 s
)

// serveSigned takes interactions as signed HTTP requests, at any path, until ctx
// ends.
func serveSigned(ctx context.Context, cfg Config, d *desk, h *health) error {
	key, err := hex.DecodeString(cfg.PublicKey)
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", cfg.InteractionsAddr)
	if err != nil {
		return &Fatal{Code: ExitConfig, Fix: fmt.Sprintf("the interactions address %q cannot be used: %v", cfg.InteractionsAddr, err)}
	}
	server := &http.Server{
		Handler:           &signed{key: key, desk: d},
		ReadHeaderTimeout: 2 * time.Second,
		ReadTimeout:       3 * time.Second,
		IdleTimeout:       time.Minute,
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	cfg.Log.InfoContext(ctx, "taking interactions over HTTP", "address", l.Addr().String())
	h.ready(true)
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), cfg.pace.window)
	defer cancel()
	if err := server.Shutdown(grace); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	_ = server.Close()
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// signed is the endpoint that Discord posts interactions to.
type signed struct {
	key  ed25519.PublicKey
	desk *desk
}

func (s *signed) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	if req.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		http.Error(w, "interactions are posted", http.StatusMethodNotAllowed)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, req.Body, maxBody))
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		http.Error(w, "too large", http.StatusRequestEntityTooLarge)
		return
	case err != nil:
		http.Error(w, "unreadable", http.StatusBadRequest)
		return
	case !s.genuine(req.Header.Get("X-Signature-Ed25519"), req.Header.Get("X-Signature-Timestamp"), body):
		http.Error(w, "bad signature", http.StatusUnauthorized)
		return
	}
	in, err := decode(body)
	if err == nil && in.Type == inPing {
		s.write(w, callback{Type: cbPong})
		return
	}
	wait := &inline{answer: make(chan callback, 1), written: make(chan struct{})}
	defer close(wait.written)
	if !s.desk.take(body, wait) {
		http.Error(w, "not an interaction to answer", http.StatusBadRequest)
		return
	}
	limit := time.NewTimer(s.desk.cfg.pace.window)
	defer limit.Stop()
	select {
	case cb := <-wait.answer:
		s.write(w, cb)
	case <-limit.C:
		http.Error(w, "no answer in time", http.StatusGatewayTimeout)
	case <-req.Context().Done():
	}
}

func (s *signed) write(w http.ResponseWriter, cb callback) {
	w.Header().Set("Content-Type", "application/json")
	if err := json.NewEncoder(w).Encode(cb); err != nil {
		s.desk.cfg.Log.Error("a response could not be written", "error", err)
	}
	_ = http.NewResponseController(w).Flush()
}

// genuine checks Discord's signature over timestamp and body, and the
// timestamp's age on Discord's clock.
func (s *signed) genuine(signature, timestamp string, body []byte) bool {
	sig, err := hex.DecodeString(signature)
	if err != nil || len(sig) != ed25519.SignatureSize {
		return false
	}
	sec, err := strconv.ParseInt(timestamp, 10, 64)
	if err != nil || s.desk.rest.road.discordNow().Sub(time.Unix(sec, 0)).Abs() > maxAge {
		return false
	}
	return ed25519.Verify(s.key, append([]byte(timestamp), body...), sig)
}
