package storage

import "time"

// CheckOff says that a member may use the stacked set on a saw, or, where it is
// not granted, no longer. The newest of a member and a saw counts.
type CheckOff struct {
	ShopID   int64
	MemberID int64
	SawID    int64
	Granted  bool
	Until    Day // the last day; empty: no end
	ByID     int64
	At       time.Time
}

// Valid says whether it allows the saw on a day.
func (c CheckOff) Valid(on Day) bool { return c.Granted && (c.Until == "" || on <= c.Until) }
