package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestBrowser uses the real page in a real browser. The screenshots land in
// .artifacts/browser at the top of the project.
func TestBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a real browser takes its time")
	}
	browser := openBrowser(t)
	t.Run("evening", func(t *testing.T) { browserEvening(t, newTab(t, browser), newTab(t, browser), startLocal(t)) })
	t.Run("form", func(t *testing.T) { browserForm(t, newTab(t, browser), startLocal(t)) })
	t.Run("keyboard", func(t *testing.T) { browserKeyboard(t, newTab(t, browser), startLocal(t)) })
	t.Run("pictures", func(t *testing.T) { browserPictures(t, newTab(t, browser), startLocal(t)) })
	t.Run("widths", func(t *testing.T) { browserWidths(t, newTab(t, browser), startLocal(t)) })
	t.Run("axe", func(t *testing.T) { browserAxe(t, newTab(t, browser), startLocal(t)) })
	t.Run("foreign", func(t *testing.T) { browserForeign(t, newTab(t, browser), startLocal(t)) })
}

// browserEvening is the main job as a student does it on a phone, while the
// instructor looks on in another window.
func browserEvening(t *testing.T, student, instructor *tab, home string) {
	instructor.open(home + "/as/ines")
	student.open(home)
	student.shot("01-people")
	student.click(`a[href="/as/ada"]`)
	student.until("the page opens", "document.getElementById('line') !== null")
	student.shot("02-start")

	// Ada writes millimetres in the demo.
	student.until("see millimetres chosen", `document.querySelector('#unit [data-unit=mm]').ariaPressed === 'true'`)
	student.click("#unit [data-unit=in]")
	student.says("Your bare numbers are inches from now on")
	student.until("see inches chosen", `document.querySelector('#unit [data-unit=in]').ariaPressed === 'true'`)

	student.click("#line")
	student.keys("/st")
	student.until("see completions", "!document.getElementById('choices').hidden")
	student.shot("03-completion")
	student.offered("/stack")
	student.line("/stack ")
	student.offered("stock:")
	student.line("/stack stock:")
	student.keys("0.703 0.705 45/64 ")
	student.offered("set:")
	student.offered("Red case")
	student.line(`/stack stock:0.703 0.705 45/64 set:"Red case" `)
	student.shot("04-line")
	student.keys(kb.Enter)
	student.says("Load from the inner flange")
	student.line("")
	student.shot("05-stack")
	instructor.says("Load from the inner flange")

	student.press("Tight")
	student.says("Cut 1 logged: tight. Next:")
	student.shot("06-tight")
	instructor.says("Cut 1 logged: tight. Next:")
	student.press("Power is off")
	student.says("power off on Window saw")
	student.press("Loaded")
	student.says("loaded")

	student.press("Snug")
	student.says("Cut 2 logged: snug. One more to confirm")
	student.press("Snug")
	student.says("Dialled in: cut your pieces")
	student.shot("07-dialled-in")
	instructor.says("Dialled in: cut your pieces")
	instructor.shot("08-instructor")

	for _, own := range []string{"Your bare numbers are inches", "Only you see this"} {
		if strings.Contains(instructor.text("#messages"), own) {
			t.Errorf("the instructor sees what only the student may: %s", own)
		}
	}
	before := student.text("#messages")
	student.open(home + "/as/ada")
	student.until("see the evening again", "document.querySelectorAll('#messages > article').length > 5")
	if after := student.text("#messages"); after != before {
		t.Errorf("loading the page again shows\n%s\nwhere it showed\n%s", after, before)
	}
}

// browserForm logs a measured groove, once wrong and once right.
func browserForm(t *testing.T, b *tab, home string) {
	b.open(home + "/as/tomek")
	b.send(`/stack stock:0.703in set:"Red case"`)
	b.says("Width")
	b.press("Measured")
	b.until("see the form with the focus in it", `document.querySelector('dialog[open]')?.contains(document.activeElement) && document.activeElement.name === 'value.groove'`)
	b.shot("form")
	b.keys("wide" + kb.Enter)
	b.until("read what is wrong", `document.querySelector('dialog[open] [role=alert]')?.textContent.includes('wide')`)
	b.shot("form-wrong")
	b.run("type the width", chromedp.SetValue(`dialog[open] [name="value.groove"]`, "0.7065in", chromedp.ByQuery))
	b.click("dialog[open] button.go")
	b.says("Cut 1 logged: groove 0.7065in")
	b.says("Width at the floor: 0.7065in")
	b.until("see the form gone", "document.querySelector('dialog[open]') === null")
}

// browserKeyboard does without a mouse.
func browserKeyboard(t *testing.T, b *tab, home string) {
	b.desktop()
	b.open(home + "/as/tomek")
	b.until("the line has the focus", "document.activeElement.id === 'line'")
	for _, line := range []string{"/units unit:mm", "/safety"} {
		b.send(line)
		b.until("have an answer to "+line, fmt.Sprintf("document.querySelector('#messages > article:last-child').dataset.typed === %q", line))
		b.line("")
		b.until("hear it", fmt.Sprintf("document.querySelector('[aria-live=polite]').textContent.startsWith('Tomek: ' + %q)", line))
	}
	b.keys("/fi")
	b.until("see completions", "document.getElementById('line').ariaExpanded === 'true'")
	b.keys(kb.ArrowDown)
	b.until("one is told to be chosen", "document.getElementById(document.getElementById('line').getAttribute('aria-activedescendant'))?.ariaSelected === 'true'")
	b.keys(kb.Escape)
	b.until("they are gone", "document.getElementById('choices').hidden")
	for _, step := range []struct{ key, line string }{
		{kb.ArrowUp, "/safety"},
		{kb.ArrowUp, "/units unit:mm"},
		{kb.ArrowUp, "/units unit:mm"},
		{kb.ArrowDown, "/safety"},
		{kb.ArrowDown, "/fi"},
	} {
		b.keys(step.key)
		b.line(step.line)
	}
	b.run("leave the line", chromedp.Evaluate("document.activeElement.blur()", nil), chromedp.Focus(".skip", chromedp.ByQuery))
	b.shot("skip")
	b.keys(kb.Enter)
	b.until("the skip link leads to the line", "document.activeElement.id === 'line'")
}

// browserPictures looks at a picture, then at all of it, large, in light and dark.
func browserPictures(t *testing.T, b *tab, home string) {
	b.open(home + "/as/tomek")
	b.send(`/stack stock:0.703in set:"Red case"`)
	const img = "document.querySelector('#messages > article:last-child a.picture img')"
	b.until("see a picture", img+"?.complete && "+img+".naturalWidth === 1080")
	var got struct {
		Alt         string
		Shape, Wide float64
	}
	b.js("({Alt: "+img+".alt, Shape: "+img+".naturalWidth / "+img+".naturalHeight - "+img+".width / "+img+".height, Wide: "+img+".width})", &got)
	if !strings.Contains(got.Alt, "From the inner flange to the nut") || got.Shape < -0.01 || got.Shape > 0.01 || got.Wide < 250 {
		t.Errorf("the picture: %+v", got)
	}
	b.shot("1-in-the-talk")

	b.click("#messages > article:last-child a.picture")
	const sheet, shown = "document.getElementById('sheet')", "document.querySelector('#sheet img')"
	b.until("see it large", "document.getElementById('large').open && "+shown+".complete && "+shown+".width >= 700 && "+shown+".alt === "+img+".alt")
	b.shot("2-large")
	b.keys(kb.ArrowRight)
	b.until("move about with the keys", sheet+".scrollLeft > 0")
	b.click("#whole")
	b.until("see all of it", shown+".width <= innerWidth && "+shown+".height <= "+sheet+".clientHeight")
	b.shot("3-whole")
	b.click("#large summary")
	b.until("read it in words", "document.querySelector('#large details p').checkVisibility() && document.querySelector('#large details p').textContent === "+img+".alt")
	b.keys(kb.Escape)
	b.until("it closes and the focus is where it was", "!document.getElementById('large').open && document.activeElement.matches('a.picture')")

	b.dark(true)
	b.until("see the dark one", img+".currentSrc.endsWith('theme=dark') && "+img+".complete")
	b.shot("4-dark")
	var same bool
	b.js("Promise.all(["+img+".src, "+img+".currentSrc].map((u) => fetch(u).then((r) => r.arrayBuffer()))).then(([a, b]) => a.byteLength === b.byteLength && new Uint8Array(a).every((x, i) => x === new Uint8Array(b)[i]))", &same)
	if same {
		t.Error("the dark picture is the light one")
	}
	b.dark(false)
}

// states are the ways the page can look, each shown in its turn.
func (b *tab) states(home string, look func(name string)) {
	b.t.Helper()
	b.open(home)
	look("people")
	b.open(home + "/as/ines")
	look("start")
	b.click(".who summary")
	look("who")
	b.click(".who summary")
	b.send("/" + strings.Repeat("w", 300))
	b.says("ww")
	look("a long word refused")
	b.send(`/stack stock:0.703in set:"Red case"`)
	b.until("see the buttons", "document.querySelector('#messages > article:last-child details') !== null")
	b.js("document.querySelector('#messages > article:last-child .actions').scrollIntoView()", nil)
	look("buttons")
	b.js("document.querySelectorAll('article details').forEach((d) => { d.open = true; })", nil)
	look("stack with its details")
	b.click("#messages > article:last-child a.picture")
	b.until("see the picture", "document.getElementById('large').open")
	look("large picture")
	b.keys(kb.Escape)
	b.press("Measured")
	b.until("see the form", "document.querySelector('dialog[open]') !== null")
	look("form")
	b.keys(kb.Escape)
	b.begin("/stack stock:0.703in ")
	b.until("see completions", "!document.getElementById('choices').hidden")
	look("completions")
}

func browserWidths(_ *testing.T, b *tab, home string) {
	b.states(home, func(name string) {
		for _, width := range []int64{320, 412, 360} {
			b.sideways(width, name)
		}
		b.shot(name)
	})
}

// browserAxe asks axe-core, which comes from npm and is no part of the program.
func browserAxe(t *testing.T, b *tab, home string) {
	path := os.Getenv("SHIMWRIGHT_AXE")
	if path == "" {
		t.Skip("SHIMWRIGHT_AXE does not name the axe.min.js of npm's axe-core")
	}
	source, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	b.states(home, func(name string) { b.axe(string(source), name) })
}

// browserForeign is a page from elsewhere in the same browser: it knows even the
// token, and gets nothing.
func browserForeign(t *testing.T, b *tab, home string) {
	own, err := url.Parse(home)
	if err != nil {
		t.Fatal(err)
	}
	b.open("http://" + foreignName + ":" + own.Port() + "/as/ada")
	if got := b.text("body"); !strings.Contains(got, "only under the address it was started with") {
		t.Errorf("under a foreign name the page says %q", got)
	}

	b.open(home + "/as/ada")
	var token string
	b.js("document.querySelector('[name=token]').value", &token)
	foreign := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprintf(w, `<form method="post" action="%s/as/ada/send"><input name="token" value="%s"><input name="line" value="/units unit:in"><button>Go</button></form>`, home, token)
	}))
	defer foreign.Close()
	at, err := url.Parse(foreign.URL)
	if err != nil {
		t.Fatal(err)
	}
	for _, host := range []string{at.Host, foreignName + ":" + at.Port()} {
		b.open("http://" + host + "/")
		for what, script := range map[string]string{
			"reading":  fmt.Sprintf("fetch('%s/as/ada').then((r) => r.text()).then(() => 'got it', () => 'refused')", home),
			"a script": fmt.Sprintf("new Promise((done) => { const s = document.createElement('script'); s.onload = () => done('got it'); s.onerror = () => done('refused'); s.src = '%s/page.js'; document.head.append(s); })", home),
			"posting": fmt.Sprintf("fetch('%s/as/ada/send', {method: 'POST', mode: 'no-cors', body: new URLSearchParams({token: '%s', line: '/units unit:in'})}).then(() => 'refused', () => 'refused')",
				home, token), // what it did is seen below
		} {
			var got string
			if b.js(script, &got); got != "refused" {
				t.Errorf("%s from %s: %s", what, host, got)
			}
		}
		b.click("button")
		b.until("be refused", "document.body.innerText.includes('Another web page sent this')")
	}
	b.open(home + "/as/ada")
	if n := b.text("#messages"); n != "" {
		t.Errorf("the foreign page did this:\n%s", n)
	}
	// The same from our own page is carried out, so that the refusals mean something.
	b.js(fmt.Sprintf("fetch('/as/ada/send', {method: 'POST', body: new URLSearchParams({token: '%s', line: '/units unit:in'})}).then((r) => r.ok)", token), nil)
	b.says("Your bare numbers are inches")
}
