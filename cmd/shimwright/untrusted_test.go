package main

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"
)

// Ten thousand characters, other scripts, marks and markup: an answer or a
// refusal that stays short, never a fault, wherever text can be typed.
func TestUntrustedText(t *testing.T) {
	b := newBench(t)
	b.instructor = true
	b.good(`/stack stock:"0.703 0.705"`)
	texts := []string{
		strings.Repeat("x", 10_000), strings.Repeat("9", 10_000), strings.Repeat("1 ", 5_000), strings.Repeat("🪚", 3_000),
		strings.Repeat("0.703 ", 600), "\u202eevil\u202c", "@everyone <@&1> **x** [y](http://z) ||s||", "\x00\x1b[31m", "a\u2028b", `'; DROP TABLE setups; --`,
		"%s %d %!v(MISSING)", "{{.}}", "<script>alert(1)</script>", "עברית", "حقيبة", "１２３", "½½", "--", "“", `\`, "−1", "٠٫٧",
	}
	for _, text := range texts {
		lines := []string{
			text, "/" + text, "/stack stock:" + text, "/stack stock:0.7 set:" + quoted(text), "/stack stock:0.7 depth:" + quoted(text),
			"/testcut feel:tight note:" + quoted(text), "/testcut groove:" + quoted(text), "/testcut feel:snug setup:" + quoted(text),
			"/set add pair:1/4 name:" + quoted(text), "/set add name:Z pair:1/4 chippers:" + quoted(text), "/set change set:Starter piece:" + quoted(text),
			"/saw add name:Z arbor:" + quoted(text), "/help command:" + quoted(text), "press " + text, "press 1:measure:1:1:0: groove:" + quoted(text),
		}
		out, errs, code := b.run(strings.Join(lines, "\n"), "ask", "--json", "--instructor", "-")
		answers := strings.Split(strings.TrimSpace(out), "\n")
		if code == exitFault || errs != "" || len(answers) != len(lines) {
			t.Fatalf("%.60q: exit %d, %d answers to %d lines, %s", text, code, len(answers), len(lines), errs)
		}
		for i, line := range lines {
			var r reply
			if err := json.Unmarshal([]byte(answers[i]), &r); err != nil {
				t.Fatalf("%.60q: %v", line, err)
			}
			shown := r.Text + r.Error.Message + r.Error.Hint
			if n := utf8.RuneCountInString(shown); n > 2000 || n == 0 {
				t.Errorf("%.60q: %d characters of answer", line, n)
			}
			if !r.OK && (r.Error.Message == "" || r.Error.Hint == "") {
				t.Errorf("%.60q: %+v", line, r.Error)
			}
			if strings.ContainsAny(shown, "\u202e\u202c\x00\x1b") {
				t.Errorf("%.60q: marks that turn or end a line in %q", line, shown)
			}
		}
	}
	b.shop, b.member = strings.Repeat("S", 10_000), strings.Repeat("M", 10_000)
	b.good(`/stack stock:0.703`)
	if r := b.good(`/setups whose:shop`); len(r.Text) > 500 {
		t.Errorf("a member's name of 10,000 characters: %d in the list", len(r.Text))
	}
}

func quoted(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}
