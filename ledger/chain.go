package ledger

// node is one held entry in its place: what it continues and cites.
type node struct {
	e     *Entry
	prev  *node   // nil at seq 1, or where it is not held
	seen  []*node // like e.head.Seen; nil where not held
	run   *run
	past  *past
	place place
	// knownAt is the latest `at` in the causal past, in Unix seconds.
	knownAt  int64
	children int // held entries that continue this one
	// whole: everything in the causal past is held.
	whole bool
}

// place is where a store had the entry: the least (log, line), where several.
type place struct {
	log  string
	line int
}

// run is an unbranched stretch of a log, so that the ancestors of a tip are
// found by a few steps from run to run and not entry by entry.
type run struct {
	base  *node  // the entry the stretch continues; nil at a log's beginning
	first uint64 // seq of its first entry
}

type answer uint8

const (
	no answer = iota
	yes
	unknown
)

// ancestry reports whether a is t or before t on t's chain. It is unknown where
// the chain of t has a gap after a's place.
func ancestry(a, t *node) answer {
	if a.e.head.Writer != t.e.head.Writer {
		return no
	}
	for {
		if a.run == t.run {
			if a.e.head.Seq <= t.e.head.Seq {
				return yes
			}
			return no
		}
		base := t.run.base
		if base == nil {
			if t.run.first > 1 && a.e.head.Seq < t.run.first {
				return unknown
			}
			return no
		}
		t = base
	}
}

// inPast reports whether target is in the causal past of n, n itself included.
// known holds entries for which that was found to be true.
func inPast(n, target *node, known *[]*node) bool {
	visited := make(map[*node]bool)
	stack := []*node{n}
	for len(stack) > 0 {
		x := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if x == nil || visited[x] {
			continue
		}
		visited[x] = true
		if ancestry(target, x) == yes {
			*known = append(*known, n)
			return true
		}
		for _, k := range *known {
			if ancestry(k, x) == yes {
				*known = append(*known, n)
				return true
			}
		}
		if x.e.head.Depth <= target.e.head.Depth {
			continue
		}
		stack = append(stack, x.prev)
		stack = append(stack, x.seen...)
	}
	return false
}

// past is the set of writers that an admit in an entry's causal past names,
// founder and recovery left out. Sets are shared between entries and never
// changed: along a log they change only when an admit becomes known.
type past struct{ writers []uint32 } // ascending indexes into Book.writers

func (p *past) has(i uint32) bool {
	if p == nil {
		return false
	}
	lo, hi := 0, len(p.writers)
	for lo < hi {
		mid := (lo + hi) / 2
		if p.writers[mid] < i {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo < len(p.writers) && p.writers[lo] == i
}

// union returns a or b itself where one holds the other.
func (a *past) union(b *past) *past {
	switch {
	case a == b || b == nil:
		return a
	case a == nil:
		return b
	}
	out := make([]uint32, 0, len(a.writers)+len(b.writers))
	i, j := 0, 0
	for i < len(a.writers) || j < len(b.writers) {
		switch {
		case j == len(b.writers) || i < len(a.writers) && a.writers[i] < b.writers[j]:
			out = append(out, a.writers[i])
			i++
		case i == len(a.writers) || b.writers[j] < a.writers[i]:
			out = append(out, b.writers[j])
			j++
		default:
			out = append(out, a.writers[i])
			i++
			j++
		}
	}
	switch len(out) {
	case len(a.writers):
		return a
	case len(b.writers):
		return b
	}
	return &past{out}
}

func (a *past) with(i uint32) *past {
	if a.has(i) {
		return a
	}
	return a.union(&past{[]uint32{i}})
}
