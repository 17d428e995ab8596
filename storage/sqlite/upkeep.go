package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"

	"shimwright/solver"
	"shimwright/storage"
)

const (
	upkeepColumns = `shop_id, log_no, set_id, saw_id, member_id, kind, chipper_pm, at`
	insertUpkeep  = `INSERT INTO upkeep (` + upkeepColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`
	selectUpkeep  = `SELECT ` + upkeepColumns + ` FROM upkeep WHERE shop_id = ? ORDER BY log_no`
	staleBeliefs  = `SELECT shop_id FROM beliefs WHERE model <> ?`
)

type upkeepRow struct {
	shopID, logNo int64
	storage.Upkeep
}

func upkeepFields(u *upkeepRow) []any {
	return []any{
		&u.shopID, &u.logNo,
		orNull[int64]{&u.SetID},
		orNull[int64]{&u.SawID},
		&u.MemberID,
		&u.Upkeep.Upkeep.Kind, &u.Upkeep.Upkeep.Chipper,
		asMillis{&u.At},
	}
}

// LogUpkeep puts an upkeep into the shop's log and stores the belief that learn
// makes of the present one and the entry's number.
func (db *DB) LogUpkeep(ctx context.Context, shopID int64, u storage.Upkeep, learn func(b solver.Belief, logID int64) solver.Belief) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		row := upkeepRow{shopID: shopID, Upkeep: u}
		if err := tx.QueryRowContext(ctx, nextLogNo, shopID).Scan(&row.logNo); err != nil {
			return err
		}
		belief, err := loadBelief(ctx, tx, shopID)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, insertUpkeep, upkeepFields(&row)...); err != nil {
			return fmt.Errorf("log upkeep: %w", named(err))
		}
		return saveBelief(ctx, tx, shopID, learn(belief, row.logNo))
	})
}

// withUpkeep puts the upkeep of a shop into its log of cuts, in the order of the log.
func withUpkeep(ctx context.Context, tx *sql.Tx, shopID int64, log []storage.Logged) ([]storage.Logged, error) {
	rows, err := queryAll(ctx, tx, upkeepFields, selectUpkeep, shopID)
	if err != nil {
		return nil, err
	}
	for _, r := range rows {
		u := r.Upkeep
		log = append(log, storage.Logged{ID: r.logNo, Upkeep: &u})
	}
	slices.SortFunc(log, func(a, b storage.Logged) int { return cmp.Compare(a.ID, b.ID) })
	return log, nil
}

// Relearn makes every belief anew that another version of the model wrote, from
// its shop's whole log, each in its own transaction, and says how many there were.
func (db *DB) Relearn(ctx context.Context, version int, replay func([]storage.Logged) solver.Belief) (n int, err error) {
	var shops []int64
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		shops, err = queryAll(ctx, tx, func(id *int64) []any { return []any{id} }, staleBeliefs, version)
		return err
	})
	if err != nil {
		return 0, err
	}
	for _, shop := range shops {
		if err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
			log, err := loadLog(ctx, tx, shop)
			if err != nil {
				return err
			}
			return saveBelief(ctx, tx, shop, replay(log))
		}); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}
