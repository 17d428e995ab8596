package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// foreignName is a name that the browser of the tests resolves to this machine,
// as a foreign page could have it resolved.
const foreignName = "rebound.example"

// openBrowser starts Chromium once for a test and its subtests; the context is
// that of an empty tab.
func openBrowser(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium here: apt-get install chromium")
	}
	ctx, cancel := context.WithTimeout(testContext, 5*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("host-resolver-rules", "MAP "+foreignName+" 127.0.0.1"),
		chromedp.WSURLReadTimeout(time.Minute), // the machine may be busy
	)...)
	t.Cleanup(cancel)
	// What this library does not know of a newer browser's protocol it would print.
	ctx, cancel = chromedp.NewContext(ctx, chromedp.WithErrorf(func(string, ...any) {}))
	t.Cleanup(cancel)
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	return ctx
}

// startLocal runs the real program's page on a new database, with the demo class
// in it, and gives its address, such as http://127.0.0.1:40001.
func startLocal(t *testing.T) string {
	t.Helper()
	ctx, stop := context.WithCancel(testContext)
	out, in := io.Pipe()
	var faults strings.Builder
	p := &program{env: func(string) string { return "" }, stdout: in, stderr: &faults, now: time.Now}
	ended := make(chan int, 1)
	go func() {
		ended <- p.run(ctx, []string{"local", "-db", filepath.Join(t.TempDir(), "page.db"), "-addr", "127.0.0.1:0"})
		in.Close()
	}()
	said, _ := bufio.NewReader(out).ReadString('\n')
	t.Cleanup(func() {
		stop()
		if code := <-ended; code != exitOK || faults.Len() > 0 {
			t.Errorf("the page ended with %d: %s", code, faults.String())
		}
	})
	_, addr, ok := strings.Cut(said, "Open ")
	addr, _, ok2 := strings.Cut(addr, "/ in")
	if !ok || !ok2 {
		t.Fatalf("the program said %q: %s", said, faults.String())
	}
	return addr
}

// tab is a window of the browser.
type tab struct {
	ctx context.Context
	t   *testing.T
}

// newTab opens a window as large as a phone. A tab behind another in one window
// is not drawn.
func newTab(t *testing.T, browser context.Context) *tab {
	t.Helper()
	id, err := target.CreateTarget("about:blank").WithNewWindow(true).Do(cdp.WithExecutor(browser, chromedp.FromContext(browser).Browser))
	if err != nil {
		t.Fatalf("open a window: %v", err)
	}
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithTargetID(id))
	t.Cleanup(cancel)
	if err := chromedp.Run(ctx); err != nil { // the window lives as long as the context of the first call
		t.Fatalf("attach to a window: %v", err)
	}
	b := &tab{ctx, t}
	b.resize(360, 800)
	return b
}

func (b *tab) resize(width, height int64) {
	b.t.Helper()
	b.run("resize", chromedp.EmulateViewport(width, height, chromedp.EmulateScale(2), chromedp.EmulateMobile))
}

// desktop makes it a window of a computer with a mouse.
func (b *tab) desktop() {
	b.t.Helper()
	b.run("resize", chromedp.EmulateViewport(1100, 800))
}

func (b *tab) dark(yes bool) {
	b.t.Helper()
	scheme := map[bool]string{false: "light", true: "dark"}[yes]
	b.run("colour scheme", emulation.SetEmulatedMedia().WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}))
}

// run does what a person does; what takes longer than half a minute failed.
func (b *tab) run(what string, actions ...chromedp.Action) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
	defer cancel()
	if err := chromedp.Run(ctx, actions...); err != nil {
		b.shot("failed")
		b.t.Fatalf("%s: %v\nthe page says:\n%s", what, err, b.text("body"))
	}
}

func (b *tab) open(url string) {
	b.t.Helper()
	b.run("open "+url, chromedp.Navigate(url))
}

// js evaluates an expression; a promise is waited for.
func (b *tab) js(expression string, to any) {
	b.t.Helper()
	b.run(expression, chromedp.Evaluate(expression, to, func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }))
}

// until waits for an expression to be true, across page loads.
func (b *tab) until(what, expression string) {
	b.t.Helper()
	b.run(what, chromedp.ActionFunc(func(ctx context.Context) error {
		for {
			var yes bool
			err := chromedp.Evaluate("Boolean("+expression+")", &yes).Do(ctx)
			if err == nil && yes {
				return nil
			}
			select {
			case <-ctx.Done():
				return errors.Join(ctx.Err(), err)
			case <-time.After(50 * time.Millisecond):
			}
		}
	}))
}

// text is what stands in the first element of a CSS selector, as seen.
func (b *tab) text(selector string) string {
	var s string
	ctx, cancel := context.WithTimeout(b.ctx, 5*time.Second)
	defer cancel()
	if err := chromedp.Run(ctx, chromedp.Evaluate(fmt.Sprintf("document.querySelector(%q)?.innerText ?? ''", selector), &s)); err != nil {
		return err.Error()
	}
	return s
}

// says waits for the newest message to say something.
func (b *tab) says(want string) {
	b.t.Helper()
	b.until("read "+want, fmt.Sprintf("document.querySelector('#messages > article:last-child')?.innerText.includes(%q)", want))
}

// press presses the button of the newest message that has one of that label.
func (b *tab) press(label string) {
	b.t.Helper()
	b.run("press "+label, chromedp.Click(fmt.Sprintf(`((//article[.//button[starts-with(normalize-space(.),%q)]])[last()]//button[starts-with(normalize-space(.),%q)])[1]`, label, label), chromedp.BySearch))
}

func (b *tab) click(selector string) {
	b.t.Helper()
	b.run("click "+selector, chromedp.Click(selector, chromedp.ByQuery))
}

// keys types into whatever has the focus.
func (b *tab) keys(keys string) {
	b.t.Helper()
	var steps []chromedp.Action
	for _, key := range keys {
		if string(key) != kb.Enter {
			steps = append(steps, chromedp.KeyEvent(string(key)))
			continue
		}
		// The library sends the key and its character apart, and then the character
		// arrives although the page has taken the key; at a keyboard it does not.
		enter := func(kind input.KeyType) *input.DispatchKeyEventParams {
			return input.DispatchKeyEvent(kind).WithKey("Enter").WithCode("Enter").WithWindowsVirtualKeyCode(13)
		}
		steps = append(steps, enter(input.KeyDown).WithText("\r"), enter(input.KeyUp))
	}
	b.run(fmt.Sprintf("type %q", keys), steps...)
}

// begin types over whatever stands in the line.
func (b *tab) begin(line string) {
	b.t.Helper()
	b.run("select the line", chromedp.Focus("#line", chromedp.ByQuery), chromedp.Evaluate("document.getElementById('line').select()", nil))
	b.keys(line)
}

// send types a whole line and sends it.
func (b *tab) send(line string) {
	b.t.Helper()
	b.begin(line + kb.Enter)
}

// line waits for the line to hold something.
func (b *tab) line(want string) {
	b.t.Helper()
	b.until(fmt.Sprintf("the line becomes %q", want), fmt.Sprintf("document.getElementById('line').value === %q", want))
}

// offered waits for a completion and takes it with the arrow keys.
func (b *tab) offered(label string) {
	b.t.Helper()
	at := fmt.Sprintf("[...document.querySelectorAll('#choices:not([hidden]) li strong')].findIndex((s) => s.textContent === %q)", label)
	b.until("be offered "+label, at+" >= 0")
	var n int
	b.js(at, &n)
	b.keys(strings.Repeat(kb.ArrowDown, n+1) + kb.Enter)
}

// shot leaves a picture of the window where a person can look at it.
func (b *tab) shot(name string) {
	b.t.Helper()
	dir := filepath.Join("..", "..", ".artifacts", "browser")
	var png []byte
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	const drawn = "Promise.all([...document.images].filter((i) => i.checkVisibility()).map((i) => i.decode().catch(() => {}))).then(() => true)"
	err := chromedp.Run(ctx, chromedp.Evaluate(drawn, nil, func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }),
		chromedp.CaptureScreenshot(&png))
	err = errors.Join(err, os.MkdirAll(dir, 0o750), os.WriteFile(filepath.Join(dir, strings.ReplaceAll(b.t.Name(), "/", "-")+"-"+name+".png"), png, 0o600))
	if err != nil {
		b.t.Logf("no screenshot of %s: %v", name, err)
	}
}

// sideways fails if the page can be moved sideways at a width.
func (b *tab) sideways(width int64, where string) {
	b.t.Helper()
	b.resize(width, 800)
	var got struct{ Inner, Scroll int64 }
	b.js("({Inner: innerWidth, Scroll: document.documentElement.scrollWidth})", &got)
	if got.Inner != width || got.Scroll > width {
		b.shot(fmt.Sprint("sideways-", width))
		b.t.Errorf("%s, %d px wide: the page is %d px wide in a window of %d", where, width, got.Scroll, got.Inner)
	}
}

// axe checks the page as it is shown for what keeps people out, in light and dark.
func (b *tab) axe(source, where string) {
	b.t.Helper()
	for _, dark := range []bool{false, true} {
		b.dark(dark)
		var found []struct {
			ID, Impact, Help string
			Nodes            []struct{ HTML, FailureSummary string }
		}
		var raw json.RawMessage
		b.js(source+"\n;axe.run(document, {resultTypes: ['violations']}).then((r) => r.violations)", &raw)
		if err := json.Unmarshal(raw, &found); err != nil {
			b.t.Fatal(err)
		}
		for _, v := range found {
			text := fmt.Sprintf("%s, dark %v: %s, %s: %s", where, dark, v.Impact, v.ID, v.Help)
			for _, n := range v.Nodes {
				text += "\n  " + n.HTML + "\n    " + strings.ReplaceAll(n.FailureSummary, "\n", "\n    ")
			}
			if v.Impact == "serious" || v.Impact == "critical" {
				b.t.Error(text)
			} else {
				b.t.Log(text)
			}
		}
	}
	b.dark(false)
}
