package ledger

import (
	"fmt"
	"slices"
)

// Status says whether an entry counts.
type Status uint8

// Counts: its writer is admitted, its past is complete, no stop excludes it.
// Pending: nobody who may has admitted its writer. Waiting: something in its
// past, or an entry that decides about it, is not here. Stopped: a stop of its
// log accepts only other entries.
const (
	Counts Status = iota + 1
	Pending
	Waiting
	Stopped
)

func (s Status) String() string {
	switch s {
	case Counts:
		return "counts"
	case Pending:
		return "pending"
	case Waiting:
		return "waiting"
	case Stopped:
		return "stopped"
	}
	return "unknown"
}

// Judgement is who takes part and which entries count. It is the same on every
// device that holds the same logs.
type Judgement struct {
	book     *Book
	admitted map[Writer]*admission
	limits   map[Writer][]limit
	done     map[*node]bool // of the entries that are not whole: complete
	readOnly string
	findings []Finding
}

// admission is how a key came to take part.
type admission struct {
	by     *node
	key    PublicKey
	role   Role
	person ID
	taken  bool // an owner whose acts have been applied
}

// limit is what one effective stop leaves of a log.
type limit struct {
	stop *node
	tips []*node // the named ones that are held
	lost uint64  // greatest seq of a named one that is not held, 0 if all are
}

// Judge says who counts. The result is kept until an entry comes that may
// change it; it must not be used after that.
func (b *Book) Judge() *Judgement {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.judgement != nil {
		return b.judgement
	}
	// A stop makes what it names complete, which may bring acts into effect
	// that waited, and these may bring others. Releases are only ever added, so
	// this ends, and it asks only for the set of entries held.
	var released []limit
	for {
		p := newPass(b, released)
		p.run()
		before := len(released)
		for _, l := range p.stops() {
			if !slices.ContainsFunc(released, func(x limit) bool { return x.stop == l.stop }) {
				released = append(released, l)
			}
		}
		if len(released) == before {
			b.judgement = p.finish()
			return b.judgement
		}
	}
}

// Status says whether e counts. An entry that the book does not hold waits.
func (j *Judgement) Status(e *Entry) Status {
	n := j.book.nodes.get(e.id)
	if n == nil {
		return Waiting
	}
	return j.status(n)
}

func (j *Judgement) status(n *node) Status {
	w := n.e.head.Writer
	within := withinAll(j.limits[w], n)
	switch {
	case within == no:
		return Stopped
	case j.admitted[w] == nil:
		return Pending
	case within == unknown || !j.complete(n):
		return Waiting
	}
	return Counts
}

// Statuses returns the status of every entry, in the order of Book.Entries.
func (j *Judgement) Statuses() []Status {
	out := make([]Status, len(j.book.order))
	for i, n := range j.book.order {
		out[i] = j.status(n)
	}
	return out
}

// ReadOnly returns "" or why the book can only be read with this version.
func (j *Judgement) ReadOnly() string { return j.readOnly }

// Findings returns acts without effect, entries after a stop, and the like.
func (j *Judgement) Findings() []Finding { return j.findings }

func (j *Judgement) complete(n *node) bool { return n.whole || j.done[n] }

// withinAll reports whether every limit accepts n: it is a named tip or its
// ancestor. Where a named tip is not held, or its chain has a gap, an entry not
// after it is undecided.
func withinAll(limits []limit, n *node) answer {
	out := yes
	for _, l := range limits {
		switch l.accepts(n) {
		case no:
			return no
		case unknown:
			out = unknown
		}
	}
	return out
}

func (l limit) accepts(n *node) answer {
	out := no
	if n.e.head.Seq <= l.lost {
		out = unknown
	}
	for _, tip := range l.tips {
		switch ancestry(n, tip) {
		case yes:
			return yes
		case unknown:
			out = unknown
		}
	}
	return out
}

// completeness returns which of the entries that are not whole are complete
// under the releases: the named tips and their ancestors are, and a citation of
// a stopped log that is not here is no longer waited for.
func (b *Book) completeness(released []limit) map[*node]bool {
	done := make(map[*node]bool)
	if len(b.partial) == 0 {
		return done
	}
	byWriter := make(map[Writer][]limit)
	settled := make(map[Writer]bool)
	for _, l := range released {
		w := l.writer()
		byWriter[w] = append(byWriter[w], l)
		settled[w] = settled[w] || l.lost == 0
	}
	ok := func(n *node) bool { return n != nil && (n.whole || done[n]) }
	for _, n := range b.partial {
		h := &n.e.head
		complete := slices.ContainsFunc(byWriter[h.Writer], func(l limit) bool {
			return slices.ContainsFunc(l.tips, func(tip *node) bool { return ancestry(n, tip) == yes })
		})
		if !complete {
			complete = h.Prev.IsZero() || ok(n.prev)
			for i, ref := range h.Seen {
				complete = complete && (ok(n.seen[i]) || settled[ref.Writer])
			}
		}
		done[n] = complete
	}
	return done
}

func (l limit) writer() Writer {
	record, err := DecodeControl(l.stop.e)
	if err != nil {
		return Writer{}
	}
	return record.(*Stop).Writer
}

func (j *Judgement) report(n *node, severity Severity, code, format string, args ...any) {
	j.findings = append(j.findings, j.book.at(n, severity, code, fmt.Sprintf(format, args...)))
}
