package fakediscord

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
)

const (
	slashCommandsMax   = 100
	commandTotalMax    = 8000
	commandOptionsMax  = 25
	commandDescription = 100
)

// commandName is ^[-_'\p{L}\p{N}\p{sc=Deva}\p{sc=Thai}]{1,32}$.
var commandName = regexp.MustCompile(`^[-_'\p{L}\p{N}\p{Devanagari}\p{Thai}]{1,32}$`)

// postable are the channel types that take a post of the bot.
var postableTypes = []int64{0, 5, 10, 11, 12}

// commandRules are those of a whole list of commands.
func commandRules(list node, global bool) {
	if !list.isList() {
		list.bad("COMMANDS_NULL", "The body is a list, [] to remove all commands.")
		return
	}
	seen := map[string]bool{}
	slash := 0
	for _, c := range list.items() {
		kind := c.key("type").whole()
		if kind <= 1 {
			slash++
			nameRules(c)
			descriptionRules(c.key("description"))
		} else {
			c.key("name").length(1, 32)
		}
		if name := c.key("name"); name.isText() {
			key := name
			key.v = string(rune('0'+max(kind, 1))) + name.text()
			unique(seen, key, "APPLICATION_COMMANDS_DUPLICATE_NAME")
		}
		optionRules(c.key("options"), 0)
		if n := total(c); n > commandTotalMax {
			c.bad("APPLICATION_COMMAND_TOO_LARGE", "Names, descriptions and values have %d characters, more than %d.", n, commandTotalMax)
		}
		if p := c.key("default_member_permissions"); p.has && !p.null() && !p.isText() {
			p.bad("COMMAND_PERMISSIONS", `default_member_permissions is a string such as "0".`)
		}
		installRules(c, global)
	}
	if slash > slashCommandsMax {
		list.bad("APPLICATION_COMMANDS_COUNT", "At most %d slash commands.", slashCommandsMax)
	}
}

// installRules: our commands are for servers, and usable in direct messages.
func installRules(c node, global bool) {
	types, contexts := c.key("integration_types"), c.key("contexts")
	if !global {
		if types.has || contexts.has {
			c.bad("HOUSE_INSTALL", "In one server integration_types and contexts are left out.")
		}
		return
	}
	if !slices.Equal(wholes(types), []int64{0}) {
		types.bad("HOUSE_INSTALL", "A global command says integration_types [0].")
	}
	if !slices.Equal(wholes(contexts), []int64{0, 1}) {
		contexts.bad("HOUSE_INSTALL", "A global command says contexts [0, 1].")
	}
}

func wholes(list node) []int64 {
	var out []int64
	for _, n := range list.items() {
		out = append(out, n.whole())
	}
	return out
}

func nameRules(c node) {
	names := []node{c.key("name")}
	for lang := range object(c.key("name_localizations")) {
		names = append(names, c.key("name_localizations").key(lang))
	}
	for _, n := range names {
		text := n.text()
		if !commandName.MatchString(text) || text != strings.ToLower(text) || units(text) > 32 {
			n.bad("APPLICATION_COMMAND_INVALID_NAME", "%q is not a name: 1 to 32 lower case letters, digits, - _ or '.", text)
		}
	}
}

func descriptionRules(d node) {
	if blank(d.text()) {
		d.bad("BASE_TYPE_REQUIRED", "A description is 1 to %d characters.", commandDescription)
	}
	d.length(1, commandDescription)
}

// optionRules are those of the options of a command (depth 0), of a group or
// of a subcommand.
func optionRules(list node, depth int) {
	options := list.items()
	if len(options) > commandOptionsMax {
		list.bad("OPTIONS_COUNT", "At most %d options.", commandOptionsMax)
	}
	seen := map[string]bool{}
	subs, optional := 0, false
	for _, o := range options {
		kind := int(o.key("type").whole())
		nameRules(o)
		descriptionRules(o.key("description"))
		unique(seen, o.key("name"), "APPLICATION_COMMAND_OPTIONS_NAME_DUPLICATED")
		switch kind {
		case optGroup, optSub:
			subs++
			if kind == optGroup && depth > 0 || depth > 1 {
				o.bad("OPTIONS_NESTING", "A group holds subcommands, a subcommand holds options, and no deeper.")
			}
			next := 1
			if kind == optSub {
				next = 2
			}
			optionRules(o.key("options"), next)
			continue
		case optNumber:
			o.key("type").bad("HOUSE_NUMBER_OPTION", "Phones refuse fractions in a number: take a string.")
		case optChannel:
			channelTypeRules(o.key("channel_types"))
		}
		if depth == 1 {
			o.bad("OPTIONS_NESTING", "A group holds subcommands only.")
		}
		required := o.key("required").truth()
		if required && optional {
			o.key("required").bad("APPLICATION_COMMAND_OPTIONS_REQUIRED_INVALID", "Required options stand before optional ones.")
		}
		optional = optional || !required
		valueRules(o, kind)
	}
	if subs > 0 && subs < len(options) {
		list.bad("OPTIONS_MIXED", "Subcommands and plain options do not stand side by side.")
	}
}

func channelTypeRules(types node) {
	list := wholes(types)
	for _, t := range list {
		if !slices.Contains(postableTypes, t) {
			list = nil
		}
	}
	if len(list) == 0 {
		types.bad("HOUSE_CHANNEL_TYPES", "A channel option takes only channels that take a post: some of %v.", postableTypes)
	}
}

func valueRules(o node, kind int) {
	choices := o.key("choices")
	if len(choices.items()) > choicesMax {
		choices.bad("CHOICES_COUNT", "At most %d choices.", choicesMax)
	}
	names, values := map[string]bool{}, map[string]bool{}
	for _, c := range choices.items() {
		choiceNameRules(c)
		choiceValueRules(c.key("value"), kind)
		unique(names, c.key("name"), "CHOICE_DUPLICATED")
		value := c.key("value")
		if !value.isText() {
			value.v = numeral(value)
		}
		unique(values, value, "CHOICE_DUPLICATED")
	}
	if auto := o.key("autocomplete"); auto.truth() {
		if kind != optString && kind != optInteger && kind != optNumber {
			auto.bad("AUTOCOMPLETE_TYPE", "Only texts and numbers are completed.")
		}
		if len(choices.items()) > 0 {
			auto.bad("AUTOCOMPLETE_CHOICES", "An option has choices or is completed, not both.")
		}
	}
	for _, pair := range [][2]string{{"min_length", "max_length"}, {"min_value", "max_value"}} {
		low, hasLow := o.key(pair[0]).number()
		high, hasHigh := o.key(pair[1]).number()
		if hasLow && hasHigh && low > high {
			o.key(pair[0]).bad("OPTION_RANGE", "%s is at most %s.", pair[0], pair[1])
		}
	}
}

// numeral is a number as it was written.
func numeral(n node) string { num, _ := n.v.(json.Number); return num.String() }

// total counts names, descriptions and values of a command; of localized texts
// the longest counts.
func total(n node) int {
	sum := 0
	for _, key := range []string{"name", "description"} {
		longest := units(n.key(key).text())
		for lang := range object(n.key(key + "_localizations")) {
			longest = max(longest, units(n.key(key+"_localizations").key(lang).text()))
		}
		sum += longest
	}
	sum += units(n.key("value").text()) + units(numeral(n.key("value")))
	for _, key := range []string{"options", "choices"} {
		for _, child := range n.key(key).items() {
			sum += total(child)
		}
	}
	return sum
}
