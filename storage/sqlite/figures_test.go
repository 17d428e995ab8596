package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// stacksTried are stacks of one setup: what leads from one to the next is told apart.
func stacksTried() []storage.PlannedStack {
	mil := solver.Mil
	of := func(chippers []solver.Part, passes int, shims ...solver.Length) storage.PlannedStack {
		s := storage.PlannedStack{Passes: passes, Stack: solver.Stack{Outer: part(250*mil, 250*mil), Chippers: chippers, Gaps: make([][]solver.Part, len(chippers)+1)}}
		for i, shim := range shims {
			g := i % len(s.Stack.Gaps)
			s.Stack.Gaps[g] = append(s.Stack.Gaps[g], part(shim, shim))
		}
		return s
	}
	three := []solver.Part{part(125*mil, 125*mil), part(125*mil, 125*mil), part(63*mil, 63*mil)}
	turned := []solver.Part{three[2], three[0], three[1]}
	// 1/8 + 1/16 and two of 3/32 come to the same sum with as many pieces.
	other := []solver.Part{part(125*mil, 125*mil), part(94*mil, 94*mil), part(94*mil, 94*mil)}
	return []storage.PlannedStack{
		of(three, 1), of(three, 1, 4*mil), of(turned, 1, 4*mil, 10*mil), of(three, 1, 10*mil, 4*mil), of(other, 1, 8*mil), of(other, 2, 8*mil),
	}
}

// remedy is the oracle's word for what leads from one stack to the next, by their
// places in stacksTried.
func remedy(from, to int) func(*storage.Remedies) *int64 {
	shims := []int64{0, 4, 14, 14, 8, 8}
	chippers, passes := []int{0, 0, 0, 0, 1, 1}, []int{1, 1, 1, 1, 1, 2}
	switch {
	case passes[from] != passes[to]:
		return func(r *storage.Remedies) *int64 { return &r.Stop }
	case chippers[from] != chippers[to]:
		return func(r *storage.Remedies) *int64 { return &r.Chipper }
	case shims[to] > shims[from]:
		return func(r *storage.Remedies) *int64 { return &r.Thicker }
	case shims[to] < shims[from]:
		return func(r *storage.Remedies) *int64 { return &r.Thinner }
	}
	return func(r *storage.Remedies) *int64 { return &r.Same }
}

// figuresOf is the oracle: the figures of a setup, counted one by one.
func figuresOf(s storage.Setup) storage.Figures {
	f := storage.Figures{Setups: 1}
	if s.Joint == storage.Gauge {
		return storage.Figures{}
	}
	last, played := storage.Cut{}, solver.Length(0)
	for _, c := range s.Cuts {
		if c.Voided {
			continue
		}
		f.Cuts++
		if c.Grade == solver.Snug && f.Snug == 0 {
			f.Snug, f.ToSnug = 1, f.Cuts
			if f.Cuts == 1 {
				f.First = 1
			}
		}
		if f.Cuts > 1 && last.Grade != solver.Snug {
			*remedy(last.Revision, c.Revision)(&f.Remedies)++
		}
		last = c
		if c.Floor.Length > 0 && s.Joint != storage.Rabbet {
			stock := c.Piece.Length
			if stock == 0 {
				stock = (700*solver.Mil + 706*solver.Mil) / 2 // the readings' ends
			}
			f.Plays, played = 1, c.Floor.Length-stock
		}
	}
	f.Tried = min(f.Cuts, 1)
	if f.Plays > 0 {
		f.PlaySum = int64(math.Round(float64(played) / storage.PlayUnit))
		f.PlaySquares = f.PlaySum * f.PlaySum
	}
	return f
}

// Figures follow every way a setup and a cut are written, and are what counting
// one by one gives; a migration of the same record gives them too.
func TestFigures(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	db := openAt(t, path)
	s, wren := shop(t, db, "local:a")
	robin := must(db.EnsureMember(t.Context(), s.ID, "robin", "Robin"))(t)
	other, stranger := shop(t, db, "local:b")
	must(db.UpdateShop(t.Context(), s.ID, func(s *storage.Shop) error { s.Settings.Zone = "UTC"; return nil }))(t)

	r := rand.New(rand.NewPCG(5, 1))
	grades := []solver.Grade{solver.Snug, solver.Tight, solver.Loose}
	want := map[string]storage.Figures{}
	// Monday 2031-03-03, and days until the week after.
	monday := time.Date(2031, 3, 3, 19, 0, 0, 0, time.UTC)
	for i := range 120 {
		m := []storage.Member{wren, robin}[r.IntN(2)]
		day := r.IntN(12)
		setup := storage.Setup{
			ShopID: s.ID, MemberID: m.ID, SetID: s.Settings.SetID, SawID: s.Settings.SawID, State: storage.Planned,
			Joint:    []storage.Joint{storage.Dado, storage.Groove, storage.Rabbet, storage.Gauge}[min(r.IntN(8), 3)],
			Readings: []solver.Measure{{Length: 706 * solver.Mil, Text: "0.706"}, {Length: 700 * solver.Mil, Text: "0.700"}, {Length: 705 * solver.Mil, Text: "0.705"}},
			Stacks:   stacksTried(), Created: monday.AddDate(0, 0, day),
		}
		setup = must(db.AddSetup(t.Context(), setup))(t)
		for range r.IntN(6) {
			cut := storage.Cut{MemberID: wren.ID, Revision: r.IntN(len(setup.Stacks)), Grade: grades[r.IntN(3)], At: setup.Created}
			cut.Feel = cut.Grade
			if r.IntN(2) == 0 {
				cut.Floor = measure((695+solver.Length(r.IntN(20)))*solver.Mil+solver.Length(r.IntN(100_000)), solver.InchUnit, solver.Decimals, "x")
				if r.IntN(2) == 0 {
					cut.Piece = measure(703*solver.Mil, solver.InchUnit, solver.Decimals, "0.703")
				}
			}
			setup = must(db.LogCut(t.Context(), s.ID, setup.No, func(b *storage.Bench) error {
				cut.No = len(b.Setup.Cuts) + 1
				b.Setup.Cuts = append(b.Setup.Cuts, cut)
				return nil
			}))(t)
		}
		if n := len(setup.Cuts); n > 0 && i%3 == 0 {
			setup = must(db.ReviseCuts(t.Context(), s.ID, setup.No, func(s *storage.Setup) error {
				s.Cuts[r.IntN(n)].Voided = true
				return nil
			}, func([]storage.Logged) solver.Belief { return solver.Belief{} }))(t)
		}
		week := monday.AddDate(0, 0, day/7*7).Format(time.DateOnly)
		key := fmt.Sprint(m.ID, " ", week)
		if f := figuresOf(setup); f.Setups > 0 {
			want[key] = want[key].Add(f)
		}
	}
	addSetups(t, db, 2, other, stranger) // of another shop

	check := func(what string) {
		t.Helper()
		got := map[string]storage.Figures{}
		for _, w := range must(db.Figures(t.Context(), s.ID, "0001-01-01", "9999-12-31"))(t) {
			got[fmt.Sprint(w.MemberID, " ", w.Week)] = w.Figures
		}
		same(t, what, got, want)
	}
	if len(want) != 4 { // two members, two weeks
		t.Fatalf("%d groups", len(want))
	}
	check("figures as written")

	// From and to are days, both of them in it.
	var part storage.Figures
	for _, w := range must(db.Figures(t.Context(), s.ID, "2031-03-10", "2031-03-14"))(t) {
		part = part.Add(w.Figures)
	}
	second := want[fmt.Sprint(wren.ID, " 2031-03-10")].Add(want[fmt.Sprint(robin.ID, " 2031-03-10")])
	same(t, "the second week alone", part, second)

	// What 0003 does to a record that is there already.
	err := db.write(t.Context(), func(_ context.Context, tx *sql.Tx) error {
		for _, q := range []string{`DELETE FROM figures`, `DELETE FROM tallies`, `INSERT INTO figures SELECT * FROM figures_now`} {
			if _, err := tx.ExecContext(t.Context(), q); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	script := string(must(migrations.ReadFile("migrations/0003_class.sql"))(t))
	if !strings.Contains(script, "\nINSERT INTO figures SELECT * FROM figures_now;") {
		t.Error("the migration fills figures in some other way")
	}
	check("figures as migrated")
}

// A setup counts on the day that it was in the shop when it was made.
func TestFiguresDay(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a") // Asia/Kolkata, 5:30 ahead
	late := wholeSetup(s, m)
	late.Joint, late.Created = storage.Dado, time.Date(2031, 3, 9, 18, 45, 0, 0, time.UTC) // Monday 0:15 there
	must(db.AddSetup(t.Context(), late))(t)
	must(db.UpdateShop(t.Context(), s.ID, func(s *storage.Shop) error { s.Settings.Zone = "America/Lima"; return nil }))(t)
	logOne(t, db, s, wholeCut(1, m)) // counted anew, on the same day
	got := must(db.Figures(t.Context(), s.ID, "2031-03-10", "2031-03-10"))(t)
	if len(got) != 1 || got[0].Week != "2031-03-10" || got[0].Setups != 1 {
		t.Errorf("%+v", got)
	}
}

// The arithmetic by hand: plays of 0.1, 0.2 and 0.6 mm have the mean 0.3 and the
// squares 0.04 + 0.01 + 0.09 = 0.14 about it, so a variance of 0.07 with n-1.
func TestFiguresRates(t *testing.T) {
	var f storage.Figures
	for i, tenths := range []int64{1, 2, 6} {
		play := tenths * int64(solver.Millimetre) / 10 / storage.PlayUnit
		f = f.Add(storage.Figures{Setups: 1, Tried: 1, Snug: 1, ToSnug: int64(i + 1), First: int64(1 - min(i, 1)), Plays: 1, PlaySum: play, PlaySquares: play * play})
	}
	f = f.Add(storage.Figures{Setups: 1, Tried: 1, Cuts: 3}) // never snug
	spread, ok := f.PlaySpread()
	if want := math.Sqrt(0.07) * float64(solver.Millimetre); !ok || math.Abs(spread-want) > 1e-6*want {
		t.Errorf("spread %v, want %v", spread, want)
	}
	if mean, ok := f.CutsToSnug(); !ok || mean != 2 {
		t.Errorf("%v cuts to the first snug one", mean)
	}
	if rate, ok := f.FirstRate(); !ok || rate != 0.25 {
		t.Errorf("first-cut rate %v", rate)
	}
	if _, ok := (storage.Figures{Plays: 1}).PlaySpread(); ok {
		t.Error("one play has no spread")
	}
}

// BenchmarkReport reads a report over a million test cuts: 250,000 setups of 60
// members over 500 days, four cuts each; beside it, what adding up the setups
// themselves takes.
func BenchmarkReport(b *testing.B) {
	db := openNew(b)
	s, _ := shop(b, db, "local:a")
	ctx := context.Background()
	for i := range 59 {
		must(db.EnsureMember(ctx, s.ID, fmt.Sprint("m", i), "Wren"))(b)
	}
	fill := []string{
		`INSERT INTO set_versions (id, set_id, parts) VALUES (1, (SELECT min(id) FROM sets), '{}')`,
		`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 250000)
		INSERT INTO setups (shop_id, no, member_id, set_id, saw_id, joint, readings, style, grades, created, state, loaded)
		SELECT 1, i, 1 + i % 60, (SELECT min(id) FROM sets), (SELECT min(id) FROM saws), 'dado', '[{"pm":18000000000}]', 'in decimal', '{}',
			1800000000000 + i * 172800, 'planned', 0 FROM n`,
		`INSERT INTO stacks (shop_id, setup, revision, stack, offset_pm, sd_pm, chance, passes, move_pm, target_pm)
		SELECT 1, no, 0, '{"outer":{"nominal":1,"size":1},"chippers":null,"gaps":[null]}', 0, 0, 0, 1, 0, 0 FROM setups`,
		`INSERT INTO cuts (shop_id, log_no, set_version, setup, no, revision, loading, member_id, feel, note, at, floor, grade, odd, voided)
		SELECT 1, no * 4 + k, 1, no, k + 1, 0, 1, member_id, '', '', created, '{"pm":18100000000}', iif((no + k) % 3 = 0, 'snug', 'tight'), 0, 0
		FROM setups, (SELECT 0 AS k UNION SELECT 1 UNION SELECT 2 UNION SELECT 3)`,
		`INSERT INTO figures SELECT * FROM figures_now`,
	}
	for _, q := range fill {
		if err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error { _, err := tx.ExecContext(ctx, q); return err }); err != nil {
			b.Fatal(err)
		}
	}
	var cuts int64
	b.Run("tallies", func(b *testing.B) {
		for b.Loop() {
			cuts = 0
			for _, w := range must(db.Figures(ctx, s.ID, "0001-01-01", "9999-12-31"))(b) {
				cuts += w.Cuts
			}
		}
		if cuts != 1_000_000 {
			b.Fatalf("%d cuts", cuts)
		}
	})
	b.Run("setups added up", func(b *testing.B) {
		for b.Loop() {
			if err := db.reader.QueryRowContext(ctx, `SELECT sum(cuts) FROM (SELECT member_id, date(day, 'weekday 0', '-6 days') AS week, sum(cuts) AS cuts
				FROM figures WHERE shop_id = 1 GROUP BY member_id, week)`).Scan(&cuts); err != nil {
				b.Fatal(err)
			}
		}
	})
}
