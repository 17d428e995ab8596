// Package storage describes what a shop's record consists of. Its types hold
// solver values as they are; there is no third copy of them. A driver (sqlite)
// keeps them; commands say in small interfaces of their own what they need.
package storage

import (
	"errors"
	"time"

	"shimwright/solver"
)

var (
	// ErrNotFound is the answer for a record that does not exist and for one that
	// belongs to another shop alike.
	ErrNotFound = errors.New("not found")
	// ErrConflict says that a name, a cut number or an interaction is taken already.
	ErrConflict = errors.New("already there")
)

// Shop is one class or team: one Discord server, or one name with `ask`.
type Shop struct {
	ID       int64
	Key      string // platform and the platform's own key: "discord:1234", "local:Alder bench"
	Name     string
	Settings Settings
	Created  time.Time
}

// Settings are what a shop decided for itself.
type Settings struct {
	Unit           solver.Unit   `json:"unit"`
	Grades         solver.Grades `json:"grades"`
	InstructorRole string        `json:"instructor_role,omitempty"` // the platform's key of the role
	InstructorName string        `json:"instructor_name,omitempty"` // what it was called when it was named; empty: not known
	SetID          int64         `json:"set,omitempty"`             // used where a command names no set
	SawID          int64         `json:"saw,omitempty"`             // likewise
	// Depth is the shop's rule for the depth of a dado; zero: the usual one.
	Depth         solver.DepthRule `json:"depth,omitzero"`
	NoStopped     bool             `json:"no_stopped,omitempty"`     // stopped dadoes and grooves are barred
	ReviewChannel string           `json:"review_channel,omitempty"` // the platform's key of a channel
	ReviewName    string           `json:"review_name,omitempty"`    // what it was called then; empty: not known
	Cautions      []string         `json:"cautions,omitempty"`       // the shop's own, a line each
	CheckOff      bool             `json:"check_off,omitempty"`      // a setup without check-off is not released
	KeepDays      int              `json:"keep_days,omitempty"`      // names and notes; 0: until erased
	BackupDays    int              `json:"backup_days,omitempty"`    // how long backups keep a name; 0: DefaultBackupDays
	Zone          string           `json:"zone,omitempty"`           // of the IANA database; empty: UTC
	Hours         ClassHours       `json:"hours,omitzero"`
	Digest        bool             `json:"digest,omitempty"`         // a daily post in the review channel
	DigestRefused string           `json:"digest_refused,omitempty"` // key of the channel in which the bot may not post
}

// Start is what a new shop begins with. Settings.SetID and Settings.SawID become
// those of the first set and the first saw.
type Start struct {
	Settings Settings
	Sets     []Set
	Saws     []Saw
}

// Member is one person in one shop.
type Member struct {
	ID     int64
	ShopID int64
	Key    string
	Name   string
	Style  *solver.Style // nil: as the shop writes
	Minor  bool          // every setup needs a release
	Erased bool          // key and name are blanked, for good
	Seen   Day           // of the last command, in UTC; empty: before that was noted
}

// Set is a cutter set, or an ordinary blade, of a shop.
type Set struct {
	ID      int64
	ShopID  int64
	Name    string // unique in the shop among those not retired, without regard to case
	Parts   solver.Set
	Generic bool // a nominal starting set, never measured by anyone
	Retired bool
}

// Saw is a table saw of a shop.
type Saw struct {
	ID      int64
	ShopID  int64
	Name    string
	Saw     solver.Saw
	Generic bool
	Retired bool
}

// Joint is what is cut.
type Joint string

// The joints.
const (
	Dado   Joint = "dado"
	Groove Joint = "groove"
	Rabbet Joint = "rabbet"
	// Gauge is a board of test dadoes: its readings are the widths asked for, and
	// each of its stacks is one dado of it.
	Gauge Joint = "gauge"
)

// State is where a setup stands.
type State string

// The states.
const (
	Planned   State = "planned"
	Cutting   State = "cutting"
	DialledIn State = "dialled in"
)

// Setup is one question for a stack and what became of it.
type Setup struct {
	ShopID   int64
	No       int64 // counts up within the shop; the number that members see
	MemberID int64
	SetID    int64
	SawID    int64
	Joint    Joint
	Readings []solver.Measure // as typed, in the order given
	Width    solver.Measure   // width wanted of a rabbet; zero otherwise
	Depth    solver.Measure   // zero: not given
	// What it is cut into, where that was told.
	Panel     solver.Measure // its thickness; zero: as thick as the stock
	OtherFace solver.Measure // depth of the dado in its other face; zero: none
	Apart     bool           // the two are offset along the panel
	Stopped   bool           // ends short of the edge, in a curve
	Aim       solver.Measure // play wanted over the thickest reading; zero: not given
	Style     solver.Style
	Grades    solver.Grades // as they were when it was asked
	Pieces    int           // to cut with it; 0: not told
	Project   string        // the member's own name for the job; may be empty
	Lot       string        // of stock; may be empty
	State     State
	// Stacks is every stack that was advised or cut for it, oldest first; the
	// place in the slice is the stack's revision, which buttons carry. Empty
	// where no stack reaches the width.
	Stacks []PlannedStack
	// Loaded is the revision that is on the saw now.
	Loaded      int
	Done        int    // of Pieces cut so far
	Cuts        []Cut  // in the order logged, voided ones included
	Moves       []Move // from state to state, oldest first
	Marks       []Mark // cautions confirmed and not, oldest first
	Interaction string // the platform's id of the request that made it, unique in the shop; may be empty
	Created     time.Time
}

// TestPiece is what is known of the stock that went into a cut of the setup: its
// own thickness where that was measured, else that of the readings.
func (s Setup) TestPiece(c Cut) solver.TestPiece {
	if c.Piece.Length > 0 {
		return solver.MeasuredPiece(c.Piece.Length)
	}
	readings := make([]solver.Length, len(s.Readings))
	for i, r := range s.Readings {
		readings[i] = r.Length
	}
	return solver.PieceLike(readings)
}

// SetupHead is what a later request goes by: which setup it was, and with what.
type SetupHead struct {
	No, SetID, SawID int64
	Lot, Project     string
}

// SetupLine is a setup in a list to pick from.
type SetupLine struct {
	Setup    Setup  // number, member, joint, readings, labels, state and time alone
	Cuts     int    // that are not void
	Set, Saw string // names; empty where they are retired
	Member   string
}

// PlannedStack is a stack with what was expected of it when it was advised.
type PlannedStack struct {
	Stack  solver.Stack  `json:"stack"`
	Offset solver.Length `json:"offset"` // learned departure from the sum
	SD     solver.Length `json:"sd"`     // of the width
	Chance float64       `json:"chance"` // of a cut that is snug on every piece, 0 to 1
	// Passes is 1, or 2 and more with the stop moved by Move each time.
	Passes int           `json:"passes"`
	Move   solver.Length `json:"move,omitempty"`
	// Target is the width wanted of one dado of a gauge board.
	Target solver.Length `json:"target,omitempty"`
}

// Cut is one test cut of a setup. Exactly one of Feel, Slips and Floor says how it came out.
type Cut struct {
	No          int   // counts up within the setup, voided ones included
	Revision    int   // of Setup.Stacks: the stack that was really cut
	Loading     int   // counts up with each change of the stack on the arbor
	MemberID    int64 // who logged it
	Feel        solver.Grade
	Slips       *int           // slips of paper that went in beside the stock
	Floor       solver.Measure // groove as measured, at the floor
	Mouth       solver.Measure // and at the mouth; zero: not measured
	Piece       solver.Measure // the test piece's own thickness; zero: not given
	Depth       solver.Measure // of the cut; zero: not measured
	Note        string
	Grade       solver.Grade // what it amounts to
	Odd         bool         // parked: disagrees with what is believed
	Voided      bool
	Interaction string // unique in the shop; may be empty
	At          time.Time
}

// Logged is a cut with what is needed to learn from it, or an upkeep, in the order
// of the shop's log.
type Logged struct {
	ID    int64 // counts up over the whole log
	Cut   Cut
	Setup Setup // without Cuts
	Set   Set   // its parts as they were when the cut was logged
	// Upkeep is set for an entry that is no cut; then all but ID is empty.
	Upkeep *Upkeep
}

// Bench is what the logging of a cut reads and writes in one transaction: the
// setup with its cuts, its set, the shop's belief, and the id that the new cut
// gets in the shop's log.
type Bench struct {
	Setup  *Setup
	Set    Set
	Belief *solver.Belief
	LogID  int64
}
