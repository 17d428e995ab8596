package solver

import (
	"math"
	"testing"
)

// A pair that is measured while its stack is on the saw: the stack stays the same
// pieces, and what is expected of it is what is expected of the same stack asked for
// anew, by every way to ask. The caliper agrees with the cuts here: 0.004 in over.
func TestMeasuredAfterLoading(t *testing.T) {
	set, saw := GenericInchSet(), GenericInchSaw()
	on := Stack{
		Outer: set.Outer.Part(), Chippers: []Part{set.Chippers[0].Part(), set.Chippers[0].Part()},
		Gaps: [][]Part{nil, nil, {set.Shims[2].Part()}},
	}
	b := Replay([]Evidence{{CutID: 1, SetKey: "a", SawKey: "s", Set: set, Stack: on, Groove: 514 * Mil}})
	set.Outer.Measured, set.Shims[2].Measured = 254*Mil, 9*Mil
	now := on
	now.Outer, now.Gaps = set.Outer.Part(), [][]Part{nil, nil, {set.Shims[2].Part()}}
	p := Problem{Set: set, Saw: saw, Model: b.Model("a", set, "s"), Window: Window{509 * Mil, 517 * Mil}}
	want := Expect(p, now)
	if got := Expect(p, on); !got.Stack.Equal(on) || got.Width() != want.Width() || got.Chance != want.Chance {
		t.Errorf("%v in, %.4f; want %v in, %.4f", got.Width().Inches(), got.Chance, want.Width().Inches(), want.Chance)
	}
	if got := ExpectPasses(p, on, 1, 0); got.Cut() != want.Width() {
		t.Errorf("passes of %v in, want %v", got.Cut().Inches(), want.Width().Inches())
	}
	if change, ok := Advise(p, on); !ok || change.TakenOff != 0 {
		t.Errorf("%d pieces come off for being measured: %+v", change.TakenOff, change)
	}
	if off := on.TakenOff(now); off != 0 || !on.Equal(now) {
		t.Errorf("%d pieces differ from themselves", off)
	}
	old, _ := b.Observe(Evidence{CutID: 2, SetKey: "a", SawKey: "s", Set: set, Stack: on, Groove: 514 * Mil})
	anew, _ := b.Observe(Evidence{CutID: 2, SetKey: "a", SawKey: "s", Set: set, Stack: now, Groove: 514 * Mil})
	if x, y := old.Model("a", set, "s").Mean[0], anew.Model("a", set, "s").Mean[0]; math.Abs(x-y) > 1e-15 {
		t.Errorf("learned %.6f with the stack as loaded, %.6f as measured", x, y)
	}
}

// Places do not matter, counts and sizes do.
func TestSamePieces(t *testing.T) {
	set := GenericInchSet()
	outer, wide, narrow, shim := set.Outer.Part(), set.Chippers[0].Part(), set.Chippers[1].Part(), set.Shims[0].Part()
	s := Stack{Outer: outer, Chippers: []Part{wide, narrow}, Gaps: [][]Part{{shim}, nil, nil}}
	for name, tc := range map[string]struct {
		other Stack
		want  bool
	}{
		"shim elsewhere, chippers turned": {Stack{Outer: outer, Chippers: []Part{narrow, wide}, Gaps: [][]Part{nil, nil, {shim}}}, true},
		"a shim more":                     {Stack{Outer: outer, Chippers: s.Chippers, Gaps: [][]Part{{shim}, {shim}, nil}}, false},
		"another chipper":                 {Stack{Outer: outer, Chippers: []Part{wide, wide}, Gaps: s.Gaps}, false},
	} {
		if got := s.SamePieces(tc.other); got != tc.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}
