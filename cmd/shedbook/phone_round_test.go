package main

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"

	"shedbook/rules/record"
)

const roundPage = "/m/drill/measure/disc-reach"

// keys are the places of a round in the order of the page.
func (h *handset) keys() []string {
	h.p.t.Helper()
	out := keysIn(h.get(roundPage).text)
	if len(out) != 48 {
		h.p.t.Fatalf("%d places", len(out))
	}
	return out
}

func keysIn(page string) (out []string) {
	for _, m := range regexp.MustCompile(`name="v\.([^"]+)"`).FindAllStringSubmatch(page, -1) {
		out = append(out, m[1])
	}
	return out
}

// keep types values and sends them, as the page does by itself and by its buttons.
func (h *handset) keep(fields url.Values) page {
	h.p.t.Helper()
	f := h.form(roundPage)
	out := url.Values{"token": {f.Get("token")}, "go": {"save"}}
	for name, v := range fields {
		out[name] = v
	}
	return h.send("POST", roundPage, out, nil)
}

// Forty-eight readings in walking order, the connection cut at the 20th, the page opened anew, the same values sent once more, and signed twice: one entry
// with all of them, as measure records it.
func TestPhoneRound(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	keys := h.keys()
	value := func(i int) string { return fmt.Sprintf("5.%d", 2+i%7) }
	before := len(p.entries())
	for i, key := range keys {
		if i == 19 { // the laptop goes to sleep in the middle
			p.open()
			if got := h.get(roundPage); !strings.Contains(got.text, "19 of 48 kept") {
				t.Fatal(got.text)
			}
			h.keep(url.Values{"v." + keys[18]: {value(18)}}) // a phone that did not hear the answer sends it again
		}
		if got := h.keep(url.Values{"v." + key: {value(i)}}); got.status != http.StatusSeeOther {
			t.Fatalf("%d: %d %s", i, got.status, got.text)
		}
	}
	if n := len(p.entries()) - before; n != 0 {
		t.Fatalf("%d entries before anybody signed", n)
	}
	f := h.form(roundPage + "/review")
	f.Set("counter.area", "1812")
	var places []string
	for range 2 {
		places = append(places, h.send("POST", roundPage+"/sign", f, nil).at)
	}
	p.open()
	places = append(places, h.send("POST", roundPage+"/sign", f, nil).at)
	for _, at := range places {
		if at != "/recorded/"+f.Get("once") {
			t.Errorf("answered %q", at)
		}
	}
	if n := len(p.entries()) - before; n != 1 {
		t.Fatalf("%d entries", n)
	}
	r, private := p.last()
	m := r.(*record.Measure)
	if private == nil || private.Entered == nil || private.Entered.Phone != "barn phone" {
		t.Errorf("%+v", private)
	}
	got := map[string]string{}
	for _, v := range m.Values {
		for _, at := range v.Positions.All() {
			got[at.String()] = v.Found.String()
		}
	}
	for i, key := range keys {
		at := strings.TrimPrefix(key, "disc-reach ")
		at = strings.ReplaceAll(at, " ", "/")
		if got[at] != value(i)+" in" {
			t.Errorf("%s: %q, not %s in", at, got[at], value(i))
		}
	}
	if got := h.get(roundPage); !strings.Contains(got.text, "0 of 48 kept") {
		t.Error("the next round does not begin anew")
	}
	p.must("audit")
}

// A slip is asked about on the page and taken when it is said to be right; a place that cannot be reached is a value; one that cannot be read stays in its
// field, and the others are kept.
func TestPhoneRoundSlips(t *testing.T) {
	p := newPhones(t)
	p.must("measure", "drill", "disc-reach", "5.2", "--yes", "--done", "2026-04-01")
	h := p.pair("Sam Rook", "barn phone")
	keys := h.keys()
	if got := h.keep(url.Values{"v." + keys[0]: {"30.2"}, "v." + keys[1]: {"5,3"}, "v." + keys[2]: {""}, "c." + keys[2]: {"1"}}); got.status != http.StatusSeeOther {
		t.Fatal(got.text)
	}
	got := h.get(roundPage)
	if !strings.Contains(got.text, "30.2 in?") || !strings.Contains(got.text, "2 of 48 kept") || !strings.Contains(got.text, "last 5.2 in, 2026-04-01") {
		t.Errorf("no question: %.4000s", got.text)
	}
	if got := h.send("GET", roundPage+"/review", nil, nil); got.at != roundPage {
		t.Errorf("review with a question open: %d", got.status)
	}
	h.keep(url.Values{"v." + keys[0]: {"30.2"}}) // sent again is no answer
	if got := h.get(roundPage); !strings.Contains(got.text, "30.2 in?") {
		t.Error("a slip was taken because it came twice")
	}
	h.keep(url.Values{"v." + keys[0]: {"30.2"}, "s." + keys[0]: {"1"}})
	if got := h.get(roundPage); strings.Contains(got.text, "30.2 in?") || !strings.Contains(got.text, "3 of 48 kept") {
		t.Error("a slip said to be right is still asked about")
	}
	if got := h.keep(url.Values{"v." + keys[3]: {"thick"}, "v." + keys[4]: {"5.4"}}); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, `value="thick"`) || !strings.Contains(got.text, "4 of 48 kept") {
		t.Errorf("%d %.3000s", got.status, got.text)
	}
	h.keep(url.Values{"v." + keys[4]: {""}, "h." + keys[4]: {"1"}})
	if got := h.get(roundPage); !strings.Contains(got.text, "3 of 48 kept") {
		t.Error("a value taken out of its field is still kept")
	}
	got = h.send("POST", roundPage, url.Values{"token": {h.form(roundPage).Get("token")}, "v." + keys[5]: {"0.2"}, "v." + keys[6]: {"x"}}, func(r *http.Request) { r.Header.Set("Accept", "application/json") })
	if got.status != 200 || !strings.Contains(got.text, `"said":3,"all":48`) || !strings.Contains(got.text, `"odd":"0.2 in?`) || !strings.Contains(got.text, `"wrong":`) {
		t.Errorf("%d %s", got.status, got.text)
	}
	h.keep(url.Values{"v." + keys[5]: {"5.1"}})
	f := h.form(roundPage + "/review")
	if got := h.send("POST", roundPage+"/sign", f, nil); got.status != http.StatusSeeOther {
		t.Fatal(got.text)
	}
	r, _ := p.last()
	reach := 0
	for _, v := range r.(*record.Measure).Values {
		if v.Cannot == "reach" {
			reach += v.Positions.Len()
		}
	}
	if reach != 1 {
		t.Errorf("%d places cannot be reached: %+v", reach, r)
	}
}

// Two phones go round the same drill at once; each signs its own.
func TestPhoneTwoRounds(t *testing.T) {
	p := newPhones(t)
	hands := []*handset{p.pair("Sam Rook", "barn phone"), p.pair("Juno Alder", "juno's phone")}
	keys := hands[0].keys()
	before := len(p.entries())
	var wait sync.WaitGroup
	for n, h := range hands {
		token := h.form(roundPage).Get("token")
		wait.Go(func() {
			for i, key := range keys[n*24 : n*24+24] {
				h.send("POST", roundPage, url.Values{"token": {token}, "v." + key: {fmt.Sprintf("5.%d", n+3+i%2)}}, nil)
			}
		})
	}
	wait.Wait()
	for n, h := range hands {
		f := h.form(roundPage + "/review")
		f.Set("note", fmt.Sprint("half ", n+1))
		if got := h.send("POST", roundPage+"/sign", f, nil); got.status != http.StatusSeeOther {
			t.Fatal(got.text)
		}
		r, private := p.last()
		count := 0
		for _, v := range r.(*record.Measure).Values {
			count += v.Positions.Len()
		}
		if count != 24 || private.Entered.Phone != []string{"barn phone", "juno's phone"}[n] {
			t.Errorf("%d places by %+v", count, private.Entered)
		}
	}
	if n := len(p.entries()) - before; n != 2 {
		t.Errorf("%d entries", n)
	}
}
