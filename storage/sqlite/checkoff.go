package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"shimwright/storage"
)

const (
	checkOffColumns = `shop_id, member_id, saw_id, granted, until, by_id, at`
	insertCheckOff  = `INSERT INTO checkoffs (` + checkOffColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?)`
	selectCheckOffs = `SELECT ` + checkOffColumns + ` FROM checkoffs WHERE shop_id = ?1
		AND id IN (SELECT max(id) FROM checkoffs WHERE shop_id = ?1 GROUP BY member_id, saw_id) ORDER BY member_id, saw_id`
	checkOffsOfMember = `SELECT ` + checkOffColumns + ` FROM checkoffs WHERE shop_id = ? AND member_id = ? ORDER BY id`
	checkOffNow       = `SELECT ` + checkOffColumns + ` FROM checkoffs WHERE shop_id = ? AND member_id = ? AND saw_id = ? ORDER BY id DESC LIMIT 1`
)

func checkOffFields(c *storage.CheckOff) []any {
	return []any{&c.ShopID, &c.MemberID, &c.SawID, &c.Granted, &c.Until, &c.ByID, asMillis{&c.At}}
}

// AddCheckOff puts a check-off, or its end, into the record. A member or saw of
// another shop is storage.ErrNotFound.
func (db *DB) AddCheckOff(ctx context.Context, c storage.CheckOff) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, insertCheckOff, checkOffFields(&c)...); err != nil {
			return fmt.Errorf("add check-off: %w", named(err))
		}
		return nil
	})
}

// CheckOffs are the newest of each member and saw of the shop, by member.
func (db *DB) CheckOffs(ctx context.Context, shopID int64) (all []storage.CheckOff, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, checkOffFields, selectCheckOffs, shopID)
		return err
	})
	return all, err
}

// CheckOff is the newest of a member for a saw; storage.ErrNotFound where there
// never was one.
func (db *DB) CheckOff(ctx context.Context, shopID, memberID, sawID int64) (c storage.CheckOff, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		c, err = only(queryAll(ctx, tx, checkOffFields, checkOffNow, shopID, memberID, sawID))
		return err
	})
	return c, err
}
