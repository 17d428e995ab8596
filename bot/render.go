package bot

import (
	"log/slog"
	"math"
	"sort"
	"strconv"
	"strings"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

// Limits of a message.
const (
	maxContent     = 2000
	maxRows        = 5
	maxPerRow      = 5
	maxCustomID    = 100
	maxLabel       = 80
	maxDescription = 1024
	maxUpload      = 10 << 20
)

// rendered is a reply in Discord's form.
type rendered struct {
	first   message  // carries the beginning of the text, every button and picture
	rest    []string // what the first message had no room for
	aside   []string // further messages, for the asker alone
	private bool
	replace bool
}

// render puts a reply into messages. The content carries everything that is to
// be read; embeds vanish for members who switched link previews off, so there are
// none.
func render(r commands.Reply, draw func(drawing.Scene) ([]byte, error), log *slog.Logger) rendered {
	parts := split(format(r.Text), maxContent)
	out := rendered{first: plain(parts[0], r.Private), rest: parts[1:], private: r.Private, replace: r.Replace}
	out.first.Components = buttons(r, log)
	for _, d := range r.Details {
		if d.Now {
			out.aside = append(out.aside, split(format(d.Text), maxContent)...)
		}
	}
	size := 0
	for _, p := range r.Pictures {
		if draw == nil {
			break
		}
		if p.Ask != nil && !r.Private {
			continue // its button stands among the others
		}
		data, err := draw(p.Scene)
		if err != nil {
			log.Error("a picture could not be drawn", "picture", p.Name, "error", err)
			continue
		}
		if size += len(data); size > maxUpload || len(out.first.files) == 10 {
			log.Error("a picture is too large to send", "picture", p.Name, "bytes", len(data))
			break
		}
		name := fileName(p.Name) + ".png"
		out.first.Attachments = append(out.first.Attachments, attachment{
			ID: strconv.Itoa(len(out.first.files)), Filename: name, Description: cut(p.Alt, maxDescription),
		})
		out.first.files = append(out.first.files, file{name: name, data: data})
	}
	for _, f := range r.Files {
		if size += len(f.Data); size > maxUpload || len(out.first.files) == 10 {
			log.Error("a file is too large to send", "file", f.Name, "bytes", len(f.Data))
			break
		}
		out.first.Attachments = append(out.first.Attachments, attachment{
			ID: strconv.Itoa(len(out.first.files)), Filename: fileName(f.Name), Description: cut(f.Alt, maxDescription),
		})
		out.first.files = append(out.first.files, file{name: fileName(f.Name), kind: f.Type, data: f.Data})
	}
	return out
}

// format escapes a text and makes its first line, the answer, bold.
func format(text string) string {
	head, tail, more := strings.Cut(strings.TrimRight(text, "\n "), "\n")
	head = escape(strings.TrimSpace(head))
	if head != "" && units(head) < maxContent-4 {
		head = "**" + head + "**"
	}
	if more {
		head += "\n" + escape(tail)
	}
	if strings.TrimSpace(head) == "" {
		return "Done."
	}
	return head
}

// buttons lays actions out by their rows and details after them.
func buttons(r commands.Reply, log *slog.Logger) []row {
	actions := append([]commands.Action(nil), r.Actions...)
	for _, p := range r.Pictures {
		if p.Ask != nil && !r.Private {
			actions = append(actions, *p.Ask)
		}
	}
	sort.SliceStable(actions, func(i, j int) bool { return actions[i].Row < actions[j].Row })
	var rows [][]button
	var all []button
	seen := map[string]bool{}
	last := 0
	add := func(a commands.Action, group int) {
		if a.ID == "" || units(a.ID) > maxCustomID || seen[a.ID] {
			log.Error("a button without a usable id is left out", "label", a.Label)
			return
		}
		seen[a.ID] = true
		label := cut(strings.TrimSpace(a.Label), maxLabel)
		if label == "" {
			label = "Show"
		}
		b := button{Type: componentBtn, Style: 2, Label: label, CustomID: a.ID}
		if len(rows) == 0 || group != last || len(rows[len(rows)-1]) == maxPerRow {
			rows = append(rows, nil)
			last = group
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], b)
		all = append(all, b)
	}
	for _, a := range actions {
		add(a, a.Row)
	}
	for _, d := range r.Details {
		add(d.Action, math.MaxInt)
	}
	if len(rows) > maxRows { // no room to keep the grouping
		if len(all) > maxRows*maxPerRow {
			log.Error("a reply has more buttons than a message takes", "buttons", len(all))
			all = all[:maxRows*maxPerRow]
		}
		rows = nil
		for len(all) > 0 {
			n := min(maxPerRow, len(all))
			rows = append(rows, all[:n])
			all = all[n:]
		}
	}
	out := make([]row, 0, len(rows))
	for _, b := range rows {
		out = append(out, row{Type: componentRow, Components: b})
	}
	return out
}

// renderForm puts a form into Discord's; it comes back with the button's id.
func renderForm(id string, f commands.Form) modal {
	m := modal{CustomID: id, Title: cut(f.Title, 45), Components: []row{}}
	for _, field := range f.Fields[:min(len(f.Fields), 5)] {
		limit := field.Max
		if limit <= 0 {
			limit = 200
		}
		m.Components = append(m.Components, row{Type: componentRow, Components: []input{{
			Type: componentInput, Style: 1, CustomID: field.Name, Label: cut(field.Label, 45),
			Placeholder: cut(field.Example, 100), Required: field.Required, MaxLength: min(limit, 4000),
		}}})
	}
	return m
}

// renderChoices keeps what Discord takes of a list of completions.
func renderChoices(cs []commands.Choice) completions {
	out := completions{Choices: []choice{}}
	for _, c := range cs {
		if c.Value == "" || units(c.Value) > 100 || len(out.Choices) == 25 {
			continue
		}
		label := strings.TrimSpace(cut(c.Label, 100))
		if label == "" {
			label = c.Value
		}
		out.Choices = append(out.Choices, choice{Name: label, Value: c.Value})
	}
	return out
}

// refusal is the text of an input that could not be used.
func refusal(e *commands.UserError) string {
	text := e.Message
	if e.Option != "" && !strings.Contains(e.Message, e.Option) {
		text = e.Option + ": " + text
	}
	if e.Hint != "" {
		text += "\n" + e.Hint
	}
	return format(text)
}
