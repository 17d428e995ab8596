package sqlite

import (
	"context"
	"database/sql"

	"shimwright/storage"
)

const (
	setupsOfLot     = `FROM setups WHERE shop_id = ?1 AND lot_key = ?2 AND lot_key <> '' ORDER BY no DESC LIMIT ?3`
	setupsOfProject = `FROM setups WHERE shop_id = ?1 AND project_key = ?2 AND project_key <> '' ORDER BY no DESC LIMIT ?3`
	lotNames        = `SELECT lot FROM setups WHERE shop_id = ? AND lot_key <> '' GROUP BY lot_key ORDER BY max(no) DESC LIMIT ?`
	projectNames    = `SELECT project FROM setups WHERE shop_id = ? AND project_key <> '' GROUP BY project_key ORDER BY max(no) DESC LIMIT ?`
)

// LotSetups are the shop's newest setups with stock of a lot, at most limit of
// them. The name counts without regard to case.
func (db *DB) LotSetups(ctx context.Context, shopID int64, lot string, limit int) ([]storage.Setup, error) {
	return db.setupsCalled(ctx, setupsOfLot, shopID, lot, limit)
}

// ProjectSetups are likewise those of a project.
func (db *DB) ProjectSetups(ctx context.Context, shopID int64, project string, limit int) ([]storage.Setup, error) {
	return db.setupsCalled(ctx, setupsOfProject, shopID, project, limit)
}

func (db *DB) setupsCalled(ctx context.Context, from string, shopID int64, name string, limit int) (all []storage.Setup, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = loadSetups(ctx, tx, from, shopID, folded(name), limit)
		return err
	})
	return all, err
}

// Lots are the names of the shop's lots, those used last first.
func (db *DB) Lots(ctx context.Context, shopID int64, limit int) ([]string, error) {
	return db.labels(ctx, lotNames, shopID, limit)
}

// Projects are the names of the shop's projects, those used last first.
func (db *DB) Projects(ctx context.Context, shopID int64, limit int) ([]string, error) {
	return db.labels(ctx, projectNames, shopID, limit)
}

func (db *DB) labels(ctx context.Context, query string, shopID int64, limit int) (names []string, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		names, err = queryAll(ctx, tx, func(s *string) []any { return []any{s} }, query, shopID, limit)
		return err
	})
	return names, err
}
