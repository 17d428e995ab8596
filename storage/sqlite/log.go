package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"shimwright/storage"
)

const (
	selectLog      = `SELECT ` + cutColumns + ` FROM cuts WHERE shop_id = ? ORDER BY log_no`
	selectVersions = `SELECT id, set_id, parts FROM set_versions WHERE set_id IN (SELECT id FROM sets WHERE shop_id = ?)`
)

// Log is every cut that the shop ever logged, voided ones included, each with its
// setup and with its set as that was when the cut was logged, and every upkeep of
// a set or a saw, in order.
func (db *DB) Log(ctx context.Context, shopID int64) (log []storage.Logged, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		log, err = loadLog(ctx, tx, shopID)
		return err
	})
	return log, err
}

func loadLog(ctx context.Context, tx *sql.Tx, shopID int64) ([]storage.Logged, error) {
	cuts, err := queryAll(ctx, tx, cutFields, selectLog, shopID)
	if err != nil {
		return nil, err
	}
	setups, err := loadSetups(ctx, tx, setupsOfLog, shopID)
	if err != nil {
		return nil, err
	}
	sets, err := setVersions(ctx, tx, shopID)
	if err != nil {
		return nil, err
	}
	setupNo := make(map[int64]storage.Setup, len(setups))
	for _, s := range setups {
		s.Cuts, s.Moves, s.Marks = nil, nil, nil
		setupNo[s.No] = s
	}
	log := make([]storage.Logged, len(cuts))
	for i, c := range cuts {
		log[i] = storage.Logged{ID: c.logNo, Cut: c.Cut, Setup: setupNo[c.setup], Set: sets[c.setVersion]}
	}
	return withUpkeep(ctx, tx, shopID, log)
}

// setVersions are the shop's sets in all states they were cut with, by the id of the version.
func setVersions(ctx context.Context, tx *sql.Tx, shopID int64) (map[int64]storage.Set, error) {
	type version struct {
		id int64
		storage.Set
	}
	fields := func(v *version) []any { return []any{&v.id, &v.ID, asJSON{&v.Parts}} }
	versions, err := queryAll(ctx, tx, fields, selectVersions, shopID)
	if err != nil {
		return nil, err
	}
	sets, err := loadSets(ctx, tx, setsOfShop, shopID)
	if err != nil {
		return nil, err
	}
	byID := make(map[int64]storage.Set, len(sets))
	for _, s := range sets {
		byID[s.ID] = s
	}
	out := make(map[int64]storage.Set, len(versions))
	for _, v := range versions {
		set, ok := byID[v.ID]
		if !ok {
			return nil, fmt.Errorf("version %d is of no set", v.id)
		}
		set.Parts = v.Parts
		out[v.id] = set
	}
	return out, nil
}
