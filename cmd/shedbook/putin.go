package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
)

// putIn reads --in: parts from another machine (or another place), from the shelf, or one by its id.
func (l *line) putIn(r *record.Swap, what thingOf) error {
	text := strings.TrimSpace(l.s.in)
	slots := l.seats(l.m, what, r.Positions, r.Hand)
	if machine, place, ok := strings.Cut(text, ":"); ok {
		return l.fromMachine(r, what, machine, place, len(slots))
	}
	if strings.EqualFold(text, "shelf") {
		if len(what.parts) != 1 {
			return l.setFromStock(r, what, slots)
		}
		return l.fromStock(r, what, len(slots))
	}
	if len(what.parts) != 1 {
		return usage("write --in MACHINE:PLACE or --in shelf", "--in %s: %s is several parts, each with an id of its own", text, what.name)
	}
	id, err := l.partByID(what, strings.ToLower(text))
	if err != nil {
		return err
	}
	if len(slots) != 1 {
		return usage("name one place and, where there are two, --hand", "one part for %s", count(len(slots), "place"))
	}
	r.Parts = []string{id}
	return nil
}

// seat is where one part of a thing sits.
type seat struct{ part, name, hand string }

// seats are the slots of a part, or of all parts of an assembly, in the order in which a replay fills them: place by place, part by part, hand by hand.
func (l *line) seats(m *rules.Machine, what thingOf, at record.Positions, hand string) []seat {
	places := []record.Positions{at}
	if at.IsZero() && what.noun != "" && len(what.parts) > 1 {
		at = m.Fitted.All(what.noun) // an assembly that is one for all places
	}
	if len(what.parts) > 1 && !at.IsZero() {
		places = nil
		for _, p := range m.Fitted.Walk(at) {
			places = append(places, record.NewPositions(p))
		}
	}
	var out []seat
	for _, p := range places {
		for _, part := range what.parts {
			if def, ok := m.Fitted.Part(part); ok && hand != "" && !def.Handed && len(what.parts) > 1 {
				continue
			}
			for _, name := range l.slots(m, part, p, hand) {
				_, h := rules.SplitSlot(name)
				if x := (seat{part, name, h}); !slices.Contains(out, x) {
					out = append(out, x)
				}
			}
		}
	}
	return out
}

// setFromStock takes an assembly's used parts from the yard's shelf: there must be no doubt which.
func (l *line) setFromStock(r *record.Swap, what thingOf, at []seat) error {
	h, err := l.shelf()
	if err != nil {
		return err
	}
	r.Parts, r.From = nil, h.ID
	for _, x := range at {
		ids, shown := l.usedOn(h, x.part, x.hand)
		if len(ids) != 1 || slices.Contains(r.Parts, ids[0]) {
			return failed("which-part", "swap its parts one by one, with --in and the part's id", "%s from the shelf of %s: %d used of %s lie there%s", what.name, yardName(l.st, h.Yard), len(ids), strings.TrimSpace(x.hand+" "+x.part), before(": ", commas(shown)))
		}
		r.Parts = append(r.Parts, ids[0])
	}
	return nil
}

// fromMachine takes the parts off another machine in an entry of its own: two entries joined by the parts' ids.
func (l *line) fromMachine(r *record.Swap, what thingOf, machine, place string, n int) error {
	if l.old != nil {
		return usage("strike it and record it anew", "where a part came from cannot be corrected: the entry of the other machine stands for itself")
	}
	other, err := findMachine(l.st, strings.ToLower(strings.TrimSpace(machine)))
	if err != nil {
		return err
	}
	if other.ID == l.m.ID {
		return usage("shedbook swap "+l.m.Name+" ... --with "+place, "--in takes a part off another machine; on one machine exchange them")
	}
	for _, part := range what.parts {
		if _, ok := other.Fitted.Part(part); !ok {
			return failed("unknown-word", "", "%s has no part %q", other.Name, part)
		}
	}
	at, err := other.Fitted.ParseWhere(what.noun, strings.ToLower(place))
	if err != nil {
		return failed("unknown-position", "", "%s: --in: %v", other.Name, err)
	}
	from := l.seats(other, what, at, r.Hand)
	if len(from) != n {
		return failed("unknown-position", "name as many places on both machines", "%s from %s for %s on %s", count(len(from), what.name), other.Name, count(n, "place"), l.m.Name)
	}
	r.Parts = nil
	for _, x := range from {
		s := other.Slots[x.part][x.name]
		if s == nil || s.Part == nil {
			return failed("empty", "", "%s: no %s sits at %s", other.Name, x.part, slotWords(x.name))
		}
		if s.Disputed {
			return failed("disputed", "shedbook show "+other.Name+" "+x.part, "%s: which %s sits at %s is disputed: put that right first", other.Name, x.part, slotWords(x.name))
		}
		r.Parts = append(r.Parts, s.Part.ID)
	}
	off := &record.Swap{Work: record.Work{Machine: other.ID, Done: r.Done, By: r.By}, Part: what.name, Positions: at, Hand: r.Hand, Act: record.SwapOut, Said: place}
	l.also = append(l.also, extra{m: other, r: off})
	return nil
}

// usedOn are the used parts of the machine's kind on a shelf, by id and as shown.
func (l *line) usedOn(h *rules.Shelf, part, hand string) (ids, shown []string) {
	for _, line := range h.Stock {
		if line.Part != part || line.Schedule != l.m.Kind || line.Hand != hand {
			continue
		}
		for _, q := range line.Parts {
			ids = append(ids, q.ID)
			shown = append(shown, shortPart(q.ID))
		}
	}
	return ids, shown
}

// fromStock takes used parts from the yard's shelf; several to choose from are listed.
func (l *line) fromStock(r *record.Swap, what thingOf, n int) error {
	h, err := l.shelf()
	if err != nil {
		return err
	}
	p, _ := l.m.Fitted.Part(what.name)
	hand := r.Hand
	if p.Handed && hand == "" && n > 1 {
		return usage("one line for each hand: --hand left", "--in shelf: left and right differ")
	}
	ids, shown := l.usedOn(h, what.name, hand)
	if len(ids) == 0 {
		for _, other := range l.st.Shelves {
			if _, there := l.usedOn(other, what.name, hand); len(there) > 0 {
				return failed("empty", fmt.Sprintf("name it, if it came from there: --in %q", there[0]), "no used %s lies on the shelf of %s, but one on that of %s: %s", what.name, yardName(l.st, h.Yard), yardName(l.st, other.Yard), there[0])
			}
		}
		return failed("empty", "shedbook swap ... --from-shelf takes a new one", "no used %s lies on the shelf of %s", what.name, yardName(l.st, h.Yard))
	}
	if len(ids) != n {
		return failed("which-part", "name one: --in "+shown[0], "%d used of %s lie on the shelf for %s: %s", len(ids), what.name, count(n, "place"), commas(shown))
	}
	r.Parts, r.From = ids, h.ID
	return nil
}

// shortPart is a part's id short enough to type: the entry's first digits and the slot.
func shortPart(id string) string {
	head, rest, _ := strings.Cut(id, "/")
	if head == "original" {
		machine, rest, _ := strings.Cut(rest, "/")
		return "original/" + record.ID(machine).Short() + "/" + rest
	}
	return record.ID(head).Short() + "/" + rest
}

// partByID finds one part of the kind, anywhere in the book, by its id or the beginning of one.
func (l *line) partByID(what thingOf, prefix string) (string, error) {
	found := map[string]bool{}
	match := func(p *rules.Part) {
		if p != nil && p.Kind == what.name && len(prefix) >= 4 && (strings.HasPrefix(p.ID, prefix) || strings.HasPrefix(shortPart(p.ID), prefix)) {
			found[p.ID] = true
		}
	}
	for _, p := range l.st.Parts {
		match(p)
	}
	switch len(found) {
	case 0:
		return "", failed("unknown-part", "--in MACHINE:PLACE takes it off another machine, --in shelf from the shelf", "there is no %s %q in the book", what.name, prefix)
	case 1:
		for id := range found {
			return id, nil
		}
	}
	return "", failed("unknown-part", "write more of the id", "%q could be %d parts", prefix, len(found))
}
