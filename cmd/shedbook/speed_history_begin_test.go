package main

import (
	"fmt"
	"time"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// historyFleet is the 50 machines. Their options vary with their number.
var historyFleet = []struct {
	kind   string
	count  int
	option string // "": none
	values []string
}{
	{"tractor", 12, "", nil},
	{"disc-drill", 6, "openers", []string{"48", "40", "24"}},
	{"hoe-drill", 3, "openers", []string{"48", "60"}},
	{"planter", 4, "rows", []string{"16", "12", "24"}},
	{"boom-sprayer", 4, "nozzles", []string{"72", "48"}},
	{"combine", 4, "", nil},
	{"round-baler", 4, "", nil},
	{"cart", 5, "wheels", []string{"2", "4"}},
	{"disc-mower", 4, "discs", []string{"8", "6"}},
	{"auger", 4, "", nil},
}

// begin writes what the years rest on: devices asked for and admitted, yards with shelves, people without devices, schedules, machines and what is taken
// as good of them on the first day. It gives the book's mark and the ring that holds the founder's key.
func (h *longHistory) begin(d *testBook) (string, *keyring.Ring) {
	h.tb.Helper()
	bk, err := d.call().open()
	if err != nil {
		h.tb.Fatal(err)
	}
	defer bk.store.Close()
	signer, ring, err := bk.signer()
	if err != nil {
		h.tb.Fatal(err)
	}
	st, err := bk.now()
	if err != nil {
		h.tb.Fatal(err)
	}
	h.book, h.yards = bk.store.BookID(), []record.ID{st.Yards[0].ID}
	founder := h.device(bk, signer)
	err = bk.store.Bulk(func(tx *gitstore.Tx) error {
		step := func(w *writing, fn func(*writing) error) error {
			d.now = d.now.Add(time.Minute)
			w.run, w.c.now = nil, func() time.Time { return d.now }
			if err := fn(w); err != nil {
				return err
			}
			return tx.Append(w.logName, w.run)
		}
		if err := h.beginPeople(bk, founder, step); err != nil {
			return err
		}
		if err := h.beginYards(founder, step); err != nil {
			return err
		}
		return h.beginFleet(founder, step)
	})
	if err != nil {
		h.tb.Fatal(err)
	}
	for _, w := range h.writings {
		o := &historyDevice{signer: w.signer, writer: w.writer, held: map[ledger.Writer]historyTip{}, cited: map[ledger.Writer]uint64{}}
		h.devices = append(h.devices, o)
	}
	for _, e := range bk.log.Entries() {
		h.made++
		for _, o := range h.devices {
			if o.writer != e.Writer() {
				continue
			}
			for _, ref := range e.Seen() {
				o.cited[ref.Writer] = max(o.cited[ref.Writer], ref.Seq)
			}
			if e.Seq() > o.tip.ref.Seq {
				o.tip, o.at = historyTip{e.Ref(), e.Depth()}, e.At()
			}
		}
	}
	return bk.store.Mark(), ring
}

// device is one that writes while the book is begun.
func (h *longHistory) device(bk *book, signer ledger.Signer) *writing {
	w := &writing{book: bk, signer: signer, writer: ledger.WriterOf(signer.Public())}
	w.logName = w.writer.String()
	h.writings = append(h.writings, w)
	return w
}

type historyStep = func(*writing, func(*writing) error) error

func (h *longHistory) beginPeople(bk *book, founder *writing, step historyStep) error {
	for n := 2; n <= historyWriters; n++ {
		key, err := ledger.NewKey(h.salts)
		if err != nil {
			return err
		}
		public, role := ledger.PublicKeyOf(key.Public()), ledger.RoleWorker
		if n <= historyOwners {
			role = ledger.RoleOwner
		}
		private := ledger.ControlPrivate{Name: fmt.Sprint("Person ", n), Device: fmt.Sprint("laptop ", n)}
		w := h.device(bk, key)
		if err := step(w, func(w *writing) error {
			_, err := w.sign(ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: public}, Private: private})
			return err
		}); err != nil {
			return err
		}
		if err := step(founder, func(w *writing) error {
			_, err := w.sign(ledger.Draft{Class: ledger.Control, Kind: "admit", Record: ledger.Admit{Key: public, Role: role}, Private: private})
			return err
		}); err != nil {
			return err
		}
	}
	for n := range 4 {
		if err := step(founder, func(w *writing) error {
			e, err := w.add(&record.Person{}, &record.Private{Name: fmt.Sprint("Helper ", n+1)}, nil)
			if err == nil {
				h.persons = append(h.persons, record.ID(e.ID().String()))
			}
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

func (h *longHistory) beginYards(founder *writing, step historyStep) error {
	return step(founder, func(w *writing) error {
		for n := 2; n <= 5; n++ {
			farm, err := w.add(&record.Farm{Name: fmt.Sprint("Farm ", n)}, nil, nil)
			if err != nil {
				return err
			}
			yard, err := w.add(&record.Yard{Name: fmt.Sprint("yard-", n), Farm: record.ID(farm.ID().String())}, nil, nil)
			if err != nil {
				return err
			}
			h.yards = append(h.yards, record.ID(yard.ID().String()))
			shelf := &historyMachine{home: n, yard: n - 1}
			h.shelves = append(h.shelves, shelf)
			if err := h.beginKeyed(w, shelf, func(work record.Work, key string) record.Record {
				return &record.Shelf{Work: work, Key: key, Yard: h.yards[n-1]}
			}); err != nil {
				return err
			}
		}
		return nil
	})
}

func (h *longHistory) beginFleet(founder *writing, step historyStep) error {
	for _, f := range historyFleet {
		s, ok := schedule.Builtin(f.kind)
		if !ok {
			return fmt.Errorf("there is no built-in schedule %q", f.kind)
		}
		if err := step(founder, func(w *writing) error {
			_, err := w.add(&record.Schedule{Name: s.Name, Text: s.Text}, nil, nil)
			return err
		}); err != nil {
			return err
		}
		var fitted []*schedule.Fitted // one for every value of the option
		for n := range f.count {
			var options []record.Option
			if f.option != "" {
				options = []record.Option{{Name: f.option, Value: f.values[n%len(f.values)]}}
			}
			if n < max(len(f.values), 1) {
				one, err := s.Fit(options, nil, nil)
				if err != nil {
					return err
				}
				fitted = append(fitted, one)
			}
			m := h.newMachine(fmt.Sprintf("%s-%d", f.kind, n+1), fitted[n%len(fitted)])
			if err := step(founder, func(w *writing) error { return h.beginMachine(w, m, options) }); err != nil {
				return err
			}
		}
	}
	return nil
}

func (h *longHistory) beginMachine(w *writing, m *historyMachine, options []record.Option) error {
	if err := h.beginKeyed(w, m, func(work record.Work, key string) record.Record {
		work.Counters = m.reads(0, 0)
		return &record.Machine{Work: work, Key: key, Name: m.name, Schedule: m.fitted.Name, Yard: h.yards[m.yard], Options: options, Title: "made up", Year: 2008 + len(h.machines)%9}
	}); err != nil {
		return err
	}
	_, err := w.add(&record.Assume{Work: record.Work{Machine: m.id, Done: doneOn(0)}, Good: true}, nil, &m.key)
	return err
}

// beginKeyed adds a machine or shelf, with a key of its own.
func (h *longHistory) beginKeyed(w *writing, m *historyMachine, build func(record.Work, string) record.Record) error {
	key, err := ledger.NewMachineKey(h.salts)
	if err != nil {
		return err
	}
	text, err := key.MarshalText()
	if err != nil {
		return err
	}
	e, err := w.add(build(record.Work{Done: doneOn(0)}, string(text)), nil, &key)
	if err != nil {
		return err
	}
	m.id, m.key = record.ID(e.ID().String()), key
	return nil
}
