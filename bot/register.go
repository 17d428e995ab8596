package bot

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
)

// register makes the commands known to one server, or everywhere. It looks
// first and writes only on a difference, all at once: a server takes 200 new
// commands a day.
func register(ctx context.Context, r *rest, cfg Config, guild string, remove bool) error {
	path := "/applications/" + r.app + "/commands"
	if guild != "" {
		path = "/applications/" + r.app + "/guilds/" + guild + "/commands"
	}
	want := []definition{} // never nil: null would be refused
	if !remove {
		want = define(cfg.Commands, guild != "")
	}
	present, err := r.steady(ctx, http.MethodGet, path, nil)
	if err != nil {
		return fmt.Errorf("reading the registered commands: %w", err)
	}
	same, err := sameDefinitions(present, want, guild != "")
	if err != nil {
		return fmt.Errorf("reading the registered commands: %w", err)
	}
	if same {
		cfg.Log.InfoContext(ctx, "commands are registered already", "commands", len(want), "guild", guild)
		return nil
	}
	body, err := json.Marshal(want)
	if err != nil {
		return err
	}
	if _, err := r.steady(ctx, http.MethodPut, path, body); err != nil {
		return fmt.Errorf("registering the commands: %w", err)
	}
	cfg.Log.InfoContext(ctx, "commands registered", "commands", len(want), "guild", guild)
	return nil
}
