package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/bot"
	"shimwright/bot/fakediscord"
)

// What cannot be mended by trying again ends the program with a code of its own
// and a line that says what to do. The README's table lists the codes.
func TestServeEndsWithAReason(t *testing.T) {
	t.Parallel()
	s := &fakediscord.Server{Token: "the-token"}
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	const token = "SHIMWRIGHT_TOKEN"
	empty := filepath.Join(t.TempDir(), "empty")
	if err := os.WriteFile(empty, []byte("\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	closes := func(code int) *fakediscord.Disturbance {
		return &fakediscord.Disturbance{Do: fakediscord.Close, Code: code}
	}
	tests := map[string]struct {
		args []string
		env  map[string]string
		end  *fakediscord.Disturbance // of the gateway, at IDENTIFY
		code int
		says string
	}{
		"no token":             {[]string{"serve"}, nil, nil, bot.ExitToken, "set SHIMWRIGHT_TOKEN, or SHIMWRIGHT_TOKEN_FILE"},
		"a blank token":        {[]string{"serve"}, map[string]string{token: "  "}, nil, bot.ExitToken, "set SHIMWRIGHT_TOKEN"},
		"no token to register": {[]string{"register"}, nil, nil, bot.ExitToken, "set SHIMWRIGHT_TOKEN"},
		"no token file":        {[]string{"serve"}, map[string]string{token + "_FILE": empty + "-not"}, nil, bot.ExitToken, "cannot be read"},
		"an empty token file":  {[]string{"serve"}, map[string]string{token + "_FILE": empty}, nil, bot.ExitToken, "is empty"},
		"a wrong token":        {[]string{"serve"}, map[string]string{token: "wrong"}, nil, bot.ExitToken, "copy it again"},
		"4004":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4004), bot.ExitToken, "copy it again"},
		"no shard":             {[]string{"serve", "--shard", "2/2"}, map[string]string{token: "the-token"}, nil, bot.ExitShard, "ID/COUNT such as 0/2"},
		"4010":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4010), bot.ExitShard, "below the shard count"},
		"4011":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4011), bot.ExitShard, "raise the shard count"},
		"4012":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4012), bot.ExitVersion, "update the program"},
		"4013":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4013), bot.ExitIntents, "update it"},
		"4014":                 {[]string{"serve"}, map[string]string{token: "the-token"}, closes(4014), bot.ExitIntents, "update it"},
		"no base address":      {[]string{"serve"}, map[string]string{token: "the-token", "SHIMWRIGHT_DISCORD_API": "nowhere"}, nil, bot.ExitConfig, "http://127.0.0.1:8080"},
		"no health address":    {[]string{"serve", "--health-addr", "nowhere"}, map[string]string{token: "the-token"}, nil, bot.ExitConfig, "health address"},
		"no public key":        {[]string{"serve", "--interactions-addr", "127.0.0.1:0"}, map[string]string{token: "the-token"}, nil, bot.ExitConfig, "SHIMWRIGHT_PUBLIC_KEY"},
		"no server id":         {[]string{"register", "--guild", "Evening"}, map[string]string{token: "the-token"}, nil, bot.ExitConfig, "is no number"},
		"a server of others":   {[]string{"register", "--guild", "17"}, map[string]string{token: "the-token"}, nil, bot.ExitConfig, "invite it there"},
		"no database":          {[]string{"serve", "--db", filepath.Join(empty, "x.db")}, map[string]string{token: "the-token"}, nil, exitFault, "x.db"},
		"an unknown flag":      {[]string{"serve", "--bogus"}, nil, nil, exitInput, "-bogus"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) { // in order: the stand-in's plan is for one
			s.ClearFaults()
			if tt.end != nil {
				s.DisturbAt(fakediscord.AtIdentify, 1, 0, *tt.end)
			}
			args := tt.args
			if args[0] == "serve" && tt.code != exitFault {
				args = append(args[:1:1], append([]string{"--db", filepath.Join(t.TempDir(), "s.db")}, args[1:]...)...)
			}
			env := func(name string) string {
				if v, set := tt.env[name]; set || name != "SHIMWRIGHT_DISCORD_API" {
					return v
				}
				return s.URL()
			}
			ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
			defer cancel()
			var out, faults bytes.Buffer
			code := run(ctx, args, env, strings.NewReader(""), &out, &faults)
			if code != tt.code || !strings.Contains(faults.String(), tt.says) {
				t.Errorf("exit %d, want %d with %q:\n%s", code, tt.code, tt.says, faults.String())
			}
		})
	}
	for _, v := range s.Violations() {
		if v.Rule != "RECONNECT_AFTER_FATAL" { // each case is a program of its own
			t.Errorf("Discord would refuse: %v", v)
		}
	}
}
