package fakediscord_test

import (
	"net/http"
	"strings"
	"testing"

	"shimwright/bot/fakediscord"
)

func TestType(t *testing.T) {
	s := newScene(t)
	s.hall.AddRole("teacher", 0)
	s.want(http.MethodPut, "/applications/"+s.ApplicationID()+"/guilds/"+s.hall.ID+"/commands", `[
		{"name":"stack","description":"d","options":[`+option("stock", `,"required":true`)+`,`+option("set", `,"autocomplete":true,"max_length":8`)+`,
			{"type":4,"name":"count","description":"d","min_value":1,"max_value":9},{"type":5,"name":"kept","description":"d"},
			{"type":6,"name":"who","description":"d"},{"type":8,"name":"role","description":"d"},
			{"type":7,"name":"where","description":"d","channel_types":[0]},
			`+option("joint", `,"choices":[{"name":"Blind dado","value":"dado"}]`)+`]},
		{"name":"set","description":"d","options":[{"type":1,"name":"add","description":"d","options":[`+option("name", "")+`]}]}]`, 200, 0)
	for _, tc := range []struct {
		line, want string // a part of the payload, or of the error
		bad        bool
	}{
		{"/stack stock:23/32, .715 .722 set:old one", `{"name":"stock","type":3,"value":"23/32, .715 .722"},{"name":"set","type":3,"value":"old one"}`, false},
		{`/stack stock:"0.703 45/64" set:an 8" `, `{"name":"stock","type":3,"value":"0.703 45/64"},{"name":"set","type":3,"value":"an 8\""}`, false},
		{"/stack stock:1 kept:no joint:dado", `{"name":"kept","type":5,"value":false},{"name":"joint","type":3,"value":"dado"}`, false},
		{"/stack stock:at 10:30 note: dry", `{"name":"stock","type":3,"value":"at 10:30 note: dry"}`, false},
		{"/stack stock:1 count:3 kept:true", `{"name":"count","type":4,"value":3},{"name":"kept","type":5,"value":true}`, false},
		{"/stack stock:1 joint:Blind dado", `{"name":"joint","type":3,"value":"dado"}`, false},
		{"/stack stock:1 role:@everyone", `{"name":"role","type":8,"value":"` + s.hall.ID + `"}`, false},
		{"/stack stock:1 who:@mira where:#bench", `{"name":"where","type":7,"value":"` + s.bench.ID + `"}`, false},
		{"/set add name:Old faithful", `"options":[{"name":"add","options":[{"name":"name","type":3,"value":"Old faithful"}],"type":1}]`, false},
		{"/stock x", `no command "stock" is registered here: try one of /stack, /set`, true},
		{"stack", "no command", true},
		{"/stack", "option stock is required", true},
		{"/stack 23/32", `"23/32" belongs to no option`, true},
		{"/stack 1 stock:2", `"1" belongs to no option`, true},
		{"/stack stock:1 stock:2", "given twice", true},
		{"/stack stock:", "has 0 characters", true},
		{"/stack stock:1 set:more than eight", "has 15 characters", true},
		{"/stack stock:1 count:10", "not a whole number in its range", true},
		{"/stack stock:1 count:2.5", "not a whole number in its range", true},
		{"/stack stock:1 kept:maybe", "neither true nor false", true},
		{"/stack stock:1 joint:tenon", "not one of its choices: Blind dado", true},
		{"/stack stock:1 where:#nowhere", "nothing here is named", true},
		{"/set remove", `no subcommand "remove": try one of add`, true},
	} {
		ia, err := s.Type(s.mira, s.bench, tc.line)
		switch {
		case tc.bad && (err == nil || !strings.Contains(err.Error(), tc.want)):
			t.Errorf("%s: got %v, want %q", tc.line, err, tc.want)
		case !tc.bad && err != nil:
			t.Errorf("%s: %v", tc.line, err)
		case !tc.bad && !strings.Contains(string(ia.Payload()), tc.want):
			t.Errorf("%s: got %s, want %s", tc.line, ia.Payload(), tc.want)
		}
	}
	ia, err := s.TypeAhead(s.mira, s.bench, "/stack set:o")
	if err != nil || ia.Type != fakediscord.TypeAutocomplete || !strings.Contains(string(ia.Payload()), `{"focused":true,"name":"set","type":3,"value":"o"}`) {
		t.Errorf("%v", err)
	}
	for _, line := range []string{"/stack stock:1", "/stack "} {
		if _, err := s.TypeAhead(s.mira, s.bench, line); err == nil {
			t.Errorf("%s was completed", line)
		}
	}
}
