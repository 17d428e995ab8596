package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

const (
	selectBelief = `SELECT belief FROM beliefs WHERE shop_id = ?`
	upsertBelief = `INSERT INTO beliefs (shop_id, model, belief) VALUES (?, ?, ?)
		ON CONFLICT (shop_id) DO UPDATE SET model = excluded.model, belief = excluded.belief`
)

// Belief is what the shop has learned; the zero value where it has not cut yet,
// or is no shop. It may be of an older model, see solver.Belief.Stale.
func (db *DB) Belief(ctx context.Context, shopID int64) (b solver.Belief, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		b, err = loadBelief(ctx, tx, shopID)
		return err
	})
	return b, err
}

func loadBelief(ctx context.Context, tx *sql.Tx, shopID int64) (solver.Belief, error) {
	fields := func(b *solver.Belief) []any { return []any{asJSON{b}} }
	b, err := only(queryAll(ctx, tx, fields, selectBelief, shopID))
	if errors.Is(err, storage.ErrNotFound) {
		return solver.Belief{}, nil
	}
	return b, err
}

func saveBelief(ctx context.Context, tx *sql.Tx, shopID int64, b solver.Belief) error {
	if _, err := tx.ExecContext(ctx, upsertBelief, shopID, b.Version, asJSON{b}); err != nil {
		return fmt.Errorf("save belief: %w", named(err))
	}
	return nil
}
