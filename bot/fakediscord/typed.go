package fakediscord

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// optionSpec is a registered option, as far as a member's client uses it.
type optionSpec struct {
	Type         int
	Name         string
	Required     bool
	Autocomplete bool
	Choices      []Choice
	Options      []optionSpec
	MinValue     *float64 `json:"min_value"`
	MaxValue     *float64 `json:"max_value"`
	MinLength    *int     `json:"min_length"`
	MaxLength    *int     `json:"max_length"`
	ChannelTypes []int    `json:"channel_types"`
}

// Type runs a command written as a member sees it, such as
//
//	/set add name:Old faithful width:1/8
//
// A value runs up to the next option's name; quotes around it are dropped. What a client would not let go
// out is refused: unknown commands and options, a required one that is
// missing, values of another type or out of range. Roles, channels and users
// are given by name.
func (s *Server) Type(u *User, ch *Channel, line string) (*Interaction, error) {
	name, options, err := s.read(ch, line, false)
	if err != nil {
		return nil, err
	}
	return s.Command(u, ch, name, options...), nil
}

// TypeAhead asks for suggestions for the last option on the line, as far as it
// is typed.
func (s *Server) TypeAhead(u *User, ch *Channel, line string) (*Interaction, error) {
	name, options, err := s.read(ch, line, true)
	if err != nil {
		return nil, err
	}
	return s.Complete(u, ch, name, options...), nil
}

// read parses a line by the command's registered options.
func (s *Server) read(ch *Channel, line string, ahead bool) (string, []Option, error) {
	s.lock()
	defer s.mu.Unlock()
	rest, slash := strings.CutPrefix(strings.TrimLeft(line, " "), "/")
	name, rest, _ := strings.Cut(rest, " ")
	cmd := s.find(ch.Guild, name)
	if !slash || cmd == nil {
		return "", nil, fmt.Errorf("no command %q is registered here: try one of %s", name, strings.Join(s.namesFor(ch.Guild), ", "))
	}
	var specs []optionSpec
	if len(cmd.Options) > 0 {
		if err := json.Unmarshal(cmd.Options, &specs); err != nil {
			return "", nil, fmt.Errorf("fakediscord: %w", err)
		}
	}
	options, err := s.readOptions(ch, specs, rest, ahead)
	return name, options, err
}

func (s *Server) namesFor(g *Guild) []string {
	scopes := []string{""}
	if g != nil {
		scopes = append(scopes, g.ID)
	}
	var names []string
	for _, id := range scopes {
		for _, c := range s.commands[id] {
			names = append(names, "/"+c.Name)
		}
	}
	return names
}

func (s *Server) readOptions(ch *Channel, specs []optionSpec, rest string, ahead bool) ([]Option, error) {
	if len(specs) > 0 && (specs[0].Type == optSub || specs[0].Type == optGroup) {
		word, rest, _ := strings.Cut(strings.TrimLeft(rest, " "), " ")
		i := slices.IndexFunc(specs, func(o optionSpec) bool { return o.Name == word })
		if i < 0 {
			return nil, fmt.Errorf("no subcommand %q: try one of %s", word, strings.Join(specNames(specs), ", "))
		}
		inner, err := s.readOptions(ch, specs[i].Options, rest, ahead)
		return []Option{{name: word, kind: specs[i].Type, options: inner}}, err
	}
	values, err := splitValues(specs, rest)
	if err != nil {
		return nil, err
	}
	var options []Option
	for i, v := range values {
		if ahead && i == len(values)-1 {
			if !v.spec.Autocomplete {
				return nil, fmt.Errorf("option %s is not completed", v.spec.Name)
			}
			options = append(options, Option{name: v.spec.Name, kind: v.spec.Type, value: v.text, focused: true})
			continue
		}
		o, err := s.readValue(ch, v.spec, v.text)
		if err != nil {
			return nil, fmt.Errorf("option %s: %w", v.spec.Name, err)
		}
		options = append(options, o)
	}
	for _, spec := range specs {
		given := slices.ContainsFunc(values, func(v typedValue) bool { return v.spec.Name == spec.Name })
		if spec.Required && !given && !ahead {
			return nil, fmt.Errorf("option %s is required", spec.Name)
		}
	}
	if ahead && len(values) == 0 {
		return nil, fmt.Errorf("nothing to complete: name an option, such as %s:", strings.Join(specNames(specs), ": or "))
	}
	return options, nil
}

func specNames(specs []optionSpec) []string {
	var names []string
	for _, o := range specs {
		names = append(names, o.Name)
	}
	return names
}

type typedValue struct {
	spec optionSpec
	text string
}

var optionMark = regexp.MustCompile(`(?:^|\s)([-_'\p{L}\p{N}]+):`)

// splitValues cuts a line at the names of options that the command has; other
// words with a colon belong to a value.
func splitValues(specs []optionSpec, rest string) ([]typedValue, error) {
	var values []typedValue
	start := -1
	end := func(at int) {
		if start >= 0 {
			text := strings.TrimSpace(rest[start:at])
			if n := len(text); n > 1 && text[0] == '"' && text[n-1] == '"' {
				text = text[1 : n-1]
			}
			values[len(values)-1].text = text
		}
	}
	for _, m := range optionMark.FindAllStringSubmatchIndex(rest, -1) {
		name := rest[m[2]:m[3]]
		i := slices.IndexFunc(specs, func(o optionSpec) bool { return o.Name == name })
		if i < 0 {
			continue
		}
		if slices.ContainsFunc(values, func(v typedValue) bool { return v.spec.Name == name }) {
			return nil, fmt.Errorf("option %s is given twice", name)
		}
		if start < 0 && strings.TrimSpace(rest[:m[0]]) != "" {
			return nil, fmt.Errorf("%q belongs to no option", strings.TrimSpace(rest[:m[0]]))
		}
		end(m[0])
		values = append(values, typedValue{spec: specs[i]})
		start = m[1]
	}
	end(len(rest))
	if start < 0 && strings.TrimSpace(rest) != "" {
		return nil, fmt.Errorf("%q belongs to no option: try %s:", strings.TrimSpace(rest), strings.Join(specNames(specs), ": or "))
	}
	return values, nil
}

func (s *Server) readValue(ch *Channel, spec optionSpec, text string) (Option, error) {
	if len(spec.Choices) > 0 {
		var names []string
		for _, c := range spec.Choices {
			names = append(names, c.Name)
			if c.Name == text || fmt.Sprint(c.Value) == text {
				return Option{name: spec.Name, kind: spec.Type, value: c.Value}, nil
			}
		}
		return Option{}, fmt.Errorf("%q is not one of its choices: %s", text, strings.Join(names, "; "))
	}
	switch spec.Type {
	case optString:
		n := units(text)
		if n == 0 || spec.MinLength != nil && n < *spec.MinLength || spec.MaxLength != nil && n > *spec.MaxLength {
			return Option{}, fmt.Errorf("%q has %d characters", text, n)
		}
		return String(spec.Name, text), nil
	case optInteger:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || spec.MinValue != nil && float64(n) < *spec.MinValue || spec.MaxValue != nil && float64(n) > *spec.MaxValue {
			return Option{}, fmt.Errorf("%q is not a whole number in its range", text)
		}
		return Int(spec.Name, n), nil
	case optBoolean:
		switch text {
		case "true", "yes":
			return Bool(spec.Name, true), nil
		case "false", "no":
			return Bool(spec.Name, false), nil
		}
		return Option{}, fmt.Errorf("%q is neither true nor false", text)
	}
	plain := strings.TrimLeft(text, "@#")
	if spec.Type == optUser {
		for _, u := range s.users {
			if u.Name == plain {
				return OfUser(spec.Name, u), nil
			}
		}
	}
	if ch.Guild == nil {
		return Option{}, fmt.Errorf("there is no %q in a direct message", text)
	}
	for _, r := range ch.Guild.roles {
		if spec.Type == optRole && strings.TrimLeft(r.Name, "@") == plain {
			return OfRole(spec.Name, r), nil
		}
	}
	for _, c := range ch.Guild.channels {
		if spec.Type == optChannel && c.Name == plain && !c.gone && (len(spec.ChannelTypes) == 0 || slices.Contains(spec.ChannelTypes, c.Type)) {
			return OfChannel(spec.Name, c), nil
		}
	}
	return Option{}, fmt.Errorf("nothing here is named %q", text)
}
