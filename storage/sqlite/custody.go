package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shimwright/storage"
)

const (
	custodyColumns = `shop_id, no, set_id, member_id, at`
	custodyNow     = `SELECT ` + custodyColumns + ` FROM set_custody WHERE shop_id = ? AND ended IS NULL ORDER BY set_id`
	custodyOfSet   = `SELECT ` + custodyColumns + ` FROM set_custody WHERE shop_id = ? AND set_id = ? AND ended IS NULL`
	insertCustody  = `INSERT INTO set_custody (` + custodyColumns + `) VALUES (?, ?, ?, ?, ?)`
	nextCustody    = `SELECT coalesce(max(no), 0) + 1 FROM set_custody WHERE shop_id = ?`
	endCustody     = `UPDATE set_custody SET (ended, ended_by) = (?, ?) WHERE shop_id = ? AND no = ? AND ended IS NULL`
)

func custodyFields(c *storage.Custody) []any {
	return []any{&c.ShopID, &c.No, &c.SetID, &c.MemberID, asMillis{&c.At}}
}

// SetsOut says who has which set now; a set in its place is not in it.
func (db *DB) SetsOut(ctx context.Context, shopID int64) (out []storage.Custody, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		out, err = queryAll(ctx, tx, custodyFields, custodyNow, shopID)
		return err
	})
	return out, err
}

// PassSet passes a set from member to member, by a member at a time: next is
// given who has it (0: nobody) and says who has it from now on. Of callers at the
// same moment one comes first, the others are told of it. An error of next comes
// back as it is. A set or member of another shop is storage.ErrNotFound, and so is a
// retired set, but for its return.
func (db *DB) PassSet(
	ctx context.Context, shopID, setID, memberID int64, at time.Time, next func(now storage.Custody) (holder int64, err error),
) (now storage.Custody, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		set, err := only(loadSets(ctx, tx, setByID, shopID, setID))
		if err != nil {
			return err
		}
		now, err = only(queryAll(ctx, tx, custodyFields, custodyOfSet, shopID, setID))
		if err != nil && !errors.Is(err, storage.ErrNotFound) {
			return err
		}
		holder, err := next(now)
		if err != nil || holder == now.MemberID {
			return err
		}
		if set.Retired && holder != 0 {
			return fmt.Errorf("pass retired set %d: %w", setID, storage.ErrNotFound)
		}
		if now.No != 0 {
			if _, err := tx.ExecContext(ctx, endCustody, asMillis{&at}, memberID, shopID, now.No); err != nil {
				return fmt.Errorf("end custody: %w", named(err))
			}
		}
		if now = (storage.Custody{}); holder == 0 {
			return nil
		}
		now = storage.Custody{ShopID: shopID, SetID: setID, MemberID: holder, At: time.UnixMilli(at.UnixMilli()).UTC()}
		if err := tx.QueryRowContext(ctx, nextCustody, shopID).Scan(&now.No); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, insertCustody, custodyFields(&now)...); err != nil {
			return fmt.Errorf("add custody: %w", named(err))
		}
		return nil
	})
	return now, err
}
