package sqlite

import (
	"context"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"shimwright/solver"
	"shimwright/storage"
)

// noon has no more than milliseconds, which is what the file keeps.
var noon = time.Date(2031, 3, 4, 12, 0, 0, 250_000_000, time.UTC)

// openNew opens a new file, which no other test sees.
func openNew(t testing.TB) *DB {
	t.Helper()
	return openAt(t, filepath.Join(t.TempDir(), "shop.db"))
}

func openAt(t testing.TB, path string) *DB {
	t.Helper()
	db, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

func start() storage.Start {
	return storage.Start{
		Settings: storage.Settings{
			Unit: solver.MillimetreUnit, Grades: solver.DefaultGrades(), InstructorRole: "role 7",
			InstructorName: "Bench leads",
			Depth:          solver.DefaultDepthRule(), ReviewChannel: "channel 8", ReviewName: "notices", DigestRefused: "channel 5", Cautions: []string{"Sleeves up"}, CheckOff: true,
			NoStopped: true, KeepDays: 400, BackupDays: 14, Zone: "Asia/Kolkata", Digest: true,
			Hours: storage.ClassHours{Days: []time.Weekday{time.Monday, time.Wednesday}, From: 18 * 60, To: 21*60 + 30},
		},
		Sets: []storage.Set{
			{Name: "Inch set", Parts: solver.GenericInchSet(), Generic: true},
			{Name: "Blade", Parts: solver.GenericBlade(), Generic: true},
		},
		Saws: []storage.Saw{
			{Name: "North saw", Saw: solver.GenericInchSaw(), Generic: true},
			{Name: "East saw", Saw: solver.GenericMetricSaw(), Generic: true},
		},
	}
}

// shop makes a shop with one member.
func shop(t testing.TB, db *DB, key string) (storage.Shop, storage.Member) {
	t.Helper()
	s := must(db.EnsureShop(t.Context(), key, "Alder bench", start(), noon))(t)
	return s, must(db.EnsureMember(t.Context(), s.ID, "member of "+key, "Wren"))(t)
}

// must gives the value of a call that has to succeed.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

// whole fails the test where a field of a record is zero: a round trip of a zero
// field shows nothing, and a field added to a record later has to be added to
// its test too.
func whole(t testing.TB, name string, v reflect.Value) {
	t.Helper()
	switch {
	case v.Type() == reflect.TypeFor[solver.Unit](), v.Type() == reflect.TypeFor[solver.Notation]():
		return // zero is a value like the other
	case v.Type() == reflect.TypeFor[time.Time]():
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			whole(t, name+"."+v.Type().Field(i).Name, v.Field(i))
		}
		return
	case v.Kind() == reflect.Pointer && !v.IsNil():
		whole(t, name, v.Elem())
		return
	case v.Kind() == reflect.Slice && v.Len() > 0:
		whole(t, name+"[]", v.Index(v.Len()-1))
		return
	}
	if v.IsZero() {
		t.Errorf("%s is zero: the round trip does not cover it", name)
	}
}

// plan is how SQLite goes about a query.
func plan(t testing.TB, db *DB, query string, args ...any) string {
	t.Helper()
	var out strings.Builder
	rows := must(db.writer.QueryContext(t.Context(), `EXPLAIN QUERY PLAN `+query, args...))(t)
	defer rows.Close()
	for rows.Next() {
		var number int
		var detail string
		if err := rows.Scan(&number, &number, &number, &detail); err != nil {
			t.Fatal(err)
		}
		out.WriteString(detail + "\n")
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out.String()
}
