package solver

import (
	"math"
	"slices"
)

// FanAdvice is how the cutters of a stack are turned against each other so that
// no two tips meet [number theory; cp]. Angles are degrees.
type FanAdvice struct {
	Rule FanRule
	// Turn is how far each chipper is turned from the last (FanEach), or one outer
	// blade against the other (FanOuters, half a tooth pitch); 0 where not known.
	Turn float64
	// Chippers is their number in the stack, Teeth their tooth count where all
	// are alike and known, OuterTeeth that of an outer blade; 0: not known.
	Chippers, Teeth, OuterTeeth int
	// Clearances has one entry for each tooth count that stands beside an outer
	// blade. It is empty where the counts are not known.
	Clearances []TipClearance
}

// FanRule says which rule turns the cutters of a stack.
type FanRule uint8

// The rules.
const (
	FanNone    FanRule = iota // one chipper: no fan
	FanEach                   // chippers of one tooth count: each by Turn from the last
	FanMixed                  // different tooth counts: no formula, by hand until no tip touches
	FanOuters                 // no chipper: one outer blade by half a tooth pitch
	FanUnknown                // several chippers, tooth counts not known: by hand
)

// TipClearance is how far every tip of a chipper can stand clear of the tips of
// the outer blade beside it, at best.
type TipClearance struct {
	Chipper, Outer int // teeth
	Degrees        float64
	Rim            Length // the arc at the rim; 0 where the diameter is not known
	// Comfortable: k divides T, one position clears all tips alike. Otherwise
	// turn by hand, look for touching tips, and do not run if any touch.
	Comfortable bool
}

// Fan advises on a stack of the set. For n >= 2 chippers of the same k teeth each
// is turned by 360/(k n) degrees from the last; without a chipper one outer blade
// of T teeth by half a pitch, 180/T.
func Fan(set Set, stack Stack) FanAdvice {
	f := FanAdvice{Chippers: len(stack.Chippers), OuterTeeth: max(0, set.Outer.Teeth)}
	if f.Chippers == 0 {
		f.Rule = FanOuters
		if f.OuterTeeth > 0 {
			f.Turn = 180 / float64(f.OuterTeeth)
		}
		return f
	}
	var known []int // distinct counts
	unknown := false
	for _, c := range stack.Chippers {
		switch k := set.teethOf(c); {
		case k == 0:
			unknown = true
		case !slices.Contains(known, k):
			known = append(known, k)
		}
	}
	if len(known) == 1 && !unknown {
		f.Teeth = known[0]
	}
	switch {
	case f.Chippers == 1:
	case len(known) > 1:
		f.Rule = FanMixed
	case unknown:
		f.Rule = FanUnknown
	default:
		f.Rule = FanEach
		f.Turn = 360 / float64(f.Teeth*f.Chippers)
	}
	if f.OuterTeeth == 0 {
		return f
	}
	ends := []int{set.teethOf(stack.Chippers[0]), set.teethOf(stack.Chippers[f.Chippers-1])}
	for _, k := range slices.Compact(ends) {
		if k > 0 {
			f.Clearances = append(f.Clearances, Clearance(f.OuterTeeth, k, set.Diameter))
		}
	}
	return f
}

// Clearance is the best clearance between the tips of an outer blade of T teeth
// and a chipper of k teeth, 180 gcd(T, k)/(T k) degrees: the tips of the one fall
// on multiples of 360 gcd/(T k) against those of the other, and halfway between
// two multiples is best. Both counts must be positive.
func Clearance(outer, chipper int, diameter Length) TipClearance {
	degrees := 180 * float64(gcd(outer, chipper)) / float64(outer*chipper)
	return TipClearance{
		Chipper: chipper, Outer: outer, Degrees: degrees,
		Rim:         InchesFloat(math.Pi * diameter.Inches() * degrees / 360),
		Comfortable: outer%chipper == 0,
	}
}

// teethOf is the tooth count of a chipper of the set, 0 where not known.
func (s Set) teethOf(p Part) int {
	for _, c := range s.Chippers {
		if c.Nominal == p.Nominal {
			return max(0, c.Teeth)
		}
	}
	return 0
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
