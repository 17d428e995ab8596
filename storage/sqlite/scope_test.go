package sqlite

import (
	"errors"
	"strings"
	"testing"

	"shimwright/solver"
	"shimwright/storage"
)

// Nothing of another shop can be read or changed, and its ids get the very
// answer that ids of nothing get.
func TestShopsDoNotSeeEachOther(t *testing.T) {
	db := openNew(t)
	mine, me := shop(t, db, "local:a")
	theirs, they := shop(t, db, "local:b")
	addSetups(t, db, 1, mine, me)
	addSetups(t, db, 3, theirs, they)
	logOne(t, db, theirs, plainCut(1, they))

	ctx := t.Context()
	for name, ask := range map[string]func(shopID, member, set, saw, setup int64) error{
		"Member": func(shopID, member, _, _, _ int64) error { _, err := db.Member(ctx, shopID, member); return err },
		"UpdateMember": func(shopID, member, _, _, _ int64) error {
			_, err := db.UpdateMember(ctx, shopID, member, func(*storage.Member) error { return errCalled })
			return err
		},
		"SetByID": func(shopID, _, set, _, _ int64) error { _, err := db.SetByID(ctx, shopID, set); return err },
		"UpdateSet": func(shopID, _, set, _, _ int64) error {
			_, err := db.UpdateSet(ctx, shopID, set, func(*storage.Set) error { return errCalled })
			return err
		},
		"SawByID": func(shopID, _, _, saw, _ int64) error { _, err := db.SawByID(ctx, shopID, saw); return err },
		"UpdateSaw": func(shopID, _, _, saw, _ int64) error {
			_, err := db.UpdateSaw(ctx, shopID, saw, func(*storage.Saw) error { return errCalled })
			return err
		},
		"Setup": func(shopID, _, _, _, setup int64) error { _, err := db.Setup(ctx, shopID, setup); return err },
		"UpdateSetup": func(shopID, _, _, _, setup int64) error {
			_, err := db.UpdateSetup(ctx, shopID, setup, func(*storage.Setup) error { return errCalled })
			return err
		},
		"LogCut": func(shopID, _, _, _, setup int64) error {
			_, err := db.LogCut(ctx, shopID, setup, func(*storage.Bench) error { return errCalled })
			return err
		},
		"ReviseCuts": func(shopID, _, _, _, setup int64) error {
			_, err := db.ReviseCuts(ctx, shopID, setup, func(*storage.Setup) error { return errCalled }, nil)
			return err
		},
		"ChangeArbor": func(shopID, member, _, saw, _ int64) error {
			_, err := db.ChangeArbor(ctx, shopID, saw, 0, member, noon, func(*storage.Arbor) error { return errCalled })
			return err
		},
		"PassSet": func(shopID, member, set, _, _ int64) error {
			_, err := db.PassSet(ctx, shopID, set, member, noon, func(storage.Custody) (int64, error) { return 0, errCalled })
			return err
		},
		"SetupHeads": func(shopID, member, _, _, _ int64) error {
			heads, err := db.SetupHeads(ctx, shopID, member, 1)
			if err == nil && len(heads) == 0 {
				return storage.ErrNotFound
			}
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			if err := ask(theirs.ID, they.ID, theirs.Settings.SetID, theirs.Settings.SawID, 3); err != nil && !errors.Is(err, errCalled) {
				t.Fatalf("their own: %v", err)
			}
			foreign := ask(mine.ID, they.ID, theirs.Settings.SetID, theirs.Settings.SawID, 3) // mine has one setup
			unknown := ask(mine.ID, 99999, 99999, 99999, 99999)
			nowhere := ask(99999, they.ID, theirs.Settings.SetID, theirs.Settings.SawID, 3)
			for _, err := range []error{foreign, unknown, nowhere} {
				if !errors.Is(err, storage.ErrNotFound) || err.Error() != unknown.Error() {
					t.Errorf("foreign %v, unknown %v, of no shop %v", foreign, unknown, nowhere)
				}
			}
		})
	}
	if _, err := db.UpdateShop(ctx, 99999, func(*storage.Shop) error { return errCalled }); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("UpdateShop: %v", err)
	}
	if _, err := db.EnsureMember(ctx, 99999, "k", "n"); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("EnsureMember: %v", err)
	}

	// Lists and what was learned: a shop's own, and nothing of no shop.
	for shopID, want := range map[int64]int{mine.ID: 1, 99999: 0} {
		for what, n := range map[string]int{
			"members": len(must(db.Members(ctx, shopID))(t)), "setups": len(must(db.Setups(ctx, shopID, 0, 0, 9))(t)),
			"open setups": len(must(db.OpenSetups(ctx, shopID, noon, 9))(t)),
			"sets":        len(must(db.Sets(ctx, shopID))(t)) / 2, "saws": len(must(db.Saws(ctx, shopID))(t)) / 2,
		} {
			if n != want {
				t.Errorf("shop %d has %d %s, want %d", shopID, n, what, want)
			}
		}
		if log := must(db.Log(ctx, shopID))(t); len(log) != 0 {
			t.Errorf("shop %d has a log of %d", shopID, len(log))
		}
		same(t, "belief", must(db.Belief(ctx, shopID))(t), solver.Belief{})
	}
}

var errCalled = errors.New("the change was called")

// The look-ups that a completion or a reply waits for go by an index, and sort nothing.
func TestPlans(t *testing.T) {
	db := openNew(t)
	for name, tc := range map[string]struct {
		query string
		args  []any
		want  string // index
	}{
		"shop by key":          {selectShop + `key = ?`, []any{"k"}, "sqlite_autoindex_shops_1 (key=?)"},
		"member by key":        {selectMembers + ` AND key = ?`, []any{1, "k"}, "(shop_id=? AND key=?)"},
		"sets":                 {selectSets(setsInUse), []any{1}, "sets_in_use (shop_id=?)"},
		"saws":                 {sawsInUse, []any{1}, "saws_in_use (shop_id=?)"},
		"pieces":               {selectPieces(setsInUse), []any{1}, "pieces USING PRIMARY KEY (set_id=?)"},
		"setup by number":      {selectSetups + setupByNo, []any{1, 2}, "(shop_id=? AND no=?)"},
		"setup by interaction": {selectSetups + setupByInteraction, []any{1, "i"}, "(shop_id=? AND interaction=?)"},
		"setups of a shop":     {selectSetups + setupsOfShop, []any{1, 9, 5}, "(shop_id=? AND no<?)"},
		"setups of a member":   {selectSetups + setupsOfMember, []any{1, 9, 5, 3}, "setups_of_member (shop_id=? AND member_id=? AND no<?)"},
		"stacks of a page":     {selectStacks(setupsOfShop), []any{1, 9, 5}, "stacks USING PRIMARY KEY (shop_id=? AND setup=?)"},
		"cuts of a page":       {selectCuts(setupsOfShop), []any{1, 9, 5}, "(shop_id=? AND setup=?)"},
		"open setups":          {selectSetups + openSetups, []any{1, 0, 5}, "setups_open (shop_id=?)"},
		"open at a saw":        {selectSetups + openAtSaw, []any{1, 2, 3}, "setups_open (shop_id=?)"},
		"moves of a page":      {selectMoves(setupsOfShop), []any{1, 9, 5}, "setup_moves USING PRIMARY KEY (shop_id=? AND setup=?)"},
		"marks of a page":      {selectMarks(setupsOfShop), []any{1, 9, 5}, "setup_marks USING PRIMARY KEY (shop_id=? AND setup=?)"},
		"loads now":            {selectLoads + loadsNow, []any{1}, "one_load_on_a_saw (shop_id=?)"},
		"load of a saw":        {selectLoads + loadOfSaw, []any{1, 2}, "one_load_on_a_saw (shop_id=? AND saw_id=?)"},
		"checks of loads":      {selectChecks(loadsNow), []any{1}, "load_checks USING PRIMARY KEY (shop_id=? AND load=?)"},
		"sets out":             {custodyNow, []any{1}, "one_holder_of_a_set (shop_id=?)"},
		"custody of a set":     {custodyOfSet, []any{1, 2}, "one_holder_of_a_set (shop_id=? AND set_id=?)"},
		"log":                  {selectLog, []any{1}, "(shop_id=?)"},
		"next cut":             {nextLogNo, []any{1}, "COVERING INDEX sqlite_autoindex_cuts_1 (shop_id=?)"},
		"next setup":           {nextSetup, []any{1}, "COVERING INDEX sqlite_autoindex_setups_1 (shop_id=?)"},
		"last version":         {lastVersion, []any{1}, "versions_of_set (set_id=?)"},
		"report":               {selectWeeks, []any{1, "2031-01-01", "2031-12-31"}, "tallies USING PRIMARY KEY (shop_id=?)"},
		"check-off":            {checkOffNow, []any{1, 2, 3}, "checkoffs_of_member (shop_id=? AND member_id=? AND saw_id=?)"},
		"lot":                  {selectSetups + setupsOfLot, []any{1, "oak", 5}, "setups_of_lot (shop_id=? AND lot_key=?)"},
		"project":              {selectSetups + setupsOfProject, []any{1, "case", 5}, "setups_of_project (shop_id=? AND project_key=?)"},
		"a member's cuts":      {cutsOfMember, []any{1, 2}, "cuts_of_member (shop_id=? AND member_id=?)"},
		"taken down blind":     {selectSetups + setupsDownBlind, []any{1, 0, 5}, "marks_of_taking_down (shop_id=? AND at>?)"},
		"near misses":          {selectNearMisses, []any{1, 20}, "near_misses USING PRIMARY KEY (shop_id=?)"},
	} {
		p := plan(t, db, tc.query, tc.args...)
		if !strings.Contains(p, tc.want) || strings.Contains(strings.ReplaceAll(p, "SCAN CONSTANT ROW", ""), "SCAN ") || strings.Contains(p, "TEMP B-TREE FOR ORDER BY") || strings.Contains(p, "TEMP B-TREE FOR GROUP BY") {
			t.Errorf("%s: want %s\n%s", name, tc.want, p)
		}
	}
}
