package solver

// RabbetOverlap is how much wider than the rabbet the stack has to be at least,
// so that the rest runs buried in a sacrificial fence, 1/16 in [cp].
const RabbetOverlap = Inch / 16

// RabbetStack is the narrowest stack without shims that is at least
// RabbetOverlap wider than the rabbet: its width does not set the rabbet's, the
// fence does. The second result is false where saw and set allow none.
func RabbetStack(set Set, saw Saw, width Length) (Stack, bool) {
	set.Shims = nil
	return ClosestAbove(set, saw, width+RabbetOverlap)
}
