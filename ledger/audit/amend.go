package audit

import (
	"shedbook/ledger"
	"shedbook/rules/record"
)

// amendments holds corrections and strikes to their targets and to their
// writers' rights. The entries come in the order in which they rule.
func (c *check) amendments() {
	struck := make(map[ledger.ID]*ledger.Entry)
	for i, e := range c.entries {
		f := &c.facts[i]
		if !c.read(i) || f.err != nil || f.kind != "correct" && f.kind != "strike" {
			continue
		}
		target := c.target(e, f)
		if target == nil || !c.mayAmend(e, f, target) {
			continue
		}
		if f.kind == "correct" {
			if c.sameThing(e, f, target) {
				if s := struck[target.ID()]; s != nil {
					c.say(e, ledger.Note, CodeCorrectStruck, "it corrects entry %s, which entry %s strikes: a strike is final", target.ID().Short(), s.ID().Short())
				}
			}
			continue
		}
		switch s := struck[target.ID()]; {
		case f.machine != c.facts[c.at[target.ID()]].machine:
			c.say(e, ledger.Warning, CodeNotSame, "it strikes entry %s, but names another machine: it counts for nothing", target.ID().Short())
		case s != nil:
			c.say(e, ledger.Note, CodeStruckTwice, "it strikes entry %s, which entry %s has struck", target.ID().Short(), s.ID().Short())
		default:
			struck[target.ID()] = e
		}
	}
}

// target returns the entry that e is about, if that is one which can be amended.
func (c *check) target(e *ledger.Entry, f *fact) *ledger.Entry {
	j, held := c.at[f.target]
	if !held {
		c.say(e, ledger.Warning, CodeUnknownEntry, "it %ss entry %s, which is not here: it counts for nothing", f.kind, f.target.Short())
		return nil
	}
	target := c.entries[j]
	kind := c.facts[j].kind
	switch {
	case target.Class() == ledger.Control:
		c.say(e, ledger.Warning, CodeCorrectControl, "it %ss entry %s, %s: who takes part can be neither corrected nor struck; it counts for nothing",
			f.kind, target.ID().Short(), article(target.Kind()))
	case c.status[j] != ledger.Counts:
		c.say(e, ledger.Warning, CodeUnknownEntry, "it %ss entry %s, which does not count (%s): it counts for nothing", f.kind, target.ID().Short(), c.status[j])
	case !target.HasBody():
		c.say(e, ledger.Warning, CodeUnknownEntry, "it %ss entry %s, whose content is held back: it counts for nothing", f.kind, target.ID().Short())
	case kind == "correct" || kind == "strike":
		c.say(e, ledger.Warning, CodeNotOriginal, "it %ss entry %s, itself %s: only original entries can be corrected or struck; it counts for nothing", f.kind, target.ID().Short(), article(kind))
	case c.facts[j].err != nil:
		c.say(e, ledger.Warning, CodeUnknownEntry, "it %ss entry %s, which cannot be read: it counts for nothing yet", f.kind, target.ID().Short())
	default:
		return target
	}
	return nil
}

// mayAmend: owners amend anyone's entries, workers those of their own person,
// and never what only owners write.
func (c *check) mayAmend(e *ledger.Entry, f *fact, target *ledger.Entry) bool {
	kind := c.facts[c.at[target.ID()]].kind
	writer, other := c.devices[e.Writer()], c.devices[target.Writer()]
	switch {
	case c.owner(e.Writer()):
		return true
	case ownerOnly(kind):
		c.say(e, ledger.Warning, CodeNoRight, "it %ss entry %s, %s, and only owners write these: it counts for nothing", f.kind, target.ID().Short(), article(kind))
	case writer.Person.IsZero() || writer.Person != other.Person:
		c.say(e, ledger.Warning, CodeNoRight, "it %ss entry %s of someone else, which only owners may do: it counts for nothing", f.kind, target.ID().Short())
	default:
		return true
	}
	return false
}

// sameThing: a correction keeps kind, machine and identity of its target.
func (c *check) sameThing(e *ledger.Entry, f *fact, target *ledger.Entry) bool {
	was := &c.facts[c.at[target.ID()]]
	now, ok := decode(e).(*record.Correct)
	if !ok {
		return false
	}
	what := ""
	switch r, err := now.Decoded(); {
	case now.As != was.kind:
		what = "another kind of entry"
	case f.machine != was.machine:
		what = "another machine"
	case err != nil:
		what = "what cannot be read"
	case !sameIdentity(r, decode(target)):
		what = "another key, kind or name, which are for life"
	default:
		return true
	}
	c.say(e, ledger.Warning, CodeNotSame, "it corrects entry %s to %s: it counts for nothing", target.ID().Short(), what)
	return false
}

func decode(e *ledger.Entry) record.Record {
	r, err := record.Decode(e.Kind(), e.Record())
	if err != nil {
		return nil
	}
	return r
}

// sameIdentity holds what no correction can change. A test holds it to package
// rules.
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
