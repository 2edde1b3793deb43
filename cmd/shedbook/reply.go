package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// reply is the answer of a command that recorded: what, in plain words, with its short id; how to put it right; what is due next there.
type reply struct {
	c       *call
	w       *writing
	m       *rules.Machine // nil: nothing is due there
	entries []replied
	notes   []string
	plain   bool // no hint how to put it right: the answer to putting something right
}

type replied struct {
	e *ledger.Entry
	m *rules.Machine
	r record.Record
	p *record.Private
	s string // said instead of the record's own sentence

	fresh func(record.Position, string) bool // of a corrected measurement: the place and hand of which something else is said now
}

// sign adds an entry and keeps it for the answer.
func (a *reply) sign(m *rules.Machine, r record.Record, p *record.Private) error {
	e, err := a.w.addWork(m, r, p)
	if err != nil {
		return err
	}
	a.entries = append(a.entries, replied{e: e, m: m, r: r, p: a.w.c.hand.claim(p)})
	return nil
}

type repliedJSON struct {
	ID      string          `json:"id,omitempty"` // absent in a dry run
	Kind    string          `json:"kind"`
	Machine string          `json:"machine,omitempty"`
	Done    record.Done     `json:"done,omitempty"`
	Words   string          `json:"words"`
	Record  json.RawMessage `json:"record"`
}

type nextJSON struct {
	Machine   string   `json:"machine"`
	Title     string   `json:"title"`
	State     string   `json:"state"`
	Severity  string   `json:"severity"`
	Positions []string `json:"positions"`
	Why       string   `json:"why"`
}

type replyJSON struct {
	Format   int           `json:"format"`
	DryRun   bool          `json:"dry_run,omitempty"`
	Recorded []repliedJSON `json:"recorded"`
	Notes    []string      `json:"notes,omitempty"`
	Next     []nextJSON    `json:"next"`
}

// state is what is so today, as far as what was recorded is concerned.
func (a *reply) state() (*rules.State, error) {
	if a.m == nil {
		return a.w.state(a.c.today(), "")
	}
	return a.w.stateOf(a.m.ID, rules.Options{On: a.c.today()})
}

// print says it. It runs once the entries are safe.
func (a *reply) print() error {
	st, err := a.state()
	if err != nil {
		return err
	}
	next := a.next(st)
	a.notes = append(a.notes, a.told(st)...)
	if k := len(a.entries); k > 0 {
		for i := range a.notes {
			a.notes[i] = strings.ReplaceAll(a.notes[i], "{id}", a.entries[k-1].e.ID().Short())
		}
	}
	if a.c.json {
		return a.json(st, next)
	}
	verb := "recorded"
	if a.c.dryRun {
		verb = "would record"
	}
	for _, x := range a.entries {
		a.c.printf("%s\n", table.Wrap(verb+": "+table.Clean(a.sentence(st, x))+a.id(x), a.c.columns(), "    "))
	}
	for _, n := range a.notes {
		a.c.printf("%s\n", table.Wrap("  "+table.Clean(n), a.c.columns(), "    "))
	}
	if n := len(a.entries); n > 0 && !a.plain && !a.c.dryRun {
		a.c.sayPutRight(a.entries[n-1].e)
	}
	if a.m == nil || a.c.quiet {
		return nil
	}
	a.c.printf("%s", a.nextLines(st, next))
	return nil
}

// nextLines say what is due next, worst first, or that nothing is.
func (a *reply) nextLines(st *rules.State, next []pressing) string {
	lead := "next on " + a.m.Name + ": "
	var out string
	for i, item := range next {
		if i > 0 {
			lead = "then: "
		}
		out += table.Wrap("  "+lead+table.Clean(nextWords(item)), a.c.columns(), "    ") + "\n"
	}
	if len(next) > 0 {
		return out
	}
	unknown := 0
	for _, i := range rules.Due(st, rules.Filter{Machine: a.m.ID}) {
		if i.State == rules.Unknown {
			unknown++
		}
	}
	if unknown > 0 {
		return fmt.Sprintf("  nothing known to be due on %s; %d not known: shedbook due %s\n", a.m.Name, unknown, a.m.Name)
	}
	return fmt.Sprintf("  nothing is due on %s\n", a.m.Name)
}

func (a *reply) id(x replied) string {
	if a.c.dryRun {
		return ""
	}
	return " [" + x.e.ID().Short() + "]"
}

// sentence is "greased openers 1-48 but 14, 31 on drill, Wed 2026-04-01, by Wren Alder".
func (a *reply) sentence(st *rules.State, x replied) string {
	if x.s != "" {
		return x.s
	}
	m := x.m
	if m != nil {
		if now := st.MachineByID(m.ID); now != nil {
			m = now // one just added has its schedule only now
		}
	}
	return a.w.sentence(st, m, x.r, x.p, a.w.person(), a.system())
}

// sentence tells a record with its machine, day and person: behind it, or before it where it ends with a person's own words.
func (b *book) sentence(st *rules.State, m *rules.Machine, r record.Record, p *record.Private, writer record.ID, sys quantity.System) string {
	s := sentence.Record(st, m, r, p, sys)
	when, who := "", ""
	if done, ok := record.DoneOf(r); ok && done != "" {
		when = ", " + weekday(done)
	}
	if w := record.Base(r); w != nil {
		by := []record.ID{writer}
		if len(w.By) > 0 {
			by = w.By
		}
		var names []string
		for _, id := range by {
			if n := personName(st, id); n != "" {
				names = append(names, n)
			}
		}
		if len(names) > 0 {
			who = ", by " + commas(names)
		}
	}
	who += before(", ", enteredBy(st, p))
	switch {
	case m == nil || m.Name == "":
		return s + when + who
	case p != nil && p.Text != "":
		return m.Name + when + who + ": " + s
	case namesMachine(r):
		return s + when + who
	}
	return s + " on " + m.Name + when + who
}

// namesMachine are the records whose sentence says which machine it is.
func namesMachine(r record.Record) bool {
	switch r := r.(type) {
	case *record.Machine, *record.Move, *record.Shelf, *record.Stock, *record.Sell, *record.Lend, *record.Store, *record.Hitch:
		return true
	case *record.Assume:
		return r.Good
	case *record.Repair:
		return r.Positions.IsZero() && r.Part == ""
	}
	return !record.IsWork(r)
}

func personName(st *rules.State, id record.ID) string {
	if p := st.Person(string(id)); p != nil {
		return p.Name
	}
	return ""
}

// pressing is a line of what is due next: a job at all places where it stands in the same words.
type pressing struct {
	rules.Item
	words string // "overdue by 24 ac"
}

// next are the one or two most pressing things on the machine.
func (a *reply) next(st *rules.State) []pressing {
	if a.m == nil {
		return nil
	}
	var out []pressing
	m := st.MachineByID(a.m.ID)
	for _, i := range rules.Due(st, rules.Filter{Machine: a.m.ID}) {
		if i.State == rules.Unknown || i.State == rules.Later {
			continue
		}
		p := pressing{i, a.dueWords(i)}
		joined := false
		for k := range out {
			o := &out[k]
			if o.Title == p.Title && o.State == p.State && o.words == p.words && o.Job != "" && !o.Positions.IsZero() && !p.Positions.IsZero() && m != nil && m.Fitted != nil {
				o.Positions, joined = o.Positions.Union(p.Positions), true
				o.Where = m.Fitted.Describe(o.Positions, "")
			}
		}
		if !joined {
			out = append(out, p)
		}
	}
	return out[:min(len(out), 2)]
}

// nextWords is "preset hub bearings, due before spring seeding 2026 (openers 1-48)": short, for shedbook due says why.
func nextWords(p pressing) string {
	s := p.Title + ", " + p.words
	if !p.Positions.IsZero() {
		s += " (" + p.Where + ")"
	}
	return s
}

// dueWords is "overdue by 24 ac", "due before spring seeding 2026", "due at 2000 ac".
func (a *reply) dueWords(i rules.Item) string {
	if i.Cause == rules.BySeason && i.Brief != "" {
		return strings.Replace(i.State, rules.Coming, "due", 1) + " " + i.Brief
	}
	switch {
	case i.State == rules.Overdue && i.Over.Value.Sign() > 0:
		return "overdue by " + rough(i.Over.Value, a.system()).String()
	case i.State == rules.Coming && i.Due.Date != "":
		return "due " + weekday(record.Done(i.Due.Date))
	case i.State == rules.Coming && i.Due.Counter != "":
		return "due at " + i.Due.Value.Show(a.system())
	}
	return i.State
}

// system is that of the answers: amounts as they were typed just now, unless --units asks for others.
func (a *reply) system() quantity.System {
	if a.c.units != "" {
		return a.c.system
	}
	return quantity.AsWritten
}

func (a *reply) json(st *rules.State, next []pressing) error {
	out := replyJSON{Format: 1, DryRun: a.c.dryRun, Recorded: []repliedJSON{}, Notes: a.notes, Next: []nextJSON{}}
	for _, x := range a.entries {
		j := repliedJSON{ID: x.e.ID().String(), Kind: x.e.Kind(), Words: a.sentence(st, x), Record: x.e.Record()}
		if x.m != nil {
			j.Machine = x.m.Name
		}
		j.Done, _ = record.DoneOf(x.r)
		if a.c.dryRun {
			j.ID = ""
		}
		out.Recorded = append(out.Recorded, j)
	}
	for _, i := range next {
		out.Next = append(out.Next, nextJSON{i.Name, i.Title, i.State, i.Severity, strs(i.Positions.Strings()), i.Why})
	}
	return a.c.printJSON(out)
}
