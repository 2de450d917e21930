package door

import (
	"encoding/json"
	"html/template"
	"net/http"
	"strings"
)

// Problem is an answer to a program that says what is wrong (RFC 9457).
type Problem struct {
	Type   string `json:"type"` // about:blank: the status says it all
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail"`
}

// page wears the pages' style sheet; without it, as under load, it is still read.
var page = template.Must(template.New("").Parse(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.Title}} · gristmark</title><link rel="stylesheet" href="/static/app.css"></head>
<body><header class="top"><a class="brand" href="/"><span>gristmark</span></a></header>
<main id="main"><div class="narrow"><h1>{{.Title}}</h1><p class="lead">{{.Detail}}</p><p><a class="button big" href="/">Back to the start</a></p></div></main>
</body></html>
`))

// Refuse answers with a status and one sentence: a page for a person, RFC 9457 for a program.
func Refuse(w http.ResponseWriter, r *http.Request, status int, sentence string) {
	p := Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Detail: sentence}
	w.Header().Del("Content-Length")
	w.Header().Set("Cache-Control", "no-store")
	if isAPI(r.URL.Path) || strings.Contains(r.Header.Get("Accept"), "application/json") {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(p) // whoever went away does not read it
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_ = page.Execute(w, p)
}
