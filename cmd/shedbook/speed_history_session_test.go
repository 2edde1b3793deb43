package main

import (
	"fmt"
	"slices"
	"time"

	"shedbook/ledger"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// historyShares is how many of a thousand entries of work are of a kind. Where a kind cannot be (nothing is broken that could be repaired), a job is.
// What comes of two like tosses (lent and returned, stored and taken out) alternates.
var historyShares = []struct {
	kind string
	of   int
}{
	{"counter", 266}, {"did", 315}, {"measure", 100}, {"adjust", 105}, {"swap", 50}, {"fault", 30}, {"repair", 30}, {"note", 60},
	{"correct", 14}, {"strike", 6}, {"hitch", 5}, {"stock", 3}, {"move", 2}, {"lend", 8}, {"store", 6},
}

func (h *longHistory) kind() string {
	n := h.dice.IntN(1000)
	for _, s := range historyShares {
		if n -= s.of; n < 0 {
			return s.kind
		}
	}
	return "did"
}

// moment is when an entry is written and when its work was done.
type moment struct {
	at    time.Time
	day   int     // the work was done
	share float64 // of that day's work behind it
	done  record.Done
}

// session is one run: a person writes up two things about a machine, mostly one at work then and mostly from the yard where it stands.
func (h *longHistory) session(day, second int) error {
	m := h.machines[h.dice.IntN(len(h.machines))]
	for try := 0; try < 3 && m.worked[day] == 0; try++ {
		m = h.machines[h.dice.IntN(len(h.machines))]
	}
	d := h.devices[m.home]
	if h.dice.IntN(10) < 3 {
		d = h.devices[h.dice.IntN(len(h.devices))]
	}
	var entries []*ledger.Entry
	for i := range 2 {
		at := historyDay(day).Add(time.Duration(second+i*90) * time.Second)
		e, err := h.entry(d, m, h.moment(at, day))
		if err != nil {
			return fmt.Errorf("%s, %s: %w", at.Format("2006-01-02"), m.name, err)
		}
		entries = append(entries, e)
	}
	return h.run(d, entries)
}

// moment says when the work was done: 5 in 100 days before, most at the minute they are written.
func (h *longHistory) moment(at time.Time, day int) moment {
	w := moment{at: at, day: day, share: 1, done: doneOn(day)}
	switch n := h.dice.IntN(100); {
	case n < 5 && day > 20:
		w.day = day - 2 - h.dice.IntN(13)
		w.done = doneOn(w.day)
	case n < 85:
		w.share = min(max(float64(at.Hour()*60+at.Minute()-360)/(14*60), 0), 1)
		w.done = record.Done(at.Format("2006-01-02T15:04"))
	}
	return w
}

// entry signs one entry about a machine.
func (h *longHistory) entry(d *historyDevice, m *historyMachine, w moment) (*ledger.Entry, error) {
	kind := h.kind()
	switch kind {
	case "correct", "strike":
		if e, err := h.amend(d, w, kind); e != nil || err != nil {
			return e, err
		}
	case "stock":
		return h.stock(d, w)
	}
	work := record.Work{Machine: m.id, Done: w.done}
	if h.dice.IntN(8) == 0 {
		work.By = []record.ID{h.persons[h.dice.IntN(len(h.persons))]}
	}
	if h.dice.IntN(4) == 0 {
		work.Field = fmt.Sprint("field ", h.dice.IntN(40)+1)
	}
	r, p, after := h.build(d, m, w, kind, work)
	e, err := h.sign(d, w.at, r, p, &m.key)
	if err != nil {
		return nil, err
	}
	id := record.ID(e.ID().String())
	if after != nil {
		after(id)
	}
	switch r.(type) {
	case *record.Did, *record.Note, *record.Adjust, *record.Measure:
		if d.recent = append(d.recent, &historyEntry{m, id, r}); len(d.recent) > 16 {
			d.recent = d.recent[1:]
		}
	}
	return e, nil
}

// build makes the record of a kind, or of a job where that kind cannot be. after is called with the entry's id.
func (h *longHistory) build(d *historyDevice, m *historyMachine, w moment, kind string, work record.Work) (r record.Record, p *record.Private, after func(record.ID)) {
	switch kind {
	case "counter":
		r = m.counts(w, work)
	case "measure":
		r = h.measure(m, w, work)
	case "adjust":
		r = h.adjust(m, work)
	case "swap":
		r, p = h.swap(m, w, work)
	case "fault":
		return h.fault(d, m, w, work)
	case "repair":
		r, p = h.repair(d, m, w, work)
	case "note":
		r, p = &record.Note{Work: work}, &record.Private{Text: h.words()}
	case "hitch":
		if m.fitted.Name != "tractor" && m.fitted.Name != "combine" {
			r = &record.Hitch{Work: work, Carrier: h.machines[h.dice.IntN(12)].id} // the tractors come first
		}
	case "move":
		m.yard = h.dice.IntN(len(h.yards))
		r = &record.Move{Work: work, Yard: h.yards[m.yard]}
	case "lend":
		if !slices.Contains(h.devices[:historyOwners], d) { // only owners lend
			break
		}
		act := map[bool]string{false: "lent", true: "returned"}[m.lent]
		m.lent = !m.lent
		r, p = &record.Lend{Work: work, Act: act, Condition: "ok"}, &record.Private{Who: "a neighbour"}
	case "store":
		if month := historyDay(w.day).Month(); m.stored || month >= time.November || month <= time.February {
			act := map[bool]string{false: "in", true: "out"}[m.stored]
			m.stored = !m.stored
			r = &record.Store{Work: work, Act: act}
		}
	}
	if r == nil {
		r = h.did(m, w, work)
	}
	return r, p, nil
}

// seasonEntries is how many entries seasonsOn writes: of all years, or in a small book of the last two.
func (h *longHistory) seasonEntries() int { return len(historySeasons) * 3 * h.seasonYears() }

func (h *longHistory) seasonYears() int {
	if h.of < 10_000 {
		return 2
	}
	return historyYears
}

// seasonsOn writes the seasons planned, opened and closed on a day, on the founder's device.
func (h *longHistory) seasonsOn(day int) error {
	date := historyDay(day)
	if date.Year() <= historyDay(historyDays-1).Year()-h.seasonYears() {
		return nil
	}
	for i, s := range historySeasons {
		from, _ := time.Parse("2006-01-02", date.Format("2006-")+s.from)
		name := fmt.Sprintf("%s %d", s.name, date.Year())
		r := &record.Season{Name: name, Work: s.work, Done: doneOn(day)}
		switch date.Format("01-02") {
		case from.AddDate(0, 0, -40).Format("01-02"):
			r.Act, r.From, r.To = "plan", date.Format("2006-")+s.from, date.Format("2006-")+s.to
		case s.from:
			r.Act = "open"
		case s.to:
			r.Act = "close"
		default:
			continue
		}
		d := h.devices[0]
		e, err := h.sign(d, date.Add(5*time.Hour+time.Duration(i)*time.Minute), r, nil, nil)
		if err != nil {
			return err
		}
		if err := h.run(d, []*ledger.Entry{e}); err != nil {
			return err
		}
	}
	return nil
}

// amend corrects or strikes one of the device's own latest entries; none where there is none.
func (h *longHistory) amend(d *historyDevice, w moment, kind string) (*ledger.Entry, error) {
	if len(d.recent) == 0 {
		return nil, nil
	}
	i := h.dice.IntN(len(d.recent))
	t := d.recent[i]
	d.recent = append(d.recent[:i:i], d.recent[i+1:]...)
	if kind == "strike" {
		return h.sign(d, w.at, &record.Strike{Machine: t.m.id, Entry: t.id}, &record.Private{Text: "written down twice"}, &t.m.key)
	}
	r, err := clone(t.record)
	if err != nil {
		return nil, err
	}
	switch x := r.(type) {
	case *record.Measure:
		v := &x.Values[len(x.Values)/2]
		v.Found, v.Left, v.Cannot = record.Value{}, record.Value{}, "read"
	case *record.Did:
		x.Minutes += 15
	case *record.Adjust:
		x.Field = fmt.Sprint("field ", h.dice.IntN(40)+1)
	case *record.Note:
		x.Ground = "wet"
	}
	raw, err := record.Encode(r)
	if err != nil {
		return nil, err
	}
	return h.sign(d, w.at, &record.Correct{Machine: t.m.id, Entry: t.id, As: r.Kind(), Record: raw}, nil, &t.m.key)
}

// stock counts or adds to what lies on a shelf.
func (h *longHistory) stock(d *historyDevice, w moment) (*ledger.Entry, error) {
	shelf, m := h.shelves[h.dice.IntN(len(h.shelves))], h.machines[h.dice.IntN(len(h.machines))]
	part := m.parts[h.dice.IntN(len(m.parts))]
	r := &record.Stock{Work: record.Work{Machine: shelf.id, Done: w.done}, Schedule: m.fitted.Name, Part: part.Name, Act: "add", Count: 1 + h.dice.IntN(8)}
	if part.Handed {
		r.Hand = "left"
	}
	return h.sign(d, w.at, r, &record.Private{Costs: []record.Cost{{For: "parts", Amount: fmt.Sprintf("%d.50", 20+h.dice.IntN(400))}}}, &shelf.key)
}

// words is what somebody notes.
func (h *longHistory) words() string {
	what := []string{"stand looks even", "pulled to the left on the hill", "chain a little slack, look again next week", "grease came out black", "ran well all day", "dust in the cab, seal of the door"}
	return fmt.Sprintf("%s; row %d, round %d", what[h.dice.IntN(len(what))], 1+h.dice.IntN(48), 1+h.dice.IntN(30))
}

// minutes is labour for so many places.
func (h *longHistory) minutes(places int) int { return 5 + places + h.dice.IntN(20) }

// zeroings is how many entries zeroesOn writes.
func (h *longHistory) zeroings() int {
	n := 0
	for _, m := range h.machines {
		for _, c := range m.counters {
			n += len(c.zeroed)
		}
	}
	return n
}

// zeroesOn writes which counters went back to nothing in the evening of a day: those of a trip, each spring, and one that was replaced.
func (h *longHistory) zeroesOn(day int) error {
	for _, m := range h.machines {
		for _, c := range m.counters {
			if !slices.Contains(c.zeroed, day) {
				continue
			}
			act := record.CounterAct{Counter: c.Name, Act: "replaced"}
			act.Last, _ = c.face(day, 1)
			if c.Trip {
				act.Act = "reset"
			}
			d := h.devices[m.home]
			e, err := h.sign(d, historyDay(day).Add(21*time.Hour), &record.Counter{Work: record.Work{Machine: m.id, Done: doneOn(day)}, Acts: []record.CounterAct{act}}, nil, &m.key)
			if err != nil {
				return err
			}
			if err := h.run(d, []*ledger.Entry{e}); err != nil {
				return err
			}
		}
	}
	return nil
}

// counts is a reading of a machine's counters.
func (m *historyMachine) counts(w moment, work record.Work) record.Record {
	r := &record.Counter{Work: work}
	for _, c := range m.counters {
		if q, ok := c.face(w.day, w.share); ok {
			r.Acts = append(r.Acts, record.CounterAct{Counter: c.Name, Act: "at", Value: q})
		}
	}
	if len(r.Acts) == 0 {
		return nil
	}
	return r
}

// hundredths is an amount to two places.
func hundredths(n float64, u quantity.Unit) quantity.Quantity {
	return quantity.New(int64(n*100+0.5), 2, u)
}
