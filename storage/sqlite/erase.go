package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shimwright/storage"
)

// What is blanked of a member, ?1 the shop and ?2 the member. The evidence stays:
// setups, cuts, moves, check-offs, under a key that no platform can give.
var blankMember = []string{
	`DELETE FROM direct_shops WHERE shop_id = ?1 AND member_key = (SELECT key FROM members WHERE shop_id = ?1 AND id = ?2)`,
	`UPDATE members SET (key, name, style, seen, minor, erased) = ('erased ' || lower(hex(randomblob(16))), '', NULL, '', 0, 1)
		WHERE shop_id = ?1 AND id = ?2 AND erased = 0`,
	`UPDATE setups SET (project, project_key) = ('', '') WHERE shop_id = ?1 AND member_id = ?2 AND project <> ''`,
	`UPDATE cuts SET note = '' WHERE shop_id = ?1 AND member_id = ?2 AND note <> ''`,
	`UPDATE near_misses SET note = '' WHERE shop_id = ?1 AND member_id = ?2 AND note <> ''`,
	// What was written by the member, and what was written of the member's work.
	`UPDATE setup_moves SET word = '' WHERE shop_id = ?1 AND word <> ''
		AND (member_id = ?2 OR setup IN (SELECT no FROM setups WHERE shop_id = ?1 AND member_id = ?2))`,
}

// What is blanked of a shop's older notes, ?1 the shop and ?2 the time before
// which they were written.
var blankOld = []string{
	`UPDATE setups SET (project, project_key) = ('', '') WHERE shop_id = ?1 AND created < ?2 AND project <> ''`,
	`UPDATE cuts SET note = '' WHERE shop_id = ?1 AND at < ?2 AND note <> ''`,
	`UPDATE near_misses SET note = '' WHERE shop_id = ?1 AND at < ?2 AND note <> ''`,
	`UPDATE setup_moves SET word = '' WHERE shop_id = ?1 AND at < ?2 AND word <> ''`,
}

const (
	unseenMembers = `SELECT id FROM members WHERE shop_id = ? AND erased = 0 AND seen <> '' AND seen < ?`
	seeUnnoted    = `UPDATE members SET seen = ? WHERE shop_id = ? AND erased = 0 AND seen = ''`
)

// Erase blanks a member's key, name and notes, in the file and in its log. A
// member erased already is storage.ErrNotFound.
func (db *DB) Erase(ctx context.Context, shopID, memberID int64) (e storage.Erasure, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		e.Notes, err = erase(ctx, tx, shopID, memberID)
		return err
	})
	if err != nil {
		return storage.Erasure{}, err
	}
	e.Held = !db.scrubLog(ctx)
	return e, nil
}

// Retain blanks the members that were not seen since the day, and notes written
// before it; today is taken for the day a member was seen where none was noted.
// It gives the number of members blanked.
func (db *DB) Retain(ctx context.Context, shopID int64, since time.Time, today storage.Day) (members int, err error) {
	blanked := 0
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, seeUnnoted, today, shopID); err != nil {
			return err
		}
		ids, err := queryAll(ctx, tx, func(id *int64) []any { return []any{id} }, unseenMembers, shopID, storage.DayOf(since.UTC()))
		if err != nil {
			return err
		}
		for _, id := range ids {
			if _, err := erase(ctx, tx, shopID, id); err != nil {
				return err
			}
		}
		members = len(ids)
		blanked, err = changeAll(ctx, tx, blankOld, shopID, since.UnixMilli())
		return err
	})
	if err == nil && members+blanked > 0 {
		db.scrubLog(ctx) // where it is held, the next one does it
	}
	return members, err
}

// erase gives the number of notes blanked.
func erase(ctx context.Context, tx *sql.Tx, shopID, memberID int64) (notes int, err error) {
	if _, err := changeAll(ctx, tx, blankMember[:1], shopID, memberID); err != nil {
		return 0, err
	}
	gone, err := changeAll(ctx, tx, blankMember[1:2], shopID, memberID)
	if err != nil {
		return 0, err
	}
	if gone == 0 {
		return 0, storage.ErrNotFound
	}
	return changeAll(ctx, tx, blankMember[2:], shopID, memberID)
}

func changeAll(ctx context.Context, tx *sql.Tx, updates []string, args ...any) (rows int, err error) {
	for _, u := range updates {
		r, err := tx.ExecContext(ctx, u, args...)
		if err != nil {
			return rows, fmt.Errorf("blank: %w", err)
		}
		n, err := r.RowsAffected()
		if err != nil {
			return rows, err
		}
		rows += int(n)
	}
	return rows, nil
}

// scrubLog folds the write-ahead log into the file and empties it: its older
// pages hold what was erased. It is false while someone reads an older state.
func (db *DB) scrubLog(ctx context.Context) bool {
	for range 5 { // each waits for the busy timeout
		var busy, pages, done int
		err := db.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &pages, &done)
		if err == nil && busy == 0 {
			return true
		}
	}
	return false
}
