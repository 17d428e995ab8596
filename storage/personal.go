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
