package door

import (
	"net/http"
	"strings"
)

// private reports whether it matters who asks for the path.
func private(path string) bool {
	switch path {
	case "/healthz", "/sw.js", "/manifest.webmanifest", "/ca.crt", "/api/v1/openapi.json":
		return false
	}
	return !strings.HasPrefix(path, "/static/")
}

func isAPI(path string) bool      { return strings.HasPrefix(path, "/api/") }
func takesToken(path string) bool { return isAPI(path) || path == "/metrics" }

// isSignIn reports whether the request tries a password or a link.
func isSignIn(r *http.Request) bool {
	if r.Method != http.MethodPost {
		return false
	}
	p := r.URL.Path
	return p == "/sign-in" || strings.HasPrefix(p, "/join/") || strings.HasPrefix(p, "/crew/")
}

// isUpload reports whether the request may carry photos.
func isUpload(r *http.Request) bool {
	if r.Method != http.MethodPost && r.Method != http.MethodPut {
		return false
	}
	s := strings.Split(strings.Trim(strings.TrimPrefix(r.URL.Path, "/api/v1"), "/"), "/")
	if len(s) != 3 {
		return false
	}
	return s[0] == "loads" && s[2] == "photos" || s[0] == "harvests" && s[2] == "loads" && !isAPI(r.URL.Path)
}

// secret are the path elements behind which a secret stands.
var secret = map[string]bool{"join": true, "crew": true}

// known are the first elements of the paths that are served; the rest counts as one route.
var known = map[string]bool{
	"sign-in": true, "sign-out": true, "join": true, "crew": true, "farms": true, "harvests": true, "loads": true, "photos": true,
	"account": true, "waiting": true, "static": true, "sw.js": true, "manifest.webmanifest": true, "healthz": true, "metrics": true, "ca.crt": true,
}

// shown is the path without secrets, as it may be written down.
func shown(path string) string {
	s := strings.Split(path, "/")
	for i := 1; i < len(s); i++ {
		if secret[s[i-1]] && s[i] != "" || len(s[i]) > 40 {
			s[i] = "…"
		}
	}
	return strings.Join(s, "/")
}

// maxElements of a path that are told apart in the metrics.
const maxElements = 5

// route is the path with what differs between things taken out: bounded in number, for metrics.
func route(path string) string {
	prefix := ""
	if rest, ok := strings.CutPrefix(path, "/api/v1/"); ok {
		prefix, path = "/api/v1", "/"+rest
	}
	s := strings.Split(strings.Trim(path, "/"), "/")
	switch {
	case path == "/":
		return prefix + "/"
	case prefix == "" && !known[s[0]], len(s) > maxElements:
		return "other"
	case s[0] == "static":
		return "/static/…"
	}
	for i := range s {
		if !word(s[i]) {
			s[i] = "…"
		}
	}
	if prefix != "" && !apiWords[s[0]] {
		return "other"
	}
	for i := 1; i < len(s); i++ {
		if !subWords[s[i]] {
			s[i] = "…"
		}
	}
	return prefix + "/" + strings.Join(s, "/")
}

func words(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[w] = true
	}
	return out
}

var (
	apiWords = words("me farms harvests loads photos typed tokens crew-links openapi.json")
	subWords = words("members invitations changes harvests loads settings export remeasure crew-links photos corrections typed document " +
		"image overlay measurements particles events compare edit new drop export.csv export.xlsx links pieces")
)

// word reports whether the element is made of letters, dots and dashes alone, and short.
func word(s string) bool {
	if len(s) > 24 {
		return false
	}
	return strings.Trim(s, "abcdefghijklmnopqrstuvwxyz-.") == ""
}
