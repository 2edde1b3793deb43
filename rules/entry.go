package rules

import (
	"errors"
	"fmt"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// Adapt makes a rules entry of a verified one that counts, shared or work (control entries are the ledger's own). Person is the id of the person
// whose device wrote it, owner whether the device may do what only owners may, known the latest day (YYYY-MM-DD, UTC) in its causal past.
//
// A record that does not decode keeps its entry, with Err set; a private part that does not leaves the record as it is, for nothing rests on it. So does one of the wrong class: work that is not labelled for a machine could be
// left out of what a buyer is shown, unseen.
func Adapt(e *ledger.Entry, person string, owner bool, known string) Entry {
	n := Entry{
		ID: ID(e.ID().String()), Writer: e.Writer().String(), Person: ID(person), Owner: owner, Seq: e.Seq(), Depth: e.Depth(),
		At: e.At().UTC().Format(time.RFC3339), Known: known, Kind: e.Kind(),
	}
	work := e.Class() == ledger.Work
	if work {
		n.MachineTag = func(key string) bool {
			var k ledger.MachineKey
			return k.UnmarshalText([]byte(key)) == nil && e.TagMatches(k)
		}
	}
	if !e.HasBody() {
		n.Err = errHeldBack
		return n
	}
	if n.Record, n.Err = record.Decode(e.Kind(), e.Record()); n.Err != nil {
		n.Record = nil
	} else if record.IsWork(n.Record) != work {
		n.Record, n.Err = nil, fmt.Errorf("%s entry written as a %s entry", e.Kind(), e.Class())
	}
	if raw := e.Private(); raw != nil {
		n.Private, n.PrivateErr = record.DecodePrivate(raw)
		if n.PrivateErr != nil {
			n.Private = nil
		}
	}
	return n
}

var errHeldBack = errors.New("its content is held back")
