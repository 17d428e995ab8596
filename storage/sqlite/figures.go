package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/storage"
)

const (
	dayCounted = `SELECT day FROM figures WHERE shop_id = ? AND setup = ?`
	zoneOfShop = `SELECT coalesce(settings ->> 'zone', '') FROM shops WHERE id = ?`
	uncount    = `DELETE FROM figures WHERE shop_id = ? AND setup = ?`
	recount    = `INSERT INTO figures (shop_id, setup, member_id, day, cuts, to_snug, first_snug, play, thicker, thinner, chipper, stop, same)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

	// In the order of the primary key: nothing is sorted.
	selectWeeks = `SELECT member_id, week,
		sum(setups), sum(tried), sum(cuts), sum(snug), sum(to_snug), sum(first_snug), sum(plays), sum(play_sum), sum(play_sq),
		sum(thicker), sum(thinner), sum(chipper), sum(stop), sum(same)
		FROM tallies WHERE shop_id = ? AND day BETWEEN ? AND ? GROUP BY member_id, week ORDER BY member_id, week`
)

// count writes the figures of a setup anew. The day it counts for is settled the
// first time.
func count(ctx context.Context, tx *sql.Tx, s storage.Setup) error {
	f, counts := storage.FiguresOf(s)
	if !counts {
		return nil
	}
	day, err := dayOf(ctx, tx, s)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, uncount, s.ShopID, s.No); err != nil {
		return fmt.Errorf("count setup %d: %w", s.No, err)
	}
	r := f.Remedies
	toSnug, play := sql.NullInt64{Int64: f.ToSnug, Valid: f.Snug > 0}, sql.NullInt64{Int64: f.PlaySum, Valid: f.Plays > 0}
	if _, err := tx.ExecContext(ctx, recount, s.ShopID, s.No, s.MemberID, day,
		f.Cuts, toSnug, f.First, play, r.Thicker, r.Thinner, r.Chipper, r.Stop, r.Same); err != nil {
		return fmt.Errorf("count setup %d: %w", s.No, err)
	}
	return nil
}

func dayOf(ctx context.Context, tx *sql.Tx, s storage.Setup) (day storage.Day, err error) {
	err = tx.QueryRowContext(ctx, dayCounted, s.ShopID, s.No).Scan(&day)
	if !errors.Is(err, sql.ErrNoRows) {
		return day, err
	}
	var shop storage.Settings
	err = tx.QueryRowContext(ctx, zoneOfShop, s.ShopID).Scan(&shop.Zone)
	return storage.DayOf(s.Created.In(shop.Location())), err
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
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		weeks, err = queryAll(ctx, tx, weekFields, selectWeeks, shopID, first, last)
		return err
	})
	return weeks, err
}
