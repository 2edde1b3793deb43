package ledger

import (
	"hash/maphash"
	"iter"
)

// nodeTable finds held entries by their ids: an open table with linear probing,
// at most half full. A map does the same at three times the cost, which a book
// of a million entries feels with every command. The seed is random, for whoever
// writes entries can choose among ids.
type nodeTable struct {
	slots []*node // a power of two
	count int
}

var nodeSeed = maphash.MakeSeed()

// newNodeTable has room for n nodes.
func newNodeTable(n int) *nodeTable {
	size := 16
	for size < 2*n {
		size *= 2
	}
	return &nodeTable{slots: make([]*node, size)}
}

// slot is where id stands, or where it would.
func (t *nodeTable) slot(id *ID) int {
	mask := len(t.slots) - 1
	i := int(maphash.Bytes(nodeSeed, id[:8])) & mask
	for t.slots[i] != nil && t.slots[i].e.id != *id {
		i = (i + 1) & mask
	}
	return i
}

// get returns the node of that id, or nil.
func (t *nodeTable) get(id ID) *node { return t.slots[t.slot(&id)] }

// put adds a node, in place of one of the same id.
func (t *nodeTable) put(n *node) {
	i := t.slot(&n.e.id)
	if t.slots[i] == nil {
		if t.count++; 2*t.count > len(t.slots) {
			wider := newNodeTable(2 * t.count)
			for old := range t.all() {
				wider.slots[wider.slot(&old.e.id)] = old
			}
			t.slots = wider.slots
			i = t.slot(&n.e.id)
		}
	}
	t.slots[i] = n
}

// all are the nodes, in no order.
func (t *nodeTable) all() iter.Seq[*node] {
	return func(yield func(*node) bool) {
		for _, n := range t.slots {
			if n != nil && !yield(n) {
				return
			}
		}
	}
}
