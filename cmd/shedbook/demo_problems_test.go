package main

import (
	"crypto/sha256"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"shedbook/rules/record"
)

// madeDemo is the made-up family's book as shedbook demo made it, to copy, and who made it.
var madeDemo struct {
	sync.Once
	under string // folder
}

// demoBook is the made-up family's book on the evening of its last day, as shedbook demo makes it. It is made once; each test has a copy.
func demoBook(t testing.TB) *testBook {
	dir := t.TempDir()
	b := &testBook{t: t, dir: filepath.Join(dir, "demo"), vars: map[string]string{"SHEDBOOK_CONFIG": filepath.Join(dir, "config"), "COLUMNS": "100"}, rand: rand.NewChaCha8(sha256.Sum256([]byte(t.Name())))}
	b.at("2026-10-02T22:00")
	made := &madeDemo
	made.Do(func() {
		under, err := os.MkdirTemp("", "demo")
		if err != nil {
			t.Fatal(err)
		}
		atEnd = append(atEnd, func() { os.RemoveAll(under) })
		first := *b
		first.dir, first.vars = filepath.Join(under, "demo"), map[string]string{"SHEDBOOK_CONFIG": filepath.Join(under, "config"), "COLUMNS": "100"}
		first.must("demo", first.dir)
		made.under = under
	})
	if made.under == "" {
		t.Fatal("the demo book could not be made")
	}
	if err := os.CopyFS(dir, os.DirFS(made.under)); err != nil {
		t.Fatal(err)
	}
	b.vars["SHEDBOOK_BOOK"] = b.dir
	return b
}

// due is the due list as programs get it.
func (b *testBook) due(args ...string) []dueItemJSON {
	b.t.Helper()
	var got dueJSON
	if err := json.Unmarshal([]byte(b.must(append([]string{"due", "--json"}, args...)...)), &got); err != nil {
		b.t.Fatal(err)
	}
	return got.Items
}

// planted is a problem of the made-up family's book: the item that tells it, where else it is found, and what takes it away.
type planted struct {
	name, machine, job string // job "" for a fault and a setting
	where              string // a place that the item names
	state, severity    string
	why                string   // the why of the item, from its beginning
	line               string   // of due, a regular expression
	prepare            string   // of prepare --before "spring seeding 2027"
	compare, compared  string   // of compare MACHINE "spring seeding 2025" "autumn seeding 2026"; "" where the two are alike in it
	cure               []string // the command that puts it right
	strike             int      // else the entry of the item, from the last, that is struck
}

// The six that the book is to hold on its last day, whatever else stands in it: found by the commands a person would use, and gone once they are put
// right or the entry is taken back, while the others stay.
var sixPlanted = []planted{
	{"an odd depth pin on one opener", "creek-drill", "", "opener/17", "open", "tidy", "seeding depth differs: opener 17 at 8, the rest 6", `creek-drill +depth +opener 17 +at 8, the rest 6`,
		`^  depth +opener 17 +at 8, the rest 6$`, "settings", `^depth +opener 17 +6 +mostly 6; changed during the +2026-10-02 Ash Tarn$`, nil, 1},
	{"a greasing after the season missed at one yard", "creek-drill", "grease", "opener/1", "overdue", "soon", "to be done after spring seeding 2026, closed on 2026-05-02, not done since; overdue after 30 days, on 2026-06-01",
		`creek-drill +grease +all 24 openers +after spring seeding 2026`, `^  grease +all 24 openers +after spring seeding 2026$`, "jobs", `^grease +3 +0 `, []string{"did", "creek-drill", "grease", "--done", "2026-05-05"}, 0},
	{"a disc swapped without its scraper", "drill", "scraper-height", "opener/9", "overdue", "tidy", "new disc done on 2026-09-28, to be done at once", `drill +scraper-height +opener 9 +since disc-swap on 2026-09-28`,
		`^  scraper-height +opener 9 +since disc-swap on 2026-09-28$`, "parts", `^disc +openers 1, 2, 9, `, nil, 1},
	{"a torque check not repeated though two moved", "drill", "torque-check", "opener/1", "overdue", "stop",
		"loosened by bearing preset of disc and packer hubs on 2026-09-08, last done 2026-09-17 (moved: openers 6, 17), every 20 h until none moved, counted from ",
		`drill +torque-check +openers 1-48 but 41 +overdue by `, `^  torque-check +openers 1-48 but 41 +overdue by `, "jobs", `^torque-check +3 +2 `, []string{"did", "drill", "torque-check", "--moved", "none"}, 0},
	{"greased before the preset, not after", "drill", "grease", "opener/30", "overdue", "soon", "bearing preset of disc and packer hubs done on 2026-10-01, to be done at once", `drill +grease +opener 30 +since preset on 2026-10-01`,
		`^  grease +opener 30 +since preset on 2026-10-01$`, "jobs", `^preset +0 +1 `, nil, 1},
	{"a fix for the time being that was never closed", "sprayer", "", "", "open", "soon", "found 2026-06-18, put right for the time being only", `sprayer +fault +for now only: left boom hose`,
		`^  fault +for now only: left boom hose`, "", "", []string{"repair", "sprayer", "--closes", "FAULT", "new hose, clamp off"}, 0},
}

func TestDemoHoldsItsProblems(t *testing.T) {
	b := demoBook(t)
	found := map[string]dueItemJSON{}
	text, prepared := b.must("due"), b.must("prepare", "--before", "spring seeding 2027")
	if n := strings.Count(text, "\n"); n > 50 {
		t.Errorf("due has %d lines: nobody reads that", n)
	}
	items := b.due()
	for _, p := range sixPlanted {
		i := p.item(t, items)
		if i == nil {
			t.Fatalf("%s: not in the due list", p.name)
		}
		found[p.name] = *i
		if i.State != p.state || i.Severity != p.severity || !strings.HasPrefix(i.Why, p.why) {
			t.Errorf("%s: %s, %s, %q", p.name, i.State, i.Severity, i.Why)
		}
		if !regexp.MustCompile("(?m)^ +" + p.line).MatchString(text) {
			t.Errorf("%s: due has no line %q in\n%s", p.name, p.line, text)
		}
		if !regexp.MustCompile("(?m)" + p.prepare).MatchString(prepared) {
			t.Errorf("%s: prepare has no line %q in\n%s", p.name, p.prepare, prepared)
		}
		if p.compare == "" {
			continue
		}
		changed := b.must("compare", p.machine, "spring seeding 2025", "autumn seeding 2026")
		if !regexp.MustCompile("(?m)" + p.compared).MatchString(changed) {
			t.Errorf("%s: compare has no line %q in\n%s", p.name, p.compared, changed)
		}
	}
	for n, p := range sixPlanted {
		i := found[p.name]
		cure := slices.Clone(p.cure)
		if len(cure) == 0 {
			cure = []string{"strike", i.Entries[len(i.Entries)-p.strike].Short()}
		}
		if at := slices.Index(cure, "FAULT"); at >= 0 {
			cure[at] = i.Entries[0].Short()
		}
		b.must(append(cure, "--yes")...)
		items := b.due()
		for k, other := range sixPlanted {
			if now := other.item(t, items); (now == nil) != (k <= n) {
				t.Fatalf("after shedbook %s: %s: %+v", strings.Join(cure, " "), other.name, now)
			}
		}
	}
}

// item is what tells a problem; nil when nothing in the list does.
func (p *planted) item(t testing.TB, items []dueItemJSON) *dueItemJSON {
	for _, i := range items {
		if i.Machine == p.machine && i.Job == p.job && i.State == p.state && strings.HasPrefix(i.Why, p.why) && (p.where == "" || placed(t, i, p.where)) {
			return &i
		}
	}
	return nil
}

func placed(t testing.TB, i dueItemJSON, place string) bool {
	var at []record.Position
	for _, s := range i.Positions {
		at = append(at, placesOf(t, s).All()...)
	}
	return slices.Contains(at, placesOf(t, place).All()[0])
}
