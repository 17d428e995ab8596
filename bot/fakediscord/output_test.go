package fakediscord_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"shimwright/bot/fakediscord"
)

// published is what Discord's descriptions say about what it sends. Three
// mends in memory: flags came out as a choice of single bits and are sums of
// them; the description has the codes inside an error's tree as integers where
// the documentation shows names; and unknown keys are not let pass.
type published struct {
	doc      map[string]any
	compiler *jsonschema.Compiler
	paths    map[string]*regexp.Regexp
	mu       sync.Mutex
}

var publishedOnce = sync.OnceValues(func() (*published, error) {
	dir, err := fakediscord.SchemaDir("")
	if err != nil {
		return nil, err
	}
	p := &published{compiler: jsonschema.NewCompiler(), paths: map[string]*regexp.Regexp{}}
	p.compiler.AssertFormat()
	if p.doc, err = readJSON(filepath.Join(dir, "openapi.json")); err != nil {
		return nil, err
	}
	schemas := p.doc["components"].(map[string]any)["schemas"].(map[string]any)
	for name, s := range schemas {
		if name != "Error" && name != "ErrorResponse" && name != "RatelimitedResponse" {
			closeObjects(s)
		}
	}
	schemas["InnerErrors"] = map[string]any{
		"type": "object", "required": []any{"_errors"}, "additionalProperties": false,
		"properties": map[string]any{"_errors": map[string]any{"type": "array", "items": map[string]any{
			"type": "object", "required": []any{"code", "message"}, "additionalProperties": false,
			"properties": map[string]any{"code": map[string]any{"type": "string"}, "message": map[string]any{"type": "string"}},
		}}},
	}
	if err := p.compiler.AddResource("openapi.json", p.doc); err != nil {
		return nil, err
	}
	param := regexp.MustCompile(`\\\{[^}]*\\\}`)
	for path := range p.doc["paths"].(map[string]any) {
		pattern := param.ReplaceAllString(regexp.QuoteMeta(path), `[^/@][^/]*`)
		p.paths[path] = regexp.MustCompile(`^/api/v(9|10)` + pattern + `$`)
	}
	incoming, err := filepath.Glob(filepath.Join(dir, "incoming", "*.schema.json"))
	if err != nil || len(incoming) < 5 {
		return nil, fmt.Errorf("%s: %d schemas, %w", dir, len(incoming), err)
	}
	for _, file := range incoming {
		doc, err := readJSON(file)
		if err != nil {
			return nil, err
		}
		for name := range doc["definitions"].(map[string]any) {
			if strings.HasSuffix(name, "Flags") {
				doc["definitions"].(map[string]any)[name] = map[string]any{"type": "integer", "minimum": json.Number("0")}
			}
		}
		if err := p.compiler.AddResource(filepath.Base(file), doc); err != nil {
			return nil, err
		}
	}
	return p, nil
})

func readJSON(path string) (map[string]any, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	return v.(map[string]any), nil
}

func closeObjects(v any) {
	switch v := v.(type) {
	case []any:
		for _, e := range v {
			closeObjects(e)
		}
	case map[string]any:
		if _, has := v["properties"].(map[string]any); has && v["additionalProperties"] == nil {
			v["additionalProperties"] = false
		}
		for _, e := range v {
			closeObjects(e)
		}
	}
}

func (p *published) validate(ref string, raw []byte) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	s, err := p.compiler.Compile(ref)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// checkResponse holds an answer of the stand-in against the description, in
// every test that makes a request.
func checkResponse(t *testing.T, method, path string, res *http.Response, raw []byte) {
	t.Helper()
	p, err := publishedOnce()
	if err != nil {
		return // TestOutput says so
	}
	if strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") {
		return
	}
	path, _, _ = strings.Cut(path, "?")
	for route, pattern := range p.paths {
		if !pattern.MatchString(path) {
			continue
		}
		op, has := p.doc["paths"].(map[string]any)[route].(map[string]any)[strings.ToLower(method)].(map[string]any)
		if !has {
			return
		}
		responses := op["responses"].(map[string]any)
		ref := "openapi.json#/paths/" + strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(route) + "/" + strings.ToLower(method) +
			fmt.Sprintf("/responses/%d/content/application~1json/schema", res.StatusCode)
		switch {
		case res.StatusCode == http.StatusTooManyRequests:
			ref = "openapi.json#/components/schemas/RatelimitedResponse"
		case res.StatusCode >= 400:
			ref = "openapi.json#/components/schemas/ErrorResponse"
		case responses[fmt.Sprint(res.StatusCode)] == nil:
			t.Errorf("%s %s: the description has no status %d", method, route, res.StatusCode)
			return
		case res.StatusCode == http.StatusNoContent:
			if len(raw) > 0 {
				t.Errorf("%s %s: 204 with a body", method, route)
			}
			return
		}
		if err := p.validate(ref, raw); err != nil {
			t.Errorf("%s %s: %d %s\n%#v", method, route, res.StatusCode, raw, err)
		}
		for _, h := range []string{"Limit", "Remaining", "Reset", "Reset-After", "Bucket"} {
			if res.Header.Get("X-RateLimit-"+h) == "" {
				t.Errorf("%s %s: no X-RateLimit-%s", method, route, h)
			}
		}
		return
	}
}

// checkEvent does so with what the gateway sends.
func checkEvent(t *testing.T, name string, raw []byte) {
	t.Helper()
	p, err := publishedOnce()
	if err != nil {
		return // TestOutput says so
	}
	file := ""
	switch name {
	case "READY":
		file = "Ready"
	case "INTERACTION_CREATE":
		var ia struct{ Type int }
		if err := json.Unmarshal(raw, &ia); err != nil {
			t.Fatal(err)
		}
		file = map[int]string{2: "CommandInteraction", 3: "ComponentInteraction", 4: "AutocompleteInteraction", 5: "ModalSubmit"}[ia.Type]
	}
	if file == "" {
		return
	}
	if err := p.validate(file+".schema.json", raw); err != nil {
		t.Errorf("%s: %s\n%#v", file, raw, err)
	}
}

// TestOutput goes through every kind of interaction and every route, with the
// checks above on whatever comes back.
func TestOutput(t *testing.T) {
	if _, err := publishedOnce(); err != nil {
		t.Skipf("skipped: %v", err)
	}
	s := start(t, &fakediscord.Server{Token: "secret"})
	hall, mira := s.AddGuild("Evening class"), s.AddUser("mira")
	teacher := hall.AddRole("teacher", fakediscord.PermissionAdministrator)
	hall.Join(mira, teacher)
	bench, thread := hall.Channel("bench"), hall.AddChannel("jig", fakediscord.ChannelThread)
	b := connect(t, s)
	next := func() []byte {
		t.Helper()
		f := b.read()
		if f.T != "INTERACTION_CREATE" {
			t.Fatalf("got op %d %s", f.Op, f.T)
		}
		return f.D
	}
	send := func(method, path, body string, want int) string {
		t.Helper()
		kind := ""
		if strings.HasPrefix(body, "--") {
			kind = mixed
		} else if body != "" {
			kind = "application/json"
		}
		status, answer, _ := request(t, s, method, path, kind, body)
		if status != want {
			t.Fatalf("%s %s: %d %s", method, path, status, answer)
		}
		return answer
	}
	app := "/applications/" + s.ApplicationID()
	for _, path := range []string{"/gateway", "/gateway/bot", "/users/@me", "/applications/@me", "/guilds/" + hall.ID} {
		send(http.MethodGet, path, "", 200)
	}
	send(http.MethodGet, "/guilds/17", "", 404)
	hall.Rename("Saturday class")
	if got := send(http.MethodGet, "/guilds/"+hall.ID, "", 200); !strings.Contains(got, `"Saturday class"`) {
		t.Errorf("the server renamed: %s", got)
	}
	send(http.MethodGet, app+"/commands", "", 200)
	for _, p := range accepted {
		switch p.where {
		case toGuild:
			send(http.MethodPut, app+"/guilds/"+hall.ID+"/commands", p.body, 200)
		case toGlobal:
			send(http.MethodPut, app+"/commands", p.body, 200)
		}
	}
	send(http.MethodGet, app+"/guilds/"+hall.ID+"/commands", "", 200)

	sub := fakediscord.Group("g", fakediscord.Sub("s", fakediscord.String("o", "x"), fakediscord.Int("n", 3),
		fakediscord.Bool("b", true), fakediscord.Number("f", 1.5), fakediscord.OfUser("u", mira), fakediscord.OfRole("r", teacher),
		fakediscord.OfRole("e", hall.Everyone()), fakediscord.OfChannel("c", bench), fakediscord.OfChannel("t", thread)))
	ia := s.Command(mira, bench, "stack", sub)
	if d := string(next()); !strings.Contains(d, `"permissions":"`+fmt.Sprint(1<<3|1<<10|1<<11|1<<31)+`"`) {
		t.Errorf("the administrator bit is missing in %s", d)
	}
	send(http.MethodPost, "/interactions/"+ia.ID+"/"+ia.Token+"/callback?with_response=true",
		multi(partJSON, msg(`"content":"x","attachments":`+png+`,"embeds":[{"title":"t","description":"d","color":1,"image":{"url":"attachment://stack.png"},
			"footer":{"text":"f"},"author":{"name":"a"},"fields":[{"name":"n","value":"v"}]}],
			"components":[{"type":1,"components":[{"type":2,"style":1,"label":"b","custom_id":"b"},{"type":2,"style":5,"label":"l","url":"https://example.invalid"}]},
			{"type":1,"components":[{"type":3,"custom_id":"s","options":[{"label":"a","value":"a"}]}]}]`), partFile, "PNG"), 200)
	a, err := ia.Wait(soon(t))
	if err != nil {
		t.Fatal(err)
	}
	hook := "/webhooks/" + s.ApplicationID() + "/" + ia.Token
	send(http.MethodGet, hook+"/messages/@original", "", 200)
	send(http.MethodPatch, hook+"/messages/@original", `{`+quiet+`,"content":"y"}`, 200)
	send(http.MethodPost, hook+"?wait=true", `{`+quiet+`,"content":"z","flags":64}`, 200)
	steps, err := ia.WaitSteps(soon(t), 3)
	if err != nil {
		t.Fatal(err)
	}
	send(http.MethodPatch, hook+"/messages/"+steps[2].ID, `{`+quiet+`,"content":"zz"}`, 200)

	press := s.Press(mira, a.Message, "b")
	next()
	send(http.MethodPost, "/interactions/"+press.ID+"/"+press.Token+"/callback?with_response=true",
		`{"type":7,"data":{`+quiet+`,"content":"updated"}}`, 200)
	pick := s.Select(mira, a.Message, "s", "a")
	next()
	send(http.MethodPost, "/interactions/"+pick.ID+"/"+pick.Token+"/callback", modal(field("")+`,{"type":18,"label":"l","component":{"type":4,"custom_id":"k","style":2}}`), 204)
	opened, err := pick.Wait(soon(t))
	if err != nil {
		t.Fatal(err)
	}
	submit := s.Submit(mira, opened.Modal, map[string]string{"w": "23/32"})
	if d := string(next()); !strings.Contains(d, `"value":"23/32"`) {
		t.Errorf("the value is missing in %s", d)
	}
	send(http.MethodPost, "/interactions/"+submit.ID+"/"+submit.Token+"/callback?with_response=true", msg(`"content":"logged"`), 200)
	send(http.MethodGet, "/webhooks/"+s.ApplicationID()+"/"+submit.Token+"/messages/@original", "", 200)

	complete := s.Complete(mira, thread, "stack", fakediscord.Sub("s", fakediscord.Focus(fakediscord.Int("n", 2)), fakediscord.String("o", "x")))
	next()
	send(http.MethodPost, "/interactions/"+complete.ID+"/"+complete.Token+"/callback", choices(`{"name":"2","value":2}`), 204)
	direct := s.Command(mira, s.DM(mira), "stack")
	if d := string(next()); strings.Contains(d, `"member"`) || !strings.Contains(d, `"user"`) {
		t.Errorf("a direct message has a member or no user: %s", d)
	}
	send(http.MethodPost, "/interactions/"+direct.ID+"/"+direct.Token+"/callback?with_response=true", `{"type":5,"data":{"flags":64}}`, 200)

	post := send(http.MethodPost, "/channels/"+bench.ID+"/messages", `{`+quiet+`,"content":"y","nonce":"77","enforce_nonce":true}`, 200)
	var m struct{ ID string }
	if err := json.Unmarshal([]byte(post), &m); err != nil {
		t.Fatal(err)
	}
	send(http.MethodGet, "/channels/"+bench.ID+"/messages/"+m.ID, "", 200)
	send(http.MethodPatch, "/channels/"+bench.ID+"/messages/"+m.ID, `{`+quiet+`,"content":"yy"}`, 200)
	send(http.MethodDelete, "/channels/"+bench.ID+"/messages/"+m.ID, "", 204)
	send(http.MethodPatch, "/channels/"+bench.ID+"/messages/"+m.ID, `{`+quiet+`,"content":"yy"}`, 404)
	send(http.MethodDelete, hook+"/messages/@original", "", 204)
	s.Inject(fakediscord.Fault{Status: 429, Global: true})
	send(http.MethodGet, "/users/@me", "", 429)
	if v := s.Violations(); len(v) > 0 {
		t.Errorf("violations %v", v)
	}
}
