package sqlite

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"shimwright/storage"
)

// found lists which of the words are in the database's files, byte by byte.
func found(t testing.TB, path string, words ...string) (out []string) {
	t.Helper()
	for _, suffix := range []string{"", "-wal"} {
		raw, err := os.ReadFile(path + suffix)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		for _, w := range words {
			if bytes.Contains(raw, []byte(w)) {
				out = append(out, w+" in shop.db"+suffix)
			}
		}
	}
	return out
}

// After an erasure nothing of the member's key, name and words is in the file or
// in its log, however pages were split and rows moved before; everyone else's is.
func TestEraseBlanksTheRawFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	db := openAt(t, path)
	s, _ := shop(t, db, "local:a")
	var gone storage.Member
	for i := range 300 { // enough for several levels of pages
		name := fmt.Sprintf("Member %d %s", i, strings.Repeat("x", i%37))
		key := fmt.Sprintf("key-%d", i)
		if i == 150 {
			name, key = "Wilhelmina Quast", "key-of-wilhelmina"
		}
		m := must(db.EnsureMember(t.Context(), s.ID, key, name))(t)
		setup := wholeSetup(s, m)
		setup.Interaction, setup.Project, setup.Lot = "", fmt.Sprint("Project ", i), "Lot 3"
		cut := wholeCut(1, m)
		cut.Interaction, cut.Note = "", fmt.Sprintf("note %d %s", i, strings.Repeat("y", i%61))
		near := fmt.Sprintf("near miss %d", i)
		word := fmt.Sprintf("word %d", i)
		if i == 150 {
			gone = m
			setup.Project, cut.Note, near, word = "Quast-bookcase", "quast-note", "quast-near-miss", "quast-word"
		}
		no := must(db.AddSetup(t.Context(), setup))(t).No
		must(db.LogCut(t.Context(), s.ID, no, func(b *storage.Bench) error {
			b.Setup.Cuts = append(b.Setup.Cuts, cut)
			move := wholeMove(storage.DialledIn, m)
			move.Word = word
			b.Setup.Move(move)
			return nil
		}))(t)
		if err := db.AddNearMiss(t.Context(), storage.NearMiss{ShopID: s.ID, MemberID: m.ID, At: noon, Note: near}); err != nil {
			t.Fatal(err)
		}
	}
	must(db.EnsureMember(t.Context(), s.ID, "key-of-wilhelmina", "Willa Quast"))(t) // a name changed, and back
	must(db.EnsureMember(t.Context(), s.ID, "key-of-wilhelmina", "Wilhelmina Quast"))(t)
	if err := db.ChooseShop(t.Context(), "local", gone.Key, s.ID); err != nil {
		t.Fatal(err)
	}
	words := []string{"Wilhelmina", "Willa Quast", "key-of-wilhelmina", "Quast-bookcase", "quast-note", "quast-near-miss", "quast-word"}
	if hits := found(t, path, words...); len(hits) < len(words)-1 { // the file holds them all, an older name perhaps not
		t.Fatalf("before: only %q", hits)
	}
	before := must(db.Log(t.Context(), s.ID))(t)

	e := must(db.Erase(t.Context(), s.ID, gone.ID))(t)
	same(t, "erasure", e, storage.Erasure{Notes: 4})
	if hits := found(t, path, words...); len(hits) > 0 {
		t.Errorf("after: %q", hits)
	}
	if hits := found(t, path, "Member 149 ", "note 151 ", "Project 151", "Lot 3"); len(hits) < 4 {
		t.Errorf("of the others only %q is left", hits)
	}

	// The evidence stays, and so does the member it was made by.
	after := must(db.Log(t.Context(), s.ID))(t)
	for i := range before {
		if before[i].Cut.MemberID == gone.ID {
			before[i].Cut.Note, before[i].Setup.Project = "", ""
		}
	}
	same(t, "log", after, before)
	left := must(db.Member(t.Context(), s.ID, gone.ID))(t)
	if !left.Erased || left.Name != "" || left.Style != nil || left.Minor {
		t.Errorf("left: %+v", left)
	}
	if _, err := db.Erase(t.Context(), s.ID, gone.ID); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("erased twice: %v", err)
	}
	back := must(db.EnsureMember(t.Context(), s.ID, gone.Key, "Wilhelmina Quast"))(t)
	if back.ID == gone.ID {
		t.Error("who comes back is taken for who was erased")
	}
}

// A log that someone still reads is said to be held, and comes clean later.
func TestEraseSaysThatTheLogIsHeld(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	db := openAt(t, path)
	s, m := shop(t, db, "local:a")
	reading := must(db.reader.BeginTx(t.Context(), nil))(t)
	var n int
	if err := reading.QueryRowContext(t.Context(), `SELECT count(*) FROM members`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	if e := must(db.Erase(t.Context(), s.ID, m.ID))(t); !e.Held {
		t.Error("a log that is read is said to be clean")
	}
	if err := reading.Rollback(); err != nil {
		t.Fatal(err)
	}
	if !db.scrubLog(t.Context()) {
		t.Error("held by nobody")
	}
	if hits := found(t, path, m.Key); len(hits) > 0 {
		t.Error(hits)
	}
}

func TestEraseIsOfOneShop(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	other, _ := shop(t, db, "local:b")
	if _, err := db.Erase(t.Context(), other.ID, m.ID); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("another shop's member: %v", err)
	}
	if _, err := db.Personal(t.Context(), other.ID, m.ID); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("another shop's member's data: %v", err)
	}
	if must(db.Member(t.Context(), s.ID, m.ID))(t).Erased {
		t.Error("erased from another shop")
	}
}

// Retention blanks whoever was not seen since, and the notes written before.
func TestRetain(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	robin := must(db.EnsureMember(t.Context(), s.ID, "robin", "Robin"))(t)
	lark := must(db.EnsureMember(t.Context(), s.ID, "lark", "Lark"))(t) // never noted
	for _, seen := range []struct {
		shop, member int64
		day          storage.Day
	}{{s.ID, wren.ID, "2031-03-03"}, {s.ID, robin.ID, "2031-03-04"}, {other.ID, stranger.ID, "2030-01-01"}} {
		if err := db.SawMember(t.Context(), seen.shop, seen.member, seen.day); err != nil {
			t.Fatal(err)
		}
	}
	for i, at := range []time.Time{noon.Add(-time.Hour), noon.Add(time.Hour)} {
		near := storage.NearMiss{ShopID: s.ID, MemberID: robin.ID, At: at, Note: fmt.Sprint("note ", i)}
		if err := db.AddNearMiss(t.Context(), near); err != nil {
			t.Fatal(err)
		}
	}
	if n := must(db.Retain(t.Context(), s.ID, noon, "2031-04-01"))(t); n != 1 {
		t.Errorf("%d members blanked, want Wren alone", n)
	}
	names := map[int64]string{}
	for _, m := range append(must(db.Members(t.Context(), s.ID))(t), must(db.Members(t.Context(), other.ID))(t)...) {
		names[m.ID] = m.Name
	}
	same(t, "names", names, map[int64]string{wren.ID: "", robin.ID: "Robin", lark.ID: "Lark", stranger.ID: "Wren"})
	all := must(db.NearMisses(t.Context(), s.ID, 9))(t)
	if len(all) != 2 || all[0].Note != "note 1" || all[1].Note != "" {
		t.Errorf("notes %+v", all)
	}
	if n := must(db.Retain(t.Context(), s.ID, noon.AddDate(0, 2, 0), "2031-05-04"))(t); n != 2 { // Lark counts from 1 April
		t.Errorf("%d members blanked two months later", n)
	}
}

func TestClaimIsOnes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	a, b := openAt(t, path), openAt(t, path) // two processes
	s, _ := shop(t, a, "local:a")
	var g errgroup.Group
	var won atomic.Int64
	for i := range 50 {
		g.Go(func() error {
			mine, err := []*DB{a, b}[i%2].Claim(context.Background(), s.ID, "digest", "2031-03-04")
			if mine {
				won.Add(1)
			}
			return err
		})
	}
	if err := g.Wait(); err != nil || won.Load() != 1 {
		t.Errorf("%d of 50 have the claim, %v", won.Load(), err)
	}
	for _, other := range []struct {
		job string
		day storage.Day
	}{{"digest", "2031-03-05"}, {"retention", "2031-03-04"}} {
		if mine := must(b.Claim(t.Context(), s.ID, other.job, other.day))(t); !mine {
			t.Errorf("%+v is taken", other)
		}
	}
}

// The newest row of a member and a saw counts; the others stay on record.
func TestCheckOffs(t *testing.T) {
	db := openNew(t)
	s, wren := shop(t, db, "local:a")
	other, stranger := shop(t, db, "local:b")
	saws := must(db.Saws(t.Context(), s.ID))(t)
	c := storage.CheckOff{ShopID: s.ID, MemberID: wren.ID, SawID: saws[0].ID, Granted: true, Until: "2031-06-30", ByID: wren.ID, At: noon}
	withdrawn := c
	withdrawn.Granted, withdrawn.At = false, noon.Add(time.Hour)
	second := c
	second.SawID = saws[1].ID
	for _, add := range []storage.CheckOff{c, withdrawn, second} {
		if err := db.AddCheckOff(t.Context(), add); err != nil {
			t.Fatal(err)
		}
	}
	same(t, "now", must(db.CheckOff(t.Context(), s.ID, wren.ID, saws[0].ID))(t), withdrawn)
	all := must(db.CheckOffs(t.Context(), s.ID))(t)
	if len(all) != 2 || all[0].SawID == all[1].SawID {
		t.Errorf("roster %+v", all)
	}
	same(t, "history", must(db.Personal(t.Context(), s.ID, wren.ID))(t).CheckOffs, []storage.CheckOff{c, withdrawn, second})
	for what, bad := range map[string]func(*storage.CheckOff){
		"member": func(c *storage.CheckOff) { c.MemberID = stranger.ID }, "saw": func(c *storage.CheckOff) { c.SawID = other.Settings.SawID },
		"instructor": func(c *storage.CheckOff) { c.ByID = stranger.ID },
	} {
		foreign := c
		bad(&foreign)
		if err := db.AddCheckOff(t.Context(), foreign); !errors.Is(err, storage.ErrNotFound) {
			t.Errorf("another shop's %s: %v", what, err)
		}
	}
	if _, err := db.CheckOff(t.Context(), other.ID, wren.ID, saws[0].ID); !errors.Is(err, storage.ErrNotFound) {
		t.Errorf("seen from another shop: %v", err)
	}
	for day, valid := range map[storage.Day]bool{"2031-06-30": true, "2031-07-01": false} {
		if c.Valid(day) != valid || withdrawn.Valid(day) {
			t.Errorf("on %s: %v", day, c.Valid(day))
		}
	}
}

func TestNearMissIsNotedOnce(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	for range 2 {
		if err := db.AddNearMiss(t.Context(), storage.NearMiss{ShopID: s.ID, MemberID: m.ID, At: noon, Note: "a kickback", Interaction: "i"}); err != nil {
			t.Fatal(err)
		}
	}
	same(t, "notes", must(db.NearMisses(t.Context(), s.ID, 9))(t), []storage.NearMiss{{ShopID: s.ID, No: 1, MemberID: m.ID, At: noon, Note: "a kickback", Interaction: "i"}})
}

func TestLots(t *testing.T) {
	db := openNew(t)
	s, m := shop(t, db, "local:a")
	for i, lot := range []string{"Élm 3", "", "oak", "éLM 3"} {
		setup := wholeSetup(s, m)
		setup.Interaction, setup.Lot, setup.Project = fmt.Sprint(i), lot, lot
		must(db.AddSetup(t.Context(), setup))(t)
	}
	for name, names := range map[string]func(context.Context, int64, int) ([]string, error){"lots": db.Lots, "projects": db.Projects} {
		if got := must(names(t.Context(), s.ID, 9))(t); len(got) != 2 || !strings.EqualFold(got[0], "élm 3") || got[1] != "oak" {
			t.Errorf("%s %q", name, got)
		}
	}
	for name, find := range map[string]func(context.Context, int64, string, int) ([]storage.Setup, error){"lot": db.LotSetups, "project": db.ProjectSetups} {
		all := must(find(t.Context(), s.ID, "ÉLM 3", 9))(t)
		if len(all) != 2 || all[0].No != 4 || all[1].No != 1 {
			t.Errorf("%s: %d setups", name, len(all))
		}
		if none := must(find(t.Context(), s.ID, "", 9))(t); len(none) != 0 {
			t.Errorf("%s: %d setups of no name", name, len(none))
		}
	}
}
