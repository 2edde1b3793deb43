package ledger

import (
	"fmt"
	"maps"
	"slices"
)

// Forked is the error for a log that cannot go on because it has more than one
// last entry: its key was used in two places, or part of it is missing.
type Forked struct {
	Writer Writer
	Tips   []Ref
}

func (f *Forked) Error() string {
	return fmt.Sprintf("log %s has %d last entries: its key was used in two places, or a part of it is missing; usually innocent; go on with a new key on this machine and let an owner stop this one",
		f.Writer, len(f.Tips))
}

// Append takes an entry that was just signed here or received alone. It must
// continue the only chain held of its writer, and all it cites must be held.
func (b *Book) Append(e *Entry) error {
	if b.nodes.get(e.id) != nil {
		return nil
	}
	fail := func(format string, args ...any) error {
		return fmt.Errorf("append entry %d of log %s: %s", e.head.Seq, e.head.Writer, fmt.Sprintf(format, args...))
	}
	if !e.HasBody() {
		return fail("its body is withheld")
	}
	if e.Book() != b.id {
		return fail("it belongs to another book, %s", e.Book().Short())
	}
	l := b.logs[e.head.Writer]
	if e.head.Seq == 1 {
		if l != nil && l.count > 0 {
			return fail("the log has begun already")
		}
	} else if prev := b.nodes.get(e.head.Prev); prev == nil || prev.children > 0 {
		return fail("it does not continue the last entry")
	}
	for _, ref := range e.head.Seen {
		if b.nodes.get(ref.ID) == nil {
			return fail("it cites entry %d of log %s, which is not here", ref.Seq, ref.Writer)
		}
	}
	b.places[e.id] = place{e.head.Writer.String(), 1}
	if prev := b.nodes.get(e.head.Prev); prev != nil {
		b.places[e.id] = place{prev.place.log, prev.place.line + 1}
	}
	if b.missing[e.id] != nil { // others wait for it: everything is judged anew
		b.verified[e.id] = e
		if b.arrange(); b.nodes.get(e.id) == nil {
			delete(b.verified, e.id)
			delete(b.places, e.id)
			b.arrange()
			_, refused := b.place(e)
			return fail("%s", refused)
		}
		b.learnKeys(e)
		return nil
	}
	n, refused := b.place(e)
	if refused != "" {
		delete(b.places, e.id)
		return fail("%s", refused)
	}
	b.verified[e.id] = e
	b.learnKeys(e)
	b.mu.Lock()
	defer b.mu.Unlock()
	i, _ := slices.BinarySearchFunc(b.order, n, compareNodes)
	if i == len(b.order) && b.entries != nil {
		b.entries = append(b.entries, e)
	} else {
		b.entries = nil
	}
	b.order = slices.Insert(b.order, i, n)
	if j := b.judgement; j != nil {
		if _, ordinary := j.admitted[e.head.Writer]; e.head.Class == Control || !n.whole || !ordinary || len(j.limits[e.head.Writer]) > 0 {
			b.judgement = nil
		}
	}
	if c := b.cited[e.head.Writer]; c != nil && c.tip == n.prev {
		c.add(n)
	}
	return nil
}

func (b *Book) learnKeys(e *Entry) { maps.Copy(b.keys, collectKeys([]*line{{e: e}})) }

// cited is what a writer's log has cited so far, so that an entry cites only
// what moved.
type cited struct {
	tip  *node
	last map[Writer][]*node // of each run of that writer's log, the last one cited
	lost map[Writer]uint64  // greatest seq cited that is not held
}

func (c *cited) add(n *node) {
	c.tip = n
	for i, ref := range n.e.head.Seen {
		target := n.seen[i]
		if target == nil {
			c.lost[ref.Writer] = max(c.lost[ref.Writer], ref.Seq)
			continue
		}
		last := c.last[ref.Writer]
		if at := slices.IndexFunc(last, func(x *node) bool { return x.run == target.run }); at < 0 {
			c.last[ref.Writer] = append(last, target)
		} else if last[at].e.head.Seq < target.e.head.Seq {
			last[at] = target
		}
	}
}

// knows reports whether what was cited holds t already.
func (c *cited) knows(t *node, tips int) bool {
	w := t.e.head.Writer
	for _, x := range c.last[w] {
		if ancestry(t, x) == yes {
			return true
		}
	}
	return tips == 1 && t.e.head.Seq <= c.lost[w]
}

// citedBy returns what the log that ends in tip has cited; tip may be nil.
func (b *Book) citedBy(w Writer, tip *node) *cited {
	if c := b.cited[w]; c != nil && c.tip == tip {
		return c
	}
	c := &cited{last: make(map[Writer][]*node), lost: make(map[Writer]uint64)}
	var chain []*node
	for n := tip; n != nil; n = n.prev {
		chain = append(chain, n)
	}
	for _, n := range slices.Backward(chain) {
		c.add(n)
	}
	if b.cited == nil {
		b.cited = make(map[Writer]*cited)
	}
	b.cited[w] = c
	return c
}

// Next returns where writer w's next entry goes. It cites the last complete
// entries of the other logs that moved since w's previous entry, of writers
// admitted in its causal past only. A writer without a log starts at seq 1. The
// error is *Forked where the log has more than one last entry.
func (b *Book) Next(w Writer) (Position, error) {
	j := b.Judge()
	b.mu.Lock()
	defer b.mu.Unlock()
	p := Position{Book: b.id, Seq: 1, Depth: 1}
	var tip *node
	var known *past
	if l := b.logs[w]; l != nil && len(l.tips) > 0 {
		if len(l.tips) > 1 {
			return Position{}, &Forked{w, b.Tips(w)}
		}
		tip = l.tips[0]
		if tip.e.head.Seq >= MaxInteger || tip.e.head.Depth >= MaxInteger {
			return Position{}, fmt.Errorf("log %s has no room for another entry", w)
		}
		known = tip.past
		p.Seq, p.Prev, p.PrevAt, p.Depth = tip.e.head.Seq+1, tip.e.id, tip.e.head.At, tip.e.head.Depth+1
	}
	c := b.citedBy(w, tip)
	done := map[Writer]bool{w: true}
	for more := true; more; { // citing one log may make known that another was admitted
		more = false
		for _, x := range b.admittedIn(known) {
			if done[x] {
				continue
			}
			done[x], more = true, true
			tips := b.completeTips(x, j)
			for _, t := range tips {
				if t.e.head.Depth >= MaxInteger || c.knows(t, len(tips)) {
					continue
				}
				p.Seen = append(p.Seen, t.e.Ref())
				p.Depth = max(p.Depth, t.e.head.Depth+1)
				known = known.union(t.past)
			}
		}
	}
	slices.SortFunc(p.Seen, Ref.Compare)
	if len(p.Seen) > MaxSeen { // the rest is cited by the entry after this one
		b.shorten(&p, tip)
	}
	return p, nil
}

// shorten cuts p.Seen to what one entry may cite, and to writers whose admit is
// in the past of what is left.
func (b *Book) shorten(p *Position, tip *node) {
	p.Seen = p.Seen[:MaxSeen]
	for {
		var known *past
		p.Depth = 1
		if tip != nil {
			known, p.Depth = tip.past, tip.e.head.Depth+1
		}
		for _, ref := range p.Seen {
			n := b.nodes.get(ref.ID)
			known = known.union(n.past)
			p.Depth = max(p.Depth, n.e.head.Depth+1)
		}
		before := len(p.Seen)
		p.Seen = slices.DeleteFunc(p.Seen, func(ref Ref) bool { return !b.admitted(known, ref.Writer) })
		if len(p.Seen) == before {
			return
		}
	}
}

// admittedIn returns the writers admitted in that past, sorted.
func (b *Book) admittedIn(p *past) []Writer {
	out := []Writer{b.founder, b.recovery}
	for w, i := range b.writers {
		if p.has(i) && w != b.founder && w != b.recovery {
			out = append(out, w)
		}
	}
	slices.SortFunc(out, Writer.Compare)
	return out
}

// completeTips returns the last complete entries of w's chains.
func (b *Book) completeTips(w Writer, j *Judgement) []*node {
	l := b.logs[w]
	if l == nil {
		return nil
	}
	var out []*node
	for _, n := range l.tips {
		for n != nil && !j.complete(n) {
			n = n.prev
		}
		if n != nil && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return slices.DeleteFunc(out, func(n *node) bool {
		return slices.ContainsFunc(out, func(m *node) bool { return m != n && ancestry(n, m) == yes })
	})
}
