package rules_test

import (
	"cmp"
	"slices"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// oracle is a second reading of the definitions (ledger/FORMAT.md, rules/schedule/GRAMMAR.md "When a job comes due"), written to be seen to be right and
// not to be quick: every question goes through all entries again. It shares with the engine what an entry, an amount and a schedule are,
// and not one line of what they come to.
type oracle struct {
	on   string
	told []told // what has effect by the day, in order of effect
	fits map[record.ID]*schedule.Fitted
}

// told is an entry as it stands after corrections.
type told struct {
	id     record.ID
	person record.ID
	done   record.Done
	depth  uint64
	rec    record.Record
}

// ask puts what is known by a day (all of it where known is "") in order of effect and leaves out what comes after the day.
func ask(entries []rules.Entry, on, known string) *oracle {
	o := &oracle{on: on, fits: map[record.ID]*schedule.Fitted{}}
	entries = slices.DeleteFunc(slices.Clone(entries), func(e rules.Entry) bool { return known != "" && e.Known > known })
	written := oldestFirst(entries)
	for _, e := range written {
		if e.Kind == "correct" || e.Kind == "strike" || !e.Owner && ownersAlone(e.Kind) {
			continue
		}
		t := told{id: e.ID, person: e.Person, depth: e.Depth, rec: e.Record}
		struck := false
		for _, a := range written {
			switch r := a.Record.(type) {
			case *record.Correct:
				if r.Entry == e.ID && r.As == e.Kind && mayChange(a, e) {
					t.rec, _ = r.Decoded()
				}
			case *record.Strike:
				struck = struck || r.Entry == e.ID && mayChange(a, e)
			}
		}
		t.done, _ = record.DoneOf(t.rec)
		if !struck && t.done.Date() <= on {
			o.told = append(o.told, t)
		}
	}
	slices.SortFunc(o.told, func(a, b told) int {
		return cmp.Or(a.done.Compare(b.done), cmp.Compare(a.depth, b.depth), strings.Compare(string(a.id), string(b.id)))
	})
	return o
}

// ownersAlone are what a worker may not write (DEVELOPERS.md: an owner's alone).
func ownersAlone(kind string) bool {
	return slices.Contains([]string{"farm", "yard", "schedule", "override", "machine", "shelf", "lend", "sell"}, kind)
}

// mayChange: owners may correct and strike what anyone wrote, workers what the same person wrote.
func mayChange(a, target rules.Entry) bool {
	return a.Owner || a.Person == target.Person && !ownersAlone(target.Kind)
}

func oldestFirst(entries []rules.Entry) []rules.Entry {
	return slices.SortedFunc(slices.Values(entries), func(a, b rules.Entry) int {
		return cmp.Or(cmp.Compare(a.Depth, b.Depth), strings.Compare(string(a.ID), string(b.ID)))
	})
}

// about are the work entries of one machine.
func (o *oracle) about(machine record.ID) []told {
	return slices.DeleteFunc(slices.Clone(o.told), func(t told) bool { return t.id != machine && machineNamed(t.rec) != machine })
}

func machineNamed(r record.Record) record.ID {
	if w, ok := r.(interface{ Base() *record.Work }); ok {
		return w.Base().Machine
	}
	return ""
}

func (o *oracle) fit(machine record.ID) *schedule.Fitted {
	if f := o.fits[machine]; f != nil {
		return f
	}
	var added *record.Machine
	for _, t := range o.told {
		if m, ok := t.rec.(*record.Machine); ok && t.id == machine {
			added = m
		}
	}
	for _, t := range o.told {
		if s, ok := t.rec.(*record.Schedule); ok && s.Name == added.Schedule {
			parsed, err := schedule.Parse(s.Name, []byte(s.Text))
			if err != nil {
				panic(err)
			}
			f, err := parsed.Fit(added.Options, added.Groups, nil)
			if err != nil {
				panic(err)
			}
			o.fits[machine] = f
			return f
		}
	}
	panic("no schedule " + added.Schedule)
}

// minutesOf counts the minutes of wall time since 1970, all days of 24 hours; a day without a time is its end.
func minutesOf(d record.Done) int64 {
	min := d.Day().Unix() / 60
	var h, m int64
	for i, part := range strings.Split(d.Clock(), ":") {
		n := int64(part[0]-'0')*10 + int64(part[1]-'0')
		if i == 0 {
			h = n
		} else {
			m = n
		}
	}
	return min + h*60 + m
}
