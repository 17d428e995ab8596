package local

import (
	"crypto/subtle"
	"errors"
	"net"
	"net/http"
)

// maxBody is the largest request body, in bytes: a form of a few lines.
const maxBody = 16 << 10

// guard keeps every web page but our own from using this one. A foreign page in
// the same browser can send requests to loopback, so:
//   - the Host must be a name of loopback with the port that was listened on: a
//     foreign name that was made to resolve to 127.0.0.1 is refused (DNS rebinding);
//   - a request from another origin is refused, by Sec-Fetch-Site or Origin; one
//     from another port of this machine is another origin;
//   - a POST carries the token, which only our own page can read;
//   - no page may frame ours, and ours loads nothing from elsewhere.
func (p *Page) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "Another web page sent this. It was not carried out.", http.StatusForbidden)
	}))
	inner := origin.Handler(p.needToken(next))

	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		// Not "no-referrer": that makes browsers send "Origin: null" with our own forms.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")

		if !ownHost(r) {
			http.Error(w, "This page answers only under the address it was started with.", http.StatusForbidden)
			return
		}
		switch r.Header.Get("Sec-Fetch-Site") {
		case "", "same-origin", "none":
		default:
			// Following a link from elsewhere is fine; reading from elsewhere is not.
			if r.Header.Get("Sec-Fetch-Mode") != "navigate" {
				http.Error(w, "Another web page asked for this.", http.StatusForbidden)
				return
			}
		}
		inner.ServeHTTP(w, r)
	})
}

// ownHost says whether the Host header names loopback and the port of the
// listener that the request came in by.
func ownHost(r *http.Request) bool {
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return false
	}
	_, want, err := net.SplitHostPort(local.String())
	if err != nil {
		return false
	}
	host, port, err := net.SplitHostPort(r.Host)
	if err != nil { // no port: that of http
		host, port = r.Host, "80"
	}
	return port == want && (host == "localhost" || net.ParseIP(host).IsLoopback())
}

func (p *Page) needToken(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost {
			next.ServeHTTP(w, r)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		if err := r.ParseForm(); err != nil {
			var large *http.MaxBytesError
			if errors.As(err, &large) {
				http.Error(w, "That is too long for one message.", http.StatusRequestEntityTooLarge)
				return
			}
			http.Error(w, "That form cannot be read.", http.StatusBadRequest)
			return
		}
		if subtle.ConstantTimeCompare([]byte(r.PostForm.Get("token")), []byte(p.token)) != 1 {
			http.Error(w, "This page is from an earlier run. Load it again.", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}
