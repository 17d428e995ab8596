package fakediscord_test

import (
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
)

// endpoint is a bot behind HTTP, as strict as the documentation asks.
func endpoint(t *testing.T, s *fakediscord.Server, answer func(http.ResponseWriter, []byte)) *httptest.Server {
	t.Helper()
	key, err := hex.DecodeString(s.PublicKey())
	if err != nil {
		t.Fatal(err)
	}
	h := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		stamp := r.Header.Get("X-Signature-Timestamp")
		signature, _ := hex.DecodeString(r.Header.Get("X-Signature-Ed25519"))
		seconds, _ := strconv.ParseInt(stamp, 10, 64)
		old := time.Since(time.Unix(seconds, 0)).Abs() > time.Minute
		if old || len(signature) != ed25519.SignatureSize || !ed25519.Verify(key, append([]byte(stamp), body...), signature) {
			w.WriteHeader(http.StatusUnauthorized)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		var ia struct{ Type int }
		if err := json.Unmarshal(body, &ia); err == nil && ia.Type == fakediscord.TypePing {
			_, _ = io.WriteString(w, `{"type":1}`)
			return
		}
		answer(w, body)
	}))
	t.Cleanup(h.Close)
	return h
}

func TestSigned(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	h := endpoint(t, s, nil)
	ping := []byte(`{"type":1}`)
	for _, tc := range []struct {
		name  string
		tweak fakediscord.Tweak
		want  int
	}{
		{"good", fakediscord.Tweak{}, 200},
		{"old", fakediscord.Tweak{Age: time.Hour}, 401},
		{"from the future", fakediscord.Tweak{Age: -time.Hour}, 401},
		{"bad signature", fakediscord.Tweak{BadSignature: true}, 401},
		{"no signature", fakediscord.Tweak{NoSignature: true}, 401},
		{"changed body", fakediscord.Tweak{Tampered: true}, 401},
	} {
		status, answer, err := s.Signed(t.Context(), h.URL, ping, tc.tweak)
		if err != nil || status != tc.want {
			t.Errorf("%s: %d %s %v, want %d", tc.name, status, answer, err, tc.want)
		}
	}
}

func TestDeliverTo(t *testing.T) {
	for _, tc := range []struct {
		name   string
		answer func(*testing.T, *fakediscord.Server, http.ResponseWriter, []byte)
		files  int
	}{
		{"in the response", func(_ *testing.T, _ *fakediscord.Server, w http.ResponseWriter, _ []byte) {
			_, _ = io.WriteString(w, msg(`"content":"x"`))
		}, 0},
		{"in the response, with a file", func(_ *testing.T, _ *fakediscord.Server, w http.ResponseWriter, _ []byte) {
			w.Header().Set("Content-Type", mixed)
			_, _ = io.WriteString(w, withFile(png))
		}, 1},
		{"by the callback route", func(t *testing.T, s *fakediscord.Server, w http.ResponseWriter, body []byte) {
			w.WriteHeader(http.StatusAccepted)
			var ia struct{ ID, Token string }
			_ = json.Unmarshal(body, &ia)
			status, text, _ := request(t, s, http.MethodPost, "/interactions/"+ia.ID+"/"+ia.Token+"/callback", "application/json", msg(`"content":"x"`))
			if status != 204 {
				t.Errorf("callback: %d %s", status, text)
			}
		}, 0},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := start(t, &fakediscord.Server{})
			mira := s.AddUser("mira")
			h := endpoint(t, s, func(w http.ResponseWriter, body []byte) { tc.answer(t, s, w, body) })
			if err := s.DeliverTo(t.Context(), h.URL); err != nil {
				t.Fatal(err)
			}
			ia := s.Command(mira, s.DM(mira), "stack")
			a, err := ia.Wait(soon(t))
			h.Close() // the endpoint is through with its request
			if err != nil || a.Content != "x" || len(a.Files) != tc.files || ia.Answers() != 1 || ia.Deliveries() != 1 {
				t.Errorf("%+v %v", a, err)
			}
			if v := s.Violations(); len(v) > 0 {
				t.Errorf("violations %v", v)
			}
		})
	}
}

// TestDeliveredAnswerIsChecked: the response of an endpoint is held to the same
// contract as a callback.
func TestDeliveredAnswerIsChecked(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	mira := s.AddUser("mira")
	h := endpoint(t, s, func(w http.ResponseWriter, _ []byte) {
		_, _ = io.WriteString(w, `{"type":4,"data":{"content":"loud"}}`)
	})
	if err := s.DeliverTo(t.Context(), h.URL); err != nil {
		t.Fatal(err)
	}
	ia := s.Command(mira, s.DM(mira), "stack")
	if err := ia.WaitRefusal(soon(t)); err != nil || ia.Refusals()[0].Status != 400 || ia.Answers() != 0 {
		t.Errorf("%v, refusals %v", err, ia.Refusals())
	}
	if got := broken(s); len(got) != 1 || got[0] != "HOUSE_ALLOWED_MENTIONS" {
		t.Errorf("broken %v", got)
	}
}

// TestDeliverToChecks: an endpoint that takes anything is not saved.
func TestDeliverToChecks(t *testing.T) {
	s := start(t, &fakediscord.Server{})
	for _, tc := range []struct{ answer, want string }{
		{`{"type":4}`, "PING got"},
		{`{"type":1}`, "a bad signature got 200"},
	} {
		h := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, tc.answer) }))
		err := s.DeliverTo(t.Context(), h.URL)
		h.Close()
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("got %v, want %q", err, tc.want)
		}
	}
}
