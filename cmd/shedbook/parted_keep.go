package main

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"encoding/binary"
	"hash"
	"maps"
	"slices"

	"shedbook/ledger"
	"shedbook/rules"
)

// Which entries belong together is kept beside the book, found by a digest of the entries it was worked out from. Those that came since are added as in a book
// that stays open (parted_follow.go); where one of them may join portions, the book is divided anew. With each portion is kept how far its digest had come.

const keptParts = "portions"

// keptPartsForm changes when the form of what is kept does.
const keptPartsForm = "shedbook kept portions 1"

// begun is the digest of a portion's first entries, to be gone on with.
type begun struct {
	entries int
	state   []byte
}

// digest adds entries with what they count for to a digest: the id covers all that was signed; who wrote it and as what is the ledger's finding.
func (p *parted) digest(h hash.Hash, places []int) {
	for _, n := range places {
		e := p.list[n]
		id, by := e.ID(), p.by[e.Writer()]
		h.Write(id[:])
		h.Write(by[:8])
		if withheld(e) {
			h.Write([]byte{0})
		}
	}
}

// withheld reports whether an entry's words are held back, or gone.
func withheld(e *ledger.Entry) bool { return !e.HasPrivate() || len(e.Private()) == 0 }

// digested is the digest of a portion's entries, before it is summed up.
func (p *parted) digested(portion rules.Portion) hash.Hash {
	h := sha256.New()
	from := p.begun[portion.Machines[0]]
	if from.entries > 0 && h.(encoding.BinaryUnmarshaler).UnmarshalBinary(from.state) != nil {
		h, from = sha256.New(), begun{}
	}
	p.digest(h, portion.Entries[from.entries:])
	return h
}

// sum is the digest of a portion's entries.
func (p *parted) sum(portion rules.Portion) []byte { return p.digested(portion).Sum(nil) }

// keptParts are the portions as they were kept, with what came since; nil where they have to be found anew.
func (b *book) keptParts(list []*ledger.Entry) *parted {
	if b.keeper == nil || len(list) < keepAtLeast {
		return nil
	}
	data := b.keeper.Kept(keptParts)
	if len(data) < 2*sha256.Size {
		return nil
	}
	data, sum := data[:len(data)-sha256.Size], data[len(data)-sha256.Size:]
	if is := sha256.Sum256(data); !bytes.Equal(is[:], sum) {
		return nil
	}
	r := keptReader{data[sha256.Size:]}
	n := r.number()
	if n > len(list) || len(list)-n > grown(len(list)) {
		return nil
	}
	p := b.newParted(list[:n:n], nil)
	if !bytes.Equal(data[:sha256.Size], p.key()) {
		return nil
	}
	var ok bool
	if p.portions, ok = rules.ReadPortions(r.bytes(), n); !ok {
		return nil
	}
	p.begun = map[rules.ID]begun{}
	for _, portion := range p.portions.Each {
		p.begun[portion.Machines[0]] = begun{len(portion.Entries), r.bytes()}
	}
	for _, e := range list[n:] {
		if !p.extend(b, e) {
			return nil
		}
	}
	return p
}

// keepParts keeps the portions that were just found.
func (b *book) keepParts() {
	p := b.parted
	if b.keeper == nil || len(p.list) < keepAtLeast {
		return
	}
	portions, err := p.portions.AppendBinary(nil)
	if err != nil {
		return
	}
	data := binary.AppendUvarint(p.key(), uint64(len(p.list)))
	data = appendBytes(data, portions)
	states := make([][]byte, len(p.portions.Each))
	onAllCores(len(states), func(i int) {
		states[i], _ = p.digested(p.portions.Each[i]).(encoding.BinaryMarshaler).MarshalBinary()
	})
	for _, state := range states {
		data = appendBytes(data, state)
	}
	sum := sha256.Sum256(data)
	b.keeper.Keep(keptParts, append(data, sum[:]...))
}

// key digests what portions and their digests are made from: the program, who writes on which device, and the entries, whose ids cover all that was signed, and
// whether their words are there.
func (p *parted) key() []byte {
	h := sha256.New()
	words(h, keptPartsForm, programID())
	for _, w := range slices.SortedFunc(maps.Keys(p.by), ledger.Writer.Compare) {
		by := p.by[w]
		h.Write(w[:])
		h.Write(by[:])
	}
	h.Write([]byte{1})
	for _, e := range p.list {
		id := e.ID()
		h.Write(id[:])
		if withheld(e) {
			h.Write([]byte{0})
		}
	}
	return h.Sum(nil)
}

func appendBytes(b, part []byte) []byte {
	return append(binary.AppendUvarint(b, uint64(len(part))), part...)
}

// keptReader takes apart what appendBytes put together; what is short reads as nothing.
type keptReader struct{ b []byte }

func (r *keptReader) number() int {
	n, size := binary.Uvarint(r.b)
	if size <= 0 || n > 1<<40 {
		r.b = nil
		return 0
	}
	r.b = r.b[size:]
	return int(n)
}

func (r *keptReader) bytes() []byte {
	n := min(r.number(), len(r.b))
	out := r.b[:n:n]
	r.b = r.b[n:]
	return out
}
