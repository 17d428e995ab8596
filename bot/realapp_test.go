package bot

import (
	"context"
	"strings"
	"testing"
	"time"

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

// sleepy is an App that takes its time over presses.
type sleepy struct{ App }

func (s sleepy) Press(ctx context.Context, p commands.Press) (commands.Reply, error) {
	time.Sleep(400 * time.Millisecond)
	return s.App.Press(ctx, p)
}

// The buttons of outcomes are deferred in public. A second tap, and a press after
// the stack was changed, get their answer in private all the same.
func TestRealAppSlowPressesStayPrivate(t *testing.T) {
	t.Parallel()
	r := newRig(t, func(r *rig) {
		app, _ := openApp(t)
		r.cfg.App, r.cfg.Commands = sleepy{app}, commands.Commands()
		r.cfg.FormFor, r.cfg.PrivatePress = nil, nil
	}).start()
	shown := r.settled(r.stack("0.703 45/64 0.705"))
	if a := r.settled(r.server.Press(r.mira, shown.Message, shown.Button("Snug"))); !strings.Contains(a.Content, "Cut 1 logged") || a.Ephemeral() {
		t.Fatalf("the first tap: %+v", a)
	}
	ia := r.server.Press(r.mira, shown.Message, shown.Button("Snug"))
	steps, err := ia.WaitSteps(soon(t), 3)
	if err != nil {
		t.Fatal(err, ia.Steps())
	}
	if steps[1].Content != sayApart || steps[1].Ephemeral() || len(steps[1].Buttons()) != 0 {
		t.Errorf("in public: %+v", steps[1])
	}
	if a := steps[2]; !a.Ephemeral() || !strings.Contains(a.Content, "logged as cut 1") || len(a.Buttons()) == 0 {
		t.Errorf("in private: %+v", a)
	}
}
