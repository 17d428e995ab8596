package storage

import "time"

// NearMiss is a note to the instructors about what nearly went wrong.
type NearMiss struct {
	ShopID      int64
	No          int64 // counts up within the shop
	MemberID    int64
	At          time.Time
	Note        string // blank once erased
	Interaction string // the platform's id of the request, unique in the shop; may be empty
}
