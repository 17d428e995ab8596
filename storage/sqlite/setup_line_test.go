package sqlite

import (
	"testing"

	"shimwright/solver"
	"shimwright/storage"
)

// A line says of a setup what the whole setup does, of its shop alone, newest
// first; void cuts do not count, and a retired saw has no name.
func TestSetupLines(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	lark := must(db.EnsureMember(t.Context(), s.ID, "new", "Lark"))(t)
	addSetups(t, db, 2, s, wren)
	addSetups(t, db, 3, other, stranger)
	labelled := wholeSetup(s, lark)
	labelled.Interaction, labelled.Project, labelled.Lot = "", "Blue case", "oak ply 3"
	must(db.AddSetup(t.Context(), labelled))(t)
	logOne(t, db, s, plainCut(1, wren))
	second := plainCut(2, wren)
	second.Interaction = "2"
	logOne(t, db, s, second)
	must(db.ReviseCuts(t.Context(), s.ID, 1, func(x *storage.Setup) error {
		x.Cuts[0].Voided = true
		return nil
	}, func([]storage.Logged) solver.Belief { return belief(9) }))(t)

	sets, saws := must(db.Sets(t.Context(), s.ID))(t), must(db.Saws(t.Context(), s.ID))(t)
	names := map[int64]string{}
	for _, x := range sets {
		names[x.ID] = x.Name
	}
	line := func(no int64, cuts int, member string) storage.SetupLine {
		full := must(db.Setup(t.Context(), s.ID, no))(t)
		saw := ""
		for _, x := range saws {
			if x.ID == full.SawID {
				saw = x.Name
			}
		}
		return storage.SetupLine{
			Setup: storage.Setup{
				No: no, MemberID: full.MemberID, Joint: full.Joint, Readings: full.Readings,
				Project: full.Project, Lot: full.Lot, Created: full.Created, State: full.State,
			},
			Cuts: cuts, Set: names[full.SetID], Saw: saw, Member: member,
		}
	}
	check := func(name string, shopID, member int64, limit int, want ...storage.SetupLine) {
		t.Helper()
		same(t, name, must(db.SetupLines(t.Context(), shopID, member, limit))(t), want)
	}
	third, two, first := line(3, 0, "Lark"), line(2, 0, "Wren"), line(1, 1, "Wren")
	check("the shop's", s.ID, 0, 9, third, two, first)
	check("the newest", s.ID, 0, 2, third, two)
	check("a member's", s.ID, wren.ID, 9, two, first)
	check("another shop's member's", s.ID, stranger.ID, 9)
	check("of no shop", 99999, 0, 9)

	if err := db.RetireSaw(t.Context(), s.ID, must(db.Setup(t.Context(), s.ID, 3))(t).SawID, noon, func(storage.InUse) error { return nil }); err != nil {
		t.Fatal(err)
	}
	third.Saw, two.Saw, first.Saw = "", "", ""
	check("with the saw retired", s.ID, 0, 9, third, two, first)
}
