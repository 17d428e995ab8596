package sqlite

import (
	"testing"

	"shimwright/solver"
	"shimwright/storage"
)

func TestUpkeepStandsInTheLog(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	logOne(t, db, s, plainCut(1, m))
	ofSet := storage.Upkeep{SetID: s.Settings.SetID, MemberID: m.ID, At: noon, Upkeep: solver.Upkeep{Kind: solver.Replaced, Chipper: solver.Inch / 8}}
	ofSaw := storage.Upkeep{SawID: s.Settings.SawID, MemberID: m.ID, At: noon, Upkeep: solver.Upkeep{Kind: solver.Trued}}
	for i, u := range []storage.Upkeep{ofSet, ofSaw} {
		err := db.LogUpkeep(t.Context(), s.ID, u, func(b solver.Belief, logID int64) solver.Belief {
			same(t, "the belief before", b.Last, int64(i+1))
			same(t, "the entry's number", logID, int64(i+2))
			return belief(logID)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	logOne(t, db, s, plainCut(2, m))

	log := must(db.Log(t.Context(), s.ID))(t)
	if len(log) != 4 {
		t.Fatalf("a log of %d entries, want 4", len(log))
	}
	for i, l := range log {
		same(t, "order", l.ID, int64(i+1))
		same(t, "is upkeep", l.Upkeep != nil, i == 1 || i == 2)
	}
	same(t, "of the set", *log[1].Upkeep, ofSet)
	same(t, "of the saw", *log[2].Upkeep, ofSaw)
	same(t, "belief", must(db.Belief(t.Context(), s.ID))(t).Last, int64(4))

	other, stranger := shop(t, db, "local:b")
	ofSet.MemberID = stranger.ID
	if err := db.LogUpkeep(t.Context(), other.ID, ofSet, func(b solver.Belief, _ int64) solver.Belief { return b }); err == nil {
		t.Error("a set of another shop is taken")
	}
}

func TestRelearnOnlyWhatIsOld(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	logOne(t, db, s, plainCut(1, m)) // writes version 7
	for _, tc := range []struct{ version, want int }{{7, 0}, {8, 1}, {8, 0}} {
		n := must(db.Relearn(t.Context(), tc.version, func(log []storage.Logged) solver.Belief {
			return solver.Belief{Version: tc.version, Last: int64(len(log))}
		}))(t)
		same(t, "relearned", n, tc.want)
	}
	same(t, "belief", must(db.Belief(t.Context(), s.ID))(t), solver.Belief{Version: 8, Last: 1})
}

func TestMemberShops(t *testing.T) {
	db := openNew(t)
	a, m := shop(t, db, "local:a")
	elsewhere, _ := shop(t, db, "other:a") // the same key on another platform is someone else
	must(db.EnsureMember(t.Context(), elsewhere.ID, m.Key, "x"))(t)
	shops, chosen, err := db.MemberShops(t.Context(), "local", m.Key)
	if err != nil || len(shops) != 1 || shops[0].ID != a.ID || chosen != 0 {
		t.Fatalf("%d shops, chosen %d, %v", len(shops), chosen, err)
	}
	b, _ := shop(t, db, "local:b")
	must(db.EnsureMember(t.Context(), b.ID, m.Key, "x"))(t)
	for _, id := range []int64{b.ID, a.ID} {
		if err := db.ChooseShop(t.Context(), "local", m.Key, id); err != nil {
			t.Fatal(err)
		}
		shops, chosen, err = db.MemberShops(t.Context(), "local", m.Key)
		if err != nil || len(shops) != 2 || chosen != id {
			t.Fatalf("%d shops, chosen %d, want %d, %v", len(shops), chosen, id, err)
		}
	}
}
