package main

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// smallDrill is made up for these tests: figures that can be added up in one's head.
const smallDrill = `shedbook_schedule = 1
name = "small-drill"
title = "small drill"
source = "made up"
work = ["seeding"]

[counter.area]
unit = "ac"
main = true

[place.opener]
count = 8

[place.wheel]
names = ["left", "right"]

[group.left-wing]
of = "opener"
from = 0
to = "1/2"

[part.disc]
of = "opener"

[setting.depth]
title = "seeding depth"
of = "opener"
type = "steps"
min = 1
max = 12

[setting.fan]
title = "fan speed"
type = "choice"
choices = ["slow", "fast"]

[reading.disc-reach]
title = "disc, edge to hub"
of = "opener"
unit = "in"
part = "disc"
limit = { min = "5 in" }
wears = "area"

[reading.hub-play]
title = "hub play"
of = "opener"
grades = ["none", "loose"]
bad_from = "loose"

[job.grease]
title = "grease"
of = "opener"
severity = "soon"
when = [{ every = "100 ac" }]

[job.wheel-nuts]
title = "torque of the wheel nuts"
of = "wheel"
severity = "stop"
torques = [{ what = "wheel nut", value = "150 N.m" }]
when = [{ every = "12 mo" }]
cautions = ["wheels"]

[job.disc-swap]
title = "new disc"
of = "opener"
severity = "soon"
swaps = "disc"
when = [{ past = "disc-reach" }]
`

func workOn(m record.ID, done record.Done, area string) record.Work {
	w := record.Work{Machine: m, Done: done}
	if area != "" {
		w.Counters = []record.CounterAt{{Counter: "area", At: quantity.MustParse(area)}}
	}
	return w
}

func placesOf(t testing.TB, places ...string) record.Positions {
	t.Helper()
	p, err := record.ParsePositions(places)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func valueOf(s string) record.Value { return record.Amount(quantity.MustParse(s)) }

// season2026 is the drill's spring, and what is asked of it on 15 April.
func season2026(t testing.TB) (*testBook, map[string]record.ID) {
	b := newTestBook(t)
	id := map[string]record.ID{}
	b.at("2026-03-01T08:00")
	b.use(smallDrill)
	m := b.machine("2026-03-01T09:00", "drill", "small-drill")
	id["drill"] = m
	id["depth"] = b.add("2026-03-02T09:00", &record.Adjust{Work: workOn(m, "2026-03-02T09:00", "1000 ac"), Changes: []record.Change{{Setting: "depth", Positions: placesOf(t, "opener/1-8"), To: valueOf("6")}}}, nil)
	id["grease"] = b.add("2026-03-02T11:00", &record.Did{Work: workOn(m, "2026-03-02T11:00", "1000 ac"), Job: "grease", Positions: placesOf(t, "opener/1-3", "opener/5-8")}, nil)
	id["nuts"] = b.add("2026-03-02T12:00", &record.Did{Work: workOn(m, "2025-04-01", ""), Job: "wheel-nuts", Positions: placesOf(t, "wheel/left", "wheel/right"), Torque: quantity.MustParse("150 N.m")}, nil)
	id["reach"] = b.add("2026-03-05T15:00", &record.Measure{Work: workOn(m, "2026-03-05T15:00", ""), Reading: "disc-reach", Values: []record.Measured{
		{Positions: placesOf(t, "opener/1-4"), Found: valueOf("5.9 in")}, {Positions: placesOf(t, "opener/5"), Found: valueOf("4.9 in")}, {Positions: placesOf(t, "opener/6-7"), Found: valueOf("5.2 in")},
		{Positions: placesOf(t, "opener/8"), Cannot: "reach"}}}, nil)
	id["swap"] = b.add("2026-03-20T10:00", &record.Swap{Work: workOn(m, "2026-03-20T10:00", "1020 ac"), Part: "disc", Positions: placesOf(t, "opener/5"), Act: record.SwapNew, Why: "worn"}, nil)
	id["deeper"] = b.add("2026-04-10T16:00", &record.Adjust{Work: workOn(m, "2026-04-10T16:00", ""), Changes: []record.Change{{Setting: "depth", Positions: placesOf(t, "opener/3", "opener/6"), To: valueOf("7"), By: "+1"}}}, nil)
	id["fault"] = b.add("2026-04-12T19:00", &record.Fault{Work: workOn(m, "2026-04-12T19:00", ""), Positions: placesOf(t, "opener/7"), Severity: "winter"}, &record.Private{Text: "hub rough"})
	id["counter"] = b.add("2026-04-15T18:00", &record.Counter{Work: workOn(m, "2026-04-15T18:00", ""), Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: quantity.MustParse("1150 ac")}}}, nil)
	b.at("2026-04-15T20:00")
	return b, id
}

// Law: at every width people use, no line of what is read is wider, and none ends in a blank. Commands a person is to type are words of the text and may
// be broken like them.
func TestReadsFitTheWidth(t *testing.T) {
	b, _ := season2026(t)
	for _, width := range []int{60, 80, 120} {
		b.vars["COLUMNS"] = strconv.Itoa(width)
		for _, line := range reads {
			for text := range strings.Lines(b.must(strings.Fields(line)...)) {
				text = strings.TrimSuffix(text, "\n")
				if table.Width(text) > width {
					t.Errorf("%s at %d: %d columns: %q", line, width, table.Width(text), text)
				}
				if strings.TrimRight(text, " ") != text {
					t.Errorf("%s at %d: blank at the end: %q", line, width, text)
				}
			}
		}
	}
}

// reads are the commands that only read, in the forms people use.
var reads = []string{
	"show", "show drill", "show drill opener/5", "show drill left-wing depth", "show drill --why", "due", "due --why", "due drill --all", "due --all --why", "due --within 3mo", "history", "history drill --all", "history drill opener/5", "paper", "paper drill",
	"schedule list", "schedule show drill", "schedule show drill job.grease", "schedule show disc-drill", "schedule show tractor", "schedule show drill job --paths", "machine list", "people list", "people list --fingerprints", "shelf list",
	"compare drill 2026-04-01 today", "compare drill 2026-04-01 today --why", "wear drill disc", "wear drill disc --all --why", "spec drill", "spec drill torque", "spec tractor", "prepare --before 2026-12-01", "prepare drill --before 2026-12-01 --why",
	"life drill disc", "life small-drill disc --by group --use 100ac --curve --why",
	"salefile drill --out drill.html", "jobcard drill --out card.html", "jobcard drill --pocket --out card.html", "jobcard drill --wall --before 2027-01-01 --out card.html",
	"cost", "cost drill", "cost drill --labour 25 --list-price 52000 --made 2014 --hours 900 --why", "cost --classes", "cost --shops",
}

// Law: what is read twice is the same, byte for byte, and nothing that only reads changes the book.
func TestReadsRepeat(t *testing.T) {
	b, _ := season2026(t)
	for _, line := range reads {
		for _, more := range []string{"", " --json"} {
			args := strings.Fields(line + more)
			if one, two := b.must(args...), b.must(args...); one != two {
				t.Errorf("%s%s: two answers:\n%s\n%s", line, more, one, two)
			}
		}
	}
}

// Law: every --json is one object that begins with its format, and every id in it is whole.
func TestReadsAsJSON(t *testing.T) {
	b, _ := season2026(t)
	for _, line := range reads {
		text := b.must(append(strings.Fields(line), "--json")...)
		if !strings.HasPrefix(text, `{"format":1,`) || strings.Count(text, "\n") != 1 {
			t.Errorf("%s: %.60q", line, text)
		}
		dec := json.NewDecoder(strings.NewReader(text))
		var v map[string]any
		if err := dec.Decode(&v); err != nil || dec.More() {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// Law: whatever bytes the words of a book hold, nothing but printable text and line ends is printed. The ledger refuses control characters already; this
// holds without it.
func TestHostileWordsArePrintedPlain(t *testing.T) {
	b, _ := season2026(t)
	const hostile = "bad\x1b[2J\x1b]0;title\x07\u202egood\u2066\x9b31m\r\nnew \u2028line\x7f"
	st := b.state()
	m := st.Machines[0]
	m.Name, m.Title, m.Serial, m.Slack = m.Name+hostile, hostile, hostile, []string{hostile}
	for _, f := range m.Faults {
		f.Text, f.Part = hostile, hostile
	}
	for _, f := range st.Farms {
		f.Name = hostile
	}
	st.Problems = append(st.Problems, rules.Problem{Code: "x", Machine: m.ID, Message: hostile})
	st.Seasons = append(st.Seasons, &rules.Season{Name: hostile, Opened: "2026-04-01"})
	bk, err := b.call().open()
	if err != nil {
		t.Fatal(err)
	}
	for _, width := range []string{"40", "80"} {
		b.vars["COLUMNS"] = width
		var out bytes.Buffer
		c := b.call()
		c.env = b.env(&out, io.Discard)
		l := &look{m: m}
		(&machineText{call: c, v: c.viewMachine(st, l), l: l, why: true}).print()
		list := &dueList{on: st.On, problems: problemsOf(st, st.Problems, func(*rules.Machine) bool { return true })}
		for _, i := range rules.Due(st, rules.Filter{All: true}) {
			list.items = append(list.items, dueItem{i, hostile, hostile, hostile, describer(st, i.Machine), under(c, st, i)})
		}
		list.print(c, true, true)
		list.print(c, false, false)
		v := c.viewBook(bk, st)
		v.Title = hostile
		c.printBook(&v, st.On)
		lines := bk.history(st, historyFilter{all: true})
		for i := range lines {
			lines[i].who, lines[i].machine = hostile, hostile
			lines[i].private = &record.Private{Text: hostile, Who: hostile}
		}
		c.printHistory(lines)
		for i, r := range out.String() {
			if r != '\n' && (unicode.In(r, unicode.Cc, unicode.Zl, unicode.Zp, unicode.Bidi_Control) || r == utf8.RuneError) {
				t.Fatalf("%U at %d of %q", r, i, out.String()[max(0, i-40):i])
			}
		}
		if !strings.Contains(out.String(), `bad\x1b[2J`) {
			t.Fatal("the hostile words are not printed at all")
		}
	}
}

// A list of several books is one list: what must stop a machine first, wherever it stands.
func TestDueOfSeveralBooks(t *testing.T) {
	one, _ := season2026(t)
	two := newTestBook(t)
	two.at("2026-03-01T08:00")
	two.use(smallDrill)
	m := two.machine("2026-03-01T09:00", "seeder", "small-drill")
	two.add("2026-03-02T12:00", &record.Did{Work: workOn(m, "2025-03-01", ""), Job: "wheel-nuts", Positions: placesOf(t, "wheel/left")}, nil)
	one.vars["SHEDBOOK_BOOK"] = ""
	got := one.must("due", "--book", one.dir, "--book", two.dir)
	first, second := strings.Index(got, "drill"), strings.Index(got, "seeder")
	grease := strings.Index(got, "grease")
	if first < 0 || second < 0 || grease < 0 || max(first, second) > grease {
		t.Errorf("wheel nuts of both do not lead:\n%s", got)
	}
	if out := one.must("due", "seeder", "--book", one.dir, "--book", two.dir); strings.Contains(out, "hub rough") || !strings.Contains(out, "for seeder") {
		t.Errorf("seeder alone:\n%s", out)
	}
	if out := one.must("show", "seeder", "--book", one.dir, "--book", two.dir); !strings.HasPrefix(out, "seeder: small drill") {
		t.Errorf("show finds it in the second book:\n%s", out)
	}
	if _, e, code := one.run("due", "combine", "--book", one.dir, "--book", two.dir); code != 1 || !strings.Contains(e, `there is no machine "combine"`) {
		t.Errorf("exit %d: %s", code, e)
	}
}
