// Package local is the bot as a chat page on this machine: the second adapter,
// so that anyone can try the commands without an account anywhere.
//
// It has no accounts. Whoever can open the page may choose to be any of the
// people it was given, so it listens on loopback only (Listen), and guard keeps
// foreign web pages out.
package local

import (
	"context"
	"crypto/rand"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

//go:embed assets
var assets embed.FS

// App answers requests; *commands.App is one.
type App interface {
	Run(ctx context.Context, c commands.Call) (commands.Reply, error)
	Complete(ctx context.Context, c commands.Call, option string) ([]commands.Choice, error)
	Press(ctx context.Context, p commands.Press) (commands.Reply, error)
	// Unit is the unit that a caller writes and reads, "in" or "mm".
	Unit(ctx context.Context, c commands.Caller) (string, error)
}

// Config is what a page needs. All fields but Raster are needed.
type Config struct {
	App      App
	Commands []commands.Command
	// Parse splits a line such as `/stack stock:23/32` into a command's name and
	// its options.
	Parse    func(line string) (name string, options map[string]string, err error)
	ShopKey  string
	ShopName string
	People   []Person
	Log      *slog.Logger
	Now      func() time.Time
	// NewID gives an id that no other request has had or will have, in any run.
	NewID func() string
	// Raster turns a scene into a PNG; nil shows what a picture says as text.
	Raster func(drawing.Scene, drawing.Theme) ([]byte, error)
}

// Person is someone whom the page can be used as.
type Person struct {
	Key   string
	Name  string
	Admin bool // an instructor, who may administrate the shop
}

// Page is the chat page of one shop: an http.Handler that remembers the
// conversation shown since it was made.
type Page struct {
	Config
	handler http.Handler
	talk    *talk
	token   string // proves that a POST comes from a page of this run
	run     string // tells this run from an earlier one; public
	stop    chan struct{}
}

// New makes the page of a shop. Two people with one key are an error.
func New(c Config) (*Page, error) {
	if len(c.People) == 0 {
		return nil, fmt.Errorf("a local page needs at least one person")
	}
	seen := map[string]bool{}
	for _, p := range c.People {
		if p.Key == "" || seen[p.Key] {
			return nil, fmt.Errorf("the key %q of %s is empty or taken", p.Key, p.Name)
		}
		seen[p.Key] = true
	}
	files, err := fs.Sub(assets, "assets")
	if err != nil {
		return nil, err
	}
	p := &Page{Config: c, talk: newTalk(), token: rand.Text(), run: rand.Text(), stop: make(chan struct{})}

	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", p.showPeople)
	mux.HandleFunc("GET /as/{person}", p.as(p.showTalk))
	mux.HandleFunc("GET /as/{person}/events", p.as(p.events))
	mux.HandleFunc("GET /as/{person}/picture/{message}/{number}", p.as(p.picture))
	mux.HandleFunc("GET /as/{person}/file/{message}/{number}", p.as(p.file))
	mux.HandleFunc("POST /as/{person}/send", p.as(p.send))
	mux.HandleFunc("POST /as/{person}/press", p.as(p.press))
	mux.HandleFunc("POST /as/{person}/complete", p.as(p.complete))
	for _, name := range []string{"page.css", "page.js", "icon.svg"} {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, r *http.Request) {
			http.ServeFileFS(w, r, files, name)
		})
	}
	p.handler = p.guard(mux)
	return p, nil
}

func (p *Page) ServeHTTP(w http.ResponseWriter, r *http.Request) { p.handler.ServeHTTP(w, r) }

// as looks up the person that an address names.
func (p *Page) as(f func(http.ResponseWriter, *http.Request, Person)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		for _, person := range p.People {
			if person.Key == r.PathValue("person") {
				f(w, r, person)
				return
			}
		}
		http.Error(w, "Nobody here has that name. Choose who you are at http://"+r.Host+"/", http.StatusNotFound)
	}
}

func (p *Page) caller(who Person) commands.Caller {
	return commands.Caller{
		Platform: "local", ShopKey: p.ShopKey, ShopName: p.ShopName,
		MemberKey: who.Key, MemberName: who.Name, Admin: who.Admin,
		Interaction: p.NewID(), At: p.Now(),
	}
}

// reference is what ties a message on the page to a line in the log.
func reference() string { return strings.ToLower(rand.Text()[:6]) }
