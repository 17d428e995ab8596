package commands

import (
	"strings"
	"testing"
)

func TestActionRoundTrip(t *testing.T) {
	most := action{verb: verbCaution, setup: 1<<63 - 1, cut: 1<<31 - 1, revision: 1<<31 - 1, arg: "will-not-enter"}
	for _, a := range []action{
		{verb: verbFeel, setup: 12, cut: 3, revision: 1, arg: "snug"},
		{verb: verbShow, arg: "why"},
		{verb: verbUndo, setup: 1, cut: 2},
		{verb: verbUse, setup: 1, arg: "a:b:c"}, // an argument may have colons
		most,
	} {
		id := a.String()
		if len(id) > maxActionID {
			t.Errorf("%q has %d characters", id, len(id))
		}
		back, ok := parseAction(id)
		if !ok || back != a {
			t.Errorf("%q became %+v, %v", id, back, ok)
		}
	}
}

func TestParseActionRefuses(t *testing.T) {
	for _, id := range []string{
		"", "1", ":::::", "1:feel:1:1:0", "2:feel:1:1:0:snug", "1:dance:1:1:0:", "1:feel:-1:1:0:snug", "1:feel:1:-1:0:snug",
		"1:feel:1:1:-1:snug", "1:feel:01:1:0:snug", "1:feel:+1:1:0:snug", "1:feel: 1:1:0:snug", "1:feel:1:1:0x0:snug", "1:feel::1:0:snug",
		"1:feel:99999999999999999999:1:0:snug", "1:feel:1:99999999999:0:snug", "1:FEEL:1:1:0:snug",
		"1:feel:1:1:0:" + strings.Repeat("x", 100), " 1:feel:1:1:0:snug",
	} {
		if a, ok := parseAction(id); ok {
			t.Errorf("%q is taken as %+v", id, a)
		}
		if _, ok := FormFor(id); ok {
			t.Errorf("%q opens a form", id)
		}
	}
}

func FuzzParseAction(f *testing.F) {
	for _, v := range verbs {
		f.Add(action{verb: v, setup: 7, cut: 2, revision: 1, arg: "snug"}.String())
	}
	f.Add("1:feel:9223372036854775807:2147483647:2147483647:::")
	f.Add("1:feel:\xff:1:0:")
	f.Fuzz(func(t *testing.T, id string) {
		a, ok := parseAction(id)
		if !ok {
			return
		}
		if a.String() != id {
			t.Errorf("%q is taken and written %q", id, a.String())
		}
		if again, ok := parseAction(a.String()); !ok || again != a {
			t.Errorf("%q read again is %+v", id, again)
		}
	})
}
