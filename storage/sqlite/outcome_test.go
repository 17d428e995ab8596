package sqlite

import (
	"testing"

	"shimwright/storage"
)

func TestOutcomes(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 2, s, m)
	logOne(t, db, s, plainCut(1, m)) // loose, by feel: no snug cut, nothing measured
	day := storage.DayOf(noon)
	got := must(db.Outcomes(t.Context(), s.ID, day, day, 10))(t)
	if len(got) != 2 || got[0].Setup != 2 || got[1].Setup != 1 {
		t.Fatalf("outcomes %+v, want setups 2 and 1", got)
	}
	if o := got[1]; o.MemberID != m.ID || o.Day != day || o.ToSnug != 0 || o.Play != nil {
		t.Errorf("outcome %+v of a setup with one loose cut", o)
	}
	if got := must(db.Outcomes(t.Context(), s.ID, day, day, 1))(t); len(got) != 1 || got[0].Setup != 2 {
		t.Errorf("the newest one alone: %+v", got)
	}
	other, _ := shop(t, db, "local:b")
	if got := must(db.Outcomes(t.Context(), other.ID, day, day, 10))(t); len(got) != 0 {
		t.Errorf("outcomes of another shop: %+v", got)
	}
}
