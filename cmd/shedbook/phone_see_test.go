package main

import (
	"fmt"
	"html"
	"net/url"
	"strings"
	"testing"
)

// newPhoneYears is a drill with two seasons, each with its readings and settings.
func newPhoneYears(t *testing.T) (*phones, *handset) {
	p := newPhones(t)
	for i, year := range []string{"2025", "2026"} {
		if i == 0 {
			p.at("2026-03-02T08:00")
		}
		on := func(day string) []string { return []string{"--yes", "--done", "2026-" + day} }
		if i == 1 {
			p.at("2026-04-20T08:00")
			on = func(day string) []string { return []string{"--yes", "--done", "2026-04-" + day[3:]} }
		}
		name := "spring seeding " + year
		p.must(append([]string{"season", "open", name, "--work", "seeding"}, on("03-01")[1:]...)...)
		p.must(append([]string{"adjust", "drill", fmt.Sprint("depth=", 5+i)}, on("03-01")...)...)
		p.must(append([]string{"measure", "drill", "disc-reach", []string{"5.6", "5.2"}[i], "--counter", fmt.Sprint("area=", 1610+600*i)}, on("03-02")...)...)
		p.must(append([]string{"season", "close", name}, on("03-02")[1:]...)...)
	}
	p.at("2026-05-05T17:20")
	return p, p.pair("Sam Rook", "barn phone")
}

// What is looked at on a phone is what the commands say: wear, a comparison, the spec card, a place with its reasons.
func TestPhoneLooks(t *testing.T) {
	p, h := newPhoneYears(t)
	p.must("fault", "drill", "opener/23", "hub rough <script>alert(1)</script> <img src=x onerror=alert(1)>")
	see := func(path string) string {
		t.Helper()
		got := h.get(path)
		if got.status != 200 {
			t.Fatalf("%s: %d\n%s", path, got.status, got.text)
		}
		for _, bad := range []string{"<script", "<img", " style=", "onerror=\"", "\x1b"} {
			if strings.Contains(got.text, bad) {
				t.Errorf("%s holds %q", path, bad)
			}
		}
		return strings.Join(strings.Fields(html.UnescapeString(got.text)), " ")
	}
	holds := func(path, page string, values ...string) {
		t.Helper()
		for _, v := range values {
			if v = strings.Join(strings.Fields(v), " "); v == "" || !strings.Contains(page, v) {
				t.Errorf("%s does not say %q:\n%s", path, v, page)
			}
		}
	}

	p.vars["COLUMNS"] = "400"
	page, told := see("/m/drill/spec"), 0
	for line := range strings.Lines(p.must("spec", "drill")) {
		if name, value, ok := strings.Cut(strings.TrimSpace(line), ": "); ok {
			if i := strings.LastIndex(value, " ("); i > 0 { // the jobs that need it
				value = value[:i]
			}
			holds("spec", page, name, value)
			told++
		}
	}
	if told < 5 {
		t.Errorf("%d lines on the card", told)
	}
	if found := see("/m/drill/spec?words=grease"); len(found) >= len(page) || !strings.Contains(found, "grease") {
		t.Errorf("grease finds %s", found)
	}
	holds("spec", see("/m/drill/spec?words=greese"), "Nothing about that", "grease")

	page = see("/m/drill/compare")
	holds("compare", page, "spring seeding 2025", "spring seeding 2026", "Settings", "seeding depth", "5.6 in", "5.2 in", "<svg", "<path", "How fast parts wore")
	if page != see("/m/drill/compare?one="+url.QueryEscape("spring seeding 2025")+"&other="+url.QueryEscape("spring seeding 2026")) {
		t.Error("the last two seasons are not those looked at first")
	}
	if got := h.get("/m/drill/compare?one=last+spring&other=today"); got.status != 422 || !strings.Contains(got.text, "is no day and no season") {
		t.Errorf("%d %s", got.status, got.text)
	}

	page = see("/m/drill/wear")
	holds("wear", page, "disc, edge to hub", "5.2 in", "limit", "<svg", "The numbers")

	p.vars["COLUMNS"] = "34"
	lines := p.must("show", "drill", "opener/23", "--why")
	page = see("/m/drill/show?words=opener/23")
	holds("show", page, lines)
	holds("show", page, "hub rough", "[", "5.2 in")
	if got := h.get("/m/drill/show?words=opener/99"); got.status != 422 || !strings.Contains(got.text, "99") {
		t.Errorf("%d %s", got.status, got.text)
	}
	holds("show", see("/m/drill/show"), "Which place or thing?")
}
