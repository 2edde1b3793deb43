package ledger

import (
	"errors"
	"fmt"
	"slices"
)

// pass is one application of the ranked-owner rule: take the highest-ranked
// owner not yet taken; its log counts up to the limits set by owners already
// taken; apply its acts in order; repeat.
type pass struct {
	*Judgement
	released []limit
}

func newPass(b *Book, released []limit) *pass {
	p := &pass{&Judgement{
		book:     b,
		admitted: make(map[Writer]*admission),
		limits:   make(map[Writer][]limit),
		done:     b.completeness(released),
	}, released}
	var record Found
	if err := lenientDecode(b.found.e.Record(), &record); err == nil {
		p.admitted[b.founder] = &admission{by: b.found, key: record.Key, role: RoleOwner, person: b.id}
		p.admitted[b.recovery] = &admission{by: b.found, key: record.Recovery, role: RoleRecovery}
	}
	return p
}

func (p *pass) run() {
	for w, owner := p.highest(); owner != nil; w, owner = p.highest() {
		owner.taken = true
		l := p.book.logs[w]
		if l == nil {
			continue
		}
		known := new([]*node) // acts that have the owner's admission in their past
		for _, act := range l.controls {
			p.act(w, owner, act, known)
		}
	}
}

// rank orders owners: recovery keys, the founder, then by (depth, id) of the
// entry that admitted them.
func (p *pass) rank(w Writer, a *admission) int {
	switch {
	case a.role == RoleRecovery:
		return 0
	case w == p.book.founder:
		return 1
	}
	return 2
}

func (p *pass) highest() (Writer, *admission) {
	var best Writer
	var owner *admission
	for w, a := range p.admitted {
		if a.taken || a.role == RoleWorker {
			continue
		}
		if owner != nil {
			r, s := p.rank(w, a), p.rank(best, owner)
			c := compareNodes(a.by, owner.by)
			if r > s || r == s && (c > 0 || c == 0 && w.Compare(best) > 0) {
				continue
			}
		}
		best, owner = w, a
	}
	return best, owner
}

// act applies one control entry of an owner's log.
func (p *pass) act(w Writer, owner *admission, n *node, known *[]*node) {
	within := withinAll(p.limits[w], n)
	record, err := DecodeControl(n.e)
	if err != nil {
		if within == yes && p.complete(n) {
			p.unreadable(n, err)
		}
		return
	}
	switch record.(type) {
	case *Admit, *Stop, *Format:
	default:
		return
	}
	if within == no {
		p.noEffect(n, "it was written after its own log was stopped")
		return
	}
	stop, isStop := record.(*Stop)
	var l limit
	if isStop {
		if l, err = p.book.limitOf(n, stop); err != nil {
			p.noEffect(n, err.Error())
			return
		}
	}
	complete := p.complete(n)
	if !complete && isStop { // judged as if it had its effect
		complete = p.book.completeness(append(slices.Clip(p.released), l))[n]
	}
	if within == unknown || !complete {
		return // waiting: its status says so
	}
	if !inPast(n, owner.by, known) {
		p.noEffect(n, "its writer was not yet admitted when it was written")
		return
	}
	switch record := record.(type) {
	case *Admit:
		p.admit(owner, n, record)
	case *Stop:
		p.stop(w, n, l)
	case *Format:
		if record.V > 1 && p.readOnly == "" {
			p.readOnly = fmt.Sprintf("entry %s moved the book to format %d: a newer shedbook is needed to write to it", n.e.id.Short(), record.V)
		}
	}
}

func (p *pass) admit(owner *admission, n *node, record *Admit) {
	w := record.Key.Writer()
	old := p.admitted[w]
	switch {
	case record.Role == RoleRecovery && owner.role != RoleRecovery:
		p.noEffect(n, "only a recovery key can name another recovery key")
		return
	case p.stoppedBefore(w, n):
		p.noEffect(n, fmt.Sprintf("it admits log %s, whose key was stopped: a stopped key never returns; give the person a new one", w))
		return
	case old != nil && (old.taken || w == p.book.founder || w == p.book.recovery || compareNodes(old.by, n) < 0):
		p.noEffect(n, fmt.Sprintf("it admits log %s, which entry %s admitted before: the first admission of a key is for life", w, old.by.e.id.Short()))
		return
	case old == nil && len(p.admitted) >= MaxWriters:
		p.noEffect(n, fmt.Sprintf("the book has its %d devices: no more can be admitted", MaxWriters))
		return
	case old != nil:
		p.noEffect(old.by, fmt.Sprintf("it admits log %s, which entry %s admitted before: the first admission of a key is for life", w, n.e.id.Short()))
	}
	person := record.Person
	if person.IsZero() {
		person = n.e.id
	}
	p.admitted[w] = &admission{by: n, key: record.Key, role: record.Role, person: person}
}

// stoppedBefore reports whether n has a stop of w that has effect in its past.
func (p *pass) stoppedBefore(w Writer, n *node) bool {
	return slices.ContainsFunc(p.limits[w], func(l limit) bool {
		return inPast(n, l.stop, new([]*node))
	})
}

func (p *pass) stop(by Writer, n *node, l limit) {
	w := l.writer()
	if w == by {
		p.noEffect(n, "it stops its own log: let another owner do it")
		return
	}
	if target := p.admitted[w]; target != nil && target.taken {
		p.noEffect(n, fmt.Sprintf("it stops log %s, whose owner ranks above its writer", w))
		return
	}
	p.limits[w] = append(p.limits[w], l)
	if l.lost > 0 {
		p.report(n, Warning, CodeStopTipMissing, "it stops log %s at entry %d, which is not here: sync with whoever may have it", w, l.lost)
	}
}

// limitOf reads what a stop names.
func (b *Book) limitOf(n *node, stop *Stop) (limit, error) {
	l := limit{stop: n}
	for _, tip := range stop.Tips {
		at := b.nodes.get(tip.ID)
		switch {
		case at == nil:
			l.lost = max(l.lost, tip.Seq)
		case at.e.head.Writer != stop.Writer || at.e.head.Seq != tip.Seq:
			return l, errors.New("it names an entry that is not where it says")
		default:
			l.tips = append(l.tips, at)
		}
	}
	return l, nil
}

// stops returns the stops that had effect, in a fixed order.
func (p *pass) stops() []limit {
	var out []limit
	for _, limits := range p.limits {
		out = append(out, limits...)
	}
	slices.SortFunc(out, func(x, y limit) int { return compareNodes(x.stop, y.stop) })
	return out
}

func (p *pass) noEffect(n *node, why string) {
	p.report(n, Warning, CodeNoEffect, "the %s has no effect: %s", n.e.kind, why)
}

// unreadable is a control entry in an owner's counted log that this version
// cannot judge: it may change who counts, so nothing is written on top of it.
func (p *pass) unreadable(n *node, err error) {
	p.report(n, Warning, CodeUnknownControl, "%v", err)
	if p.readOnly == "" {
		p.readOnly = fmt.Sprintf("entry %s of an owner cannot be read: %v", n.e.id.Short(), err)
	}
}

// finish reports what only shows once everyone has been taken.
func (p *pass) finish() *Judgement {
	pending := 0
	for _, w := range p.book.Writers() {
		l := p.book.logs[w]
		a := p.admitted[w]
		if a == nil {
			pending++
			if l.bytes > MaxPendingBytes {
				p.report(l.tips[0], Warning, CodePendingTooLarge, "the device is not admitted and its log has %d bytes, more than %d", l.bytes, MaxPendingBytes)
			}
		}
		if a == nil || a.role == RoleWorker {
			p.powerless(l, a)
		}
		p.afterStop(w, l)
	}
	if pending > MaxPendingLogs {
		p.report(p.book.found, Warning, CodePendingTooLarge, "%d devices wait to be admitted, more than %d", pending, MaxPendingLogs)
	}
	p.findings = sortFindings(p.findings)
	return p.Judgement
}

// powerless reports the acts of someone who is no owner.
func (p *pass) powerless(l *log, a *admission) {
	who := "its writer is a worker, and only owners may do this"
	if a == nil {
		who = "its writer is not admitted"
	}
	for _, n := range l.controls {
		record, err := DecodeControl(n.e)
		if err != nil {
			p.report(n, Warning, CodeUnknownControl, "%v", err)
			continue
		}
		switch record.(type) {
		case *Admit, *Stop, *Format:
			p.noEffect(n, who)
		}
	}
}

// afterStop reports the entries of a stopped log that its stops do not accept.
func (p *pass) afterStop(w Writer, l *log) {
	limits := p.limits[w]
	if len(limits) == 0 {
		return
	}
	var first *node
	beyond := make(map[*node]bool)
	for _, tip := range l.tips {
		for n := tip; n != nil && !beyond[n] && withinAll(limits, n) == no; n = n.prev {
			beyond[n] = true
			if first == nil || compareNodes(n, first) < 0 {
				first = n
			}
		}
	}
	if first != nil {
		what := "and %d entries from here on are not among those it accepts: they do not count"
		if len(beyond) == 1 {
			what = "and this entry is not among those it accepts: it does not count"
		} else {
			what = fmt.Sprintf(what, len(beyond))
		}
		p.report(first, Warning, CodeAfterStop, "the log was stopped by entry %s, %s", limits[0].stop.e.id.Short(), what)
	}
}
