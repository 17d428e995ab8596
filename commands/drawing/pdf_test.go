package drawing

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

var made = time.Date(2026, 11, 25, 18, 40, 0, 0, time.UTC)

// A page is as large as its paper in points (72 to 25.4 mm), and the same scenes
// give the same bytes.
func TestPDF(t *testing.T) {
	box := map[string]string{"A4": "/MediaBox [0 0 595.28 841.89]", "Letter": "/MediaBox [0 0 612.00 792.00]"}
	for name, all := range pages(t) {
		data, err := PDF(all, made)
		if err != nil {
			t.Fatal(name, err)
		}
		again, err := PDF(all, made)
		if err != nil || !bytes.Equal(data, again) {
			t.Errorf("%s: not the same twice, %v", name, err)
		}
		paper := name[bytes.LastIndexByte([]byte(name), '_')+1:]
		if n := bytes.Count(data, []byte("/Type /Page\n")); n != len(all) {
			t.Errorf("%s: %d pages, want %d", name, n, len(all))
		}
		if !bytes.Contains(data, []byte(box[paper])) {
			t.Errorf("%s is not on %s", name, paper)
		}
		if look := os.Getenv("PICTURES"); look != "" {
			if err := os.WriteFile(filepath.Join(look, name+".pdf"), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// A page printed and rasterised by another program looks as it is drawn here: of
// cells a millimetre wide, at most one in a hundred differs in brightness by more
// than a tenth. The page has every kind of shape.
func TestPDFLooksLikeScene(t *testing.T) {
	gs, err := exec.LookPath("gs")
	if err != nil {
		t.Skip("gs (Debian package ghostscript) is not installed: pages are not compared with an independent reading")
	}
	v := View{Name: "shapes", X: 2, Y: 2, ScaleX: 2, ScaleY: 1}
	v.add(
		Rect{X: 0, Y: 0, W: 8, H: 10, Fill: Carbide},
		Rect{X: 20, Y: 10, W: -8, H: -10, Fill: Board, Line: Ink},
		Poly{Points: []Point{{22, 10}, {26, 0}, {30, 10}}, Fill: Carbide, Line: Ink},
		Circle{X: 6, Y: 20, R: 6, Fill: Carbide, Line: Ink},
		Circle{X: 18, Y: 20, R: 6, Line: Ink},
		Line{X0: 0, Y0: 29, X1: 40, Y1: 29, Role: Ink, Thick: 1.5, Dashed: true},
		Line{X0: 0, Y0: 33, X1: 40, Y1: 31, Role: Ink, Thick: 1},
		Text{X: 25, Y: 18, Size: 5, Bold: true, Role: Ink, Text: "23/32"},
		Text{X: 40, Y: 24, Size: 5, Anchor: Middle, Role: Measure, Text: "middle"},
		Text{X: 46, Y: 8, Size: 7, Bold: true, Anchor: End, Role: Ink, Text: "end"},
	)
	s := Scene{Name: "shapes", Width: 100, Height: 40, Views: []View{v}}
	data, err := PDF([]Scene{s}, made)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "page.pdf"), filepath.Join(dir, "page.png")
	if err := os.WriteFile(in, data, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=png16m", "-r254", "-dTextAlphaBits=4", "-dGraphicsAlphaBits=4", "-o", out, in)
	if words, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, words)
	}
	want, err := PNG(s, Light())
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if off, why := differ(got, want, 100); why != nil || off > 0.01 {
		t.Errorf("%.1f %% of the cells differ, %v", off*100, why)
	}
}
