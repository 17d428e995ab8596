package drawing

import (
	"testing"

	"shimwright/solver"
)

func reading(t testing.TB, text string, unit solver.Unit) solver.Measure {
	t.Helper()
	m, err := solver.ParseMeasure(text, unit, solver.StockRange)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func inchSet() solver.Set {
	s := solver.GenericInchSet()
	s.Outer.Teeth, s.Diameter = 24, 8*solver.Inch
	for i := range s.Chippers {
		s.Chippers[i].Teeth = 4
	}
	return s
}

// stackPictures are setups of every kind that is drawn differently.
func stackPictures(t testing.TB) map[string]StackPicture {
	inch := solver.Style{Unit: solver.InchUnit}
	part := func(num, den int64) solver.Part {
		l := solver.Inches(num, den)
		return solver.Part{Nominal: l, Size: l}
	}
	mil := func(n int64) solver.Part { l := solver.Length(n) * solver.Mil; return solver.Part{Nominal: l, Size: l} }
	saw := solver.GenericInchSaw()
	saw.Nut = solver.Left
	base := StackPicture{
		Title: "Setup 12, Red case on Window saw", Set: inchSet(), Saw: saw, Style: inch, Passes: 1, Grades: solver.DefaultGrades(),
		// 1/4 + 3 x 1/8 + 1/16 = 0.6875, shims 0.010 + 0.010: 0.7075, play 0.0025 over 0.705.
		Stack: solver.Stack{
			Outer:    part(1, 4),
			Chippers: []solver.Part{part(1, 8), part(1, 8), part(1, 8), part(1, 16)},
			Gaps:     [][]solver.Part{nil, nil, nil, {mil(10)}, {mil(10)}},
		},
		Width: 7075 * solver.Mil / 10, Thickest: reading(t, "0.705", solver.InchUnit), Thinnest: reading(t, "0.703", solver.InchUnit),
	}
	out := map[string]StackPicture{"inch": base}

	metric := base
	metric.Title = "Setup 13, Grey case on Door saw"
	metric.Set = solver.GenericMetricSet()
	metric.Set.Outer.Teeth = 24
	for i := range metric.Set.Chippers {
		metric.Set.Chippers[i].Teeth = []int{2, 4, 4}[i]
	}
	metric.Saw = solver.GenericMetricSaw()
	metric.Saw.Nut = solver.Right
	tenth := solver.Millimetre / 10
	mm := func(n int64) solver.Part { l := solver.Length(n) * tenth; return solver.Part{Nominal: l, Size: l} }
	metric.Style = solver.Style{Unit: solver.MillimetreUnit}
	metric.Stack = solver.Stack{
		Outer:    mm(64),
		Chippers: []solver.Part{mm(32), mm(32), mm(24), mm(24)},
		Gaps:     [][]solver.Part{nil, {mm(2)}, {mm(3), mm(2)}, {mm(1)}, nil},
	}
	metric.Width = 184 * tenth // 6.4 + 2 x 3.2 + 2 x 2.4 + 0.8
	metric.Thickest, metric.Thinnest = reading(t, "18", solver.MillimetreUnit), reading(t, "18", solver.MillimetreUnit)
	out["metric"] = metric

	pair := base
	pair.Saw.Nut = ""
	pair.Stack = solver.Stack{Outer: part(1, 4), Gaps: [][]solver.Part{{mil(5)}}}
	pair.Width, pair.Thickest, pair.Thinnest = 255*solver.Mil, reading(t, "0.260", solver.InchUnit), reading(t, "0.260", solver.InchUnit)
	out["pair"] = pair

	full := base
	full.Saw.Nut = solver.Right
	full.Saw.Arbor = solver.Inch
	full.Stack = solver.Stack{Outer: part(1, 4), Chippers: nil, Gaps: [][]solver.Part{nil}}
	for i := range 10 { // 1/4 + 4 x 1/8 + 1 x 3/32 + 5 x 1/32 = 1 in, and every gap shimmed
		size := part(1, 32)
		if i < 4 {
			size = part(1, 8)
		} else if i == 4 {
			size = part(3, 32)
		}
		full.Stack.Chippers = append(full.Stack.Chippers, size)
		full.Stack.Gaps = append(full.Stack.Gaps, []solver.Part{mil(4), mil(5)})
	}
	full.Set.Chippers = append(full.Set.Chippers, solver.Chipper{Nominal: solver.Inches(1, 32), Count: 5})
	full.Width = full.Stack.Sum()
	full.Thickest, full.Thinnest = reading(t, "1.080", solver.InchUnit), reading(t, "1.080", solver.InchUnit)
	out["full"] = full

	many := base // what a set can be: 1/4 + 12 x 1/16 = 1 in, and a shim in every gap but one
	many.Title = "Setup 1234, The long name of a cutter set on The long name of a saw"
	sixteenth := solver.Inches(1, 16)
	many.Set.Chippers = []solver.Chipper{{Nominal: sixteenth, Teeth: 6, Count: 12}}
	many.Set.Outer.Teeth = 40
	many.Stack = solver.Stack{Outer: part(1, 4), Gaps: [][]solver.Part{nil}}
	for range 12 {
		many.Stack.Chippers = append(many.Stack.Chippers, part(1, 16))
		many.Stack.Gaps = append(many.Stack.Gaps, []solver.Part{mil(4), mil(4)})
	}
	many.Width = many.Stack.Sum()
	many.Thickest, many.Thinnest = reading(t, "1.090", solver.InchUnit), reading(t, "1.088", solver.InchUnit)
	out["many"] = many

	passes := base
	passes.Passes, passes.Move = 3, 4*solver.Inch/10
	passes.Width = base.Width + 2*passes.Move
	passes.Thickest, passes.Thinnest = reading(t, "1 1/2", solver.InchUnit), reading(t, "1 1/2", solver.InchUnit)
	out["passes"] = passes

	rabbet := base
	rabbet.Rabbet = 45 * solver.Inch / 64
	out["rabbet"] = rabbet

	blade := base
	blade.Set, blade.Stack = solver.GenericBlade(), solver.Stack{Outer: part(1, 8), Gaps: [][]solver.Part{nil}}
	blade.Passes, blade.Move = 2, 60*solver.Mil
	blade.Width, blade.Thickest, blade.Thinnest = 185*solver.Mil, reading(t, "0.180", solver.InchUnit), reading(t, "0.180", solver.InchUnit)
	out["blade"] = blade
	return out
}

// fitPictures are fits of every kind that is drawn differently.
func fitPictures(t testing.TB) map[string]FitPicture {
	g := solver.DefaultGrades()
	inch := solver.Style{Unit: solver.InchUnit}
	readings := func(unit solver.Unit, texts ...string) (out []solver.Measure) {
		for _, text := range texts {
			out = append(out, reading(t, text, unit))
		}
		return out
	}
	mil := func(n int64) solver.Length { return solver.Length(n) * solver.Mil }
	loose := FitPicture{
		Title: "Setup 12, cut 3", Style: inch, Grades: g, Readings: readings(solver.InchUnit, "0.703", "0.705", "0.704", "45/64"),
		Window:  g.Window(mil(705), mil(703)),
		Cut:     FitCut{"cut 3", mil(714), true, solver.Loose}, // 0.003 over 0.703 + 0.008
		Earlier: []FitCut{{"cut 1", mil(704), false, solver.Tight}, {"cut 2", mil(709), false, solver.Snug}},
	}
	snug := FitPicture{
		Style: solver.Style{Unit: solver.MillimetreUnit}, Grades: g, Readings: readings(solver.MillimetreUnit, "17.9"),
		Cut: FitCut{"this groove", 1800 * solver.Millimetre / 100, true, solver.Snug},
	}
	snug.Window = g.Window(snug.Readings[0].Length, snug.Readings[0].Length)
	hand := loose
	hand.Title, hand.Cut = "Setup 12, cut 9", FitCut{"cut 9", mil(702), false, solver.Tight}
	for i := range 7 {
		hand.Earlier = append(hand.Earlier, FitCut{"cut " + string(rune('2'+i)), mil(703 + int64(i)), i%2 == 0, solver.Tight})
	}
	spread := loose
	spread.Readings = readings(solver.InchUnit, "0.700", "0.712")
	spread.Window = g.Window(mil(712), mil(700))
	spread.Cut = FitCut{"cut 3", mil(709), true, solver.Tight}
	return map[string]FitPicture{"loose": loose, "snug": snug, "hand": hand, "spread": spread}
}

// charts are the charts of a class report.
func charts() map[string]Scene {
	weeks := []Week{
		{"4 Mar", []int{3, 4, 2, 8, 3, 2}},
		{"11 Mar", []int{2, 2, 3, 1, 5}},
		{"18 Mar", nil},
		{"25 Mar", []int{1, 2, 2, 1, 2, 3, 1, 1, 1, 2, 2, 1}},
		{"1 Apr", []int{1, 1, 2, 1}},
	}
	inch := solver.Style{Unit: solver.InchUnit}
	plays := PlayChart{Title: "Evening class.", Style: inch, Grades: solver.DefaultGrades()}
	for i := range 40 { // mils, around the middle of the band and less far from it week by week; two far out
		play := solver.Length((i*37)%23-11)*solver.Mil*solver.Length(50-i)/50 + 9*solver.Mil/2
		if i == 5 || i == 9 {
			play = solver.Length(i-7) * 20 * solver.Mil
		}
		plays.Cuts = append(plays.Cuts, PlayCut{weeks[min(i/10, 3)].Label, play})
	}
	return map[string]Scene{
		"weekly":       Weekly(WeeklyCuts{"Evening class, 4 March to 1 April.", weeks}),
		"weekly_empty": Weekly(WeeklyCuts{}),
		"plays":        Plays(plays),
		"plays_empty":  Plays(PlayChart{Style: inch, Grades: solver.DefaultGrades()}),
	}
}

const deferral = "The manuals of saw and set, your shop's rules, local code and your instructor decide."

// pages are the pages to print, by name and paper.
func pages(t testing.TB) map[string][]Scene {
	inch := solver.Style{Unit: solver.InchUnit}
	set, saw := inchSet(), solver.GenericInchSaw()
	rungs, ok := solver.Ladder(solver.Problem{Set: set, Saw: saw, Model: solver.Belief{}.Model("1", set, "1")}, 680*solver.Mil, 760*solver.Mil, 5*solver.Mil)
	if !ok {
		t.Fatal("no ladder")
	}
	metric := solver.GenericMetricSet()
	card := CardPage{
		Picture: stackPictures(t)["inch"], Who: "Tomek, for the hall bookcase", When: "25 November 2026, 18:40", Deferral: deferral,
		Cautions: []string{
			"Power disconnected before you touch the arbor: the plug pulled and in the hand of the person at the saw; on a hard-wired saw the isolator locked off.",
			"The standard guard comes off and the riving knife comes out or locks at its lowest, as this saw's manual says. Featherboards or suitable jigs guard the cut instead.",
			"Look at every tooth: no missing or cracked carbide. Plates flat and clean, no dust between them. Carbide lies on wood, never on iron.",
			"Both outer blades always, teeth the right way; chippers only between them; no tip touching another.",
			"Hold each shim up on the plate while you slide the next cutter on: a shim in the arbor thread gets pinched.",
			"Both flanges on, at least one full thread past the nut, nut tight to a wrench.",
			"The insert for a stacked set; turn the stack by hand through a full turn before power. It must touch nothing.",
			"Across the grain: the mitre gauge or a sled carries the work, a stop block ahead of the cutter sets the place. Never a narrow end against the fence without gauge or sled.",
			"A backer behind the work against tear-out.",
			"Never press a warped board flat over the stack. No bevel unless the manual allows it; no cut all the way through.",
			"Eyes and ears covered, no gloves, no loose sleeves; push blocks; hands out of the path and never over the dado.",
			"Work is never drawn back over a turning stack: switch off, wait until it stands, lift.",
			"Who did not load the stack checks it before using it.",
			"Afterwards at once: power off, stack off, standard blade, insert, guard and riving knife back.",
		},
	}
	out := map[string][]Scene{}
	for _, paper := range []Paper{A4, Letter} {
		out["gauge_"+paper.Name] = GaugeBoard(GaugePage{"Gauge board, Red case on Window saw", set, inch, rungs, "25 November 2026. " + deferral}, paper)
		out["widths_"+paper.Name] = WidthChart(WidthPage{"Widths of Red case on Window saw", set, inch, solver.Widths(set, saw), "25 November 2026. " + deferral}, paper)
		out["widths_mm_"+paper.Name] = WidthChart(WidthPage{"Widths of Grey case on Door saw", metric, solver.Style{Unit: solver.MillimetreUnit}, solver.Widths(metric, solver.GenericMetricSaw()), deferral}, paper)
		out["card_"+paper.Name] = []Scene{SetupCard(card, paper)}
	}
	return out
}

// scenes are all pictures of the tests by name.
func scenes(t testing.TB) map[string]Scene {
	out := charts()
	for name, p := range stackPictures(t) {
		out["stack_"+name] = Stack(p)
	}
	for name, p := range casePictures() {
		out["case_"+name] = Case(p)
	}
	for name, p := range fitPictures(t) {
		out["fit_"+name] = Fit(p)
	}
	for name, all := range pages(t) {
		for i, s := range all {
			out[name+"_"+string(rune('1'+i))] = s
		}
	}
	return out
}
