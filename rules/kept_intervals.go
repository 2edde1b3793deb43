package rules

import (
	"cmp"
	"math/big"
	"sort"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// mark is one point of an interval: a count, or a date.
type mark struct {
	due
	c       *Counter          // nil: a date
	at      quantity.Quantity // of a counter, all its use so far
	amount  quantity.Quantity
	grace   quantity.Quantity // notice on a counter
	date    string            // the day it came
	wait    string            // the day it could be asked for: later than date where it came in storage
	notice  int               // days
	certain bool              // false of the first point after the book's beginning, where what was done before is not known
}

// intervals walks the every-so-often of a job: whichever comes first, counted from each doing.
func (w *keptWalk) intervals(all []due) {
	var base *Doing
	next := 0
	for range mostPoints {
		at, ok := w.first(all, base)
		if !ok {
			if next >= len(w.did) {
				return
			}
			base, next = w.did[next], next+1
			continue
		}
		var answer *Doing
		if next < len(w.did) {
			answer = w.did[next]
		}
		base, next = w.settle(at, base, answer, next)
		if base == nil {
			return
		}
	}
}

// settle judges points of one interval until a doing answers or is past them; it gives that doing, which the next points count from, nil at the end.
func (w *keptWalk) settle(at mark, base, answer *Doing, next int) (*Doing, int) {
	since := w.m.Added.Date()
	var rests []ID
	if base != nil {
		since, rests = base.Done.Date(), []ID{base.Entry}
	}
	for range mostPoints {
		if at.date != "" && at.date <= w.until && at.wait != at.date && (answer == nil || answer.Done.Date() > at.date) {
			w.waited++
		}
		if at.wait == "" || at.wait > w.until || at.date > w.until {
			break // not reached by any reading, or still in storage
		}
		after, reached := w.nextMark(at)
		if answer != nil {
			over, order := w.against(at, answer)
			switch {
			case order < 0: // early: it starts anew
				return answer, next + 1
			case answer.Assumed, !at.certain && order == 0:
				return answer, next + 1 // taken as given; or done within the first interval the book knows, by what was done before perhaps on time
			case order == 0:
				w.add(KeptOnTime, ByInterval, at.amountOf(), at.date, answer, over, since, rests...)
				return answer, next + 1
			case !reached || w.before(answer, after):
				w.add(KeptLate, ByInterval, at.amountOf(), at.date, answer, over, since, rests...)
				return answer, next + 1
			}
		}
		if !reached || after.wait > w.until || after.date > w.until {
			if answer != nil {
				over, _ := w.against(at, answer)
				w.add(KeptLate, ByInterval, at.amountOf(), at.date, answer, over, since, rests...)
			} else {
				w.add(KeptOpen, ByInterval, at.amountOf(), at.date, nil, w.overNow(at), since, rests...)
			}
			break
		}
		w.add(KeptMissed, ByInterval, at.amountOf(), at.date, nil, Amount{}, since, rests...)
		at = after
	}
	if answer == nil {
		return nil, next
	}
	return answer, next + 1
}

func (m mark) amountOf() Amount {
	if m.c == nil {
		return Amount{Date: m.date}
	}
	return Amount{Counter: m.c.Name, Value: m.at}
}

// first is the point that comes first after a doing, or after the book's beginning.
func (w *keptWalk) first(all []due, base *Doing) (mark, bool) {
	var best mark
	found := false
	for _, d := range all {
		var m mark
		var ok bool
		if d.iv.Calendar() {
			m, ok = w.dateMark(d, base)
		} else {
			m, ok = w.countMark(d, base)
		}
		if ok && (!found || cmp.Or(b2i(m.date == "")-b2i(best.date == ""), cmp.Compare(m.date, best.date)) < 0) {
			best, found = m, true
		}
	}
	return best, found
}

func (w *keptWalk) dateMark(d due, base *Doing) (mark, bool) {
	iv, from, certain := d.iv, w.m.Added.Day(), true
	if base != nil {
		from = base.Done.Day()
	} else {
		iv, certain = d.first, w.j.isNew(w.job, w.p)
	}
	m := mark{due: d, amount: iv.Amount, date: dateOf(laterBy(from, iv.Amount)), notice: w.j.noticeFor(d.t, spanDays(iv.Amount)), certain: certain}
	m.wait = w.outOfStorage(d.t, m.date)
	return m, true
}

func (w *keptWalk) countMark(d due, base *Doing) (mark, bool) {
	c := w.m.Counters[d.iv.Counter]
	if c == nil || !c.Known || len(c.Points) == 0 {
		w.note(d.iv.Counter + " never read: what is due by it is not judged")
		return mark{}, false
	}
	iv := d.iv
	m := mark{due: d, c: c, certain: true}
	start := quantity.Whole(0, c.Unit)
	switch {
	case base != nil:
		life, ok := w.lifeOf(c, base)
		if !ok {
			w.note("done on " + base.Done.Date() + " at a count of " + c.Name + " that is not known: what follows is judged from the next time on")
			return mark{}, false
		}
		start = life
	default:
		iv = d.first
		if !isNewOn(c, onCounter(c, iv.Amount)) {
			start, m.certain = c.Points[0].Life, false
		}
	}
	m.amount = onCounter(c, iv.Amount)
	if m.amount.Sign() <= 0 {
		return mark{}, false
	}
	m.grace = w.j.notice(d.t, c.Name, m.amount)
	m.at = plus(start, m.amount)
	if d.t.Grid {
		n := new(big.Rat).Add(start.Rat(), m.grace.Rat())
		m.at = onGrid(c, m.amount, floor(n.Quo(n, m.amount.Rat()))+1)
	}
	m.date = w.reachedOn(c, m.at)
	m.wait = w.outOfStorage(d.t, m.date)
	return m, true
}

// nextMark is the point a whole interval on, and whether it came by the end.
func (w *keptWalk) nextMark(m mark) (mark, bool) {
	n := m
	n.certain = true
	n.amount = m.iv.Amount
	if m.c == nil {
		n.date = dateOf(laterBy(calendarDay(m.date), n.amount))
	} else {
		n.amount = onCounter(m.c, n.amount)
		n.at = plus(m.at, n.amount)
		n.date = w.reachedOn(m.c, n.at)
	}
	n.wait = w.outOfStorage(m.t, n.date)
	return n, n.date != "" && n.date > m.date
}

// against compares a doing with a point: order is below 0 where it was too early to answer it, 0 on time, above 0 late; over is how much past it.
func (w *keptWalk) against(m mark, d *Doing) (over Amount, order int) {
	if m.c != nil {
		if life, ok := w.lifeOf(m.c, d); ok {
			x := minus(life, m.at)
			over = Amount{Counter: m.c.Name, Value: x, Estimated: d.Estimated}
			switch {
			case new(big.Rat).Neg(x.Rat()).Cmp(m.grace.Rat()) > 0:
				return over, -1
			case x.Rat().Cmp(m.grace.Rat()) <= 0:
				return over, 0
			}
			return over, 1
		}
	}
	n := daysBetween(calendarDay(m.wait), d.Done.Day())
	if daysBetween(calendarDay(m.date), d.Done.Day()) < -m.notice {
		return inDays(n), -1
	}
	return inDays(n), b2i(n > m.notice)
}

// before reports a doing before a point.
func (w *keptWalk) before(d *Doing, m mark) bool {
	if m.c != nil {
		if life, ok := w.lifeOf(m.c, d); ok {
			return life.Rat().Cmp(m.at.Rat()) < 0
		}
	}
	return d.Done.Date() < m.date
}

// overNow is how much an open point is past by the end.
func (w *keptWalk) overNow(m mark) Amount {
	if m.c == nil {
		return inDays(daysBetween(calendarDay(m.wait), calendarDay(w.until)))
	}
	life, _ := m.c.recorded(record.Done(w.until))
	return Amount{Counter: m.c.Name, Value: minus(life, m.at)}
}

// lifeOf is a counter's use at a doing.
func (w *keptWalk) lifeOf(c *Counter, d *Doing) (quantity.Quantity, bool) {
	life, ok := w.j.lifeAt(origin{done: d.Done, counters: d.Counters}, c.Name)
	if !ok {
		return life, false
	}
	return onCounter(c, life), true
}

// reachedOn is the day on which a counter's readings, and the lines between them, came to a count; "" where they have not.
func (k *keeper) reachedOn(c *Counter, at quantity.Quantity) string {
	key := c.Name + " " + at.String()
	if day, ok := k.crossed[key]; ok {
		return day
	}
	want, day := at.Rat(), ""
	i := sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Life.Rat().Cmp(want) >= 0 })
	switch {
	case i == len(c.Points):
	case i == 0:
		day = c.Points[0].Done.Date()
	default:
		from := c.Points[i-1].Done.Day()
		n := daysBetween(from, c.Points[i].Done.Day())
		n = sort.Search(n, func(n int) bool {
			life, _ := c.recorded(record.Done(dateOf(from.AddDate(0, 0, n))))
			return life.Rat().Cmp(want) >= 0
		})
		day = dateOf(from.AddDate(0, 0, n))
	}
	k.crossed[key] = day
	return day
}

// outOfStorage is the day on which a point of a trigger could be asked for; "" where it could not yet.
func (k *keeper) outOfStorage(t *schedule.Trigger, day string) string {
	if t != nil && t.Stored == "run" {
		return day
	}
	for _, s := range k.m.Storage {
		if day > s.From.Date() && (s.To == "" || day < s.To.Date()) {
			return s.To.Date()
		}
	}
	return day
}
