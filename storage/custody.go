package storage

import "time"

// Custody says who has a set, and since when.
type Custody struct {
	ShopID   int64
	No       int64 // counts up within the shop
	SetID    int64
	MemberID int64
	At       time.Time
}
