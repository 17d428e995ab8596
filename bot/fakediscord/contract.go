package fakediscord

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// Violation is something in a request that Discord, or a rule of our own,
// does not accept.
type Violation struct {
	At           time.Time
	Method, Path string
	Rule         string // the code in Discord's error form; ours begin with HOUSE_
	Field        string // where in the body, such as data.embeds.0.title
	Message      string
	Body         []byte
}

func (v Violation) String() string {
	return fmt.Sprintf("%s %s: %s at %q: %s", v.Method, v.Path, v.Rule, v.Field, v.Message)
}

// Violations are all that requests have broken so far. A test ends by asking
// for an empty list.
func (s *Server) Violations() []Violation {
	s.lock()
	defer s.mu.Unlock()
	return slices.Clone(s.refusals)
}

// Description is the path of the OpenAPI description that requests are checked
// against, or why there is none: then only our own rules apply, and a test
// that is about the description skips.
func (s *Server) Description() (string, error) {
	s.lock()
	defer s.mu.Unlock()
	switch {
	case s.ContractOff:
		return "", errors.New("the contract is switched off")
	case s.contract == nil:
		return "", s.noSchema
	}
	return s.contract.path, nil
}

// problem is one thing wrong with a body.
type problem struct {
	path          []string
	code, message string
}

// record keeps problems as violations.
func (s *Server) record(c *call, problems ...problem) {
	s.lock()
	defer s.mu.Unlock()
	s.note(c, problems...)
}

// note is record for callers that hold the lock.
func (s *Server) note(c *call, problems ...problem) {
	for _, p := range problems {
		s.refusals = append(s.refusals, Violation{
			At: s.now(), Method: c.method, Path: c.path, Rule: p.code,
			Field: strings.Join(p.path, "."), Message: p.message, Body: c.raw,
		})
	}
}

// invalidForm is Discord's answer to a body that it cannot take: the problems
// in a tree of their places. A place has either complaints or places below it,
// and the deeper ones say more.
func invalidForm(problems []problem) reply {
	tree := map[string]any{}
	deepest := slices.Clone(problems)
	slices.SortStableFunc(deepest, func(a, b problem) int { return len(b.path) - len(a.path) })
	for _, p := range deepest {
		node := tree
		for _, key := range p.path {
			next, has := node[key].(map[string]any)
			if !has {
				next = map[string]any{}
				node[key] = next
			}
			node = next
		}
		list, _ := node["_errors"].([]map[string]string)
		if len(node) > 0 && list == nil {
			continue
		}
		node["_errors"] = append(list, map[string]string{"code": p.code, "message": p.message})
	}
	return reply{status: http.StatusBadRequest, value: apiError{Code: 50035, Message: "Invalid Form Body", Errors: tree}}
}

// emptied refuses a change that leaves nothing to see; the server is locked.
func (s *Server) emptied(c *call) reply {
	if !s.ContractOff {
		s.note(c, problem{code: "EMPTY_MESSAGE", message: "nothing would be left to see"})
	}
	return errEmptyMessage
}

// form is the kind of body that a route takes.
type form int

const (
	formCallback form = iota
	formFollowup
	formEdit
	formPost
	formCommands
)

// check holds a request's body against the description and the rules. It
// records what is wrong and returns the refusal, nil if all is well.
func (s *Server) check(c *call, f form, known callContext) *reply {
	if s.ContractOff {
		return nil
	}
	problems := s.problems(c, f, known)
	if len(problems) == 0 {
		return nil
	}
	s.record(c, problems...)
	r := invalidForm(problems)
	return &r
}

func (s *Server) problems(c *call, f form, known callContext) []problem {
	b, problems := readBody(c.header.Get("Content-Type"), c.raw)
	if problems != nil {
		return problems
	}
	if f == formCommands && len(b.files) > 0 {
		return []problem{{code: "CONTENT_TYPE", message: "commands are sent as application/json"}}
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.json))
	if err != nil {
		return []problem{{code: "INVALID_JSON", message: err.Error()}}
	}
	problems = ruleProblems(v, b.files, f, c, known)
	if s.contract != nil {
		if f == formCommands {
			v = withoutEmptyKeys(v)
		} else {
			writeIDs(v)
		}
		problems = append(problems, s.contract.request(c.method, c.route, v)...)
	}
	return problems
}

// message checks and reads the body of a message.
func (c *call) message(f form, known callContext) (body, messageBody, *reply) {
	if refused := c.s.check(c, f, known); refused != nil {
		return body{}, messageBody{}, refused
	}
	b, problems := readBody(c.header.Get("Content-Type"), c.raw)
	var m messageBody
	if problems == nil {
		if err := json.Unmarshal(b.json, &m); err != nil {
			problems = []problem{{code: "MODEL_TYPE_CONVERT", message: err.Error()}}
		}
	}
	if problems != nil {
		r := invalidForm(problems)
		return body{}, messageBody{}, &r
	}
	return b, m, nil
}

// contract is Discord's OpenAPI description with its schemas compiled when
// first needed. Two things in it are mended in memory: it calls
// default_member_permissions an integer, where a string is sent, and it lets
// unknown keys pass, behind which a misspelt one hides.
type contract struct {
	path string
	doc  map[string]any

	mu       sync.Mutex
	compiler *jsonschema.Compiler
	schemas  map[string]*jsonschema.Schema
}

// loaded shares what is read and compiled among the servers of a process; it
// does not change once it is there.
var loaded struct {
	sync.Mutex
	by map[string]*contract
}

const description = "openapi.json"

func loadContract(dir string) (*contract, error) {
	dir, err := SchemaDir(dir)
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dir, description)
	loaded.Lock()
	defer loaded.Unlock()
	if c := loaded.by[path]; c != nil {
		return c, nil
	}
	c, err := readContract(path)
	if err != nil {
		return nil, err
	}
	if loaded.by == nil {
		loaded.by = map[string]*contract{}
	}
	loaded.by[path] = c
	return c, nil
}

// SchemaDir finds the folder of Discord's descriptions: dir if given, else the
// environment variable DISCORD_SCHEMAS, else ../shared/discord from the root
// of the module that the process runs in.
func SchemaDir(dir string) (string, error) {
	if dir == "" {
		dir = os.Getenv("DISCORD_SCHEMAS")
	}
	if dir == "" {
		root, err := os.Getwd()
		if err != nil {
			return "", fmt.Errorf("fakediscord: %w", err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			if root == filepath.Dir(root) {
				return "", errors.New("DISCORD_SCHEMAS is not set and there is no go.mod above the working directory")
			}
			root = filepath.Dir(root)
		}
		dir = filepath.Join(root, "..", "shared", "discord")
	}
	if _, err := os.Stat(filepath.Join(dir, description)); err != nil {
		return "", fmt.Errorf("no Discord description (set DISCORD_SCHEMAS to its folder): %w", err)
	}
	return dir, nil
}

func readContract(path string) (*contract, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("fakediscord: %w", err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return nil, fmt.Errorf("fakediscord: %s: %w", path, err)
	}
	doc, _ := v.(map[string]any)
	c := &contract{path: path, doc: doc, schemas: map[string]*jsonschema.Schema{}}
	c.mend()
	c.compiler = jsonschema.NewCompiler()
	c.compiler.DefaultDraft(jsonschema.Draft2020)
	c.compiler.AssertFormat()
	if err := c.compiler.AddResource(description, doc); err != nil {
		return nil, fmt.Errorf("fakediscord: %s: %w", path, err)
	}
	return c, nil
}

// mend patches the description in memory.
func (c *contract) mend() {
	closed := map[string]bool{}
	var shut func(v any)
	shut = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, e := range v {
				shut(e)
			}
		case map[string]any:
			if ref, is := v["$ref"].(string); is && !closed[ref] {
				closed[ref] = true
				shut(c.at(ref))
			}
			if props, has := v["properties"].(map[string]any); has {
				if _, says := v["additionalProperties"]; !says {
					v["additionalProperties"] = false
				}
				if _, has := props["default_member_permissions"]; has {
					props["default_member_permissions"] = map[string]any{
						"type": []any{"string", "null"}, "pattern": "^(0|[1-9][0-9]*)$",
					}
				}
			}
			for _, e := range v {
				shut(e)
			}
		}
	}
	for r, method := range written {
		shut(c.at(requestRef(method, r)))
	}
}

// written are the routes that take a body, with their method.
var written = map[Route]string{
	RouteCommands: http.MethodPut, RouteGuildCommands: http.MethodPut,
	RouteCallback: http.MethodPost, RouteFollowups: http.MethodPost,
	RouteOriginal: http.MethodPatch, RouteFollowup: http.MethodPatch,
	RouteChannelMessages: http.MethodPost, RouteChannelMessage: http.MethodPatch,
}

// at follows a reference such as #/components/schemas/X.
func (c *contract) at(ref string) any {
	var v any = c.doc
	for _, key := range strings.Split(strings.TrimPrefix(ref, "#/"), "/") {
		m, is := v.(map[string]any)
		if !is {
			return nil
		}
		key = strings.NewReplacer("~1", "/", "~0", "~").Replace(key)
		v = m[key]
	}
	return v
}

func operationRef(method string, r Route) string {
	return "#/paths/" + strings.ReplaceAll(string(r), "/", "~1") + "/" + strings.ToLower(method)
}

func requestRef(method string, r Route) string {
	return operationRef(method, r) + "/requestBody/content/application~1json/schema"
}

// schema compiles what a reference names, nil if there is nothing.
func (c *contract) schema(ref string) (*jsonschema.Schema, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if s := c.schemas[ref]; s != nil {
		return s, nil
	}
	if c.at(ref) == nil {
		return nil, fmt.Errorf("the description has no %s", ref)
	}
	// A reference is a URL: braces and @ in a path are escaped.
	s, err := c.compiler.Compile(description + strings.NewReplacer("{", "%7B", "}", "%7D").Replace(ref))
	if err != nil {
		return nil, err
	}
	c.schemas[ref] = s
	return s, nil
}

// callbackSchemas name the member of the union of callbacks by its type, so
// that an error is about what was meant.
var callbackSchemas = map[string]string{
	"1": "PongInteractionCallbackRequest",
	"4": "CreateMessageInteractionCallbackRequest",
	"5": "CreateMessageInteractionCallbackRequest",
	"6": "UpdateMessageInteractionCallbackRequest",
	"7": "UpdateMessageInteractionCallbackRequest",
	"8": "ApplicationCommandAutocompleteCallbackRequest",
	"9": "ModalInteractionCallbackRequest",
}

// request holds a decoded body against the description.
func (c *contract) request(method string, r Route, v any) []problem {
	ref := requestRef(method, r)
	if r == RouteCallback {
		m, _ := v.(map[string]any)
		if name, known := callbackSchemas[fmt.Sprint(m["type"])]; known {
			ref = "#/components/schemas/" + name
		}
	}
	s, err := c.schema(ref)
	if err != nil {
		return []problem{{code: "DESCRIPTION", message: err.Error()}}
	}
	return schemaProblems(s.Validate(v))
}

// schemaProblems are the innermost causes. Of a union only the causes in the
// deepest place are kept: those of the member that was meant.
func schemaProblems(err error) []problem {
	var ve *jsonschema.ValidationError
	if !errors.As(err, &ve) {
		if err != nil {
			return []problem{{code: "DESCRIPTION", message: err.Error()}}
		}
		return nil
	}
	var list []problem
	var visit func(*jsonschema.ValidationError) []problem
	visit = func(e *jsonschema.ValidationError) []problem {
		if len(e.Causes) == 0 {
			if _, ref := e.ErrorKind.(*kind.Reference); ref {
				return nil
			}
			return []problem{{
				path: e.InstanceLocation, code: "BASE_TYPE_SCHEMA",
				message: e.ErrorKind.LocalizedString(printer),
			}}
		}
		union := false
		switch e.ErrorKind.(type) {
		case *kind.OneOf, *kind.AnyOf:
			union = true
		}
		var all []problem
		var best []problem
		for _, cause := range e.Causes {
			got := visit(cause)
			all = append(all, got...)
			if union && meant(e, got) && (best == nil || len(got) < len(best)) {
				best = got
			}
		}
		if best != nil {
			return best
		}
		return all
	}
	list = visit(ve)
	return slices.CompactFunc(list, func(a, b problem) bool {
		return slices.Equal(a.path, b.path) && a.message == b.message
	})
}

// meant says whether the complaints of a union's member are about anything but
// its type.
func meant(union *jsonschema.ValidationError, complaints []problem) bool {
	at := append(slices.Clone(union.InstanceLocation), "type")
	for _, p := range complaints {
		if slices.Equal(p.path, at) || slices.Equal(p.path, union.InstanceLocation) && strings.HasPrefix(p.message, "got ") {
			return false
		}
	}
	return true
}

// withoutEmptyKeys drops from commands the keys that say nothing: a client may
// send "choices": null with an option that has none.
func withoutEmptyKeys(v any) any {
	switch v := v.(type) {
	case []any:
		out := make([]any, len(v))
		for i, e := range v {
			out[i] = withoutEmptyKeys(e)
		}
		return out
	case map[string]any:
		out := map[string]any{}
		for k, e := range v {
			if e != nil && e != false {
				out[k] = withoutEmptyKeys(e)
			}
		}
		return out
	}
	return v
}

// writeIDs writes the ids of attachments as text: the documentation shows them
// as numbers, the description knows only text, and both are taken.
func writeIDs(v any) {
	m, _ := v.(map[string]any)
	if data, has := m["data"]; has {
		writeIDs(data)
	}
	list, _ := m["attachments"].([]any)
	for _, e := range list {
		a, _ := e.(map[string]any)
		if n, is := a["id"].(json.Number); is {
			a["id"] = n.String()
		}
	}
}
