package main

import (
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

var swapVerb = &verb{kind: "swap", form: phrase.Swap, wide: true, bind: bindSwap, build: buildSwap}

func bindSwap(s *said, fs *pflag.FlagSet) {
	bindWarranty(s, fs)
	s.str(fs, &s.why, "why", "`worn`, in-time, with-set or broken")
	s.str(fs, &s.hand, "hand", "`left` or right, where there are two in one place")
	s.str(fs, &s.with, "with", "exchanged with the part of this `place`: opener/30")
	s.yes(fs, &s.fromShelf, "from-shelf", "the new one came from this yard's shelf (left out: bought new)")
	s.yes(fs, &s.toShelf, "to-shelf", "the old one went to this yard's shelf (left out: scrapped)")
	s.yes(fs, &s.out, "out", "taken off, the place left empty")
	s.str(fs, &s.in, "in", "a part that was used before is put in: `MACHINE:PLACE` it comes from, shelf, or its id")
	s.yes(fs, &s.turned, "turned", "the same part turned over")
	s.yes(fs, &s.sharpened, "sharpened", "the same part sharpened")
	s.yes(fs, &s.rebuilt, "rebuilt", "the same part rebuilt")
	s.strs(fs, &s.serials, "serial", "`serial` number of the new part")
	s.strs(fs, &s.used, "used", "a used part's own use so far, as claimed: `600ac`")
	s.bindWork(fs)
	s.bindNote(fs)
}

func swapCommand() *command {
	s := &said{}
	return &command{
		name: "swap", section: "in the shed", brief: "record a part put in, taken off, exchanged or turned", writes: true,
		usage: []string{"swap MACHINE [PLACES] PART [--why WHY] [--with PLACE | --out | --in FROM | --turned | --sharpened | --rebuilt] [--from-shelf] [--to-shelf]"},
		examples: []string{
			"swap drill opener/12 disc --why worn --counter area=1812ac", "swap drill opener/12 disc --with opener/30", "swap drill 44 arm --out --to-shelf",
			"swap drill2 opener/3 disc --in drill:opener/12", "swap drill left-wing disc --hand left --from-shelf",
		},
		about: "A part keeps its own use and readings wherever it goes. Without a flag a new part was put in and the old one scrapped.",
		flags: func(fs *pflag.FlagSet) { bindSwap(s, fs) },
		run:   recordCommand(swapVerb, s),
	}
}

// thingOf is a part, or an assembly of parts that moves as one.
type thingOf struct {
	name   string
	noun   string
	handed bool
	parts  []string
}

func (l *line) swapped(name string) (thingOf, error) {
	f := l.m.Fitted
	if p, ok := f.Part(name); ok {
		return thingOf{p.Name, p.Of, p.Handed, []string{p.Name}}, nil
	}
	if a, ok := f.Assembly(name); ok {
		return thingOf{a.Name, a.Of, false, a.Parts}, nil
	}
	return thingOf{}, failed("unknown-word", "shedbook schedule show "+l.m.Name, "%s has no part %q", l.m.Name, name)
}

func buildSwap(l *line) (record.Record, *record.Private, error) {
	r := &record.Swap{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Swap)
	}
	if t, ok := l.term(); ok {
		r.Part = t.Name
	}
	what, err := l.swapped(r.Part)
	if err != nil {
		return nil, nil, err
	}
	r.Part = what.name
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	c := l.clause()
	if what.noun != "" || len(c.Places) > 0 {
		if r.Positions, err = l.places(what.noun, c, r.Positions); err != nil {
			return nil, nil, err
		}
	}
	if l.old == nil && len(c.Places)+len(c.But) == 0 && r.Positions.Len() > 1 {
		l.doubt("all-places", "the %s of %s? no place of %s is said (all of them: shedbook swap %s all %s)", what.name, l.m.Fitted.Describe(r.Positions, what.noun), l.m.Name, l.m.Name, what.name)
	}
	r.Said = saidOf(c, r.Said)
	if l.s.given("hand") {
		if r.Hand, err = l.oneHand(what.name, l.handsOf(what.noun, what.handed)); err != nil {
			return nil, nil, err
		}
	}
	if err := l.swapAct(r, what); err != nil {
		return nil, nil, err
	}
	if l.s.given("why") {
		if r.Why, err = oneOf("--why", l.s.why, []string{"worn", "in-time", "with-set", "broken"}); err != nil {
			return nil, nil, err
		}
	}
	if err := l.swapPart(r, what); err != nil {
		return nil, nil, err
	}
	if err := l.checkSlots(r, what); err != nil {
		return nil, nil, err
	}
	p, err := l.private("")
	return r, p, err
}

// swapAct finds which of the acts it is.
func (l *line) swapAct(r *record.Swap, what thingOf) error {
	s := l.s
	var acts []string
	for _, x := range []struct {
		act string
		is  bool
	}{{record.SwapOut, s.out}, {record.SwapIn, s.given("in")}, {record.SwapExchange, s.given("with")}, {record.SwapTurned, s.turned},
		{record.SwapSharpened, s.sharpened}, {record.SwapRebuilt, s.rebuilt}} {
		if x.is {
			acts = append(acts, x.act)
		}
	}
	switch {
	case len(acts) > 1:
		return usage("one line for each", "%s and %s: it is one of them", acts[0], acts[1])
	case len(acts) == 1:
		if l.old != nil && r.Act != acts[0] {
			r.With, r.Parts, r.From, r.To = record.Positions{}, nil, "", ""
		}
		r.Act = acts[0]
	case r.Act == "":
		r.Act = record.SwapNew
	}
	if err := l.swapShelves(r, what); err != nil {
		return err
	}
	switch {
	case s.given("with"):
		return l.exchange(r, what)
	case s.given("in"):
		return l.putIn(r, what)
	}
	return nil
}

// swapShelves reads --from-shelf and --to-shelf: the shelf of the yard where the machine stands.
func (l *line) swapShelves(r *record.Swap, what thingOf) error {
	if l.s.fromShelf && r.Act != record.SwapNew {
		return usage("leave --from-shelf out", "--from-shelf goes with a new part; a used one from the shelf is --in shelf")
	}
	if l.s.toShelf && r.Act != record.SwapNew && r.Act != record.SwapOut && r.Act != record.SwapIn {
		return usage("leave --to-shelf out", "--to-shelf: no part comes off when it is %s", pastOf(r.Act))
	}
	if !l.s.fromShelf && !l.s.toShelf {
		return nil
	}
	shelf, err := l.shelf()
	if err != nil {
		return err
	}
	if l.s.fromShelf {
		if r.From != shelf.ID { // what a correction leaves as it stands was said then
			l.shelfShort(r, what, shelf)
		}
		r.From = shelf.ID
	}
	if l.s.toShelf {
		r.To = shelf.ID
	}
	return nil
}

// shelfShort says that the shelf holds fewer by the book than are taken. It is recorded all the same: the book may be behind the shelf.
func (l *line) shelfShort(r *record.Swap, what thingOf, shelf *rules.Shelf) {
	name := "shelf"
	if y := l.st.Yard(string(shelf.Yard)); y != nil {
		name = "shelf of " + y.Name
	}
	for _, part := range what.parts {
		def, ok := l.m.Fitted.Part(part)
		if !ok {
			continue
		}
		hands := l.handsOf(def.Of, def.Handed)
		if r.Hand != "" {
			hands = []string{r.Hand}
		}
		for _, hand := range hands {
			have, want := 0, len(l.slots(l.m, part, r.Positions, hand))
			for _, s := range shelf.Stock {
				if s.Schedule == l.m.Kind && s.Part == part && s.Hand == hand {
					have += s.Count
				}
			}
			part := strings.TrimSpace(hand + " " + part)
			switch {
			case have <= 0:
				l.note("the %s holds no %s of this kind in the book", name, part)
			case have < want:
				l.note("the %s holds %d of %s of this kind in the book, and %d are taken", name, have, part, want)
			}
		}
	}
}

func pastOf(act string) string {
	if act == record.SwapExchange {
		return "exchanged"
	}
	return act
}

// shelf is that of the yard where the machine stands.
func (l *line) shelf() (*rules.Shelf, error) {
	for _, h := range l.st.Shelves {
		if h.Yard == l.m.Yard {
			return h, nil
		}
	}
	return nil, failed("no-shelf", "shedbook yard add makes a yard with its shelf", "the yard of %s has no shelf", l.m.Name)
}

// exchange reads --with.
func (l *line) exchange(r *record.Swap, what thingOf) error {
	var err error
	if r.With, err = l.list("--with", what.noun, l.s.with); err != nil {
		return err
	}
	if n := both(r.With, r.Positions); !n.IsZero() {
		return failed("unknown-position", "", "%s: %s cannot be exchanged with itself", l.m.Name, l.m.Fitted.Describe(n, what.noun))
	}
	if r.With.Len() != r.Positions.Len() {
		return failed("unknown-position", "name as many places as --with does", "%s: %s against %s: the numbers differ", l.m.Name,
			l.m.Fitted.Describe(r.Positions, what.noun), l.m.Fitted.Describe(r.With, what.noun))
	}
	return nil
}

// slots are the names of the slots a swap is about, place by place in walking order, left hand first.
func (l *line) slots(m *rules.Machine, part string, at record.Positions, hand string) []string {
	p, ok := m.Fitted.Part(part)
	if !ok {
		return nil
	}
	hands := []string{""}
	if noun, _, ok := m.Fitted.Noun(p.Of); ok && p.Handed && len(noun.Hands) > 0 {
		hands = noun.Hands
	}
	if hand != "" {
		hands = []string{hand}
	}
	places := []record.Position{{}}
	if !at.IsZero() {
		places = m.Fitted.Walk(at)
	}
	var out []string
	for _, q := range places {
		if p.Per > 1 && q.Number > 0 { // one part serves neighbours and is kept under the first of them
			q.Number = (q.Number-1)/p.Per*p.Per + 1
		}
		for _, h := range hands {
			if name := rules.SlotName(q, h); !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out
}

// checkSlots refuses to take a part from a place where none sits.
func (l *line) checkSlots(r *record.Swap, what thingOf) error {
	if l.old != nil || len(what.parts) != 1 {
		return nil
	}
	empty := func(at record.Positions) (string, *rules.Slot) {
		for _, name := range l.slots(l.m, what.name, at, r.Hand) {
			if s := l.m.Slots[what.name][name]; s != nil && s.Part == nil && !s.Disputed {
				return name, s
			}
		}
		return "", nil
	}
	switch r.Act {
	case record.SwapOut, record.SwapTurned, record.SwapSharpened, record.SwapRebuilt:
		if name, s := empty(r.Positions); s != nil {
			return l.emptySlot(what, name, s)
		}
	case record.SwapExchange:
		a, s := empty(r.Positions)
		b, t := empty(r.With)
		if s != nil && t != nil {
			return failed("empty", "", "%s: no %s sits at %s nor at %s", l.m.Name, what.name, slotWords(a), slotWords(b))
		}
	}
	return nil
}

func (l *line) emptySlot(what thingOf, slot string, s *rules.Slot) error {
	since := ""
	if s.Since != "" {
		since = ": it was taken off on " + weekday(s.Since)
	}
	if n := len(s.Reason.Entries); n > 0 && s.Since != "" {
		since += " [" + s.Reason.Entries[n-1].Short() + "]"
	}
	return failed("empty", "", "%s: no %s sits at %s%s", l.m.Name, what.name, slotWords(slot), since)
}

// slotWords is "opener 12 left".
func slotWords(slot string) string { return strings.ReplaceAll(slot, "/", " ") }

// swapPart reads what is known of the part put in.
func (l *line) swapPart(r *record.Swap, what thingOf) error {
	if l.s.given("serial") {
		for _, s := range l.s.serials {
			if err := checkWords("--serial", s, 100); err != nil {
				return err
			}
		}
		if r.Act != record.SwapNew && r.Act != record.SwapIn {
			return usage("leave --serial out", "--serial goes with a part that is put in")
		}
		r.Serials = l.s.serials
	}
	if !l.s.given("used") {
		return nil
	}
	if r.Act != record.SwapNew || len(l.s.used) != 1 {
		return usage("write --used 600ac", "--used is what one used part, put in as bought, has run so far")
	}
	q, err := quantity.Parse(l.s.used[0])
	if err == nil && q.Unit() == (quantity.Unit{}) && l.m.Fitted.MainCounter() != nil {
		q, err = quantity.ParseIn(l.s.used[0], l.m.Fitted.MainCounter().Unit)
	}
	if err != nil {
		return usage("write --used 600ac", "--used: %v", err)
	}
	r.Used = q
	return nil
}
