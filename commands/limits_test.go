package commands

import (
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"
)

// Discord's limits of an application command: the name pattern (without the
// letters of other scripts), 1 to 100 characters of description, at most 25
// options, choices and subcommands, 8000 characters in all, 100 commands.
var commandName = regexp.MustCompile(`^[-_a-z0-9]{1,32}$`)

func count16(s string) int { return len(utf16.Encode([]rune(s))) }

func TestCommandsFitDiscord(t *testing.T) {
	all := Commands()
	if len(all) > 100 {
		t.Errorf("%d commands", len(all))
	}
	seen := map[string]bool{}
	for _, c := range all {
		if seen[c.Name] {
			t.Errorf("/%s is there twice", c.Name)
		}
		seen[c.Name] = true
		if n := fits(t, "/"+c.Name, c); n > 8000 {
			t.Errorf("/%s has %d characters in all", c.Name, n)
		}
	}
}

// fits checks a command and its subcommands, and counts their characters.
func fits(t *testing.T, where string, c Command) int {
	t.Helper()
	total := named100(t, where, c.Name, c.Summary)
	if (len(c.Subs) > 0) == (c.run != nil) || len(c.Subs) > 0 && len(c.Options) > 0 || len(c.Subs) > 25 || len(c.Options) > 25 {
		t.Errorf("%s: %d subcommands, %d options, runs itself: %v", where, len(c.Subs), len(c.Options), c.run != nil)
	}
	if strings.HasSuffix(c.Summary, ".") {
		t.Errorf("%s: the summary ends in a full stop", where)
	}
	for _, s := range c.Subs {
		total += fits(t, where+" "+s.Name, s)
	}
	seen := map[string]bool{}
	for _, o := range c.Options {
		here := where + " " + o.Name
		total += named100(t, here, o.Name, o.Summary)
		if seen[o.Name] || len(o.Choices) > 25 || len(o.Choices) > 0 && o.complete != nil || o.Kind != Text && (o.complete != nil || len(o.Choices) > 0) {
			t.Errorf("%s: twice, or too many choices, or of two kinds", here)
		}
		seen[o.Name] = true
		for _, ch := range o.Choices {
			if count16(ch.Label) < 1 || count16(ch.Label) > 100 || count16(ch.Value) < 1 || count16(ch.Value) > 100 {
				t.Errorf("%s: choice %+v", here, ch)
			}
			total += count16(ch.Label) + count16(ch.Value)
		}
	}
	return total
}

func named100(t *testing.T, where, name, summary string) int {
	t.Helper()
	if !commandName.MatchString(name) {
		t.Errorf("%s: the name", where)
	}
	if n := count16(summary); n < 1 || n > 100 {
		t.Errorf("%s: the summary has %d characters", where, n)
	}
	return count16(name) + count16(summary)
}

// TestExamplesAreRight reads every example of a command as a member would type it.
func TestExamplesAreRight(t *testing.T) {
	var check func(name string, c Command)
	check = func(name string, c Command) {
		for _, s := range c.Subs {
			check(name+" "+s.Name, s)
		}
		got, options, err := ParseLine(c.example(name))
		if err != nil || len(c.Subs) == 0 && got != name {
			t.Errorf("/%s: the example %q is %q, %v", name, c.example(name), got, err)
			return
		}
		if cmd, err := commandFor(got); err != nil || cmd.check(got, options) != nil {
			t.Errorf("/%s: the example %q: %v, %v", name, c.example(name), err, cmd.check(got, options))
		}
	}
	for _, c := range Commands() {
		check(c.Name, c)
	}
}

// TestForms holds the forms that buttons open to Discord's limits of a modal.
func TestForms(t *testing.T) {
	forms := 0
	for _, v := range verbs {
		f, ok := FormFor(action{verb: v, setup: 1}.String())
		if !ok {
			continue
		}
		forms++
		if n := count16(f.Title); n < 1 || n > 45 || len(f.Fields) < 1 || len(f.Fields) > 5 {
			t.Errorf("%s: title %q, %d fields", v, f.Title, len(f.Fields))
		}
		seen, required := map[string]bool{}, 0
		for _, field := range f.Fields {
			if n := count16(field.Label); n < 1 || n > 45 || count16(field.Example) > 100 || field.Max < 0 || field.Max > 4000 || field.Name == "" || count16(field.Name) > 100 || seen[field.Name] {
				t.Errorf("%s: field %+v", v, field)
			}
			seen[field.Name] = true
			if field.Required {
				required++
			}
		}
		if required == 0 {
			t.Errorf("%s: nothing is required", v)
		}
	}
	if forms < 2 {
		t.Errorf("%d forms", forms)
	}
}

// TestCheckRefuses refuses what a chat with fields of its own could still send.
func TestCheckRefuses(t *testing.T) {
	cmd, _ := findCommand("testcut")
	for _, c := range []struct {
		options args
		option  string
	}{
		{args{"feel": "lovely"}, "feel"},
		{args{"kept": "maybe"}, "kept"},
		{args{"nonsense": "1"}, "nonsense"},
	} {
		isUserError(t, c.option, cmd.check("testcut", c.options), c.option)
	}
	stack, _ := findCommand("stack")
	for _, stock := range []string{"", " ", "\t"} {
		isUserError(t, stock, stack.check("stack", args{"stock": stock}), "stock")
	}
	isUserError(t, "no stock", stack.check("stack", args{}), "stock")
	if err := cmd.check("testcut", args{"feel": "will not enter", "kept": "no"}); err != nil {
		t.Error(err)
	}
}
