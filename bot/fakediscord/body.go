package fakediscord

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"regexp"
	"strconv"
)

// body is what a request carries: JSON, and files beside it.
type body struct {
	json  []byte
	files []upload
}

// upload is one part of a multipart body; n is the index in its name, files[n].
type upload struct {
	n           int
	name        string
	contentType string
	data        []byte
}

const (
	fileMax  = 10 << 20 // bytes of one file
	filesMax = 10
)

var filePart = regexp.MustCompile(`^files\[([0-9])\]$`)

// readBody takes a request apart. The problems are those of its envelope.
func readBody(contentType string, raw []byte) (body, []problem) {
	bad := func(code, format string, args ...any) (body, []problem) {
		return body{}, []problem{{code: code, message: fmt.Sprintf(format, args...)}}
	}
	kind, params, err := mime.ParseMediaType(contentType)
	if err != nil {
		return bad("CONTENT_TYPE", "Content-Type %q cannot be read", contentType)
	}
	switch kind {
	case "application/json":
		if !json.Valid(raw) {
			return bad("INVALID_JSON", "the body is not JSON")
		}
		return body{json: raw}, nil
	case "multipart/form-data":
	default:
		return bad("CONTENT_TYPE", "Content-Type is %s, not application/json or multipart/form-data", kind)
	}
	var b body
	r := multipart.NewReader(bytes.NewReader(raw), params["boundary"])
	seen := map[string]bool{}
	for {
		part, err := r.NextPart()
		if err == io.EOF { //nolint:errorlint // NextPart returns it bare
			break
		}
		if err != nil {
			return bad("MULTIPART", "the multipart body cannot be read: %v", err)
		}
		name := part.FormName()
		if seen[name] {
			return bad("MULTIPART_PART", "two parts are named %q", name)
		}
		seen[name] = true
		data, err := io.ReadAll(part)
		if err != nil {
			return bad("MULTIPART", "part %q cannot be read: %v", name, err)
		}
		m := filePart.FindStringSubmatch(name)
		switch {
		case name == "payload_json":
			if !json.Valid(data) {
				return bad("INVALID_JSON", "payload_json is not JSON")
			}
			b.json = data
		case m == nil:
			return bad("MULTIPART_PART", "part %q is neither payload_json nor files[0] to files[9]", name)
		case part.FileName() == "":
			return bad("MULTIPART_PART", "part %q has no filename", name)
		case len(data) > fileMax:
			return bad("FILE_TOO_LARGE", "file %q has %d bytes, more than %d", part.FileName(), len(data), fileMax)
		default:
			n, _ := strconv.Atoi(m[1])
			b.files = append(b.files, upload{n, part.FileName(), part.Header.Get("Content-Type"), data})
		}
	}
	if b.json == nil {
		return bad("MULTIPART_PART", "the multipart body has no payload_json")
	}
	return b, nil
}
