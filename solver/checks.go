package solver

// Check is one limit of saw or set that a stack was held against. Figures are
// lengths, or plain numbers where the code says so.
type Check struct {
	Code  CheckCode
	Value Length // of this stack or set; revolutions a minute for SpeedCheck
	Limit Length // of the saw or set; likewise
	// Known is false where the saw or the set does not say: then the manual has to.
	Known bool
	OK    bool // true also where not known
}

// CheckCode names a limit.
type CheckCode string

// The limits, in the order in which they are shown.
const (
	NoStackCheck  CheckCode = "no-stack"  // the saw takes no stacked set at all
	ArborCheck    CheckCode = "arbor"     // sum of the parts, at most the arbor's capacity
	SetWidthCheck CheckCode = "set-width" // sum of the parts, at most the set's widest stack
	InsertCheck   CheckCode = "insert"    // sum of the parts, less than the insert's opening
	LargestCheck  CheckCode = "largest"   // diameter, at most the saw's largest
	SmallestCheck CheckCode = "smallest"  // diameter, at least the saw's smallest
	SpeedCheck    CheckCode = "speed"     // the arbor's speed, at most the set's marked maximum
	GapCheck      CheckCode = "gap"       // the widest gap, at most its limit
)

// CheckStack holds a stack against every limit of its set and saw. A stack that
// the search returned passes those of width; the others hold for the set on this
// saw whatever the stack.
func CheckStack(set Set, saw Saw, stack Stack) []Check {
	sum := stack.Sum()
	widest := set.MaxWidth
	if widest == 0 {
		widest = DefaultMaxWidth
	}
	known := func(c CheckCode, value, limit Length, ok bool) Check {
		k := value > 0 && limit > 0
		return Check{c, value, limit, k, ok || !k}
	}
	checks := []Check{
		{NoStackCheck, 0, 0, true, !saw.NoStack},
		known(ArborCheck, sum, saw.Arbor, sum <= saw.Arbor),
		known(SetWidthCheck, sum, widest, sum <= widest),
		known(InsertCheck, sum, saw.Insert, sum < saw.Insert),
		known(LargestCheck, set.Diameter, saw.Largest, set.Diameter <= saw.Largest),
		known(SmallestCheck, set.Diameter, saw.Smallest, set.Diameter >= saw.Smallest),
		known(SpeedCheck, Length(saw.RPM), Length(set.MaxRPM), saw.RPM <= set.MaxRPM),
	}
	if set.Kind == Blade {
		return checks
	}
	gap := Check{Code: GapCheck, Known: true}
	for i, limit := range set.gapLimits(stack) {
		if open := partsSum(stack.Gaps[i]); i == 0 || limit-open < gap.Limit-gap.Value {
			gap.Value, gap.Limit = open, limit
		}
	}
	gap.OK = set.gapsHold(stack)
	return append(checks, gap)
}

// gapsHold says whether every gap of a stack is within its limits.
func (s Set) gapsHold(stack Stack) bool { return s.within(stack.Gaps, s.gapLimits(stack)) }

func (s Set) within(gaps [][]Part, limits []Length) bool {
	for i, gap := range gaps {
		if partsSum(gap) > limits[i] || len(gap) > s.Gap.Count {
			return false
		}
	}
	return true
}

// gapLimits are the limits of a stack's gaps, from the inner flange.
func (s Set) gapLimits(stack Stack) []Length {
	left := s.outerCutter()
	var out []Length
	for _, p := range stack.Chippers {
		right := cutter{chipper: true}
		for _, c := range s.Chippers {
			if c.Nominal == p.Nominal {
				right = c.cutter()
			}
		}
		out = append(out, s.overlapLimit(left, right))
		left = right
	}
	return append(out, s.overlapLimit(left, s.outerCutter()))
}

// ParallelWalls is how much wider a groove may measure at its mouth than at its
// floor before the fence or the feed is to be looked at, not the stack [shop: a
// slip of paper, four times the error of a caliper].
const ParallelWalls = 4 * Mil

// WallsParallel says whether a groove's width at the floor and at the mouth agree.
func WallsParallel(floor, mouth Length) bool { return (mouth - floor).Abs() <= ParallelWalls }
