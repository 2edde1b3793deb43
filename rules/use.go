package rules

import (
	"math/big"
	"sort"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// UseAt is a counter's Life at the moment d (the end of the day where d has no time): on the straight line between the readings before and after over the time
// in which it may have worked (not in storage and, where seasons of its work are known, within one; over all time where there was none such),
// rounded half to even at 0.1 of the counter's unit, or finer where those readings are. After the last reading it is carried on at the recent rate,
// as Counter.Estimate is. ok is false for a counter never read and for a moment before its first reading.
func (m *Machine) UseAt(counter string, d record.Done) (life quantity.Quantity, ok bool) {
	c := m.Counters[counter]
	if c == nil {
		return quantity.Quantity{}, false
	}
	life, _, ok = m.use(c, d)
	return life, ok
}

// UseRead is UseAt, and whether the readings say so: one of that moment, or one before and one after between which the counter did not move. Else it is worked out.
func (m *Machine) UseRead(counter string, d record.Done) (life quantity.Quantity, read, ok bool) {
	if life, ok = m.UseAt(counter, d); !ok {
		return life, false, false
	}
	c := m.Counters[counter]
	i := sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Done.Compare(d) > 0 })
	same := c.Points[i-1].Done.Compare(d) == 0 || i < len(c.Points) && c.Points[i].Life == c.Points[i-1].Life
	return life, same && !c.Derived, true
}

// use is UseAt, and whether it lies beyond the last reading by more than nothing.
func (m *Machine) use(c *Counter, d record.Done) (life quantity.Quantity, estimated, ok bool) {
	n := len(c.Points)
	if n == 0 || d.Compare(c.Points[0].Done) < 0 {
		return quantity.Quantity{}, false, false
	}
	last := c.Points[n-1]
	if d.Compare(last.Done) >= 0 {
		on := m.carriedOn(c, d)
		return on, on != last.Life, true
	}
	return c.between(d), false, true
}

// recorded is the use by the readings alone: level after the last one, and before the first one what the first one says (a part's use is counted from
// there). ok is false for a counter never read.
func (c *Counter) recorded(d record.Done) (quantity.Quantity, bool) {
	n := len(c.Points)
	switch {
	case n == 0:
		return quantity.Quantity{}, false
	case d.Compare(c.Points[0].Done) < 0:
		return c.Points[0].Life, true
	case d.Compare(c.Points[n-1].Done) >= 0:
		return c.Points[n-1].Life, true
	}
	return c.between(d), true
}

// between interpolates; d lies at or after the first point and before the last.
func (c *Counter) between(d record.Done) quantity.Quantity {
	i := sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Done.Compare(d) > 0 })
	a, b := c.Points[i-1], c.Points[i]
	if a.Life == b.Life || a.Done.Compare(d) == 0 {
		return a.Life
	}
	x, x0, x1 := minute(d), minute(a.Done), minute(b.Done)
	if x1 == x0 {
		return a.Life // midnight, once as the end of a day and once as the start of the next
	}
	done, all := x-x0, x1-x0
	for _, idle := range [][]minutes{c.idle, c.stored} {
		if n := awake(x0, x1, idle); n > 0 {
			done, all = awake(x0, x, idle), n
			break
		}
	}
	q, err := quantity.Between(a.Life, b.Life, done, all, max(1, decimals(a.Life), decimals(b.Life)))
	if err != nil {
		return a.Life
	}
	return q
}

const (
	minutesADay = 24 * 60
	rateDays    = 365
)

// rate is the recent use a minute outside storage: over the last 365 days of the curve, or all of it while it is younger. It also says how many
// minutes of use the rate was seen over: a day at the least, for a machine that did 40 ac between two readings of one morning does not go on so through
// the night. nil when the curve has no length or never rose.
func (m *Machine) rate(c *Counter) (perMinute *big.Rat, from, to, seen int64) {
	n := len(c.Points)
	if n < 2 || c.Unhitched {
		return nil, 0, 0, 0
	}
	begin := c.Points[0].Done
	to = minute(c.Points[n-1].Done)
	if year := to - rateDays*minutesADay; year > minute(begin) {
		begin = moment2done(year)
	}
	from = minute(begin)
	seen = m.unstored(from, to)
	start, _ := c.recorded(begin)
	grown := minus(c.Points[n-1].Life, start)
	if seen <= 0 || grown.Sign() <= 0 {
		return nil, from, to, 0
	}
	seen = max(seen, minutesADay)
	return new(big.Rat).Quo(grown.Rat(), new(big.Rat).SetInt64(seen)), from, to, seen
}

// carriedOn is the last reading carried on to d. A rate is not carried on for longer than it was seen: two days of seeding say nothing of a year.
func (m *Machine) carriedOn(c *Counter, d record.Done) quantity.Quantity {
	last := c.Points[len(c.Points)-1]
	perMinute, _, to, seen := m.rate(c)
	if perMinute == nil {
		return last.Life
	}
	more := min(m.unstored(to, minute(d)), seen)
	if more <= 0 {
		return last.Life
	}
	y := new(big.Rat).SetInt64(more)
	y.Mul(y, perMinute).Add(y, last.Life.Rat())
	q, err := quantity.FromRat(y, c.Unit, max(1, decimals(last.Life)))
	if err != nil {
		return last.Life
	}
	return q
}

// unstored is how many minutes from one moment to another the machine was not in storage.
func (m *Machine) unstored(from, to int64) int64 {
	n := to - from
	for _, s := range m.Storage {
		a, b := max(minute(s.From), from), to
		if s.To != "" {
			b = min(minute(s.To), to)
		}
		if b > a {
			n -= b - a
		}
	}
	return n
}

// estimate sets what a counter shows carried on to the day.
func (r *replay) estimate(u *unit, c *Counter) {
	if len(c.Points) == 0 {
		return
	}
	c.Estimate, c.Estimated, _ = u.m.use(c, record.Done(r.s.On))
	if perMinute, from, to, _ := u.m.rate(c); perMinute != nil {
		day, _ := new(big.Rat).Mul(perMinute, big.NewRat(minutesADay, 1)).Float64()
		c.PerDay = &RateOfUse{PerDay: day, From: moment2done(from).Date(), To: moment2done(to).Date()}
	}
}

// minute counts the minutes from 1970-01-01T00:00 on the shed's own clock.
func minute(d record.Done) int64 {
	m := d.Day().Unix() / 60
	clock := d.Clock()
	return m + int64(clock[0]-'0')*600 + int64(clock[1]-'0')*60 + int64(clock[3]-'0')*10 + int64(clock[4]-'0')
}

// moment2done is the moment of a minute. The end of a day is that day without a time.
func moment2done(min int64) record.Done {
	day, rest := min/minutesADay, min%minutesADay
	if rest == 0 {
		return record.Done(dayText(day - 1))
	}
	return record.Done(dayText(day) + "T" + two(rest/60) + ":" + two(rest%60))
}

func two(n int64) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }

func decimals(q quantity.Quantity) int {
	return q.Decimals()
}

// lives is use by counter.
type lives = map[string]quantity.Quantity

// at gives the machine's use at an entry: its own readings where it has any. Within one replay the recorded use never falls from one entry to the next.
func (u *unit) at(e *Effective) *moment {
	if u.now.entry == e.Entry.ID && u.now.recorded != nil {
		return &u.now
	}
	next := moment{entry: e.Entry.ID, recorded: lives{}, estimated: lives{}}
	own := u.own[e.Entry.ID]
	for name, c := range u.m.Counters {
		if p, ok := own[name]; ok {
			next.recorded[name], next.estimated[name] = p.life, p.life
		} else {
			q, beyond, ok := u.m.use(c, e.Done)
			if ok {
				next.estimated[name], next.beyond = q, next.beyond || beyond
			}
			if !ok || beyond {
				q, ok = c.recorded(e.Done)
			}
			if ok {
				next.recorded[name] = q
			}
		}
		if before, ok := u.now.recorded[name]; ok {
			if n, _ := before.Cmp(next.recorded[name]); n > 0 {
				next.recorded[name] = before
			}
		}
	}
	u.now = next
	return &u.now
}
