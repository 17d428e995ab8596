package sqlite

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"shimwright/storage"
)

func wholeLoad(s storage.Shop, m storage.Member) storage.Load {
	return storage.Load{
		SetID: s.Settings.SetID, Setup: 1, Revision: 1, Stack: plannedStack().Stack, MemberID: m.ID, At: noon,
		Checks: []storage.LoadCheck{{MemberID: m.ID, At: noon}},
	}
}

func TestArbor(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	robin := must(db.EnsureMember(t.Context(), s.ID, "robin", "Robin"))(t)
	addSetups(t, db, 2, s, wren)
	saw := s.Settings.SawID
	change := func(f func(*storage.Arbor) error) (storage.Arbor, error) {
		return db.ChangeArbor(t.Context(), s.ID, saw, 0, robin.ID, noon.Add(time.Hour), f)
	}
	put := func(l storage.Load) storage.Arbor {
		return must(change(func(a *storage.Arbor) error { a.Load = &l; return nil }))(t)
	}

	want := wholeLoad(s, wren)
	want.ShopID, want.No, want.SawID = s.ID, 1, saw
	got := put(wholeLoad(s, wren))
	whole(t, "Load", reflect.ValueOf(*got.Load))
	same(t, "load", *got.Load, want)
	same(t, "setups open at the saw", []int64{got.Open[0].No, got.Open[1].No}, []int64{1, 2})

	check := storage.LoadCheck{MemberID: robin.ID, At: noon.Add(time.Minute)}
	want.Checks = append(want.Checks, check)
	must(change(func(a *storage.Arbor) error { a.Load.Checks = append(a.Load.Checks, check); return nil }))(t)
	same(t, "loads now", must(db.Loads(t.Context(), s.ID))(t), []storage.Load{want})

	mine := errors.New("mine")
	for name, bad := range map[string]func(*storage.Arbor) error{
		"own error":              func(a *storage.Arbor) error { a.Load = nil; return mine },
		"a check of old":         func(a *storage.Arbor) error { a.Load.Checks[0].At = noon.Add(1e9); return nil },
		"the same check twice":   func(a *storage.Arbor) error { a.Load.Checks = append(a.Load.Checks, check); return nil },
		"a load out of nowhere":  func(a *storage.Arbor) error { a.Load.No = 7; return nil },
		"a setup moved untold":   func(a *storage.Arbor) error { a.Open[1].State = storage.TakenDown; return nil },
		"a stack never advised":  func(a *storage.Arbor) error { l := wholeLoad(s, wren); l.Revision = 9; a.Load = &l; return nil },
		"a setup less":           func(a *storage.Arbor) error { a.Open = a.Open[:1]; return nil },
		"a setup's loaded stack": func(a *storage.Arbor) error { a.Open[0].Loaded = 9; return nil },
	} {
		if _, err := change(bad); err == nil || errors.Is(err, mine) != (name == "own error") {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name+" leaves the load", must(db.Loads(t.Context(), s.ID))(t), []storage.Load{want})
	}

	second := put(wholeLoad(s, robin)) // restacked: the first ends
	same(t, "second load", second.Load.No, int64(2))
	down := must(change(func(a *storage.Arbor) error {
		a.Load = nil
		for i := range a.Open {
			a.Open[i].Move(wholeMove(storage.TakenDown, robin))
		}
		return nil
	}))(t)
	if down.Load != nil || len(down.Open) != 0 || len(must(db.Loads(t.Context(), s.ID))(t)) != 0 {
		t.Errorf("after it was taken down: %+v", down)
	}
	same(t, "the setup's last state", must(db.Setup(t.Context(), s.ID, 2))(t).State, storage.TakenDown)
	var ended, by int64
	if err := db.reader.QueryRowContext(t.Context(), `SELECT ended, ended_by FROM saw_loads WHERE no = 1`).Scan(&ended, &by); err != nil ||
		ended != noon.Add(time.Hour).UnixMilli() || by != robin.ID {
		t.Errorf("the first load ended at %d by %d, %v", ended, by, err)
	}
}

func TestOpenSetups(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	for i, state := range []storage.State{storage.Planned, storage.Planned, storage.Planned, storage.Cutting, storage.TakenDown, storage.SetAside, storage.Released} {
		setup := wholeSetup(s, m)
		setup.State, setup.Interaction = state, ""
		if i < 4 {
			setup.Created = noon.Add(-48 * time.Hour)
		}
		if i == 2 {
			setup.Created = noon
		}
		must(db.AddSetup(t.Context(), setup))(t)
	}
	must(db.ChangeArbor(t.Context(), s.ID, s.Settings.SawID, 0, m.ID, noon, func(a *storage.Arbor) error {
		l := wholeLoad(s, m)
		l.Setup = 2
		a.Load = &l
		return nil
	}))(t)
	for name, tc := range map[string]struct {
		since time.Time
		limit int
		want  []int64
	}{
		"plans of today, and one on a saw": {noon, 9, []int64{7, 4, 3, 2}},
		"no plan is new enough":            {noon.Add(1e6), 9, []int64{7, 4, 2}},
		"all plans":                        {time.Time{}, 9, []int64{7, 4, 3, 2, 1}},
		"the newest":                       {noon, 2, []int64{7, 4}},
	} {
		var got []int64
		for _, setup := range must(db.OpenSetups(t.Context(), s.ID, tc.since, tc.limit))(t) {
			got = append(got, setup.No)
		}
		same(t, name, got, tc.want)
	}
}

// Of plans that were never cut, a change of the arbor sees the one it is for, the
// one that is loaded and those that something was confirmed of.
func TestArborLeavesOutPlans(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	for i := range 5 {
		setup := wholeSetup(s, m)
		setup.State, setup.Interaction = storage.Planned, ""
		if i == 4 {
			setup.State = storage.Cutting
		}
		must(db.AddSetup(t.Context(), setup))(t)
	}
	must(db.UpdateSetup(t.Context(), s.ID, 3, func(x *storage.Setup) error {
		x.Mark(storage.Mark{Kind: storage.PowerOff, MemberID: m.ID, At: noon})
		return nil
	}))(t)
	open := func(setupNo int64) (nos []int64) {
		a := must(db.ChangeArbor(t.Context(), s.ID, s.Settings.SawID, setupNo, m.ID, noon, func(a *storage.Arbor) error {
			l := wholeLoad(s, m)
			l.Setup = 2
			a.Load = &l
			return nil
		}))(t)
		for _, setup := range a.Open {
			nos = append(nos, setup.No)
		}
		return nos
	}
	same(t, "for none", open(0), []int64{2, 3, 5})
	same(t, "for the first", open(1), []int64{1, 2, 3, 5})
}

// What a move says is held by the file itself; only a word can be blanked.
func TestMovesAreNeverRewritten(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	must(db.UpdateSetup(t.Context(), s.ID, 1, func(x *storage.Setup) error { x.Move(wholeMove(storage.DialledIn, m)); return nil }))(t)
	for statement, ok := range map[string]bool{
		`UPDATE setup_moves SET word = ''`:                           true,
		`UPDATE setup_moves SET to_state = 'released'`:               false,
		`UPDATE setup_moves SET at = at + 1`:                         false,
		`UPDATE setup_moves SET member_id = member_id`:               false,
		`DELETE FROM setup_moves`:                                    false,
		`UPDATE OR REPLACE setup_moves SET no = 2, deed = 'release'`: false,
	} {
		if _, err := db.writer.ExecContext(t.Context(), statement); (err == nil) != ok {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

func TestPassSet(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	_, stranger := shop(t, db, "local:b")
	robin := must(db.EnsureMember(t.Context(), s.ID, "robin", "Robin"))(t)
	pass := func(from, to int64) (storage.Custody, error) {
		return db.PassSet(t.Context(), s.ID, s.Settings.SetID, wren.ID, noon, func(now storage.Custody) (int64, error) {
			same(t, "holder before", now.MemberID, from)
			return to, nil
		})
	}
	want := storage.Custody{ShopID: s.ID, No: 1, SetID: s.Settings.SetID, MemberID: wren.ID, At: noon}
	got := must(pass(0, wren.ID))(t)
	whole(t, "Custody", reflect.ValueOf(got))
	same(t, "taken", got, want)
	same(t, "kept", must(pass(wren.ID, wren.ID))(t), want)
	if _, err := pass(wren.ID, stranger.ID); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("to a member of another shop: %v", err)
	}
	want.No, want.MemberID = 2, robin.ID
	same(t, "handed over", must(pass(wren.ID, robin.ID))(t), want)
	same(t, "sets out", must(db.SetsOut(t.Context(), s.ID))(t), []storage.Custody{want})
	same(t, "returned", must(pass(robin.ID, 0))(t), storage.Custody{})
	if out := must(db.SetsOut(t.Context(), s.ID))(t); len(out) != 0 {
		t.Errorf("sets out: %+v", out)
	}
	want.No, want.MemberID = 3, wren.ID
	same(t, "taken again", must(pass(0, wren.ID))(t), want)
}

func TestCautionsRead(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	_, stranger := shop(t, db, "local:b")
	same(t, "before", must(db.CautionsRead(t.Context(), s.ID, m.ID))(t), time.Time{})
	for _, at := range []time.Time{noon, noon.Add(time.Hour)} {
		if err := db.ReadCautions(t.Context(), s.ID, m.ID, at); err != nil {
			t.Fatal(err)
		}
		same(t, "after", must(db.CautionsRead(t.Context(), s.ID, m.ID))(t), at)
	}
	if err := db.ReadCautions(t.Context(), s.ID, stranger.ID, noon); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("of another shop's member: %v", err)
	}
}
