package main

import (
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules/record"
)

// sameAsCommand sends a form, and its command to a copy of the book as it stood: both must record the same, but for who did it and who entered it.
func (p *phones) sameAsCommand(h *handset, path string, fill url.Values, command []string) {
	p.t.Helper()
	beside := p.twin()
	beside.must(command...)
	want, wantPrivate := beside.last()
	h.record(path, fill)
	got, gotPrivate := p.last()
	if gotPrivate == nil || gotPrivate.Entered == nil || gotPrivate.Entered.Phone != "barn phone" {
		p.t.Errorf("private %+v", gotPrivate)
		return
	}
	if base := record.Base(got); base != nil && base.By != nil {
		if len(base.By) != 1 || gotPrivate.Entered.Person != base.By[0] {
			p.t.Errorf("by %v, private %+v", base.By, gotPrivate)
		}
		base.By = nil
	}
	gotPrivate.Entered = nil
	if wantPrivate == nil {
		wantPrivate = &record.Private{}
	}
	for _, r := range []record.Record{got, want} { // places as they were typed: ticks are typed one by one
		switch r := r.(type) {
		case *record.Did:
			r.Said = ""
		case *record.Swap:
			r.Said = ""
		}
	}
	a, _ := json.Marshal(got)
	b, _ := json.Marshal(want)
	if diff := cmp.Diff(string(b), string(a)); diff != "" {
		p.t.Errorf("(-command +phone)\n%s", diff)
	}
	if diff := cmp.Diff(wantPrivate, gotPrivate); diff != "" {
		p.t.Errorf("(-command +phone)\n%s", diff)
	}
}

// newPhoneShed is a book with a drill, a tractor and a second yard, and a phone of Sam's.
func newPhoneShed(t *testing.T) (*phones, *handset) {
	p := newPhones(t)
	p.at("2026-03-02T08:00")
	p.must("machine", "add", "tractor", "tractor", "--counter", "hours=4000h")
	p.must("shelf", "add", "disc", "12")
	p.must("machine", "add", "twin", "disc-drill", "--options", "openers=24,discs=pair", "--counter", "area=100ac")
	p.must("yard", "add", "creek")
	p.at("2026-05-05T17:20")
	return p, p.pair("Sam Rook", "barn phone")
}

// Whatever else the shed records, a phone records as its command does.
func TestPhoneRecordsTheRestAsCommandsDo(t *testing.T) {
	p, h := newPhoneShed(t)
	first := "/m/drill/record/swap?what="
	for _, x := range []struct {
		name, path string
		fill       url.Values
		command    []string
	}{
		{"new parts, by groups", first + "scraper", url.Values{"at": {"front-rank"}, "why": {"worn"}, "counter.area": {"1812"}}, []string{"swap", "drill", "front-rank", "scraper", "--why", "worn", "--counter", "area=1812"}},
		{"from the shelf", first + "disc", url.Values{"at": {"opener/12"}, "from-shelf": {"1"}, "serial": {"L-77"}}, []string{"swap", "drill", "12", "disc", "--from-shelf", "--serial", "L-77"}},
		{"of one hand", "/m/twin/record/swap?what=disc", url.Values{"at": {"opener/12"}, "hand": {"left"}}, []string{"swap", "twin", "12", "disc", "--hand", "left"}},
		{"off another machine", "/m/drill/record/swap?what=packer-wheel", url.Values{"act": {"used"}, "in": {"twin:3"}, "places": {"5"}}, []string{"swap", "drill", "5", "packer-wheel", "--in", "twin:3"}},
		{"bought used", first + "hub-bearing", url.Values{"places": {"14"}, "used": {"600ac"}, "note": {"from the sale at Creek"}}, []string{"swap", "drill", "14", "hub-bearing", "--used", "600ac", "--note", "from the sale at Creek"}},
		{"exchanged", first + "disc", url.Values{"act": {"exchange"}, "at": {"opener/12"}, "with": {"30"}}, []string{"swap", "drill", "12", "disc", "--with", "30"}},
		{"turned", first + "scraper", url.Values{"act": {"turned"}, "places": {"7"}}, []string{"swap", "drill", "7", "scraper", "--turned"}},
		{"sharpened, a range", first + "scraper", url.Values{"act": {"sharpened"}, "row.0": {"opener/1 opener/3 opener/5 opener/7"}, "from.0": {"opener/7"}, "to.0": {"opener/3"}}, []string{"swap", "drill", "opener/3", "opener/5", "opener/7", "scraper", "--sharpened"}},
		{"rebuilt", first + "arm", url.Values{"act": {"rebuilt"}, "places": {"9"}}, []string{"swap", "drill", "9", "arm", "--rebuilt"}},
		{"taken off for the shelf", first + "scraper", url.Values{"act": {"out"}, "places": {"44"}, "to-shelf": {"1"}}, []string{"swap", "drill", "44", "scraper", "--out", "--to-shelf"}},
		{"a used one from the shelf", first + "scraper", url.Values{"act": {"used"}, "in": {"shelf"}, "places": {"44"}}, []string{"swap", "drill", "44", "scraper", "--in", "shelf"}},
		{"hitched", "/m/drill/record/hitch", url.Values{"what": {"tractor"}, "counter.area": {"1813"}}, []string{"hitch", "drill", "tractor", "--counter", "area=1813"}},
		{"unhitched", "/m/drill/record/hitch", url.Values{"what": {"-"}}, []string{"hitch", "drill", "--off"}},
		{"stored", "/m/drill/record/store", url.Values{"slack": {"springs\r\npump drained"}}, []string{"machine", "store", "drill", "--slack", "springs,pump drained"}},
		{"taken out", "/m/drill/record/store", url.Values{"put-back": {"springs"}}, []string{"machine", "store", "drill", "--out", "--put-back", "springs"}},
		{"put back", "/m/drill/record/store", url.Values{"put-back": {"pump drained"}, "day": {"2026-05-05"}}, []string{"machine", "store", "drill", "--out", "--put-back", "all", "--done", "2026-05-05"}},
		{"to another yard", "/m/drill/record/move", url.Values{"what": {"creek"}}, []string{"machine", "move", "drill", "creek"}},
		{"counter, added", "/m/drill/record/counter", url.Values{"what": {"area"}, "act": {"add"}, "value": {"40"}}, []string{"counter", "drill", "area", "+40"}},
		{"a set-up", "/m/drill/record/adjust", url.Values{"what": {"setup"}, "value": {"spring"}}, []string{"adjust", "drill", "setup=spring"}},
		{"counter replaced", "/m/tractor/record/counter", url.Values{"what": {"hours"}, "act": {"replaced"}, "last": {"4312"}, "value": {"3"}}, []string{"counter", "tractor", "hours", "replaced", "--last", "4312", "--start", "3"}},
		{"counter replaced, from zero", "/m/tractor/record/counter", url.Values{"what": {"hours"}, "act": {"replaced"}}, []string{"counter", "tractor", "hours", "replaced"}},
		{"a season begins", "/seasons", url.Values{"what": {"open"}, "other": {"spring seeding 2026"}, "day": {"2026-04-12"}}, []string{"season", "open", "spring seeding 2026", "--done", "2026-04-12"}},
		{"a season is over", "/seasons", url.Values{"what": {"close"}, "value": {"spring seeding 2026"}}, []string{"season", "close", "spring seeding 2026"}},
		{"a season whose name says no work", "/seasons", url.Values{"what": {"open"}, "other": {"fall wheat"}, "work": {"seeding"}, "note": {"dry"}}, []string{"season", "open", "fall wheat", "--work", "seeding", "--note", "dry"}},
	} {
		t.Run(x.name, func(*testing.T) { p.sameAsCommand(h, x.path, x.fill, x.command) })
	}
	p.must("audit")
}

// One's own entry is put right as correct does it; nobody else's; what is left empty stays.
func TestPhoneCorrects(t *testing.T) {
	p, h := newPhoneShed(t)
	juno := p.pair("Juno Alder", "juno's phone")
	for _, x := range []struct {
		name, path string
		fill       url.Values
		right      url.Values
		command    []string // behind correct and the id
	}{
		{"fewer places, another day", "/m/drill/job/grease", url.Values{"which": {"all"}}, url.Values{"but": {"14"}, "day": {"2026-05-04"}}, []string{"but", "14", "--done", "2026-05-04"}},
		{"other places", "/m/drill/job/grease", url.Values{"which": {"some"}, "at": {"opener/3"}}, url.Values{"places": {"5-9"}, "note": {"read the wrong line"}}, []string{"5-9", "--note", "read the wrong line"}},
		{"a value", "/m/drill/record/adjust", url.Values{"what": {"depth"}, "value": {"6"}}, url.Values{"value": {"5"}}, []string{"5"}},
		{"a counter", "/m/drill/record/counter", url.Values{"what": {"area"}, "value": {"1812"}}, url.Values{"value": {"area=1821"}}, []string{"area=1821"}},
		{"a fault's words and weight", "/m/drill/record/fault", url.Values{"text": {"hub rough"}, "at": {"opener/23"}}, url.Values{"text": {"hub rough and hot"}, "severity": {"stop"}, "places": {"24"}}, []string{"24", "hub rough and hot", "--stop"}},
		{"words only", "/m/drill/record/note", url.Values{"text": {"tubes changed"}}, url.Values{"text": {"tubes changed end for end"}}, []string{"tubes changed end for end"}},
		{"why a part was swapped", "/m/drill/record/swap?what=scraper", url.Values{"places": {"7"}}, url.Values{"why": {"broken"}, "minutes": {"20"}}, []string{"--why", "broken", "--minutes", "20"}},
		{"what was left slack", "/m/drill/record/store", nil, url.Values{"day": {"2026-05-01"}}, []string{"--done", "2026-05-01"}},
	} {
		t.Run(x.name, func(t *testing.T) {
			h.record(x.path, x.fill)
			machine := regexp.MustCompile(`^/m/[a-z]+`).FindString(x.path)
			m := regexp.MustCompile(`href="(` + machine + `/correct/([0-9a-f]{64}))"`).FindStringSubmatch(h.get(machine + "/past").text)
			if m == nil {
				t.Fatal("it is not offered to be put right")
			}
			if got := juno.get(m[1]); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "not yours") {
				t.Errorf("Juno gets %d", got.status)
			}
			f := juno.form("/m/drill/record/note")
			f.Set("kind", "correct")
			f.Set("as", "note")
			f.Set("entry", m[2])
			f.Set("day", "2026-05-03")
			before := len(p.entries())
			if got := juno.send("POST", "/record", f, nil); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "not yours to put right") {
				t.Errorf("Juno's correction: %d %s", got.status, got.text)
			}
			if n := len(p.entries()) - before; n != 0 {
				t.Errorf("Juno made %d entries", n)
			}
			p.sameCorrection(h, m[1], m[2], x.right, x.command)
		})
	}
	p.must("audit")
}

// sameCorrection is sameAsCommand for a correction, whose record stands within it.
func (p *phones) sameCorrection(h *handset, path, id string, fill url.Values, command []string) {
	p.t.Helper()
	beside := p.twin()
	beside.must(append([]string{"correct", id}, command...)...)
	want, wantPrivate := beside.last()
	h.record(path, fill)
	got, gotPrivate := p.last()
	a, b := got.(*record.Correct), want.(*record.Correct)
	if string(a.Entry) != id || a.As != b.As {
		p.t.Errorf("corrects %s as %s", a.Entry, a.As)
	}
	if diff := cmp.Diff(string(b.Record), string(a.Record)); diff != "" {
		p.t.Errorf("(-command +phone)\n%s", diff)
	}
	if gotPrivate == nil || gotPrivate.Entered == nil || gotPrivate.Entered.Phone != "barn phone" {
		p.t.Fatalf("private %+v", gotPrivate)
	}
	gotPrivate.Entered = nil
	if wantPrivate == nil {
		wantPrivate = &record.Private{}
	}
	wantPrivate.Entered = nil
	if diff := cmp.Diff(wantPrivate, gotPrivate); diff != "" {
		p.t.Errorf("(-command +phone)\n%s", diff)
	}
}

// An entry typed on the wrong machine goes to the right one; the old one is taken back.
func TestPhoneWrongMachine(t *testing.T) {
	p, h := newPhoneShed(t)
	h.record("/m/drill/record/fault", url.Values{"text": {"rear lights dead"}})
	m := regexp.MustCompile(`href="(/m/drill/correct/[0-9a-f]{64})"`).FindStringSubmatch(h.get("/m/drill/past").text)
	before := len(p.entries())
	got := h.record(m[1], url.Values{"other-machine": {"tractor"}})
	if !strings.Contains(got.text, "rear lights dead") || !strings.Contains(got.text, "tractor") || !strings.Contains(got.text, "taken back:") {
		t.Error(got.text)
	}
	if n := len(p.entries()) - before; n != 2 {
		t.Errorf("%d entries, not a strike and a fault", n)
	}
	if got := h.get("/m/tractor"); !strings.Contains(got.text, "rear lights dead") {
		t.Error(got.text)
	}
	if got := h.get("/m/drill"); strings.Contains(got.text, "rear lights dead") {
		t.Error("still a fault of the drill")
	}
}

// What cannot be so is refused on the form itself, and nothing is written.
func TestPhoneRefusesTheRest(t *testing.T) {
	p, h := newPhoneShed(t)
	p.must("hitch", "drill", "tractor")
	before := len(p.entries())
	for _, x := range []struct {
		path string
		fill url.Values
		want string
	}{
		{"/m/drill/record/swap?what=scraper", nil, "No place is ticked."},
		{"/m/drill/record/swap?what=scraper", url.Values{"at": {"opener/3"}, "act": {"exchange"}}, "With which place was it exchanged?"},
		{"/m/drill/record/swap?what=scraper", url.Values{"at": {"opener/3"}, "act": {"exchange"}, "with": {"4-6"}}, "the numbers differ"},
		{"/m/drill/record/swap?what=scraper", url.Values{"at": {"opener/3"}, "act": {"used"}}, "Where did the used part come from?"},
		{"/m/drill/record/swap?what=scraper", url.Values{"at": {"opener/3"}, "act": {"used"}, "in": {"shelf"}}, "no used scraper lies on the shelf"},
		{"/m/drill/record/swap?what=scraper", url.Values{"row.0": {"opener/1 opener/3"}, "from.0": {"opener/3"}}, "A range has its first place only."},
		{"/m/drill/record/swap?what=scraper", url.Values{"row.0": {"opener/1 opener/99"}, "from.0": {"opener/1"}, "to.0": {"opener/99"}}, "99"},
		{"/m/drill/record/swap?what=scraper", url.Values{"at": {"opener/3"}, "why": {"tired"}}, "tired"},
		{"/m/drill/record/hitch", nil, "Nothing is chosen."},
		{"/m/tractor/record/hitch", url.Values{"what": {"drill"}}, "machines cannot pull each other"},
		{"/m/drill/record/move", url.Values{"what": {"nowhere"}}, "nowhere"},
		{"/m/drill/record/store", url.Values{"out": {"1"}}, "is not in storage"},
		{"/m/drill/record/counter", url.Values{"what": {"area"}, "value": {"1700"}, "last": {"1690"}}, "go with a counter that was reset or replaced"},
		{"/seasons", url.Values{"what": {"close"}, "other": {"spring"}}, "there is no season"},
		{"/seasons", url.Values{"what": {"plan"}, "other": {"spring seeding"}}, "There is no such thing"},
		{"/seasons", url.Values{"what": {"open"}}, "No season is named."},
	} {
		f := h.form(x.path)
		for name, v := range x.fill {
			f[name] = v
		}
		got := h.send("POST", "/record", f, nil)
		if got.status < 400 || got.status >= 500 || !strings.Contains(got.text, x.want) || !strings.Contains(got.text, `action="/record"`) {
			t.Errorf("%s %v: %d\n%s", x.path, x.fill, got.status, got.text)
		}
	}
	if n := len(p.entries()) - before; n != 0 {
		t.Errorf("%d entries", n)
	}
}
