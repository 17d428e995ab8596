package sqlite

import (
	"errors"
	"sync"
	"testing"
	"time"

	"shimwright/storage"
)

// Of a member who takes a set and an instructor who retires it at the same moment
// one comes first, and the other is told: no set is both out and retired.
func TestRetireOrTake(t *testing.T) {
	errOut := errors.New("it is out")
	for range 20 {
		db := openNew(t)
		s, m := shop(t, db, "local:a")
		set := must(db.Sets(t.Context(), s.ID))(t)[0]
		var taken, retired error
		var wg sync.WaitGroup
		start := make(chan struct{})
		wg.Go(func() {
			<-start
			_, taken = db.PassSet(t.Context(), s.ID, set.ID, m.ID, noon, func(storage.Custody) (int64, error) { return m.ID, nil })
		})
		wg.Go(func() {
			<-start
			retired = db.RetireSet(t.Context(), s.ID, set.ID, time.Time{}, func(u storage.InUse) error {
				if u.Holder.No != 0 {
					return errOut
				}
				return nil
			})
		})
		close(start)
		wg.Wait()
		switch after := must(db.SetByID(t.Context(), s.ID, set.ID))(t); {
		case taken == nil && errors.Is(retired, errOut) && !after.Retired:
		case errors.Is(taken, storage.ErrNotFound) && retired == nil && after.Retired:
		default:
			t.Fatalf("taken: %v, retired: %v, %+v", taken, retired, after)
		}
	}
}

// A set or saw of another shop is not found; one that was retired while it was out,
// as an older version allowed, can still be returned.
func TestRetireIsOfOneShop(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, _ := shop(t, db, "local:b")
	set, saw := must(db.Sets(t.Context(), s.ID))(t)[0], must(db.Saws(t.Context(), s.ID))(t)[0]
	never := func(storage.InUse) error { t.Error("asked about another shop's"); return nil }
	if err := db.RetireSet(t.Context(), other.ID, set.ID, noon, never); !errors.Is(err, storage.ErrNotFound) {
		t.Error(err)
	}
	if err := db.RetireSaw(t.Context(), other.ID, saw.ID, noon, never); !errors.Is(err, storage.ErrNotFound) {
		t.Error(err)
	}
	to := func(id int64) func(storage.Custody) (int64, error) {
		return func(storage.Custody) (int64, error) { return id, nil }
	}
	must(db.PassSet(t.Context(), s.ID, set.ID, m.ID, noon, to(m.ID)))(t)
	must(db.UpdateSet(t.Context(), s.ID, set.ID, func(x *storage.Set) error { x.Retired = true; return nil }))(t)
	if _, err := db.PassSet(t.Context(), s.ID, set.ID, m.ID, noon, to(0)); err != nil {
		t.Errorf("returned: %v", err)
	}
	if _, err := db.PassSet(t.Context(), s.ID, set.ID, m.ID, noon, to(m.ID)); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("taken: %v", err)
	}
}
