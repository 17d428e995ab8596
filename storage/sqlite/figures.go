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
	dayCounted = `SELECT day FROM figures WHERE shop_id = ? AND setup = ?`
	zoneOfMade = `SELECT coalesce(h.settings ->> 'zone', ''), s.created FROM setups s JOIN shops h ON h.id = s.shop_id WHERE s.shop_id = ? AND s.no = ?`
	uncount    = `DELETE FROM figures WHERE shop_id = ? AND setup = ?`
	recount    = `INSERT INTO figures SELECT shop_id, setup, member_id, ?3, cuts, to_snug, first_snug, play, thicker, thinner, chipper, stop, same
		FROM figures_now WHERE shop_id = ?1 AND setup = ?2`

	// In the order of the primary key: nothing is sorted.
	selectWeeks = `SELECT member_id, week,
		sum(setups), sum(tried), sum(cuts), sum(snug), sum(to_snug), sum(first_snug), sum(plays), sum(play_sum), sum(play_sq),
		sum(thicker), sum(thinner), sum(chipper), sum(stop), sum(same)
		FROM tallies WHERE shop_id = ? AND day BETWEEN ? AND ? GROUP BY member_id, week ORDER BY member_id, week`
)

// count writes the figures of a setup anew. The day it counts for is settled the
// first time.
func count(ctx context.Context, tx *sql.Tx, shopID, setup int64) error {
	var day storage.Day
	err := tx.QueryRowContext(ctx, dayCounted, shopID, setup).Scan(&day)
	if errors.Is(err, sql.ErrNoRows) {
		var s storage.Settings
		var made time.Time
		if err := tx.QueryRowContext(ctx, zoneOfMade, shopID, setup).Scan(&s.Zone, asMillis{&made}); err != nil {
			return err
		}
		day = storage.DayOf(made.In(s.Location()))
	} else if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, uncount, shopID, setup); err != nil {
		return fmt.Errorf("count setup %d: %w", setup, err)
	}
	if _, err := tx.ExecContext(ctx, recount, shopID, setup, day); err != nil {
		return fmt.Errorf("count setup %d: %w", setup, err)
	}
	return nil
}

func weekFields(w *storage.MemberWeek) []any {
	f, r := &w.Figures, &w.Remedies
	return []any{
		&w.MemberID, &w.Week,
		&f.Setups, &f.Tried, &f.Cuts, &f.Snug, &f.ToSnug, &f.First, &f.Plays, &f.PlaySum, &f.PlaySquares,
		&r.Thicker, &r.Thinner, &r.Chipper, &r.Stop, &r.Same,
	}
}

// Figures are those of each member of the shop in each week, for setups made on
// the days from first to last.
func (db *DB) Figures(ctx context.Context, shopID int64, first, last storage.Day) (weeks []storage.MemberWeek, err error) {
	err = db.read(ctx, func(tx *sql.Tx) error {
		weeks, err = queryAll(ctx, tx, weekFields, selectWeeks, shopID, first, last)
		return err
	})
	return weeks, err
}
