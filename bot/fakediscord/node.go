package fakediscord

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// node is a value in a decoded body and the place where it stands. Asking for
// what is not there gives a node that is absent.
type node struct {
	v    any
	has  bool
	path []string
	out  *[]problem
}

func root(v any, out *[]problem) node { return node{v: v, has: true, out: out} }

// bad notes a problem at the node.
func (n node) bad(code, format string, args ...any) {
	*n.out = append(*n.out, problem{n.path, code, fmt.Sprintf(format, args...)})
}

func (n node) key(name string) node {
	m, _ := n.v.(map[string]any)
	v, has := m[name]
	return node{v, has, append(slices.Clip(n.path), name), n.out}
}

func (n node) items() []node {
	list, _ := n.v.([]any)
	out := make([]node, len(list))
	for i, v := range list {
		out[i] = node{v, true, append(slices.Clip(n.path), strconv.Itoa(i)), n.out}
	}
	return out
}

func (n node) isObject() bool { _, is := n.v.(map[string]any); return is }
func (n node) isList() bool   { _, is := n.v.([]any); return is }
func (n node) isText() bool   { _, is := n.v.(string); return is }
func (n node) null() bool     { return n.has && n.v == nil }
func (n node) text() string   { t, _ := n.v.(string); return t }
func (n node) truth() bool    { b, _ := n.v.(bool); return b }

// whole is the number, 0 if it is none.
func (n node) whole() int64 {
	num, _ := n.v.(json.Number)
	i, _ := num.Int64()
	return i
}

func (n node) number() (float64, bool) {
	num, is := n.v.(json.Number)
	f, _ := num.Float64()
	return f, is
}

// units is the length of a text as the stricter of the two counts that Discord
// may mean: UTF-16 units, which are never fewer than code points.
func units(text string) int {
	n := 0
	for _, r := range text {
		n++
		if r > 0xffff {
			n++
		}
	}
	return n
}

// length holds a text to a number of units. The description has the same
// limits in code points, which it checks itself.
func (n node) length(low, high int) {
	if !n.isText() {
		return
	}
	text := n.text()
	if !utf8.ValidString(text) {
		n.bad("INVALID_UTF8", "Text must be UTF-8.")
	}
	if u := units(text); u < low || u > high {
		n.bad("BASE_TYPE_BAD_LENGTH", "Must be between %d and %d in length, in UTF-16 units; has %d.", low, high, u)
	}
}

func blank(text string) bool { return strings.TrimSpace(text) == "" }

// unique notes the second of two equal texts.
func unique(seen map[string]bool, n node, code string) {
	if !n.isText() {
		return
	}
	if seen[n.text()] {
		n.bad(code, "%q stands here for the second time.", n.text())
	}
	seen[n.text()] = true
}
