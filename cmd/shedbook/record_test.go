package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// runArgs runs a command with its words as they are, and with answers to what is asked where answers is not nil: then it runs as on a terminal.
func (s *shed) runArgs(answers *string, args ...string) (stdout, stderr string, code int) {
	s.t.Helper()
	s.n++
	var out, errs bytes.Buffer
	e := &env{
		stdin: strings.NewReader(""), stdout: &out, stderr: &errs, dir: s.dir, now: func() time.Time { return s.now },
		getenv: func(k string) string {
			return map[string]string{"HOME": s.home, "COLUMNS": "400", "SHEDBOOK_BOOK": s.dir}[k]
		},
		random: rand.NewChaCha8(sha256.Sum256([]byte(fmt.Sprint(s.n, args)))),
	}
	if answers != nil {
		e.stdin, e.asks = strings.NewReader(*answers), true
	}
	code = run(e, args)
	return out.String(), errs.String(), code
}

// Words that steer a terminal, cannot be seen, are too many or no text at all are refused before anything is signed, wherever they can be typed.
func TestHostileWords(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	before := len(s.entries())
	for _, bad := range []struct{ name, text, want string }{
		{"escape sequence", "hub \x1b[31mrough", "holds the character U+001B, which cannot be seen or steers a terminal"},
		{"bell", "hub\arough", "holds the character U+0007"},
		{"delete", "hub\x7frough", "holds the character U+007F"},
		{"right to left override", "hub \u202erough", "holds the character U+202E"},
		{"isolate", "hub \u2066rough", "holds the character U+2066"},
		{"byte order mark", "\ufeffhub", "holds the character U+FEFF"},
		{"tag letters", "hub\U000e0041", "holds the character U+E0041"},
		{"no UTF-8", "hub \xff rough", "not readable as text (UTF-8)"},
	} {
		for _, line := range [][]string{
			{"note", "drill", bad.text}, {"fault", "drill", "opener/3", bad.text}, {"repair", "drill", bad.text}, {"did", "drill", "grease", "--note", bad.text},
			{"did", "drill", "grease", "--crop", bad.text}, {"did", "drill", "grease", "--ground", bad.text}, {"did", "drill", "grease", "--who", bad.text},
			{"did", "drill", "grease", "--cost", bad.text + "=5"}, {"did", "tractor", "oil-change", "--fill", bad.text + "=5 L"},
			{"fault", "drill", "loose", "--needs", bad.text + "=2"}, {"measure", "drill", "3", "disc-reach", "5", "--with", bad.text},
			{"swap", "drill", "3", "disc", "--serial", bad.text}, {"season", "open", "seeding " + bad.text}, {"machine", "add", "d9", "disc-drill", "--yard", "home", "--title", bad.text},
			{"machine", "add", "d9", "disc-drill", "--yard", "home", "--serial", bad.text},
		} {
			out, errs, code := s.runArgs(nil, line...)
			if code != exitUsage || out != "" || !strings.Contains(errs, bad.want) {
				t.Errorf("%s: %q: exit %d\n%s%s", bad.name, line, code, out, errs)
			}
			if strings.ContainsAny(errs, "\x1b\a\x7f\u202e\u2066\ufeff") {
				t.Errorf("%s: %q: the error steers the terminal: %q", bad.name, line, errs)
			}
		}
	}
	_, errs, code := s.runArgs(nil, "note", "drill", strings.Repeat("long ", 1<<18))
	if want := "shedbook: the words: 1310719 bytes long, at most 16384\n"; code != exitUsage || !strings.HasPrefix(errs, want) {
		t.Errorf("a note of a megabyte: exit %d, %.200s; want %s", code, errs, want)
	}
	if n := len(s.entries()); n != before {
		t.Errorf("%d entries were written", n-before)
	}
}

// On a terminal what is unusual is asked about; only a yes records it, and nobody is asked while the book is locked: another line goes through meanwhile.
func TestConfirm(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook counter drill 1812`)
	first := s.entries()[len(s.entries())-1].id[:8]
	for _, test := range []struct {
		answer   string
		recorded bool
	}{{"y\n", true}, {"Yes\n", true}, {"n\n", false}, {"\n", false}, {"", false}, {"yesterday\n", false}} {
		s.now = s.now.Add(time.Minute)
		before := len(s.entries())
		out, errs, code := s.runArgs(&test.answer, "counter", "drill", "1700")
		asked := "area of drill would go backwards: it showed 1812 ac on Wed 2026-04-01 18:00, now 1700 ac (if it was set back or replaced: shedbook counter drill area reset|replaced; if the earlier one is wrong: shedbook correct " + first + " area=VALUE)\nRecord it all the same? [y/N] "
		if !strings.HasPrefix(errs, asked) {
			t.Fatalf("answer %q: asked\n%s\nwant\n%s", test.answer, errs, asked)
		}
		if got := len(s.entries()) == before+1; got != test.recorded || got != (code == exitDone) || got != strings.HasPrefix(out, "recorded: ") {
			t.Errorf("answer %q: recorded %v, want %v; exit %d\n%s%s", test.answer, got, test.recorded, code, out, errs)
		}
	}
	// two doubts are two questions, and both must be answered
	both := "y\ny\n"
	_, errs, code := s.runArgs(&both, "swap", "drill", "disc", "--counter", "area=1600")
	if code != exitDone || strings.Count(errs, "Record it all the same?") != 2 {
		t.Errorf("exit %d, %s", code, errs)
	}
	one := "y\nn\n"
	if _, errs, code = s.runArgs(&one, "swap", "drill", "disc", "--counter", "area=1500"); code != exitFailed || !strings.HasSuffix(errs, "shedbook: nothing was recorded\n") {
		t.Errorf("exit %d, %s", code, errs)
	}
	// --yes asks nothing
	if _, errs, code = s.runArgs(&one, "swap", "drill", "disc", "--counter", "area=1500", "--yes"); code != exitDone || strings.Contains(errs, "?") {
		t.Errorf("exit %d, %s", code, errs)
	}
}

// A reading asked for and a doubt about it are answered on the same terminal.
func TestAskThenConfirm(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook counter drill 1812 --done 2026-03-30`)
	answers := "5.9\n5.8\n\ny\n"
	out, errs, code := s.runArgs(&answers, "measure", "drill", "1,3", "disc-reach", "--ask", "--done", "2026-03-31", "--counter", "area=1700")
	if code != exitDone || !strings.HasPrefix(out, "recorded: measured disc, edge to hub on openers 1, 3: 5.8 to 5.9 in, at 1700 ac on drill, Tue 2026-03-31") {
		t.Errorf("exit %d\n%s%s", code, out, errs)
	}
	if !strings.Contains(errs, "area of drill would go backwards") {
		t.Errorf("not asked about the counter:\n%s", errs)
	}
}

// What nobody can have done yet is asked of nobody, on a terminal either; --yes records it where a clock is behind.
func TestFutureIsRefused(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	yes := "y\n"
	before := len(s.entries())
	if _, errs, code := s.runArgs(&yes, "note", "drill", "from May on", "--done", "2026-05-01"); code != exitFailed || strings.Contains(errs, "[y/N]") || !strings.Contains(errs, "only what was done is recorded") || len(s.entries()) != before {
		t.Errorf("exit %d, %s", code, errs)
	}
	if _, errs, code := s.runArgs(&yes, "note", "drill", "from May on", "--done", "2026-05-01", "--yes"); code != exitDone || len(s.entries()) != before+1 {
		t.Errorf("exit %d, %s", code, errs)
	}
}
