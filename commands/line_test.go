package commands

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

func TestParseLine(t *testing.T) {
	type opts = map[string]string
	for _, c := range []struct {
		line, name string
		options    opts
	}{
		{`/help`, "help", opts{}},
		{`  /HELP  `, "help", opts{}},
		{`/stack stock:23/32`, "stack", opts{"stock": "23/32"}},
		{`/stack stock:1 1/8 0.7 45/64; 17.9mm`, "stack", opts{"stock": "1 1/8 0.7 45/64; 17.9mm"}},
		{`/stack STOCK:23/32 set:"Blue case" saw:East saw`, "stack", opts{"stock": "23/32", "set": "Blue case", "saw": "East saw"}},
		{`/stack stock:“0.703 0.705” set:„Blue case“`, "stack", opts{"stock": "0.703 0.705", "set": "Blue case"}},
		{`/stack stock:1 1/8"`, "stack", opts{"stock": `1 1/8"`}},
		{`/stack stock:1/8" set:X`, "stack", opts{"stock": `1/8"`, "set": "X"}},
		{`/stack set:"a \"b\" \\ c" stock:1`, "stack", opts{"set": `a "b" \ c`, "stock": "1"}},
		{`/stack stock:0.7 " set:X`, "stack", opts{"stock": `0.7 "`, "set": "X"}}, // a quote with no partner
		{`/stack stock:`, "stack", opts{"stock": ""}},
		{`/stack stock: 23/32`, "stack", opts{"stock": "23/32"}},
		{"/stack stock:0.703\n0.705\t0.7", "stack", opts{"stock": "0.703 0.705 0.7"}},
		{`/testcut undo`, "testcut", opts{"undo": "yes"}},
		{`/testcut feel:tight kept`, "testcut", opts{"feel": "tight", "kept": "yes"}},
		{`/testcut feel:will not enter setup:2`, "testcut", opts{"feel": "will not enter", "setup": "2"}},
		{`/testcut feel:tight note:north saw: new insert`, "testcut", opts{"feel": "tight", "note": "north saw: new insert"}},
		{`/testcut feel:tight note:saw:new "old insert"`, "testcut", opts{"feel": "tight", "note": "saw:new old insert"}},
		{`/set add name:"Blue: case" pair:1/4`, "set add", opts{"name": "Blue: case", "pair": "1/4"}},
		{`/set change set:Blue max-speed:7000 soft-shims`, "set change", opts{"set": "Blue", "max-speed": "7000", "soft-shims": "yes"}},
		{`/SET Show`, "set show", opts{}},
	} {
		name, options, err := ParseLine(c.line)
		if err != nil || name != c.name {
			t.Errorf("%q is %q, %v", c.line, name, err)
		}
		if d := cmp.Diff(c.options, options); d != "" {
			t.Errorf("%q: -want +got\n%s", c.line, d)
		}
	}
}

func TestParseLineRefuses(t *testing.T) {
	for line, option := range map[string]string{
		``: "", `   `: "", `stack stock:1`: "", `/`: "", `/ stack`: "ok", `/dance`: "", `/stack 23/32`: "", `/stack stock:1 stock:2`: "stock",
		`/stack stock:1 colour:red`: "colour", `/stack colour:red`: "colour", `/set`: "", `/set dance`: "", `/set name:X`: "",
		"/stack stock:\xff": "", `/stack stock:` + strings.Repeat("1", maxLine): "", `/stack "stock:1"`: "",
		`/stack ` + strings.Repeat("x", 40) + `:1`: "",
	} {
		_, _, err := ParseLine(line)
		if option == "ok" {
			if err != nil {
				t.Errorf("%q: %v", line, err)
			}
			continue
		}
		isUserError(t, line, err, option)
	}
}

func TestParsePress(t *testing.T) {
	id := action{verb: verbMeasure, setup: 1, cut: 1}.String()
	got, values, err := ParsePress(" " + id + ` groove:0.708 note:"north saw"`)
	if err != nil || got != id {
		t.Fatalf("%q, %v", got, err)
	}
	if d := cmp.Diff(map[string]string{"groove": "0.708", "note": "north saw"}, values); d != "" {
		t.Error(d)
	}
	for _, line := range []string{id + " slips:2", id + " 0.708", action{verb: verbFeel}.String() + " groove:1", id + " note:" + strings.Repeat("x", maxLine)} {
		_, _, err := ParsePress(line)
		if err == nil {
			t.Errorf("%q is taken", clip(line, 60))
		}
	}
}

func TestClip(t *testing.T) {
	for _, c := range []struct {
		in, want string
		n        int
	}{
		{"short", "short", 10},
		{"exactly10!", "exactly10!", 10},
		{"one more than ten", "one more…", 10},
		{"a\nb\tc\u00a0d", "a b c d", 10},
		{"\u202eevil\u202c \u2066x\u2069\x00\x1b[31m", "evil x[31m", 20}, // bidi marks, controls
		{"日本語のなまえ", "日本語…", 4},
		{"", "", 3},
	} {
		if got := clip(c.in, c.n); got != c.want {
			t.Errorf("clip(%q, %d) = %q, want %q", c.in, c.n, got, c.want)
		}
	}
}

func FuzzParseLine(f *testing.F) {
	for _, line := range []string{
		`/stack stock:1 1/8 0.7 set:"Blue case"`, `/testcut undo`, `/set add name:"a \"b" pair:1/4`, `/stack stock:“0.7”`,
		`/testcut note:a:b "c" d`, "/\x00", `/stack "`, `/stack stock:"`, `/set change set:x out:1 soft-shims`,
	} {
		f.Add(line)
	}
	f.Fuzz(func(t *testing.T, line string) {
		name, options, err := ParseLine(line)
		if err != nil {
			var bad *UserError
			if !errors.As(err, &bad) || bad.Message == "" || bad.Hint == "" || !utf8.ValidString(bad.Message) {
				t.Fatalf("%q: %#v", line, err)
			}
			return
		}
		cmd, err := commandFor(name)
		if err != nil {
			t.Fatalf("%q is the command %q: %v", line, name, err)
		}
		rest := "/" + name
		for o, v := range options {
			if _, ok := cmd.option(o); !ok {
				t.Errorf("%q has the option %q", line, o)
			}
			rest += " " + o + `:"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(v) + `"`
		}
		if len(rest) > maxLine {
			return
		}
		// Written with quotes it means the same.
		again, same, err := ParseLine(rest)
		if d := cmp.Diff(options, same); err != nil || again != name || d != "" {
			t.Errorf("%q written %q: %v\n%s", line, rest, err, d)
		}
	})
}

func isUserError(t *testing.T, what string, err error, option string) {
	t.Helper()
	var bad *UserError
	switch {
	case !errors.As(err, &bad):
		t.Errorf("%q: %v", clip(what, 60), err)
	case bad.Option != option || bad.Message == "" || bad.Hint == "":
		t.Errorf("%q: %+v", clip(what, 60), bad)
	}
}
