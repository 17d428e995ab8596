package commands

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxLine is the longest command line, in bytes.
const maxLine = 4000

// ParseLine reads a command as it is typed where a chat has no fields for
// options: the ask subcommand and the local page.
//
//	/stack stock:23/32 set:"Blue case"
//	/testcut undo
//
// A command is a slash, its name, perhaps the name of a subcommand, and options
// as name:value. A value runs to the next option, so stock:1 1/8 0.7 needs no
// quotes; quotes keep anything together, and \" stands for a quote inside them.
// A bare word that names a yes/no option means yes. The error is a *UserError.
func ParseLine(line string) (name string, options map[string]string, err error) {
	line = strings.TrimSpace(line)
	switch {
	case line == "":
		return "", nil, &UserError{Message: "That line is empty.", Hint: "/help lists the commands."}
	case len(line) > maxLine:
		return "", nil, &UserError{Message: fmt.Sprintf("That line is longer than %d characters.", maxLine), Hint: "/stack stock:23/32"}
	case !utf8.ValidString(line):
		return "", nil, &UserError{Message: "That line is not plain text.", Hint: "/stack stock:23/32"}
	case line[0] != '/':
		return "", nil, &UserError{Message: "A command starts with a slash.", Hint: "/stack stock:23/32"}
	}
	words := splitWords(line[1:])
	if len(words) == 0 {
		return "", nil, &UserError{Message: "A command name comes after the slash.", Hint: "/help lists the commands."}
	}
	cmd, ok := findCommand(strings.ToLower(words[0].text))
	if !ok {
		return "", nil, unknownCommand(words[0].text)
	}
	words = words[1:]
	if len(cmd.Subs) > 0 {
		if len(words) == 0 || words[0].option != "" {
			return "", nil, &UserError{Message: fmt.Sprintf("/%s needs one of: %s.", cmd.Name, strings.Join(subNames(cmd), ", ")), Hint: fmt.Sprintf("/%s %s", cmd.Name, cmd.Subs[0].Name)}
		}
		sub, ok := findSub(cmd, strings.ToLower(words[0].text))
		if !ok {
			return "", nil, &UserError{Message: fmt.Sprintf("/%s has no %q. It has: %s.", cmd.Name, clip(words[0].text, 30), strings.Join(subNames(cmd), ", ")), Hint: fmt.Sprintf("/%s %s", cmd.Name, cmd.Subs[0].Name)}
		}
		name, cmd, words = cmd.Name+" "+sub.Name, sub, words[1:]
	} else {
		name = cmd.Name
	}
	options, err = lineOptions(name, cmd, words)
	return name, options, err
}

func lineOptions(name string, cmd Command, words []word) (map[string]string, error) {
	options := map[string]string{}
	last := ""
	for _, w := range words {
		opt := strings.ToLower(w.option)
		switch {
		case opt != "":
			if _, ok := cmd.option(opt); !ok {
				if !w.quoted && (last == "note" || last == "name") { // a colon inside a sentence
					options[last] += " " + w.option + ":" + w.text
					continue
				}
				return nil, unknownOption(name, cmd, w.option)
			}
			if _, twice := options[opt]; twice {
				return nil, &UserError{Option: opt, Message: fmt.Sprintf("%s is given twice.", opt), Hint: cmd.example(name)}
			}
			options[opt], last = w.text, opt
		case isFlag(cmd, w.text) && options[strings.ToLower(w.text)] == "":
			options[strings.ToLower(w.text)] = "yes"
		case last != "":
			options[last] = strings.TrimSpace(options[last] + " " + w.text)
		default:
			return nil, &UserError{Message: fmt.Sprintf("%q belongs to no option.", clip(w.text, 30)), Hint: cmd.example(name)}
		}
	}
	return options, nil
}

func isFlag(cmd Command, text string) bool {
	o, ok := cmd.option(strings.ToLower(text))
	return ok && o.Kind == YesNo
}

// word is one piece of a line: a bare word, or option:value.
type word struct {
	option string
	text   string
	quoted bool
}

func splitWords(line string) []word {
	var words []word
	var w word
	var b strings.Builder
	open, started := rune(0), false
	flush := func() {
		if started {
			w.text = b.String()
			words = append(words, w)
		}
		w, started = word{}, false
		b.Reset()
	}
	runes := []rune(line)
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		switch {
		case open != 0 && r == '\\' && i+1 < len(runes) && (runes[i+1] == '"' || runes[i+1] == '\\'):
			i++
			b.WriteRune(runes[i])
		case open != 0 && closes(open, r):
			open = 0
		case open != 0:
			b.WriteRune(r)
		case isQuote(r) && b.Len() == 0 && !w.quoted && hasClosing(runes[i+1:], r):
			open, started, w.quoted = r, true, true
		case unicode.IsSpace(r):
			flush()
		case r == ':' && w.option == "" && !w.quoted && isOptionName(b.String()):
			w.option, started = b.String(), true
			b.Reset()
		default:
			b.WriteRune(r)
			started = true
		}
	}
	flush()
	return words
}

// Phones turn straight quotes into curly ones. A quote with no partner is an inch mark.
func isQuote(r rune) bool { return r == '"' || r == '“' || r == '„' || r == '«' }

func closes(open, r rune) bool {
	switch open {
	case '“', '„':
		return r == '”' || r == '“' || r == '"'
	case '«':
		return r == '»'
	}
	return r == '"'
}

func hasClosing(rest []rune, open rune) bool {
	for _, r := range rest {
		if closes(open, r) {
			return true
		}
	}
	return false
}

func isOptionName(s string) bool {
	if s == "" || len(s) > 32 {
		return false
	}
	for _, r := range s {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '-') {
			return false
		}
	}
	return true
}

func unknownCommand(name string) *UserError {
	return &UserError{Message: fmt.Sprintf("There is no command /%s.", clip(name, 30)), Hint: "/help lists the commands."}
}

func unknownOption(name string, cmd Command, option string) *UserError {
	var names []string
	for _, o := range cmd.Options {
		names = append(names, o.Name)
	}
	has := "It takes no options."
	if len(names) > 0 {
		has = "It takes: " + strings.Join(names, ", ") + "."
	}
	return &UserError{Option: clip(option, 32), Message: fmt.Sprintf("/%s has no option %q. %s", name, clip(option, 30), has), Hint: cmd.example(name)}
}

// clip cuts untrusted text to n characters, and turns what would break a line
// into spaces.
func clip(s string, n int) string {
	var out []rune
	for _, r := range s {
		if len(out) == n {
			return strings.TrimSpace(string(out[:n-1])) + "…"
		}
		switch {
		case unicode.IsSpace(r):
			r = ' '
		case unicode.Is(unicode.Cf, r) || unicode.IsControl(r): // bidi marks and the like
			continue
		}
		out = append(out, r)
	}
	return strings.TrimSpace(string(out))
}

// ParsePress reads a button's id and, for one that opens a form, its fields:
//
//	1:measure:4:2:0: groove:0.708 note:"north saw"
//
// The error is a *UserError.
func ParsePress(text string) (id string, values map[string]string, err error) {
	id, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	form, _ := FormFor(id)
	fields := Command{Name: "press", Example: "press " + clip(id, maxActionID)}
	for _, f := range form.Fields {
		fields.Options = append(fields.Options, Option{Name: f.Name})
	}
	if len(rest) > maxLine {
		return "", nil, &UserError{Message: fmt.Sprintf("That line is longer than %d characters.", maxLine), Hint: fields.Example}
	}
	values, err = lineOptions("press", fields, splitWords(rest))
	return id, values, err
}
