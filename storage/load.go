package storage

import (
	"time"

	"shimwright/solver"
)

// Load is a stack on a saw.
type Load struct {
	ShopID   int64
	No       int64 // counts up within the shop
	SawID    int64
	SetID    int64
	Setup    int64 // that it was loaded for; others may use it as it is
	Revision int   // of that setup's stacks
	Stack    solver.Stack
	MemberID int64 // who loaded it
	At       time.Time
	Checks   []LoadCheck // oldest first
}

// LoadCheck says that a member who did not load a stack looked it over.
type LoadCheck struct {
	MemberID int64
	At       time.Time
}

// KnownTo says whether a member loaded the stack or has checked it.
func (l Load) KnownTo(memberID int64) bool {
	known := l.MemberID == memberID
	for _, c := range l.Checks {
		known = known || c.MemberID == memberID
	}
	return known
}

// Arbor is what a change of what is on a saw reads and writes in one transaction.
type Arbor struct {
	// Load is what is on the saw; nil: the standard blade. A change may append one
	// check, set another load in its place, or take it off.
	Load *Load
	// Open is every open setup at this saw but plans that were never cut, loaded or
	// confirmed; a change may move them.
	Open []Setup
}
