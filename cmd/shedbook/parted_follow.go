package main

import (
	"slices"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

// A book that stays open, as behind the phone page, is not divided anew for every entry: one that concerns a single machine is added to that machine's
// portion, and only what was answered from it is forgotten. Whatever may join portions, or say which machines there are, has all of it worked out anew.

// answerKey names the answer of a portion, by its first machine, to a question on a day.
type answerKey struct {
	first  rules.ID
	o      rules.Options
	all    bool
	within int
}

// follow takes in an entry that was signed just now.
func (b *book) follow(e *ledger.Entry) {
	b.states = map[rules.Options]*rules.State{}
	if !b.stays || b.parted == nil || !b.parted.extend(b, e) {
		b.parted = nil
	}
}

// lonely are the kinds that change nothing but their own machine's portion, whatever they say.
var lonely = []string{"did", "measure", "adjust", "counter", "fault", "repair", "note"}

// extend adds an entry to the portion of its machine; false where it may have to do with more than that.
func (p *parted) extend(b *book, e *ledger.Entry) bool {
	if !slices.Contains(lonely, e.Kind()) || b.judged.Status(e) != ledger.Counts {
		return false
	}
	rec, err := record.Decode(e.Kind(), e.Record())
	if err != nil {
		return false
	}
	portion, ok := p.portions.Of(record.MachineOf(rec))
	if !ok {
		return false
	}
	own := true
	record.Mentions(e.Record(), func(id []byte) { own = own && p.within(b, portion, rules.ID(id)) })
	if !own || !p.portions.Extend(portion.Machines[0], len(p.list)) {
		return false
	}
	p.list = append(p.list, e)
	p.forget(portion)
	return true
}

// within reports that naming an entry joins nothing to a portion: one of its own entries or machines, or a person.
func (p *parted) within(b *book, portion rules.Portion, id rules.ID) bool {
	if slices.Contains(portion.Machines, id) {
		return true
	}
	known, err := ledger.ParseID(string(id))
	if err != nil {
		return false
	}
	e := b.log.Entry(known)
	switch {
	case e == nil:
		return false
	case e.Class() == ledger.Control, e.Kind() == "person":
		return true
	}
	return slices.ContainsFunc(portion.Entries, func(n int) bool { return p.list[n] == e })
}

// forget drops what was worked out from a portion, and what rests on its counters.
func (p *parted) forget(portion rules.Portion) {
	gone := portion.Machines
	for _, other := range p.portions.Each {
		if slices.ContainsFunc(other.Carriers, func(id rules.ID) bool { return slices.Contains(gone, id) }) && !slices.Contains(gone, other.Machines[0]) {
			p.forget(other) // carriers never run in circles: those are one portion
		}
	}
	for _, id := range gone {
		delete(p.states, id)
	}
	for key := range p.counters {
		if key.first == gone[0] {
			delete(p.counters, key)
		}
	}
	for key := range p.answers {
		if key.first == gone[0] {
			delete(p.answers, key)
		}
	}
}

// keptNow is what lies beside the book, which a book that stays open asks once.
func (b *book) keptNow(o rules.Options, f rules.Filter) *keptAnswers {
	if b.stays && len(b.parted.answers) > 0 {
		return nil
	}
	return b.kept(o, f)
}

func (b *book) heldAnswer(p rules.Portion, o rules.Options, f rules.Filter) *keptAnswer {
	if !b.stays {
		return nil
	}
	return b.parted.answers[answerKey{p.Machines[0], o, f.All, f.Within}]
}

// holdAnswers keeps the answers of all portions while the book stays open.
func (b *book) holdAnswers(each []rules.Portion, o rules.Options, f rules.Filter, answers []*keptAnswer) {
	if !b.stays {
		return
	}
	for i, p := range each {
		b.parted.answers[answerKey{p.Machines[0], o, f.All, f.Within}] = answers[i]
	}
}
