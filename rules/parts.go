package rules

import (
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// part is a Part under replay. Its use grows only while it runs: while it sits in a slot whose places are in use and nobody disputes where it is.
type part struct {
	*Part
	at    *slot // where it sits, nil: nowhere
	shelf *shelf
	since lives // the machine's use when it last began to run, nil: it does not run
	began lives // its use when its present stay began
	from  *Effective
	read  []*Reading // its sizes, in order of effect
}

// slot is a place for a part under replay.
type slot struct {
	u        *unit
	def      *schedule.Part // nil: the schedule does not know the part
	part     string
	name     string            // SlotName
	hand     string            //
	served   []record.Position // the places it serves; one, mostly, more where a part serves neighbours
	holds    *part
	disputed bool
	since    record.Done
	entries  []ID
}

// addOriginals puts an original part into every slot the machine has: what sat there when the record began. Their use is counted from the machine's
// first known counter, so it is a least amount until a starting line says more.
func (r *replay) addOriginals(u *unit) {
	if u.f == nil || !r.isWhole(u) {
		return
	}
	for i := range u.f.Parts {
		def := &u.f.Parts[i]
		u.m.Slots[def.Name] = map[string]*Slot{}
		for _, p := range u.partPlaces(def) {
			for _, hand := range u.hands(def.Of, def.Handed) {
				s := u.addSlot(def, def.Name, p, hand)
				r.enter(s, r.addPart(&Part{
					ID: originalID(u.m.ID, def.Name, s.name), Kind: def.Name, Schedule: u.m.Kind, Hand: hand, Segment: 1,
				}, u.adds), nil)
			}
		}
	}
}

func originalID(machine ID, part, slot string) string {
	return strings.Join([]string{"original", string(machine), part, slot}, "/")
}

// partPlaces are the places that hold one such part, in walking order: the first of each run where one part serves several neighbours.
func (u *unit) partPlaces(def *schedule.Part) []record.Position {
	if def.Of == "" {
		return []record.Position{{}}
	}
	var out []record.Position
	for _, p := range u.walk(u.f.All(def.Of)) {
		if p == seat(def, p) {
			out = append(out, p)
		}
	}
	return out
}

// seat is the place under which a part's slot is kept.
func seat(def *schedule.Part, p record.Position) record.Position {
	if def != nil && def.Per > 1 && p.Number > 0 {
		p.Number = (p.Number-1)/def.Per*def.Per + 1
	}
	return p
}

func (u *unit) addSlot(def *schedule.Part, part string, p record.Position, hand string) *slot {
	s := &slot{u: u, def: def, part: part, name: u.slotName(p, hand), hand: hand, served: []record.Position{p}}
	if def != nil && def.Per > 1 && p.Number > 0 {
		all := u.f.All(def.Of)
		for n := p.Number + 1; n < p.Number+def.Per; n++ {
			if q := (record.Position{Noun: p.Noun, Number: n}); all.Has(q) {
				s.served = append(s.served, q)
			}
		}
	}
	if u.slots[part] == nil {
		u.slots[part] = map[string]*slot{}
	}
	u.slots[part][s.name] = s
	for _, place := range s.served {
		u.byPlace[u.name(place)] = append(u.byPlace[u.name(place)], s)
	}
	return s
}

func (r *replay) addPart(p *Part, e *Effective) *part {
	p.Use, p.SegmentUse = lives{}, lives{}
	n := &part{Part: p, from: e}
	r.parts[p.ID] = n
	return n
}

// enter seats a part in an empty slot; at is nil for what was there from the beginning.
func (r *replay) enter(s *slot, p *part, at *Effective) {
	s.holds, s.disputed = p, false
	p.at, p.Gone = s, ""
	stay := Stay{Machine: s.u.m.ID, Slot: s.name}
	p.began = p.Use
	if at == nil {
		s.since, s.entries = "", []ID{s.u.m.ID}
		stay.Entry = s.u.m.ID
	} else {
		s.since, s.entries = at.Done, []ID{at.Entry.ID}
		stay.From, stay.Entry = at.Done, at.Entry.ID
		if len(p.Stays) == 0 {
			p.In = at.Done
		}
	}
	p.Stays = append(p.Stays, stay)
	p.Reason.Entries = unique(append(p.Reason.Entries, stay.Entry))
	if at == nil {
		p.since = lives{} // counted from each counter's first point
		return
	}
	r.fill(s, at)
	if s.runs() {
		p.since = s.u.at(at).recorded
	}
}

// unseat takes out what a slot holds, its use booked; the caller fills the slot again or marks it empty.
func (r *replay) unseat(s *slot, e *Effective) *part {
	p := s.holds
	s.since, s.entries, s.disputed = e.Done, []ID{e.Entry.ID}, false
	if p == nil {
		return nil
	}
	r.halt(p, e)
	s.holds = nil
	if p.at == s {
		why := ""
		if sw, ok := e.Record.(*record.Swap); ok && sw.Act != record.SwapExchange {
			why = sw.Why
		}
		p.endStay(e, why)
		p.at = nil
	}
	p.Reason.Entries = unique(append(p.Reason.Entries, e.Entry.ID))
	return p
}

// endStay closes a part's present stay, its use booked before; one in dispute is closed already.
func (p *part) endStay(e *Effective, why string) {
	last := &p.Stays[len(p.Stays)-1]
	if last.To != "" {
		return
	}
	last.To, last.End, last.Why, last.Use = e.Done, e.Entry.ID, why, p.stayed()
}

// stayed is the use gathered in the present stay.
func (p *part) stayed() lives {
	out := lives{}
	for name, q := range p.Use {
		if before, ok := p.began[name]; ok {
			q = minus(q, before)
		}
		out[name] = q
	}
	return out
}

// halt books a part's use up to the entry and stops it.
func (r *replay) halt(p *part, e *Effective) {
	if p.since == nil {
		return
	}
	p.Use, p.SegmentUse = p.useAt(e)
	p.since = nil
}

// useAt is a part's use, and that of its segment, at the entry. Counters of one name in another unit (a part moved between machines) are converted
// into the unit the part's use is in.
func (p *part) useAt(e *Effective) (use, segment lives) {
	if p.since == nil || p.at == nil {
		return p.Use, p.SegmentUse
	}
	return p.grown(p.at.u.at(e).recorded)
}

func (p *part) grown(now lives) (use, segment lives) {
	use, segment = clone(p.Use), clone(p.SegmentUse)
	for name, life := range now {
		start, ok := p.since[name]
		if !ok {
			start = p.at.u.m.Counters[name].Points[0].Life
		}
		more := minus(life, start)
		grow(use, name, more)
		grow(segment, name, more)
	}
	return use, segment
}

func grow(into lives, name string, more quantity.Quantity) {
	before, ok := into[name]
	if !ok {
		into[name] = more
		return
	}
	if more, ok = inUnit(more, before.Unit()); ok {
		into[name] = plus(before, more)
	}
}

func clone(l lives) lives {
	out := make(lives, len(l)+1)
	for k, v := range l {
		out[k] = v
	}
	return out
}

// slotsOf are the slots of a part, or of the parts of an assembly, at some places: place by place in walking order, there part by part, left hand
// first; of one hand only where it is named.
func (r *replay) slotsOf(u *unit, e *Effective, thing string, at record.Positions, hand string) []*slot {
	if u.f == nil {
		return r.looseSlots(u, e, thing, nounOf(at), at, hand)
	}
	defs, noun, whole := u.partsOf(thing)
	if len(defs) == 0 {
		r.once(u, "unknown-name", e.Entry.ID, "%s has no part %q in its schedule", u.m.Name, thing)
		return r.looseSlots(u, e, thing, nounOf(at), at, hand)
	}
	if whole {
		at = record.Positions{}
	}
	var out []*slot
	seen := map[*slot]bool{}
	for _, p := range r.places(u, e, noun, at) {
		for _, def := range defs {
			hands := u.hands(def.Of, def.Handed)
			if hand != "" && def.Handed {
				hands = []string{hand}
			} else if hand != "" && len(defs) > 1 {
				continue
			}
			for _, h := range hands {
				name := u.slotName(seat(def, p), h)
				s := u.slots[def.Name][name]
				if s == nil {
					r.problem("unknown-position", u.m.ID, []ID{e.Entry.ID}, "%s has no %s at %s", u.m.Name, def.Name, name)
					continue
				}
				if !seen[s] {
					seen[s] = true
					out = append(out, s)
				}
			}
		}
	}
	return out
}

// looseSlots are slots of a part that the schedule does not know, made as they are named.
func (r *replay) looseSlots(u *unit, e *Effective, part, noun string, at record.Positions, hand string) []*slot {
	var out []*slot
	for _, p := range r.places(u, e, noun, at) {
		s := u.slots[part][u.slotName(p, hand)]
		if s == nil {
			s = u.addSlot(nil, part, p, hand)
			r.enter(s, r.addPart(&Part{ID: originalID(u.m.ID, part, s.name), Kind: part, Schedule: u.m.Kind, Hand: hand, Segment: 1}, u.adds), nil)
		}
		out = append(out, s)
	}
	return out
}

// partsOf are the parts that a word means: one, or those of an assembly. Whole: it is one thing for all its places.
func (u *unit) partsOf(thing string) (defs []*schedule.Part, noun string, whole bool) {
	if d, ok := u.f.Part(thing); ok {
		return []*schedule.Part{d}, d.Of, false
	}
	a, ok := u.f.Assembly(thing)
	if !ok {
		return nil, "", false
	}
	for _, name := range a.Parts {
		if d, ok := u.f.Part(name); ok && d.Of == a.Of {
			defs = append(defs, d)
		}
	}
	return defs, a.Of, a.Whole
}

// finishParts writes the slots out, with each part's use up to the day by the readings.
func (r *replay) finishParts(u *unit) {
	now := lives{}
	for name, c := range u.m.Counters {
		if q, ok := c.recorded(record.Done(r.s.On)); ok {
			now[name] = q
		}
	}
	for part, slots := range u.slots {
		if u.m.Slots[part] == nil {
			u.m.Slots[part] = map[string]*Slot{}
		}
		for name, s := range slots {
			out := &Slot{Disputed: s.disputed, Since: s.since, Reason: Reason{Entries: s.entries}}
			if p := s.holds; p != nil {
				if p.since != nil {
					p.Use, p.SegmentUse = p.grown(now)
					p.since = nil
				}
				if last := &p.Stays[len(p.Stays)-1]; p.at == s && last.To == "" {
					last.Use = p.stayed()
				}
				out.Part = p.Part
				out.Unknown = !s.disputed && !p.Assumed && s.since == "" && len(p.Stays) == 1
			}
			u.m.Slots[part][name] = out
		}
	}
}
