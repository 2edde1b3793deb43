package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/pflag"

	"shedbook/ledger/gitstore"
)

// completed are the words offered for the last word of a line, which ends in a blank where none is begun.
func (b *testBook) completed(line string) []string {
	words := shellWords(b.t.(*testing.T), line)
	if strings.HasSuffix(line, " ") {
		words = append(words, "")
	}
	words[len(words)-1] = "=" + words[len(words)-1]
	var out []string
	for l := range strings.Lines(b.must(append([]string{completeWord}, words[1:]...)...)) {
		word, what, ok := strings.Cut(strings.TrimSuffix(l, "\n"), "\t")
		if !ok || strings.ContainsAny(what, "\t\x1b") {
			b.t.Errorf("%s: answered %q", line, l)
		}
		out = append(out, word)
	}
	return out
}

func TestComplete(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	for _, test := range []struct {
		line string
		want []string
	}{
		{"shedbook du", []string{"due"}},
		{"shedbook people a", []string{"add", "admit"}},
		{"shedbook help people adm", []string{"admit"}},
		{"shedbook did hi", []string{"hill-tractor"}},
		{"shedbook --json show DR", []string{"drill"}},
		{"shedbook did drill gre", []string{"grease"}},
		{"shedbook did drill left-wing gre", []string{"grease"}},
		{"shedbook did drill left-wing but o", []string{"opener/"}},
		{"shedbook did drill opener/4", []string{"opener/4", "opener/40", "opener/41", "opener/42", "opener/43", "opener/44", "opener/45", "opener/46", "opener/47", "opener/48"}},
		{"shedbook did drill opener/3,47", []string{"opener/3,47"}},
		{"shedbook did drill opener 47", []string{"47"}},
		{"shedbook show hill-tractor opener/4", nil},
		{"shedbook adjust drill dep", []string{"depth"}},
		{"shedbook counter drill h", []string{"hours=", "hours"}},
		{"shedbook due --yard ", []string{"creek", "hill", "home"}},
		{"shedbook due --yard=h", []string{"--yard=hill", "--yard=home"}},
		{"shedbook due --color=", []string{"--color=auto", "--color=always", "--color=never"}},
		{"shedbook due --person W", []string{"Wren Alder"}},
		{"shedbook due --exit", []string{"--exit-code"}},
		{"shedbook due -- --exit", nil},
		{"shedbook machine move drill h", []string{"hill", "home"}},
		{"shedbook machine add new-one disc-d", []string{"disc-drill"}},
		{"shedbook prepare --before 'spring seeding 2027", []string{"spring seeding 2027"}},
		{"shedbook people stop 'somebody' --why l", []string{"lost", "left"}},
		{"shedbook export --csv du", []string{"due"}},
		{"shedbook export --csv due ", []string{":files"}},
		{"shedbook due --book ", []string{":folders"}},
		{"shedbook completion f", []string{"fish"}},
		{"shedbook strike ", nil},
		{"shedbook nosuch ", nil},
		{"shedbook people nosuch ", nil},
		{"shedbook due --nosuch=", nil},
	} {
		if strings.Count(test.line, "'")%2 == 1 {
			test.line += "'"
		}
		if diff := cmp.Diff(test.want, b.completed(test.line)); diff != "" {
			t.Errorf("%s: -want +got\n%s", test.line, diff)
		}
	}
}

// Law: completing opens no book. With every entry gone the answers are the same.
// Once a line says what was done, the flags of its command are offered beside the words; before, they would drown them.
func TestCompleteOffersFlagsBehindTheThing(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	for line, want := range map[string]bool{"shedbook swap drill opener/12 disc ": true, "shedbook did drill grease ": true, "shedbook swap drill ": false, "shedbook swap drill opener/12 ": false} {
		got := b.completed(line)
		if has := slices.Contains(got, "--note"); has != want {
			t.Errorf("%s: flags offered: %v, want %v: %q", line, has, want, got)
		}
	}
}

func TestCompleteOpensNoBook(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	lines := []string{"shedbook ", "shedbook did ", "shedbook did drill ", "shedbook swap drill opener/", "shedbook due --person ", "shedbook season open ", "shedbook sync "}
	var before [][]string
	for _, line := range lines {
		before = append(before, b.completed(line))
	}
	git := filepath.Join(b.dir, "git")
	if err := os.RemoveAll(git); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(git, 0o700); err != nil {
		t.Fatal(err)
	}
	if _, _, code := b.run("due"); code == exitDone {
		t.Fatal("the book can still be read")
	}
	for i, line := range lines {
		if diff := cmp.Diff(before[i], b.completed(line)); diff != "" || len(before[i]) == 0 {
			t.Errorf("%s: -before +after\n%s", line, diff)
		}
	}
}

// What was just recorded is known to the next line; what is kept of names may be missing, damaged or of another form, and a copy of the book has none.
func TestCompleteKnowsTheLatest(t *testing.T) {
	b := newTestBook(t)
	if got := b.completed("shedbook machine add drill disc-d"); !slices.Equal(got, []string{"disc-drill"}) {
		t.Errorf("in a new book: %q", got)
	}
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=24")
	if got := b.completed("shedbook did dr"); !slices.Equal(got, []string{"drill"}) {
		t.Errorf("after machine add: %q", got)
	}
	b.must("season", "plan", "spring seeding 2027", "--work", "seeding", "--from", "2027-04-05")
	if got := b.completed("shedbook season open "); !slices.Equal(got, []string{"spring seeding 2027"}) {
		t.Errorf("after season plan: %q", got)
	}
	b.must("machine", "add", "other", "disc-drill", "--dry-run")
	if got := b.completed("shedbook did oth"); got != nil {
		t.Errorf("after a dry run: %q", got)
	}
	b.must("machine", "sell", "drill", "--who", "a neighbour")
	if got := b.completed("shedbook did dr"); got != nil {
		t.Errorf("after it was sold: %q", got)
	}
	kept := gitstore.KeptIn(b.dir, namesFile)
	for _, text := range []string{"", "{", `{"form":"another","machines":[{"name":"drill"}]}`, `{"form":"` + namesForm + `","machines":[{"name":"a\u001b[2Jb","set":7},{"name":"a\tb","set":-5}]}`} {
		if err := os.WriteFile(kept, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if got := b.completed("shedbook did "); got != nil {
			t.Errorf("%q: %q", text, got)
		}
		if got := b.completed("shedbook did drill opener/"); got != nil {
			t.Errorf("%q: %q", text, got)
		}
		if got := b.completed("shedbook did --dry"); !slices.Equal(got, []string{"--dry-run"}) {
			t.Errorf("%q: %q", text, got)
		}
	}
}

// Law: completion and help come from one table: every command and every flag is offered, with what help says of it.
func TestCompleteOffersWhatHelpShows(t *testing.T) {
	b := newTestBook(t)
	for _, build := range commands {
		cmd := build()
		first, second, group := strings.Cut(cmd.name, " ")
		if got := b.completed("shedbook " + first); !slices.Contains(got, first) {
			t.Errorf("%s: %q", first, got)
		}
		if group && !slices.Contains(b.completed("shedbook "+first+" "), second) {
			t.Errorf("%s is not offered", cmd.name)
		}
		fs := newFlagSet(cmd.name)
		(&common{}).flags(fs, cmd)
		if cmd.flags != nil {
			cmd.flags(fs)
		}
		var want []string
		fs.VisitAll(func(f *pflag.Flag) {
			if !f.Hidden {
				want = append(want, "--"+f.Name)
			}
		})
		if diff := cmp.Diff(want, b.completed("shedbook "+cmd.name+" --")); diff != "" {
			t.Errorf("%s: -want +got\n%s", cmd.name, diff)
		}
	}
}

// free are words of usage lines for which there is nothing to offer: what only the person knows, and ids.
var free = []string{"NAME", "VALUE", "+VALUE", "WORDS", "NUMBER", "ID", "ENTRY", "DIGEST", "STAMP", "PATH", "FLAGS", "SIX", "WORD", "worn=", "used="}

// Law: every word in a usage line is one that completion knows, or one of those above. A new word in help is thus not forgotten here.
func TestCompleteKnowsEveryWordOfUsage(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	var out bytes.Buffer
	known := 0
	for _, build := range commands {
		cmd := build()
		fs := newFlagSet(cmd.name)
		(&common{}).flags(fs, cmd)
		if cmd.flags != nil {
			cmd.flags(fs)
		}
		s := readUsage(cmd, fs)
		for _, what := range slices.Concat(s.first, s.later) {
			c := &completing{e: b.env(&out, &out), cmd: cmd, fs: fs, words: []string{"drill"}, book: b.dir, names: namesIn(b.dir)}
			switch got := c.standing(what); {
			case len(got) > 0:
				known++
			case what != "PLACE=" && !slices.Contains(free, what):
				t.Errorf("%s: nothing is offered for %s", cmd.name, what)
			}
		}
	}
	if known < 60 {
		t.Errorf("only %d words are known: the usage lines are not read", known)
	}
}
