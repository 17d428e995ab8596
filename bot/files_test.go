package bot

import (
	"bytes"
	"io"
	"mime"
	"mime/multipart"
	"testing"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

// A reply's files are attached after its pictures, each as what it is, without a
// drawing function too.
func TestRenderFiles(t *testing.T) {
	reply := commands.Reply{
		Text: "x", Pictures: []commands.Picture{{Name: "p", Alt: "says the same"}},
		Files: []commands.File{{Name: "re port.csv", Type: "text/csv", Alt: "The report", Data: []byte("who\n")}},
	}
	draw := func(drawing.Scene) ([]byte, error) { return tinyPNG, nil }
	m := render(reply, draw, quiet()).first
	if len(m.Attachments) != 2 || m.Attachments[1] != (attachment{ID: "1", Filename: "re-port.csv", Description: "The report"}) {
		t.Fatalf("attachments %+v", m.Attachments)
	}
	kind, body, err := encode(m, m.files)
	if err != nil {
		t.Fatal(err)
	}
	_, params, err := mime.ParseMediaType(kind)
	if err != nil {
		t.Fatal(err)
	}
	parts := multipart.NewReader(bytes.NewReader(body), params["boundary"])
	for _, want := range []struct{ form, kind string }{{"payload_json", "application/json"}, {"files[0]", "image/png"}, {"files[1]", "text/csv"}} {
		p, err := parts.NextPart()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(p)
		if err != nil || p.FormName() != want.form || p.Header.Get("Content-Type") != want.kind || want.form == "files[1]" && string(data) != "who\n" {
			t.Errorf("part %q of %q: %q, %v", p.FormName(), p.Header.Get("Content-Type"), data, err)
		}
	}
	if m := render(reply, nil, quiet()).first; len(m.files) != 1 || m.files[0].name != "re-port.csv" {
		t.Errorf("without drawing: %+v", m.Attachments)
	}
	reply.Files = append(reply.Files, commands.File{Name: "large", Data: make([]byte, maxUpload)})
	if m := render(reply, draw, quiet()).first; len(m.files) != 2 {
		t.Errorf("%d files, with one that is too large to send", len(m.files))
	}
}
