package main

import (
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/rules/record"
)

// phones is a book with its page open, and what a test does at the laptop.
type phones struct {
	*testBook
	shop    *shop
	page    *phone.Server
	address string
	clock   time.Time // of the invitations
}

// newPhones opens the page of a book with a drill of 48 openers, on 5 May 2026.
func newPhones(t testing.TB) *phones {
	t.Helper()
	b := newTestBook(t)
	b.at("2026-03-01T08:00")
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
	b.must("people", "add", "Sam Rook")
	b.must("people", "add", "Juno Alder")
	b.at("2026-05-05T17:20")
	p := &phones{testBook: b, clock: time.Date(2026, 5, 5, 17, 20, 0, 0, time.UTC)}
	p.open()
	return p
}

// open opens the page, anew where it was open.
func (p *phones) open() {
	p.t.Helper()
	if p.shop != nil {
		p.shop.close()
	}
	c := p.call()
	c.env.now = func() time.Time { return p.now }
	shop, err := c.openShop()
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(shop.close)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		p.t.Fatal(err)
	}
	p.page, err = phone.New(phone.Config{Shed: shop, Folder: p.dir, Hosts: hostsOf(l), Laptop: "shed laptop", Now: func() time.Time { return p.clock }, Random: p.rand})
	if err != nil {
		p.t.Fatal(err)
	}
	s := &httptest.Server{Listener: l, Config: &http.Server{Handler: p.page}}
	s.Start()
	p.t.Cleanup(s.Close)
	p.shop, p.address = shop, s.URL
}

// handset is one phone. It keeps its cookie by itself, for a page that is opened anew is at another port.
type handset struct {
	p      *phones
	cookie string
	taps   int
}

// page is what a phone got.
type page struct {
	status int
	text   string
	at     string // where it is to go
}

// send sends a request as a browser does, or as change makes it.
func (h *handset) send(method, path string, form url.Values, change func(*http.Request)) page {
	h.p.t.Helper()
	r, err := http.NewRequest(method, h.p.address+path, strings.NewReader(form.Encode()))
	if err != nil {
		h.p.t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", h.p.address)
	}
	if h.cookie != "" {
		r.Header.Set("Cookie", "shedbook-phone="+h.cookie)
	}
	if change != nil {
		change(r)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(r)
	if err != nil {
		return page{text: err.Error()}
	}
	defer res.Body.Close()
	for _, c := range res.Cookies() {
		h.cookie = c.Value
	}
	text, _ := io.ReadAll(res.Body)
	return page{res.StatusCode, string(text), res.Header.Get("Location")}
}

func (h *handset) get(path string) page { return h.send("GET", path, nil, nil) }

// pair pairs a phone by all its steps.
func (p *phones) pair(person, name string) *handset {
	p.t.Helper()
	h := &handset{p: p}
	path, err := p.page.Invite()
	if err != nil {
		p.t.Fatal(err)
	}
	first := h.get(path)
	id := regexp.MustCompile(`value="([0-9a-f]{64})" required> <span>` + regexp.QuoteMeta(person) + `<`).FindStringSubmatch(first.text)
	if id == nil {
		p.t.Fatalf("%s is not offered:\n%s", person, first.text)
	}
	h.taps += 2 // who, and the button; the name of the phone stands there already
	if got := h.send("POST", "/pair", url.Values{"invitation": {filepath.Base(path)}, "person": {id[1]}, "phone": {name}}, nil); got.at != "/waiting" {
		p.t.Fatalf("not waiting: %d %s", got.status, got.text)
	}
	number := regexp.MustCompile(`class="number">([0-9]{4})<`).FindStringSubmatch(h.get("/waiting").text)
	if number == nil {
		p.t.Fatal("no number is shown")
	}
	if got := h.get("/"); got.at != "/waiting" {
		p.t.Fatalf("let in before the number was typed: %d", got.status)
	}
	if _, err := p.page.Confirm(number[1]); err != nil {
		p.t.Fatal(err)
	}
	return h
}

// form reads the hidden fields of a page's form.
func (h *handset) form(path string) url.Values {
	h.p.t.Helper()
	got := h.get(path)
	if got.status != http.StatusOK {
		h.p.t.Fatalf("%s: %d\n%s", path, got.status, got.text)
	}
	out := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)">`).FindAllStringSubmatch(got.text, -1) {
		out.Add(m[1], m[2])
	}
	return out
}

// record fills in a form and sends it; it must be recorded.
func (h *handset) record(path string, fill url.Values) page {
	h.p.t.Helper()
	f := h.form(path)
	for name, v := range fill {
		f[name] = v
	}
	got := h.send("POST", "/record", f, nil)
	if got.status != http.StatusSeeOther {
		h.p.t.Fatalf("%s: %d\n%s", path, got.status, got.text)
	}
	return h.get(got.at)
}

// entries are those of the book, as another program reads them.
func (p *phones) entries() []historyJSON {
	p.t.Helper()
	var out historiesJSON
	if err := json.Unmarshal([]byte(p.must("history", "--json", "--all")), &out); err != nil {
		p.t.Fatal(err)
	}
	return out.Entries
}

// last is the entry that was written last, as the book holds it.
func (p *phones) last() (record.Record, *record.Private) {
	p.t.Helper()
	b, err := p.call().open()
	if err != nil {
		p.t.Fatal(err)
	}
	all := b.log.Entries()
	e := all[len(all)-1]
	r, err := record.Decode(e.Kind(), e.Record())
	if err != nil {
		p.t.Fatal(err)
	}
	if e.Private() == nil {
		return r, nil
	}
	private, err := record.DecodePrivate(e.Private())
	if err != nil {
		p.t.Fatal(err)
	}
	return r, private
}

// twin is a copy of the book as it stands, with the key that signs it.
func (p *phones) twin() *phones {
	p.t.Helper()
	dir := p.t.(*testing.T).TempDir()
	twin := *p.testBook
	twin.dir = filepath.Join(dir, "book")
	if err := os.CopyFS(twin.dir, os.DirFS(p.dir)); err != nil {
		p.t.Fatal(err)
	}
	config := filepath.Join(dir, "config")
	if err := os.CopyFS(config, os.DirFS(p.vars["SHEDBOOK_CONFIG"])); err != nil {
		p.t.Fatal(err)
	}
	err := filepath.WalkDir(config, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			err = os.Chmod(path, 0o600)
		}
		return err
	})
	if err != nil {
		p.t.Fatal(err)
	}
	twin.vars = map[string]string{"SHEDBOOK_CONFIG": config, "COLUMNS": "80", "SHEDBOOK_BOOK": twin.dir}
	return &phones{testBook: &twin}
}
