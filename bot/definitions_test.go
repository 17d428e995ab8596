package bot

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// The golden files are the contract with Discord: a change in them is one that
// members see. Their rules are Discord's command reference: required options
// first, contexts and integration_types for global commands only.
func TestDefinitionsGolden(t *testing.T) {
	for name, oneServer := range map[string]bool{"definitions_global.json": false, "definitions_server.json": true} {
		t.Run(name, func(t *testing.T) {
			got, err := json.MarshalIndent(define(lineup(), oneServer), "", "  ")
			if err != nil {
				t.Fatal(err)
			}
			golden(t, name, append(got, '\n'))
		})
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s (-update rewrites it):\n%s", name, cmp.Diff(string(want), string(got)))
	}
}

func TestSameDefinitions(t *testing.T) {
	want := define(lineup(), false)
	change := func(f func([]map[string]any)) json.RawMessage {
		var list []map[string]any
		if err := json.Unmarshal([]byte(mustJSON(t, want)), &list); err != nil {
			t.Fatal(err)
		}
		f(list)
		return json.RawMessage(mustJSON(t, list))
	}
	tests := map[string]struct {
		present json.RawMessage
		same    bool
	}{
		"as sent": {change(func([]map[string]any) {}), true},
		"with what Discord adds": {change(func(l []map[string]any) {
			for _, c := range l {
				c["id"], c["version"], c["nsfw"], c["name_localizations"], c["default_member_permissions"] = "1", "2", false, nil, nil
			}
		}), true},
		"in another order":   {change(func(l []map[string]any) { l[0], l[1] = l[1], l[0] }), true},
		"another text":       {change(func(l []map[string]any) { l[0]["description"] = "Old" }), false},
		"for admins only":    {change(func(l []map[string]any) { l[0]["default_member_permissions"] = "0" }), false},
		"other contexts":     {change(func(l []map[string]any) { l[0]["contexts"] = []int{0} }), false},
		"one is another":     {change(func(l []map[string]any) { l[0]["name"] = "old" }), false},
		"none":               {json.RawMessage(`[]`), false},
		"an option is other": {change(func(l []map[string]any) { l[0]["options"].([]any)[0].(map[string]any)["autocomplete"] = true }), false},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			same, err := sameDefinitions(tt.present, want, false)
			if err != nil || same != tt.same {
				t.Errorf("same = %v, %v; want %v", same, err, tt.same)
			}
		})
	}
}

// registerRig is a stand-in with which only Register speaks.
func registerRig(t *testing.T, cmds []commands.Command) (*fakediscord.Server, *fakediscord.Guild, Config) {
	t.Helper()
	s := &fakediscord.Server{Token: testToken}
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for _, v := range s.Violations() {
			t.Errorf("Discord would refuse: %v", v)
		}
		s.Close()
	})
	log := &logbook{}
	return s, s.AddGuild("Evening class"), newRigConfig(s, cmds, log)
}

func TestRegister(t *testing.T) {
	t.Parallel()
	s, hall, cfg := registerRig(t, lineup())
	ctx := context.Background()
	steps := []struct {
		guild string
		clear bool
		puts  int // to that place so far
		names string
	}{
		{"", false, 1, "stack mine set"},
		{"", false, 1, "stack mine set"}, // nothing changed, nothing written
		{hall.ID, false, 1, "stack mine set"},
		{hall.ID, false, 1, "stack mine set"},
		{hall.ID, true, 2, ""},
		{hall.ID, true, 2, ""},
		{"", true, 2, ""},
	}
	puts := func(guild string) int {
		if guild == "" {
			return s.Requests(fakediscord.RouteCommands)
		}
		return s.Requests(fakediscord.RouteGuildCommands)
	}
	looks := map[string]int{}
	for i, step := range steps {
		if err := Register(ctx, cfg, step.guild, step.clear); err != nil {
			t.Fatalf("step %d: %v", i, err)
		}
		looks[step.guild]++
		if n := puts(step.guild) - looks[step.guild]; n != step.puts {
			t.Errorf("step %d: %d overwrites, want %d", i, n, step.puts)
		}
		g := hall
		if step.guild == "" {
			g = nil
		}
		if got := strings.Join(s.Registered(g), " "); got != step.names {
			t.Errorf("step %d: registered %q, want %q", i, got, step.names)
		}
	}
}

// The commands that ship, past every check of the stand-in.
func TestRealCommandsRegister(t *testing.T) {
	t.Parallel()
	cmds := commands.Commands()
	if len(cmds) == 0 {
		t.Skip("package commands has no commands yet")
	}
	s, hall, cfg := registerRig(t, cmds)
	for _, guild := range []string{"", hall.ID} {
		if err := Register(context.Background(), cfg, guild, false); err != nil {
			t.Fatal(err)
		}
	}
	if got := len(s.Registered(nil)); got != len(cmds) {
		t.Errorf("%d commands registered, want %d", got, len(cmds))
	}
}

// Discord's own limits, in passing: a bad token ends at once and says what to do.
func TestRegisterBadToken(t *testing.T) {
	t.Parallel()
	s, _, cfg := registerRig(t, lineup())
	cfg.Token = "another"
	var fatal *Fatal
	if err := Register(context.Background(), cfg, "", false); !errors.As(err, &fatal) || fatal.Code != ExitToken {
		t.Errorf("got %v, want a Fatal about the token", err)
	}
	if n := s.RejectedRequests(); n != 1 {
		t.Errorf("%d requests were answered 401, want 1: ten thousand block the address", n)
	}
}

// A registration waits out rate limits and faults.
func TestRegisterThroughFaults(t *testing.T) {
	t.Parallel()
	s, _, cfg := registerRig(t, lineup())
	s.Inject(fakediscord.Fault{Method: http.MethodPut, Status: 429, RetryAfter: 30e6})
	s.Inject(fakediscord.Fault{Method: http.MethodPut, Status: 429, HTML: true, RetryAfter: 30e6})
	s.Inject(fakediscord.Fault{Method: http.MethodPut, Status: 503})
	s.Inject(fakediscord.Fault{Method: http.MethodPut, Status: 502, HTML: true})
	s.Inject(fakediscord.Fault{Method: http.MethodPut, Drop: true})
	if err := Register(context.Background(), cfg, "", false); err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(s.Registered(nil), " "); got != "stack mine set" {
		t.Errorf("registered %q", got)
	}
}
