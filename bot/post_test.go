package bot

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
	"shimwright/commands/drawing"
)

// Rule: a nonce with enforce_nonce keeps a repeated post single; 403 and 404 stop
// it for good.
func TestRulePosts(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("a line of the digest\n", 150)
	tests := map[string]struct {
		fault *fakediscord.Fault
		spoil func(*rig)
		text  string
		want  int // messages
		err   error
	}{
		"plain":               {nil, nil, "digest", 1, nil},
		"long":                {nil, nil, long, 2, nil},
		"500 after effect":    {&fakediscord.Fault{Status: 500, TakesEffect: true}, nil, "digest", 1, nil},
		"dropped":             {&fakediscord.Fault{Drop: true, TakesEffect: true}, nil, "digest", 1, nil},
		"429":                 {&fakediscord.Fault{Status: 429, RetryAfter: 50 * time.Millisecond}, nil, "digest", 1, nil},
		"no right to post":    {nil, func(r *rig) { r.hall.RestrictBot(r.bench, 0) }, "digest", 0, ErrNoAccess},
		"the channel is gone": {nil, func(r *rig) { r.hall.RemoveChannel(r.bench) }, "digest", 0, ErrNoAccess},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.cfg.Draw = func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
			})
			p, err := NewPoster(r.cfg)
			if err != nil {
				t.Fatal(err)
			}
			defer p.Close()
			if tt.fault != nil {
				tt.fault.Method, tt.fault.Route = http.MethodPost, fakediscord.RouteChannelMessages
				r.server.Inject(*tt.fault)
			}
			if tt.spoil != nil {
				tt.spoil(r)
			}
			reply := commands.Reply{Text: tt.text, Private: true, Pictures: []commands.Picture{{Name: "sets", Alt: "who has which set"}}}
			for range 2 { // the job may run again after a crash
				if err := p.Post(context.Background(), r.bench.ID, "digest-7-2026-11-25", reply); !errors.Is(err, tt.err) {
					t.Fatalf("got %v, want %v", err, tt.err)
				}
			}
			got := r.server.Messages(r.bench)
			if len(got) != tt.want {
				t.Errorf("%d messages, want %d", len(got), tt.want)
			}
			if tt.want > 0 && (len(got[0].Files) != 1 || got[0].Files[0].Description != "who has which set") {
				t.Errorf("files %+v", got[0].Files)
			}
			if n := r.server.RejectedRequests(); tt.err != nil && n > 2 {
				t.Errorf("%d rejected requests for two posts", n)
			}
			for _, v := range r.server.Violations() {
				t.Errorf("Discord would refuse: %v", v)
			}
		})
	}
}
