package storage

import "time"

// The states after a setup was dialled in, and that of a plan nobody cut.
const (
	Released  State = "released"   // an instructor looked at it at the saw
	TakenDown State = "taken down" // stack off; standard blade, insert, guard and riving knife back
	SetAside  State = "set aside"
)

// Open says that a setup in this state is not finished: it is planned, or it may
// be on a saw.
func (s State) Open() bool { return s != TakenDown && s != SetAside }

// Deed is what moved a setup.
type Deed string

// The deeds.
const (
	CutLogged Deed = "test cut"
	Voiding   Deed = "void"
	Reloading Deed = "reload"
	Releasing Deed = "release"
	SendBack  Deed = "send back"
	TakeDown  Deed = "take down"
	PutAside  Deed = "set aside"
	TakeUp    Deed = "take up"
)

// Move is one step in a setup's life; a setup that is sent back may stay in its state.
type Move struct {
	From, To State
	Deed     Deed
	MemberID int64
	At       time.Time
	Word     string // of the instructor who sent it back; blank once erased
}

// Move puts the setup into a state and logs it. Whether the member may do so is
// for the caller to know.
func (s *Setup) Move(m Move) {
	m.From, m.At = s.State, asKept(m.At)
	s.State = m.To
	s.Moves = append(s.Moves, m)
}

// asKept is a time as it is read back: milliseconds, in UTC.
func asKept(t time.Time) time.Time { return time.UnixMilli(t.UnixMilli()).UTC() }

// MarkKind is what a mark says.
type MarkKind string

// The kinds of mark.
const (
	PowerOff    MarkKind = "power-off"   // power confirmed off before the arbor was touched, for the stack Revision
	Unconfirmed MarkKind = "unconfirmed" // Cut was logged, or with Cut 0 the saw taken down, without that
	Unchecked   MarkKind = "unchecked"   // Cut was logged by one who neither loaded the stack nor checked it
)

// Mark is a caution confirmed for a setup, or a cut logged without.
type Mark struct {
	Kind     MarkKind
	Revision int // of Setup.Stacks
	Cut      int // its number; 0 where the mark is of no cut
	MemberID int64
	At       time.Time
}

// Mark adds a mark to the setup.
func (s *Setup) Mark(m Mark) {
	m.At = asKept(m.At)
	s.Marks = append(s.Marks, m)
}
