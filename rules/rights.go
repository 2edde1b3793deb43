package rules

import (
	"errors"

	"shedbook/rules/record"
)

// What an Effective's Ignored can say.
const (
	noRight        = "no right"
	wrongTag       = "machine does not match"
	unknownMachine = "unknown machine"
	unknownEntry   = "unknown entry"
	newer          = "newer shedbook needed"
	unreadTarget   = "the entry it is about cannot be read"
	unreadable     = "cannot be read"
	notSame        = "not the same kind or machine"
	notOriginal    = "not an original entry"
)

// OwnersOnly reports the kinds that only an owner's device may write, correct or strike: from anyone else they have no effect.
func OwnersOnly(kind string) bool { return needsOwner(kind) }

func needsOwner(kind string) bool {
	switch kind {
	case "farm", "yard", "schedule", "override", "machine", "lend", "sell", "shelf":
		return true
	}
	return false
}

// addsMachine reports the kinds whose entry's id names a machine or shelf.
func addsMachine(rec record.Record) (key string, ok bool) {
	switch rec := rec.(type) {
	case *record.Machine:
		return rec.Key, true
	case *record.Shelf:
		return rec.Key, true
	}
	return "", false
}

// machineOf is the machine or shelf an entry concerns, also where it is the one that adds it.
func machineOf(e *Entry) ID {
	if _, ok := addsMachine(e.Record); ok {
		return e.ID
	}
	if e.Record == nil {
		return ""
	}
	return record.MachineOf(e.Record)
}

// tagged reports whether the entry's tag is that of the key. An entry without a tag function is trusted: it did not come from outside.
func tagged(e *Entry, key string) bool { return e.MachineTag == nil || e.MachineTag(key) }

// screen says why an entry by itself has no effect, "" when it may have: it cannot be read, its writer may not write it, its machine is unknown or
// is not the one its tag says.
func (r *replay) screen(e *Entry, keys map[ID]string) string {
	if e.Err != nil || e.Record == nil {
		var n *record.NewerError
		if errors.As(e.Err, &n) {
			return newer
		}
		return unreadable
	}
	if key, adds := addsMachine(e.Record); adds && !tagged(e, key) {
		return wrongTag
	}
	if needsOwner(e.Kind) && !e.Owner {
		return noRight
	}
	if id := record.MachineOf(e.Record); id != "" {
		key, ok := keys[id]
		if !ok {
			return unknownMachine
		}
		if !tagged(e, key) {
			return wrongTag
		}
	}
	return ""
}

// mayAmend says why e may not correct or strike target, "" when it may.
func mayAmend(e, target *Entry) string {
	switch target.Record.(type) {
	case nil:
		return unreadTarget
	case *record.Correct, *record.Strike:
		return notOriginal
	}
	if !e.Owner && (e.Person != target.Person || needsOwner(target.Kind)) {
		return noRight
	}
	return ""
}
