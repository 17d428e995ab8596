package local

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"shimwright/commands"
)

// choice is one way to go on with a line.
type choice struct {
	Label string `json:"label"`
	Note  string `json:"note,omitempty"`
	Line  string `json:"line"` // the whole line if it is taken
}

// maxChoices is how many ways to go on a phone shows.
const maxChoices = 25

// complete says how a line could go on from where the cursor is.
func (p *Page) complete(w http.ResponseWriter, r *http.Request, who Person) {
	ctx, cancel := context.WithTimeout(r.Context(), patience)
	defer cancel()
	found := p.choices(ctx, r.PostForm.Get("line"), who)
	if len(found) > maxChoices {
		found = found[:maxChoices]
	}
	p.writeJSON(w, map[string]any{"choices": found})
}

func (p *Page) choices(ctx context.Context, line string, who Person) []choice {
	out := []choice{}
	line = strings.TrimLeft(line, " ")
	if !strings.HasPrefix(line, "/") {
		line = "/" + line
	}
	list, name := p.Commands, ""
	at := 1 // where the word being typed begins
	for {
		word, rest, ended := strings.Cut(line[at:], " ")
		if !ended {
			for _, c := range list {
				if hasPrefixFold(c.Name, word) {
					label := strings.TrimSpace(name + " " + c.Name)
					out = append(out, choice{Label: "/" + label, Note: c.Summary, Line: line[:at] + c.Name + " "})
				}
			}
			return out
		}
		c, ok := commandNamed(list, word)
		if !ok {
			return out
		}
		at = len(line) - len(rest)
		name = strings.TrimSpace(name + " " + c.Name)
		if len(c.Subs) == 0 {
			return append(out, p.optionChoices(ctx, line, at, name, c, who)...)
		}
		list = c.Subs
	}
}

// optionChoices goes on with the options of a command, which begin at a place in
// the line: values of the option being typed first, then names of options that
// are still missing.
func (p *Page) optionChoices(ctx context.Context, line string, at int, name string, c commands.Command, who Person) []choice {
	var out []choice
	typed := halfTyped(line[at:], c.Options)
	options := map[string]string{}
	for _, t := range typed {
		options[t.option.Name] = t.value
	}

	if len(typed) > 0 {
		last := typed[len(typed)-1]
		if !last.closed {
			for _, v := range p.values(ctx, commands.Call{Caller: p.caller(who), Name: name, Options: options}, last.option) {
				out = append(out, choice{
					Label: v.Label, Note: last.option.Name,
					Line: line[:at+last.start] + last.option.Name + ":" + quoted(v.Value) + " ",
				})
			}
		}
	}

	word := line[strings.LastIndex(line, " ")+1:]
	if strings.Contains(word, ":") {
		return out
	}
	for _, required := range []bool{true, false} {
		for _, o := range c.Options {
			if _, given := options[o.Name]; !given && o.Required == required && hasPrefixFold(o.Name, word) {
				note := o.Summary
				if required {
					note += " (needed)"
				}
				out = append(out, choice{Label: o.Name + ":", Note: note, Line: line[:len(line)-len(word)] + o.Name + ":"})
			}
		}
	}
	return out
}

// values are the values that an option could take.
func (p *Page) values(ctx context.Context, c commands.Call, o commands.Option) []commands.Choice {
	fixed := o.Choices
	if o.Kind == commands.YesNo {
		fixed = []commands.Choice{{Label: "yes", Value: "yes"}, {Label: "no", Value: "no"}}
	}
	if len(fixed) > 0 {
		var out []commands.Choice
		for _, f := range fixed {
			if hasPrefixFold(f.Label, c.Options[o.Name]) || hasPrefixFold(f.Value, c.Options[o.Name]) {
				out = append(out, f)
			}
		}
		return out
	}
	found, err := p.App.Complete(ctx, c, o.Name)
	var wrong *commands.UserError
	if err != nil && !errors.As(err, &wrong) && ctx.Err() == nil {
		p.Log.Error("a completion failed", "reference", reference(), "command", c.Name, "option", o.Name, "error", err)
	}
	return found
}

// started is an option in a line that may not be finished.
type started struct {
	option commands.Option
	start  int // of its name
	value  string
	closed bool // it was quoted and the quotes are closed
}

// halfTyped finds the options in a line that may break off anywhere. An option
// begins with its name and a colon at the start of a word; a value that begins
// with a quote lasts to a quote at the end of a word, any other to the next option.
func halfTyped(text string, options []commands.Option) []started {
	var out []started
	inQuote := false
	for i := 0; i < len(text); i++ {
		if inQuote {
			if text[i] == '"' && (i+1 == len(text) || text[i+1] == ' ') {
				inQuote = false
				out[len(out)-1].closed = true
			}
			continue
		}
		if i > 0 && text[i-1] != ' ' {
			continue
		}
		for _, o := range options {
			if hasPrefixFold(text[i:], o.Name+":") {
				out = append(out, started{option: o, start: i})
				after := i + len(o.Name) + 1
				inQuote = strings.HasPrefix(text[after:], `"`)
				i = after - 1
				if inQuote {
					i = after
				}
				break
			}
		}
	}
	for i := range out {
		end := len(text)
		if i+1 < len(out) {
			end = out[i+1].start
		}
		v := strings.TrimSpace(text[out[i].start+len(out[i].option.Name)+1 : end])
		if strings.HasPrefix(v, `"`) {
			v = strings.TrimPrefix(v, `"`)
			if out[i].closed {
				v, _, _ = strings.Cut(v, `"`)
			}
		}
		out[i].value = v
	}
	return out
}

func quoted(v string) string {
	if strings.ContainsAny(v, " \t") {
		return `"` + v + `"`
	}
	return v
}

func commandNamed(list []commands.Command, name string) (commands.Command, bool) {
	for _, c := range list {
		if strings.EqualFold(c.Name, name) {
			return c, true
		}
	}
	return commands.Command{}, false
}

func hasPrefixFold(s, prefix string) bool {
	return len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix)
}
