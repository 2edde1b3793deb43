package main

import (
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The square of a job leads a new phone there once it is paired, and a paired one at once, which uses nothing up.
func TestPhoneOpensAtAJob(t *testing.T) {
	p := newPhones(t)
	const job = "/m/drill/job/torque-check"
	old := p.pair("Juno Alder", "juno's phone")
	path, err := p.page.InviteTo("drill", "torque-check")
	if err != nil {
		t.Fatal(err)
	}
	if got := old.get(path); got.at != job {
		t.Errorf("a paired phone is led to %q", got.at)
	}
	h := &handset{p: p}
	first := h.get(path)
	f := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)">`).FindAllStringSubmatch(first.text, -1) {
		f.Add(m[1], m[2])
	}
	f.Set("person", regexp.MustCompile(`value="([0-9a-f]{64})"`).FindStringSubmatch(first.text)[1])
	f.Set("phone", "barn phone")
	got := h.send("POST", "/pair", f, nil)
	number := regexp.MustCompile(`class="number">([0-9]{4})<`).FindStringSubmatch(h.get(got.at).text)
	if number == nil {
		t.Fatalf("no number at %q", got.at)
	}
	if _, err := p.page.Confirm(number[1]); err != nil {
		t.Fatal(err)
	}
	if got := h.get(got.at); got.at != job {
		t.Errorf("led to %q", got.at)
	}
	if got := h.get(job); got.status != 200 || !strings.Contains(got.text, "Before you begin") {
		t.Errorf("%d %s", got.status, got.text)
	}
}

// An invitation leads to pages of machines only, whatever its address says (open redirects: CWE-601).
func TestPhoneLeadsNowhereElse(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	for _, to := range []string{"https://drill.example/m/x", "//drill.example/m/x", "/\\drill.example/m/", "/m/../pair", "/m/drill?x=//a", "javascript:alert(1)", "/m//drill.example", "m/drill", "/m/\r\nSet-Cookie: a=b", "/waiting"} {
		path, err := p.page.Invite()
		if err != nil {
			t.Fatal(err)
		}
		if got := h.get("/waiting?to=" + url.QueryEscape(to)); got.at != "/" {
			t.Errorf("%q leads to %q", to, got.at)
		}
		if got := h.get("/pair/" + filepath.Base(path) + "?to=" + url.QueryEscape(to)); got.at != "" || !strings.Contains(got.text, `name="to" value="/"`) {
			t.Errorf("%q leads to %q", to, got.at)
		}
	}
	if got := h.get("/waiting?to=" + url.QueryEscape("/m/drill")); got.at != "/m/drill" {
		t.Errorf("a machine's page: %q", got.at)
	}
}
