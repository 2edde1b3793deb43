package audit

import (
	"fmt"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// clocks compares what the writers' clocks said with the order that the chains
// prove. No clock proves anything alone; a difference is said and nothing is
// reordered for it.
func (c *check) clocks() {
	c.future()
	c.backDated()
	c.doneAndRecorded()
}

func (c *check) future() {
	if c.o.Now.IsZero() {
		return
	}
	t := c.tally()
	latest := make(map[ledger.Writer]time.Time)
	for _, e := range c.entries {
		if e.At().After(c.o.Now.Add(ClockTolerance)) {
			t.add(e)
			if e.At().After(latest[e.Writer()]) {
				latest[e.Writer()] = e.At()
			}
		}
	}
	for _, r := range t.runs() {
		c.say(r.first, ledger.Warning, CodeFuture, "%s of this log %s dated later than now, the last one %s: the device's clock is or was wrong; the order of entries does not rest on it",
			entries(r.count), verb(r.count, "is", "are"), latest[r.first.Writer()].Format(timeForm))
	}
}

// backDated finds entries dated before something they rest on: they were
// recorded no earlier than that, if its clock was right.
func (c *check) backDated() {
	type latest struct {
		at time.Time
		by *ledger.Entry
	}
	known := make([]latest, len(c.entries))
	t := c.tally()
	against := make(map[ledger.Writer]latest) // of the first such entry of a log
	for i, e := range c.entries {
		k := latest{e.At(), e}
		if j := c.prev[i]; j >= 0 && known[j].at.After(k.at) {
			k = known[j]
		}
		for _, ref := range e.Seen() {
			if j, ok := c.at[ref.ID]; ok && known[j].at.After(k.at) {
				k = known[j]
			}
		}
		known[i] = k
		if k.at.Sub(e.At()) > ClockTolerance {
			t.add(e)
			if against[e.Writer()].by == nil {
				against[e.Writer()] = k
			}
		}
	}
	for _, r := range t.runs() {
		k := against[r.first.Writer()]
		c.say(r.first, ledger.Warning, CodeBackDated,
			"dated %s, but it rests on entry %s of log %s, dated %s: it was recorded no earlier than that, or that clock was ahead%s",
			r.first.At().Format(timeForm), k.by.ID().Short(), k.by.Writer(), k.at.Format(timeForm), more(r.count, "; so %s %d more of this log"))
	}
}

func more(count int, format string) string {
	if count < 2 {
		return ""
	}
	return fmt.Sprintf(format, verb(count-1, "is", "are"), count-1)
}

// doneAndRecorded compares when work was done, by the wall clock of the farm,
// with when it was recorded. A day of the farm can be up to a day away from that
// of UTC.
func (c *check) doneAndRecorded() {
	late := 0
	var longest time.Duration
	var first *ledger.Entry
	for i, e := range c.entries {
		f := &c.facts[i]
		if f.done == "" {
			continue
		}
		switch d := lateBy(e, f.done); {
		case d < -24*time.Hour:
			c.say(e, ledger.Warning, CodeDoneFuture, "%s entry recorded %s says the work was done %s, later than it was written down",
				article(f.kind), e.At().Format(timeForm), f.done.Date())
		case d > LateAfter:
			late++
			longest = max(longest, d)
			if first == nil {
				first = e
			}
		}
	}
	if late > 0 {
		c.say(first, ledger.Note, CodeLate, "%d of %s about work %s recorded more than %d days after the day they give, by up to %d days, this one first",
			late, entries(c.worked()), verb(late, "was", "were"), LateAfter/(24*time.Hour), longest/(24*time.Hour))
	}
}

// lateBy is how long after the day of the work an entry was recorded, in whole
// days; negative where before.
func lateBy(e *ledger.Entry, done record.Done) time.Duration {
	return e.At().Truncate(24 * time.Hour).Sub(done.Day())
}

// worked is how many entries that count say when work was done.
func (c *check) worked() int {
	n := 0
	for i := range c.facts {
		if c.facts[i].done != "" {
			n++
		}
	}
	return n
}
