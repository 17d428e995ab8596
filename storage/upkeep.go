package storage

import (
	"time"

	"shimwright/solver"
)

// Upkeep is an entry of the shop's log beside the cuts: something done to a set
// or a saw, or said of it, that makes what was learned of it less certain.
type Upkeep struct {
	SetID    int64 // 0: about a saw
	SawID    int64 // 0: about a set
	MemberID int64
	Upkeep   solver.Upkeep
	At       time.Time
}
