package door

import "net/http"

// policy is what a browser may load and do in the pages (W3C Content Security Policy Level 3): nothing inline, nothing from elsewhere.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headers sets what every answer says. The referrer policy is not "no-referrer", under which browsers send no usable Origin with a form.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(), microphone=(), payment=(), usb=()")
		if private(r.URL.Path) {
			h.Set("Cache-Control", "no-store")
		}
		next.ServeHTTP(w, r)
	})
}

// newOrigin refuses forms and scripts of other sites (Sec-Fetch-Site, else Origin against Host).
func (d *Door) newOrigin() *http.CrossOriginProtection {
	p := http.NewCrossOriginProtection()
	if d.opt.Public != nil {
		_ = p.AddTrustedOrigin(d.opt.Public.Scheme + "://" + d.opt.Public.Host) // of an address already parsed
	}
	p.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		d.count.refused.WithLabelValues("origin").Inc()
		Refuse(w, r, http.StatusForbidden, "This was sent from a page of another site, so it was not done. Open this site itself and do it there.")
	}))
	return p
}
