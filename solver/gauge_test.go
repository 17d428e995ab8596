package solver

import "testing"

// Practice case P08: from 0.71875 to 0.76 in steps of 0.005 the rungs are
// 0.71875, 0.72375 ... 0.75875, 0.76375: (0.76 - 0.71875)/0.005 = 8.25, so nine
// steps reach the end, ten rungs in all.
func TestLadderOfP08(t *testing.T) {
	set := GenericInchSet()
	p := Problem{Set: set, Saw: GenericInchSaw(), Model: PriorModel(set)}
	from, step := Inches(71875, 100000), 5*Mil
	rungs, ok := Ladder(p, from, 760*Mil, step)
	if !ok || len(rungs) != 10 {
		t.Fatalf("%d rungs, ok %v; want 10", len(rungs), ok)
	}
	for i, r := range rungs {
		if r.Target != from+Length(i)*step {
			t.Errorf("rung %d is %s", i+1, Style{}.Size(r.Target))
		}
		near, _ := Closest(set, GenericInchSaw(), r.Target)
		// The prior expects no offset, so a rung is reached just if some sum is within reach.
		if want := (near.Sum() - r.Target).Abs() <= GaugeReach; r.Reached != want {
			t.Errorf("rung %d reached %v, want %v", i+1, r.Reached, want)
		}
		if off := (r.Stack.Width() - r.Target).Abs(); r.Reached && off > GaugeReach {
			t.Errorf("rung %d is off by %s", i+1, Style{}.Size(off))
		}
	}
}

func TestLadderRefuses(t *testing.T) {
	set := GenericInchSet()
	p := Problem{Set: set, Saw: GenericInchSaw(), Model: PriorModel(set)}
	for name, l := range map[string][3]Length{
		"no step": {Inch / 2, Inch, 0}, "backwards": {Inch, Inch / 2, Mil}, "too many": {Inch / 2, Inch, Mil}, "nothing": {0, Inch, Inch / 8},
	} {
		if _, ok := Ladder(p, l[0], l[1], l[2]); ok {
			t.Errorf("%s: accepted", name)
		}
	}
}
