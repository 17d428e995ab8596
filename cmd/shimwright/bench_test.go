package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// bench is a shop's bench as `ask` sees it: one database, someone who asks, and a
// clock that moves a minute with every line, from Monday 2 March 2026, 18:00.
type bench struct {
	fatalf       func(format string, args ...any)
	db           string
	shop, member string
	instructor   bool
	clock        time.Time
	last         reply
	kept         map[string]reply
}

func newBench(t testing.TB) *bench {
	t.Helper()
	return benchAt(filepath.Join(t.TempDir(), "bench.db"), func(format string, args ...any) {
		t.Helper()
		t.Fatalf(format, args...)
	})
}

func benchAt(db string, fatalf func(string, ...any)) *bench {
	return &bench{
		fatalf: fatalf, db: db, shop: "bench", member: "me", kept: map[string]reply{},
		clock: time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC),
	}
}

// reply is one line of --json, read as a stranger would read it.
type reply struct {
	OK      bool   `json:"ok"`
	Command string `json:"command"`
	Text    string `json:"text"`
	Private bool   `json:"private"`
	Actions []struct {
		ID    string `json:"id"`
		Label string `json:"label"`
	} `json:"actions"`
	Data  replyData `json:"data"`
	Error struct {
		Option  string `json:"option"`
		Message string `json:"message"`
		Hint    string `json:"hint"`
	} `json:"error"`
	raw string
}

// replyData is the union of the data of /stack, /fit and /testcut.
type replyData struct {
	Setup    int64      `json:"setup"`
	State    string     `json:"state"`
	TargetMM string     `json:"target_mm"`
	Stack    *dataStack `json:"stack"`
	PlayMM   *dataEnds  `json:"play_mm"`
	// Grade is an object for /stack and /fit, a word for /testcut.
	Grade  json.RawMessage `json:"grade"`
	Chance float64         `json:"chance_snug"`
	Others []dataStack     `json:"others"`
	Passes int             `json:"passes"`
	MoveMM string          `json:"move_mm"`
	Notes  []string        `json:"notes"`
	Cut    int             `json:"cut"`
	Next   *dataStack      `json:"next"`
}

type dataStack struct {
	OuterPairMM string      `json:"outer_pair_mm"`
	Chippers    []dataCount `json:"chippers"`
	Shims       []dataCount `json:"shims"`
	Gaps        [][]string  `json:"gaps"`
	SumMM       string      `json:"sum_mm"`
	OffsetMM    string      `json:"offset_mm"`
	WidthMM     string      `json:"width_mm"`
}

type dataCount struct {
	SizeMM string `json:"size_mm"`
	Count  int    `json:"count"`
}

type dataEnds struct {
	Thickest string `json:"thickest"`
	Thinnest string `json:"thinnest"`
}

func (r reply) ends() dataEnds {
	var e dataEnds
	_ = json.Unmarshal(r.Data.Grade, &e)
	return e
}

func (r reply) has(note string) bool {
	for _, n := range r.Data.Notes {
		if n == note {
			return true
		}
	}
	return false
}

// run is the whole program, in this process, a minute later.
func (b *bench) run(stdin string, args ...string) (stdout, stderr string, code int) {
	var out, errs bytes.Buffer
	b.clock = b.clock.Add(time.Minute)
	env := func(name string) string { return map[string]string{"SHIMWRIGHT_DB": b.db}[name] }
	p := &program{env, strings.NewReader(stdin), &out, &errs, func() time.Time { return b.clock }}
	code = p.run(testContext, args)
	return out.String(), errs.String(), code
}

// say asks for one reply as JSON. The exit code has to agree with it.
func (b *bench) say(line string) reply {
	args := []string{"ask", "--json", "--shop", b.shop, "--member", b.member}
	if b.instructor {
		args = append(args, "--instructor")
	}
	out, errs, code := b.run("", append(args, line)...)
	r := reply{raw: strings.TrimSuffix(out, "\n")}
	if strings.Contains(r.raw, "\n") {
		b.fatalf("%s: more than one line of JSON:\n%s", line, out)
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		b.fatalf("%s: %v: %q %s", line, err, out, errs)
	}
	if r.OK != (code == exitOK) || !r.OK && code != exitInput || errs != "" {
		b.fatalf("%s: exit %d, stderr %q with %s", line, code, errs, out)
	}
	b.last = r
	return r
}

// good is say for a line that has to be answered.
func (b *bench) good(line string) reply {
	r := b.say(line)
	if !r.OK {
		b.fatalf("%s: refused: %+v", line, r.Error)
	}
	return r
}

// press is the line that presses the button of that label in a reply.
func (r reply) press(label string) (string, error) {
	var labels []string
	for _, a := range r.Actions {
		if a.Label == label {
			return "press " + a.ID, nil
		}
		labels = append(labels, a.Label)
	}
	return "", fmt.Errorf("no button %q among %q", label, labels)
}
