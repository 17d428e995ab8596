package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/mattn/go-sqlite3"
	"golang.org/x/sync/errgroup"

	"shimwright/storage"
)

func TestPragmas(t *testing.T) {
	db := openNew(t)
	for _, tc := range []struct {
		name, pragma     string
		writer, reader   string // as SQLite reports them
		onlyWriterCounts bool
	}{
		{name: "commits survive power loss", pragma: "synchronous", writer: "2", onlyWriterCounts: true}, // 2 is FULL
		{name: "erased data is overwritten", pragma: "secure_delete", writer: "1", onlyWriterCounts: true},
		{name: "write-ahead log", pragma: "journal_mode", writer: "wal", reader: "wal"},
		{name: "foreign keys", pragma: "foreign_keys", writer: "1", reader: "1"},
		{name: "a lock is waited for 1 s", pragma: "busy_timeout", writer: "1000", reader: "1000"},
		{name: "readers cannot write", pragma: "query_only", writer: "0", reader: "1"},
		{name: "ours", pragma: "application_id", writer: "1399352695", reader: "1399352695"}, // 0x53686d77
	} {
		t.Run(tc.name, func(t *testing.T) {
			ask := func(pool *sql.DB) (got string) {
				if err := pool.QueryRowContext(t.Context(), "PRAGMA "+tc.pragma).Scan(&got); err != nil {
					t.Fatal(err)
				}
				return got
			}
			if got := ask(db.writer); got != tc.writer {
				t.Errorf("writer: %s = %s, want %s", tc.pragma, got, tc.writer)
			}
			if tc.onlyWriterCounts {
				return
			}
			// All connections of the pool at once, so that each is asked.
			for range readers {
				tx, err := db.reader.BeginTx(t.Context(), nil)
				if err != nil {
					t.Fatal(err)
				}
				defer func() { _ = tx.Rollback() }()
				var got string
				if err := tx.QueryRowContext(t.Context(), "PRAGMA "+tc.pragma).Scan(&got); err != nil {
					t.Fatal(err)
				}
				if got != tc.reader {
					t.Errorf("reader: %s = %s, want %s", tc.pragma, got, tc.reader)
				}
			}
		})
	}
	if w, r := db.writer.Stats().MaxOpenConnections, db.reader.Stats().MaxOpenConnections; w != 1 || r != 4 {
		t.Errorf("%d writers and %d readers, want 1 and 4", w, r)
	}
	if _, err := db.reader.ExecContext(t.Context(), `DELETE FROM shops`); err == nil {
		t.Error("a reader could write")
	}
}

func TestOddPaths(t *testing.T) {
	for _, name := range []string{"two words.db", "what?.db", "a#b.db", "100%41.db", "a&mode=memory.db", "ä;x.db", "file:x.db", ":memory:"} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, name)
			first := openAt(t, path)
			s, _ := shop(t, first, "local:a")
			again := openAt(t, path)
			if got := must(again.EnsureShop(t.Context(), "local:a", "", storage.Start{}, noon))(t); got.ID != s.ID || got.Name != s.Name {
				t.Errorf("the second opening sees %+v", got)
			}
			files := must(os.ReadDir(dir))(t)
			for _, f := range files {
				if !strings.HasPrefix(f.Name(), name) {
					t.Errorf("there is a file %q", f.Name())
				}
			}
			if info := must(os.Stat(path))(t); info.Size() == 0 || info.Mode().Perm() != 0o600 {
				t.Errorf("%d bytes, mode %v: empty, or others on the machine can read it", info.Size(), info.Mode())
			}
		})
	}
}

func TestOpenRefuses(t *testing.T) {
	write := func(t *testing.T, content string) string {
		path := filepath.Join(t.TempDir(), "x.db")
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	script := func(t *testing.T, statements string) string {
		path := filepath.Join(t.TempDir(), "x.db")
		db := must(sql.Open("sqlite3", path))(t)
		if _, err := db.ExecContext(t.Context(), statements); err != nil {
			t.Fatal(err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for name, tc := range map[string]struct {
		path func(*testing.T) string
		want string
	}{
		"nothing":        {func(*testing.T) string { return "" }, "not a file name"},
		"a folder":       {func(t *testing.T) string { return t.TempDir() }, "is a folder"},
		"no such folder": {func(t *testing.T) string { return filepath.Join(t.TempDir(), "no", "x.db") }, "no such file or directory"},
		"a text": {func(t *testing.T) string {
			return write(t, strings.Repeat("Dear diary, today I cut a dado. ", 99))
		}, "is no SQLite database"},
		"another program's": {func(t *testing.T) string {
			return script(t, `CREATE TABLE diary (day, text)`)
		}, "some other program"},
		"another program's, versioned": {func(t *testing.T) string {
			return script(t, `PRAGMA user_version = 1; CREATE TABLE diary (day, text)`)
		}, "some other program"},
		"a newer one": {func(t *testing.T) string {
			path := filepath.Join(t.TempDir(), "x.db")
			db := must(Open(t.Context(), path))(t)
			_, err := db.writer.ExecContext(t.Context(), `PRAGMA user_version = 9001`)
			if err := errors.Join(err, db.Close()); err != nil {
				t.Fatal(err)
			}
			return path
		}, "has schema version 9001, made by a newer Shimwright"},
		"a read-only file": {func(t *testing.T) string {
			path := filepath.Join(t.TempDir(), "x.db")
			must(Open(t.Context(), path))(t).Close()
			if err := os.Chmod(path, 0o400); err != nil {
				t.Fatal(err)
			}
			if f, err := os.OpenFile(path, os.O_RDWR, 0); err == nil { // root may do anything: ask for a place that nobody may write
				f.Close()
				return "/proc/version"
			}
			return path
		}, "cannot be written"},
		"a read-only place": {func(t *testing.T) string {
			dir := t.TempDir()
			if err := os.Chmod(dir, 0o500); err != nil {
				t.Fatal(err)
			}
			if f, err := os.Create(filepath.Join(dir, "probe")); err == nil {
				f.Close()
				return "/proc/x.db"
			}
			return filepath.Join(dir, "x.db")
		}, ""}, // in the system's words
	} {
		t.Run(name, func(t *testing.T) {
			path := tc.path(t)
			before, _ := os.ReadFile(path)
			db, err := Open(t.Context(), path)
			if err == nil {
				db.Close()
				t.Fatal("opened")
			}
			if !strings.Contains(err.Error(), tc.want) || !strings.HasPrefix(err.Error(), "database "+path+": ") || strings.Contains(err.Error(), "\n") {
				t.Errorf("%v; want %q", err, tc.want)
			}
			if after, _ := os.ReadFile(path); string(after) != string(before) {
				t.Error("the file was changed")
			}
		})
	}
}

// Several processes may start on a new file at once.
func TestOpenTogether(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.db")
	var g errgroup.Group
	for range 8 {
		g.Go(func() error {
			db, err := Open(context.Background(), path)
			if err != nil {
				return err
			}
			_, err = db.EnsureShop(context.Background(), "local:a", "A", start(), noon)
			return errors.Join(err, db.Close())
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	var shops, version int
	db := openAt(t, path)
	err := db.reader.QueryRowContext(t.Context(), `SELECT (SELECT count(*) FROM shops), (SELECT user_version FROM pragma_user_version)`).Scan(&shops, &version)
	if entries := must(migrations.ReadDir("migrations"))(t); err != nil || shops != 1 || version != len(entries) {
		t.Errorf("%d shops at version %d of %d, %v", shops, version, len(entries), err)
	}
}

func TestMigrationsAreNumberedWithoutGaps(t *testing.T) {
	for i, e := range must(migrations.ReadDir("migrations"))(t) {
		if want := string([]byte{'0', '0', '0' + byte((i+1)/10), '0' + byte((i+1)%10), '_'}); !strings.HasPrefix(e.Name(), want) {
			t.Errorf("%s: want %s...", e.Name(), want)
		}
	}
}

// Every table is STRICT: a wrong type is an error, not a surprise later.
func TestStrictTables(t *testing.T) {
	db := openNew(t)
	rows := must(db.reader.QueryContext(t.Context(), `SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'`))(t)
	defer rows.Close()
	n := 0
	for ; rows.Next(); n++ {
		var name string
		var strict bool
		if err := rows.Scan(&name, &strict); err != nil || !strict {
			t.Errorf("table %s is not strict, %v", name, err)
		}
	}
	if err := rows.Err(); err != nil || n < 9 { // nine kinds of record
		t.Errorf("%d tables, %v", n, err)
	}
}

// While another program holds the lock, reading goes on and writing ends in an error.
func TestLockedDatabase(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	must(db.AddSetup(t.Context(), wholeSetup(s, m)))(t)

	var path string
	if err := db.reader.QueryRowContext(t.Context(), `SELECT file FROM pragma_database_list`).Scan(&path); err != nil {
		t.Fatal(err)
	}
	other := must(sql.Open("sqlite3", path+"?_txlock=immediate"))(t)
	defer other.Close()
	lock := must(other.BeginTx(t.Context(), nil))(t)

	_, err := db.LogCut(t.Context(), s.ID, 1, func(*storage.Bench) error { return nil })
	var e sqlite3.Error
	if !errors.As(err, &e) || e.Code != sqlite3.ErrBusy || errors.Is(err, storage.ErrConflict) || errors.Is(err, storage.ErrNotFound) {
		t.Errorf("logging while locked: %v", err)
	}
	if _, err := Open(t.Context(), path); err == nil || !strings.Contains(err.Error(), "another program is holding it") {
		t.Errorf("opening while locked: %v", err)
	}
	must(db.Setup(t.Context(), s.ID, 1))(t)
	if err := lock.Rollback(); err != nil {
		t.Fatal(err)
	}
	must(db.UpdateSetup(t.Context(), s.ID, 1, func(*storage.Setup) error { return nil }))(t)
}

// Whoever waits for the writing connection gives up with its context.
func TestContextEndsWaiting(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	must(db.AddSetup(t.Context(), wholeSetup(s, m)))(t)
	ctx, cancel := context.WithCancel(t.Context())
	must(db.LogCut(t.Context(), s.ID, 1, func(*storage.Bench) error {
		cancel()
		if _, err := db.UpdateSetup(ctx, s.ID, 1, func(*storage.Setup) error { return nil }); !errors.Is(err, context.Canceled) {
			t.Errorf("second writer: %v", err)
		}
		return nil
	}))(t)
}
