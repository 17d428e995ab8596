package sqlite

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"shimwright/solver"
	"shimwright/storage"
)

// belief is one that tells which cuts it has seen; its figures are odd floats.
func belief(seen ...int64) solver.Belief {
	b := solver.Belief{Version: 7, Mean: []float64{0.1 + 0.2, -1e-300}}
	for _, id := range seen {
		b.Last = id
		b.Cov = append(b.Cov, 1/float64(id+2))
	}
	return b
}

// logOne logs a cut of setup 1 with the belief that has seen it.
func logOne(t testing.TB, db *DB, s storage.Shop, c storage.Cut) storage.Setup {
	t.Helper()
	return must(db.LogCut(t.Context(), s.ID, 1, func(b *storage.Bench) error {
		b.Setup.Cuts = append(b.Setup.Cuts, c)
		*b.Belief = belief(b.LogID)
		return nil
	}))(t)
}

// plainCut is a cut that clashes with none.
func plainCut(no int, m storage.Member) storage.Cut {
	return storage.Cut{No: no, MemberID: m.ID, Feel: solver.Loose, Grade: solver.Loose, At: noon}
}

func TestLogCut(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	addSetups(t, db, 2, s, m)
	addSetups(t, db, 1, other, stranger)
	logOne(t, db, other, plainCut(1, stranger))

	same(t, "belief before the first cut", must(db.Belief(t.Context(), s.ID))(t), solver.Belief{})
	got := must(db.LogCut(t.Context(), s.ID, 2, func(b *storage.Bench) error {
		same(t, "set on the bench", b.Set, must(db.SetByID(t.Context(), s.ID, s.Settings.SetID))(t))
		same(t, "belief on the bench", *b.Belief, solver.Belief{})
		same(t, "log id, in this shop", b.LogID, int64(1))
		b.Setup.Stacks = append(b.Setup.Stacks, plannedStack())
		b.Setup.Loaded = 2
		b.Setup.Move(wholeMove(storage.DialledIn, m))
		c := plainCut(1, m)
		c.Revision = 2 // the stack that has only just been added
		c.At = noon.Add(345 * time.Microsecond).In(time.FixedZone("", -7200))
		b.Setup.Cuts = append(b.Setup.Cuts, c)
		*b.Belief = belief(b.LogID)
		b.Set.Parts.Chippers[0].Count = 99 // the caller's own copy
		return nil
	}))(t)
	same(t, "setup as read", must(db.Setup(t.Context(), s.ID, 2))(t), got)
	if got.Loaded != 2 || got.State != storage.DialledIn || len(got.Stacks) != 3 || len(got.Cuts) != 1 || got.Cuts[0].Revision != 2 {
		t.Errorf("setup %+v", got)
	}
	same(t, "belief", must(db.Belief(t.Context(), s.ID))(t), belief(1))
	must(db.LogCut(t.Context(), s.ID, 1, func(b *storage.Bench) error {
		same(t, "belief on the next bench", *b.Belief, belief(1))
		same(t, "next log id", b.LogID, int64(2))
		b.Setup.Move(wholeMove(storage.Planned, m))
		*b.Belief = belief(5) // without a cut nothing can be learned
		return nil
	}))(t)
	same(t, "state without a cut", must(db.Setup(t.Context(), s.ID, 1))(t).State, storage.Planned)
	same(t, "belief without a cut", must(db.Belief(t.Context(), s.ID))(t), belief(1))
	if log := must(db.Log(t.Context(), s.ID))(t); len(log) != 1 || log[0].Set.Parts.Chippers[0].Count != 4 {
		t.Errorf("log %+v", log)
	}
}

func TestLogCutIsAllOrNothing(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	_, stranger := shop(t, db, "local:b")
	addSetups(t, db, 2, s, m)
	logOne(t, db, s, wholeCut(1, m))
	want := must(db.Setup(t.Context(), s.ID, 1))(t)
	mine, conflict := errors.New("mine"), fmt.Errorf("mine: %w", storage.ErrConflict)
	add := func(b *storage.Bench, c storage.Cut) error { b.Setup.Cuts = append(b.Setup.Cuts, c); return nil }
	for name, tc := range map[string]struct {
		no   int64
		log  func(*storage.Bench) error
		want error // nil: a fault
	}{
		"own error":      {1, func(b *storage.Bench) error { _ = add(b, plainCut(2, m)); return mine }, mine},
		"own conflict":   {1, func(b *storage.Bench) error { _ = add(b, plainCut(2, m)); return conflict }, conflict},
		"a number taken": {1, func(b *storage.Bench) error { return add(b, plainCut(1, m)) }, storage.ErrConflict},
		"an interaction taken": {2, func(b *storage.Bench) error {
			c := plainCut(1, m)
			c.Interaction = wholeCut(1, m).Interaction
			return add(b, c)
		}, storage.ErrConflict},
		"another shop's member": {1, func(b *storage.Bench) error { return add(b, plainCut(2, stranger)) }, storage.ErrNotFound},
		"no such stack": {1, func(b *storage.Bench) error {
			c := plainCut(2, m)
			c.Revision = 9
			return add(b, c)
		}, storage.ErrNotFound},
		"two cuts":             {1, func(b *storage.Bench) error { _ = add(b, plainCut(2, m)); return add(b, plainCut(3, m)) }, nil},
		"an old cut rewritten": {1, func(b *storage.Bench) error { b.Setup.Cuts[0].Grade = solver.Snug; return add(b, plainCut(2, m)) }, nil},
		"an old cut dropped":   {1, func(b *storage.Bench) error { b.Setup.Cuts = []storage.Cut{plainCut(2, m)}; return nil }, nil},
		"an old stack":         {1, func(b *storage.Bench) error { b.Setup.Stacks[0].SD++; return add(b, plainCut(2, m)) }, nil},
		"a question rewritten": {1, func(b *storage.Bench) error { b.Setup.Joint = storage.Dado; return add(b, plainCut(2, m)) }, nil},
	} {
		got, err := db.LogCut(t.Context(), s.ID, tc.no, func(b *storage.Bench) error {
			*b.Belief = belief(1, 2)
			b.Setup.Move(wholeMove(storage.Planned, m))
			b.Setup.Stacks = append(b.Setup.Stacks, plannedStack())
			return tc.log(b)
		})
		if err == nil || tc.want != nil && !errors.Is(err, tc.want) || tc.want == nil && (errors.Is(err, storage.ErrConflict) || errors.Is(err, storage.ErrNotFound)) {
			t.Errorf("%s: %v", name, err)
		}
		switch name {
		case "own error", "own conflict":
			if err != tc.want {
				t.Errorf("%s: %v", name, err)
			}
		case "a number taken", "an interaction taken":
			same(t, name+": setup that comes back", got, must(db.Setup(t.Context(), s.ID, tc.no))(t))
		}
		same(t, name+" leaves the setup", must(db.Setup(t.Context(), s.ID, 1))(t), want)
		same(t, name+" leaves the belief", must(db.Belief(t.Context(), s.ID))(t), belief(1))
		if log := must(db.Log(t.Context(), s.ID))(t); len(log) != 1 {
			t.Errorf("%s: %d cuts in the log", name, len(log))
		}
	}
}

// A panic in the caller's function gives the lock back, and writes nothing.
func TestPanicInsideLogCut(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	func() {
		defer func() { _ = recover() }()
		_, _ = db.LogCut(t.Context(), s.ID, 1, func(b *storage.Bench) error {
			b.Setup.Cuts = append(b.Setup.Cuts, plainCut(1, m))
			panic("a bug")
		})
	}()
	logOne(t, db, s, plainCut(1, m))
}

// Benches log at once: every cut is there once, in an order, and each belief was
// made from the one before it.
func TestCutsLoggedTogether(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 4, s, m)
	const each = 10
	var g errgroup.Group
	for no := int64(1); no <= 4; no++ {
		g.Go(func() error {
			for range each {
				_, err := db.LogCut(context.Background(), s.ID, no, func(b *storage.Bench) error {
					b.Setup.Cuts = append(b.Setup.Cuts, plainCut(len(b.Setup.Cuts)+1, m))
					b.Belief.Last++
					if b.Belief.Last != b.LogID {
						return fmt.Errorf("belief has seen %d cuts, the next is %d", b.Belief.Last-1, b.LogID)
					}
					return nil
				})
				if err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	for i, l := range must(db.Log(t.Context(), s.ID))(t) {
		if l.ID != int64(i+1) {
			t.Fatalf("cut %d has id %d", i, l.ID)
		}
	}
	same(t, "cuts seen", must(db.Belief(t.Context(), s.ID))(t).Last, int64(4*each))
}

func TestReviseCuts(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	addSetups(t, db, 2, s, m)
	addSetups(t, db, 1, other, stranger)
	logOne(t, db, other, plainCut(1, stranger))
	logOne(t, db, s, plainCut(1, m))

	// The set is measured between the first cut and the others.
	old := must(db.SetByID(t.Context(), s.ID, s.Settings.SetID))(t)
	measured := must(db.UpdateSet(t.Context(), s.ID, old.ID, func(set *storage.Set) error {
		set.Name, set.Parts.Outer.Measured = "Renamed", 251*solver.Mil
		return nil
	}))(t)
	must(db.LogCut(t.Context(), s.ID, 2, func(b *storage.Bench) error {
		b.Setup.Cuts = append(b.Setup.Cuts, plainCut(1, m))
		return nil
	}))(t)
	logOne(t, db, s, plainCut(2, m))

	floor := measure(720*solver.Mil, solver.InchUnit, solver.Decimals, ".720")
	var log []storage.Logged
	got, err := db.ReviseCuts(t.Context(), s.ID, 1, func(x *storage.Setup) error {
		x.Cuts[0].Voided = true
		x.Cuts[1].Floor, x.Cuts[1].Grade, x.Cuts[1].Odd = floor, solver.Sloppy, true
		x.Move(wholeMove(storage.Planned, m))
		return nil
	}, func(l []storage.Logged) solver.Belief {
		log = l
		return belief(3, 1)
	})
	if err != nil {
		t.Fatal(err)
	}
	first, second := plainCut(1, m), plainCut(2, m)
	first.Voided = true
	second.Floor, second.Grade, second.Odd = floor, solver.Sloppy, true
	same(t, "cuts", got.Cuts, []storage.Cut{first, second})
	same(t, "setup as read", must(db.Setup(t.Context(), s.ID, 1))(t), got)
	same(t, "belief", must(db.Belief(t.Context(), s.ID))(t), belief(3, 1))
	same(t, "other shop's belief", must(db.Belief(t.Context(), other.ID))(t), belief(1))

	one, two := got, must(db.Setup(t.Context(), s.ID, 2))(t)
	one.Cuts, two.Cuts, one.Moves = nil, nil, nil
	old.Name = "Renamed" // parts are as they were, the name is today's
	want := []storage.Logged{
		{ID: 1, Cut: first, Setup: one, Set: old},
		{ID: 2, Cut: plainCut(1, m), Setup: two, Set: measured},
		{ID: 3, Cut: second, Setup: one, Set: measured},
	}
	same(t, "log that was replayed", log, want)
	same(t, "log as read", must(db.Log(t.Context(), s.ID))(t), want)

	mine := errors.New("mine")
	for name, revise := range map[string]func(*storage.Setup) error{
		"own error":         func(x *storage.Setup) error { x.Cuts[0].Voided = false; return mine },
		"a feel":            func(x *storage.Setup) error { x.Cuts[0].Feel = solver.Snug; return nil },
		"slips":             func(x *storage.Setup) error { x.Cuts[0].Slips = new(int); return nil },
		"a note":            func(x *storage.Setup) error { x.Cuts[0].Note = "x"; return nil },
		"its stack":         func(x *storage.Setup) error { x.Cuts[0].Revision = 1; return nil },
		"a given floor":     func(x *storage.Setup) error { x.Cuts[1].Floor.Length++; return nil },
		"a floor taken out": func(x *storage.Setup) error { x.Cuts[1].Floor = solver.Measure{}; return nil },
		"one cut more":      func(x *storage.Setup) error { x.Cuts = append(x.Cuts, plainCut(3, m)); return nil },
		"one cut less":      func(x *storage.Setup) error { x.Cuts = x.Cuts[:1]; return nil },
		"cuts swapped":      func(x *storage.Setup) error { slices.Reverse(x.Cuts); return nil },
		"a stack":           func(x *storage.Setup) error { x.Stacks[0].Chance = 0; return nil },
	} {
		_, err := db.ReviseCuts(t.Context(), s.ID, 1, revise, func([]storage.Logged) solver.Belief { return belief(9) })
		if err == nil || errors.Is(err, mine) != (name == "own error") {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name+" leaves the setup", must(db.Setup(t.Context(), s.ID, 1))(t), got)
		same(t, name+" leaves the belief", must(db.Belief(t.Context(), s.ID))(t), belief(3, 1))
	}
}

// What was committed is there after the process is gone: a second process reads
// it while the first has not closed the file.
func TestLoggedIsVisibleElsewhere(t *testing.T) {
	path := t.TempDir() + "/x.db"
	db := openAt(t, path)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	want := logOne(t, db, s, plainCut(1, m))
	same(t, "setup", must(openAt(t, path).Setup(t.Context(), s.ID, 1))(t), want)
}

func BenchmarkLogCut(b *testing.B) {
	db := openNew(b)
	s, m := shop(b, db, "local:a")
	addSetups(b, db, 1, s, m)
	for b.Loop() {
		must(db.LogCut(b.Context(), s.ID, 1, func(bench *storage.Bench) error {
			n := len(bench.Setup.Cuts)
			if n == 5 { // a long evening; then the next setup
				return nil
			}
			bench.Setup.Cuts = append(bench.Setup.Cuts, plainCut(n+1, m))
			return nil
		}))(b)
	}
}
