package rules

import (
	"slices"
	"sort"

	"shedbook/rules/record"
)

// shelf is a yard's stock under replay.
type shelf struct {
	s     *Shelf
	lines map[stockKey]*stockLine
}

type stockKey struct{ schedule, part, hand string }

type stockLine struct {
	count   int // all that lie there, used ones too
	used    []*part
	serials []string
	entries []ID
}

func (r *replay) addShelf(e *Effective, rec *record.Shelf) {
	s := &Shelf{ID: e.Entry.ID, Yard: rec.Yard, Key: rec.Key}
	r.shelves[s.ID] = &shelf{s: s, lines: map[stockKey]*stockLine{}}
	if r.yards[rec.Yard] == nil {
		r.problem("unknown-yard", s.ID, []ID{s.ID}, "a shelf stands in a yard that is not in the book")
	}
}

func (h *shelf) line(k stockKey, e *Effective) *stockLine {
	l := h.lines[k]
	if l == nil {
		l = &stockLine{}
		h.lines[k] = l
	}
	l.entries = unique(append(l.entries, e.Entry.ID))
	return l
}

// stock buys, counts or scraps what lies on a shelf.
func (r *replay) stock(e *Effective, st *record.Stock) {
	h := r.shelves[st.Machine]
	if h == nil {
		return // refused by judge
	}
	l := h.line(stockKey{st.Schedule, st.Part, st.Hand}, e)
	switch st.Act {
	case "add":
		l.count += st.Count
		l.serials = append(l.serials, st.Serials...)
	case "count":
		l.count, l.entries = st.Count, []ID{e.Entry.ID}
		if len(st.Serials) > 0 {
			l.serials = slices.Clone(st.Serials)
		}
	case "scrap":
		l.count -= st.Count
		for _, s := range st.Serials {
			l.drop(s)
		}
	}
	h.short(r, l, st.Part, e)
}

// short says when more was taken than lay there, or more used parts lie there than were counted.
func (h *shelf) short(r *replay, l *stockLine, part string, e *Effective) {
	if l.count < 0 {
		l.count = 0
		r.problem("shelf-short", h.s.ID, []ID{e.Entry.ID}, "more of %s were taken from the shelf than lay there: count what is there", part)
	}
}

// drop strikes a serial number off the list.
func (l *stockLine) drop(serial string) {
	if i := slices.Index(l.serials, serial); i >= 0 {
		l.serials = slices.Delete(l.serials, i, i+1)
	}
}

// takeNew takes an unused part off the shelf.
func (h *shelf) takeNew(r *replay, at *slot, serial string, e *Effective) {
	l := h.line(stockKey{at.u.m.Kind, at.part, at.hand}, e)
	l.count--
	l.drop(serial)
	h.short(r, l, at.part, e)
}

// takeUsed takes a part with a history off the shelf.
func (h *shelf) takeUsed(r *replay, p *part, e *Effective) {
	l := h.line(stockKey{p.Schedule, p.Kind, p.Hand}, e)
	l.used = slices.DeleteFunc(l.used, func(q *part) bool { return q == p })
	l.count--
	p.shelf = nil
	h.short(r, l, p.Kind, e)
}

// put lays a part with a history on the shelf.
func (h *shelf) put(p *part, e *Effective) {
	l := h.line(stockKey{p.Schedule, p.Kind, p.Hand}, e)
	l.used, p.shelf = append(l.used, p), h
	l.count++
}

func (r *replay) shelfOf(u *unit, id ID, e *Effective) *shelf {
	h := r.shelves[id]
	if h == nil {
		r.problem("unknown-shelf", u.m.ID, []ID{e.Entry.ID}, "%s: swap %s takes a part from a shelf that is not in the book", u.m.Name, e.Entry.ID.Short())
	}
	return h
}

func (r *replay) finishShelves() {
	for _, h := range r.shelves {
		for k, l := range h.lines {
			line := StockLine{Schedule: k.schedule, Part: k.part, Hand: k.hand, Count: l.count, Serials: l.serials, Reason: Reason{Entries: l.entries}}
			for _, p := range l.used {
				line.Parts = append(line.Parts, p.Part)
			}
			if len(l.used) > l.count {
				r.problem("shelf-short", h.s.ID, l.entries, "fewer of %s were counted on the shelf than used ones lie there by the record", k.part)
			}
			h.s.Stock = append(h.s.Stock, line)
		}
		s := h.s.Stock
		sort.Slice(s, func(i, j int) bool {
			return before(s[i].Schedule, s[j].Schedule, s[i].Part, s[j].Part, s[i].Hand, s[j].Hand)
		})
		r.s.Shelves = append(r.s.Shelves, h.s)
	}
	sort.Slice(r.s.Shelves, func(i, j int) bool { return r.s.Shelves[i].ID < r.s.Shelves[j].ID })
}
