package sqlite

import (
	"reflect"
	"testing"

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
		Offset: -3 * mil, SD: 2 * mil, Chance: 0.8125, Passes: 2, Move: 40 * mil,
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
		Width:  measure(solver.Inches(3, 8), solver.InchUnit, solver.Fractions, "3/8"),
		Depth:  measure(6*solver.Millimetre, solver.MillimetreUnit, solver.Decimals, "6"),
		Aim:    measure(5*solver.Mil, solver.InchUnit, solver.Decimals, ".005"),
		Style:  solver.Style{Unit: solver.MillimetreUnit, Notation: solver.Fractions},
		Grades: solver.Grades{Enter: -1 * solver.Mil, SnugFrom: 2 * solver.Mil, SnugTo: 7 * solver.Mil, LooseTo: 12 * solver.Mil},
		State:  storage.Cutting, Stacks: []storage.PlannedStack{plannedStack(), plannedStack()}, Loaded: 1,
		Interaction: "interaction 1", Created: noon,
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
	logged := must(db.LogCut(t.Context(), s.ID, 1, func(b *storage.Bench) error {
		b.Setup.Cuts = append(b.Setup.Cuts, wholeCut(1, m))
		return nil
	}))(t)
	whole(t, "Setup", reflect.ValueOf(logged))
	same(t, "setup as logged", logged, want)
	same(t, "setup with its cut", must(db.Setup(t.Context(), s.ID, 1))(t), want)
}

func TestSetupWithoutAnything(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	bare := storage.Setup{ShopID: s.ID, MemberID: m.ID, SetID: s.Settings.SetID, SawID: s.Settings.SawID,
		Joint: storage.Dado, State: storage.Planned, Created: noon}
	for no := range int64(2) { // twice: empty interactions do not clash
		bare.No = no + 1
		same(t, "setup", must(db.AddSetup(t.Context(), bare))(t), bare)
	}
}
