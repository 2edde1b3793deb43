package rules

import (
	"cmp"
	"fmt"
	"slices"
	"sort"

	"shedbook/rules/record"
)

// judge gives every known entry its fate and lists those that have effect by the day in their order: (day done, hh:mm or 24:00, depth, id).
// Corrections and strikes have no day: they hold once known, the greatest (depth, id) ruling, and a corrected entry sorts by its corrected day.
func (r *replay) judge(entries []Entry) {
	known := r.known(entries)
	keys := map[ID]string{}
	for _, e := range known {
		if key, adds := addsMachine(e.Entry.Record); adds && tagged(e.Entry, key) && e.Entry.Owner {
			keys[e.Entry.ID] = key
		}
	}
	for _, e := range known {
		e.Ignored = r.screen(e.Entry, keys)
	}
	for _, e := range known {
		if e.Ignored != "" {
			continue
		}
		switch rec := e.Record.(type) {
		case *record.Correct:
			r.correct(e, rec)
		case *record.Strike:
			r.strike(e, rec)
		}
	}
	for _, e := range known {
		if e.Record != nil {
			e.Done, _ = record.DoneOf(e.Record)
		}
	}
	r.unknownMachines(known, keys)
	sortEffective(known)
	defer r.sayStrangers()
	for _, e := range known {
		if !r.inEffect(e) {
			continue
		}
		r.sayIgnored(e)
		if e.Entry.PrivateErr != nil {
			r.problem("private", machineOf(e.Entry), []ID{e.Entry.ID}, "the words and costs of %s entry %s cannot be read: %v", e.Entry.Kind, e.Entry.ID.Short(), e.Entry.PrivateErr)
		}
		if e.Ignored == "" && e.StruckBy == "" && e.Done != "" && e.Done.Date() <= r.s.On {
			r.effects = append(r.effects, e)
			r.sayFuture(e)
		}
	}
	r.s.Effective = known
}

// known are the entries known by the day asked about, each once, by (depth, id).
func (r *replay) known(entries []Entry) []*Effective {
	var out []*Effective
	for i := range entries {
		e := &entries[i]
		if r.s.Known != "" && e.Known > r.s.Known || r.byEntry[e.ID] != nil {
			continue
		}
		f := &Effective{Entry: e, Record: e.Record, Private: e.Private}
		r.byEntry[e.ID] = f
		out = append(out, f)
	}
	slices.SortFunc(out, func(a, b *Effective) int {
		return cmp.Or(cmp.Compare(a.Entry.Depth, b.Entry.Depth), cmp.Compare(a.Entry.ID, b.Entry.ID))
	})
	return out
}

// correct lets a correction rule over its target, unless it has no right to. It comes in order of (depth, id), so that the last one stays.
func (r *replay) correct(e *Effective, c *record.Correct) {
	target := r.byEntry[c.Entry]
	if target == nil {
		e.Ignored = unknownEntry
		return
	}
	if e.Ignored = mayAmend(e.Entry, target.Entry); e.Ignored != "" {
		return
	}
	rec, err := c.Decoded()
	if err != nil {
		e.Ignored = unreadable
		return
	}
	if c.As != target.Entry.Kind || c.Machine != machineOf(target.Entry) || !sameIdentity(rec, target.Entry.Record) {
		e.Ignored = notSame
		return
	}
	target.Record = rec
	if e.Entry.Private != nil {
		target.Private = e.Entry.Private
	}
	target.CorrectedBy = append(target.CorrectedBy, e.Entry.ID)
}

// sameIdentity holds what can never be corrected: a machine's key and schedule, a shelf's key, a schedule's name.
func sameIdentity(a, b record.Record) bool {
	switch a := a.(type) {
	case *record.Machine:
		b, ok := b.(*record.Machine)
		return ok && a.Key == b.Key && a.Schedule == b.Schedule
	case *record.Shelf:
		b, ok := b.(*record.Shelf)
		return ok && a.Key == b.Key
	case *record.Schedule:
		b, ok := b.(*record.Schedule)
		return ok && a.Name == b.Name
	}
	return true
}

// strike takes its target back, unless it has no right to. The first strike is the one named.
func (r *replay) strike(e *Effective, s *record.Strike) {
	target := r.byEntry[s.Entry]
	if target == nil {
		e.Ignored = unknownEntry
		return
	}
	if e.Ignored = mayAmend(e.Entry, target.Entry); e.Ignored != "" {
		return
	}
	if s.Machine != machineOf(target.Entry) {
		e.Ignored = notSame
		return
	}
	if target.StruckBy == "" {
		target.StruckBy = e.Entry.ID
	}
}

// unknownMachines ignores what was entered about a machine or shelf that was struck.
func (r *replay) unknownMachines(known []*Effective, keys map[ID]string) {
	for _, e := range known {
		if e.Ignored != "" || e.Record == nil {
			continue
		}
		switch e.Record.(type) {
		case *record.Correct, *record.Strike:
			continue // these concern the entry that added the machine too
		}
		id := record.MachineOf(e.Record)
		if id == "" {
			continue
		}
		adds := r.byEntry[id]
		_, shelf := adds.Record.(*record.Shelf)
		_, stock := e.Record.(*record.Stock)
		if adds.StruckBy != "" || adds.Ignored != "" || shelf != stock {
			e.Ignored = unknownMachine
		}
	}
}

// sortEffective puts entries in order of effect; those that have no day come first.
func sortEffective(list []*Effective) {
	type keyed struct {
		key string
		e   *Effective
	}
	ks := make([]keyed, len(list))
	for i, e := range list {
		ks[i].e = e
		if e.Done != "" {
			ks[i].key = e.Done.Date() + e.Done.Clock()
		}
	}
	sort.Slice(ks, func(i, j int) bool {
		a, b := ks[i], ks[j]
		if a.key != b.key {
			return a.key < b.key
		}
		if a.e.Entry.Depth != b.e.Entry.Depth {
			return a.e.Entry.Depth < b.e.Entry.Depth
		}
		return a.e.Entry.ID < b.e.Entry.ID
	})
	for i := range ks {
		list[i] = ks[i].e
	}
}

// inEffect reports whether an entry, or the one it corrects or strikes, lies by the day asked about.
func (r *replay) inEffect(e *Effective) bool {
	done := e.Done
	switch rec := e.Record.(type) {
	case *record.Correct:
		if t := r.byEntry[rec.Entry]; t != nil {
			done = t.Done
		}
	case *record.Strike:
		if t := r.byEntry[rec.Entry]; t != nil {
			done = t.Done
		}
	case *record.Machine, *record.Shelf, *record.Override:
		return true // these hold always, or from a day of their own
	}
	return done == "" || done.Date() <= r.s.On
}

// sayIgnored makes the Problem of an entry without effect.
func (r *replay) sayIgnored(e *Effective) {
	if e.StruckBy != "" {
		return
	}
	id, machine := e.Entry.ID, ID("")
	if e.Record != nil {
		machine = record.MachineOf(e.Record)
	}
	switch e.Ignored {
	case noRight:
		r.problem("no-right", machine, []ID{id}, "%s entry %s has no effect: its writer has no right to it; an owner can enter it anew", e.Entry.Kind, id.Short())
	case wrongTag:
		r.problem("tag-mismatch", machine, []ID{id}, "%s entry %s has no effect: it is not marked as being about the machine it names", e.Entry.Kind, id.Short())
	case unknownMachine:
		r.strangers[machine] = append(r.strangers[machine], id)
	case unknownEntry:
		r.problem("unknown-entry", machine, []ID{id}, "%s entry %s has no effect: the entry it is about is not held", e.Entry.Kind, id.Short())
	case unreadTarget:
		r.problem("newer", machine, []ID{id}, "%s entry %s has no effect yet: the entry it is about cannot be read here", e.Entry.Kind, id.Short())
	case notOriginal:
		r.problem("not-original", machine, []ID{id}, "%s entry %s has no effect: only original entries can be corrected or struck", e.Entry.Kind, id.Short())
	case notSame:
		r.problem("not-same", machine, []ID{id}, "correction %s has no effect: the kind of entry, its machine, a machine's key and kind, and a schedule's name never change", id.Short())
	case unreadable:
		r.problem("unreadable", machine, []ID{id}, "%s entry %s has no effect: it cannot be read: %v", e.Entry.Kind, id.Short(), e.Entry.Err)
	case newer:
		if e.Entry.MachineTag == nil {
			r.problem("newer", "", []ID{id}, "entry %s: %v", id.Short(), e.Entry.Err)
		} // those of a machine are said with it
	}
}

// sayStrangers says once of each machine that is not in the book which entries are about it.
func (r *replay) sayStrangers() {
	for machine, entries := range r.strangers {
		what := "an entry has no effect"
		if n := len(entries); n > 1 {
			what = fmt.Sprintf("%d entries have no effect", n)
		}
		r.problem("unknown-machine", machine, entries, "%s: machine or shelf %s is not in the book", what, machine.Short())
	}
}

// sayFuture names work said to be done more than a day after it was written down (a day, for the clocks of the world differ by that much).
func (r *replay) sayFuture(e *Effective) {
	if len(e.Entry.At) < len("2006-01-02") {
		return
	}
	at := record.Done(e.Entry.At[:len("2006-01-02")])
	if e.Done.Date() > at.Date() && e.Done.Day().Sub(at.Day()).Hours() > 24 {
		r.problem("future", record.MachineOf(e.Record), []ID{e.Entry.ID}, "%s entry %s says %s, later than the day it was written, %s", e.Entry.Kind, e.Entry.ID.Short(), e.Done.Date(), at)
	}
}
