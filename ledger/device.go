package ledger

import (
	"cmp"
	"slices"
)

// Device is one signing key and its log, as the judgement sees them.
type Device struct {
	Writer  Writer
	Key     PublicKey
	Person  ID   // zero while pending, and for the founding entry's recovery key
	Role    Role // "" while pending
	Name    string
	Label   string
	Admit   ID // the entry that admitted it; the founding entry for founder and recovery key; zero while pending
	Founder bool
	Pending bool // nobody who may has admitted it
	Stopped bool
	Entries int // held, counted or not
	Tips    []Ref
}

// Devices returns everyone admitted, in the order of the entries that admitted
// them (recovery key, founder, then the others), then those who wait for it, by
// writer. Name and Label come from the private part of the admit, while pending
// from that of the request; the name of a person who was admitted with another
// device before is the one given then.
func (j *Judgement) Devices() []Device {
	var out []Device
	for w := range j.admitted {
		d, _ := j.Device(w)
		out = append(out, d)
	}
	slices.SortFunc(out, func(x, y Device) int {
		a, b := j.admitted[x.Writer], j.admitted[y.Writer]
		return cmp.Or(compareNodes(a.by, b.by), compareBool(x.Founder, y.Founder), x.Writer.Compare(y.Writer))
	})
	for _, w := range j.book.Writers() {
		if j.admitted[w] == nil {
			d, _ := j.Device(w)
			out = append(out, d)
		}
	}
	return out
}

func compareBool(x, y bool) int {
	switch {
	case x == y:
		return 0
	case y:
		return -1
	}
	return 1
}

// Device returns the device of that writer; false if nothing is known of it.
func (j *Judgement) Device(w Writer) (Device, bool) {
	l, a := j.book.logs[w], j.admitted[w]
	if a == nil && (l == nil || l.count == 0) {
		return Device{}, false
	}
	d := Device{
		Writer: w, Founder: w == j.book.founder, Pending: a == nil,
		Stopped: len(j.limits[w]) > 0, Tips: j.book.Tips(w),
	}
	if l != nil {
		d.Entries, d.Key = l.count, j.book.keys[w]
	}
	switch {
	case a == nil:
		for _, n := range l.controls {
			if n.e.kind == KindRequest {
				p := DecodeControlPrivate(n.e)
				d.Name, d.Label = p.Name, p.Device
				break
			}
		}
	case w == j.book.recovery:
		d.Key, d.Role, d.Admit = a.key, a.role, a.by.e.id
	default:
		p := DecodeControlPrivate(a.by.e)
		d.Key, d.Role, d.Admit, d.Person = a.key, a.role, a.by.e.id, a.person
		d.Name, d.Label = p.Name, p.Device
		if first := j.book.nodes.get(a.person); d.Name == "" && first != nil {
			d.Name = DecodeControlPrivate(first.e).Name
		}
	}
	return d, true
}
