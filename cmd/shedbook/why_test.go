package main

import (
	"encoding/json"
	"math/big"
	"regexp"
	"strings"
	"testing"
	"time"

	"shedbook/rules"
)

// whyCheck holds one form of a reason to its own arithmetic. groups are what the form caught; the item says what the program made of it.
type whyCheck struct {
	form  *regexp.Regexp
	check func(t *testing.T, w *whyBook, i dueItemJSON, groups []string)
}

func form(s string) *regexp.Regexp {
	for k, v := range map[string]string{"DATE": `(\d{4}-\d\d-\d\d)`, "NUM": `(\d+(?:\.\d+)?)`, "UNIT": `(?:h|ac)`, "TITLE": `.+?`} {
		s = strings.ReplaceAll(s, k, v)
	}
	return regexp.MustCompile("^" + s + "$")
}

// whyChecks are all the forms that reasons of the made-up family's book take; one that takes none of them fails the test.
var whyChecks = []whyCheck{
	// 1640 h + 250 h = 1890 h; 1902 h is 12 h over
	{form(`(?:last|taken as) done(?: on)? DATE at (?:about )?NUM UNIT, every NUM UNIT: due at NUM UNIT, now (?:about )?NUM UNIT(?: \(estimated: last read DATE\))?`),
		func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
			w.doneOn(t, i, g[1])
			addsUp(t, i, g[2], g[3], g[4], g[5])
		}},
	{form(`TITLE, (?:check at|every) NUM UNIT(?: after it| until TITLE)?, counted from NUM UNIT: due at NUM UNIT, now NUM UNIT`),
		func(t *testing.T, w *whyBook, i dueItemJSON, g []string) { addsUp(t, i, g[2], g[1], g[3], g[4]) }},
	{form(`(?:last|taken as) done(?: on)? DATE, every NUM (d|wk|mo|yr): due on DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.doneOn(t, i, g[1])
		fallsOn(t, w, i, g[1], g[2], g[3], g[4])
	}},
	{form(`taken as done on DATE, counted from the machine's year of make, (\d{4}), every NUM (yr): due on DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.doneOn(t, i, g[1])
		from, years := g[2]+"-01-01", int(num(t, g[3]).Num().Int64())
		for date(t, from).AddDate(years, 0, 0).Format(time.DateOnly) <= g[1] { // taken as done when that was past
			from = date(t, from).AddDate(years, 0, 0).Format(time.DateOnly)
		}
		fallsOn(t, w, i, from, g[3], g[4], g[5])
	}},
	{form(`last done DATE, every NUM days? it works: worked on NUM days? since`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.doneOn(t, i, g[1])
		n := 0
		for _, d := range w.st.Machine(i.Machine).Worked {
			if d > g[1] {
				n++
			}
		}
		if !same(n, g[3]) {
			t.Errorf("worked on %d days since %s", n, g[1])
		}
	}},
	{form(`not done since (TITLE) closed on DATE; to be done before (TITLE), which opened on DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.season(t, g[1], "", g[2])
		w.season(t, g[3], g[4], "")
		if i.Last.Done.Date() > g[2] {
			t.Errorf("it was done on %s", i.Last.Done)
		}
	}},
	{form(`to be done after (TITLE), closed on DATE, not done since; overdue after 30 days, on DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.season(t, g[1], "", g[2])
		if got := date(t, g[2]).AddDate(0, 0, 30).Format(time.DateOnly); got != g[3] || i.Last.Done.Date() > g[2] {
			t.Errorf("30 days on it is %s; last done %s", got, i.Last.Done)
		}
	}},
	{form(`to be done after (TITLE), closed on DATE; last done DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.season(t, g[1], "", g[2])
		w.doneOn(t, i, g[3])
		if g[3] < g[2] {
			t.Error("done before the season was over")
		}
	}},
	{form(`to be done before (TITLE); last done DATE`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		w.doneOn(t, i, g[2])
		w.season(t, g[1], "", "")
	}},
	{form(`(TITLE) on DATE, to be done at once(?:, after TITLE)?(?:; last done DATE)?`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		if !w.cites(i, g[2]) {
			t.Errorf("no entry of %s is cited", g[2])
		}
		if i.State == rules.Overdue && i.Last.Done.Date() >= g[2] {
			t.Errorf("done on %s all the same", i.Last.Done)
		}
	}},
	{form(`TITLE measured DATE: NUM (\S+) is past the limit NUM (\S+)`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		if !w.cites(i, g[1]) || g[3] != g[5] || num(t, g[2]).Cmp(num(t, g[4])) <= 0 {
			t.Error("not past it")
		}
	}},
	{form(`found DATE, (TITLE)`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		if !w.cites(i, g[1]) {
			t.Errorf("no entry of %s is cited", g[1])
		}
		for _, f := range w.st.Machine(i.Machine).Faults {
			if f.ID == i.Entries[0] && (f.Closed != "" || (len(f.Temporary) > 0) != strings.Contains(g[2], "for the time being") || f.TiedUp != strings.Contains(g[2], "tied up")) {
				t.Errorf("the fault is %+v", f)
			}
		}
	}},
	{form(`seeding depth differs: opener NUM at NUM, the rest NUM`), func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
		for place, s := range w.st.Machine(i.Machine).Settings["depth"] {
			want := g[3]
			if place == "opener/"+g[1] {
				want = g[2]
			}
			if s.Value.String() != want {
				t.Errorf("%s stands at %s, not %s", place, s.Value, want)
			}
		}
	}},
	// what is left of the disc by what it loses: (now - limit) / loss * acres
	{form(`TITLE about NUM in now, NUM in per 100 ac, limit NUM in: likely NUM ac more \(NUM ac to NUM ac, four times in five\); TITLE has NUM ac to go \(the season's plan\)`),
		func(t *testing.T, w *whyBook, i dueItemJSON, g []string) {
			left := new(big.Rat).Sub(num(t, g[1]), num(t, g[3]))
			if n, low, high := num(t, g[4]), num(t, g[5]), num(t, g[6]); low.Cmp(n) > 0 || n.Cmp(high) > 0 || (left.Sign() <= 0) != (n.Sign() == 0) {
				t.Error("the likely one lies outside its own limits")
			}
			if num(t, g[5]).Cmp(num(t, g[7])) > 0 {
				t.Error("it carries through the season even where it wears fast")
			}
		}},
}

type whyBook struct {
	st      *rules.State
	entries map[rules.ID]*rules.Effective
}

// Every line of due --all, over every machine, says why in a form whose arithmetic is done again here with numbers and dates of our own, names entries that
// are in the book, and is listed by --why with the schedule that it goes by.
func TestEveryDueLineAnswersWhy(t *testing.T) {
	b := demoBook(t)
	b.at("2026-10-02T19:00")
	w := newWhyBook(b)
	items := b.due("--all")
	if len(items) < 100 {
		t.Fatalf("%d items", len(items))
	}
	text := unwrapped(b.must("due", "--all", "--why"))
	used := map[int]int{}
	for _, i := range items {
		t.Run(i.ID, func(t *testing.T) {
			if len(i.Entries) == 0 {
				t.Error("cites no entry")
			}
			for _, id := range i.Entries {
				if w.entries[id] == nil {
					t.Errorf("cites %s, which is not in the book or has no effect", id)
				}
			}
			if !strings.Contains(text, strings.Join(strings.Fields(i.Why), " ")) {
				t.Errorf("--why does not print %q", i.Why)
			}
			for n, c := range whyChecks {
				if g := c.form.FindStringSubmatch(i.Why); g != nil {
					used[n]++
					c.check(t, w, i, g)
					if t.Failed() {
						t.Logf("%s: %s: %+v", i.Machine, i.Why, i)
					}
					return
				}
			}
			t.Errorf("nobody checks %q", i.Why)
		})
	}
	for n, c := range whyChecks {
		if used[n] == 0 {
			t.Errorf("no line of the form %s", c.form)
		}
	}
	for _, k := range []string{"disc-drill: the built-in schedule", "tractor: the built-in schedule", "field-sprayer: a farm's own schedule"} {
		if !strings.Contains(text, k) {
			t.Errorf("--why does not say %q", k)
		}
	}
	own := w.st.Machine("big-tractor").Fitted.Overrides
	if len(own) != 1 || !strings.Contains(text, `own value: job.oil-change.when.1.every is ["400 h", "12 mo"], operator's manual, page 212 (made up) [`+own[0].Entry.Short()+"]") {
		t.Errorf("--why does not tell the farm's own value %+v", own)
	}
}

// Every fact that show knows of any machine cites entries of the book, and show --why prints them.
func TestEveryFactAnswersWhy(t *testing.T) {
	b := demoBook(t)
	b.at("2026-10-02T19:00")
	w := newWhyBook(b)
	facts := 0
	for _, m := range w.st.Machines {
		var got any
		if err := json.Unmarshal([]byte(b.must("show", m.Name, "--json")), &got); err != nil {
			t.Fatal(err)
		}
		text := b.must("show", m.Name, "--why")
		walk(got, func(path string, fact map[string]any) {
			ids, ok := fact["entries"].([]any)
			if !ok {
				return
			}
			facts++
			_, setting := fact["setting"]
			if setting && fact["value"] == nil { // never set
				return
			}
			known, said := fact["known"].(bool)
			if len(ids) == 0 && (known || !said) {
				t.Errorf("%s%s: %v cites no entry", m.Name, path, fact)
			}
			for n, id := range ids {
				id := rules.ID(id.(string))
				if w.entries[id] == nil {
					t.Errorf("%s%s cites %s, which is not in the book or has no effect", m.Name, path, id)
				}
				if n == 0 && !toldByPart(m, fact) && !strings.Contains(text, id.Short()) {
					t.Errorf("%s%s: show --why does not print %s", m.Name, path, id.Short())
				}
			}
		}, "")
	}
	if facts < 60 {
		t.Errorf("%d facts", facts)
	}
}

// toldByPart is a job that replaces a part, taken as done: show tells the part and leaves the job to show MACHINE JOB.
func toldByPart(m *rules.Machine, fact map[string]any) bool {
	name, _ := fact["job"].(string)
	job, ok := m.Fitted.Job(name)
	return ok && job.Swaps != "" && fact["assumed"] == true
}

// What prepare and compare list rests on entries of the book too.
func TestWhatIsPreparedAndComparedCitesEntries(t *testing.T) {
	b := demoBook(t)
	b.at("2026-10-02T19:00")
	w := newWhyBook(b)
	for _, line := range [][]string{
		{"prepare", "--before", "spring seeding 2027"}, {"compare", "drill", "spring seeding 2025", "autumn seeding 2026"}, {"compare", "drill", "creek-drill", "--machines"},
		{"due", "--person", "Ash"}, {"due", "--person", "nobody"},
	} {
		var got any
		if err := json.Unmarshal([]byte(b.must(append(line, "--json")...)), &got); err != nil {
			t.Fatal(err)
		}
		cited := 0
		walk(got, func(path string, fact map[string]any) {
			ids, _ := fact["entries"].([]any)
			for _, id := range ids {
				cited++
				if w.entries[rules.ID(id.(string))] == nil {
					t.Errorf("%s: %s cites %s, which is not in the book or has no effect", strings.Join(line, " "), path, id)
				}
			}
		}, "")
		if cited < 5 {
			t.Errorf("%s: %d entries are cited", strings.Join(line, " "), cited)
		}
	}
}

func walk(v any, f func(string, map[string]any), path string) {
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			walk(x, f, path)
		}
	case map[string]any:
		f(path, v)
		for k, x := range v {
			walk(x, f, path+"."+k)
		}
	}
}

func newWhyBook(b *testBook) *whyBook {
	w := &whyBook{st: b.state(), entries: map[rules.ID]*rules.Effective{}}
	for _, e := range w.st.Effective {
		if e.Ignored == "" && e.StruckBy == "" {
			w.entries[e.Entry.ID] = e
		}
	}
	return w
}

// doneOn: the last doing named is the item's, and its entry is of that day.
func (w *whyBook) doneOn(t *testing.T, i dueItemJSON, day string) {
	if e := w.entries[i.Last.Entry]; e == nil || e.Done.Date() != day || i.Last.Done.Date() != day {
		t.Errorf("the last time is %s by %s, not %s", i.Last.Done, i.Last.Entry, day)
	}
}

func (w *whyBook) cites(i dueItemJSON, day string) bool {
	for _, id := range i.Entries {
		if e := w.entries[id]; e != nil && e.Done.Date() == day {
			return true
		}
	}
	return false
}

func (w *whyBook) season(t *testing.T, name, opened, closed string) {
	s := w.st.Season(name)
	if s == nil || opened != "" && s.Opened != opened || closed != "" && s.Closed != closed {
		t.Errorf("%s is %+v", name, s)
	}
}

// addsUp: from and every make due, and now less due is how far over it is, to the tenth that is said of worked-out hours.
func addsUp(t *testing.T, i dueItemJSON, from, every, due, now string) {
	near := func(what string, a, b *big.Rat) {
		if d := new(big.Rat).Sub(a, b); d.Abs(d).Cmp(big.NewRat(11, 100)) > 0 { // two numbers said to a tenth
			t.Errorf("%s: %s, not %s", what, a.FloatString(2), b.FloatString(2))
		}
	}
	near("due", new(big.Rat).Add(num(t, from), num(t, every)), num(t, due))
	near("over", new(big.Rat).Sub(num(t, now), num(t, due)), num(t, i.Over.Value))
	near("due, to a program", num(t, i.Due.Value), num(t, due))
}

// fallsOn: from and a time make due, by the calendar's own arithmetic: a month without that day ends on its last.
func fallsOn(t *testing.T, w *whyBook, i dueItemJSON, from, number, unit, due string) {
	n := int(num(t, number).Num().Int64())
	start := date(t, from)
	var want time.Time
	switch unit {
	case "d":
		want = start.AddDate(0, 0, n)
	case "wk":
		want = start.AddDate(0, 0, 7*n)
	case "yr":
		n *= 12
		fallthrough
	case "mo":
		want = start.AddDate(0, n, 0)
		for want.Day() < start.Day() && want.Day() < 4 { // it ran over into the next month
			want = want.AddDate(0, 0, -1)
		}
	}
	if want.Format(time.DateOnly) != due || i.Due.Date != due {
		t.Errorf("it falls on %s, not on %s", want.Format(time.DateOnly), due)
	}
	if over := int(date(t, w.st.On).Sub(want).Hours() / 24); !same(over, i.Over.Value) {
		t.Errorf("%d days over, not %s", over, i.Over.Value)
	}
}

func same(n int, text string) bool {
	r, ok := new(big.Rat).SetString(text)
	return ok && r.Cmp(big.NewRat(int64(n), 1)) == 0
}

func num(t *testing.T, s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is no number", s)
	}
	return r
}

func date(t *testing.T, s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
