package sqlite

import (
	"errors"
	"reflect"
	"slices"
	"testing"

	"shimwright/solver"
	"shimwright/storage"
)

// wholeSet is a set with every field set, sizes falling.
func wholeSet(shopID int64, name string) storage.Set {
	mil := solver.Mil
	return storage.Set{ShopID: shopID, Name: name, Generic: true, Retired: true, Parts: solver.Set{
		Kind: solver.Stacked, Unit: solver.MillimetreUnit,
		Outer: solver.OuterPair{Nominal: 250 * mil, Measured: 251 * mil, Plate: 90 * mil, Tooth: 125 * mil, Teeth: 24, Out: true},
		Chippers: []solver.Chipper{
			{Nominal: 125 * mil, Measured: 124 * mil, Tooth: 140 * mil, Teeth: 4, Count: 4, Out: 1},
			{Nominal: 62 * mil, Measured: 63 * mil, Tooth: 70 * mil, Teeth: 2, Count: 2, Out: 2},
		},
		Shims: []solver.Shim{
			{Nominal: 20 * mil, Measured: 21 * mil, Material: solver.Brass, Count: 3, Out: 1},
			{Nominal: 4 * mil, Measured: 5 * mil, Material: solver.Paper, Count: 2, Out: 1},
		},
		Diameter: 8 * solver.Inch, MaxRPM: 7000, MaxWidth: solver.Inches(13, 16),
		Gap: solver.GapLimits{Chipper: 30 * mil, Bare: 9 * mil, Count: 1}, SoftOK: true,
	}}
}

func wholeSaw(shopID int64, name string) storage.Saw {
	return storage.Saw{ShopID: shopID, Name: name, Generic: true, Retired: true, Saw: solver.Saw{
		Unit: solver.MillimetreUnit, Arbor: 20 * solver.Millimetre, Insert: 22 * solver.Millimetre,
		Largest: 250 * solver.Millimetre, Smallest: 150 * solver.Millimetre, RPM: 4000, Nut: solver.Right,
		Flange: solver.OuterMayBeLeft, Fence: solver.FenceAllowed, Brake: true, NoStack: true,
	}}
}

func TestSetRoundTrip(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	want := wholeSet(s.ID, "Blue case")
	added := must(db.AddSet(t.Context(), want))(t)
	whole(t, "Set", reflect.ValueOf(added))
	want.ID = added.ID
	same(t, "set as added", added, want)
	same(t, "set as read", must(db.SetByID(t.Context(), s.ID, added.ID))(t), want)

	want.Retired, want.Name, want.Parts.Kind = false, "Red case", solver.Blade
	want.Parts.Chippers = nil
	want.Parts.Shims = append([]solver.Shim{{Nominal: 31 * solver.Mil, Count: 1}}, want.Parts.Shims[1:]...)
	changed := must(db.UpdateSet(t.Context(), s.ID, added.ID, func(set *storage.Set) error { *set = want; return nil }))(t)
	same(t, "set as changed", changed, want)
	same(t, "set as read", must(db.SetByID(t.Context(), s.ID, added.ID))(t), want)
}

func TestSawRoundTrip(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	want := wholeSaw(s.ID, "Big saw")
	added := must(db.AddSaw(t.Context(), want))(t)
	whole(t, "Saw", reflect.ValueOf(added))
	want.ID = added.ID
	same(t, "saw as added", added, want)
	same(t, "saw as read", must(db.SawByID(t.Context(), s.ID, added.ID))(t), want)

	want.Retired, want.Name = false, "Small saw"
	want.Saw = solver.Saw{Arbor: 15 * solver.Millimetre, Nut: solver.Left}
	changed := must(db.UpdateSaw(t.Context(), s.ID, added.ID, func(saw *storage.Saw) error { *saw = want; return nil }))(t)
	same(t, "saw as changed", changed, want)
	same(t, "saw as read", must(db.SawByID(t.Context(), s.ID, added.ID))(t), want)
}

// The shop starts with "Blade" and "Inch set", "North saw" and "East saw".
func TestNamesInUse(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	other, _ := shop(t, db, "local:b") // has all the names too, to no effect
	for _, kind := range []struct {
		name                string
		taken, alsoTaken    string
		add                 func(shopID int64, name string) (int64, error)
		change              func(id int64, name string, retired bool) error
		inUse               func() []string
		wantBefore, wantEnd []string
	}{{
		name: "sets", taken: "INCH SET", alsoTaken: "bLADE",
		add: func(shopID int64, name string) (int64, error) {
			set, err := db.AddSet(t.Context(), storage.Set{ShopID: shopID, Name: name, Parts: solver.GenericBlade()})
			return set.ID, err
		},
		change: func(id int64, name string, retired bool) error {
			_, err := db.UpdateSet(t.Context(), s.ID, id, func(set *storage.Set) error {
				set.Name, set.Retired = name, retired
				return nil
			})
			return err
		},
		inUse: func() (names []string) {
			for _, set := range must(db.Sets(t.Context(), s.ID))(t) {
				names = append(names, set.Name)
			}
			return names
		},
		wantBefore: []string{"Blade", "Inch set", "inch Set 2", "Öre"}, wantEnd: []string{"Blade", "Inch set", "inch Set 2", "öre"},
	}, {
		name: "saws", taken: "NORTH SAW", alsoTaken: "eAST sAW",
		add: func(shopID int64, name string) (int64, error) {
			saw, err := db.AddSaw(t.Context(), storage.Saw{ShopID: shopID, Name: name, Saw: solver.GenericInchSaw()})
			return saw.ID, err
		},
		change: func(id int64, name string, retired bool) error {
			_, err := db.UpdateSaw(t.Context(), s.ID, id, func(saw *storage.Saw) error {
				saw.Name, saw.Retired = name, retired
				return nil
			})
			return err
		},
		inUse: func() (names []string) {
			for _, saw := range must(db.Saws(t.Context(), s.ID))(t) {
				names = append(names, saw.Name)
			}
			return names
		},
		wantBefore: []string{"East saw", "inch Set 2", "North saw", "Öre"}, wantEnd: []string{"East saw", "inch Set 2", "North saw", "öre"},
	}} {
		t.Run(kind.name, func(t *testing.T) {
			if _, err := kind.add(s.ID, kind.taken); !errors.Is(err, storage.ErrConflict) {
				t.Errorf("adding %s: %v", kind.taken, err)
			}
			if _, err := kind.add(other.ID+77, "Free"); !errors.Is(err, storage.ErrNotFound) {
				t.Errorf("adding to no shop: %v", err)
			}
			must(kind.add(s.ID, "inch Set 2"))(t)
			id := must(kind.add(s.ID, "Öre"))(t)
			if got := kind.inUse(); !slices.Equal(got, kind.wantBefore) {
				t.Errorf("in use %q, want %q", got, kind.wantBefore)
			}
			if _, err := kind.add(s.ID, "öRE"); !errors.Is(err, storage.ErrConflict) {
				t.Errorf("case beyond ASCII: %v", err)
			}
			if err := kind.change(id, kind.alsoTaken, false); !errors.Is(err, storage.ErrConflict) {
				t.Errorf("renaming to %s: %v", kind.alsoTaken, err)
			}
			if err := kind.change(id, "Öre", true); err != nil { // retired: the name is free
				t.Fatal(err)
			}
			must(kind.add(s.ID, "öre"))(t)
			if err := kind.change(id, "Öre", false); !errors.Is(err, storage.ErrConflict) {
				t.Errorf("back from retirement to a name that was taken: %v", err)
			}
			if got := kind.inUse(); !slices.Equal(got, kind.wantEnd) {
				t.Errorf("in use %q, want %q", got, kind.wantEnd)
			}
		})
	}
}

func TestSetsAreByName(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	for _, name := range []string{"zebra", "apple", "Mango"} {
		must(db.AddSet(t.Context(), storage.Set{ShopID: s.ID, Name: name, Parts: solver.GenericBlade()}))(t)
		must(db.AddSaw(t.Context(), storage.Saw{ShopID: s.ID, Name: name, Saw: solver.GenericInchSaw()}))(t)
	}
	var sets, saws []string
	for _, set := range must(db.Sets(t.Context(), s.ID))(t) {
		sets = append(sets, set.Name)
	}
	for _, saw := range must(db.Saws(t.Context(), s.ID))(t) {
		saws = append(saws, saw.Name)
	}
	same(t, "sets", sets, []string{"apple", "Blade", "Inch set", "Mango", "zebra"})
	same(t, "saws", saws, []string{"apple", "East saw", "Mango", "North saw", "zebra"})
}

func TestBadSetsAreFaults(t *testing.T) {
	db := openNew(t)
	s, _ := shop(t, db, "local:a")
	for name, spoil := range map[string]func(*storage.Set){
		"two lines of one chipper size": func(set *storage.Set) { set.Parts.Chippers[1].Nominal = set.Parts.Chippers[0].Nominal },
		"more out than there are":       func(set *storage.Set) { set.Parts.Shims[0].Out = 9 },
		"no outer pair":                 func(set *storage.Set) { set.Parts.Outer.Nominal = 0 },
		"a kind that is none":           func(set *storage.Set) { set.Parts.Kind = "wobble" },
		"a negative width":              func(set *storage.Set) { set.Parts.MaxWidth = -1 },
		"no name":                       func(set *storage.Set) { set.Name = "" },
	} {
		set := wholeSet(s.ID, "Blue case")
		spoil(&set)
		if _, err := db.AddSet(t.Context(), set); err == nil || errors.Is(err, storage.ErrConflict) || errors.Is(err, storage.ErrNotFound) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if sets := must(db.Sets(t.Context(), s.ID))(t); len(sets) != 2 {
		t.Errorf("a bad set was kept: %d sets", len(sets))
	}
}

func TestFolded(t *testing.T) {
	for _, pair := range [][2]string{{"Blue Case", "bLUE cASE"}, {"ΣΊΣΥΦΟΣ", "σίσυφος"}, {"K", "K"}, {"Straße", "STRAẞE"}} {
		if folded(pair[0]) != folded(pair[1]) {
			t.Errorf("%q and %q differ", pair[0], pair[1])
		}
	}
	if folded("Blue case") == folded("Blue cases") || folded("a") == folded("ä") {
		t.Error("different names are one")
	}
}
