package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"shimwright/commands"
	"shimwright/solver"
)

// stacker asks /stack of one App, as many times as a property wants.
type stacker struct {
	app *commands.App
	who commands.Caller
}

func newStacker(t *testing.T) stacker {
	t.Helper()
	app, closeApp, err := openApp(testContext, t.TempDir()+"/property.db")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { closeApp() })
	s := stacker{app, commands.Caller{Platform: "test", ShopKey: "shop", MemberKey: "me", MemberName: "Me", Admin: true, At: benchAt("", nil).clock}}
	for _, set := range []string{
		`Measured" pair:0.2512 chippers:"3 x 0.1243, 2 x 0.0936, 0.0628" shims:"2 x 0.0041, 2 x 0.0079, 0.012, 2 x 0.0198`,
		`Fine metric" unit:mm pair:6.41 chippers:"4 x 3.17, 2.38, 1.59" shims:"3 x 0.05, 2 x 0.1, 2 x 0.25, 0.4`,
	} {
		name, options, err := commands.ParseLine(`/set add name:"` + set + `"`)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := app.Run(testContext, commands.Call{Caller: s.who, Name: name, Options: options}); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

var propertySets = []string{"Starter inch set", "Starter metric set", "Measured", "Fine metric"}

func (s stacker) ask(t *rapid.T, set string, readings []string, more ...string) replyData {
	options := map[string]string{"stock": strings.Join(readings, "; "), "set": set}
	for i := 0; i+1 < len(more); i += 2 {
		options[more[i]] = more[i+1]
	}
	r, err := s.app.Run(testContext, commands.Call{Caller: s.who, Name: "stack", Options: options})
	if err != nil {
		t.Fatalf("%q: %v", options, err)
	}
	text, err := json.Marshal(r.Data)
	if err != nil {
		t.Fatal(err)
	}
	var d replyData
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// sameStack compares what is asked for; the number of the setup and what follows
// from the unit of the readings (words, notes on labels) are left aside.
func sameStack(t *rapid.T, what string, a, b replyData) {
	drop := cmpopts.IgnoreFields(replyData{}, "Setup", "Notes")
	if d := cmp.Diff(a, b, drop); d != "" {
		t.Fatalf("%s:\n%s", what, d)
	}
}

// thousandths draws one to four readings close together, in tenths of a
// thousandth of an inch.
func thousandths(t *rapid.T) []int {
	middle := rapid.IntRange(2000, 13000).Draw(t, "thickness")
	return rapid.SliceOfN(rapid.IntRange(middle-30, middle+30), 1, 4).Draw(t, "readings")
}

func inches(tenths int) string { return fmt.Sprintf("%d.%04din", tenths/10000, tenths%10000) }

// millimetres is the same length exactly: one ten-thousandth of an inch is 0.00254 mm
// (1 in = 25.4 mm, NIST SP 811, appendix B).
func millimetres(tenths int) string {
	return decimal.New(int64(tenths), 0).Mul(decimal.RequireFromString("0.00254")).String() + "mm"
}

func TestPropertySumIsExact(t *testing.T) {
	s := newStacker(t)
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(propertySets).Draw(t, "set")
		var readings []string
		for _, r := range thousandths(t) {
			readings = append(readings, inches(r))
		}
		joint := rapid.SampledFrom([]string{"dado", "groove", "rabbet"}).Draw(t, "joint")
		d := s.ask(t, set, readings, "joint", joint)
		stacks := d.Others
		if d.Stack != nil {
			stacks = append(stacks, *d.Stack)
		}
		for _, k := range stacks {
			checkSum(t, k)
		}
		if d.Stack == nil || joint == "rabbet" {
			return
		}
		// play = width of all passes - reading, exactly.
		width := mm(t, d.Stack.WidthMM).Add(mm(t, d.MoveMM).Mul(decimal.NewFromInt(int64(d.Passes - 1))))
		tenths := decimal.RequireFromString("0.00254")
		all := append([]string(nil), readings...)
		slices.SortFunc(all, func(a, b string) int { return cmpInches(a, b) })
		for _, end := range []struct{ play, reading string }{{d.PlayMM.Thickest, all[len(all)-1]}, {d.PlayMM.Thinnest, all[0]}} {
			stock := decimal.RequireFromString(strings.TrimSuffix(end.reading, "in")).Mul(decimal.NewFromInt(10000)).Mul(tenths)
			if got := mm(t, end.play).Add(stock); !got.Equal(width) {
				t.Fatalf("play %s and %s make %s, the width is %s", end.play, end.reading, got, width)
			}
		}
	})
}

func cmpInches(a, b string) int {
	return decimal.RequireFromString(strings.TrimSuffix(a, "in")).Cmp(decimal.RequireFromString(strings.TrimSuffix(b, "in")))
}

func checkSum(t *rapid.T, k dataStack) {
	sum := mm(t, k.OuterPairMM)
	chippers, shims := 0, map[string]int{}
	for _, c := range k.Chippers {
		sum = sum.Add(mm(t, c.SizeMM).Mul(decimal.NewFromInt(int64(c.Count))))
		chippers += c.Count
	}
	for _, c := range k.Shims {
		sum = sum.Add(mm(t, c.SizeMM).Mul(decimal.NewFromInt(int64(c.Count))))
		shims[c.SizeMM] += c.Count
	}
	if !sum.Equal(mm(t, k.SumMM)) || !sum.Add(mm(t, k.OffsetMM)).Equal(mm(t, k.WidthMM)) {
		t.Fatalf("the parts make %s: %+v", sum, k)
	}
	if len(k.Gaps) != chippers+1 {
		t.Fatalf("%d gaps for %d chippers", len(k.Gaps), chippers)
	}
	// The shims in the gaps are the shims of the stack, within the limits per gap.
	limit := mm(t, solver.DefaultGapLimits().Chipper.DecimalMM())
	if chippers == 0 {
		limit = mm(t, solver.DefaultGapLimits().Bare.DecimalMM())
	}
	for _, gap := range k.Gaps {
		opened := decimal.Zero
		for _, size := range gap {
			opened = opened.Add(mm(t, size))
			shims[size]--
		}
		if len(gap) > 2 || opened.GreaterThan(limit) {
			t.Fatalf("a gap of %v, the limit is 2 and %s", gap, limit)
		}
	}
	for size, n := range shims {
		if n != 0 {
			t.Fatalf("%d shims of %s are in no gap: %+v", n, size, k)
		}
	}
}

func mm(t *rapid.T, text string) decimal.Decimal {
	d, err := decimal.NewFromString(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return d
}

func TestPropertyUnitInvariant(t *testing.T) {
	s := newStacker(t)
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(propertySets).Draw(t, "set")
		var in, metric []string
		for _, r := range thousandths(t) {
			in = append(in, inches(r))
			metric = append(metric, millimetres(r))
		}
		a, b := s.ask(t, set, in), s.ask(t, set, metric)
		sameStack(t, fmt.Sprintf("%q and %q", in, metric), a, b)
	})
}

func TestPropertyPermutationInvariant(t *testing.T) {
	s := newStacker(t)
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(propertySets).Draw(t, "set")
		var readings []string
		for _, r := range thousandths(t) {
			readings = append(readings, inches(r))
		}
		shuffled := append([]string(nil), readings...)
		seed := rapid.Uint64().Draw(t, "seed")
		rand.New(rand.NewPCG(seed, 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		sameStack(t, fmt.Sprintf("%q and %q", readings, shuffled), s.ask(t, set, readings), s.ask(t, set, shuffled))
	})
}

// TestPropertySameQuestionSameAnswer asks in any order and with any history: a question
// changes nothing for the next, and the same question gets the same answer.
func TestPropertySameQuestionSameAnswer(t *testing.T) {
	s := newStacker(t)
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(propertySets).Draw(t, "set")
		reading := inches(thousandths(t)[0])
		first := s.ask(t, set, []string{reading})
		s.ask(t, rapid.SampledFrom(propertySets).Draw(t, "other set"), []string{inches(thousandths(t)[0])})
		sameStack(t, reading, first, s.ask(t, set, []string{reading}))
	})
}
