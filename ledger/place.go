package ledger

import (
	"fmt"
	"slices"
)

// place puts e into the book: it finds what e continues and cites, checks e
// against that, and reports why it is refused, or "". Entries must come in the
// order of (depth, id): what e cites has a lesser depth or e is wrong.
func (b *Book) place(e *Entry) (n *node, refused string) {
	h := &e.head
	n = &node{e: e, whole: true, knownAt: h.At.Unix(), place: b.places[e.id]}
	var deepest uint64
	var lost []Ref
	visit := func(ref Ref) (*node, string) {
		target := b.known(ref.ID)
		if target == nil {
			lost = append(lost, ref)
			n.whole = false
			return nil, ""
		}
		if target.head.Writer != ref.Writer || target.head.Seq != ref.Seq {
			return nil, fmt.Sprintf("it cites %s as entry %d of log %s, which is entry %d of log %s",
				ref.ID.Short(), ref.Seq, ref.Writer, target.head.Seq, target.head.Writer)
		}
		if target.head.Depth >= h.Depth {
			return nil, fmt.Sprintf("its depth is %d, but it cites %s of depth %d", h.Depth, ref.ID.Short(), target.head.Depth)
		}
		at := b.nodes.get(ref.ID)
		if at == nil { // refused itself: not held
			n.whole = false
			return nil, ""
		}
		deepest = max(deepest, target.head.Depth)
		n.whole = n.whole && at.whole
		n.knownAt = max(n.knownAt, at.knownAt)
		n.past = n.past.union(at.past)
		return at, ""
	}

	held := true // prev and all seen are
	if !h.Prev.IsZero() {
		if n.prev, refused = visit(Ref{ID: h.Prev, Seq: h.Seq - 1, Writer: h.Writer}); refused != "" {
			return n, refused
		}
		held = n.prev != nil
		if n.prev != nil && h.At.Before(n.prev.e.head.At) {
			return n, fmt.Sprintf("it was recorded %s, before the entry it continues, %s",
				h.At.Format(timeForm), n.prev.e.head.At.Format(timeForm))
		}
	}
	if len(h.Seen) > 0 {
		n.seen = make([]*node, len(h.Seen))
	}
	for i, ref := range h.Seen {
		if n.seen[i], refused = visit(ref); refused != "" {
			return n, refused
		}
		held = held && n.seen[i] != nil
	}
	if held && h.Depth != deepest+1 {
		return n, fmt.Sprintf("its depth is %d, but what it cites makes it %d", h.Depth, deepest+1)
	}
	// In a past with a gap an admit may be what is missing: no verdict then.
	if n.whole {
		for _, ref := range h.Seen {
			if !b.admitted(n.past, ref.Writer) {
				return n, fmt.Sprintf("it cites log %s, which nobody it knows of has admitted", ref.Writer)
			}
		}
	}
	if key, ok := b.admits(n); ok {
		n.past = n.past.with(b.writerIndex(key.Writer()))
	}
	b.hold(n, lost)
	return n, ""
}

// known returns the verified entry of that id, held or refused, or nil.
func (b *Book) known(id ID) *Entry {
	if n := b.nodes.get(id); n != nil {
		return n.e
	}
	return b.verified[id]
}

// admitted reports whether an admit of w is in that past: whether it counts is
// another question.
func (b *Book) admitted(p *past, w Writer) bool {
	if w == b.founder || w == b.recovery {
		return true
	}
	i, ok := b.writers[w]
	return ok && p.has(i)
}

// admits returns the key that n admits, if n is an admit by a writer who is
// admitted in n's own past: strangers cannot admit each other.
func (b *Book) admits(n *node) (PublicKey, bool) {
	if n.e.head.Class != Control || n.e.kind != KindAdmit || !b.admitted(n.past, n.e.head.Writer) {
		return PublicKey{}, false
	}
	record, err := DecodeControl(n.e)
	if err != nil {
		return PublicKey{}, false
	}
	return record.(*Admit).Key, true
}

func (b *Book) writerIndex(w Writer) uint32 {
	i, ok := b.writers[w]
	if !ok {
		i = uint32(len(b.writers))
		b.writers[w] = i
	}
	return i
}

func (b *Book) log(w Writer) *log {
	l := b.logs[w]
	if l == nil {
		l = new(log)
		b.logs[w] = l
	}
	return l
}

// hold takes a placed entry into the book's indexes, but for the order.
func (b *Book) hold(n *node, lost []Ref) { b.holdIn(b.log(n.e.head.Writer), n, lost) }

// holdIn is hold for an entry of that log.
func (b *Book) holdIn(l *log, n *node, lost []Ref) {
	e := n.e
	b.nodes.put(n)
	l.count++
	l.bytes += len(e.line)
	if n.prev != nil && n.prev.children == 0 {
		n.run = n.prev.run
		i := slices.Index(l.tips, n.prev)
		l.tips = slices.Delete(l.tips, i, i+1)
	} else {
		n.run = &run{base: n.prev, first: e.head.Seq}
	}
	if n.prev != nil {
		n.prev.children++
	}
	i, _ := slices.BinarySearchFunc(l.tips, n, func(x, y *node) int {
		return Tip{x.e.id, x.e.head.Seq}.Compare(Tip{y.e.id, y.e.head.Seq})
	})
	l.tips = slices.Insert(l.tips, i, n)
	if e.head.Class == Control {
		i, _ := slices.BinarySearchFunc(l.controls, n, compareNodes)
		l.controls = slices.Insert(l.controls, i, n)
	}
	if !n.whole {
		i, _ := slices.BinarySearchFunc(b.partial, n, compareNodes)
		b.partial = slices.Insert(b.partial, i, n)
	}
	for _, ref := range lost {
		m := b.missing[ref.ID]
		if m == nil {
			m = &gap{ref: ref, by: n}
			b.missing[ref.ID] = m
		}
		m.count++
	}
	if e.HasPrivate() && e.Private() == nil && !b.heldBack {
		b.graph = append(b.graph, b.at(n, Error, CodePrivateMissing,
			"the entry's private part was taken out of the log: sync with whoever may have it"))
	}
}

func compareNodes(x, y *node) int { return x.e.Compare(y.e) }

// arrange places every verified entry anew.
func (b *Book) arrange() {
	if b.imaged {
		for _, n := range b.order {
			b.verified[n.e.id], b.places[n.e.id] = n.e, n.place
		}
		b.imaged = false
	}
	entries := make([]*Entry, 0, len(b.verified))
	for _, e := range b.verified {
		entries = append(entries, e)
	}
	slices.SortFunc(entries, (*Entry).Compare)
	b.nodes = newNodeTable(len(entries))
	b.order = make([]*node, 0, len(entries))
	b.partial = nil
	b.logs = make(map[Writer]*log)
	b.writers = make(map[Writer]uint32)
	b.missing = make(map[ID]*gap)
	b.graph = nil
	b.entries, b.judgement, b.cited = nil, nil, nil
	for _, e := range entries {
		n, refused := b.place(e)
		if refused != "" {
			b.graph = append(b.graph, b.at(n, Error, CodeRefused, "the entry is signed but wrong: "+refused))
			continue
		}
		b.order = append(b.order, n)
	}
	b.found = b.nodes.get(b.id)
}
