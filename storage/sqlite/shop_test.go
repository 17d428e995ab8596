package sqlite

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"shimwright/solver"
	"shimwright/storage"
)

func TestNewShop(t *testing.T) {
	db := openNew(t)
	shop(t, db, "local:other") // so that ids are not all 1
	at := noon.Add(999 * time.Microsecond).In(time.FixedZone("", 3600))
	made := must(db.EnsureShop(t.Context(), "local:a", "Alder bench", start(), at))(t)
	whole(t, "Shop", reflect.ValueOf(made))

	sets, saws := must(db.Sets(t.Context(), made.ID))(t), must(db.Saws(t.Context(), made.ID))(t)
	if len(sets) != 2 || len(saws) != 2 {
		t.Fatalf("%d sets and %d saws", len(sets), len(saws))
	}
	want := storage.Shop{ID: made.ID, Key: "local:a", Name: "Alder bench", Settings: start().Settings, Created: noon}
	var kept string
	if err := db.reader.QueryRowContext(t.Context(), `SELECT settings FROM shops WHERE id = ?`, made.ID).Scan(&kept); err != nil || strings.Contains(kept, `"set"`) || strings.Contains(kept, `"saw"`) {
		t.Errorf("settings hold ids that have columns: %s, %v", kept, err)
	}
	want.Settings.SetID, want.Settings.SawID = sets[1].ID, saws[1].ID // by name; the first given is the second
	same(t, "shop", made, want)
	for i, given := range []int{1, 0} {
		set, saw := start().Sets[given], start().Saws[given]
		set.ID, set.ShopID, saw.ID, saw.ShopID = sets[i].ID, made.ID, saws[i].ID, made.ID
		same(t, "starting set", sets[i], set)
		same(t, "starting saw", saws[i], saw)
	}
	again := must(db.EnsureShop(t.Context(), "local:a", "another name", storage.Start{}, noon.Add(time.Hour)))(t)
	same(t, "shop, asked for again", again, made)
}

// A shop there already is read while the file is locked: no write is tried.
func TestEnsureReadsFirst(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	lock := must(db.writer.BeginTx(t.Context(), nil))(t)
	defer func() { _ = lock.Rollback() }()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second) // a write would wait for ever
	defer cancel()
	same(t, "shop", must(db.EnsureShop(ctx, s.Key, s.Name, start(), noon))(t), s)
	same(t, "member", must(db.EnsureMember(ctx, s.ID, m.Key, m.Name))(t), m)
	same(t, "member, name not told", must(db.EnsureMember(ctx, s.ID, m.Key, ""))(t), m)
}

func TestRacingCreatorsGetOneShop(t *testing.T) {
	db := openNew(t)
	var shops [50]storage.Shop
	var members [50]storage.Member
	var g errgroup.Group
	for i := range shops {
		g.Go(func() (err error) {
			if shops[i], err = db.EnsureShop(context.Background(), "local:a", "A", start(), noon); err != nil {
				return err
			}
			members[i], err = db.EnsureMember(context.Background(), shops[i].ID, "m", "Wren")
			return err
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	for i := range shops {
		same(t, "shop", shops[i], shops[0])
		same(t, "member", members[i], members[0])
	}
	if sets := must(db.Sets(t.Context(), shops[0].ID))(t); len(sets) != 2 {
		t.Errorf("%d sets, want the 2 of one start", len(sets))
	}
}

// A start that cannot be written leaves no half a shop behind.
func TestShopIsMadeWholeOrNotAtAll(t *testing.T) {
	db := openNew(t)
	bad := start()
	bad.Saws[1].Name = "NORTH SAW"
	if _, err := db.EnsureShop(t.Context(), "local:a", "A", bad, noon); !errors.Is(err, storage.ErrConflict) {
		t.Fatalf("two saws of one name: %v", err)
	}
	s, _ := shop(t, db, "local:a")
	if sets := must(db.Sets(t.Context(), s.ID))(t); len(sets) != 2 {
		t.Errorf("%d sets", len(sets))
	}
}

func TestUpdateShop(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	other, _ := shop(t, db, "local:b")
	want := s
	want.Name = "Elm bench"
	want.Settings.Unit = solver.InchUnit
	want.Settings.InstructorRole = "role 9"
	want.Settings.SetID = must(db.Sets(t.Context(), s.ID))(t)[0].ID
	want.Settings.SawID = 0
	got := must(db.UpdateShop(t.Context(), s.ID, func(s *storage.Shop) error { *s = want; return nil }))(t)
	same(t, "shop as saved", got, want)
	same(t, "shop as read", must(db.EnsureShop(t.Context(), s.Key, "", storage.Start{}, noon))(t), want)

	mine := errors.New("mine")
	for name, tc := range map[string]struct {
		change func(*storage.Shop)
		err    error
		want   error // nil: any
	}{
		"own error":         {func(s *storage.Shop) { s.Name = "x" }, mine, mine},
		"other shop's set":  {func(s *storage.Shop) { s.Settings.SetID = other.Settings.SetID }, nil, storage.ErrNotFound},
		"other shop's saw":  {func(s *storage.Shop) { s.Settings.SawID = other.Settings.SawID }, nil, storage.ErrNotFound},
		"set that is not":   {func(s *storage.Shop) { s.Settings.SetID = 99999 }, nil, storage.ErrNotFound},
		"other key":         {func(s *storage.Shop) { s.Key = "local:c" }, nil, nil},
		"other id":          {func(s *storage.Shop) { s.ID = other.ID }, nil, nil},
		"other time it was": {func(s *storage.Shop) { s.Created = noon.Add(time.Hour) }, nil, nil},
	} {
		_, err := db.UpdateShop(t.Context(), s.ID, func(s *storage.Shop) error { tc.change(s); return tc.err })
		if err == nil || tc.want != nil && !errors.Is(err, tc.want) || tc.want == nil && errors.Is(err, storage.ErrNotFound) {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name+" leaves the shop", must(db.EnsureShop(t.Context(), s.Key, "", storage.Start{}, noon))(t), want)
	}
}

func TestMembers(t *testing.T) {
	db := openNew(t)
	s, first := shop(t, db, "local:a")
	shop(t, db, "local:b")
	same(t, "new member", first, storage.Member{ID: first.ID, ShopID: s.ID, Key: "member of local:a", Name: "Wren"})
	same(t, "member of a new name", must(db.EnsureMember(t.Context(), s.ID, first.Key, "Robin"))(t).Name, "Robin")

	second := must(db.EnsureMember(t.Context(), s.ID, "second", "Wren"))(t)
	for _, unit := range []solver.Unit{solver.InchUnit, solver.MillimetreUnit} {
		for _, notation := range []solver.Notation{solver.Decimals, solver.Fractions} {
			second.Style = &solver.Style{Unit: unit, Notation: notation}
			second.Name += "'"
			second.Minor = !second.Minor
			got := must(db.UpdateMember(t.Context(), s.ID, second.ID, func(m *storage.Member) error { *m = second; return nil }))(t)
			same(t, "member as saved", got, second)
			same(t, "member as read", must(db.Member(t.Context(), s.ID, second.ID))(t), second)
		}
	}
	for _, day := range []storage.Day{"2031-03-04", "2031-03-03"} { // a late write does not set it back
		if err := db.SawMember(t.Context(), s.ID, second.ID, day); err != nil {
			t.Fatal(err)
		}
	}
	second.Minor, second.Seen = true, "2031-03-04"
	must(db.UpdateMember(t.Context(), s.ID, second.ID, func(m *storage.Member) error { *m = second; return nil }))(t)
	kept := must(db.Member(t.Context(), s.ID, second.ID))(t)
	same(t, "member seen", kept, second)
	kept.Erased = true // TestEraseBlanks covers it
	whole(t, "Member", reflect.ValueOf(kept))
	same(t, "style stays when a name changes", must(db.EnsureMember(t.Context(), s.ID, "second", "Lark"))(t).Style, second.Style)

	second.Name, first.Name = "Lark", "Robin"
	same(t, "members", must(db.Members(t.Context(), s.ID))(t), []storage.Member{first, second})

	mine := errors.New("mine")
	for name, change := range map[string]func(*storage.Member) error{
		"own error": func(m *storage.Member) error { m.Name = "x"; return mine },
		"other key": func(m *storage.Member) error { m.Key = "x"; return nil },
		"other id":  func(m *storage.Member) error { m.ID++; return nil },
		"shop":      func(m *storage.Member) error { m.ShopID++; return nil },
		"seen":      func(m *storage.Member) error { m.Seen = "x"; return nil },
		"erased":    func(m *storage.Member) error { m.Erased = true; return nil },
	} {
		_, err := db.UpdateMember(t.Context(), s.ID, first.ID, change)
		if err == nil || name == "own error" && !errors.Is(err, mine) {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name, must(db.Member(t.Context(), s.ID, first.ID))(t), first)
	}
}
