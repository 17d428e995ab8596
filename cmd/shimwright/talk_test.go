package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var (
	update      = flag.Bool("update", false, "rewrite the goldens of this package")
	testContext = context.Background()
)

// TestTalk runs the conversations of testdata/talk: what is typed above, what is
// answered below. All of it goes through the real program, in this process.
//
//	as NAME [instructor] [at SHOP]  who types from here on
//	say LINE                        one command, as `ask --json` answers it
//	tap LABEL [FIELDS]              the button of that label in the reply before
//	tap -from NAME LABEL [FIELDS]   and in a reply that was kept
//	keep NAME                       keep the reply before under a name
//	buttons                         the labels in the reply before
//	data KEY                        a part of its data
//	ask ['<FILE'] ARGS              the program as it is started in a terminal
//	cmp talk want                   what was said, against what is expected
//
// `go test ./cmd/shimwright -run Talk -update` rewrites what is expected.
func TestTalk(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "talk"), UpdateScripts: *update, RequireExplicitExec: true, RequireUniqueNames: true,
		Setup: func(e *testscript.Env) error {
			t := e.T().(testing.TB)
			e.Values["bench"] = benchAt(filepath.Join(e.WorkDir, "talk.db"), t.Fatalf)
			return os.WriteFile(filepath.Join(e.WorkDir, "talk"), nil, 0o600)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"as": talkAs, "say": talkSay, "tap": talkTap, "keep": talkKeep,
			"buttons": talkButtons, "data": talkData, "ask": talkAsk,
		},
	})
}

func talkAs(ts *testscript.TestScript, _ bool, args []string) {
	b := ts.Value("bench").(*bench)
	b.member, b.instructor, b.shop = args[0], false, "bench"
	for i, a := range args {
		switch a {
		case "instructor":
			b.instructor = true
		case "at":
			b.shop = args[i+1]
		}
	}
}

func talkSay(ts *testscript.TestScript, _ bool, args []string) {
	b := ts.Value("bench").(*bench)
	line := strings.Join(args, " ")
	b.say(line)
	write(ts, "%s> %s\n%s", b.who(), line, b.last.shown())
}

func talkTap(ts *testscript.TestScript, _ bool, args []string) {
	b := ts.Value("bench").(*bench)
	from := b.last
	if args[0] == "-from" {
		kept, ok := b.kept[args[1]]
		if !ok {
			ts.Fatalf("no reply was kept as %s", args[1])
		}
		from, args = kept, args[2:]
	}
	press, err := from.press(args[0])
	ts.Check(err)
	fields := strings.Join(args[1:], " ")
	b.say(strings.TrimSpace(press + " " + fields))
	write(ts, "%s> %s\n%s", b.who(), strings.TrimSpace("["+args[0]+"] "+fields), b.last.shown())
}

func talkKeep(ts *testscript.TestScript, _ bool, args []string) {
	b := ts.Value("bench").(*bench)
	b.kept[args[0]] = b.last
}

func talkButtons(ts *testscript.TestScript, _ bool, _ []string) {
	var labels []string
	for _, a := range ts.Value("bench").(*bench).last.Actions {
		labels = append(labels, "["+a.Label+"]")
	}
	write(ts, "%s\n", strings.Join(labels, " "))
}

func talkData(ts *testscript.TestScript, _ bool, args []string) {
	b := ts.Value("bench").(*bench)
	write(ts, "%s: %s\n", args[0], dataAt(ts, b.last, args[0]))
}

func talkAsk(ts *testscript.TestScript, _ bool, args []string) {
	stdin := ""
	if len(args) > 0 && strings.HasPrefix(args[0], "<") {
		stdin, args = ts.ReadFile(args[0][1:]), args[1:]
	}
	out, errs, code := ts.Value("bench").(*bench).run(stdin, append([]string{"ask"}, args...)...)
	errs = strings.ReplaceAll(errs, ts.Getenv("WORK"), "WORK")
	write(ts, "$ shimwright ask %s\n%s%s", strings.Join(args, " "), out, errs)
	if code != exitOK {
		write(ts, "exit %d\n", code)
	}
}

// write adds to what was said.
func write(ts *testscript.TestScript, format string, args ...any) {
	f, err := os.OpenFile(ts.MkAbs("talk"), os.O_APPEND|os.O_WRONLY, 0o600)
	ts.Check(err)
	_, err = fmt.Fprintf(f, format, args...)
	ts.Check(err)
	ts.Check(f.Close())
}

func (b *bench) who() string {
	who := b.member
	if b.instructor {
		who += "*"
	}
	if b.shop != "bench" {
		who += " at " + b.shop
	}
	return who
}

// shown is a reply as a phone shows it, buttons aside.
func (r reply) shown() string {
	if r.OK {
		seen := ""
		if r.Private {
			seen = "(only you see this)\n"
		}
		return r.Text + "\n" + seen + "\n"
	}
	option := ""
	if r.Error.Option != "" {
		option = ", option " + r.Error.Option
	}
	return fmt.Sprintf("refused%s: %s\n%s\n\n", option, r.Error.Message, r.Error.Hint)
}

// dataAt is one key of a reply's data, as JSON.
func dataAt(ts *testscript.TestScript, r reply, key string) string {
	var whole struct {
		Data map[string]json.RawMessage `json:"data"`
	}
	ts.Check(json.Unmarshal([]byte(r.raw), &whole))
	part, ok := whole.Data[key]
	if !ok {
		ts.Fatalf("no %q in %s", key, r.raw)
	}
	return string(part)
}
