package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"mime"
	"net/http"
	"path"
	"sort"
	"strings"
)

//go:embed static
var staticFiles embed.FS

// assets are the files that go to the browser as they are.
type assets struct {
	data  map[string][]byte
	stamp string // of all of them together
}

func loadAssets() (assets, error) {
	a := assets{data: map[string][]byte{}}
	files, err := staticFiles.ReadDir("static")
	if err != nil {
		return a, err
	}
	sum := sha256.New()
	for _, f := range files {
		data, err := staticFiles.ReadFile("static/" + f.Name())
		if err != nil {
			return a, err
		}
		a.data[f.Name()] = data
		fmt.Fprintf(sum, "%s %d\n%s", f.Name(), len(data), data)
	}
	a.stamp = hex.EncodeToString(sum.Sum(nil))[:12]
	return a, nil
}

// path is the address of a file; it changes with what the files hold.
func (a assets) path(name string) string { return "/static/" + name + "?v=" + a.stamp }

func (a assets) serve(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	data, ok := a.data[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", kindOf(name))
	w.Header().Set("Cache-Control", "public, max-age=300")
	if r.URL.Query().Get("v") == a.stamp {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	_, _ = w.Write(data)
}

func kindOf(name string) string {
	if kind := mime.TypeByExtension(path.Ext(name)); kind != "" && !strings.HasSuffix(name, ".js") {
		return kind
	}
	return "text/javascript; charset=utf-8"
}

// worker is the service worker; it knows the files to keep by their stamp.
func (a assets) worker(w http.ResponseWriter, _ *http.Request) {
	names := make([]string, 0, len(a.data))
	for name := range a.data {
		if name != "sw.js" {
			names = append(names, fmt.Sprintf("%q", a.path(name)))
		}
	}
	sort.Strings(names)
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("Service-Worker-Allowed", "/")
	fmt.Fprintf(w, "const STAMP = %q;\nconst FILES = [%s];\n", a.stamp, strings.Join(names, ", "))
	_, _ = w.Write(a.data["sw.js"])
}

func (a assets) manifest(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/manifest+json")
	w.Header().Set("Cache-Control", "public, max-age=3600")
	fmt.Fprintf(w, `{"name": "gristmark", "short_name": "gristmark", "start_url": "/", "display": "standalone", "background_color": "#fffdf5", "theme_color": "#f5c518", "icons": [{"src": %q, "sizes": "any", "type": "image/svg+xml", "purpose": "any"}]}`, a.path("icon.svg"))
}
