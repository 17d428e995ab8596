package solver

import "testing"

func TestPassCheck(t *testing.T) {
	// P15: 0.625 moved by 0.125 is 0.750; one move, off by 0.004 in either way.
	p := PassPlan{Stack: Stack{Outer: Part{Size: 625 * Mil}}, N: 2, Move: 125 * Mil, Width: 750 * Mil}
	c := p.Check()
	if !c.OK || c.Narrowest.Groove.Width() != 746*Mil || c.Widest.Groove.Width() != 754*Mil || len(c.Widest.Ridges) != 0 {
		t.Errorf("%+v", c)
	}
	// Blades overlap by 1/64 in at least, more than a move is off: no ridge, three
	// passes of 1/8 in, 0.344 in = 0.375 - 2/64 - a hair.
	blade := PassPlan{Stack: Stack{Outer: Part{Size: 125 * Mil}}, N: 3, Width: 34375 * Mil / 100}
	if c := blade.Check(); !c.OK || len(c.Widest.Ridges) != 0 || c.Widest.Groove.Width() != 35175*Mil/100 {
		t.Errorf("%+v", c)
	}
	// Passes that do not meet leave a ridge, and are no plan.
	if c := (PassPlan{Stack: Stack{Outer: Part{Size: 125 * Mil}}, N: 2, Width: 260 * Mil}).Check(); c.OK || len(c.Narrowest.Ridges) != 1 {
		t.Errorf("a ridge of 0.010 in is called right: %+v", c)
	}
	// A move of 0.002 in that is 0.004 in short is none: the cut stays as wide as the stack.
	short := PassPlan{Stack: Stack{Outer: Part{Size: 625 * Mil}}, N: 2, Width: 627 * Mil}
	if c := short.Check(); c.Narrowest.Groove != (Strip{0, 625 * Mil}) {
		t.Errorf("%+v", c.Narrowest)
	}
	lap := LapPlan{Stack: Stack{Outer: Part{Size: 500 * Mil}}, N: 2, Width: 750 * Mil, Over: Inch / 16}
	if c := lap.Check(); !c.OK || c.Narrowest.Groove.To != 808500*Mil/1000 { // 0.8125 - 0.004
		t.Errorf("%+v", c)
	}
}
