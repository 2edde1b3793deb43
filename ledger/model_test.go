package ledger

import (
	"slices"
)

// model is FORMAT.md sections "Waiting" and "Who counts" written down plainly,
// with sets of entries and no shortcuts, to hold the book's answer against. It
// takes entries of which none is refused.
type model struct {
	founding *Entry
	entries  map[ID]*Entry
}

func newModel(b *Book, entries []*Entry) *model {
	m := &model{founding: b.Founding(), entries: make(map[ID]*Entry)}
	for _, e := range entries {
		m.entries[e.ID()] = e
	}
	return m
}

func (m *model) cites(e *Entry) []Ref {
	refs := slices.Clone(e.Head().Seen)
	if e.Seq() > 1 {
		refs = append(refs, Ref{ID: e.Prev(), Seq: e.Seq() - 1, Writer: e.Writer()})
	}
	return refs
}

// past is what e continues and cites, and so on, e included, as far as held.
func (m *model) past(e *Entry) map[ID]bool {
	set := map[ID]bool{e.ID(): true}
	for todo := []*Entry{e}; len(todo) > 0; todo = todo[1:] {
		for _, ref := range m.cites(todo[0]) {
			if x := m.entries[ref.ID]; x != nil && !set[x.ID()] {
				set[x.ID()] = true
				todo = append(todo, x)
			}
		}
	}
	return set
}

// chain is e and what it continues, as far as held; gap is the seq of the first
// entry it came to if that is not the first of the log, else 0.
func (m *model) chain(e *Entry) (set map[ID]bool, gap uint64) {
	set = make(map[ID]bool)
	for {
		set[e.ID()] = true
		prev := m.entries[e.Prev()]
		if prev == nil {
			if e.Seq() > 1 {
				gap = e.Seq()
			}
			return set, gap
		}
		e = prev
	}
}

func (m *model) stopRecord(e *Entry) *Stop {
	record, _ := DecodeControl(e)
	return record.(*Stop)
}

// accepts: does a stop accept e of the log it stops?
func (m *model) accepts(stop, e *Entry) answer {
	out := no
	for _, tip := range m.stopRecord(stop).Tips {
		t := m.entries[tip.ID]
		if t == nil {
			if e.Seq() <= tip.Seq {
				out = unknown
			}
			continue
		}
		set, gap := m.chain(t)
		if set[e.ID()] {
			return yes
		}
		if e.Seq() < gap {
			out = unknown
		}
	}
	return out
}

func (m *model) acceptedByAll(stops []*Entry, e *Entry) answer {
	out := yes
	for _, s := range stops {
		if m.stopRecord(s).Writer != e.Writer() {
			continue
		}
		switch m.accepts(s, e) {
		case no:
			return no
		case unknown:
			out = unknown
		}
	}
	return out
}

// complete: what e continues and cites is held and complete, or given up by one
// of the stops.
func (m *model) complete(e *Entry, stops []*Entry, memo map[ID]bool) bool {
	if done, ok := memo[e.ID()]; ok {
		return done
	}
	givenUp := func(w Writer) bool {
		return slices.ContainsFunc(stops, func(s *Entry) bool {
			record := m.stopRecord(s)
			return record.Writer == w && !slices.ContainsFunc(record.Tips, func(t Tip) bool { return m.entries[t.ID] == nil })
		})
	}
	done := slices.ContainsFunc(stops, func(s *Entry) bool {
		return m.stopRecord(s).Writer == e.Writer() && m.accepts(s, e) == yes
	})
	if !done {
		done = true
		for _, ref := range m.cites(e) {
			x := m.entries[ref.ID]
			held := x != nil && m.complete(x, stops, memo)
			if ref.Writer != e.Writer() && givenUp(ref.Writer) {
				held = true
			}
			done = done && held
		}
	}
	memo[e.ID()] = done
	return done
}

type member struct {
	by    *Entry
	role  Role
	taken bool
}

// judge gives the status of every entry.
func (m *model) judge() map[ID]Status {
	var given []*Entry // stops that had effect so far
	for {
		members, stops := m.apply(given)
		more := false
		for _, s := range stops {
			if !slices.Contains(given, s) {
				given, more = append(given, s), true
			}
		}
		if more {
			continue
		}
		out := make(map[ID]Status)
		memo := make(map[ID]bool)
		for id, e := range m.entries {
			accepted := m.acceptedByAll(stops, e)
			switch {
			case accepted == no:
				out[id] = Stopped
			case members[e.Writer()] == nil:
				out[id] = Pending
			case accepted == unknown || !m.complete(e, given, memo):
				out[id] = Waiting
			default:
				out[id] = Counts
			}
		}
		return out
	}
}

// apply is one round of steps 1 to 6, with what the given stops released.
func (m *model) apply(given []*Entry) (map[Writer]*member, []*Entry) {
	record, _ := DecodeControl(m.founding)
	found := record.(*Found)
	founder, recovery := found.Key.Writer(), found.Recovery.Writer()
	members := map[Writer]*member{
		founder:  {by: m.founding, role: RoleOwner},
		recovery: {by: m.founding, role: RoleRecovery},
	}
	rank := func(w Writer) int {
		switch {
		case members[w].role == RoleRecovery:
			return 0
		case w == founder:
			return 1
		}
		return 2
	}
	var stops []*Entry
	for {
		var owner Writer
		for w, x := range members {
			if x.taken || x.role == RoleWorker {
				continue
			}
			if owner.IsZero() || rank(w) < rank(owner) || rank(w) == rank(owner) && x.by.Compare(members[owner].by) < 0 {
				owner = w
			}
		}
		if owner.IsZero() {
			return members, stops
		}
		self := members[owner]
		self.taken = true
		var acts []*Entry
		for _, e := range m.entries {
			if e.Writer() == owner && e.Class() == Control {
				acts = append(acts, e)
			}
		}
		slices.SortFunc(acts, (*Entry).Compare)
		for _, e := range acts {
			if m.acceptedByAll(stops, e) != yes || !m.past(e)[self.by.ID()] {
				continue
			}
			switch e.Kind() {
			case KindAdmit:
				if m.complete(e, given, make(map[ID]bool)) {
					m.admit(members, stops, self, e, founder, recovery)
				}
			case KindStop:
				if !m.complete(e, append(slices.Clip(given), e), make(map[ID]bool)) || m.misnames(e) {
					continue
				}
				w := m.stopRecord(e).Writer
				if w != owner && (members[w] == nil || !members[w].taken) {
					stops = append(stops, e)
				}
			}
		}
	}
}

func (m *model) misnames(stop *Entry) bool {
	record := m.stopRecord(stop)
	return slices.ContainsFunc(record.Tips, func(tip Tip) bool {
		e := m.entries[tip.ID]
		return e != nil && (e.Writer() != record.Writer || e.Seq() != tip.Seq)
	})
}

func (m *model) admit(members map[Writer]*member, stops []*Entry, self *member, e *Entry, founder, recovery Writer) {
	record, _ := DecodeControl(e)
	admit := record.(*Admit)
	w := admit.Key.Writer()
	if admit.Role == RoleRecovery && self.role != RoleRecovery || w == founder || w == recovery {
		return
	}
	for _, s := range stops {
		if m.stopRecord(s).Writer == w && m.past(e)[s.ID()] {
			return
		}
	}
	if old := members[w]; old != nil && (old.taken || old.by.Compare(e) < 0) {
		return
	}
	members[w] = &member{by: e, role: admit.Role}
}
