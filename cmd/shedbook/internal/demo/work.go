package demo

import (
	"fmt"
	"time"

	"shedbook/ledger"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// machine is one of the six, with what the story knows of it: its counters' faces and its positions.
type machine struct {
	name, kind, yard string
	device           string // who usually writes for it
	fitted           *schedule.Fitted
	options          []record.Option
	year             int                // of make; 0 not known
	face             map[string]float64 // counter -> what it shows, whole units
	discs            []float64          // of a drill: size of each opener's disc, in
	scraped          float64            // of a drill: acres at which its scrapers were last set
}

// q is an amount of this package's own text.
func q(s string) record.Quantity { return quantity.MustParse(s) }

// amount is n of a unit, whole.
func amount(n float64, unit string) record.Quantity { return q(fmt.Sprintf("%.0f %s", n, unit)) }

// openers is a span of a drill's openers, nozzles one of the sprayer's.
func openers(from, to int) record.Positions { return record.Span("opener", from, to) }

// work plans one work entry. build fills in a record whose Work is already there.
func (t *teller) work(at time.Time, device, machine string, done record.Done, p *record.Private, build func(*teller, record.Work) record.Record, then func(*teller, *ledger.Entry)) {
	t.plans(at, device, func(t *teller) (ledger.Draft, error) {
		key, ok := t.keys[machine]
		if !ok {
			return ledger.Draft{}, fmt.Errorf("no machine %q", machine)
		}
		r := build(t, record.Work{Machine: t.ids[machine], Done: done})
		d := ledger.Draft{Class: ledger.Work, Kind: r.Kind(), Record: r, Machine: &key}
		if p != nil {
			d.Private = p
		}
		return d, nil
	}, then)
}

// evening is when a day's work is usually written down.
func (t *teller) evening(d time.Time) time.Time {
	return d.Add(19*time.Hour + time.Duration(t.clock.IntN(110))*time.Minute + time.Duration(t.clock.IntN(60))*time.Second)
}

func done(d time.Time) record.Done { return record.Done(d.Format("2006-01-02")) }

func words(s string) *record.Private {
	if s == "" {
		return nil
	}
	return &record.Private{Text: s}
}

// reads plans the evening's counter entry.
func (t *teller) reads(at time.Time, m *machine, d time.Time, counters ...record.CounterAct) {
	t.work(at, m.device, m.name, done(d), nil, func(_ *teller, w record.Work) record.Record {
		return &record.Counter{Work: w, Acts: counters}
	}, nil)
}

// did plans a job done, with counters read on the occasion.
func (t *teller) did(at time.Time, device string, m *machine, d time.Time, job string, where, skipped record.Positions, read []record.CounterAt, minutes int, results ...record.Result) {
	t.work(at, device, m.name, done(d), nil, func(_ *teller, w record.Work) record.Record {
		w.Counters, w.Minutes = read, minutes
		return &record.Did{Work: w, Job: job, Positions: where, Skipped: skipped, Results: results}
	}, nil)
}

// note plans a remark.
func (t *teller) note(at time.Time, device string, m *machine, d time.Time, text string) {
	t.work(at, device, m.name, done(d), words(text), func(_ *teller, w record.Work) record.Record { return &record.Note{Work: w} }, nil)
}

// fault plans something wrong, kept under name for its repair.
func (t *teller) fault(at time.Time, device string, m *machine, d time.Time, name, severity, text string, where record.Positions, tiedUp bool) {
	t.work(at, device, m.name, done(d), words(text), func(_ *teller, w record.Work) record.Record {
		return &record.Fault{Work: w, Positions: where, Severity: severity, TiedUp: tiedUp}
	}, func(t *teller, e *ledger.Entry) { t.ids[name] = idOf(e) })
}

// repair plans the work that closes a fault.
func (t *teller) repair(at time.Time, device string, m *machine, d time.Time, fault, text, cost string, where record.Positions, used ...record.Need) {
	p := words(text)
	if cost != "" {
		p.Costs = []record.Cost{{For: "parts", Amount: cost}}
	}
	t.work(at, device, m.name, done(d), p, func(t *teller, w record.Work) record.Record {
		w.Closes, w.Minutes = []record.ID{t.ids[fault]}, 45
		return &record.Repair{Work: w, Positions: where, Used: used}
	}, nil)
}
