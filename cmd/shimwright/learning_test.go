package main

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
)

// trueErrors is an invented set that does not cut as it says: what each part
// adds to its size, in inches, by its size in millimetres.
var trueErrors = map[string]float64{"6.35": 0.0062, "3.175": -0.0012, "2.38125": 0.0008, "1.5875": 0.0003}

// wander is how far successive cuts stray, in inches: a fixed stretch of noise of
// about the usual scatter, so that the talk is the same every time.
var wander = []float64{0.0009, -0.0013, 0.0004, 0.0016, -0.0007, -0.0011, 0.0012, -0.0003, 0.0008, -0.0016}

// TestTenthSetupKnowsTheSet holds ten conversations with one set, outcomes by
// feel: the first has to find out, the tenth knows.
func TestTenthSetupKnowsTheSet(t *testing.T) {
	b := newBench(t)
	cuts := 0
	cut := func(s dataStack) float64 { // what the set really cuts, inches
		width := number(t, s.SumMM)/25.4 + trueErrors[s.OuterPairMM]
		for _, c := range s.Chippers {
			width += float64(c.Count) * trueErrors[c.SizeMM]
		}
		cuts++
		return width + wander[cuts%len(wander)]
	}
	feel := func(play float64) string { // this shop's grades are the defaults
		switch {
		case play < -0.004:
			return "will not enter"
		case play < 0.001:
			return "tight"
		case play <= 0.008:
			return "snug"
		case play <= 0.015:
			return "loose"
		}
		return "sloppy"
	}
	var firsts []string // the grade of each setup's first cut
	var asked []reply
	for _, mil := range []int{703, 721, 484, 735, 702, 465, 712, 746, 598, 704} {
		stock := float64(mil) / 1000
		r := b.say(fmt.Sprintf("/stack stock:%.3f %.3f %.3f", stock, stock, stock))
		asked = append(asked, r)
		now := *r.Data.Stack
		for n := 1; ; n++ {
			g := feel(cut(now) - stock)
			c := b.say("/testcut feel:" + g)
			if n == 1 {
				firsts = append(firsts, g)
			}
			if c.Data.Next != nil {
				now = *c.Data.Next
			}
			if c.Data.State == "dialled in" {
				break
			}
			if n == 12 {
				t.Fatalf("stock %.3f: twelve cuts and not dialled in; the last reply:\n%s", stock, c.Text)
			}
		}
	}
	first, tenth := asked[0], asked[9]
	t.Logf("first setup:\n%s\n\ntenth setup:\n%s\n\nfirst cuts: %s", first.Text, tenth.Text, strings.Join(firsts, ", "))
	if !strings.Contains(first.Text, "no test cuts of this set yet") || firsts[0] == "snug" {
		t.Errorf("the first setup knows something, or was lucky: first cut %s", firsts[0])
	}
	if !strings.Contains(tenth.Text, "wide, give or take") || firsts[9] != "snug" {
		t.Errorf("the tenth setup has not learned: first cut %s", firsts[9])
	}
	if first.Data.Chance > 0.5 || tenth.Data.Chance < 0.85 {
		t.Errorf("chance of a snug first cut %.2f at first, %.2f at the tenth", first.Data.Chance, tenth.Data.Chance)
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	n, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return n
}
