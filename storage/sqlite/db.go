// Package sqlite keeps a shop's record in one SQLite file.
//
// Two pools share the file: one writing connection, so that writers queue in the
// process and not on the file's lock, and four reading ones. A write is on the
// disk when its method returns.
//
// Every method takes the shop it works for. A record of another shop and one
// that does not exist are storage.ErrNotFound alike. An error that is not one of
// package storage is a fault, a locked file among them.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/mattn/go-sqlite3"

	"shimwright/storage"
)

const (
	// The driver's default, synchronous NORMAL, can lose a commit on power loss.
	// Erased names are not to stay in free pages: secure_delete.
	writing = "mode=rwc&_txlock=immediate&_synchronous=FULL&_secure_delete=on&_busy_timeout=1000&_foreign_keys=on&_stmt_cache_size=100"
	reading = "mode=ro&_query_only=1&_busy_timeout=1000&_foreign_keys=on&_stmt_cache_size=100"
	readers = 4
)

// DB is an open database. Its methods may be called at the same time.
type DB struct {
	writer, reader *sql.DB
	timed          func(kind string, took time.Duration)
}

// Timed has f called after every transaction with "read" or "write" and the time
// that it took, the wait for its turn included. To be called before the first use.
func (db *DB) Timed(f func(kind string, took time.Duration)) { db.timed = f }

// Open opens the file, makes it where there is none, and brings it to the
// present schema. The error names the path and says what is wrong with it.
func Open(ctx context.Context, path string) (*DB, error) {
	db, err := open(ctx, path)
	if err != nil {
		return nil, fmt.Errorf("database %s: %w", path, unclutter(err))
	}
	return db, nil
}

func open(ctx context.Context, path string) (*DB, error) {
	if err := prepareFile(path); err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	writer, err := pool(abs, writing, 1)
	if err != nil {
		return nil, err
	}
	reader, err := pool(abs, reading, readers)
	if err != nil {
		return nil, errors.Join(err, writer.Close())
	}
	db := &DB{writer: writer, reader: reader}
	if err := db.migrate(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// prepareFile makes an empty file that others on the machine cannot read, or
// says why the path cannot be a database in better words than SQLite has.
func prepareFile(path string) error {
	if path == "" || strings.ContainsRune(path, 0) {
		return errors.New("not a file name")
	}
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return errors.New("is a folder, not a file")
	case err == nil:
		return nil
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	// Only ever for a new file: closing one that is open as a database would drop
	// the locks this process holds on it.
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil // another process was faster
	}
	if err != nil {
		return err
	}
	return file.Close()
}

func pool(abs, options string, size int) (*sql.DB, error) {
	dsn := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(abs), RawQuery: options}
	p, err := sql.Open("sqlite3", dsn.String())
	if err != nil {
		return nil, err
	}
	p.SetMaxOpenConns(size)
	p.SetMaxIdleConns(size)
	return p, nil
}

// unclutter says plainly what an error at opening means; the path is known.
func unclutter(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code {
	case sqlite3.ErrNotADB:
		return fmt.Errorf("is no SQLite database (%w)", err)
	case sqlite3.ErrReadonly, sqlite3.ErrCantOpen, sqlite3.ErrPerm:
		return fmt.Errorf("cannot be written (%w)", err)
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return fmt.Errorf("another program is holding it (%w)", err)
	}
	return err
}

// Close closes both pools; the last one out folds the write-ahead log into the file.
func (db *DB) Close() error {
	return errors.Join(db.reader.Close(), db.writer.Close())
}

// read runs fn on one state of the database.
func (db *DB) read(ctx context.Context, fn func(context.Context, *sql.Tx) error) error {
	defer db.clock("read")()
	return inTx(ctx, db.reader, fn)
}

// write runs fn holding the file's write lock from the start, and commits what
// it did unless it returns an error, which write returns as it is.
func (db *DB) write(ctx context.Context, fn func(context.Context, *sql.Tx) error) error {
	defer db.clock("write")()
	return inTx(ctx, db.writer, fn)
}

// clock starts to time a transaction; what it returns ends it.
func (db *DB) clock(kind string) func() {
	if db.timed == nil {
		return func() {}
	}
	start := time.Now()
	return func() { db.timed(kind, time.Since(start)) }
}

// inTx waits for a connection only as long as ctx lasts. The statements inside get
// a context that nothing cancels: for one that can be, the driver starts a goroutine
// each time, a fifth of a command's cost, and the transaction ends with ctx anyway.
func inTx(ctx context.Context, pool *sql.DB, fn func(context.Context, *sql.Tx) error) error {
	tx, err := pool.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if err := fn(context.WithoutCancel(ctx), tx); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("commit: %w", err)
	}
	return nil
}

// queryAll scans every row of a query into fields of a new T.
func queryAll[T any](ctx context.Context, tx *sql.Tx, fields func(*T) []any, query string, args ...any) ([]T, error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }() // rows.Err has said all there is to say
	var all []T
	for rows.Next() {
		var one T
		if err := rows.Scan(fields(&one)...); err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}

// only is the one record of a query that can find no more than one.
func only[T any](all []T, err error) (T, error) {
	var none T
	if err != nil {
		return none, err
	}
	if len(all) == 0 {
		return none, storage.ErrNotFound
	}
	return all[0], nil
}

// named says what a failed write means to the caller: a reference to a record
// of no shop, or of another, and a name or number that is taken.
func named(err error) error {
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.ExtendedCode {
	case sqlite3.ErrConstraintForeignKey:
		return fmt.Errorf("%w: %w", storage.ErrNotFound, err)
	case sqlite3.ErrConstraintUnique, sqlite3.ErrConstraintPrimaryKey:
		return fmt.Errorf("%w: %w", storage.ErrConflict, err)
	}
	return err
}
