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
	markColumns = `shop_id, setup, no, kind, revision, cut, member_id, at`
	insertMark  = `INSERT INTO setup_marks (` + markColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`

	setupsDownBlind = `FROM setups WHERE shop_id = ?1 AND state = 'taken down' AND no IN (
		SELECT setup FROM setup_marks WHERE shop_id = ?1 AND kind = 'unconfirmed' AND cut = 0 AND at >= ?2) ORDER BY no DESC LIMIT ?3`

	selectRead = `SELECT at FROM cautions_read WHERE shop_id = ? AND member_id = ?`
	upsertRead = `INSERT INTO cautions_read (shop_id, member_id, at) VALUES (?, ?, ?)
		ON CONFLICT (shop_id, member_id) DO UPDATE SET at = excluded.at`
)

// markRow is a row of the table setup_marks.
type markRow struct {
	shopID, setup int64
	no            int
	storage.Mark
}

func markFields(m *markRow) []any {
	return []any{&m.shopID, &m.setup, &m.no, &m.Kind, &m.Revision, &m.Cut, &m.MemberID, asMillis{&m.At}}
}

func markRows(s *storage.Setup) []markRow {
	rows := make([]markRow, len(s.Marks))
	for i, m := range s.Marks {
		rows[i] = markRow{s.ShopID, s.No, i + 1, m}
	}
	return rows
}

func selectMarks(from string) string {
	return `SELECT ` + markColumns + ` FROM setup_marks WHERE shop_id = ?1 AND setup IN (SELECT no ` + from + `) ORDER BY setup, no`
}

func addMarks(ctx context.Context, tx *sql.Tx, rows []markRow) error {
	for i := range rows {
		if _, err := tx.ExecContext(ctx, insertMark, markFields(&rows[i])...); err != nil {
			return fmt.Errorf("add mark %d: %w", rows[i].no, named(err))
		}
	}
	return nil
}

// DownUnconfirmed are the setups whose saw was taken down since a time without
// power off confirmed, newest first, at most limit of them.
func (db *DB) DownUnconfirmed(ctx context.Context, shopID int64, since time.Time, limit int) (all []storage.Setup, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = loadSetups(ctx, tx, setupsDownBlind, shopID, asMillis{&since}, limit)
		return err
	})
	return all, err
}

// CautionsRead is when the member last had the whole list of cautions; the zero
// time where never.
func (db *DB) CautionsRead(ctx context.Context, shopID, memberID int64) (at time.Time, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		at, err = cautionsRead(ctx, tx, shopID, memberID)
		return err
	})
	return at, err
}

func cautionsRead(ctx context.Context, tx *sql.Tx, shopID, memberID int64) (time.Time, error) {
	fields := func(t *time.Time) []any { return []any{asMillis{t}} }
	at, err := only(queryAll(ctx, tx, fields, selectRead, shopID, memberID))
	if errors.Is(err, storage.ErrNotFound) {
		return time.Time{}, nil
	}
	return at, err
}

// ReadCautions notes that the member had the whole list of cautions.
func (db *DB) ReadCautions(ctx context.Context, shopID, memberID int64, at time.Time) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, upsertRead, shopID, memberID, asMillis{&at}); err != nil {
			return fmt.Errorf("note the cautions: %w", named(err))
		}
		return nil
	})
}
