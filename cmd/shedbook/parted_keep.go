package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"

	"shedbook/ledger"
	"shedbook/rules"
)

// Which entries belong together is kept beside the book, found by a digest of the entries it was worked out from. Those that came since are added as in a book
// that stays open (parted_follow.go); where one of them may join portions, the book is divided anew.

const keptParts = "portions"

// keptPartsForm changes when the form of what is kept does.
const keptPartsForm = "shedbook kept portions 1"

// keptParts are the portions as they were kept, with what came since; nil where they have to be found anew.
func (b *book) keptParts(list []*ledger.Entry) *parted {
	if b.keeper == nil || len(list) < keepAtLeast {
		return nil
	}
	data := b.keeper.Kept(keptParts)
	if len(data) < 2*sha256.Size+8 {
		return nil
	}
	data, sum := data[:len(data)-sha256.Size], data[len(data)-sha256.Size:]
	if is := sha256.Sum256(data); !bytes.Equal(is[:], sum) {
		return nil
	}
	key, n := data[:sha256.Size], binary.LittleEndian.Uint64(data[sha256.Size:])
	if n > uint64(len(list)) || len(list)-int(n) > grown(len(list)) || !bytes.Equal(key, partsKey(list[:n])) {
		return nil
	}
	portions, ok := rules.ReadPortions(data[sha256.Size+8:], int(n))
	if !ok {
		return nil
	}
	p := newParted(list[:n:n], portions)
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
	data := binary.LittleEndian.AppendUint64(partsKey(p.list), uint64(len(p.list)))
	data, err := p.portions.AppendBinary(data)
	if err != nil {
		return
	}
	sum := sha256.Sum256(data)
	b.keeper.Keep(keptParts, append(data, sum[:]...))
}

// partsKey digests the entries that portions are made from: an id covers all that was signed.
func partsKey(list []*ledger.Entry) []byte {
	h := sha256.New()
	words(h, keptPartsForm, programID())
	for _, e := range list {
		id := e.ID()
		h.Write(id[:])
	}
	return h.Sum(nil)
}
