package commands

import (
	"fmt"
	"strings"
)

func helpCommand() Command {
	return Command{
		Name: "help", Summary: "What I can do, and one right example of each", Example: "/help", Private: true,
		Options: []Option{{Name: "command", Summary: "Just this one, with its options", complete: completeCommands}},
		run:     runHelp,
	}
}

func completeCommands(_ *session, typed string) ([]Choice, error) {
	var out []Choice
	for _, c := range Commands() {
		if strings.Contains(c.Name, strings.ToLower(strings.TrimPrefix(strings.TrimSpace(typed), "/"))) {
			out = append(out, Choice{Label: "/" + c.Name + ": " + c.Summary, Value: c.Name})
		}
	}
	return out, nil
}

func runHelp(_ *session, a args) (Reply, error) {
	if wanted := strings.TrimPrefix(strings.TrimSpace(a["command"]), "/"); wanted != "" {
		cmd, ok := findCommand(strings.ToLower(wanted))
		if !ok {
			return Reply{}, &UserError{Option: "command", Message: fmt.Sprintf("There is no command /%s.", clip(wanted, 30)), Hint: "/help lists the commands."}
		}
		var text []string
		describe(cmd, cmd.Name, &text)
		return Reply{Private: true, Text: lines(text...)}, nil
	}
	text := []string{
		"Measure the stock, ask for a stack, cut scrap, say how it went.",
		"Lengths as you write them: 23/32, 1-1/8, 0.703, 17.9mm; several readings with spaces between.",
	}
	for _, c := range Commands() {
		text = append(text, fmt.Sprintf("/%s: %s. %s", c.Name, c.Summary, c.Example))
	}
	text = append(text, "/help command:stack shows the options of one.", deferral)
	return Reply{Private: true, Text: lines(text...)}, nil
}

func describe(c Command, name string, text *[]string) {
	for _, sub := range c.Subs {
		describe(sub, name+" "+sub.Name, text)
	}
	if len(c.Subs) > 0 {
		return
	}
	*text = append(*text, fmt.Sprintf("/%s: %s. For instance %s", name, c.Summary, c.example(name)))
	for _, o := range c.Options {
		need := ""
		if o.Required {
			need = " (needed)"
		}
		*text = append(*text, fmt.Sprintf("  %s%s: %s", o.Name, need, o.Summary))
	}
}
