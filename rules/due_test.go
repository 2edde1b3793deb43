package rules

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// shed is a made-up book with one machine, built entry by entry and replayed. Every test below works through it, so that what is due is judged on
// what the replay really says.
type shed struct {
	t       testing.TB
	entries []Entry
	farm    ID
	yard    ID
	machine ID
}

// kind is a schedule around the jobs of a test: a machine with hours and acres, four openers in two hands, and wheels.
func kind(rest string) string {
	return `shedbook_schedule = 1
name = "rig"
work = ["seeding"]

[counter.hours]
unit = "h"
main = true

[counter.area]
unit = "ac"

[place.opener]
count = 4
hands = ["left", "right"]

` + rest
}

// newShed adds a farm, a yard, the schedule and the machine "rig" on 2025-01-01.
func newShed(t testing.TB, text string, options ...record.Option) *shed {
	t.Helper()
	s := &shed{t: t}
	s.farm = s.add(&record.Farm{Name: "creek"})
	s.yard = s.add(&record.Yard{Name: "home", Farm: s.farm})
	s.add(&record.Schedule{Name: "rig", Text: text})
	s.machine = s.addMachine("rig", "2025-01-01", options...)
	return s
}

func (s *shed) addMachine(name, added string, options ...record.Option) ID {
	key := make([]byte, 32)
	key[0] = byte(len(s.entries))
	return s.add(&record.Machine{Work: record.Work{Done: record.Done(added)}, Name: name, Schedule: "rig", Yard: s.yard,
		Key: base64.RawURLEncoding.EncodeToString(key), Options: options})
}

// add writes one entry and gives its id. Entries follow one another in depth as they are added.
func (s *shed) add(rec record.Record) ID {
	s.t.Helper()
	if err := rec.Check(); err != nil {
		s.t.Fatalf("%s: %v", rec.Kind(), err)
	}
	n := len(s.entries) + 1
	id := ID(fmt.Sprintf("%08x%056x", n, n))
	day := "2025-01-01"
	if d, ok := record.DoneOf(rec); ok && d != "" {
		day = d.Date()
	}
	s.entries = append(s.entries, Entry{ID: id, Writer: "w", Person: "p", Owner: true, Seq: uint64(n), Depth: uint64(n),
		At: day + "T23:59:00Z", Known: day, Kind: rec.Kind(), Record: rec})
	return id
}

func (s *shed) work(done string) record.Work {
	return record.Work{Machine: s.machine, Done: record.Done(done)}
}

func amount(t testing.TB, text string) quantity.Quantity {
	t.Helper()
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// read records a counter: "hours 812 h".
func (s *shed) read(done string, readings ...string) ID {
	s.t.Helper()
	c := &record.Counter{Work: s.work(done)}
	for _, r := range readings {
		name, at, _ := strings.Cut(r, " ")
		c.Acts = append(c.Acts, record.CounterAct{Counter: name, Act: "at", Value: amount(s.t, at)})
	}
	return s.add(c)
}

// did records a job at places "opener/1-2", none for all.
func (s *shed) did(done, job string, places ...string) ID {
	s.t.Helper()
	return s.add(&record.Did{Work: s.work(done), Job: job, Positions: s.at(places...)})
}

func (s *shed) fault(done, severity, text string, places ...string) ID {
	s.t.Helper()
	id := s.add(&record.Fault{Work: s.work(done), Severity: severity, Positions: s.at(places...)})
	s.entries[len(s.entries)-1].Private = &record.Private{Text: text}
	return id
}

func (s *shed) measure(done, reading string, values ...string) ID {
	s.t.Helper()
	m := &record.Measure{Work: s.work(done), Reading: reading}
	for _, v := range values { // "opener/1 left=5.1 in", "=5 in" for the machine
		where, text, _ := strings.Cut(v, "=")
		place, hand, _ := strings.Cut(where, " ")
		value, err := record.ParseValue(text)
		if err != nil {
			s.t.Fatal(err)
		}
		x := record.Measured{Hand: hand, Found: value}
		if place != "" {
			x.Positions = s.at(place)
		}
		m.Values = append(m.Values, x)
	}
	return s.add(m)
}

func (s *shed) swap(done, part, act string, places ...string) ID {
	s.t.Helper()
	return s.add(&record.Swap{Work: s.work(done), Part: part, Act: act, Positions: s.at(places...)})
}

func (s *shed) at(places ...string) record.Positions {
	s.t.Helper()
	p, err := record.ParsePositions(places)
	if err != nil {
		s.t.Fatal(err)
	}
	return p
}

func (s *shed) season(act, done, from, to string) ID {
	s.t.Helper()
	return s.add(&record.Season{Act: act, Name: "spring " + done[:4], Work: "seeding", From: from, To: to, Done: record.Done(done)})
}

func (s *shed) state(on string) *State {
	s.t.Helper()
	st, err := Replay(s.entries, Options{On: on})
	if err != nil {
		s.t.Fatal(err)
	}
	for _, p := range st.Problems {
		s.t.Errorf("%s: %s", p.Code, p.Message)
	}
	return st
}

func (s *shed) due(on string, f ...Filter) []Item {
	s.t.Helper()
	return Due(s.state(on), append(f, Filter{})[0])
}

// line is an item as "state job [where]: due, over".
func line(i Item) string {
	out := i.State + " " + cmp.Or(i.Job, i.Title)
	if i.Where != "" {
		out += " [" + i.Where + "]"
	}
	point := func(a Amount) string {
		if a.Date != "" {
			return a.Date
		}
		if a.Value.IsZero() {
			return ""
		}
		return a.Value.String()
	}
	if d := point(i.Due); d != "" {
		out += ": " + d
		if o := point(i.Over); o != "" {
			out += ", over " + o
		}
	}
	return out
}

func lines(items []Item) []string {
	out := make([]string, len(items))
	for i := range items {
		out[i] = line(items[i])
	}
	return out
}

func same(t *testing.T, what string, got, want []string) {
	t.Helper()
	if len(got) == 0 && len(want) == 0 {
		return
	}
	if d := gocmp.Diff(want, got); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

// only finds the one item of a job.
func only(t *testing.T, items []Item, job string) Item {
	t.Helper()
	at := slices.IndexFunc(items, func(i Item) bool { return i.Job == job || job == "" })
	if at < 0 {
		t.Fatalf("no item for %q in %q", job, lines(items))
	}
	return items[at]
}
