package main

import (
	"bytes"
	"io"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// What the page's own promise lists (package phone): each is refused, and nothing is written. Host and Origin as in RFC 9110 and RFC 6454; the status for a
// foreign name is that of RFC 9110, 15.5.20.
func TestPhoneAttacks(t *testing.T) {
	p := newPhones(t)
	sam, juno := p.pair("Sam Rook", "barn phone"), p.pair("Juno Alder", "juno's phone")
	form := func(h *handset) url.Values {
		f := h.form("/m/drill/job/grease")
		f.Set("which", "all")
		return f
	}
	before := len(p.entries())
	header := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	for _, x := range []struct {
		name   string
		send   func() page
		status int
	}{
		{"a foreign name that points here", func() page {
			return sam.send("POST", "/record", form(sam), func(r *http.Request) { r.Host = "drill.example" })
		}, 421},
		{"the right address, another port", func() page { return sam.send("GET", "/", nil, func(r *http.Request) { r.Host = "127.0.0.1:1" }) }, 421},
		{"a form on a foreign page", func() page {
			return sam.send("POST", "/record", form(sam), header("Origin", "http://drill.example"))
		}, 403},
		{"a form in a frame without an origin", func() page { return sam.send("POST", "/record", form(sam), header("Origin", "null")) }, 403},
		{"a browser that says so itself", func() page { return sam.send("POST", "/record", form(sam), header("Sec-Fetch-Site", "cross-site")) }, 403},
		{"no origin and no token", func() page {
			f := form(sam)
			f.Del("token")
			return sam.send("POST", "/record", f, func(r *http.Request) { r.Header.Del("Origin") })
		}, 403},
		{"the token of another phone", func() page {
			f := form(sam)
			f.Set("token", form(juno).Get("token"))
			return sam.send("POST", "/record", f, nil)
		}, 403},
		{"no cookie", func() page { return (&handset{p: p}).send("POST", "/record", form(sam), nil) }, 401},
		{"a made-up cookie", func() page {
			return (&handset{p: p, cookie: strings.Repeat("A", 43)}).send("POST", "/record", form(sam), nil)
		}, 401},
		{"what is kept of a cookie, as a cookie", func() page {
			return (&handset{p: p, cookie: p.page.Hands()[0].Secret}).send("GET", "/", nil, nil)
		}, 401},
		{"a very long cookie", func() page {
			return (&handset{p: p, cookie: strings.Repeat("A", 8000)}).send("GET", "/", nil, nil)
		}, 401},
		{"no form but JSON", func() page { return sam.send("POST", "/record", form(sam), header("Content-Type", "application/json")) }, 415},
		{"a form that browsers send anywhere", func() page { return sam.send("POST", "/record", form(sam), header("Content-Type", "text/plain")) }, 415},
		{"recording by an address alone", func() page { return sam.get("/record?" + form(sam).Encode()) }, 405},
		{"another method", func() page { return sam.send("PUT", "/record", form(sam), nil) }, 405},
		{"a path out of the book", func() page { return sam.get("/m/..%2f..%2fetc%2fpasswd") }, 404},
		{"100 MB", func() page {
			return sam.send("POST", "/record", nil, func(r *http.Request) {
				r.Body, r.ContentLength = io.NopCloser(io.LimitReader(endless{}, 100<<20)), 100<<20
			})
		}, 413},
		{"100 MB of unsaid length", func() page {
			return sam.send("POST", "/record", nil, func(r *http.Request) {
				r.Body, r.ContentLength = io.NopCloser(io.LimitReader(endless{}, 100<<20)), -1
			})
		}, 413},
		{"a remark of 200 kB", func() page {
			f := form(sam)
			f.Set("note", strings.Repeat("x", 200<<10))
			return sam.send("POST", "/record", f, nil)
		}, 422},
		{"what nobody may sign", func() page {
			f := form(sam)
			f.Set("note", "14 \u202etakes none")
			return sam.send("POST", "/record", f, nil)
		}, 422},
		{"a flag in a name", func() page {
			f := form(sam)
			f.Set("counter.x --yes --done", "2020-01-01")
			return sam.send("POST", "/record", f, nil)
		}, 422},
	} {
		t.Run(x.name, func(t *testing.T) {
			got := x.send()
			if got.status != x.status && !(x.status == 413 && got.status == 0) { // a server that hangs up while 100 MB are on their way has refused them too
				t.Errorf("%d, not %d: %.300s", got.status, x.status, got.text)
			}
			if n := len(p.entries()) - before; n != 0 {
				t.Fatalf("%d entries were written", n)
			}
		})
	}
}

// endless is a body that never ends.
type endless struct{}

func (endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'a'
	}
	return len(b), nil
}

// An invitation lets in one phone, once, for ten minutes; a phone is let in by the number it shows and no other, and five wrong ones send all away.
func TestPhoneInvitation(t *testing.T) {
	p := newPhones(t)
	people, err := p.shop.People()
	if err != nil {
		t.Fatal(err)
	}
	invite := func() string {
		path, err := p.page.Invite()
		if err != nil {
			t.Fatal(err)
		}
		return filepath.Base(path)
	}
	ask := func(token, name string) (*handset, page) {
		h := &handset{p: p}
		return h, h.send("POST", "/pair", url.Values{"invitation": {token}, "person": {people[0].ID}, "phone": {name}}, nil)
	}
	token := invite()
	if got := (&handset{p: p}).get("/pair/" + token); got.status != 200 { // as a program that shows what is at an address
		t.Fatal(got.status)
	}
	first, got := ask(token, "first")
	if got.status != http.StatusSeeOther {
		t.Fatal(got.text)
	}
	for name, token := range map[string]string{"replayed": token, "made up": strings.Repeat("A", 22), "none": ""} {
		if h, got := ask(token, name); got.status != http.StatusGone || h.cookie != "" {
			t.Errorf("%s: %d, cookie %q", name, got.status, h.cookie)
		}
	}
	old := invite()
	if invite(); true {
		if _, got := ask(old, "old"); got.status != http.StatusGone {
			t.Errorf("an invitation after which another was shown: %d", got.status)
		}
	}
	late := invite()
	p.clock = p.clock.Add(11 * time.Minute)
	if _, got := ask(late, "late"); got.status != http.StatusGone {
		t.Errorf("an invitation of eleven minutes: %d", got.status)
	}
	if got := first.get("/waiting"); got.status != http.StatusUnauthorized {
		t.Errorf("a phone that waited eleven minutes: %d", got.status)
	}
	waits, _ := ask(invite(), "waits")
	for i := range 5 {
		if _, err := p.page.Confirm([]string{"", "x", "00000", "12345", "-1"}[i]); err == nil {
			t.Error("paired by a wrong number")
		}
	}
	if got := waits.get("/waiting"); got.status != http.StatusUnauthorized {
		t.Errorf("still waits after five wrong numbers: %d", got.status)
	}
	if got := waits.get("/"); got.status != http.StatusUnauthorized || len(p.page.Hands()) != 0 {
		t.Errorf("%d, %d phones", got.status, len(p.page.Hands()))
	}
	if _, got := ask(invite(), strings.Repeat("x", 41)); got.status != http.StatusUnprocessableEntity {
		t.Errorf("a long name: %d", got.status)
	}
	if _, got := ask(invite(), "barn\x1b[2Jphone"); got.status != http.StatusUnprocessableEntity {
		t.Errorf("a name that steers a terminal: %d", got.status)
	}
}

// Markup in what people write stays text, on every page that shows it.
func TestPhoneMarkup(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", `<i>phone</i>`)
	const evil = `</textarea><script>alert(1)</script><img src=x onerror=alert(1)>" autofocus onfocus="alert(1)`
	f := h.form("/m/drill/record/note")
	f.Set("text", evil)
	f.Set("day", "x"+evil)
	pages := []page{h.send("POST", "/record", f, nil)}
	if pages[0].status != http.StatusUnprocessableEntity {
		t.Fatalf("%d", pages[0].status)
	}
	pages = append(pages, h.record("/m/drill/record/fault", url.Values{"text": {evil}}), h.get("/"), h.get("/m/drill"), h.get("/m/drill/past"), h.get("/m/drill/record/repair"), h.get("/?yard="+url.QueryEscape(evil)))
	told := 0
	for _, got := range pages {
		told += strings.Count(got.text, "&lt;script&gt;")
		for _, bad := range []string{"<script", "<img", "<i>", ` onfocus="`} {
			if strings.Contains(got.text, bad) {
				t.Errorf("%s stands in a page: %.2000s", bad, got.text)
			}
		}
	}
	if told < 6 {
		t.Errorf("the words are shown %d times only", told)
	}
}

// Every answer carries the policy, whoever asks for whatever; the cookie is for no script and no other site.
func TestPhoneHeaders(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	for _, path := range []string{"/", "/machines", "/m/drill", "/m/none", "/nowhere", "/style.css", "/pair/x", "/waiting", "/recorded/x", "/m/drill/job/grease"} {
		for _, cookie := range []string{"", h.cookie} {
			r, err := http.NewRequest("GET", p.address+path, nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Cookie", "shedbook-phone="+cookie)
			res, err := http.DefaultTransport.RoundTrip(r)
			if err != nil {
				t.Fatal(err)
			}
			body, _ := io.ReadAll(res.Body)
			res.Body.Close()
			policy := res.Header.Get("Content-Security-Policy")
			if !strings.HasPrefix(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") || !strings.Contains(policy, "frame-ancestors 'none'") || !strings.Contains(policy, "form-action 'self'") || !strings.Contains(policy, "base-uri 'none'") {
				t.Errorf("%s: %q", path, policy)
			}
			if res.Header.Get("Cache-Control") != "no-store" || res.Header.Get("X-Content-Type-Options") != "nosniff" || res.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Errorf("%s: %v", path, res.Header)
			}
			if bytes.Contains(body, []byte("goroutine")) || bytes.Contains(body, []byte(" style=")) {
				t.Errorf("%s: %s", path, body)
			}
		}
	}
	path, err := p.page.Invite()
	if err != nil {
		t.Fatal(err)
	}
	people, _ := p.shop.People()
	res, err := http.DefaultTransport.RoundTrip(func() *http.Request {
		r, _ := http.NewRequest("POST", p.address+"/pair", strings.NewReader(url.Values{"invitation": {filepath.Base(path)}, "person": {people[0].ID}, "phone": {"x"}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return r
	}())
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if c := res.Cookies(); len(c) != 1 || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode || c[0].Path != "/" || c[0].Domain != "" {
		t.Errorf("%+v", c)
	}
}

// The page is opened at this computer alone unless a private address is named.
func TestPhoneHost(t *testing.T) {
	for lan, want := range map[string]string{"": "127.0.0.1", "192.168.1.20": "192.168.1.20", "10.1.2.3": "10.1.2.3", "172.16.0.1": "172.16.0.1", "fd00::1": "fd00::1", "169.254.1.1": "169.254.1.1", "::1": "::1",
		"0.0.0.0": "", "::": "", "8.8.8.8": "", "172.32.0.1": "", "2001:db8::1": "", "shop.example": "", "192.168.1.20:80": "", "224.0.0.1": "", "::ffff:8.8.8.8": "", "fe80::1%eth0": ""} {
		got, err := phoneHost(lan)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("--lan %q: %q %v, want %q", lan, got, err, want)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if got := hostsOf(l); len(got) != 2 || got[0] != l.Addr().String() || !strings.HasPrefix(got[1], "localhost:") {
		t.Error(got)
	}
}
