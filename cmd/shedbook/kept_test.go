package main

import (
	"bytes"
	"flag"
	"io"
	"os"
	"testing"
	"time"

	"pgregory.net/rapid"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/schedule"
)

// shelfOfKept keeps answers in memory and counts how often something was kept.
type shelfOfKept struct {
	held  map[string][]byte
	saved int
}

func (k *shelfOfKept) Kept(name string) []byte       { return k.held[name] }
func (k *shelfOfKept) Keep(name string, data []byte) { k.held[name], k.saved = data, k.saved+1 }

// setRapid sets a flag of the property tests for one test, unless it was given.
func setRapid(t *testing.T, name, value string) {
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == name })
	if given {
		return
	}
	before := flag.Lookup(name).Value.String()
	if err := flag.Lookup(name).Value.Set(value); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = flag.Lookup(name).Value.Set(before) })
}

// setKeepAtLeast has what was worked out kept of shorter books, for one test that runs by itself.
func setKeepAtLeast(t *testing.T, n int) {
	before := keepAtLeast
	keepAtLeast = n
	t.Cleanup(func() { keepAtLeast = before })
}

// dueWith is the due list of some logs as JSON and as text with its reasons, by what was kept, and by the states of machines that were looked at before.
func dueWith(t *rapid.T, logs []ledger.Log, keep keeper, day time.Time, all bool, looked ...string) string {
	log, err := ledger.Load(logs)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	e := &env{stdout: &out, stderr: io.Discard, getenv: func(string) string { return "" }, now: func() time.Time { return day }}
	c := &call{env: e, common: &common{json: true}, cmd: &command{}}
	b := &book{c: c, log: log, judged: log.Judge(), keeper: keep, states: map[rules.Options]*rules.State{}}
	for _, name := range looked {
		if _, err := b.stateFor(name, rules.Options{On: c.today()}); err != nil {
			t.Fatal(err)
		}
	}
	list, err := gatherDue([]*book{b}, "", "", "", rules.Filter{All: all}, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if err := c.printJSON(list.json(c)); err != nil {
		t.Fatal(err)
	}
	list.print(c, all, true)
	return out.String()
}

// What was kept never changes an answer: as a book grows entry by entry on one device, with late entries, corrections, strikes, forked logs, parts that go from
// one machine to another, stopped keys and entries that are released only later, the list by what was kept is the list made anew, to the byte.
func TestKeptAnswersAreNoOthers(t *testing.T) {
	drill, ok := schedule.Builtin("disc-drill")
	if !ok {
		t.Fatal("no disc-drill")
	}
	checks := "8"
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		checks = "1000"
	}
	setRapid(t, "rapid.checks", checks)
	setKeepAtLeast(t, 10)
	rapid.Check(t, func(t *rapid.T) {
		h := tellHistory(t, drill)
		keep := &shelfOfKept{held: map[string][]byte{}}
		day := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
		all := rapid.Bool().Draw(t, "all")
		for n := min(9, len(h.order)); n <= len(h.order); n += rapid.IntRange(1, 4).Draw(t, "more") {
			if rapid.IntRange(0, 9).Draw(t, "night") == 0 {
				day = day.AddDate(0, 0, 1)
			}
			logs := logsOf(h.order[:n])
			want := dueWith(t, logs, nil, day, all)
			if got := dueWith(t, logs, keep, day, all); got != want {
				t.Fatalf("after %d entries, by what was kept:\n%s\nmade anew:\n%s", n, got, want)
			}
			if got := dueWith(t, logs, nil, day, all, rapid.SliceOfN(rapid.SampledFrom([]string{"drill", "drill2"}), 1, 3).Draw(t, "looked")...); got != want {
				t.Fatalf("after %d entries, with machines looked at before:\n%s\nmade anew:\n%s", n, got, want)
			}
			saved := keep.saved
			if got := dueWith(t, logs, keep, day, all); got != want {
				t.Fatalf("after %d entries, asked again:\n%s\nmade anew:\n%s", n, got, want)
			}
			if keep.saved != saved {
				t.Fatalf("after %d entries, asked again, answers were made anew", n)
			}
		}
	})
}

// Kept answers and portions that were damaged are of no use and do no harm.
func TestKeptAnswersDamaged(t *testing.T) {
	drill, _ := schedule.Builtin("disc-drill")
	setRapid(t, "rapid.checks", "20")
	setKeepAtLeast(t, 0)
	rapid.Check(t, func(t *rapid.T) {
		h := tellHistory(t, drill)
		keep := &shelfOfKept{held: map[string][]byte{}}
		day := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
		want := dueWith(t, logsOf(h.order), keep, day, false)
		name := rapid.SampledFrom([]string{"due", keptParts}).Draw(t, "which")
		data := bytes.Clone(keep.held[name])
		if len(data) == 0 {
			t.Fatal("nothing was kept")
		}
		at := rapid.IntRange(0, len(data)-1).Draw(t, "at")
		if rapid.Bool().Draw(t, "cut") {
			data = data[:at]
		} else {
			data[at] ^= byte(1 << rapid.IntRange(0, 7).Draw(t, "bit"))
		}
		keep.held[name] = data
		if got := dueWith(t, logsOf(h.order), keep, day, false); got != want {
			t.Fatalf("by damaged answers:\n%s\nmade anew:\n%s", got, want)
		}
	})
}
