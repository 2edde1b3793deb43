package rules

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
)

// AppendBinary appends the portions in a form that [ReadPortions] reads. It is for keeping beside a book what takes time to find, and of no other use.
func (p *Portions) AppendBinary(b []byte) ([]byte, error) {
	b = appendPlaces(b, p.Common)
	b = appendPlaces(b, p.Outline)
	b = binary.AppendUvarint(b, uint64(len(p.Each)))
	for _, one := range p.Each {
		var err error
		if b, err = appendIDs(b, one.Machines); err != nil {
			return nil, err
		}
		if b, err = appendIDs(b, one.Carriers); err != nil {
			return nil, err
		}
		b = appendPlaces(b, one.Entries)
	}
	return b, nil
}

// appendPlaces writes ascending places as the steps between them.
func appendPlaces(b []byte, places []int) []byte {
	b = binary.AppendUvarint(b, uint64(len(places)))
	last := 0
	for _, n := range places {
		b = binary.AppendUvarint(b, uint64(n-last))
		last = n
	}
	return b
}

func appendIDs(b []byte, ids []ID) ([]byte, error) {
	b = binary.AppendUvarint(b, uint64(len(ids)))
	for _, id := range ids {
		raw, err := hex.DecodeString(string(id))
		if err != nil || len(raw) != 32 {
			return nil, errors.New("a machine without the id of an entry")
		}
		b = append(b, raw...)
	}
	return b, nil
}

// ReadPortions reads what AppendBinary wrote of a book of so many entries; false where these are not such bytes.
func ReadPortions(b []byte, entries int) (*Portions, bool) {
	r := portionReader{b: b, entries: entries}
	p := &Portions{Common: r.places(), Outline: r.places(), of: map[ID]int{}}
	n := r.count()
	for i := range n {
		one := Portion{Machines: r.ids(), Carriers: r.ids(), Entries: r.places()}
		if r.bad || len(one.Machines) == 0 {
			return nil, false
		}
		for _, id := range one.Machines {
			p.of[id] = i
		}
		p.Each = append(p.Each, one)
	}
	return p, !r.bad && len(r.b) == 0
}

type portionReader struct {
	b       []byte
	entries int
	bad     bool
}

func (r *portionReader) number() uint64 {
	n, size := binary.Uvarint(r.b)
	if size <= 0 {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[size:]
	return n
}

// count is of things that take a byte each at least.
func (r *portionReader) count() int {
	n := r.number()
	if n > uint64(len(r.b)) {
		r.bad, r.b = true, nil
		return 0
	}
	return int(n)
}

func (r *portionReader) places() []int {
	n := r.count()
	if n == 0 {
		return nil
	}
	out, last := make([]int, 0, n+n/8), uint64(0)
	for range n {
		if last += r.number(); last >= uint64(r.entries) {
			r.bad = true
			return nil
		}
		out = append(out, int(last))
	}
	return out
}

func (r *portionReader) ids() []ID {
	n := r.count()
	if n*32 > len(r.b) {
		r.bad, r.b = true, nil
	}
	if n == 0 || r.bad {
		return nil
	}
	out := make([]ID, n)
	for i := range out {
		out[i] = ID(hex.EncodeToString(r.b[:32]))
		r.b = r.b[32:]
	}
	return out
}
