package bot

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

func TestEscape(t *testing.T) {
	tests := []struct{ in, want string }{
		{"plain 23/32 in, 1-1/8", "plain 23/32 in, 1-1/8"},
		{"*bold* _it_ ~~s~~ `c` ||x||", `\*bold\* \_it\_ \~\~s\~\~ \` + "`c" + `\` + "`" + ` \|\|x\|\|`},
		{`back\slash`, `back\\slash`},
		{"@everyone", "@" + zeroWidth + "everyone"},
		{"<@123> <#4> <:e:5> <t:6>", `\<` + zeroWidth + "@" + zeroWidth + `123> \<` + zeroWidth + `#4> \<` + zeroWidth + `:e:5> \<` + zeroWidth + "t:6>"},
		{"https://example.invalid/x", "https:" + zeroWidth + "//example.invalid/x"},
		{"[text](link)", `\[text](link)`},
		{"> quote\n# head\n- item\n+ item\n-# small", "\\> quote\n\\# head\n\\- item\n\\+ item\n\\-# small"},
		{"  - nested", `  \- nested`},
		{"3. third\n3.5 mm", "3\\. third\n3.5 mm"},
		{"a > b", "a > b"},
		{"right\u202eleft\x07", "rightleft"},
		{"", ""},
	}
	for _, tt := range tests {
		if got := escape(tt.in); got != tt.want {
			t.Errorf("escape(%q) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

// An emoji is one code point and two UTF-16 units: the stricter count holds.
func TestUnits(t *testing.T) {
	for s, want := range map[string]int{"": 0, "abc": 3, "\u00be": 1, "\U0001fab5": 2} {
		if got := units(s); got != want {
			t.Errorf("units(%q) = %d, want %d", s, got, want)
		}
	}
	if got := cut(strings.Repeat("\U0001fab5", 50), 80); units(got) > 80 || !strings.HasSuffix(got, "...") {
		t.Errorf("cut to %d units: %q", units(got), got)
	}
}

func TestSplit(t *testing.T) {
	tests := map[string]struct {
		in    string
		limit int
		want  []string
	}{
		"fits":            {"abc", 3, []string{"abc"}},
		"empty":           {"", 3, []string{""}},
		"at a line break": {"ab\ncd\nef", 6, []string{"ab\ncd", "ef"}},
		"at a space":      {"ab cd ef", 6, []string{"ab cd", "ef"}},
		"anywhere":        {"abcdefg", 3, []string{"abc", "def", "g"}},
		"not in a pair":   {`abc\*de`, 4, []string{"abc", `\*de`}},
		"wide":            {"\U0001fab5\U0001fab5", 3, []string{"\U0001fab5", "\U0001fab5"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, split(tt.in, tt.limit)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func action(id, label string, row int) commands.Action {
	return commands.Action{ID: id, Label: label, Row: row}
}

func labels(rows []row) string {
	var lines []string
	for _, r := range rows {
		var l []string
		for _, b := range r.Components.([]button) {
			l = append(l, b.Label)
		}
		lines = append(lines, strings.Join(l, " "))
	}
	return strings.Join(lines, "|")
}

func TestButtons(t *testing.T) {
	var many, grouped []commands.Action
	for i := range 30 {
		many = append(many, action(fmt.Sprint("m", i), fmt.Sprint(i), 0))
		grouped = append(grouped, action(fmt.Sprint("g", i), fmt.Sprint(i), i))
	}
	tests := map[string]struct {
		reply commands.Reply
		want  string
	}{
		"none":                {commands.Reply{}, ""},
		"by row":              {commands.Reply{Actions: []commands.Action{action("a", "A", 2), action("b", "B", 1), action("c", "C", 2)}}, "B|A C"},
		"details last":        {commands.Reply{Actions: []commands.Action{action("a", "A", 0)}, Details: []commands.Detail{{Action: action("d", "D", 0)}, {Action: action("e", "E", 0)}}}, "A|D E"},
		"six need two rows":   {commands.Reply{Actions: many[:6]}, "0 1 2 3 4|5"},
		"25 at most":          {commands.Reply{Actions: many}, "0 1 2 3 4|5 6 7 8 9|10 11 12 13 14|15 16 17 18 19|20 21 22 23 24"},
		"too many rows":       {commands.Reply{Actions: grouped[:7]}, "0 1 2 3 4|5 6"},
		"twice the same id":   {commands.Reply{Actions: []commands.Action{action("a", "A", 0), action("a", "B", 0)}}, "A"},
		"id too long or none": {commands.Reply{Actions: []commands.Action{action(strings.Repeat("x", 101), "A", 0), action("", "B", 0), action(strings.Repeat("x", 100), "C", 0)}}, "C"},
		"no label":            {commands.Reply{Actions: []commands.Action{action("a", " ", 0)}}, "Show"},
		"a long label":        {commands.Reply{Actions: []commands.Action{action("a", strings.Repeat("x", 81), 0)}}, strings.Repeat("x", 77) + "..."},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			if got := labels(buttons(tt.reply, quiet())); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// Every list is written, empty or not, and nothing may mention anyone.
func TestMessageWritesItsLists(t *testing.T) {
	m := render(commands.Reply{Text: "a_b\nc"}, nil, quiet()).first
	want := `{"content":"**a\\_b**\nc","allowed_mentions":{"parse":[]},"embeds":[],"components":[],"attachments":[]}`
	if got := mustJSON(t, m); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := mustJSON(t, renderChoices(nil)); got != `{"choices":[]}` {
		t.Errorf("no choices: %s", got)
	}
}

// Content holds 2000; what is more goes on in further messages, and nothing is
// lost on the way.
func TestRenderLongText(t *testing.T) {
	var lines []string
	for i := range 300 {
		lines = append(lines, fmt.Sprintf("line %d with *stars* and \U0001fab5", i))
	}
	text := strings.Join(lines, "\n")
	r := render(commands.Reply{Text: text}, nil, quiet())
	all := append([]string{r.first.Content}, r.rest...)
	for i, part := range all {
		if units(part) > maxContent || part == "" {
			t.Errorf("part %d has %d units", i, units(part))
		}
	}
	if got := strings.Join(all, "\n"); got != format(text) {
		t.Error("the parts are not the whole")
	}
	if len(all) < 3 {
		t.Errorf("%d parts", len(all))
	}
}

func TestRenderFillsMessages(t *testing.T) {
	r := render(commands.Reply{Text: "head\n" + strings.Repeat("x", 2*maxContent)}, nil, quiet())
	if len(r.rest) != 2 || units(r.rest[0]) != maxContent {
		t.Errorf("%d more parts, the first with %d units", len(r.rest), units(r.rest[0]))
	}
}

func TestRenderPictures(t *testing.T) {
	draw := func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
	r := render(commands.Reply{Text: "x", Pictures: []commands.Picture{
		{Name: "stack", Alt: strings.Repeat("a", 1100)}, {Name: `a "b"` + "\r\n", Alt: "second"},
	}}, draw, quiet())
	got := r.first.Attachments
	if len(got) != 2 || got[0].ID != "0" || got[1].ID != "1" || units(got[0].Description) != maxDescription || got[1].Filename != "a--b---.png" {
		t.Errorf("attachments %+v", got)
	}
	failing := func(drawing.Scene) ([]byte, error) { return nil, errors.New("no ink") }
	if r := render(commands.Reply{Text: "x", Pictures: []commands.Picture{{Name: "p"}}}, failing, quiet()); len(r.first.Attachments) != 0 || r.first.Content != "**x**" {
		t.Errorf("a picture that fails: %+v", r.first)
	}
}

func TestRefusals(t *testing.T) {
	tests := []struct {
		err  *commands.UserError
		want string
	}{
		{&commands.UserError{Option: "stock", Message: "0 is no thickness", Hint: "like 23/32"}, "**stock: 0 is no thickness**\nlike 23/32"},
		{&commands.UserError{Message: "Mira has no such set"}, "**Mira has no such set**"},
	}
	for _, tt := range tests {
		if got := refusal(tt.err); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
}

func TestRenderForm(t *testing.T) {
	f := commands.Form{Title: strings.Repeat("t", 50)}
	for i := range 6 {
		f.Fields = append(f.Fields, commands.Field{Name: fmt.Sprint("f", i), Label: strings.Repeat("l", 50), Example: strings.Repeat("e", 120), Max: 5000 * i})
	}
	m := renderForm("1:measure", f)
	if m.CustomID != "1:measure" || units(m.Title) != 45 || len(m.Components) != 5 {
		t.Fatalf("form %+v", m)
	}
	for i, r := range m.Components {
		in := r.Components.([]input)[0]
		limit := 4000
		if i == 0 {
			limit = 200
		}
		if units(in.Label) != 45 || units(in.Placeholder) != 100 || in.MaxLength != limit {
			t.Errorf("field %d: %+v", i, in)
		}
	}
}

func TestRenderChoices(t *testing.T) {
	cs := []commands.Choice{{Label: "none", Value: ""}, {Label: "long", Value: strings.Repeat("v", 101)}, {Label: " ", Value: "bare"}, {Label: strings.Repeat("l", 101), Value: "cut"}}
	for i := range 30 {
		cs = append(cs, commands.Choice{Label: "x", Value: fmt.Sprint(i)})
	}
	got := renderChoices(cs).Choices
	if len(got) != 25 || got[0].Name != "bare" || units(got[1].Name) != 100 || got[24].Value != "22" {
		t.Errorf("choices %+v", got)
	}
}
