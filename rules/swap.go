package rules

import (
	"slices"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// swap moves parts.
func (r *replay) swap(u *unit, e *Effective, s *record.Swap) {
	slots := r.slotsOf(u, e, s.Part, s.Positions, s.Hand)
	switch s.Act {
	case record.SwapNew:
		for i, at := range slots {
			r.discard(r.unseat(at, e), s.To, e, "scrapped")
			r.enter(at, r.newPart(at, e, s, i), e)
		}
	case record.SwapIn:
		if len(slots) != len(s.Parts) {
			r.problem("parts-count", u.m.ID, []ID{e.Entry.ID}, "%s: swap %s puts %d parts into %d places; the first %d count", u.m.Name, e.Entry.ID.Short(), len(s.Parts), len(slots), min(len(slots), len(s.Parts)))
		}
		for i, at := range slots[:min(len(slots), len(s.Parts))] {
			r.putIn(at, s.Parts[i], s, e, i)
		}
	case record.SwapOut:
		for _, at := range slots {
			if at.holds == nil {
				r.takenTwice(at, e)
				continue
			}
			r.discard(r.unseat(at, e), s.To, e, "transit")
			r.empty(at, e)
		}
	case record.SwapExchange:
		with := r.slotsOf(u, e, s.Part, s.With, s.Hand)
		if len(slots) != len(with) {
			r.problem("parts-count", u.m.ID, []ID{e.Entry.ID}, "%s: swap %s exchanges %d places with %d: left out", u.m.Name, e.Entry.ID.Short(), len(slots), len(with))
			return
		}
		for i := range slots {
			r.exchange(slots[i], with[i], e)
		}
		r.opened(u, e, append(slices.Clone(slots), with...))
	case record.SwapTurned, record.SwapSharpened, record.SwapRebuilt:
		for _, at := range slots {
			r.newSegment(at, s.Act, e)
		}
	}
	r.swapEvents(u, e, s, slots)
	switch s.Act {
	case record.SwapNew, record.SwapIn:
		r.tallySwap(u, e, slots, func(j *schedule.Job) string { return j.Swaps })
	case record.SwapTurned, record.SwapSharpened, record.SwapRebuilt:
		r.tallySwap(u, e, slots, func(j *schedule.Job) string { return j.Turns })
	}
}

// swapEvents lists a swap of a part, and that of an assembly once for itself and once for each of its parts.
func (r *replay) swapEvents(u *unit, e *Effective, s *record.Swap, slots []*slot) {
	names := []string{s.Part}
	for _, at := range slots {
		if !slices.Contains(names, at.part) {
			names = append(names, at.part)
		}
	}
	act := map[string]string{record.SwapNew: "swap:", record.SwapIn: "swap:", record.SwapExchange: "swap:", record.SwapOut: "out:"}[s.Act]
	if act == "" {
		act = "turn:"
	}
	for _, name := range names {
		r.event(u, e, act+name, s.Positions.Union(s.With))
	}
}

// newPart is the i-th new part of a swap: bought, or taken from a shelf.
func (r *replay) newPart(at *slot, e *Effective, s *record.Swap, i int) *part {
	id := string(e.Entry.ID) + "/" + at.name
	if at.part != s.Part { // of an assembly, or a fluid of a service, which may fill several
		id += "/" + at.part
	}
	if old := r.parts[id]; old != nil { // put in somewhere before it was ever new: the days of two entries contradict one another
		r.dispute(old, nil, e)
		id += "/again"
	}
	p := r.addPart(&Part{ID: id, Kind: at.part, Schedule: at.u.m.Kind, Hand: at.hand, Segment: 1, Warranty: s.Warranty}, e)
	if i < len(s.Serials) {
		p.Serial = s.Serials[i]
	}
	if s.Used != (quantity.Quantity{}) {
		r.assumeUse(at.u, p, e, s.Used)
	}
	if s.From != "" {
		if h := r.shelfOf(at.u, s.From, e); h != nil {
			h.takeNew(r, at, p.Serial, e)
		}
	}
	return p
}

// putIn seats a named part. Where that part sits in another slot, or was put in there by this very entry, one of the two entries is wrong: it is
// disputed, and its use is counted to neither place from then on.
func (r *replay) putIn(at *slot, id string, s *record.Swap, e *Effective, i int) {
	p := r.parts[id]
	if p == nil {
		p = r.addPart(&Part{ID: id, Kind: at.part, Schedule: at.u.m.Kind, Hand: at.hand, Segment: 1}, e)
		r.problem("unknown-part", at.u.m.ID, []ID{e.Entry.ID}, "%s: the part put in at %s is not known from before: its earlier use is unknown", at.u.m.Name, at.name)
	}
	if p.at == at && !p.Disputed {
		r.problem("part-in-place", at.u.m.ID, []ID{at.entries[0], e.Entry.ID}, "%s: the %s put in at %s sat there already", at.u.m.Name, s.Part, at.name)
		return
	}
	if p.Kind != at.part || p.Hand != at.hand {
		r.problem("part-kind", at.u.m.ID, []ID{e.Entry.ID}, "%s: what is put in at %s as %s was a %s", at.u.m.Name, at.name, handed(at.part, at.hand), handed(p.Kind, p.Hand))
	}
	if old := r.unseat(at, e); old != p {
		r.discard(old, s.To, e, "scrapped")
	}
	if p.at != nil || p.Disputed {
		r.dispute(p, at, e)
		return
	}
	if s.From != "" {
		r.shelfOf(at.u, s.From, e) // says it when there is no such shelf
	}
	if p.shelf != nil {
		if s.From != "" && p.shelf.s.ID != s.From {
			r.problem("part-elsewhere", at.u.m.ID, []ID{e.Entry.ID}, "%s: the %s put in at %s lay on another shelf than the one named", at.u.m.Name, s.Part, at.name)
		}
		p.shelf.takeUsed(r, p, e)
	}
	p.Warranty = max(p.Warranty, s.Warranty)
	if i < len(s.Serials) && p.Serial == "" {
		p.Serial = s.Serials[i]
	}
	r.enter(at, p, e)
}

func handed(part, hand string) string {
	if hand == "" {
		return part
	}
	return part + " (" + hand + ")"
}

// dispute leaves the place of a part open: its use is booked up to the entry and no further. At is the second slot that claims it, if any.
func (r *replay) dispute(p *part, at *slot, e *Effective) {
	entries := []ID{e.Entry.ID}
	where := "nowhere"
	if p.at != nil {
		entries = []ID{p.Stays[len(p.Stays)-1].Entry, e.Entry.ID}
		where = p.at.u.m.Name + " " + p.at.name
		r.halt(p, e)
		p.at.disputed = true
		p.at.entries = unique(append(p.at.entries, e.Entry.ID))
		p.endStay(e, "")
	} else if n := len(p.Reason.Entries); n > 0 {
		entries = unique([]ID{p.Reason.Entries[n-1], e.Entry.ID})
	}
	p.Disputed = true
	p.Reason = Reason{Entries: unique(append(p.Reason.Entries, e.Entry.ID)), Rule: "place disputed"}
	machine := p.from.Entry.ID
	if at != nil {
		at.holds, at.disputed, at.since, at.entries = p, true, e.Done, entries
		p.Gone = ""
		r.fill(at, e)
		machine = at.u.m.ID
	}
	to := "in there once more"
	if at != nil {
		to = "into " + at.u.m.Name + " " + at.name
	}
	r.problem("part-disputed", machine, entries, "the %s at %s is put %s: one of these entries is wrong; correct or strike it; until then its use is counted to neither place", handed(p.Kind, p.Hand), where, to)
}

// takenTwice says that a part was taken out of an empty slot. If what was taken the first time is still off, where it lies is open.
func (r *replay) takenTwice(at *slot, e *Effective) {
	r.problem("part-disputed", at.u.m.ID, append(at.entries[:len(at.entries):len(at.entries)], e.Entry.ID), "%s: the %s at %s is taken out twice: one of these entries is wrong; correct or strike it", at.u.m.Name, handed(at.part, at.hand), at.name)
	for _, p := range r.parts {
		if n := len(p.Stays); p.at == nil && n > 0 && p.Gone != "scrapped" && p.Stays[n-1].Slot == at.name && p.Stays[n-1].Machine == at.u.m.ID && p.Kind == at.part && p.Stays[n-1].To == at.since {
			p.Disputed = true
			p.Reason = Reason{Entries: unique(append(p.Reason.Entries, e.Entry.ID)), Rule: "place disputed"}
		}
	}
}

// exchange puts each of two slots' parts into the other. One of them may be empty. Exchanged with itself, a part is in dispute.
func (r *replay) exchange(a, b *slot, e *Effective) {
	if a == b {
		if a.holds != nil {
			r.dispute(a.holds, nil, e)
		}
		return
	}
	if a.holds == nil && b.holds == nil {
		r.problem("swap-empty", a.u.m.ID, []ID{e.Entry.ID}, "%s: %s and %s are exchanged, and both are empty", a.u.m.Name, a.name, b.name)
		return
	}
	if a.disputed || b.disputed {
		r.exchangeDisputed(a, b, e)
		return
	}
	p, q := r.unseat(a, e), r.unseat(b, e)
	for _, to := range []struct {
		s *slot
		p *part
	}{{b, p}, {a, q}} {
		if to.p != nil {
			r.enter(to.s, to.p, e)
		} else {
			r.empty(to.s, e)
		}
	}
}

// exchangeDisputed exchanges what two slots are said to hold; what was disputed stays so.
func (r *replay) exchangeDisputed(a, b *slot, e *Effective) {
	type held struct {
		p        *part
		disputed bool
		home     bool // the part's last undisputed seat
	}
	take := func(s *slot) held {
		h := held{p: s.holds, disputed: s.disputed, home: s.holds != nil && s.holds.at == s}
		if !h.disputed {
			r.unseat(s, e)
		}
		s.holds, s.disputed, s.since, s.entries = nil, false, e.Done, []ID{e.Entry.ID}
		return h
	}
	put := func(s *slot, h held) {
		switch {
		case h.p == nil:
			r.empty(s, e)
		case h.disputed:
			s.holds, s.disputed = h.p, true
			if h.home {
				h.p.at = s
			}
			r.fill(s, e)
		default:
			r.enter(s, h.p, e)
		}
	}
	p, q := take(a), take(b)
	put(b, p)
	put(a, q)
}

// discard says where a part went that left its slot.
func (r *replay) discard(p *part, to ID, e *Effective, gone string) {
	if p == nil || p.at != nil {
		return
	}
	p.Gone = gone
	if to == "" {
		return
	}
	if h := r.shelves[to]; h != nil {
		p.Gone = "shelf"
		h.put(p, e)
		return
	}
	p.Gone = "transit"
	r.problem("unknown-shelf", machineOf(e.Entry), []ID{e.Entry.ID}, "swap %s sends a part to a shelf that is not in the book", e.Entry.ID.Short())
}

// newSegment begins a new stretch of wear of the same part.
func (r *replay) newSegment(at *slot, act string, e *Effective) {
	p := at.holds
	if p == nil {
		r.problem("swap-empty", at.u.m.ID, []ID{e.Entry.ID}, "%s: the %s at %s is %s, and none sits there", at.u.m.Name, at.part, at.name, act)
		return
	}
	running := p.since != nil
	r.halt(p, e)
	p.Segment++
	p.SegmentFrom, p.SegmentUse = e.Done, lives{}
	p.Reason.Entries = unique(append(p.Reason.Entries, e.Entry.ID))
	if running {
		p.since = at.u.at(e).recorded
	}
}

// assumeUse takes a part's use so far as somebody claimed it, on the machine's counter of that dimension: the main one if it fits.
func (r *replay) assumeUse(u *unit, p *part, e *Effective, used quantity.Quantity) {
	name, q, ok := u.counterFor(used)
	if !ok {
		r.problem("counter-unit", u.m.ID, []ID{e.Entry.ID}, "%s has no counter that counts %s", u.m.Name, used)
		return
	}
	running := p.since != nil
	r.halt(p, e)
	p.readAfter(name, q)
	p.Use, p.SegmentUse = clone(p.Use), clone(p.SegmentUse)
	p.Use[name], p.SegmentUse[name] = q, q
	p.began = clone(p.began)
	p.began[name] = q // what was claimed was not used here
	p.Assumed = true
	if running {
		p.since = u.at(e).recorded
	}
}

// readAfter adds what a claimed use says was worked before the record began to the use at every reading of the part taken so far: between a reading and
// now it worked what the counters say and no more, whenever the claim was written down. A claim below what the record itself holds leaves no use below zero.
func (p *part) readAfter(name string, claimed quantity.Quantity) {
	for _, n := range p.read {
		n.Use = earlier(n.Use, p.Use, name, claimed)
		if n.Segment == p.Segment {
			n.SegmentUse = earlier(n.SegmentUse, p.SegmentUse, name, claimed)
		}
	}
}

// earlier is the use at a reading once the part's use now is taken to be so much.
func earlier(then, now lives, name string, claimed quantity.Quantity) lives {
	was, ok := then[name]
	if !ok {
		return then
	}
	worked, ok := inUnit(minus(now[name], was), claimed.Unit()) // since the reading
	if !ok {
		return then
	}
	use := minus(claimed, worked)
	if use.Sign() < 0 {
		use = minus(claimed, claimed)
	}
	then = clone(then)
	then[name] = use
	return then
}

func (u *unit) counterFor(q quantity.Quantity) (string, quantity.Quantity, bool) {
	if u.f == nil {
		return "", q, false
	}
	if c := u.f.MainCounter(); c != nil {
		if v, ok := inUnit(q, c.Unit); ok {
			return c.Name, v, true
		}
	}
	for _, c := range u.f.Counters {
		if v, ok := inUnit(q, c.Unit); ok {
			return c.Name, v, true
		}
	}
	return "", q, false
}
