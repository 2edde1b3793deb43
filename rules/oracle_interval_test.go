package rules_test

import (
	"math/big"
	"time"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// byInterval: from the last time done; never done, from zero where the book knew the machine before the interval first ran out, else unknown until one
// whole interval has passed since the book knows it.
func (c court) byInterval(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	by, last, intervals := c.factorOf(t, p), c.lastDone(job.Name, p), t.Every
	if last == nil && len(t.First) > 0 {
		intervals = t.First
	}
	var all []ruling
	for _, iv := range intervals {
		if !iv.Calendar() {
			all = append(all, c.byUse(job, p, t, iv.Counter, c.amountOn(iv, by), last))
			continue
		}
		span, from := stretched(iv.Amount, by), c.added().Day()
		if last != nil {
			from = last.done.Day()
		}
		r := c.onDate(t, after(from, span), about(span), rules.ByInterval)
		if last == nil && !c.cameNew(job, p) && r.state != rules.Overdue {
			r = ruling{state: rules.Unknown, cause: rules.ByInterval}
		}
		all = append(all, r)
	}
	return all
}

// cameNew reports that a counter of any of a job's intervals says that the machine came to the book before the job first came due.
func (c court) cameNew(job *schedule.Job, p record.Position) bool {
	for i := range job.When {
		t := &job.When[i]
		intervals := t.Every
		if len(t.First) > 0 {
			intervals = t.First
		}
		for _, iv := range intervals {
			if t.Made == "" && !iv.Calendar() && c.knownSinceNew(iv.Counter, c.amountOn(iv, c.factorOf(t, p))) {
				return true
			}
		}
	}
	return false
}

func (c court) added() record.Done {
	for _, t := range c.told {
		if t.id == c.machine {
			return t.done
		}
	}
	return ""
}

// stretched is an interval times its factors, to six decimals.
func stretched(q quantity.Quantity, by *big.Rat) quantity.Quantity {
	if by.Cmp(ratInt(1)) == 0 {
		return q
	}
	out, err := quantity.FromRat(timesRat(q.Rat(), by), q.Unit(), 6)
	if err != nil {
		panic(err)
	}
	return out
}

func (c court) amountOn(iv schedule.Interval, by *big.Rat) *big.Rat {
	def, _ := c.f.Counter(iv.Counter)
	return in(stretched(iv.Amount, by), def.Unit)
}

// knownSinceNew reports a counter the book knows since before the interval first ran out.
func (c court) knownSinceNew(counter string, amount *big.Rat) bool {
	def, _ := c.f.Counter(counter)
	m := c.curve(c.machine, counter)
	return len(m) > 0 && !def.Trip && !c.beganAnew(m[0], counter) && m[0].life.Cmp(amount) < 0
}

// beganAnew reports a first point that says nothing of the use before it: the counter was zeroed or replaced there, its last reading not told.
func (c court) beganAnew(m mark, counter string) bool {
	for _, a := range c.acts(c.machine, counter) {
		if a.entry == m.entry {
			return (a.Act == "reset" || a.Act == "replaced") && a.Last.IsZero()
		}
	}
	return false
}

func (c court) byUse(job *schedule.Job, p record.Position, t *schedule.Trigger, counter string, amount *big.Rat, last *doing) ruling {
	curve := c.curve(c.machine, counter)
	if len(curve) == 0 {
		return ruling{state: rules.Unknown, cause: rules.ByInterval}
	}
	start, done := c.startOf(job, p, counter, curve, last, t.Grid)
	known := curve[0].life
	switch {
	case start != nil && t.Grid:
		// done a little early, within the notice, counts for the point it was meant for
		return c.onCount(t, counter, curve, nextOnGrid(plusRat(start, c.noticeOf(t, counter, amount)), amount), amount)
	case start != nil:
		return c.onCount(t, counter, curve, plusRat(start, amount), amount)
	case !done && c.knownSinceNew(counter, amount):
		return c.onCount(t, counter, curve, amount, amount)
	case !done && t.Grid:
		known = minusRat(nextOnGrid(known, amount), amount)
	}
	r := c.onCount(t, counter, curve, plusRat(known, amount), amount)
	if r.state != rules.Overdue {
		return ruling{state: rules.Unknown, cause: rules.ByInterval}
	}
	return r
}

// nextOnGrid is the first whole multiple of an amount above a count.
func nextOnGrid(count, amount *big.Rat) *big.Rat {
	for n := int64(1); ; n++ {
		if point := timesRat(amount, ratInt(n)); point.Cmp(count) > 0 {
			return point
		}
	}
}

// startOf is the count when the job was last done; done reports that it was, also where the count is not known. A grid is the counter's, whatever use is on
// the part.
func (c court) startOf(job *schedule.Job, p record.Position, counter string, curve []mark, last *doing, grid bool) (count *big.Rat, done bool) {
	if count := c.zeroOfPart(job, p, counter, curve, last); count != nil && !grid {
		return count, true
	}
	if last == nil {
		return nil, false
	}
	return c.countThen(curve, last.done, last.entry), true
}

// zeroOfPart: where a job replaces a part whose life is known, the interval goes with the part: from its use so far back from the last reading; of two
// hands the one that has run longer. Not where the job was recorded done after the part came there.
func (c court) zeroOfPart(job *schedule.Job, p record.Position, counter string, curve []mark, last *doing) *big.Rat {
	var zero *big.Rat
	if job.Swaps == "" {
		return nil
	}
	for _, s := range c.w.seats(c.machine, job.Swaps, p) {
		known := s.holds != nil && !s.holds.disputed && (s.since != "" || s.holds.assumed)
		if !known || s.holds.use[counter] == nil || last != nil && (s.since == "" || c.rank(last.entry) > c.rank(s.entry)) {
			return nil
		}
		if back := minusRat(curve[len(curve)-1].life, s.holds.use[counter]); zero == nil || back.Cmp(zero) < 0 {
			zero = back
		}
	}
	return zero
}

// onCount judges a point on a counter against what it shows, carried on to the day.
func (c court) onCount(t *schedule.Trigger, counter string, curve []mark, due, amount *big.Rat) ruling {
	now, _, _ := c.useAt(c.machine, curve, c.now())
	over := minusRat(now, due)
	soon := c.noticeOf(t, counter, amount)
	if t.Soon != nil && t.Soon.Calendar() {
		if rate, _ := c.rateOf(c.machine, curve); rate != nil {
			soon = roundTo(timesRat(rate, ratInt(int64(about(t.Soon.Amount))*24*60)), 1)
		}
	}
	return ruling{state: stateOf(over, soon), cause: rules.ByInterval, counter: counter, point: due, over: over, share: new(big.Rat).Quo(over, amount)}
}

func roundTo(r *big.Rat, places int) *big.Rat {
	q, err := quantity.FromRat(r, quantity.Unit{}, places)
	if err != nil {
		panic(err)
	}
	return q.Rat()
}

// noticeOf is the trigger's own notice on a counter, else a tenth of the interval.
func (c court) noticeOf(t *schedule.Trigger, counter string, amount *big.Rat) *big.Rat {
	if t.Soon != nil && t.Soon.Counter == counter {
		return c.amountOn(*t.Soon, ratInt(1))
	}
	return roundTo(timesRat(amount, big.NewRat(1, 10)), 6)
}

// stateOf: past its point overdue, at it due, within the notice before it coming.
func stateOf(over, soon *big.Rat) string {
	switch {
	case over.Sign() > 0:
		return rules.Overdue
	case over.Sign() == 0:
		return rules.DueNow
	case plusRat(over, soon).Sign() >= 0:
		return rules.Coming
	}
	return rules.Later
}

// onDate judges a day; length is about how many days its span lasts.
func (c court) onDate(t *schedule.Trigger, due time.Time, length int, cause string) ruling {
	over := int64(record.Done(c.on).Day().Sub(due).Hours() / 24)
	return ruling{state: stateOf(ratInt(over), ratInt(int64(noticeDays(t, length)))), cause: cause, date: due.Format("2006-01-02"),
		over: ratInt(over), share: big.NewRat(over, int64(max(1, length)))}
}

// noticeDays is the trigger's own notice, else 14 days and no more than a tenth of the span.
func noticeDays(t *schedule.Trigger, length int) int {
	if t.Soon != nil && t.Soon.Calendar() {
		return about(t.Soon.Amount)
	}
	return min(14, length/10)
}

// after is the day a span later. Months and years keep the day of the month, or take the month's last; a part of a month is thirtieths, begun days whole.
func after(from time.Time, span quantity.Quantity) time.Time {
	whole := func(r *big.Rat) int { // rounded up
		n := 0
		for ratInt(int64(n)).Cmp(r) < 0 {
			n++
		}
		return n
	}
	unit, n := span.Unit().String(), span.Rat()
	switch unit {
	case "d":
		return from.AddDate(0, 0, whole(n))
	case "wk":
		return from.AddDate(0, 0, whole(timesRat(n, ratInt(7))))
	case "yr":
		n = timesRat(n, ratInt(12))
	}
	months := 0
	for ratInt(int64(months+1)).Cmp(n) <= 0 {
		months++
	}
	day := from.Day()
	first := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, time.UTC).AddDate(0, months, 0)
	for first.AddDate(0, 0, day-1).Month() != first.Month() {
		day--
	}
	rest := timesRat(minusRat(n, ratInt(int64(months))), ratInt(30))
	return first.AddDate(0, 0, day-1+whole(rest))
}

// about is how many days a span lasts counted from the first of January 2025, a year of 365 days; for notice and for shares only.
func about(span quantity.Quantity) int {
	start := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	return max(1, int(after(start, span).Sub(start).Hours()/24))
}
