package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The public JSON form, field by field. Text and actions are held elsewhere.

// form is one line of --json with the parts left out that words may change.
func form(t *testing.T, r reply) map[string]any {
	t.Helper()
	var got map[string]any
	if err := json.Unmarshal([]byte(r.raw), &got); err != nil {
		t.Fatal(err)
	}
	if got["ok"] != true {
		return got
	}
	if s, ok := got["text"].(string); !ok || s == "" {
		t.Errorf("text %v", got["text"])
	}
	for _, a := range got["actions"].([]any) {
		a := a.(map[string]any)
		if len(a) != 2 || a["id"] == "" || a["label"] == "" {
			t.Errorf("action %v", a)
		}
	}
	for _, a := range got["attachments"].([]any) {
		a := a.(map[string]any)
		if len(a) != 2 || a["name"] == "" || a["alt"] == "" {
			t.Errorf("attachment %v", a)
		}
	}
	delete(got, "text")
	delete(got, "actions")
	delete(got, "attachments")
	return got
}

func TestFormOfStack(t *testing.T) {
	b := newBench(t)
	b.instructor = true
	b.good(`/set add name:Plain pair:1/4 chippers:"3 x 1/8, 3/32" shims:"0.005, 0.010"`)
	// Readings 0.720 and 0.719 in: window [0.721, 0.727], middle 0.724. The pair,
	// three chippers of 0.125 and one of 0.09375 are 0.71875; with the shim of 0.005
	// 0.72375, inside; with 0.010 0.72875, outside. Nothing is learned: offset 0, and
	// the standard deviation is sqrt(0.004^2 + (3 * 0.002)^2 + 0.002^2 + 0.0005^2 +
	// 0.0015^2) = sqrt(16 + 36 + 4 + 0.25 + 2.25) = 7.649 thousandths.
	r := b.good(`/stack stock:"0.720 0.719" set:Plain`)
	want := `{"ok":true,"command":"stack","private":false,"data":{
		"setup":1,"state":"planned","joint":"dado","unit":"in",
		"stock":{"readings_mm":["18.288","18.2626"],"thickest_mm":"18.288","thinnest_mm":"18.2626"},
		"target_mm":"18.3896",
		"stack":{"outer_pair_mm":"6.35",
			"chippers":[{"size_mm":"3.175","count":3},{"size_mm":"2.38125","count":1}],
			"shims":[{"size_mm":"0.127","count":1}],
			"gaps":[[],[],[],[],["0.127"]],
			"sum_mm":"18.38325","offset_mm":"0","width_mm":"18.38325"},
		"play_mm":{"thickest":"0.09525","thinnest":"0.12065"},
		"grade":{"thickest":"snug","thinnest":"snug"},
		"passes":1,"move_mm":"0","notes":["not-learned"]}}`
	got := form(t, r)
	data := got["data"].(map[string]any)
	// 0.721 and 0.727 lie -2.75 and 3.25 thousandths from the width.
	phi := func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
	chance := phi(3.25/7.6485) - phi(-2.75/7.6485)
	if d := data["chance_snug"].(float64) - chance; math.Abs(d) > 1e-4 {
		t.Errorf("chance %v, by hand %v", data["chance_snug"], chance)
	}
	// The others: the same chippers with no shim and with 0.010 are the next nearest.
	sums := map[string]bool{}
	for _, o := range data["others"].([]any) {
		sums[o.(map[string]any)["sum_mm"].(string)] = true
	}
	if len(sums) != 2 || !sums["18.25625"] || !sums["18.51025"] { // 0.71875 and 0.72875 in
		t.Errorf("other stacks sum to %v", sums)
	}
	delete(data, "chance_snug")
	delete(data, "others")
	equalJSON(t, got, want)
}

func TestFormOfPasses(t *testing.T) {
	b := newBench(t)
	b.instructor = true
	b.good(`/set add name:Pair pair:1/4`)
	// 0.3955 + 0.0045 = 0.400 wanted of the bare pair: 0.400 - 0.250 = 0.150 = 3.81 mm.
	r := b.good(`/stack stock:0.3955 set:Pair`)
	if r.Data.Passes != 2 || r.Data.MoveMM != "3.81" || r.Data.Stack.WidthMM != "6.35" || r.Data.PlayMM.Thickest != "0.1143" {
		t.Errorf("%s", r.raw)
	}
	notes(t, r, "passes")
	// Nothing reaches: 0.100 is narrower than the pair.
	got := form(t, b.good(`/stack stock:0.1 set:Pair`))["data"].(map[string]any)
	for _, key := range []string{"stack", "play_mm", "grade"} {
		if v, ok := got[key]; !ok || v != nil {
			t.Errorf("%s is %v where no stack reaches", key, v)
		}
	}
	if got["passes"] != 0.0 || got["chance_snug"] != 0.0 || len(got["others"].([]any)) != 0 {
		t.Errorf("%v", got)
	}
}

func TestFormOfRabbet(t *testing.T) {
	b := newBench(t)
	r := b.good(`/stack stock:"0.5 0.5" joint:rabbet width:3/8`)
	got := form(t, r)["data"].(map[string]any)
	// At least 3/8 + 1/16 = 0.4375 in = 11.1125 mm: the pair, 1/8 and 1/16, no shims.
	stack := got["stack"].(map[string]any)
	if stack["sum_mm"] != "11.1125" || len(stack["shims"].([]any)) != 0 {
		t.Errorf("stack %v", stack)
	}
	if got["joint"] != "rabbet" || got["play_mm"] != nil || got["grade"] != nil || got["target_mm"] != "9.525" { // 3/8 in
		t.Errorf("%v", got)
	}
}

func TestFormOfFit(t *testing.T) {
	b := newBench(t)
	// 0.710 - 0.704 = 0.006 = 0.1524 mm; 0.710 - 0.701 = 0.009 = 0.2286 mm, over 0.008.
	equalJSON(t, form(t, b.good(`/fit stock:"0.701 0.704" groove:0.710`)), `{"ok":true,"command":"fit","private":false,"data":{
		"play_mm":{"thickest":"0.1524","thinnest":"0.2286"},
		"grade":{"thickest":"snug","thinnest":"loose"},"notes":[]}}`)
}

func TestFormOfTestcut(t *testing.T) {
	b := newBench(t)
	b.instructor = true
	b.good(`/set add name:Plain pair:1/4 chippers:"3 x 1/8, 3/32" shims:"0.005, 0.010"`)
	b.good(`/stack stock:"0.720 0.719" set:Plain`)
	data := func(line string) map[string]any {
		d := form(t, b.good(line))["data"].(map[string]any)
		for _, key := range []string{"cut", "state", "grade", "next", "notes"} {
			if _, ok := d[key]; !ok {
				t.Errorf("%s: no %s in %v", line, key, d)
			}
		}
		return d
	}
	// 0.730 - 0.7195 = 0.0105: loose. The stack of 0.72375 cut about 0.006 wide, so
	// that 0.71875 is expected at about 0.7245, inside [0.721, 0.727].
	d := data(`/testcut groove:0.730 setup:last`)
	if d["cut"] != 1.0 || d["state"] != "cutting" || d["grade"] != "loose" {
		t.Errorf("%v", d)
	}
	next, ok := d["next"].(map[string]any)
	if !ok || next["sum_mm"] != "18.25625" { // 0.71875 in: the shim comes out
		t.Fatalf("next %v", d["next"])
	}
	for _, key := range []string{"outer_pair_mm", "chippers", "shims", "gaps", "sum_mm", "offset_mm", "width_mm"} {
		if _, ok := next[key]; !ok {
			t.Errorf("next has no %s", key)
		}
	}
	// 0.7235 lies in [0.721, 0.727]; 0.7235 - 0.7195 = 0.004.
	d = data(`/testcut groove:0.7235`)
	if d["cut"] != 2.0 || d["state"] != "dialled in" || d["grade"] != "snug" || d["next"] != nil {
		t.Errorf("%v", d)
	}
}

func TestFormOfErrors(t *testing.T) {
	b := newBench(t)
	for line, option := range map[string]string{
		`/stack stock:0`:          "stock",
		`/stack stock:1 depth:9`:  "depth",
		`/fit stock:0.7`:          "groove",
		`/testcut feel:snug`:      "setup",
		`/set add name:X pair:1`:  "",
		`hello`:                   "",
		`press 1:feel:1:1:0:snug`: "setup",
		`press nothing`:           "",
	} {
		r := b.say(line)
		got := form(t, r)
		e, ok := got["error"].(map[string]any)
		if got["ok"] != false || !ok || len(got) != 2 || len(e) != 3 || e["option"] != option || e["message"] == "" || e["hint"] == "" {
			t.Errorf("%s: %s", line, r.raw)
		}
	}
}

func equalJSON(t *testing.T, got map[string]any, want string) {
	t.Helper()
	var w map[string]any
	if err := json.Unmarshal([]byte(strings.ReplaceAll(want, "\t", "")), &w); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(w, got); d != "" {
		t.Errorf("-want +got\n%s", d)
	}
}
