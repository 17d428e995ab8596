package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

const (
	// Where it stands in the record, what was seen, then what may change later:
	// measurements added, and what is made of it.
	cutColumns = `shop_id, log_no, set_version, setup,
		no, revision, loading, member_id, feel, slips, note, interaction, at,
		floor, mouth, piece, depth, grade, odd, voided`
	insertCut = `INSERT INTO cuts (` + cutColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
	reviseCut = `UPDATE cuts SET (floor, mouth, piece, depth, grade, odd, voided) = (?, ?, ?, ?, ?, ?, ?) WHERE shop_id = ? AND setup = ? AND no = ?`
	nextLogNo = `SELECT 1 + max((SELECT coalesce(max(log_no), 0) FROM cuts WHERE shop_id = ?1),
		(SELECT coalesce(max(log_no), 0) FROM upkeep WHERE shop_id = ?1))`

	lastVersion   = `SELECT id, parts FROM set_versions WHERE set_id = ? ORDER BY id DESC LIMIT 1`
	insertVersion = `INSERT INTO set_versions (set_id, parts) VALUES (?, ?) RETURNING id`
)

// cutRow is a row of the table cuts.
type cutRow struct {
	shopID, logNo, setVersion, setup int64
	storage.Cut
}

// Of cutFields, those that never change, and those after them that may be
// filled in later.
const (
	fixedCutFields = 13
	lateCutFields  = 4
)

func cutFields(c *cutRow) []any {
	return []any{
		&c.shopID, &c.logNo, &c.setVersion, &c.setup,
		&c.No, &c.Revision, &c.Loading, &c.MemberID, &c.Feel, &c.Slips, &c.Note,
		orNull[string]{&c.Interaction},
		asMillis{&c.At},
		asMeasure{&c.Floor},
		asMeasure{&c.Mouth},
		asMeasure{&c.Piece},
		asMeasure{&c.Depth},
		&c.Grade, &c.Odd, &c.Voided,
	}
}

// LogCut logs a cut of a setup: log may append one cut to Bench.Setup.Cuts, may
// append stacks and change the setup's state and loaded stack, and, with a cut,
// may change the belief. All of it is on the disk when LogCut returns, or
// nothing is.
//
// An error of log comes back as it is. A cut whose number in the setup or whose
// interaction in the shop is taken is storage.ErrConflict, and the setup comes
// back as it stands.
func (db *DB) LogCut(ctx context.Context, shopID, no int64, log func(*storage.Bench) error) (storage.Setup, error) {
	var s storage.Setup
	err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) (err error) {
		s, err = logCut(ctx, tx, shopID, no, log)
		return err
	})
	switch {
	case errors.Is(err, errTaken):
		s, errNow := db.Setup(ctx, shopID, no)
		return s, errors.Join(err, errNow)
	case err != nil:
		return storage.Setup{}, err
	}
	return s, nil
}

// errTaken is the conflict of a cut that has been logged already, as against a
// conflict that the caller's function speaks of.
var errTaken = fmt.Errorf("cut: %w", storage.ErrConflict)

func logCut(ctx context.Context, tx *sql.Tx, shopID, no int64, log func(*storage.Bench) error) (storage.Setup, error) {
	var none storage.Setup
	s, err := setupAt(ctx, tx, shopID, no)
	if err != nil {
		return none, err
	}
	before, err := freeze(&s)
	if err != nil {
		return none, err
	}
	set, err := only(loadSets(ctx, tx, setByID, shopID, s.SetID))
	if err != nil {
		return none, fmt.Errorf("set of setup %d: %w", no, err)
	}
	belief, err := loadBelief(ctx, tx, shopID)
	if err != nil {
		return none, err
	}
	var logNo int64
	if err := tx.QueryRowContext(ctx, nextLogNo, shopID).Scan(&logNo); err != nil {
		return none, err
	}
	parts, err := json.Marshal(set.Parts) // before log can touch them
	if err != nil {
		return none, err
	}

	if err := log(&storage.Bench{Setup: &s, Set: set, Belief: &belief, LogID: logNo}); err != nil {
		return none, err
	}
	after, err := freeze(&s)
	if err != nil {
		return none, err
	}
	had := len(before.cuts)
	if len(after.cuts) < had || len(after.cuts) > had+1 {
		return none, errRewritten("its cuts, other than to add one")
	}
	if err := before.sameCuts(frozen{cuts: after.cuts[:had]}); err != nil {
		return none, err
	}
	if err := save(ctx, tx, before, after, s); err != nil {
		return none, err
	}
	if len(after.cuts) > had {
		at := &s.Cuts[had].At
		*at = time.UnixMilli(at.UnixMilli()).UTC() // as it will be read
		version, err := setVersion(ctx, tx, set.ID, string(parts))
		if err != nil {
			return none, err
		}
		if err := addCut(ctx, tx, cutRow{shopID, logNo, version, no, s.Cuts[had]}); err != nil {
			return none, err
		}
		if err := count(ctx, tx, s); err != nil {
			return none, err
		}
		if err := saveBelief(ctx, tx, shopID, belief); err != nil {
			return none, err
		}
	}
	return s, nil
}

func addCut(ctx context.Context, tx *sql.Tx, c cutRow) error {
	_, err := tx.ExecContext(ctx, insertCut, cutFields(&c)...)
	if errors.Is(named(err), storage.ErrConflict) {
		return fmt.Errorf("%w: setup %d, number %d", errTaken, c.setup, c.No)
	}
	if err != nil {
		return fmt.Errorf("add cut: %w", named(err))
	}
	return nil
}

// setVersion is the id of the row that holds a set's parts, as JSON, as they are now.
func setVersion(ctx context.Context, tx *sql.Tx, setID int64, parts string) (int64, error) {
	var id int64
	var last string
	err := tx.QueryRowContext(ctx, lastVersion, setID).Scan(&id, &last)
	if err == nil && last == parts {
		return id, nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, err
	}
	err = tx.QueryRowContext(ctx, insertVersion, setID, parts).Scan(&id)
	return id, err
}

// ReviseCuts changes what is made of cuts already logged, and learns anew:
// revise may set Voided, Grade and Odd of a cut, may give a measurement that was
// not given before, and may change the setup's state and loaded stack and append
// stacks; replay then makes the belief from the shop's whole log, voided cuts
// included. An error of revise comes back as it is; any other change of a cut is
// a fault, and nothing is written.
func (db *DB) ReviseCuts(
	ctx context.Context, shopID, no int64,
	revise func(*storage.Setup) error, replay func([]storage.Logged) solver.Belief,
) (s storage.Setup, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		s, err = changeSetup(ctx, tx, shopID, no, revise, func(before, after frozen) error {
			if !slices.EqualFunc(before.cuts, after.cuts, mayBecome) {
				return errRewritten("how a cut came out")
			}
			return nil
		})
		if err != nil {
			return err
		}
		for i := range s.Cuts {
			c := cutRow{Cut: s.Cuts[i]}
			if _, err := tx.ExecContext(ctx, reviseCut, append(cutFields(&c)[fixedCutFields:], shopID, no, c.No)...); err != nil {
				return fmt.Errorf("revise cut %d: %w", c.No, err)
			}
		}
		if err := count(ctx, tx, s); err != nil {
			return err
		}
		log, err := loadLog(ctx, tx, shopID)
		if err != nil {
			return err
		}
		if err := saveBelief(ctx, tx, shopID, replay(log)); err != nil {
			return err
		}
		s, err = setupAt(ctx, tx, shopID, no)
		return err
	})
	return s, err
}

// mayBecome says whether a cut's row may turn into another.
func mayBecome(before, after []driver.Value) bool {
	if !slices.Equal(before[:fixedCutFields], after[:fixedCutFields]) {
		return false
	}
	for i, v := range before[fixedCutFields:][:lateCutFields] {
		if v != nil && v != after[fixedCutFields+i] {
			return false
		}
	}
	return true
}
