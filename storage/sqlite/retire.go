package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"shimwright/storage"
)

const (
	retireSet = `UPDATE sets SET retired = 1 WHERE shop_id = ? AND id = ?`
	retireSaw = `UPDATE saws SET retired = 1 WHERE shop_id = ? AND id = ?`
)

// RetireSet takes a set out of the shop's list unless refuse, given what is in use
// of it, says why not: that error comes back as it is. Plans count that were asked
// for since a time. A set of another shop is storage.ErrNotFound.
func (db *DB) RetireSet(ctx context.Context, shopID, id int64, plansSince time.Time, refuse func(storage.InUse) error) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := only(loadSets(ctx, tx, setByID, shopID, id)); err != nil {
			return err
		}
		u, err := inUse(ctx, tx, shopID, plansSince,
			func(l storage.Load) bool { return l.SetID == id }, func(s storage.Setup) bool { return s.SetID == id })
		if err != nil {
			return err
		}
		u.Holder, err = only(queryAll(ctx, tx, custodyFields, custodyOfSet, shopID, id))
		if err != nil && !errors.Is(err, storage.ErrNotFound) {
			return err
		}
		return retire(ctx, tx, retireSet, shopID, id, u, refuse)
	})
}

// RetireSaw does the same for a saw.
func (db *DB) RetireSaw(ctx context.Context, shopID, id int64, plansSince time.Time, refuse func(storage.InUse) error) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := only(queryAll(ctx, tx, sawFields, sawByID, shopID, id)); err != nil {
			return err
		}
		u, err := inUse(ctx, tx, shopID, plansSince,
			func(l storage.Load) bool { return l.SawID == id }, func(s storage.Setup) bool { return s.SawID == id })
		if err != nil {
			return err
		}
		return retire(ctx, tx, retireSaw, shopID, id, u, refuse)
	})
}

func inUse(
	ctx context.Context, tx *sql.Tx, shopID int64, plansSince time.Time, load func(storage.Load) bool, setup func(storage.Setup) bool,
) (u storage.InUse, err error) {
	loads, err := loadLoads(ctx, tx, loadsNow, shopID)
	if err != nil {
		return u, err
	}
	const all = -1
	open, err := loadSetups(ctx, tx, openSetups, shopID, asMillis{&plansSince}, all)
	if err != nil {
		return u, err
	}
	u.Loads = slices.DeleteFunc(loads, func(l storage.Load) bool { return !load(l) })
	u.Open = slices.DeleteFunc(open, func(s storage.Setup) bool { return !setup(s) })
	return u, nil
}

func retire(ctx context.Context, tx *sql.Tx, update string, shopID, id int64, u storage.InUse, refuse func(storage.InUse) error) error {
	if err := refuse(u); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, update, shopID, id); err != nil {
		return fmt.Errorf("retire: %w", named(err))
	}
	return nil
}
