package local

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"shimwright/commands"
	"shimwright/commands/drawing"
)

var templates = template.Must(template.ParseFS(assets, "assets/*.html"))

// messageView is a message as one person sees it.
type messageView struct {
	ID       int
	Rev      int
	Time     string
	Name     string
	Mine     bool
	Said     string
	Pressed  bool // said is what a button is called
	Only     bool
	Failed   bool
	Changed  string
	First    string
	Rest     []string // paragraphs
	Details  []commands.Detail
	Rows     [][]buttonView
	Pictures []pictureView
	Files    []fileView
	Base     string
	Token    string
}

type buttonView struct {
	commands.Action
	Dialog string // id of its form; empty without one
}

type pictureView struct {
	Name, Alt     string
	URL           string // empty where pictures cannot be drawn
	Width, Height int    // in pixels, so that nothing moves when it arrives
}

type fileView struct {
	Name, Alt, URL string
}

type talkView struct {
	Shop     string
	Me       Person
	People   []personView
	Commands []commands.Command
	Messages []messageView
	After    string
	Line     string
	Unit     string // "in" or "mm"
	Base     string
	Token    string
}

type personView struct {
	Person
	URL  string
	Here bool
}

func (p *Page) peopleView(me string) []personView {
	var out []personView
	for _, who := range p.People {
		out = append(out, personView{Person: who, URL: personPath(who), Here: who.Key == me})
	}
	return out
}

func (p *Page) messageView(m message, who Person) messageView {
	first, rest, _ := strings.Cut(strings.TrimSpace(m.reply.Text), "\n")
	v := messageView{
		ID: m.id, Rev: m.rev, Time: m.at.Format("15:04"), Name: m.from.Name, Mine: m.from.Key == who.Key,
		Said: m.said, Pressed: m.pressed, Only: m.only != "", Failed: m.failed, Changed: m.changed,
		First: first, Rest: paragraphs(rest), Details: m.reply.Details,
		Base: personPath(who), Token: p.token,
	}
	rows := map[int]int{}
	for i, a := range m.reply.Actions {
		n, ok := rows[a.Row]
		if !ok {
			n = len(v.Rows)
			rows[a.Row] = n
			v.Rows = append(v.Rows, nil)
		}
		b := buttonView{Action: a}
		if a.Form != nil {
			b.Dialog = fmt.Sprintf("m%d-%d-form%d", m.id, m.rev, i)
		}
		v.Rows[n] = append(v.Rows[n], b)
	}
	for i, pic := range m.reply.Pictures {
		pv := pictureView{Name: pic.Name, Alt: pic.Alt}
		if p.Raster != nil {
			pv.Width, pv.Height = int(math.Round(pic.Scene.Width*10)), int(math.Round(pic.Scene.Height*10)) // as drawing.PNG draws
			pv.URL = fmt.Sprintf("%s/picture/%d/%d?rev=%d", personPath(who), m.id, i, m.rev)
		}
		v.Pictures = append(v.Pictures, pv)
	}
	for i, f := range m.reply.Files {
		v.Files = append(v.Files, fileView{f.Name, f.Alt, fmt.Sprintf("%s/file/%d/%d?rev=%d", personPath(who), m.id, i, m.rev)})
	}
	return v
}

func paragraphs(text string) []string {
	return slices.DeleteFunc(strings.Split(text, "\n"), func(s string) bool { return strings.TrimSpace(s) == "" })
}

func (p *Page) messageHTML(m message, who Person) (string, error) {
	var b bytes.Buffer
	err := templates.ExecuteTemplate(&b, "message", p.messageView(m, who))
	return b.String(), err
}

// showPeople asks who is there.
func (p *Page) showPeople(w http.ResponseWriter, _ *http.Request) {
	p.render(w, "people.html", talkView{Shop: p.ShopName, People: p.peopleView("")})
}

// showTalk shows the conversation as one person sees it.
func (p *Page) showTalk(w http.ResponseWriter, r *http.Request, who Person) {
	unit, err := p.App.Unit(r.Context(), p.caller(who))
	if err != nil {
		p.broken(w, "a page cannot be shown", err)
		return
	}
	messages, rev, _ := p.talk.since(0, who)
	v := talkView{
		Shop: p.ShopName, Me: who, People: p.peopleView(who.Key), Commands: p.Commands,
		After: p.run + "-" + strconv.Itoa(rev), Line: r.URL.Query().Get("line"), Unit: unit, Base: personPath(who), Token: p.token,
	}
	for _, m := range messages {
		v.Messages = append(v.Messages, p.messageView(m, who))
	}
	p.render(w, "talk.html", v)
}

func (p *Page) render(w http.ResponseWriter, name string, v any) {
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, name, v); err != nil {
		p.broken(w, "a page cannot be shown", err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if _, err := b.WriteTo(w); err != nil {
		p.Log.Debug("the browser left before the page", "error", err)
	}
}

// broken answers a fault of ours with a reference that stands in the log too.
func (p *Page) broken(w http.ResponseWriter, what string, err error) {
	ref := reference()
	p.Log.Error(what, "reference", ref, "error", err)
	http.Error(w, "Something went wrong here. Reference "+ref, http.StatusInternalServerError)
}

// picture draws a picture of a message that who can see.
func (p *Page) picture(w http.ResponseWriter, r *http.Request, who Person) {
	id, _ := strconv.Atoi(r.PathValue("message"))
	number, err := strconv.Atoi(r.PathValue("number"))
	m, ok := p.talk.find(id, who)
	if !ok || err != nil || number < 0 || number >= len(m.reply.Pictures) || p.Raster == nil {
		http.Error(w, "There is no such picture.", http.StatusNotFound)
		return
	}
	theme := drawing.Light()
	if r.URL.Query().Get("theme") == "dark" {
		theme = drawing.Dark()
	}
	png, err := p.Raster(m.reply.Pictures[number].Scene, theme)
	if err != nil {
		p.broken(w, "a picture cannot be drawn", err)
		return
	}
	w.Header().Set("Content-Type", "image/png")
	if _, err := w.Write(png); err != nil {
		p.Log.Debug("the browser left before the picture", "error", err)
	}
}
