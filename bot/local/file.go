package local

import (
	"mime"
	"net/http"
	"strconv"
)

// file gives a file of a message that who can see, to be saved.
func (p *Page) file(w http.ResponseWriter, r *http.Request, who Person) {
	id, _ := strconv.Atoi(r.PathValue("message"))
	number, err := strconv.Atoi(r.PathValue("number"))
	m, ok := p.talk.find(id, who)
	if !ok || err != nil || number < 0 || number >= len(m.reply.Files) {
		http.Error(w, "There is no such file.", http.StatusNotFound)
		return
	}
	f := m.reply.Files[number]
	w.Header().Set("Content-Type", f.Type)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": f.Name}))
	if _, err := w.Write(f.Data); err != nil {
		p.Log.Debug("the browser left before the file", "error", err)
	}
}
