package sqlite

import (
	"context"
	"database/sql"

	"shimwright/solver"
	"shimwright/storage"
)

const selectOutcomes = `SELECT setup, member_id, day, coalesce(to_snug, 0), play FROM figures
	WHERE shop_id = ? AND day BETWEEN ? AND ? ORDER BY setup DESC LIMIT ?`

// Outcomes are those of the newest setups made on the days from first to last,
// newest first.
func (db *DB) Outcomes(ctx context.Context, shopID int64, first, last storage.Day, limit int) (all []storage.Outcome, err error) {
	type row struct {
		storage.Outcome
		play sql.NullInt64
	}
	fields := func(r *row) []any { return []any{&r.Setup, &r.MemberID, &r.Day, &r.ToSnug, &r.play} }
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		rows, err := queryAll(ctx, tx, fields, selectOutcomes, shopID, first, last, limit)
		for _, r := range rows {
			if r.play.Valid {
				play := solver.Length(r.play.Int64 * storage.PlayUnit)
				r.Play = &play
			}
			all = append(all, r.Outcome)
		}
		return err
	})
	return all, err
}
