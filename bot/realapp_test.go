package bot

import (
	"strings"
	"testing"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// The App that ships, over the wire: from three readings to "dialled in".
func TestRealAppDialsIn(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		r.cfg.App, _ = openApp(t)
		r.cfg.Commands = commands.Commands()
		r.cfg.FormFor, r.cfg.PrivatePress = nil, nil
	}).start()
	a := r.settled(r.stack("0.703 45/64 0.705"))
	if !strings.HasPrefix(a.Content, "**Stack: ") || len(a.Components) == 0 || len(a.Components) > maxRows {
		t.Fatalf("answer %+v", a)
	}
	for _, b := range a.Buttons() { // every button is answered
		ia := r.server.Press(r.mira, a.Message, b.CustomID)
		p := r.settled(ia)
		if strings.Contains(p.Content, "reference") {
			t.Errorf("%s: %s", b.Label, p.Content)
		}
		if p.Modal != nil && len(p.Modal.Inputs()) == 0 {
			t.Errorf("%s opens an empty form", b.Label)
		}
	}
	a = r.settled(r.stack("0.703 45/64 0.705"))
	for _, feel := range []string{"Tight", "Snug", "Snug"} {
		a = r.settled(r.server.Press(r.mira, a.Message, a.Button(feel)))
		if !strings.Contains(a.Content, "logged") {
			t.Fatalf("%s: %s", feel, a.Content)
		}
	}
	if !strings.Contains(strings.ToLower(a.Content), "dialled in") {
		t.Errorf("after two snug cuts: %s", a.Content)
	}
	c := r.settled(r.server.Complete(r.mira, r.bench, "stack", fakediscord.Focus(fakediscord.String("set", "metric"))))
	if len(c.Choices) != 1 {
		t.Errorf("choices %+v", c.Choices)
	}
	if bad := r.settled(r.stack("three")); !bad.Ephemeral() || !strings.Contains(bad.Content, "stock") {
		t.Errorf("a reading that is none: %+v", bad)
	}
}
