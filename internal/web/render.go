package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"gristmark/internal/harvest"
	"gristmark/internal/words"
)

//go:embed templates
var templateFiles embed.FS

// parts are the templates that pages share; every other file is a page.
var parts = []string{"layout", "load-fields", "photo-input", "live", "choices"}

// page is what every page shows around its body.
type page struct {
	Title   string
	Body    any
	Crumbs  []crumb
	Fault   string // what went wrong, to be told on top
	Refresh bool   // load it again after a while where there are no scripts
	Kind    string // class of the body

	Lang, Version, Said string
	Who                 *harvest.Who
	Words               map[string]string
}

type crumb struct{ Text, Href string }

// tongue is all pages in one language.
type tongue struct {
	words *words.Words
	set   map[string]*template.Template
	js    map[string]string
}

// loadTongues parses the pages for every language that knows them. English is always there.
func loadTongues(a assets) (map[string]*tongue, error) {
	out := map[string]*tongue{}
	for _, lang := range words.Languages() {
		w, err := words.For(lang)
		if err != nil {
			return nil, err
		}
		if w.Lang() != "en" && w.T("Take photos") == "Take photos" {
			continue // a page half in English has no language that a reader could be told
		}
		t, err := newTongue(w, a)
		if err != nil {
			return nil, err
		}
		out[w.Lang()] = t
	}
	if out["en"] == nil {
		return nil, fmt.Errorf("web: the pages have no English")
	}
	return out, nil
}

func newTongue(w *words.Words, a assets) (*tongue, error) {
	funcs := template.FuncMap{"t": w.T, "asset": a.path, "icon": icon, "num": plainNumber}
	base := template.New("layout").Funcs(funcs)
	for _, name := range parts {
		if _, err := base.ParseFS(templateFiles, "templates/"+name+".html"); err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
	}
	files, err := templateFiles.ReadDir("templates")
	if err != nil {
		return nil, err
	}
	t := &tongue{words: w, set: map[string]*template.Template{}, js: map[string]string{}}
	for _, f := range files {
		name := strings.TrimSuffix(f.Name(), ".html")
		clone, err := base.Clone()
		if err != nil {
			return nil, err
		}
		if t.set[name], err = clone.ParseFS(templateFiles, "templates/"+f.Name()); err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
	}
	for _, text := range scriptTexts {
		t.js[text] = w.T(text)
	}
	return t, nil
}

// tongue is the language that the browser asks for, as far as the pages have it.
func (s *server) tongue(r *http.Request) *tongue {
	if t := s.tongues[words.ForHeader(r.Header.Get("Accept-Language")).Lang()]; t != nil {
		return t
	}
	return s.tongues["en"]
}

// show writes a page.
func (c *call) show(status int, name string, p page) error {
	p.Lang, p.Version, p.Who, p.Words = c.in.words.Lang(), c.opt.Version, c.who, c.in.js
	if said := c.r.URL.Query().Get("said"); said != "" {
		p.Said = c.said(said)
	}
	return c.write(status, name, "layout", p)
}

// part writes a piece of a page, for scripts to put in its place.
func (c *call) part(file, name string, body any) error {
	return c.write(http.StatusOK, file, name, body)
}

func (c *call) write(status int, file, name string, data any) error {
	var b bytes.Buffer
	if err := c.in.set[file].ExecuteTemplate(&b, name, data); err != nil {
		return fmt.Errorf("web: %w", err)
	}
	c.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	c.w.WriteHeader(status)
	_, err := b.WriteTo(c.w)
	return err
}
