package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
)

// register makes the commands known to one server, or everywhere. It looks
// first and writes only on a difference, all at once: a server takes 200 new
// commands a day.
func register(ctx context.Context, r *rest, cfg Config, guild string, remove bool) error {
	path := "/applications/" + r.app + "/commands"
	if guild != "" {
		if _, err := strconv.ParseUint(guild, 10, 64); err != nil {
			return &Fatal{Code: ExitConfig, Fix: fmt.Sprintf("the server id %q is no number: switch Discord's developer mode on and copy the server's id, such as 41771983423143937", guild)}
		}
		path = "/applications/" + r.app + "/guilds/" + guild + "/commands"
	}
	want := []definition{} // never nil: null would be refused
	if !remove {
		want = define(cfg.Commands, guild != "")
	}
	present, err := r.steady(ctx, http.MethodGet, path, nil)
	if refused := new(failure); guild != "" && errors.As(err, &refused) && (refused.status == http.StatusForbidden || refused.status == http.StatusNotFound) {
		return &Fatal{Code: ExitConfig, Fix: fmt.Sprintf("the bot may not register commands in the server %s (%v): invite it there with the scopes bot and applications.commands", guild, refused)}
	}
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
