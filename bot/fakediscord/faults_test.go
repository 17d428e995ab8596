package fakediscord_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
)

// try posts an answer and returns what came of it.
func try(t *testing.T, s *fakediscord.Server, ia *fakediscord.Interaction) (int, string, http.Header, error) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL()+"/api/v9/interactions/"+ia.ID+"/"+ia.Token+"/callback",
		strings.NewReader(msg(`"content":"x"`)))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "DiscordBot (https://example.invalid, 1)")
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		return 0, "", nil, err
	}
	defer func() { _ = res.Body.Close() }()
	raw, err := io.ReadAll(res.Body)
	return res.StatusCode, string(raw), res.Header, err
}

func TestFaults(t *testing.T) {
	for _, tc := range []struct {
		name    string
		fault   fakediscord.Fault
		status  int // 0 for a broken connection
		body    string
		answers int
	}{
		{"500", fakediscord.Fault{Status: 500}, 500, `"message":"500: Internal Server Error"`, 0},
		{"503 that took effect", fakediscord.Fault{Status: 503, TakesEffect: true}, 503, "", 1},
		{"502 as a page", fakediscord.Fault{HTML: true}, 502, "<html>", 0},
		{"429", fakediscord.Fault{Status: 429, RetryAfter: 1500 * time.Millisecond}, 429, `"retry_after":1.5,"global":false`, 0},
		{"429 of the whole bot", fakediscord.Fault{Status: 429, Global: true}, 429, `"global":true`, 0},
		{"429 as a page", fakediscord.Fault{Status: 429, HTML: true}, 429, "rate limited", 0},
		{"dropped before", fakediscord.Fault{Drop: true}, 0, "", 0},
		{"dropped after", fakediscord.Fault{Drop: true, TakesEffect: true}, 0, "", 1},
		{"cut in the middle", fakediscord.Fault{Cut: true, TakesEffect: true}, 0, "", 1},
		{"cut without effect", fakediscord.Fault{Cut: true}, 0, "", 0},
		{"slow answer", fakediscord.Fault{Delay: 30 * time.Millisecond, TakesEffect: true}, 204, "", 1},
		{"slow arrival", fakediscord.Fault{Delay: 30 * time.Millisecond}, 204, "", 1},
		{"slow until it expired", fakediscord.Fault{Delay: 100 * time.Millisecond}, 404, `10062`, 0},
		{"another route", fakediscord.Fault{Status: 500, Route: fakediscord.RouteFollowups}, 204, "", 1},
		{"another method", fakediscord.Fault{Status: 500, Method: http.MethodGet}, 204, "", 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			expiry := time.Minute // more than a busy machine needs
			if tc.status == http.StatusNotFound {
				expiry = tc.fault.Delay / 2
			}
			s := start(t, &fakediscord.Server{Expiry: expiry})
			mira := s.AddUser("mira")
			s.Inject(tc.fault)
			ia := s.Command(mira, s.DM(mira), "stack")
			began := time.Now()
			status, body, h, err := try(t, s, ia)
			switch {
			case tc.status == 0 && err == nil:
				t.Errorf("got %d %s, want a broken connection", status, body)
			case tc.status != 0 && (err != nil || status != tc.status || !strings.Contains(body, tc.body)):
				t.Errorf("got %d %s %v", status, body, err)
			}
			if status == 429 && h.Get("Retry-After") == "" {
				t.Error("429 without Retry-After")
			}
			if time.Since(began) < tc.fault.Delay {
				t.Errorf("came after %v", time.Since(began))
			}
			if ia.Answers() != tc.answers {
				t.Errorf("%d answers, want %d", ia.Answers(), tc.answers)
			}
		})
	}
}

// TestChance: faults by chance repeat with the same seed, and at one half hit
// neither never nor always.
func TestChance(t *testing.T) {
	run := func(seed uint64) string {
		s := start(t, &fakediscord.Server{Seed: seed})
		mira := s.AddUser("mira")
		s.Inject(fakediscord.Fault{Status: 500, Times: -1, Chance: 0.5})
		got := ""
		for range 40 {
			status, _, _, err := try(t, s, s.Command(mira, s.DM(mira), "stack"))
			if err != nil {
				t.Fatal(err)
			}
			got += map[int]string{204: ".", 500: "x"}[status]
		}
		s.ClearFaults()
		if status, _, _, _ := try(t, s, s.Command(mira, s.DM(mira), "stack")); status != 204 {
			t.Errorf("after ClearFaults: %d", status)
		}
		return got
	}
	a, b, c := run(1), run(1), run(2)
	if a != b || a == c {
		t.Errorf("seeds 1, 1 and 2 gave\n%s\n%s\n%s", a, b, c)
	}
	if n := strings.Count(a, "x"); n < 8 || n > 32 {
		t.Errorf("%d of 40 at one half: %s", n, a)
	}
}

// TestBlocked: after 10,000 rejected requests the address gets pages only.
func TestBlocked(t *testing.T) {
	s := start(t, &fakediscord.Server{Token: "right"})
	client := &http.Client{}
	defer client.CloseIdleConnections()
	last := ""
	for range 10001 {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.URL()+"/api/v9/users/@me", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Authorization", "Bot wrong")
		req.Header.Set("User-Agent", "DiscordBot (https://example.invalid, 1)")
		res, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, res.Body)
		_ = res.Body.Close()
		last = res.Status
	}
	// Even what needs no token is blocked now.
	if status, body, _ := requestAs(t, s, "", http.MethodGet, "/gateway", "", ""); status != 429 || !strings.Contains(body, "<html>") {
		t.Errorf("got %d %s after %s", status, body, last)
	}
}
