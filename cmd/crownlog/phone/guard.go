package phone

import (
	"crypto/subtle"
	"io"
	"log"
	"net/http"
	"strings"
)

// quiet takes what net/http would print over the dashboard: a browser that went
// away, a stranger who speaks something else.
var quiet = log.New(io.Discard, "", 0)

// headers go with every answer. Nothing is fetched from elsewhere, nothing kept,
// and the address with its token is told to nobody.
var headers = map[string]string{
	"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' blob:; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
	"Cache-Control":                "no-store",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Referrer-Policy":              "no-referrer",
	"X-Content-Type-Options":       "nosniff",
}

// guard lets through what carries the token in its path, was sent to our own
// address and by our own page. All else gets 403 and nothing with it.
//
// Host is looked at because another site's name can be made to resolve to this
// machine; Origin because another site's page can send requests here. A browser
// names the Origin of every POST.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		token, path, inside := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
		known := subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) == 1
		origin := r.Header.Get("Origin")
		foreign := origin != "http://"+s.host && (origin != "" || r.Method != http.MethodGet)
		if !known || !inside || foreign || r.Host != s.host {
			w.Header().Set("Connection", "close")
			w.WriteHeader(http.StatusForbidden)
			return
		}
		for name, value := range headers {
			w.Header().Set(name, value)
		}
		if !s.rate.Allow() {
			http.Error(w, "too many requests: wait a second", http.StatusTooManyRequests)
			return
		}
		r.URL.Path, r.URL.RawPath = "/page/"+path, ""
		next.ServeHTTP(w, r)
	})
}
