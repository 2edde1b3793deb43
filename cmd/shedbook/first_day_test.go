package main

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"shedbook/rules"
	"shedbook/rules/schedule"
)

// An old machine on its first day in the book, of every built-in kind: few lines that say what to type, and what is typed does it; once it is taken as good
// nothing is left but what it says itself, and what comes due later is marked as counted from the starting line.
func TestFirstDayOfAnOldMachine(t *testing.T) {
	for _, s := range schedule.Builtins() {
		t.Run(s.Name, func(t *testing.T) {
			b := newTestBook(t)
			b.at("2026-03-01T08:00")
			main := ""
			for _, c := range s.Counters {
				if c.Main || len(s.Counters) == 1 {
					main = c.Name
				}
			}
			if main == "" {
				t.Fatal("no main counter: what would the hint name?")
			}
			name := "old-" + s.Name
			line := "shedbook assume " + name + " good --counter " + main + "=..."
			if got := unwrapped(b.must("machine", "add", name, s.Name, "--year", "2011")); !strings.Contains(got, "an old machine needs a starting line: "+line) {
				t.Errorf("machine add does not say %q:\n%s", line, got)
			}
			if got := b.must("due", name); lines(got) > 10 || !strings.Contains(unwrapped(got), line) {
				t.Errorf("the first day of %s, which should say %q:\n%s", name, line, got)
			}
			// Without the count: one line asks for it, and what that line says to type answers.
			id := citedEntry(t, b.must("assume", name, "good"))
			got := unwrapped(b.must("due", name))
			for _, i := range b.due(name) {
				if i.State == rules.Unknown && strings.Contains(i.Why, "never read") && !strings.Contains(got, "shedbook counter "+name+" "+main+"=...") {
					t.Fatalf("%s waits for a counter, and nothing says to read it:\n%s", i.Job, got)
				}
			}
			b.at("2026-03-04T08:00")
			b.must("counter", name, main+"=4210", "--yes")
			if got := unwrapped(b.must("due", name)); strings.Contains(got, "a count that is not known") {
				if !strings.Contains(got, "shedbook correct "+id+" --counter ... says it") {
					t.Errorf("the count of the starting line is not asked for:\n%s", got)
				}
				b.must("correct", id, "--counter", main+"=4200")
			}
			// Where work goes by a second counter too (a combine's acres), that one is asked for in one line of its own.
			for _, second := range unread(b.due(name)) {
				if got := unwrapped(b.must("due", name)); !strings.Contains(got, "shedbook counter "+name+" "+second+"=...") {
					t.Fatalf("nothing says to read %s:\n%s", second, got)
				}
				b.must("counter", name, second+"=4210", "--yes")
				b.must("correct", id, "--counter", main+"=4200", "--counter", second+"=4200")
			}
			for _, i := range b.due(name) {
				if i.State == rules.Unknown && !strings.Contains(i.Why, "without a valid-until date") && !strings.Contains(i.Why, "count of hours that is not known") {
					t.Errorf("still unknown: %s: %s", i.Job, i.Why)
				}
			}
			if got := b.must("due", name); lines(got) > 10 {
				t.Errorf("three days after the starting line:\n%s", got)
			}
			// Four years and much work on, all that is counted is counted from the line, and every line says so.
			b.at("2030-03-01T08:00")
			b.must("counter", name, main+"=9900", "--yes")
			listed := 0
			for _, i := range b.due(name) {
				if counted := i.Cause == rules.ByInterval || i.Cause == rules.ByDate; counted && i.State != rules.Unknown {
					listed++
					if !i.Last.Assumed || !strings.Contains(i.Why, "taken as done on 2026-03-01") && !strings.Contains(i.Why, "as given") {
						t.Errorf("%s does not say that it rests on the starting line: %+v", i.Job, i)
					}
				}
			}
			if listed < 3 {
				t.Errorf("%d lines after 5,700 units of work", listed)
			}
			for _, l := range strings.Split(b.must("due", name), "\n") {
				if strings.Contains(l, "overdue by") && !strings.HasSuffix(l, ", assumed") {
					t.Errorf("not marked as assumed: %s", l)
				}
			}
		})
	}
}

// unread are the counters that items wait for, each once.
func unread(items []dueItemJSON) []string {
	var names []string
	for _, i := range items {
		name, _, waits := strings.Cut(i.Why, " never read")
		if fields := strings.Fields(name); i.State == rules.Unknown && waits && !slices.Contains(names, fields[len(fields)-1]) {
			names = append(names, fields[len(fields)-1])
		}
	}
	return names
}

// lines are those of a due list that are about work: under its headings.
func lines(list string) int {
	n := 0
	for _, l := range strings.Split(list, "\n") {
		if strings.HasPrefix(l, "  ") && !strings.HasPrefix(l, "   ") {
			n++
		}
	}
	return n
}

// unwrapped is a text without its line breaks.
func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }

var shortID = regexp.MustCompile(`\[([0-9a-f]{8})\]`)

// citedEntry is the entry that an answer says it recorded.
func citedEntry(t testing.TB, answer string) string {
	t.Helper()
	m := shortID.FindAllStringSubmatch(answer, -1)
	if len(m) == 0 {
		t.Fatalf("no entry in %q", answer)
	}
	slices.Reverse(m)
	return m[0][1]
}
