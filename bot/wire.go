package bot

import (
	"bytes"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/textproto"
	"strings"
)

// Callback types, the first answers to an interaction.
const (
	cbPong         = 1
	cbMessage      = 4
	cbDefer        = 5 // a new message follows
	cbDeferUpdate  = 6 // an edit of the message with the button follows
	cbUpdate       = 7
	cbCompletions  = 8
	cbModal        = 9
	flagEphemeral  = 64
	flagLoading    = 128 // of a deferral that nothing has filled yet
	componentRow   = 1
	componentBtn   = 2
	componentInput = 4
)

// callback is the first answer to an interaction.
type callback struct {
	Type int `json:"type"`
	Data any `json:"data,omitempty"`

	files []file
}

// message is a message as we send it: in a callback, an edit or a follow-up. Its
// lists are always written, since null or absence keeps or loses what was there.
type message struct {
	Content     string       `json:"content"`
	Flags       int          `json:"flags,omitempty"`
	Mentions    mentions     `json:"allowed_mentions"`
	Embeds      []struct{}   `json:"embeds"`
	Components  []row        `json:"components"`
	Attachments []attachment `json:"attachments"`

	files []file
}

// mentions with an empty list: nothing in the text may ping anyone.
type mentions struct {
	Parse []string `json:"parse"`
}

type row struct {
	Type       int `json:"type"`
	Components any `json:"components"` // []button or []input
}

type button struct {
	Type     int    `json:"type"`
	Style    int    `json:"style"`
	Label    string `json:"label"`
	CustomID string `json:"custom_id"`
}

type input struct {
	Type        int    `json:"type"`
	Style       int    `json:"style"`
	CustomID    string `json:"custom_id"`
	Label       string `json:"label"`
	Placeholder string `json:"placeholder,omitempty"`
	Required    bool   `json:"required"`
	MaxLength   int    `json:"max_length"`
}

type modal struct {
	CustomID   string `json:"custom_id"`
	Title      string `json:"title"`
	Components []row  `json:"components"`
}

type attachment struct {
	ID          string `json:"id"` // the index of its file
	Filename    string `json:"filename"`
	Description string `json:"description,omitempty"`
}

type file struct {
	name string
	kind string // media type; empty: a PNG
	data []byte
}

type choice struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type completions struct {
	Choices []choice `json:"choices"`
}

type deferral struct {
	Flags int `json:"flags,omitempty"`
}

// plain is a message of text alone. The text is ours, or escaped already.
func plain(text string, private bool) message {
	m := message{
		Content:     text,
		Mentions:    mentions{Parse: []string{}},
		Embeds:      []struct{}{},
		Components:  []row{},
		Attachments: []attachment{},
	}
	if private {
		m.Flags = flagEphemeral
	}
	return m
}

// encode writes a payload as JSON, or as multipart with its files. The library
// cannot send an attachment's description, so the body is our own.
func encode(payload any, files []file) (contentType string, body []byte, err error) {
	text, err := json.Marshal(payload)
	if err != nil || len(files) == 0 {
		return "application/json", text, err
	}
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	part := func(disposition, kind string, data []byte) {
		h := textproto.MIMEHeader{}
		h.Set("Content-Disposition", disposition)
		h.Set("Content-Type", kind)
		p, perr := w.CreatePart(h)
		if perr == nil {
			_, perr = p.Write(data)
		}
		if err == nil {
			err = perr
		}
	}
	part(`form-data; name="payload_json"`, "application/json", text)
	for i, f := range files {
		kind := f.kind
		if kind == "" {
			kind = "image/png"
		}
		part(fmt.Sprintf(`form-data; name="files[%d]"; filename="%s"`, i, fileName(f.name)), kind, f.data)
	}
	if cerr := w.Close(); err == nil {
		err = cerr
	}
	return w.FormDataContentType(), b.Bytes(), err
}

// fileName keeps what is safe in a file name and in a header.
func fileName(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '-'
	}, s)
	if s == "" {
		return "picture"
	}
	return s
}
