package commands

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/storage"
)

// The whole of a setup's life as the brief tells it, one line for a state and a
// deed: who may do it, and where it goes. What has no line is refused. An m is
// any member, an l who logged the cut, an o who made the setup, an i an
// instructor; the table in life.go is held against it for every combination.
const lifeInWords = `
planned     test cut   cutting      moli
planned     test cut   dialled_in   moli
cutting     test cut   dialled_in   moli
dialled_in  test cut   cutting      moli
released    test cut   cutting      moli
released    test cut   dialled_in   moli
taken_down  test cut   cutting      moli
taken_down  test cut   dialled_in   moli
set_aside   test cut   cutting      moli
set_aside   test cut   dialled_in   moli
cutting     void       planned      loi
cutting     void       dialled_in   loi
dialled_in  void       planned      loi
dialled_in  void       cutting      loi
released    void       planned      loi
released    void       cutting      loi
released    void       dialled_in   loi
dialled_in  reload     cutting      moli
released    reload     cutting      moli
planned     release    planned      i
cutting     release    released     i
dialled_in  release    released     i
planned     send back  planned      i
cutting     send back  cutting      i
dialled_in  send back  cutting      i
released    send back  cutting      i
planned     take down  taken_down   moli
cutting     take down  taken_down   moli
dialled_in  take down  taken_down   moli
released    take down  taken_down   moli
planned     set aside  set_aside    oi
set_aside   take up    planned      oi
`

func TestLife(t *testing.T) {
	states := []storage.State{storage.Planned, storage.Cutting, storage.DialledIn, storage.Released, storage.TakenDown, storage.SetAside}
	deeds := []storage.Deed{storage.CutLogged, storage.Voiding, storage.Reloading, storage.Releasing, storage.SendBack, storage.TakeDown, storage.PutAside, storage.TakeUp}
	const owner, logger, other = 1, 2, 3
	roles := map[byte]*session{
		'm': {member: storage.Member{ID: other}},
		'l': {member: storage.Member{ID: logger}},
		'o': {member: storage.Member{ID: owner}},
		'i': {member: storage.Member{ID: other}, instructor: true},
	}
	allowed := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(lifeInWords), "\n") {
		who := line[strings.LastIndex(line, " ")+1:]
		key := strings.Join(strings.Fields(line[:len(line)-len(who)]), " ")
		allowed[key] = who
	}
	if len(allowed) != len(life) {
		t.Errorf("%d ways in words, %d in the table", len(allowed), len(life))
	}
	for _, from := range states {
		for _, to := range states {
			for _, deed := range deeds {
				key := strings.ReplaceAll(string(from), " ", "_") + " " + string(deed) + " " + strings.ReplaceAll(string(to), " ", "_")
				p, ok := passageFor(from, to, deed)
				if want := allowed[key]; ok != (want != "") {
					t.Errorf("%s: in the table %v", key, ok)
					continue
				}
				for role, s := range roles {
					setup := &storage.Setup{No: 4, MemberID: owner, State: from}
					s.caller.At = time.UnixMilli(7)
					may := strings.IndexByte(allowed[key], role) >= 0
					if ok && s.may(p.who, setup, logger) != may {
						t.Errorf("%s by %c: %v, want %v", key, role, !may, may)
					}
					if p.who == whoLogged && ok || deed == storage.CutLogged {
						continue // settle moves by cuts
					}
					err := s.move(setup, deed, to, "word")
					if (err == nil) != may {
						t.Errorf("%s by %c: %v", key, role, err)
					}
					want := fmt.Sprint(from, " []")
					if may {
						want = fmt.Sprint(to, " ", []storage.Move{{From: from, To: to, Deed: deed, MemberID: s.member.ID, At: time.UnixMilli(7).UTC(), Word: "word"}})
					}
					if got := fmt.Sprint(setup.State, " ", setup.Moves); got != want {
						t.Errorf("%s by %c: %s, want %s", key, role, got, want)
					}
				}
			}
		}
	}
}

// Every state that cuts can amount to is a way out of every state, as a cut is
// never refused; and voiding leaves a closed setup closed.
func TestSettle(t *testing.T) {
	s := &session{}
	for _, from := range []storage.State{storage.Planned, storage.Cutting, storage.DialledIn, storage.Released, storage.TakenDown, storage.SetAside} {
		for _, to := range []storage.State{storage.Planned, storage.Cutting, storage.DialledIn} {
			for _, deed := range []storage.Deed{storage.CutLogged, storage.Voiding} {
				if deed == storage.CutLogged && to == storage.Planned {
					continue // a cut that was logged counts
				}
				setup := &storage.Setup{State: from}
				s.settle(setup, deed, to)
				want := to
				if deed == storage.Voiding && (from == storage.TakenDown || from == storage.SetAside) {
					want = from
				}
				if setup.State != want {
					t.Errorf("%s, %s to %s: %s", from, deed, to, setup.State)
				}
				if _, ok := passageFor(from, want, deed); !ok && from != want && from != storage.Planned {
					t.Errorf("%s, %s to %s is not in the table", from, deed, want)
				}
			}
		}
	}
	still := &storage.Setup{State: storage.Released, Cuts: []storage.Cut{{Loading: 2}, {Loading: 1, Voided: true}, {Loading: 2}}}
	if s.settle(still, storage.CutLogged, storage.DialledIn); still.State != storage.Released {
		t.Errorf("snug again in one loading: %s", still.State)
	}
	moved := &storage.Setup{State: storage.Released, Cuts: []storage.Cut{{Loading: 1}, {Loading: 2}}}
	if s.settle(moved, storage.CutLogged, storage.DialledIn); moved.State != storage.DialledIn {
		t.Errorf("snug after a change: %s", moved.State)
	}
}
