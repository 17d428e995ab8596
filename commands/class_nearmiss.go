package commands

import (
	"context"
	"fmt"
	"strings"

	"shimwright/storage"
)

// nearMissStore keeps what nearly went wrong.
type nearMissStore interface {
	AddNearMiss(ctx context.Context, n storage.NearMiss) error
	NearMisses(ctx context.Context, shopID int64, limit int) ([]storage.NearMiss, error)
}

const maxNearMiss = 500 // characters of a note

func nearMissCommand() Command {
	return Command{
		Name: "near-miss", Summary: "Tell the instructors what nearly went wrong; nobody else reads it", Example: "/class near-miss note:the offcut came back at me", Private: true,
		Options: []Option{{Name: "note", Summary: "What happened, in a sentence; instructors leave it out to read the notes"}},
		run:     runNearMiss,
	}
}

func runNearMiss(s *session, a args) (Reply, error) {
	if strings.TrimSpace(a["note"]) == "" {
		if !s.instructor {
			return Reply{}, &UserError{Option: "note", Message: "Say in a sentence what happened. Reading the notes is for instructors.", Hint: s.whoCan("/class near-miss note:the offcut came back at me")}
		}
		return s.nearMisses()
	}
	note := clip(a["note"], maxNearMiss+1)
	if len([]rune(note)) > maxNearMiss {
		return Reply{}, &UserError{Option: "note", Message: fmt.Sprintf("That note is longer than %d characters.", maxNearMiss), Hint: "note:the offcut came back at me"}
	}
	err := s.app.Store.AddNearMiss(s, storage.NearMiss{ShopID: s.shop.ID, MemberID: s.member.ID, At: s.caller.At, Note: note, Interaction: s.caller.Interaction})
	return Reply{Private: true, Text: lines(
		"Noted for the instructors, with your name. Nothing of it goes into the channel.",
		"If anyone is hurt or the machine is not safe: stop, power off, and fetch your instructor now.",
	)}, err
}

// listedMisses is how many notes one reply shows.
const listedMisses = 15

func (s *session) nearMisses() (Reply, error) {
	all, err := s.app.Store.NearMisses(s, s.shop.ID, listedMisses)
	if err != nil {
		return Reply{}, err
	}
	names, err := s.names()
	if err != nil {
		return Reply{}, err
	}
	if len(all) == 0 {
		return Reply{Private: true, Text: "No near miss has been noted."}, nil
	}
	text := []string{"Near misses, newest first:"}
	for _, n := range all {
		note := n.Note
		if note == "" {
			note = "(erased)"
		}
		text = append(text, fmt.Sprintf("%d, %s, %s: %s", n.No, s.when(n.At), names.member(n.MemberID), note))
	}
	return Reply{Private: true, Text: lines(text...)}, nil
}

// nearMissWord tells an instructor of notes of this evening; empty where there are none.
func (s *session) nearMissWord() (string, error) {
	all, err := s.app.Store.NearMisses(s, s.shop.ID, listedMisses)
	n := 0
	for _, m := range all {
		if !m.At.Before(s.shop.Settings.EveningBegan(s.caller.At)) {
			n++
		}
	}
	if err != nil || n == 0 {
		return "", err
	}
	return fmt.Sprintf("%d near %s noted this evening: /class near-miss shows %s.", n, plural(n, "miss", "misses"), plural(n, "it", "them")), nil
}
