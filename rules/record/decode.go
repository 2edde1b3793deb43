package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"strings"
)

// NewerError says a record has a kind or member this version does not know: it is kept and passed on, and what it touches cannot be judged.
type NewerError struct {
	Kind string
	What string // "kind" or the member's name
}

func (e *NewerError) Error() string {
	if e.What == "kind" {
		return fmt.Sprintf("entry of kind %q: newer shedbook needed", e.Kind)
	}
	return fmt.Sprintf("%s entry with %q: newer shedbook needed", e.Kind, e.What)
}

// kinds makes an empty record of each kind.
var kinds = map[string]func() Record{
	"farm":     func() Record { return new(Farm) },
	"yard":     func() Record { return new(Yard) },
	"person":   func() Record { return new(Person) },
	"schedule": func() Record { return new(Schedule) },
	"season":   func() Record { return new(Season) },
	"correct":  func() Record { return new(Correct) },
	"strike":   func() Record { return new(Strike) },
	"machine":  func() Record { return new(Machine) },
	"shelf":    func() Record { return new(Shelf) },
	"stock":    func() Record { return new(Stock) },
	"move":     func() Record { return new(Move) },
	"lend":     func() Record { return new(Lend) },
	"store":    func() Record { return new(Store) },
	"sell":     func() Record { return new(Sell) },
	"hitch":    func() Record { return new(Hitch) },
	"assume":   func() Record { return new(Assume) },
	"override": func() Record { return new(Override) },
	"counter":  func() Record { return new(Counter) },
	"adjust":   func() Record { return new(Adjust) },
	"measure":  func() Record { return new(Measure) },
	"swap":     func() Record { return new(Swap) },
	"did":      func() Record { return new(Did) },
	"fault":    func() Record { return new(Fault) },
	"repair":   func() Record { return new(Repair) },
	"note":     func() Record { return new(Note) },
}

// Kinds lists every kind, sorted.
func Kinds() []string {
	out := make([]string, 0, len(kinds))
	for k := range kinds {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// Decode reads the record of one body. A *NewerError means kept but not judged; any other error means the record counts for nothing.
func Decode(kind string, raw []byte) (Record, error) {
	empty, ok := kinds[kind]
	if !ok {
		return nil, &NewerError{Kind: kind, What: "kind"}
	}
	r := empty()
	if err := strict(kind, raw, r); err != nil {
		return nil, err
	}
	if err := r.Check(); err != nil {
		return nil, fmt.Errorf("%s entry: %w", kind, err)
	}
	return r, nil
}

// DecodePrivate reads the private part of one entry.
func DecodePrivate(raw []byte) (*Private, error) {
	p := new(Private)
	if err := strict("private", raw, p); err != nil {
		return nil, err
	}
	return p, p.Check()
}

func strict(kind string, raw []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		if member, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
			return &NewerError{Kind: kind, What: strings.Trim(member, `"`)}
		}
		return fmt.Errorf("%s entry: %w", kind, err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return fmt.Errorf("%s entry: something follows the record", kind)
	}
	return nil
}

// IsWork reports whether a kind concerns one machine or shelf. Correct and strike take the class of the entry they name.
func IsWork(r Record) bool {
	switch r := r.(type) {
	case *Farm, *Yard, *Person, *Schedule, *Season:
		return false
	case *Correct:
		return r.Machine != ""
	case *Strike:
		return r.Machine != ""
	}
	return true
}

// Base gives the common part of a work record, nil for the other kinds.
func Base(r Record) *Work {
	if w, ok := r.(interface{ Base() *Work }); ok {
		return w.Base()
	}
	return nil
}

// DoneOf is when the work or season act was done; ok is false for kinds that hold always or by their own rule.
func DoneOf(r Record) (Done, bool) {
	if w := Base(r); w != nil {
		return w.Done, true
	}
	if s, ok := r.(*Season); ok {
		return s.Done, true
	}
	return "", false
}

// MachineOf is the machine or shelf a record concerns; "" for shared kinds and for the entry that adds one.
func MachineOf(r Record) ID {
	switch r := r.(type) {
	case *Correct:
		return r.Machine
	case *Strike:
		return r.Machine
	}
	if w := Base(r); w != nil {
		return w.Machine
	}
	return ""
}

// Encode writes a record for a Correct. The ledger makes the bytes canonical when it signs.
func Encode(r Record) (Raw, error) {
	b, err := json.Marshal(r)
	if err != nil {
		return nil, fmt.Errorf("%s record: %w", r.Kind(), err)
	}
	return b, nil
}
