package sqlite

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

func measure(length solver.Length, unit solver.Unit, notation solver.Notation, text string) solver.Measure {
	return solver.Measure{Length: length, Unit: unit, Notation: notation, Text: text}
}

func part(nominal, size solver.Length) solver.Part { return solver.Part{Nominal: nominal, Size: size} }

// plannedStack is a stack with every field set.
func plannedStack() storage.PlannedStack {
	mil := solver.Mil
	return storage.PlannedStack{
		Stack: solver.Stack{
			Outer:    part(250*mil, 251*mil),
			Chippers: []solver.Part{part(125*mil, 126*mil), part(94*mil, 93*mil)},
			Gaps:     [][]solver.Part{{part(4*mil, 4*mil), part(5*mil, 6*mil)}, nil, {part(20*mil, 19*mil)}},
		},
		Offset: -3 * mil, SD: 2 * mil, Chance: 0.8125, Passes: 2, Move: 40 * mil, Target: 720 * mil,
	}
}

// wholeSetup is a setup with every field set, but for its number and its cuts.
func wholeSetup(s storage.Shop, m storage.Member) storage.Setup {
	return storage.Setup{
		ShopID: s.ID, MemberID: m.ID, SetID: s.Settings.SetID, SawID: s.Settings.SawID,
		Joint: storage.Rabbet,
		Readings: []solver.Measure{
			measure(solver.Inches(23, 32), solver.InchUnit, solver.Fractions, "23/32"),
			measure(18*solver.Millimetre, solver.MillimetreUnit, solver.Decimals, "18,0 mm"),
			measure(solver.Inches(1, 2), solver.InchUnit, solver.Fractions, "½\""),
		},
		Width:     measure(solver.Inches(3, 8), solver.InchUnit, solver.Fractions, "3/8"),
		Depth:     measure(6*solver.Millimetre, solver.MillimetreUnit, solver.Decimals, "6"),
		Aim:       measure(5*solver.Mil, solver.InchUnit, solver.Decimals, ".005"),
		Panel:     measure(solver.Inches(3, 4), solver.InchUnit, solver.Fractions, "3/4"),
		OtherFace: measure(5*solver.Millimetre, solver.MillimetreUnit, solver.Decimals, "5 mm"), Apart: true, Stopped: true,
		Style:  solver.Style{Unit: solver.MillimetreUnit, Notation: solver.Fractions},
		Grades: solver.Grades{Enter: -1 * solver.Mil, SnugFrom: 2 * solver.Mil, SnugTo: 7 * solver.Mil, LooseTo: 12 * solver.Mil},
		Pieces: 6, Done: 2, State: storage.Cutting, Stacks: []storage.PlannedStack{plannedStack(), plannedStack()}, Loaded: 1,
		Project: "Hall bookcase", Lot: "Élm 3", Interaction: "interaction 1", Created: noon,
	}
}

// wholeCut is a cut with every field set.
func wholeCut(no int, m storage.Member) storage.Cut {
	slips := 2
	return storage.Cut{
		No: no, Revision: 1, Loading: 3, MemberID: m.ID, Feel: solver.Snug, Slips: &slips,
		Floor: measure(720*solver.Mil, solver.InchUnit, solver.Decimals, "0.720"),
		Mouth: measure(721*solver.Mil, solver.InchUnit, solver.Decimals, "0.721"),
		Piece: measure(18*solver.Millimetre, solver.MillimetreUnit, solver.Decimals, "18.0"),
		Depth: measure(250*solver.Mil, solver.InchUnit, solver.Decimals, ".250"),
		Note:  "ein \"Span\" blieb\nliegen", Grade: solver.Tight, Odd: true, Voided: true, Interaction: "cut interaction", At: noon,
	}
}

func TestSetupRoundTrip(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	want := wholeSetup(s, m)
	added := must(db.AddSetup(t.Context(), want))(t)
	want.No = 1
	same(t, "setup as added", added, want)
	same(t, "setup as read", must(db.Setup(t.Context(), s.ID, 1))(t), want)

	want.Cuts = []storage.Cut{wholeCut(1, m)}
	want.Move(wholeMove(storage.DialledIn, m))
	want.Marks = []storage.Mark{{Kind: storage.Unchecked, Revision: 1, Cut: 1, MemberID: m.ID, At: noon}}
	logged := must(db.LogCut(t.Context(), s.ID, 1, func(b *storage.Bench) error {
		b.Setup.Cuts = append(b.Setup.Cuts, wholeCut(1, m))
		b.Setup.Move(wholeMove(storage.DialledIn, m))
		b.Setup.Marks = append(b.Setup.Marks, want.Marks...)
		return nil
	}))(t)
	whole(t, "Setup", reflect.ValueOf(logged))
	same(t, "setup as logged", logged, want)
	same(t, "setup with its cut", must(db.Setup(t.Context(), s.ID, 1))(t), want)
}

func wholeMove(to storage.State, m storage.Member) storage.Move {
	return storage.Move{To: to, Deed: storage.SendBack, MemberID: m.ID, At: noon, Word: "look at the third tooth"}
}

func TestSetupWithoutAnything(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	bare := storage.Setup{
		ShopID: s.ID, MemberID: m.ID, SetID: s.Settings.SetID, SawID: s.Settings.SawID,
		Joint: storage.Dado, State: storage.Planned, Created: noon,
	}
	for no := range int64(2) { // twice: empty interactions do not clash
		bare.No = no + 1
		same(t, "setup", must(db.AddSetup(t.Context(), bare))(t), bare)
	}
}

// addSetups makes n setups of a member, of which only the first has an interaction.
func addSetups(t testing.TB, db *DB, n int, s storage.Shop, m storage.Member) {
	t.Helper()
	for i := range n {
		setup := wholeSetup(s, m)
		if i > 0 {
			setup.Interaction = ""
		}
		must(db.AddSetup(t.Context(), setup))(t)
	}
}

func TestSetupNumbersAndPages(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	robin := must(db.EnsureMember(t.Context(), s.ID, "robin", "Robin"))(t)
	addSetups(t, db, 3, s, wren) // 1 2 3
	addSetups(t, db, 2, other, stranger)
	robins := wholeSetup(s, robin)
	robins.Interaction = "robin's"
	must(db.AddSetup(t.Context(), robins))(t) // 4
	late := wholeSetup(s, wren)
	late.Interaction = "late"
	must(db.AddSetup(t.Context(), late))(t) // 5

	for name, tc := range map[string]struct {
		member, before int64
		limit          int
		want           []int64
	}{
		"all, newest first": {0, 0, 10, []int64{5, 4, 3, 2, 1}},
		"a page":            {0, 0, 2, []int64{5, 4}},
		"the next page":     {0, 4, 2, []int64{3, 2}},
		"mine":              {wren.ID, 0, 10, []int64{5, 3, 2, 1}},
		"mine, next page":   {wren.ID, 3, 1, []int64{2}},
		"another's":         {robin.ID, 0, 10, []int64{4}},
		"before the first":  {0, 1, 10, nil},
		"a stranger's":      {stranger.ID, 0, 10, nil},
		"nobody's":          {99999, 0, 10, nil},
	} {
		page := must(db.Setups(t.Context(), s.ID, tc.member, tc.before, tc.limit))(t)
		var got []int64
		for _, setup := range page {
			got = append(got, setup.No)
			if len(setup.Stacks) != 2 {
				t.Errorf("%s: setup %d comes with %d stacks", name, setup.No, len(setup.Stacks))
			}
		}
		same(t, name, got, tc.want)
	}
	newcomer := must(db.EnsureMember(t.Context(), s.ID, "new", "Lark"))(t)
	for name, tc := range map[string]struct {
		shop, member int64
		limit        int
		want         []int64
	}{
		"the last":              {s.ID, wren.ID, 1, []int64{5}},
		"the last three":        {s.ID, wren.ID, 3, []int64{5, 3, 2}},
		"all":                   {s.ID, wren.ID, 10, []int64{5, 3, 2, 1}},
		"in the other shop":     {other.ID, stranger.ID, 1, []int64{2}},
		"a newcomer's":          {s.ID, newcomer.ID, 1, nil},
		"of another shop's":     {s.ID, stranger.ID, 1, nil},
		"nobody's, not the all": {s.ID, 0, 1, nil},
	} {
		var got []int64
		for _, head := range must(db.SetupHeads(t.Context(), tc.shop, tc.member, tc.limit))(t) {
			got = append(got, head.No)
			full := must(db.Setup(t.Context(), tc.shop, head.No))(t)
			same(t, name, head, storage.SetupHead{No: full.No, SetID: full.SetID, SawID: full.SawID, Lot: full.Lot, Project: full.Project})
		}
		same(t, name, got, tc.want)
	}
}

func TestSetupIsMadeOnceForAnInteraction(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	first := must(db.AddSetup(t.Context(), wholeSetup(s, m)))(t)
	again := wholeSetup(s, m)
	again.Joint = storage.Dado
	got, err := db.AddSetup(t.Context(), again)
	if !errors.Is(err, storage.ErrConflict) {
		t.Errorf("again: %v", err)
	}
	same(t, "setup that comes back", got, first)
	if all := must(db.Setups(t.Context(), s.ID, 0, 0, 10))(t); len(all) != 1 {
		t.Errorf("%d setups", len(all))
	}
	must(db.AddSetup(t.Context(), wholeSetup(other, stranger)))(t) // the same interaction of another shop is another
}

func TestAddSetupRefuses(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	for name, tc := range map[string]struct {
		spoil func(*storage.Setup)
		want  error // nil: a fault
	}{
		"another shop's member": {func(x *storage.Setup) { x.MemberID = stranger.ID }, storage.ErrNotFound},
		"another shop's set":    {func(x *storage.Setup) { x.SetID = other.Settings.SetID }, storage.ErrNotFound},
		"another shop's saw":    {func(x *storage.Setup) { x.SawID = other.Settings.SawID }, storage.ErrNotFound},
		"no such member":        {func(x *storage.Setup) { x.MemberID = 99999 }, storage.ErrNotFound},
		"no such shop":          {func(x *storage.Setup) { x.ShopID = 99999 }, storage.ErrNotFound},
		"moved already":         {func(x *storage.Setup) { x.Move(wholeMove(storage.DialledIn, m)) }, nil},
		"cuts already":          {func(x *storage.Setup) { x.Cuts = []storage.Cut{wholeCut(1, m)} }, nil},
		"a joint that is none":  {func(x *storage.Setup) { x.Joint = "dovetail" }, nil},
		"no state":              {func(x *storage.Setup) { x.State = "" }, nil},
		"a chance above 1":      {func(x *storage.Setup) { x.Stacks[1].Chance = 1.5 }, nil},
		"no such stack loaded":  {func(x *storage.Setup) { x.Loaded = 2 }, nil},
	} {
		setup := wholeSetup(s, m)
		tc.spoil(&setup)
		_, err := db.AddSetup(t.Context(), setup)
		if err == nil || errors.Is(err, storage.ErrNotFound) != (tc.want != nil) || errors.Is(err, storage.ErrConflict) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, shopID := range []int64{s.ID, other.ID} {
		if all := must(db.Setups(t.Context(), shopID, 0, 0, 10))(t); len(all) != 0 {
			t.Errorf("%d setups were kept", len(all))
		}
	}
}

func TestUpdateSetup(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	addSetups(t, db, 1, s, m)
	want := logOne(t, db, s, wholeCut(1, m))
	third := plannedStack()
	third.Passes = 1
	mark := storage.Mark{Kind: storage.PowerOff, Revision: 2, MemberID: m.ID, At: noon}
	apply := func(x *storage.Setup) error {
		x.Stacks, x.Loaded, x.Done = append(x.Stacks, third), 2, 3
		x.Move(wholeMove(storage.DialledIn, m))
		x.Move(wholeMove(storage.Released, m))
		x.Marks = append(x.Marks, mark)
		return nil
	}
	_ = apply(&want)
	got := must(db.UpdateSetup(t.Context(), s.ID, 1, apply))(t)
	same(t, "setup as saved", got, want)
	same(t, "setup as read", must(db.Setup(t.Context(), s.ID, 1))(t), want)

	mine := errors.New("mine")
	for name, change := range map[string]func(*storage.Setup) error{
		"own error":       func(x *storage.Setup) error { x.State = storage.Planned; return mine },
		"a state unmoved": func(x *storage.Setup) error { x.State = storage.Planned; return nil },
		"a move elsewhere": func(x *storage.Setup) error {
			x.Move(wholeMove(storage.Cutting, m))
			x.State = storage.Planned
			return nil
		},
		"a move with a gap": func(x *storage.Setup) error {
			x.State = storage.Cutting
			x.Move(wholeMove(storage.Planned, m))
			return nil
		},
		"an old move":       func(x *storage.Setup) error { x.Moves[0].At = noon.Add(time.Hour); return nil },
		"a move less":       func(x *storage.Setup) error { x.Moves = x.Moves[:1]; return nil },
		"an old mark":       func(x *storage.Setup) error { x.Marks[0].Revision = 1; return nil },
		"pieces":            func(x *storage.Setup) error { x.Pieces++; return nil },
		"an old stack":      func(x *storage.Setup) error { x.Stacks[0].Offset++; return nil },
		"a part of one":     func(x *storage.Setup) error { x.Stacks[1].Stack.Gaps[0][1].Size++; return nil },
		"a chance":          func(x *storage.Setup) error { x.Stacks[1].Chance /= 2; return nil },
		"a stack less":      func(x *storage.Setup) error { x.Stacks, x.Loaded = x.Stacks[:2], 0; return nil },
		"stacks swapped":    func(x *storage.Setup) error { x.Stacks[0], x.Stacks[2] = x.Stacks[2], x.Stacks[0]; return nil },
		"a cut":             func(x *storage.Setup) error { x.Cuts[0].Note = ""; return nil },
		"a cut voided":      func(x *storage.Setup) error { x.Cuts[0].Voided = false; return nil },
		"a slip":            func(x *storage.Setup) error { *x.Cuts[0].Slips++; return nil },
		"no cut":            func(x *storage.Setup) error { x.Cuts = nil; return nil },
		"one more cut":      func(x *storage.Setup) error { x.Cuts = append(x.Cuts, wholeCut(2, m)); return nil },
		"a reading":         func(x *storage.Setup) error { x.Readings[1].Text = "18"; return nil },
		"the number":        func(x *storage.Setup) error { x.No++; return nil },
		"the member":        func(x *storage.Setup) error { x.MemberID++; return nil },
		"the grades":        func(x *storage.Setup) error { x.Grades.LooseTo++; return nil },
		"the style":         func(x *storage.Setup) error { x.Style.Unit = solver.InchUnit; return nil },
		"the time":          func(x *storage.Setup) error { x.Created = x.Created.Add(time.Second); return nil },
		"no stack loaded":   func(x *storage.Setup) error { x.Loaded = 3; return nil },
		"less than a stack": func(x *storage.Setup) error { x.Loaded = -1; return nil },
	} {
		_, err := db.UpdateSetup(t.Context(), s.ID, 1, change)
		if err == nil || errors.Is(err, mine) != (name == "own error") {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name+" leaves the setup", must(db.Setup(t.Context(), s.ID, 1))(t), want)
	}
}
