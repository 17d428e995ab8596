package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"time"

	"github.com/mattn/go-sqlite3"
)

// migrations are numbered without gaps from 1; a file's number is the version of
// the schema it leads to. One that was released is never changed.
//
//go:embed migrations/*.sql
var migrations embed.FS

// applicationID marks the files that are ours; 0001_start.sql sets it.
const applicationID = 0x53686d77

// patience is how long to go on trying while other processes open the same new
// file: SQLite does not wait for them itself where the kind of log changes.
const patience = time.Second

func (db *DB) migrate(ctx context.Context) error {
	for begun := time.Now(); ; {
		err := db.tryMigrate(ctx)
		var e sqlite3.Error
		if !errors.As(err, &e) || e.Code != sqlite3.ErrBusy || time.Since(begun) > patience {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// tryMigrate brings the file to the newest version, each step in a transaction,
// and turns on the write-ahead log.
func (db *DB) tryMigrate(ctx context.Context) error {
	names, err := fs.Glob(migrations, "migrations/*.sql") // sorted
	if err != nil {
		return err
	}
	for done := false; !done; {
		// Taking the write lock also finds out that the file cannot be written.
		err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
			version, err := schemaVersion(ctx, tx)
			if err != nil {
				return err
			}
			if version > len(names) {
				return fmt.Errorf("has schema version %d, made by a newer Shimwright; this one knows up to %d", version, len(names))
			}
			if done = version == len(names); done {
				return nil
			}
			return step(ctx, tx, names[version], version+1)
		})
		if err != nil {
			return err
		}
	}
	var mode string
	if err := db.writer.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("cannot keep a write-ahead log here (journal mode %s): put it on a local disk", mode)
	}
	return nil
}

// schemaVersion is the version of the schema, 0 in an empty file.
func schemaVersion(ctx context.Context, tx *sql.Tx) (int, error) {
	var version, application, tables int
	err := tx.QueryRowContext(ctx, `SELECT (SELECT user_version FROM pragma_user_version),
		(SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_schema)`).
		Scan(&version, &application, &tables)
	if err != nil {
		return 0, err
	}
	if application != applicationID && (version != 0 || tables != 0) {
		return 0, errors.New("is the database of some other program")
	}
	return version, nil
}

func step(ctx context.Context, tx *sql.Tx, name string, version int) error {
	script, err := migrations.ReadFile(name)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, string(script)); err != nil {
		return fmt.Errorf("migration %s: %w", path.Base(name), err)
	}
	_, err = tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", version))
	return err
}
