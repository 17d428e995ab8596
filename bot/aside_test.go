package bot

import (
	"context"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
	"shimwright/commands"
)

// What is to be read now follows the answer, for the asker alone, also where the
// answer was deferred in public.
func TestDetailToReadNow(t *testing.T) {
	t.Parallel()
	for name, slow := range map[string]time.Duration{"at once": 0, "deferred": tooLong} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, func(r *rig) {
				r.app.run = func(context.Context, commands.Call) (commands.Reply, error) {
					time.Sleep(slow)
					button := func(id string) commands.Action { return commands.Action{ID: id, Label: id} }
					return commands.Reply{Text: "pair\nload it", Details: []commands.Detail{
						{Action: button("why"), Text: "Because."}, {Action: button("cautions"), Text: "Cautions\nunplug it", Now: true},
					}}, nil
				}
			}).start()
			ia := r.stack("23/32")
			first := 1
			if slow > 0 {
				first = 2
			}
			steps, err := ia.WaitSteps(soon(t), first+1)
			if err != nil {
				t.Fatal(err)
			}
			if a := steps[first-1]; a.Content != "**pair**\nload it" || a.Ephemeral() || len(a.Buttons()) != 2 {
				t.Errorf("the answer is %+v", a)
			}
			if a := steps[first]; a.Step != fakediscord.StepFollowup || !a.Ephemeral() || a.Content != "**Cautions**\nunplug it" {
				t.Errorf("and then %+v", a)
			}
		})
	}
}
