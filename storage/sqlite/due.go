package sqlite

import (
	"context"
	"database/sql"

	"shimwright/storage"
)

const (
	selectShops = `SELECT id, key, name, created, settings, set_id, saw_id FROM shops ORDER BY id`
	insertClaim = `INSERT INTO claims (shop_id, job, day) VALUES (?, ?, ?) ON CONFLICT DO NOTHING`
)

// Shops are all shops on record.
func (db *DB) Shops(ctx context.Context) (all []storage.Shop, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, shopFields, selectShops)
		return err
	})
	return all, err
}

// Claim is true for the one caller, of all processes, that does a shop's job of a day.
func (db *DB) Claim(ctx context.Context, shopID int64, job string, day storage.Day) (mine bool, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, insertClaim, shopID, job, day)
		if err != nil {
			return named(err)
		}
		n, err := r.RowsAffected()
		mine = n == 1
		return err
	})
	return mine, err
}
