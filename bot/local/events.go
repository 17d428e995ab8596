package local

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// events streams every new and changed message that who may see, as server-sent
// events. An event's id is "<run>-<revision>": a browser that lost the stream
// comes back with the last one it got. One from an earlier run is told to load
// the page again.
func (p *Page) events(w http.ResponseWriter, r *http.Request, who Person) {
	last := r.Header.Get("Last-Event-ID")
	if last == "" {
		last = r.URL.Query().Get("after")
	}
	run, revText, _ := strings.Cut(last, "-")
	rev, err := strconv.Atoi(revText)

	w.Header().Set("Content-Type", "text/event-stream")
	stream := http.NewResponseController(w)
	if err != nil || run != p.run {
		fmt.Fprint(w, "event: reload\ndata: {}\n\n")
		return
	}
	alive := time.NewTicker(20 * time.Second)
	defer alive.Stop()
	for {
		messages, now, more := p.talk.since(rev, who)
		rev = now
		for _, m := range messages {
			html, err := p.messageHTML(m, who)
			if err != nil {
				p.Log.Error("a message cannot be shown", "error", err)
				return
			}
			data, err := json.Marshal(map[string]any{"id": m.id, "html": html})
			if err != nil {
				p.Log.Error("a message cannot be sent", "error", err)
				return
			}
			// No id here: it comes after the batch, so that a batch whose stream
			// breaks is sent again, whole.
			if _, err := fmt.Fprintf(w, "event: message\ndata: %s\n\n", data); err != nil {
				return
			}
		}
		unit, err := p.App.Unit(r.Context(), p.caller(who))
		if err != nil {
			if r.Context().Err() == nil {
				p.Log.Error("a stream of events broke off", "error", err)
			}
			return
		}
		if _, err := fmt.Fprintf(w, "id: %s-%d\nevent: here\ndata: {\"unit\":%q}\n\n", p.run, rev, unit); err != nil {
			return
		}
		if err := stream.Flush(); err != nil {
			return
		}
		select {
		case <-more:
		case <-alive.C:
		case <-r.Context().Done():
			return
		case <-p.stop:
			return
		}
	}
}
