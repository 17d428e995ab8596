package bot

import (
	"context"
	"strings"
	"testing"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
	"shimwright/commands/drawing"
)

// The straight road: register, connect, a command, a button, a completion, a
// form opened and sent in.
func TestStraightRoad(t *testing.T) {
	t.Parallel()
	var asked commands.Call
	var pressed commands.Press
	r := newRig(t, func(r *rig) {
		r.cfg.Draw = func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
		r.cfg.FormFor = func(id string) (commands.Form, bool) {
			return commands.Form{Title: "Measured groove", Fields: []commands.Field{
				{Name: "floor", Label: "At the floor", Example: "0.721", Required: true},
				{Name: "mouth", Label: "At the mouth"},
			}}, id == "measure"
		}
		r.app.run = func(_ context.Context, c commands.Call) (commands.Reply, error) {
			asked = c
			return commands.Reply{
				Text:     "Pair, two 1/8\nsnug: 0.004 in of play",
				Details:  []commands.Detail{{Action: commands.Action{ID: "why", Label: "Why"}, Text: "..."}},
				Actions:  []commands.Action{{ID: "tight", Label: "Too tight", Row: 1}, {ID: "measure", Label: "Measured", Row: 1}},
				Pictures: []commands.Picture{{Name: "stack", Alt: "A pair and two chippers"}},
			}, nil
		}
		r.app.press = func(_ context.Context, p commands.Press) (commands.Reply, error) {
			pressed = p
			return commands.Reply{Text: "logged as cut 1", Replace: p.ID == "tight"}, nil
		}
		r.app.complete = func(_ context.Context, c commands.Call, option string) ([]commands.Choice, error) {
			return []commands.Choice{{Label: "Blue case " + option + " " + c.Options["set"], Value: "blue"}}, nil
		}
	}).start()

	a := r.settled(r.stack("23/32"))
	if a.Content != "**Pair, two 1/8**\nsnug: 0.004 in of play" || a.Type != fakediscord.CallbackMessage || a.Ephemeral() {
		t.Errorf("answer %+v", a)
	}
	if asked.Name != "stack" || asked.Options["stock"] != "23/32" || asked.ShopKey != r.hall.ID || asked.MemberKey != r.mira.ID || asked.Interaction == "" || asked.Admin {
		t.Errorf("call %+v", asked)
	}
	if len(a.Files) != 1 || a.Files[0].Description != "A pair and two chippers" || a.Files[0].Name != "stack.png" {
		t.Errorf("files %+v", a.Files)
	}

	form := r.settled(r.server.Press(r.mira, a.Message, a.Button("Measured")))
	if form.Modal == nil || form.Modal.CustomID != "measure" || len(form.Modal.Inputs()) != 2 {
		t.Fatalf("form %+v", form)
	}
	sent := r.settled(r.server.Submit(r.mira, form.Modal, map[string]string{"floor": "0.721"}))
	if sent.Content != "**logged as cut 1**" || pressed.ID != "measure" || pressed.Values["floor"] != "0.721" {
		t.Errorf("form answer %+v of %+v", sent, pressed)
	}

	up := r.settled(r.server.Press(r.mira, a.Message, a.Button("Too tight")))
	if up.Type != fakediscord.CallbackUpdate || up.Content != "**logged as cut 1**" || len(up.Buttons()) != 0 || len(up.Files) != 0 {
		t.Errorf("update %+v", up)
	}

	c := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "bl"))))
	if len(c.Choices) != 1 || c.Choices[0].Name != "Blue case set bl" {
		t.Errorf("choices %+v", c.Choices)
	}

	sub := r.settled(r.server.Command(r.mira, r.server.DM(r.mira), "set", fakediscord.Sub("add", fakediscord.String("name", "Red"))))
	if asked.Name != "set add" || asked.Options["name"] != "Red" || asked.ShopKey != "" || asked.MemberKey != r.mira.ID || sub.Content == "" {
		t.Errorf("in a direct message: %+v", asked)
	}
	if got := strings.Join(r.server.Registered(nil), " "); got != "stack mine set" {
		t.Errorf("registered: %s", got)
	}
}
