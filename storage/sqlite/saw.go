package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/storage"
)

const (
	sawColumns = `shop_id, name, name_key, generic, retired, unit,
		arbor_pm, insert_pm, largest_pm, smallest_pm, rpm, nut, flange, fence, brake, no_stack`
	insertSaw = `INSERT INTO saws (` + sawColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING id`
	updateSaw = `UPDATE saws SET (` + sawColumns + `) = (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) WHERE shop_id = ? AND id = ?`
	sawsInUse = `SELECT id, ` + sawColumns + ` FROM saws WHERE shop_id = ? AND retired = 0 ORDER BY name_key`
	sawByID   = `SELECT id, ` + sawColumns + ` FROM saws WHERE shop_id = ? AND id = ?`
)

func sawFields(s *storage.Saw) []any {
	w := &s.Saw
	return []any{
		&s.ID, &s.ShopID, &s.Name,
		asFolded{&s.Name},
		&s.Generic, &s.Retired,
		asUnit{&w.Unit},
		&w.Arbor, &w.Insert, &w.Largest, &w.Smallest, &w.RPM, &w.Nut, &w.Flange, &w.Fence, &w.Brake, &w.NoStack,
	}
}

// Saws are the shop's saws that are not retired, by name.
func (db *DB) Saws(ctx context.Context, shopID int64) (saws []storage.Saw, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		saws, err = queryAll(ctx, tx, sawFields, sawsInUse, shopID)
		return err
	})
	return saws, err
}

// SawByID is a saw of the shop, retired or not.
func (db *DB) SawByID(ctx context.Context, shopID, id int64) (saw storage.Saw, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		saw, err = only(queryAll(ctx, tx, sawFields, sawByID, shopID, id))
		return err
	})
	return saw, err
}

// AddSaw adds a saw to the shop saw.ShopID and gives it its id. A name that is
// taken is storage.ErrConflict.
func (db *DB) AddSaw(ctx context.Context, saw storage.Saw) (added storage.Saw, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		added, err = addSaw(ctx, tx, saw)
		return err
	})
	return added, err
}

func addSaw(ctx context.Context, tx *sql.Tx, saw storage.Saw) (storage.Saw, error) {
	if err := tx.QueryRowContext(ctx, insertSaw, sawFields(&saw)[1:]...).Scan(&saw.ID); err != nil {
		return storage.Saw{}, fmt.Errorf("add saw: %w", named(err))
	}
	return saw, nil
}

// UpdateSaw changes everything of a saw but its id and shop. A name that is
// taken is storage.ErrConflict, also for a saw that comes out of retirement.
func (db *DB) UpdateSaw(ctx context.Context, shopID, id int64, change func(*storage.Saw) error) (saw storage.Saw, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		saw, err = only(queryAll(ctx, tx, sawFields, sawByID, shopID, id))
		if err != nil {
			return err
		}
		if err := change(&saw); err != nil {
			return err
		}
		if saw.ID != id || saw.ShopID != shopID {
			return errors.New("a saw's id and shop never change")
		}
		if _, err := tx.ExecContext(ctx, updateSaw, append(sawFields(&saw)[1:], shopID, id)...); err != nil {
			return fmt.Errorf("save saw: %w", named(err))
		}
		return nil
	})
	return saw, err
}
