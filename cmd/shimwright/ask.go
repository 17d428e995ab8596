package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

// ask answers one command without a chat, or, with "-", a command a line.
func ask(ctx context.Context, p *program, args []string) int {
	f := flag.NewFlagSet("ask", flag.ContinueOnError)
	db := p.dbFlag(f)
	shop := f.String("shop", "bench", "`name` of the shop")
	member := f.String("member", "me", "`name` of the member who asks")
	instructor := f.Bool("instructor", false, "ask with an instructor's rights")
	asJSON := f.Bool("json", false, "print one JSON object a line")
	save := f.String("save", "", "`folder` to keep the pictures and files of replies in")
	f.Usage = func() {
		fmt.Fprintln(p.stderr, `Usage: shimwright ask [flags] '/stack stock:23/32'     one command
       shimwright ask [flags] 'press 1:feel:1:1:0:snug' a button of an earlier reply
       shimwright ask [flags] -                          a line each from standard input`)
		f.PrintDefaults()
	}
	if code, done := p.parse(f, args); done {
		return code
	}
	if f.NArg() == 0 || *shop == "" || *member == "" {
		f.Usage()
		return exitInput
	}
	app, closeApp, err := openApp(ctx, *db)
	if err != nil {
		return p.fault(err)
	}
	defer closeApp() //nolint:errcheck // every commit is durable before its reply
	a := asker{app: app, caller: commands.Caller{
		Platform: "ask", ShopKey: *shop, ShopName: *shop, MemberKey: *member, MemberName: *member, Admin: *instructor,
	}, show: printText, save: *save}
	if *asJSON {
		a.show = printJSON
	}
	line := strings.Join(f.Args(), " ")
	if line != "-" {
		return a.line(ctx, p, line)
	}
	worst := exitOK
	in := bufio.NewScanner(p.stdin)
	in.Buffer(nil, 64<<10)
	for in.Scan() {
		line := strings.TrimSpace(in.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if code := a.line(ctx, p, line); worst != exitFault && code != exitOK {
			worst = code
		}
	}
	if err := in.Err(); err != nil {
		return p.fault(err)
	}
	return worst
}

type asker struct {
	app    *commands.App
	caller commands.Caller
	show   func(w io.Writer, command string, r commands.Reply, bad *commands.UserError) error
	save   string // folder for pictures and files; empty: none are kept
}

// line answers one line and prints the reply at once.
func (a asker) line(ctx context.Context, p *program, line string) int {
	a.caller.At = p.now()
	name, r, err := a.answer(ctx, line)
	var bad *commands.UserError
	if err != nil && !errors.As(err, &bad) {
		return p.fault(err)
	}
	if err := a.show(p.stdout, name, r, bad); err != nil {
		return p.fault(err)
	}
	if bad != nil {
		return exitInput
	}
	if err := a.keep(r); err != nil {
		return p.fault(err)
	}
	return exitOK
}

// keep writes the pictures and files of a reply into the folder, under the names
// that the reply gives them.
func (a asker) keep(r commands.Reply) error {
	if a.save == "" || len(r.Pictures)+len(r.Files) == 0 {
		return nil
	}
	folder, err := os.OpenRoot(a.save) // no name leads out of it
	if err != nil {
		return err
	}
	defer folder.Close()
	for _, pic := range r.Pictures {
		png, err := drawing.PNG(pic.Scene, drawing.Light())
		if err != nil {
			return err
		}
		if err := folder.WriteFile(pic.Name+".png", png, 0o600); err != nil {
			return err
		}
	}
	for _, f := range r.Files {
		if err := folder.WriteFile(f.Name, f.Data, 0o600); err != nil {
			return err
		}
	}
	return nil
}

func (a asker) answer(ctx context.Context, line string) (name string, r commands.Reply, err error) {
	if rest, ok := strings.CutPrefix(line, "press "); ok {
		id, values, err := commands.ParsePress(rest)
		if err != nil {
			return "press", commands.Reply{}, err
		}
		r, err = a.app.Press(ctx, commands.Press{Caller: a.caller, ID: id, Values: values})
		return "press", r, err
	}
	name, options, err := commands.ParseLine(line)
	if err != nil {
		return "", commands.Reply{}, err
	}
	r, err = a.app.Run(ctx, commands.Call{Caller: a.caller, Name: name, Options: options})
	return name, r, err
}

// printText shows the whole of a reply: a terminal has room for what a phone
// keeps behind buttons.
func printText(w io.Writer, _ string, r commands.Reply, bad *commands.UserError) error {
	var b strings.Builder
	if bad != nil {
		fmt.Fprintln(&b, bad.Message)
		if bad.Hint != "" {
			fmt.Fprintln(&b, bad.Hint)
		}
		_, err := io.WriteString(w, b.String())
		return err
	}
	fmt.Fprintln(&b, r.Text)
	for _, d := range r.Details {
		fmt.Fprintf(&b, "\n%s\n", d.Text)
	}
	for _, f := range r.Files {
		fmt.Fprintf(&b, "\n%s: %s\n", f.Name, f.Alt)
		if strings.HasPrefix(f.Type, "text/") || f.Type == "application/json" {
			b.Write(f.Data)
		} else {
			fmt.Fprintf(&b, "(%d bytes; --save FOLDER keeps it)\n", len(f.Data))
		}
	}
	if len(r.Actions) > 0 {
		fmt.Fprintln(&b)
	}
	for _, act := range r.Actions {
		fields := ""
		if act.Form != nil {
			for _, f := range act.Form.Fields {
				if f.Required {
					example, _, _ := strings.Cut(f.Example, " or ") // so that the line can be pasted
					fields = " " + f.Name + ":" + example
				}
			}
		}
		fmt.Fprintf(&b, "press %s%s  (%s)\n", act.ID, fields, act.Label)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// replyJSON is the documented public form, one object a line.
type replyJSON struct {
	OK          bool             `json:"ok"`
	Command     string           `json:"command"`
	Text        string           `json:"text"`
	Private     bool             `json:"private"`
	Actions     []actionJSON     `json:"actions"`
	Attachments []attachmentJSON `json:"attachments"`
	Data        any              `json:"data"`
}

type actionJSON struct {
	ID    string `json:"id"`
	Label string `json:"label"`
}

type attachmentJSON struct {
	Name string `json:"name"`
	Alt  string `json:"alt"`
}

type errorJSON struct {
	OK    bool `json:"ok"`
	Error struct {
		Option  string `json:"option"`
		Message string `json:"message"`
		Hint    string `json:"hint"`
	} `json:"error"`
}

func printJSON(w io.Writer, command string, r commands.Reply, bad *commands.UserError) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if bad != nil {
		var e errorJSON
		e.Error.Option, e.Error.Message, e.Error.Hint = bad.Option, bad.Message, bad.Hint
		return enc.Encode(e)
	}
	out := replyJSON{
		OK: true, Command: command, Text: r.Text, Private: r.Private,
		Actions: []actionJSON{}, Attachments: []attachmentJSON{}, Data: r.Data,
	}
	for _, a := range r.Actions {
		out.Actions = append(out.Actions, actionJSON{a.ID, a.Label})
	}
	for _, d := range r.Details {
		out.Actions = append(out.Actions, actionJSON{d.Action.ID, d.Action.Label})
	}
	for _, p := range r.Pictures {
		out.Attachments = append(out.Attachments, attachmentJSON{p.Name + ".png", p.Alt})
	}
	for _, f := range r.Files {
		out.Attachments = append(out.Attachments, attachmentJSON{f.Name, f.Alt})
	}
	if out.Data == nil {
		out.Data = struct{}{}
	}
	return enc.Encode(out)
}
