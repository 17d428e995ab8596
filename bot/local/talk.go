package local

import (
	"sync"
	"time"

	"shimwright/commands"
)

// keep is how many messages a conversation remembers.
const keep = 200

// message is what someone asked and what came back. Its parts are never changed
// in place, so that copies may be read freely.
type message struct {
	id      int
	rev     int // of the conversation when it last changed
	at      time.Time
	from    Person
	said    string // the line, or what was pressed
	pressed bool
	only    string // key of the one person who sees it; empty: everyone
	failed  bool   // the reply says what was wrong
	reply   commands.Reply
	// changed says who pressed what, where the reply took the place of another.
	changed string
}

func (m message) seenBy(who Person) bool { return m.only == "" || m.only == who.Key }

// talk is the conversation of a shop, for as long as the program runs.
type talk struct {
	mu       sync.Mutex
	messages []message
	lastID   int
	rev      int
	changed  chan struct{} // closed at the next change
}

func newTalk() *talk { return &talk{changed: make(chan struct{})} }

// since gives the messages that changed after rev and that who may see, the
// revision now, and a channel that is closed when there is more.
func (t *talk) since(rev int, who Person) ([]message, int, <-chan struct{}) {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []message
	for _, m := range t.messages {
		if m.rev > rev && m.seenBy(who) {
			out = append(out, m)
		}
	}
	return out, t.rev, t.changed
}

// find gives a message that who may see. One that who may not see is answered
// like one that does not exist.
func (t *talk) find(id int, who Person) (message, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, m := range t.messages {
		if m.id == id && m.seenBy(who) {
			return m, true
		}
	}
	return message{}, false
}

// add puts m at the end.
func (t *talk) add(m message) int {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.lastID++
	m.id = t.lastID
	m.rev = t.next()
	t.messages = append(t.messages, m)
	if len(t.messages) > keep {
		t.messages = append([]message(nil), t.messages[len(t.messages)-keep:]...)
	}
	return m.id
}

// replace puts another reply in the place of a message's own. It is false for
// a message that is gone.
func (t *talk) replace(id int, reply commands.Reply, changed string) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i := range t.messages {
		if m := &t.messages[i]; m.id == id {
			m.reply, m.changed, m.rev = reply, changed, t.next()
			return true
		}
	}
	return false
}

// next wakes everyone who waits; t.mu is held.
func (t *talk) next() int {
	t.rev++
	close(t.changed)
	t.changed = make(chan struct{})
	return t.rev
}
