package storage

import "time"

// Personal is everything on record of a member.
type Personal struct {
	Member     Member
	Setups     []Setup // that the member made, with all that belongs to them
	Cuts       []OwnCut
	Moves      []OwnMove
	CheckOffs  []CheckOff // oldest first, ended ones included
	NearMisses []NearMiss
	SetsTaken  []Custody
	Loads      []OwnLoad
	Checks     []OwnCheck // of stacks that others loaded
	Marks      []OwnMark  // power off confirmed, and what was done without
	Granted    []CheckOff // that the member gave or withdrew as an instructor
	Upkeep     []Upkeep
	Cautions   time.Time // when the whole list was last had; zero: never
}

// OwnCut is a test cut that the member logged, for a setup of anyone.
type OwnCut struct {
	Setup int64
	Cut
}

// OwnMove is a move of a setup that the member made.
type OwnMove struct {
	Setup int64
	Move
}

// OwnLoad is a stack that the member put on a saw.
type OwnLoad struct {
	Setup    int64
	SawID    int64
	Revision int
	At       time.Time
}

// Erasure says what became of a member's name.
type Erasure struct {
	Notes int // that were blanked
	// Held says that another process reads an older state of the database, so that
	// its log keeps the name until that is done.
	Held bool
}

// OwnCheck is a stack on a saw that the member looked over.
type OwnCheck struct {
	Setup int64
	SawID int64
	At    time.Time
}

// OwnMark is a mark of the member's on a setup.
type OwnMark struct {
	Setup int64
	Mark
}
