package audit

import (
	"errors"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// fact is what a shared or work entry that counts says, as far as others rest
// on it.
type fact struct {
	err     error
	kind    string
	machine ledger.ID // that it concerns; its own id where it adds one
	done    record.Done
	target  ledger.ID // of a correction or strike
	private error
	// work says that the record concerns a machine, whatever the entry's class.
	work bool
	adds *ledger.MachineKey
}

// records holds each record that counts to its form, class, label and its
// writer's rights.
func (c *check) records() {
	c.readAll()
	keys := c.machines()
	for i, e := range c.entries {
		if !c.read(i) {
			continue
		}
		f := &c.facts[i]
		if newer := (*record.NewerError)(nil); errors.As(f.err, &newer) {
			c.say(e, ledger.Warning, CodeNewer, "cannot judge: %v", f.err)
			continue
		}
		if f.err != nil {
			c.say(e, ledger.Warning, CodeUnreadable, "the record breaks its form and counts for nothing: %v", f.err)
			continue
		}
		if f.private != nil {
			c.say(e, ledger.Warning, CodeUnreadable, "the private part of %s entry cannot be read: %v", article(f.kind), f.private)
		}
		c.label(e, f, keys)
		if ownerOnly(f.kind) && !c.owner(e.Writer()) {
			c.say(e, ledger.Warning, CodeNoRight, "%s entry by a worker's device counts for nothing: only owners write these; an owner can enter it anew", article(f.kind))
		}
	}
}

// readAll decodes each record that matters.
func (c *check) readAll() {
	c.facts = make([]fact, len(c.entries))
	parallel(len(c.entries), func(i int) {
		if c.read(i) {
			c.facts[i] = factOf(c.entries[i])
		}
	})
}

// read reports whether entry i is one whose record matters: shared or work, here
// and counting.
func (c *check) read(i int) bool {
	e := c.entries[i]
	return c.status[i] == ledger.Counts && e.Class() != ledger.Control && e.HasBody()
}

func factOf(e *ledger.Entry) fact {
	f := fact{kind: e.Kind()}
	r, err := record.Decode(e.Kind(), e.Record())
	if err != nil {
		f.err = err
		return f
	}
	f.work = record.IsWork(r)
	f.machine, _ = ledger.ParseID(string(record.MachineOf(r)))
	if key, ok := addsMachine(r); ok {
		f.machine, f.adds = e.ID(), new(ledger.MachineKey)
		if err := f.adds.UnmarshalText([]byte(key)); err != nil {
			f.err = err
		}
	}
	if record.Base(r) != nil {
		f.done, _ = record.DoneOf(r)
	}
	switch r := r.(type) {
	case *record.Correct:
		f.target, _ = ledger.ParseID(string(r.Entry))
	case *record.Strike:
		f.target, _ = ledger.ParseID(string(r.Entry))
	}
	if e.Private() != nil {
		_, f.private = record.DecodePrivate(e.Private())
	}
	return f
}

// machines returns the key of every machine and shelf that an owner added under
// its own label, and reports keys that stand twice.
func (c *check) machines() map[ledger.ID]ledger.MachineKey {
	keys := make(map[ledger.ID]ledger.MachineKey)
	first := make(map[ledger.MachineKey]*ledger.Entry)
	for i, e := range c.entries {
		f := &c.facts[i]
		if f.adds == nil || f.err != nil || !e.TagMatches(*f.adds) || !c.owner(e.Writer()) {
			continue
		}
		keys[e.ID()] = *f.adds
		if other := first[*f.adds]; other != nil {
			c.say(e, ledger.Warning, CodeSharedKey, "the %s has the key of the one that entry %s added: whoever is shown one can find the other", f.kind, other.ID().Short())
			continue
		}
		first[*f.adds] = e
	}
	return keys
}

// label holds an entry's tag to its body: work that is not labelled for its
// machine could be left out of what a buyer is shown, unseen.
func (c *check) label(e *ledger.Entry, f *fact, keys map[ledger.ID]ledger.MachineKey) {
	labelled := e.Class() == ledger.Work
	switch {
	case f.work && !labelled:
		c.say(e, ledger.Error, CodeWrongClass, "%s entry was written without a machine's label: it counts for nothing, and would not be found among the machine's entries", article(f.kind))
	case !f.work && labelled:
		c.say(e, ledger.Error, CodeWrongClass, "%s entry was written under a machine's label, but concerns the whole book: it counts for nothing", article(f.kind))
	case !labelled:
	case f.adds != nil:
		if !e.TagMatches(*f.adds) {
			c.say(e, ledger.Error, CodeTagMismatch, "the %s is added under a label that is not its own: it counts for nothing", f.kind)
		}
	default:
		key, ok := keys[f.machine]
		switch {
		case !ok:
			c.say(e, ledger.Warning, CodeUnknownMachine, "%s entry about machine %s, which no owner has added: it counts for nothing", article(f.kind), f.machine.Short())
		case !e.TagMatches(key):
			c.say(e, ledger.Error, CodeTagMismatch, "%s entry about machine %s is labelled for another: it counts for nothing, and would not be found among the machine's entries", article(f.kind), f.machine.Short())
		}
	}
}

// owner reports whether a device may do what only owners may.
func (c *check) owner(w ledger.Writer) bool {
	role := c.devices[w].Role
	return role == ledger.RoleOwner || role == ledger.RoleRecovery
}

// ownerOnly reports the kinds that only an owner's device may write, correct or
// strike. A test holds it to package rules.
func ownerOnly(kind string) bool {
	switch kind {
	case "farm", "yard", "schedule", "override", "machine", "lend", "sell", "shelf":
		return true
	}
	return false
}

func addsMachine(r record.Record) (key string, ok bool) {
	switch r := r.(type) {
	case *record.Machine:
		return r.Key, true
	case *record.Shelf:
		return r.Key, true
	}
	return "", false
}

func article(kind string) string {
	if kind != "" && (kind[0] == 'a' || kind[0] == 'e' || kind[0] == 'i' || kind[0] == 'o' || kind[0] == 'u') {
		return "an " + kind
	}
	return "a " + kind
}
