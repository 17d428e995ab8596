package storage

import "shimwright/solver"

// Outcome is how one setup came out, for the charts of a class.
type Outcome struct {
	Setup    int64
	MemberID int64
	Day      Day
	ToSnug   int            // which test cut was the first snug one; 0: none was
	Play     *solver.Length // of the last cut that was measured, to 100 nm; nil: none was
}
