package faults

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// plan is a scene made ready: what its command does when nothing goes wrong.
type plan struct {
	f      *farm
	s      *scene
	args   []string
	now    time.Time
	calls  []call         // that change the disk
	made   map[string]int // of each name
	before map[string]int // entries of the book
	after  map[string]int // entries when all goes well
	file   []byte         // what it writes then
	known  map[string]bool
}

func newPlan(f *farm, s *scene) *plan {
	p := &plan{f: f, s: s, made: map[string]int{}, known: map[string]bool{}}
	line := strings.ReplaceAll(s.line, "STICK", f.live("stick"))
	if strings.Contains(line, "LAST") {
		line = strings.ReplaceAll(line, "LAST", lastID(f, s.device))
	}
	if strings.Contains(line, "DIGEST") {
		line = strings.ReplaceAll(line, "DIGEST", firstPaper(f, s.device))
	}
	p.args = fields(line)
	f.now = f.now.Add(time.Hour)
	p.now = f.now
	f.keep()
	if !s.begins {
		p.before = p.held()
		p.codes(p.audit())
	}
	var first trace
	for i := range 2 {
		f.back()
		f.now = p.now
		a, tr := f.under(nil, s.device, p.args...)
		if a.code != 0 {
			f.t.Fatalf("%s fails by itself: exit %d\n%s%s", s.line, a.code, a.out, a.err)
		}
		if len(tr.elsewhere) > 0 {
			f.t.Fatalf("%s changes the disk from more than one thread: %v", s.line, tr.elsewhere)
		}
		if i == 0 {
			first = tr
			continue
		}
		if fmt.Sprint(tr.calls) != fmt.Sprint(first.calls) {
			f.t.Logf("%s makes other calls each time: %d and %d", s.line, len(first.calls), len(tr.calls))
		}
	}
	for _, c := range first.calls {
		if c.writes {
			p.calls = append(p.calls, c)
			p.made[c.name]++
		}
	}
	p.after = p.held()
	p.codes(p.audit())
	if s.writes != "" {
		data, err := os.ReadFile(f.live(s.writes))
		must(f.t, err)
		p.file = data
	}
	if s.after != nil {
		must(f.t, s.after(f))
		p.codes(p.audit())
	}
	return p
}

// lastID is the id of a device's newest entry.
func lastID(f *farm, device string) string {
	m := regexp.MustCompile(`"id":"([0-9a-f]{64})"`).FindAllStringSubmatch(f.do(device, "history --json --last 1"), -1)
	if len(m) != 1 {
		f.t.Fatal("the history does not name the last entry")
	}
	return m[0][1]
}

// firstPaper is the digest of the first paper of a device's book.
func firstPaper(f *farm, device string) string {
	m := regexp.MustCompile(`"digest":"([0-9a-f]{64})"`).FindStringSubmatch(f.do(device, "paper --json"))
	if m == nil {
		f.t.Fatal("no paper is listed")
	}
	return m[1]
}

func (p *plan) book() string { return p.f.live(p.s.device, "book") }

func (p *plan) held() map[string]int {
	p.f.t.Helper()
	ids, err := held(p.book())
	must(p.f.t, err)
	return ids
}

// finding is one of an audit's.
type finding struct{ Severity, Code, Message string }

type audited struct {
	Sound    bool
	Findings []finding
	answer   answer
}

func (p *plan) audit() audited {
	var a audited
	a.answer = p.f.try(p.s.device, "audit", "--json")
	if err := json.Unmarshal([]byte(a.answer.out), &a); err != nil {
		a.Sound = false
	}
	return a
}

func (p *plan) codes(a audited) {
	p.f.t.Helper()
	if !a.Sound || a.answer.code != 0 {
		p.f.t.Fatalf("the book does not verify before any fault: %s%s", a.answer.out, a.answer.err)
	}
	for _, one := range a.Findings {
		p.known[one.Code] = true
	}
}

// wrongAudit says what an audit finds that a whole book does not have.
func (p *plan) wrongAudit(when string) []string {
	a := p.audit()
	var wrong []string
	if !a.Sound || a.answer.code != 0 {
		wrong = append(wrong, fmt.Sprintf("%s: audit: exit %d\n%s%s", when, a.answer.code, a.answer.out, a.answer.err))
	}
	for _, one := range a.Findings {
		if !p.known[one.Code] {
			wrong = append(wrong, fmt.Sprintf("%s: audit finds %s: %s", when, one.Code, one.Message))
		}
	}
	if bad := unplain(a.answer.err); bad != "" {
		wrong = append(wrong, fmt.Sprintf("%s: audit says %q\n%s", when, bad, a.answer.err))
	}
	return wrong
}

// litter lists files that only a command at work may have and that no later one takes over: those with one fixed name are overwritten by the next.
func (p *plan) litter() []string {
	var left []string
	must(p.f.t, filepath.WalkDir(p.f.live(), func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := e.Name()
		if strings.HasSuffix(name, ".lock") && name != "sync.lock" || regexp.MustCompile(`-\d+$`).MatchString(name) || name == "unfinished" {
			left = append(left, strings.TrimPrefix(path, p.f.live()))
		}
		return nil
	}))
	return left
}
