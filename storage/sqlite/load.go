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
	loadColumns = `shop_id, no, saw_id, set_id, setup, revision, stack, member_id, at`
	selectLoads = `SELECT ` + loadColumns + ` `
	loadsNow    = `FROM saw_loads WHERE shop_id = ?1 AND ended IS NULL ORDER BY saw_id`
	loadOfSaw   = `FROM saw_loads WHERE shop_id = ?1 AND saw_id = ?2 AND ended IS NULL`
	insertLoad  = `INSERT INTO saw_loads (` + loadColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`
	nextLoad    = `SELECT coalesce(max(no), 0) + 1 FROM saw_loads WHERE shop_id = ?`
	endLoad     = `UPDATE saw_loads SET (ended, ended_by) = (?, ?) WHERE shop_id = ? AND no = ? AND ended IS NULL`

	checkColumns = `shop_id, load, no, member_id, at`
	insertCheck  = `INSERT INTO load_checks (` + checkColumns + `) VALUES (?, ?, ?, ?, ?)`
)

func loadFields(l *storage.Load) []any {
	return []any{
		&l.ShopID, &l.No, &l.SawID, &l.SetID, &l.Setup, &l.Revision, asJSON{&l.Stack}, &l.MemberID, asMillis{&l.At},
	}
}

// checkRow is a row of the table load_checks.
type checkRow struct {
	shopID, load int64
	no           int
	storage.LoadCheck
}

func checkFields(c *checkRow) []any {
	return []any{&c.shopID, &c.load, &c.no, &c.MemberID, asMillis{&c.At}}
}

func selectChecks(from string) string {
	return `SELECT ` + checkColumns + ` FROM load_checks WHERE shop_id = ?1 AND load IN (SELECT no ` + from + `) ORDER BY load, no`
}

func loadLoads(ctx context.Context, tx *sql.Tx, from string, args ...any) ([]storage.Load, error) {
	loads, err := queryAll(ctx, tx, loadFields, selectLoads+from, args...)
	if err != nil || len(loads) == 0 {
		return nil, err
	}
	checks, err := queryAll(ctx, tx, checkFields, selectChecks(from), args...)
	if err != nil {
		return nil, err
	}
	for _, c := range checks {
		i := slices.IndexFunc(loads, func(l storage.Load) bool { return l.No == c.load })
		loads[i].Checks = append(loads[i].Checks, c.LoadCheck)
	}
	return loads, nil
}

// Loads is what is on the shop's saws now; a saw with its standard blade is not
// in it.
func (db *DB) Loads(ctx context.Context, shopID int64) (loads []storage.Load, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		loads, err = loadLoads(ctx, tx, loadsNow, shopID)
		return err
	})
	return loads, err
}

// ChangeArbor changes what is on a saw, by a member at a time, for a setup (0 for
// none in particular), which is in Arbor.Open while it is open: change may append
// checks to the load, put another in its place (its number 0), or take it off,
// and may move the saw's open setups, as UpdateSetup may. An error of change
// comes back as it is. A saw of another shop is storage.ErrNotFound.
func (db *DB) ChangeArbor(
	ctx context.Context, shopID, sawID, setupNo, memberID int64, at time.Time, change func(*storage.Arbor) error,
) (a storage.Arbor, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := only(queryAll(ctx, tx, sawFields, sawByID, shopID, sawID)); err != nil {
			return err
		}
		if a, err = loadArbor(ctx, tx, shopID, sawID, setupNo); err != nil {
			return err
		}
		before := a.Load
		if before != nil {
			kept := *before
			a.Load = &kept
			a.Load.Checks = slices.Clone(before.Checks)
		}
		var setups []frozen
		for i := range a.Open {
			f, err := freeze(&a.Open[i])
			if err != nil {
				return err
			}
			setups = append(setups, f)
		}
		open := len(a.Open)
		if err := change(&a); err != nil {
			return err
		}
		if len(a.Open) != open {
			return errRewritten("which setups are open")
		}
		for i, f := range setups {
			after, err := freeze(&a.Open[i])
			if err != nil {
				return err
			}
			if err := f.sameCuts(after); err != nil {
				return err
			}
			if err := save(ctx, tx, f, after, a.Open[i]); err != nil {
				return err
			}
		}
		if err := saveLoad(ctx, tx, before, a.Load, storage.Load{ShopID: shopID, SawID: sawID, MemberID: memberID, At: at}); err != nil {
			return err
		}
		a, err = loadArbor(ctx, tx, shopID, sawID, setupNo)
		return err
	})
	return a, err
}

func loadArbor(ctx context.Context, tx *sql.Tx, shopID, sawID, setupNo int64) (a storage.Arbor, err error) {
	switch on, err := only(loadLoads(ctx, tx, loadOfSaw, shopID, sawID)); {
	case err == nil:
		a.Load = &on
	case !errors.Is(err, storage.ErrNotFound):
		return a, err
	}
	a.Open, err = loadSetups(ctx, tx, openAtSaw, shopID, sawID, setupNo)
	return a, err
}

// saveLoad writes what changed from one load of a saw to another; by says where,
// who and when.
func saveLoad(ctx context.Context, tx *sql.Tx, before, after *storage.Load, by storage.Load) error {
	if before != nil && (after == nil || after.No != before.No) {
		if _, err := tx.ExecContext(ctx, endLoad, asMillis{&by.At}, by.MemberID, by.ShopID, before.No); err != nil {
			return fmt.Errorf("end load %d: %w", before.No, named(err))
		}
	}
	if after == nil {
		return nil
	}
	had := 0
	switch {
	case before != nil && after.No == before.No:
		had = len(before.Checks)
		if len(after.Checks) < had || !slices.Equal(before.Checks, after.Checks[:had]) {
			return errRewritten("a check")
		}
	case after.No != 0:
		return errRewritten("a load")
	default:
		after.ShopID, after.SawID = by.ShopID, by.SawID
		if err := tx.QueryRowContext(ctx, nextLoad, by.ShopID).Scan(&after.No); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, insertLoad, loadFields(after)...); err != nil {
			return fmt.Errorf("add load: %w", named(err))
		}
	}
	for i, c := range after.Checks[had:] {
		if _, err := tx.ExecContext(ctx, insertCheck, checkFields(&checkRow{by.ShopID, after.No, had + i + 1, c})...); err != nil {
			return fmt.Errorf("add check: %w", named(err))
		}
	}
	return nil
}
