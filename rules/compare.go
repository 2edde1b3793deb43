package rules

import (
	"cmp"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Side is one side of a comparison: a machine as it stood at the end of a stretch of days, and what was done on it during them.
type Side struct {
	State    *State // on the last day of the stretch
	Machine  *Machine
	From, To string // the days, both counted; From "": since the beginning
	Later    *State // what is known of the time after it too: the reading after the season, the repair in winter; nil: State
}

// later is the state that knows most of what came after the stretch.
func (s Side) later() *State {
	if s.Later != nil {
		return s.Later
	}
	return s.State
}

// Change is one thing that differs between two sides.
type Change struct {
	What      string           // "outcome", "setting", "part", "reading", "rate", "job", "missed", "fault", "cause", "counter"
	Name      string           // of the setting, part, reading, job, counter; a fault's severity or cause
	Positions record.Positions // zero: the machine
	Hand      string
	From, To  Found
}

// Found is what one side has of it.
type Found struct {
	Value     record.Value      // of a setting, the one that stood for most of the use of the stretch; of a reading taken at one place or alike at all; zero: never set, or read
	Held      []Held            // of a setting that was changed during the stretch, all values in their order
	Last      record.Value      // of such a setting, what stood on the last day; zero: not known
	Count     int               // times a job was done, faults found, readings taken, parts a rate rests on, places a job was overdue at; 1 where parts are in the places
	Low, Mid  record.Value      // least and middle one of several readings
	High      record.Value      // greatest
	Mean      record.Value      // of several amounts
	Part      string            // id of the part in the place; "" empty or unknown, or different parts in several places
	WorkedOut string            // of a counter, or the use of a setting: what it is worked out from, see Counter.WorkedOut
	Use       quantity.Quantity // of a counter during the stretch; lost time with faults; of a rate the use of all its parts between their readings
	Change    quantity.Quantity // of a rate: what the readings changed by, all together; Value is for each hundred of the counter
	Reasons   []string          // of jobs overdue: place by place why
	Positions record.Positions  // of jobs overdue: where
	Since     record.Done       // when it was set, fitted, last read or last done; of several the latest
	First     record.Done       // of several parts, when the earliest was fitted
	Person    ID                // by whom
	Entries   []ID              // it rests on, at most 20 of them, oldest first
}

const mostEntries = 20

// Compare lists what differs between two sides, in the order outcomes, settings, parts, readings, rates, jobs, jobs overdue at the end, faults, counters; within these by name, then place. Places that
// changed alike share a line. Of two sides that hold the same there is nothing. Each side may be another machine of the same kind.
func Compare(a, b Side) []Change {
	by := newAuthors(a.State, b.State)
	out := compareOutcomes(a, b)
	out = append(out, compareSettings(a, b, by)...)
	out = append(out, compareParts(a, b, by)...)
	out = append(out, compareReadings(a, b)...)
	out = append(out, compareRates(a, b)...)
	out = append(out, compareJobs(a, b)...)
	out = append(out, compareMissed(a, b)...)
	out = append(out, compareFaults(a, b)...)
	out = append(out, compareCauses(a, b)...)
	return append(out, compareUse(a, b)...)
}

// authors are who did what the entries tell.
type authors map[ID]ID

func newAuthors(states ...*State) authors {
	out := authors{}
	for _, s := range states {
		for _, e := range s.Effective {
			who := e.Entry.Person
			if w := record.Base(e.Record); w != nil && len(w.By) > 0 {
				who = w.By[0]
			}
			out[e.Entry.ID] = who
		}
	}
	return out
}

func (by authors) of(ids []ID) ID {
	if len(ids) == 0 {
		return ""
	}
	return by[ids[len(ids)-1]]
}

// names are the keys of both maps, sorted.
func names[A, B any](a map[string]A, b map[string]B) []string {
	var out []string
	for k := range a {
		out = append(out, k)
	}
	for k := range b {
		if _, ok := a[k]; !ok {
			out = append(out, k)
		}
	}
	slices.Sort(out)
	return out
}

// joiner puts together places that changed alike.
type joiner struct {
	at     map[string]int
	out    []Change
	places [][]record.Position
}

func (j *joiner) add(key string, p record.Position, c Change) {
	if j.at == nil {
		j.at = map[string]int{}
	}
	i, ok := j.at[key]
	if !ok {
		i = len(j.out)
		j.at[key] = i
		j.out = append(j.out, c)
		j.places = append(j.places, nil)
	} else {
		j.out[i].From.join(c.From)
		j.out[i].To.join(c.To)
	}
	if p != (record.Position{}) {
		j.places[i] = append(j.places[i], p)
	}
}

// join takes up what another place has.
func (f *Found) join(o Found) {
	f.Entries = few(append(f.Entries, o.Entries...))
	if f.First > o.First {
		f.First = o.First
	}
	if f.Since < o.Since {
		f.Since, f.Person = o.Since, o.Person
	}
	if f.Part != o.Part {
		f.Part = "" // several
	}
}

// changes are the joined ones, each name's by its first place.
func (j *joiner) changes() []Change {
	for i := range j.out {
		j.out[i].Positions = record.NewPositions(j.places[i]...)
	}
	slices.SortStableFunc(j.out, func(a, b Change) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), firstPlace(a.Positions, b.Positions), strings.Compare(a.Hand, b.Hand))
	})
	return j.out
}

func firstPlace(a, b record.Positions) int {
	x, y := a.All(), b.All()
	if len(x) == 0 || len(y) == 0 {
		return cmp.Compare(len(x), len(y))
	}
	return cmp.Or(strings.Compare(x[0].Noun, y[0].Noun), cmp.Compare(x[0].Number, y[0].Number), strings.Compare(x[0].Name, y[0].Name))
}

func few(ids []ID) []ID {
	ids = unique(ids)
	if len(ids) > mostEntries {
		ids = ids[:mostEntries]
	}
	return ids
}

func compareSettings(a, b Side, by authors) []Change {
	var j joiner
	for _, name := range names(a.Machine.Settings, b.Machine.Settings) {
		for _, place := range names(a.Machine.Settings[name], b.Machine.Settings[name]) {
			from, to := a.heldAt(a.Machine.Settings[name][place], by), b.heldAt(b.Machine.Settings[name][place], by)
			if from.sameHeld(to) {
				continue
			}
			p, _ := SplitSlot(place)
			j.add(strings.Join([]string{name, from.heldKey(), "beside", to.heldKey(), string(from.Since), string(to.Since), string(from.Person), string(to.Person)}, "\x00"), p,
				Change{What: "setting", Name: name, From: from, To: to})
		}
	}
	return j.changes()
}

func compareParts(a, b Side, by authors) []Change {
	var j joiner
	found := func(s *Slot) Found {
		if s == nil || s.Part == nil {
			return Found{}
		}
		return Found{Count: 1, Part: s.Part.ID, Since: s.Since, First: s.Since, Person: by.of(s.Reason.Entries), Entries: few(s.Reason.Entries)}
	}
	same := a.Machine.ID == b.Machine.ID
	for _, name := range names(a.Machine.Slots, b.Machine.Slots) {
		for _, slot := range names(a.Machine.Slots[name], b.Machine.Slots[name]) {
			from, to := found(a.Machine.Slots[name][slot]), found(b.Machine.Slots[name][slot])
			if !same || from.Part == to.Part { // of two machines every part differs
				continue
			}
			p, hand := SplitSlot(slot)
			j.add(strings.Join([]string{name, hand, from.state(), to.state()}, "\x00"), p, Change{What: "part", Name: name, Hand: hand, From: from, To: to})
		}
	}
	return j.changes()
}

// state is what parts on one line have in common.
func (f Found) state() string {
	switch {
	case f.Part == "":
		return "none"
	case f.Since == "":
		return "original"
	}
	return "fitted"
}

// SplitSlot reads a SlotName back. The position of "" is the zero one: the machine.
func SplitSlot(slot string) (record.Position, string) {
	place, hand, _ := strings.Cut(slot, " ")
	if place == "" {
		return record.Position{}, hand
	}
	set, err := record.ParsePositions([]string{place})
	if err != nil {
		return record.Position{}, hand
	}
	return set.All()[0], hand
}
