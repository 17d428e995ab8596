package local

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"shimwright/commands"
)

// patience bounds one request to the App.
const patience = 30 * time.Second

// outcome is what the script on the page hears about what it sent; the message
// itself comes with the events.
type outcome struct {
	Message int    `json:"message"`         // its number in the conversation
	Error   string `json:"error,omitempty"` // the input cannot be used: why, and what can
	line    string // to be put back for correction
}

// send carries out a typed line.
func (p *Page) send(w http.ResponseWriter, r *http.Request, who Person) {
	line := strings.TrimSpace(r.PostForm.Get("line"))
	m := message{from: who, said: line}
	reply, err := p.guarded(r, func(ctx context.Context) (commands.Reply, error) {
		if line == "" {
			return commands.Reply{}, &commands.UserError{Message: "Nothing was typed.", Hint: "Type / to see the commands."}
		}
		name, options, err := p.Parse(line)
		if err != nil {
			return commands.Reply{}, err
		}
		return p.App.Run(ctx, commands.Call{Caller: p.caller(who), Name: name, Options: options})
	})
	out := p.post(m, reply, err)
	if out.Error != "" {
		out.line = line
	}
	p.answer(w, r, who, out)
}

// press carries out a button, or a form with its values, of a message that who
// can see.
func (p *Page) press(w http.ResponseWriter, r *http.Request, who Person) {
	id, _ := strconv.Atoi(r.PostForm.Get("message"))
	on, seen := p.talk.find(id, who)
	action, ok := actionOf(on.reply, r.PostForm.Get("button"))
	m := message{from: who, pressed: true, said: "a button"}
	if !seen || !ok {
		p.answer(w, r, who, p.post(m, commands.Reply{}, &commands.UserError{
			Message: "That button is no longer there.", Hint: "Look at the message again, or send the command once more.",
		}))
		return
	}

	values := map[string]string{}
	m.said = action.Label
	if action.Form != nil {
		var typed []string
		for _, f := range action.Form.Fields {
			if v := strings.TrimSpace(r.PostForm.Get("value." + f.Name)); v != "" {
				values[f.Name] = v
				typed = append(typed, f.Label+": "+v)
			}
		}
		if len(typed) > 0 {
			m.said += " (" + strings.Join(typed, "; ") + ")"
		}
	}
	reply, err := p.guarded(r, func(ctx context.Context) (commands.Reply, error) {
		return p.App.Press(ctx, commands.Press{Caller: p.caller(who), ID: action.ID, Values: values})
	})
	// What only the asker may see never takes the place of what everyone sees.
	if err == nil && reply.Replace && (!reply.Private || on.only == who.Key) &&
		p.talk.replace(on.id, reply, who.Name+": "+m.said) {
		p.answer(w, r, who, outcome{Message: on.id})
		return
	}
	p.answer(w, r, who, p.post(m, reply, err))
}

func actionOf(r commands.Reply, id string) (commands.Action, bool) {
	for _, a := range r.Actions {
		if a.ID == id {
			return a, true
		}
	}
	return commands.Action{}, false
}

// guarded asks the App. It goes on when the browser leaves: the reply is kept
// for whoever looks next.
func (p *Page) guarded(r *http.Request, ask func(context.Context) (commands.Reply, error)) (reply commands.Reply, err error) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), patience)
	defer cancel()
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	return ask(ctx)
}

// post adds what came back to the conversation. An error is for the asker alone;
// one that is not the asker's goes to the log under a reference.
func (p *Page) post(m message, reply commands.Reply, err error) outcome {
	m.at, m.reply = p.Now(), reply
	if reply.Private {
		m.only = m.from.Key
	}
	var out outcome
	if err != nil {
		m.only, m.failed = m.from.Key, true
		var wrong *commands.UserError
		if errors.As(err, &wrong) {
			m.reply = commands.Reply{Text: strings.TrimSpace(wrong.Message + "\n" + wrong.Hint)}
			out.Error = m.reply.Text
		} else {
			ref := reference()
			p.Log.Error("a request failed", "reference", ref, "member", m.from.Key, "asked", m.said, "error", err)
			m.reply = commands.Reply{Text: "Something went wrong here. Reference " + ref + "\nThe log of the program says more under that reference."}
		}
	}
	out.Message = p.talk.add(m)
	return out
}

// answer tells the script what happened, or sends a browser without script back
// to the page.
func (p *Page) answer(w http.ResponseWriter, r *http.Request, who Person, out outcome) {
	if r.Header.Get("Accept") == "application/json" {
		p.writeJSON(w, out)
		return
	}
	back := url.URL{Path: "/as/" + who.Key, RawPath: personPath(who), Fragment: "m" + strconv.Itoa(out.Message)}
	if out.line != "" {
		back.RawQuery = url.Values{"line": {out.line}}.Encode()
	}
	http.Redirect(w, r, back.String(), http.StatusSeeOther)
}

func (p *Page) writeJSON(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	if err := json.NewEncoder(w).Encode(v); err != nil {
		p.Log.Debug("the browser left before the answer", "error", err)
	}
}

func personPath(who Person) string { return "/as/" + url.PathEscape(who.Key) }
