package main

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestReadme runs the command that the README names for its exchange and holds
// the exchange and its picture to what comes out. With -update the picture is
// written anew; the words are the README's own.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile(`(?m)^go run \./cmd/shimwright ask --save \. '(.+?)'`).FindSubmatch(text)
	shown := regexp.MustCompile(`<img src="cmd/shimwright/testdata/readme/(.+?)" width="\d+" alt=".+?">`).FindSubmatch(text)
	if named == nil || shown == nil {
		t.Fatal("README.md names no command with --save, or shows no picture of testdata/readme")
	}
	dir := t.TempDir()
	var out, faults strings.Builder
	p := &program{env: func(string) string { return "" }, stdout: &out, stderr: &faults, now: time.Now}
	if code := p.run(testContext, []string{"ask", "--db", filepath.Join(dir, "readme.db"), "--save", dir, string(named[1])}); code != exitOK {
		t.Fatalf("exit %d: %s", code, faults.String())
	}
	reply, _, _ := strings.Cut(out.String(), "\n\n") // the buttons follow
	if !bytes.Contains(text, []byte(reply)) {
		t.Errorf("the README does not show what the command answers:\n%s", reply)
	}
	got, err := os.ReadFile(filepath.Join(dir, string(shown[1])))
	if err != nil {
		t.Fatal(err)
	}
	kept := filepath.Join("testdata", "readme", string(shown[1]))
	if *update {
		if err := os.WriteFile(kept, got, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	if differ(t, got, want) {
		t.Errorf("the command draws another picture than %s; look at it, then write it with -update", kept)
	}
}

// differ compares pixels, not files: another Go may pack them otherwise. One
// pixel in a thousand may be another, as another processor rounds it.
func differ(t *testing.T, a, b []byte) bool {
	t.Helper()
	var pic [2]image.Image
	for i, data := range [][]byte{a, b} {
		var err error
		if pic[i], err = png.Decode(bytes.NewReader(data)); err != nil {
			t.Fatal(err)
		}
	}
	size := pic[0].Bounds()
	if size != pic[1].Bounds() {
		return true
	}
	others := 0
	for y := size.Min.Y; y < size.Max.Y; y++ {
		for x := size.Min.X; x < size.Max.X; x++ {
			if pic[0].At(x, y) != pic[1].At(x, y) {
				others++
			}
		}
	}
	return others*1000 > size.Dx()*size.Dy()
}
