package bot

import (
	"context"
	"strings"
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

// Those whom a reply concerns are called, by id and by nothing in its text; a
// private one calls nobody.
func TestMembersToTell(t *testing.T) {
	t.Parallel()
	reply := commands.Reply{Text: "Blue case is changed.\n<@9> @everyone", Tell: []string{"41", "42", "41", "Ada", "<@7>", ""}}
	const text = "**Blue case is changed.**\n\\<\u200b@\u200b9> @\u200beveryone" // inert, as every text
	m := render(reply, nil, quiet()).first
	if want := text + "\n<@41> <@42>"; m.Content != want || mustJSON(t, m.Mentions) != `{"parse":[],"users":["41","42"]}` {
		t.Errorf("%q, %s", m.Content, mustJSON(t, m.Mentions))
	}
	reply.Private = true
	if m := render(reply, nil, quiet()).first; m.Content != text || mustJSON(t, m.Mentions) != `{"parse":[]}` {
		t.Errorf("private: %q, %s", m.Content, mustJSON(t, m.Mentions))
	}
	reply = commands.Reply{Text: strings.Repeat("w ", 2500), Tell: []string{"12345678901234567890"}}
	r := render(reply, nil, quiet())
	if n := units(r.first.Content); n > maxContent || !strings.HasSuffix(r.first.Content, "\n<@12345678901234567890>") || len(r.rest) == 0 {
		t.Errorf("%d characters and %d further messages", n, len(r.rest))
	}
}
