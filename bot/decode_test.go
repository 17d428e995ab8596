package bot

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/commands"
)

const (
	inServer = `"id":"1300000000000000000","token":"t","guild_id":"7","member":{"nick":"Mi","roles":["8"],"permissions":"8","user":{"id":"5","username":"mira","global_name":"Mira"}}`
	inDM     = `"id":"1300000000000000000","token":"t","user":{"id":"5","username":"mira","global_name":null}`
)

func TestDecodeCalls(t *testing.T) {
	at := time.Unix(1, 0)
	server := commands.Caller{Platform: "discord", ShopKey: "7", MemberKey: "5", MemberName: "Mi", Roles: []string{"8"}, Admin: true, Interaction: "1300000000000000000", At: at}
	direct := commands.Caller{Platform: "discord", MemberKey: "5", MemberName: "mira", Interaction: "1300000000000000000", At: at}
	tests := map[string]struct {
		raw     string
		want    commands.Call
		focused string
	}{
		"values as text": {
			`{"type":2,` + inServer + `,"data":{"name":"stack","type":1,"options":[{"name":"stock","type":3,"value":"23/32"},{"name":"count","type":4,"value":3},{"name":"kept","type":5,"value":true},{"name":"gone","type":5,"value":false},{"name":"role","type":8,"value":"9"},{"name":"odd","type":99,"value":{"a":1}}]}}`,
			commands.Call{Caller: server, Name: "stack", Options: map[string]string{"stock": "23/32", "count": "3", "kept": "yes", "gone": "no", "role": "9"}},
			"",
		},
		"subcommand": {
			`{"type":2,` + inDM + `,"data":{"name":"set","options":[{"name":"add","type":1,"options":[{"name":"name","type":3,"value":"Red"}]}]}}`,
			commands.Call{Caller: direct, Name: "set add", Options: map[string]string{"name": "Red"}},
			"",
		},
		"group and subcommand": {
			`{"type":2,` + inDM + `,"data":{"name":"a","options":[{"name":"b","type":2,"options":[{"name":"c","type":1}]}]}}`,
			commands.Call{Caller: direct, Name: "a b c", Options: map[string]string{}},
			"",
		},
		"half typed number": {
			`{"type":4,` + inDM + `,"data":{"name":"stack","options":[{"name":"count","type":4,"value":"1x","focused":true}]}}`,
			commands.Call{Caller: direct, Name: "stack", Options: map[string]string{"count": "1x"}},
			"count",
		},
		"roles and channels by name": {
			`{"type":2,` + inServer + `,"data":{"name":"set","resolved":{"roles":{"9":{"id":"9","name":"Bench leads"}},"channels":{"10":{"id":"10","name":"notices","type":0}}},"options":[{"name":"role","type":1,"options":[{"name":"role","type":8,"value":"9"},{"name":"post","type":7,"value":"10"},{"name":"note","type":3,"value":"9"}]}]}}`,
			commands.Call{
				Caller: server, Name: "set role", Options: map[string]string{"role": "9", "post": "10", "note": "9"},
				Names: map[string]string{"9": "Bench leads", "10": "notices"},
			},
			"",
		},
		"no options": {`{"type":2,` + inDM + `,"data":{"name":"mine"}}`, commands.Call{Caller: direct, Name: "mine", Options: map[string]string{}}, ""},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			in, err := decode([]byte(tt.raw))
			if err != nil {
				t.Fatal(err)
			}
			got, focused, err := in.call(at)
			if err != nil || focused != tt.focused {
				t.Fatalf("focused %q, %v", focused, err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestDecodePresses(t *testing.T) {
	tests := map[string]struct {
		raw    string
		id     string
		values map[string]string
	}{
		"button":        {`{"type":3,` + inDM + `,"data":{"custom_id":"1:x","component_type":2}}`, "1:x", nil},
		"form in rows":  {`{"type":5,` + inDM + `,"data":{"custom_id":"1:x","components":[{"type":1,"components":[{"type":4,"custom_id":"a","value":"1"}]}]}}`, "1:x", map[string]string{"a": "1"}},
		"form in label": {`{"type":5,` + inDM + `,"data":{"custom_id":"1:x","components":[{"type":18,"component":{"type":4,"custom_id":"a","value":""}}]}}`, "1:x", map[string]string{"a": ""}},
		"empty form":    {`{"type":5,` + inDM + `,"data":{"custom_id":"1:x","components":[]}}`, "1:x", map[string]string{}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			in, err := decode([]byte(tt.raw))
			if err != nil {
				t.Fatal(err)
			}
			got, err := in.press(time.Time{})
			if err != nil || got.ID != tt.id {
				t.Fatalf("%+v, %v", got, err)
			}
			if diff := cmp.Diff(tt.values, got.Values); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// What is not as it should be is an error, never a panic.
func TestDecodeRefuses(t *testing.T) {
	for _, raw := range []string{
		``, `null`, `[]`, `{}`, `"x"`, `{"type":2}`, `{"type":"2"}`,
		`{"type":2,"id":"x","token":"t"}`, `{"type":2,"id":"1","token":""}`, `{"type":2,"id":"1","token":"a/b"}`,
		`{"type":2,"id":"1","token":"t"}`, `{"type":2,"id":"1","token":"t","member":{}}`, `{"type":2,"id":"1","token":"t","user":{}}`,
		`{"type":2,` + inDM + `}`, `{"type":2,` + inDM + `,"data":null}`, `{"type":2,` + inDM + `,"data":[]}`, `{"type":2,` + inDM + `,"data":{}}`,
		`{"type":2,` + inDM + `,"data":{"name":"x","type":3}}`,
		`{"type":3,` + inDM + `}`, `{"type":3,` + inDM + `,"data":{"component_type":2}}`,
		`{"type":3,` + inDM + `,"data":{"custom_id":"x","component_type":3}}`,
		`{"type":3,` + inDM + `,"data":{"custom_id":"x","component_type":99}}`,
		`{"type":5,` + inDM + `}`, `{"type":5,` + inDM + `,"data":{"components":[{}]}}`,
	} {
		in, err := decode([]byte(raw))
		if err == nil {
			switch in.Type {
			case inCommand, inCompletion:
				_, _, err = in.call(time.Time{})
			case inComponent, inModal:
				_, err = in.press(time.Time{})
			default:
				_, err = in.caller(time.Time{})
			}
		}
		if err == nil {
			t.Errorf("%s was taken", raw)
		}
	}
}

// Rule: a role option can return @everyone, whose id is the server's.
func TestDecodeRefusesEveryone(t *testing.T) {
	in, err := decode([]byte(`{"type":2,` + inServer + `,"data":{"name":"set","options":[{"name":"role","type":1,"options":[{"name":"role","type":8,"value":"7"}]}]}}`))
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = in.call(time.Time{})
	var user *commands.UserError
	if !errors.As(err, &user) || user.Option != "role" {
		t.Errorf("got %v, want a UserError about the role", err)
	}
}

func TestCreatedFromSnowflake(t *testing.T) {
	// The example of Discord's reference: 175928847299117063 is 2016-04-30 11:18:25.796 UTC.
	in := interaction{ID: "175928847299117063"}
	if got := in.created().UTC().Format("2006-01-02 15:04:05.000"); got != "2016-04-30 11:18:25.796" {
		t.Errorf("created %s", got)
	}
}

func TestEncodeMultipart(t *testing.T) {
	m := plain("x", false)
	m.Attachments = []attachment{{ID: "0", Filename: "a.png", Description: "alt"}}
	kind, body, err := encode(m, []file{{name: "a.png", data: tinyPNG}})
	if err != nil || !strings.HasPrefix(kind, "multipart/form-data; boundary=") {
		t.Fatalf("%s, %v", kind, err)
	}
	for _, want := range []string{`name="payload_json"`, `"description":"alt"`, `name="files[0]"; filename="a.png"`, string(tinyPNG)} {
		if !strings.Contains(string(body), want) {
			t.Errorf("no %q in the body", want)
		}
	}
}
