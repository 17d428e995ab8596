package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/storage"
)

const (
	nearMissColumns    = `shop_id, no, member_id, at, note, interaction`
	insertNearMiss     = `INSERT INTO near_misses (` + nearMissColumns + `) VALUES (?, ?, ?, ?, ?, ?)`
	nextNearMiss       = `SELECT coalesce(max(no), 0) + 1 FROM near_misses WHERE shop_id = ?`
	selectNearMisses   = `SELECT ` + nearMissColumns + ` FROM near_misses WHERE shop_id = ? ORDER BY no DESC LIMIT ?`
	nearMissesOfMember = `SELECT ` + nearMissColumns + ` FROM near_misses WHERE shop_id = ? AND member_id = ? ORDER BY no`
)

func nearMissFields(n *storage.NearMiss) []any {
	return []any{&n.ShopID, &n.No, &n.MemberID, asMillis{&n.At}, &n.Note, orNull[string]{&n.Interaction}}
}

// AddNearMiss adds a note and gives it the next number. The same interaction adds
// one note, however often it comes.
func (db *DB) AddNearMiss(ctx context.Context, n storage.NearMiss) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, nextNearMiss, n.ShopID).Scan(&n.No); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, insertNearMiss, nearMissFields(&n)...)
		if err = named(err); err != nil && !errors.Is(err, storage.ErrConflict) {
			return fmt.Errorf("add near miss: %w", err)
		}
		return nil
	})
}

// NearMisses are the shop's newest notes, at most limit of them.
func (db *DB) NearMisses(ctx context.Context, shopID int64, limit int) (all []storage.NearMiss, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, nearMissFields, selectNearMisses, shopID, limit)
		return err
	})
	return all, err
}
