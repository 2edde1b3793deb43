package phone

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"mime"
	"net/http"
	"slices"
)

// maxForm is the most that any request may carry, in bytes: a form of all places of the widest machine, with words.
const maxForm = 256 << 10

// policy lets a page be laid out by our own style sheet, show photos of the book and send forms here, and nothing else.
const policy = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// policyOfRound lets the page of readings run our own script too, which keeps each value as it is typed. Without it the page's buttons do.
const policyOfRound = policy + "; script-src 'self'; connect-src 'self'"

// cookieName holds what tells a phone. Cookies do not keep ports apart: another server on the same address would be sent it too.
const cookieName = "shedbook-phone"

// ServeHTTP holds every request to the rules before any page sees it.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("Cache-Control", "no-store")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "same-origin") // with no-referrer browsers send "Origin: null"
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	if !slices.Contains(s.Hosts, r.Host) { // a name that somebody let point here
		http.Error(w, "This page is not at that address. Use the one that the laptop shows.", http.StatusMisdirectedRequest)
		return
	}
	if s.Touched != nil {
		s.Touched()
	}
	switch r.Method {
	case http.MethodGet, http.MethodHead:
	case http.MethodPost:
		if !s.uploads(r) {
			r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		}
		if !s.ours(w, r) {
			return
		}
	default:
		http.Error(w, "not allowed", http.StatusMethodNotAllowed)
		return
	}
	s.mux.ServeHTTP(w, r)
}

// ours reports whether a form comes from a page of this server, and reads it. Where it does not, it has been answered.
func (s *Server) ours(w http.ResponseWriter, r *http.Request) bool {
	origin, site := r.Header.Get("Origin"), r.Header.Get("Sec-Fetch-Site")
	if origin != "" && origin != "http://"+r.Host || site != "" && site != "same-origin" {
		http.Error(w, "This came from another page. Nothing was recorded.", http.StatusForbidden)
		return false
	}
	if s.uploads(r) {
		return s.upload(w, r)
	}
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/x-www-form-urlencoded" {
		http.Error(w, "This is no form of these pages. Nothing was recorded.", http.StatusUnsupportedMediaType)
		return false
	}
	if err := r.ParseForm(); err != nil {
		status := http.StatusBadRequest
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			status = http.StatusRequestEntityTooLarge
		}
		http.Error(w, "This form cannot be read, or is too long. Nothing was recorded.", status)
		return false
	}
	return true
}

// secret is the cookie of a request, "" where there is none.
func secret(r *http.Request) string {
	c, err := r.Cookie(cookieName)
	if err != nil || len(c.Value) > 100 {
		return ""
	}
	return c.Value
}

// formToken is what every form of a phone carries. It is worked out from the cookie, which no other page can read, so it holds when the program is
// started again.
func formToken(secret string) string {
	sum := sha256.Sum256([]byte("shedbook-phone-form-v1\n" + secret))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// page is a page of a paired phone; a form must carry the phone's token.
func (s *Server) page(fn func(w http.ResponseWriter, r *http.Request, v *visit)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		key := secret(r)
		h, ok := s.hands.find(key)
		if !ok {
			if _, waits := s.pair.number(key); waits && r.Method != http.MethodPost {
				http.Redirect(w, r, "/waiting", http.StatusSeeOther)
				return
			}
			s.show(w, http.StatusUnauthorized, "stranger", &visit{Title: "Not paired"})
			return
		}
		v := &visit{Hand: h, Token: formToken(key)}
		if r.Method == http.MethodPost && subtle.ConstantTimeCompare([]byte(r.PostForm.Get("token")), []byte(v.Token)) != 1 {
			v.Title = "Nothing was recorded"
			v.Problem = &Refused{Text: "This form does not belong to this phone.", Next: "Go back, load the page again, and send it once more."}
			s.show(w, http.StatusForbidden, "problem", v)
			return
		}
		fn(w, r, v)
	}
}
