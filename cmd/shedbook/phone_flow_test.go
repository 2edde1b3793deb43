package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules"
	"shedbook/rules/record"
)

// From scanning the square to "greased, all openers, today" recorded: at most eight taps (the page's own promise).
func TestPhoneTaps(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	if got := h.get("/"); !strings.Contains(got.text, `href="/m/drill"`) && !strings.Contains(got.text, `href="/machines"`) {
		t.Fatal(got.text)
	}
	for _, link := range []string{"/machines", "/m/drill", "/m/drill/job/grease"} { // where grease is not on today's list; else one
		h.taps++
		if got := h.get(link); got.status != 200 {
			t.Fatalf("%s: %d", link, got.status)
		}
	}
	h.taps++
	got := h.record("/m/drill/job/grease", url.Values{"which": {"all"}})
	if !strings.Contains(got.text, "greased all 48 openers on drill, Tue 2026-05-05 17:20, by Sam Rook, entered by Sam Rook on the phone barn phone") {
		t.Error(got.text)
	}
	if h.taps > 8 {
		t.Errorf("%d taps, at most 8 are promised", h.taps)
	}
	t.Logf("%d taps", h.taps)
}

// What a phone records is what the command records, but for who did it and who entered it.
func TestPhoneRecordsAsCommandsDo(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	for _, x := range []struct {
		name, path string
		fill       url.Values
		command    []string
	}{
		{"all openers", "/m/drill/job/grease", url.Values{"which": {"all"}}, []string{"did", "drill", "grease"}},
		{"some, ticked", "/m/drill/job/grease", url.Values{"which": {"some"}, "at": {"opener/3", "opener/4", "opener/9"}, "counter.area": {"1812,5"}}, []string{"did", "drill", "opener/3", "opener/4", "opener/9", "grease", "--counter", "area=1812,5"}},
		{"some, written", "/m/drill/job/grease", url.Values{"which": {"some"}, "places": {"1-24 but 14"}, "note": {"14 takes none"}}, []string{"did", "drill", "1-24", "grease", "but", "14", "--note", "14 takes none"}},
		{"torque", "/m/drill/job/torque-check", url.Values{"which": {"all"}, "moved": {"14,31"}, "torque": {"150"}, "torque-unit": {"lbf.ft"}}, []string{"did", "drill", "torque-check", "--moved", "14,31", "--torque", "150lbf.ft"}},
		{"fault", "/m/drill/record/fault", url.Values{"text": {"hub rough"}, "severity": {"winter"}, "at": {"opener/23"}}, []string{"fault", "drill", "opener/23", "hub rough", "--winter"}},
		{"fault of the machine", "/m/drill/record/fault", url.Values{"text": {"rear lights dead"}, "severity": {"soon"}, "needs": {"bulb=2\r\nfuse"}}, []string{"fault", "drill", "rear lights dead", "--soon", "--needs", "bulb=2", "--needs", "fuse"}},
		{"repair", "/m/drill/record/repair", url.Values{"text": {"new hub"}, "at": {"opener/23"}, "used": {"hub=1"}, "minutes": {"90"}}, []string{"repair", "drill", "opener/23", "new hub", "--used", "hub=1", "--minutes", "90"}},
		{"note", "/m/drill/record/note", url.Values{"text": {"seed tubes swapped end for end"}, "day": {"2026-05-04"}}, []string{"note", "drill", "seed tubes swapped end for end", "--done", "2026-05-04"}},
		{"counter", "/m/drill/record/counter", url.Values{"what": {"area"}, "value": {"1820"}}, []string{"counter", "drill", "area=1820"}},
		{"setting", "/m/drill/record/adjust", url.Values{"what": {"depth"}, "value": {"6"}}, []string{"adjust", "drill", "depth=6"}},
		{"setting, by a step", "/m/drill/record/adjust", url.Values{"what": {"depth"}, "value": {"+1"}, "places": {"1-4"}}, []string{"adjust", "drill", "1-4", "depth", "+1"}},
	} {
		t.Run(x.name, func(*testing.T) {
			p.sameAsCommand(h, x.path, x.fill, x.command)
		})
	}
	p.must("audit")
}

// A form that comes twice, at once or after the page was opened anew, is recorded once and answered alike.
func TestPhoneOnce(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	f := h.form("/m/drill/job/grease")
	f.Set("which", "all")
	before := len(p.entries())
	var wait sync.WaitGroup
	places := make([]string, 8)
	for i := range places {
		wait.Go(func() { places[i] = (&handset{p: p, cookie: h.cookie}).send("POST", "/record", f, nil).at })
	}
	wait.Wait()
	p.open()
	p.at("2026-05-05T18:00")
	places = append(places, h.send("POST", "/record", f, nil).at)
	for _, at := range places {
		if at != "/recorded/"+f.Get("once") {
			t.Errorf("answered %q", at)
		}
	}
	if n := len(p.entries()) - before; n != 1 {
		t.Errorf("%d entries", n)
	}
	if got := h.get(places[0]); !strings.Contains(got.text, "greased all 48 openers") {
		t.Error(got.text)
	}
}

// What the commands ask about is asked on a page of its own, with all that was typed; no gives the form back, yes records.
func TestPhoneAsks(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	f := h.form("/m/drill/record/counter")
	f.Set("what", "area")
	f.Set("value", "1200")
	before := len(p.entries())
	got := h.send("POST", "/record", f, nil)
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "1600 ac") {
		t.Fatalf("%d %s", got.status, got.text)
	}
	sure := regexp.MustCompile(`name="sure" value="([^"]+)"`).FindStringSubmatch(got.text)
	if sure == nil {
		t.Fatal(got.text)
	}
	f.Set("change", "1")
	if got := h.send("POST", "/record", f, nil); !strings.Contains(got.text, `value="1200"`) || !strings.Contains(got.text, `name="value"`) {
		t.Errorf("the form did not come back: %s", got.text)
	}
	if n := len(p.entries()) - before; n != 0 {
		t.Fatalf("%d entries before anybody was sure", n)
	}
	f.Del("change")
	f.Set("sure", strings.ReplaceAll(strings.ReplaceAll(sure[1], "&#34;", `"`), "&#39;", "'"))
	if got := h.send("POST", "/record", f, nil); got.status != http.StatusSeeOther {
		t.Errorf("%d %s", got.status, got.text)
	}
	if n := len(p.entries()) - before; n != 1 {
		t.Errorf("%d entries", n)
	}
}

// A form that cannot be recorded comes back with what was typed and why; nothing is recorded.
func TestPhoneRefuses(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	before := len(p.entries())
	for _, x := range []struct {
		path string
		fill url.Values
		want string
	}{
		{"/m/drill/job/grease", url.Values{"which": {"some"}}, "No place is ticked."},
		{"/m/drill/job/grease", url.Values{"which": {"all"}, "at": {"opener/3"}}, "Some places are ticked or written, but not chosen."},
		{"/m/drill/job/grease", url.Values{"which": {"some"}, "places": {"49"}}, "49"},
		{"/m/drill/job/torque-check", url.Values{"which": {"some"}, "places": {"1-4"}, "moved": {"9"}}, "the job was not done there"},
		{"/m/drill/record/fault", url.Values{"text": {"  "}}, "Nothing is said."},
		{"/m/drill/record/fault", url.Values{"text": {"rough"}, "severity": {"from=/etc/passwd"}, "needs": {"hub=no"}}, "is no number of parts"},
		{"/m/drill/record/counter", url.Values{"what": {"area"}, "value": {"many"}}, "many"},
		{"/m/drill/record/adjust", url.Values{"what": {"depth"}, "value": {"99"}}, "99"},
	} {
		f := h.form(x.path)
		for name, v := range x.fill {
			f[name] = v
		}
		got := h.send("POST", "/record", f, nil)
		if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, x.want) || !strings.Contains(got.text, `action="/record"`) {
			t.Errorf("%s %v: %d\n%s", x.path, x.fill, got.status, got.text)
		}
	}
	if n := len(p.entries()) - before; n != 0 {
		t.Errorf("%d entries", n)
	}
}

// One's own entry can be taken back, nobody else's.
func TestPhoneTakesBack(t *testing.T) {
	p := newPhones(t)
	sam, juno := p.pair("Sam Rook", "barn phone"), p.pair("Juno Alder", "juno's phone")
	sam.record("/m/drill/record/note", url.Values{"text": {"wrong place"}})
	link := regexp.MustCompile(`href="(/m/drill/strike/[0-9a-f]{64})"`)
	if m := link.FindStringSubmatch(juno.get("/m/drill/past").text); m != nil {
		t.Errorf("Juno is offered %s", m[1])
	}
	m := link.FindStringSubmatch(sam.get("/m/drill/past").text)
	if m == nil {
		t.Fatal("Sam is not offered to take it back")
	}
	id := filepath.Base(m[1])
	if got := juno.get(m[1]); got.status != http.StatusUnprocessableEntity {
		t.Errorf("Juno gets %d", got.status)
	}
	f := juno.form("/m/drill/record/note")
	f.Set("kind", "strike")
	f.Set("entry", id)
	if got := juno.send("POST", "/record", f, nil); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "not yours to take back") {
		t.Errorf("Juno's strike: %d %s", got.status, got.text)
	}
	sam.record(m[1], url.Values{"note": {"typed on the wrong machine"}})
	r, private := p.last()
	s, ok := r.(*record.Strike)
	if !ok || string(s.Entry) != id || private.Text != "typed on the wrong machine" || private.Entered == nil {
		t.Errorf("%#v %+v", r, private)
	}
	if got := sam.get("/m/drill/past"); !strings.Contains(got.text, "Taken back:") || link.MatchString(got.text) {
		t.Error(got.text)
	}
}

// The book that stays open answers as one opened anew, whatever phones and other programs recorded meanwhile.
func TestPhoneStaysCurrent(t *testing.T) {
	p := newPhones(t)
	p.at("2026-03-02T08:00")
	p.must("machine", "add", "tractor", "tractor", "--counter", "hours=4000h")
	p.must("hitch", "drill", "tractor")
	p.at("2026-05-05T17:20")
	h := p.pair("Sam Rook", "barn phone")
	check := func(when string) {
		t.Helper()
		var got dueJSON
		err := p.shop.with(func(b *book) error {
			if _, err := b.outlineNow(); err != nil {
				return err
			}
			list, err := gatherDue([]*book{b}, "", "", "", rules.Filter{All: true}, "", "")
			if err == nil {
				got = list.json(b.c)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		a, _ := json.Marshal(got)
		if diff := cmp.Diff(strings.TrimSpace(p.must("due", "--json", "--all")), string(a)); diff != "" {
			t.Errorf("%s (-anew +kept open)\n%s", when, diff)
		}
	}
	check("at first")
	h.record("/m/drill/job/grease", url.Values{"which": {"all"}})
	check("after a job")
	h.record("/m/tractor/record/counter", url.Values{"what": {"hours"}, "value": {"4050"}})
	check("after the counter of what pulls it")
	p.must("did", "drill", "1-4", "grease")
	check("after a command beside it")
	h.record("/m/drill/record/fault", url.Values{"text": {"hub out"}, "severity": {"stop"}, "at": {"opener/9"}, "tied-up": {"1"}})
	check("after a fault")
	f := h.form("/m/drill/record/repair")
	ids := regexp.MustCompile(`name="closes" value="([0-9a-f]{64})"`).FindStringSubmatch(h.get("/m/drill/record/repair").text)
	f.Set("closes", ids[1])
	f.Set("text", "new hub")
	f.Set("at", "opener/9")
	if got := h.send("POST", "/record", f, nil); got.status != http.StatusSeeOther {
		t.Fatal(got.text)
	}
	check("after its repair")
	h.record("/m/drill/record/swap?what=disc", url.Values{"at": {"opener/9"}, "why": {"worn"}})
	check("after a part")
	h.record("/m/drill/record/hitch", url.Values{"what": {"-"}})
	check("after it was unhitched")
	h.record("/m/tractor/record/counter", url.Values{"what": {"hours"}, "act": {"replaced"}, "value": {"1"}})
	check("after a new counter of what pulled it")
	h.record("/seasons", url.Values{"what": {"open"}, "other": {"spring seeding 2026"}})
	check("after a season began")
	h.record("/m/drill/record/store", url.Values{"slack": {"springs"}})
	check("after it was stored")
	own := regexp.MustCompile(`href="(/m/drill/correct/[0-9a-f]{64})"`).FindStringSubmatch(h.get("/m/drill/past").text)
	h.record(own[1], url.Values{"day": {"2026-05-04"}})
	check("after that was put right")
	p.at("2026-05-06T07:00")
	check("the next day")
}

// The list of phones lies beside the book, holds no cookie, is for its owner only, and is in no log.
func TestPhoneListKept(t *testing.T) {
	p := newPhones(t)
	h := p.pair("Sam Rook", "barn phone")
	path := filepath.Join(p.dir, "phones.json")
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("%v %v", info, err)
	}
	err = filepath.WalkDir(p.dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if bytes.Contains(data, []byte(h.cookie)) {
			t.Errorf("%s holds the cookie", path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	p.open()
	if got := h.get("/"); got.status != 200 {
		t.Errorf("not known after the page was opened anew: %d", got.status)
	}
	if _, err := p.page.Remove("barn phone"); err != nil {
		t.Fatal(err)
	}
	if got := h.get("/"); got.status != http.StatusUnauthorized {
		t.Errorf("still let in: %d", got.status)
	}
	if _, err := p.call().openShop(); err == nil || !strings.Contains(err.Error(), "open already") {
		t.Errorf("a second page: %v", err)
	}
}
