package main

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

// Fates of an entry, as history tells them.
const (
	counts    = "counts"
	corrected = "corrected"
	struck    = "struck"
	noEffect  = "no-effect"
	pending   = "pending" // its device is not admitted
	waiting   = "waiting" // entries it follows on are missing
	stopped   = "stopped" // written after its device was stopped
)

// historyLine is one entry with what became of it.
type historyLine struct {
	st      *rules.State
	entry   *rules.Entry
	id      record.ID
	done    record.Done // when done; for what holds always, when written
	at      string      // when written, RFC 3339 UTC
	kind    string
	machine string
	who     string // names
	people  []record.ID
	record  record.Record // as corrected
	private *record.Private
	places  record.Positions // asked for
	m       *rules.Machine
	fate    fateJSON
	marks   []string
}

type fateJSON struct {
	State string      `json:"state"`
	By    []record.ID `json:"by"`
	Why   string      `json:"why,omitempty"`
}

type historyJSON struct {
	ID       record.ID   `json:"id"`
	At       string      `json:"at"`
	Done     record.Done `json:"done,omitempty"`
	Person   string      `json:"person"` // who did it, else who wrote it; "" where the name is held back
	People   []record.ID `json:"people"`
	Writer   string      `json:"writer"`
	Kind     string      `json:"kind"`
	Machine  string      `json:"machine,omitempty"`
	Sentence string      `json:"sentence"`
	Record   any         `json:"record"`
	Private  any         `json:"private,omitempty"`
	Fate     fateJSON    `json:"fate"`
}

type historiesJSON struct {
	Format  int           `json:"format"`
	Entries []historyJSON `json:"entries"`
}

// history lists a book's entries in order of effect; what holds always stands at the moment it was written.
func (b *book) history(st *rules.State, f historyFilter) []historyLine {
	var out []historyLine
	for _, e := range st.Effective {
		l := b.line(st, e.Entry)
		l.record, l.private = e.Record, e.Private
		if e.Done != "" {
			l.done = e.Done
		}
		l.fate = fateOf(e)
		out = append(out, l)
	}
	if f.all {
		out = append(out, b.uncounted(st)...)
	}
	out = slices.DeleteFunc(out, func(l historyLine) bool { return !f.wants(st, &l) })
	for i := range out {
		out[i].finish(b, f)
	}
	slices.SortStableFunc(out, func(a, b historyLine) int {
		return cmp.Or(a.done.Compare(b.done), cmp.Compare(a.entry.Depth, b.entry.Depth), cmp.Compare(a.id, b.id))
	})
	return out
}

func fateOf(e *rules.Effective) fateJSON {
	switch {
	case e.StruckBy != "":
		return fateJSON{State: struck, By: []record.ID{e.StruckBy}}
	case e.Ignored != "":
		return fateJSON{State: noEffect, By: []record.ID{}, Why: e.Ignored}
	case len(e.CorrectedBy) > 0:
		return fateJSON{State: corrected, By: e.CorrectedBy}
	}
	return fateJSON{State: counts, By: []record.ID{}}
}

// line begins a line with what the entry itself says.
func (b *book) line(st *rules.State, e *rules.Entry) historyLine {
	l := historyLine{st: st, entry: e, id: e.ID, at: e.At, kind: e.Kind, record: e.Record, private: e.Private}
	l.done = record.Done(l.written(b.c).Format("2006-01-02T15:04"))
	return l
}

// written is when the entry was recorded, on this computer's clock on the wall.
func (l *historyLine) written(c *call) time.Time {
	t, _ := time.Parse(time.RFC3339, l.at)
	return t.In(c.now().Location())
}

// uncounted are the entries that no state is made from: of devices not admitted, after a stop, or with a gap before them.
func (b *book) uncounted(st *rules.State) []historyLine {
	var out []historyLine
	for _, e := range b.log.Entries() {
		status := b.judged.Status(e)
		if status == ledger.Counts || e.Class() == ledger.Control {
			continue
		}
		dev, _ := b.judged.Device(e.Writer())
		known := b.log.KnownAt(e).UTC().Format("2006-01-02")
		if st.Known != "" && known > st.Known {
			continue
		}
		entry := rules.Adapt(e, dev.Person.String(), false, known)
		l := b.line(st, &entry)
		if d, ok := doneOf(entry.Record); ok {
			l.done = d
		}
		l.fate = fateJSON{By: []record.ID{}}
		switch status {
		case ledger.Pending:
			l.fate.State, l.fate.Why = pending, "its device is not admitted"
		case ledger.Waiting:
			l.fate.State, l.fate.Why = waiting, "entries before it are missing"
		default:
			l.fate.State, l.fate.Why = stopped, "written after its device was stopped"
		}
		out = append(out, l)
	}
	return out
}

func doneOf(r record.Record) (record.Done, bool) {
	if r == nil {
		return "", false
	}
	return record.DoneOf(r)
}

// wants reports whether an entry is asked for.
func (f *historyFilter) wants(st *rules.State, l *historyLine) bool {
	target := l.record
	if c, ok := l.record.(*record.Correct); ok {
		if r, err := c.Decoded(); err == nil {
			target = r
		}
	}
	day := l.done.Date()
	switch {
	case !f.all && (l.fate.State == struck || l.fate.State == noEffect):
		return false
	case !f.all && (l.kind == "correct" || l.kind == "strike"):
		return false
	case f.kind != "" && l.kind != f.kind:
		return false
	case f.since != "" && day < f.since, f.until != "" && day > f.until, day > st.On:
		return false
	case f.machine != "" && !concerns(l, f.machine):
		return false
	case f.by != "" && !slices.Contains(peopleOf(l), f.by) && l.entry.Person != f.by:
		return false
	case f.look == nil:
		return true
	case !f.look.places.IsZero() && !f.look.touches(positionsOf(f.look.m.Fitted, target)):
		return false
	case len(f.look.names) > 0 && !slices.ContainsFunc(thingsOf(target), func(n thingName) bool { return f.look.wants(n.what, n.name) }):
		return false
	}
	return true
}

// concerns reports an entry about a machine, the one that added it among them.
func concerns(l *historyLine, machine record.ID) bool {
	if l.id == machine {
		return true
	}
	if l.record == nil {
		return false
	}
	return record.MachineOf(l.record) == machine
}

// peopleOf are who did the work, else who wrote it down.
func peopleOf(l *historyLine) []record.ID {
	if l.record != nil {
		if w := record.Base(l.record); w != nil && len(w.By) > 0 {
			return w.By
		}
	}
	return []record.ID{l.entry.Person}
}

// finish works out what is said of a line once it is known to be shown.
func (l *historyLine) finish(b *book, f historyFilter) {
	l.people = peopleOf(l)
	l.who = names(l.st, l.people)
	switch {
	case l.record == nil:
	case l.kind == "machine":
		l.m = l.st.MachineByID(l.id)
	default:
		l.m = l.st.MachineByID(record.MachineOf(l.record))
	}
	if l.m != nil {
		l.machine = l.m.Name
	}
	if f.look != nil {
		l.places = f.look.places
	}
	if w := l.written(b.c).Format("Mon 2006-01-02"); w[len("Mon "):] != l.done.Date() {
		l.marks = append(l.marks, "(written "+w+")")
	}
	if s := enteredBy(l.st, l.private); s != "" {
		l.marks = append(l.marks, "("+s+")")
	}
	if s := importedFrom(l.private); s != "" {
		l.marks = append(l.marks, "("+s+")")
	}
	switch l.fate.State {
	case corrected:
		was := sentence.At(l.st, l.m, l.entry.Record, l.entry.Private, l.places, b.c.system)
		if d, ok := doneOf(l.entry.Record); ok && d != l.done {
			was += ", on " + weekday(d)
		}
		l.marks = append(l.marks, "(corrected by "+l.fate.By[len(l.fate.By)-1].Short()+": was "+was+")")
	case struck:
		l.marks = append(l.marks, "(struck by "+l.fate.By[0].Short()+")")
	case noEffect:
		l.marks = append(l.marks, "(has no effect: "+l.fate.Why+")")
	case pending, waiting, stopped:
		l.marks = append(l.marks, "(does not count: "+l.fate.Why+")")
	}
}

// names joins people's names; a name that is held back is said to be.
func names(st *rules.State, people []record.ID) string {
	var out []string
	for _, id := range people {
		name := "(name held back)"
		if p := st.Person(string(id)); p != nil && p.Name != "" {
			name = p.Name
		}
		out = append(out, name)
	}
	if len(out) == 1 {
		return out[0]
	}
	s := ""
	for i, n := range out {
		switch {
		case i == 0:
		case i == len(out)-1:
			s += " and "
		default:
			s += ", "
		}
		s += n
	}
	return s
}

// text is the sentence.
func (l *historyLine) text(c *call) string {
	if l.record == nil {
		if l.entry.Err != nil {
			return "cannot be read: " + l.entry.Err.Error()
		}
		return "cannot be read"
	}
	return sentence.At(l.st, l.m, l.record, l.private, l.places, c.system)
}

func (c *call) historyJSON(lines []historyLine) []historyJSON {
	out := []historyJSON{}
	for i := range lines {
		l := &lines[i]
		x := historyJSON{ID: l.id, At: l.at, Person: l.who, People: l.people, Writer: l.entry.Writer, Kind: l.kind, Machine: l.machine, Sentence: l.text(c), Record: json.RawMessage("{}"), Fate: l.fate}
		if d, ok := doneOf(l.record); ok {
			x.Done = d
		}
		if l.record != nil {
			x.Record = l.record
		}
		if l.private != nil {
			x.Private = l.private
		}
		out = append(out, x)
	}
	return out
}
