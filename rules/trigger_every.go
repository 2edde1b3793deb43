package rules

import (
	"math"
	"math/big"
	"slices"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

const (
	neverDone  = "never recorded done; take it as good with `shedbook assume`, or record it"
	neverBrief = "never recorded"
	// CountNotKnown is the Brief of what was done at a count that nobody knows.
	CountNotKnown = "count then not known"
)

// every judges intervals: each counts from the last time done, or on a fixed grid from the counter's zero, and whichever comes first rules.
//
// A job never recorded counts from zero on a machine that came to the book before the job first came due. On an older machine nobody can know, until one
// whole interval has passed since the book knows the machine: then it is overdue whatever was done before.
func (j *judge) every(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	by, because := j.factor(t, p)
	last := j.last(job, p)
	intervals := t.Every
	if last == nil && len(t.First) > 0 {
		intervals = t.First
	}
	var all []verdict
	for _, iv := range intervals {
		amount := scaled(iv.Amount, by)
		how := "every " + iv.String() + because
		if last == nil && len(t.First) > 0 {
			how = "first at " + iv.String() + because
		}
		if iv.Calendar() {
			all = append(all, j.everySpan(job, p, t, amount, how))
		} else {
			all = append(all, j.everyUse(job, p, t, iv.Counter, amount, how))
		}
	}
	return all
}

// everyUse judges one interval of a counter.
func (j *judge) everyUse(job *schedule.Job, p record.Position, t *schedule.Trigger, counter string, amount quantity.Quantity, how string) verdict {
	c := j.m.Counters[counter]
	if c == nil || !c.Known {
		return j.unread(counter, how)
	}
	amount = onCounter(c, amount)
	start := j.start(job, p, t, c)
	switch {
	case start.known && t.Grid:
		// a doing a little early counts for the point of the grid it was meant for
		n := new(big.Rat).Quo(new(big.Rat).Add(start.life.Rat(), j.notice(t, counter, amount).Rat()), amount.Rat())
		return j.reach(c, t, onGrid(c, amount, floor(n)+1), amount, start.text+", "+how+" of the counter", start.entries)
	case start.known:
		return j.reach(c, t, plus(start.life, amount), amount, start.text+", "+how, start.entries)
	case start.text != "":
		// done, but at a count nobody knows: certain only when a whole interval has passed since the counter's first known point
		due := plus(c.Points[0].Life, amount)
		if v := j.reach(c, t, due, amount, start.text+", "+how, start.entries); v.state == Overdue {
			return v
		}
		return verdict{state: Unknown, cause: ByInterval, entries: start.entries, brief: CountNotKnown,
			why: start.text + " at a count of " + counter + " that is not known, " + how + ": record it the next time it is done"}
	case isNewOn(c, amount):
		return j.reach(c, t, amount, amount, "never done, "+how, nil)
	}
	known := c.Points[0].Life
	due := plus(known, amount)
	if t.Grid {
		due = onGrid(c, amount, floor(new(big.Rat).Quo(known.Rat(), amount.Rat()))+1)
	}
	v := j.reach(c, t, due, amount, "never recorded done since the book knows the machine ("+c.say(known)+" on "+c.Points[0].Done.Date()+"), "+how, nil)
	if v.state == Overdue {
		return v
	}
	return verdict{state: Unknown, cause: ByInterval, brief: neverBrief, why: neverDone + " (" + how + ")", entries: []ID{c.Points[0].Entry}}
}

// everySpan judges one interval of calendar time.
func (j *judge) everySpan(job *schedule.Job, p record.Position, t *schedule.Trigger, amount quantity.Quantity, how string) verdict {
	last := j.last(job, p)
	added := j.m.Added.Day()
	if last != nil {
		return j.reachDate(t, laterBy(last.Done.Day(), amount), spanDays(amount), ByInterval, doneWords(last, "")+", "+how, []ID{last.Entry})
	}
	v := j.reachDate(t, laterBy(added, amount), spanDays(amount), ByInterval,
		"never recorded done since the book knows the machine ("+dateOf(added)+"), "+how, []ID{j.m.ID})
	if v.state == Overdue || j.isNew(job, p) {
		return v
	}
	return verdict{state: Unknown, cause: ByInterval, brief: neverBrief, why: neverDone + " (" + how + ")", entries: []ID{j.m.ID}}
}

// gridDate is the first point of a fixed grid of dates that the last doing does not answer. One done a little early, within the notice, counts for the
// point it was meant for.
func (j *judge) gridDate(from time.Time, span quantity.Quantity, t *schedule.Trigger, last *Doing) time.Time {
	due, notice := laterBy(from, span), j.noticeFor(t, spanDays(span))
	for k := int64(2); last != nil && daysBetween(last.Done.Day(), due) <= notice; k++ {
		due = laterBy(from, span.Mul(big.NewRat(k, 1), 6))
	}
	return due
}

// starting is where an interval of a counter begins.
type starting struct {
	known   bool
	life    quantity.Quantity // on the machine's counter
	text    string            // "last done 2026-04-01 at 812 ac"; "" where it was never done
	entries []ID
}

// start is the count at the last doing. Where the job replaces a part whose life is known the interval goes with the part, not with the place; but a grid
// is the counter's, whatever is on the part.
func (j *judge) start(job *schedule.Job, p record.Position, t *schedule.Trigger, c *Counter) starting {
	last := j.last(job, p)
	if s, ok := j.partStart(job, p, c, last); ok && !t.Grid {
		return s
	}
	if last == nil {
		return starting{}
	}
	life, ok := last.Counters[c.Name]
	if !ok {
		if life, ok = j.m.UseAt(c.Name, last.Done); !ok {
			return starting{text: doneWords(last, ""), entries: []ID{last.Entry}}
		}
	}
	life = onCounter(c, life)
	return starting{known: true, life: life, text: doneWords(last, c.say(life)), entries: []ID{last.Entry}}
}

// partStart begins at the part's own zero: its use so far back from the count now. Of two hands the one that has run longer rules; where the use of one
// of them is not known, the interval goes by the last doing.
func (j *judge) partStart(job *schedule.Job, p record.Position, c *Counter, last *Doing) (starting, bool) {
	var found starting
	for _, s := range j.slots(job.Swaps, p) {
		if s.Part == nil || s.Unknown || s.Disputed || s.Part.Disputed || last != nil && (j.afterSlot(last, s) || last.refilled(s)) {
			return starting{}, false
		}
		use, ok := s.Part.Use[c.Name]
		if !ok {
			return starting{}, false
		}
		use = onCounter(c, use)
		life := minus(c.Life, use)
		if less, err := life.Cmp(found.life); found.known && (err != nil || less >= 0) {
			continue
		}
		found = starting{known: true, life: life, entries: s.Part.Reason.Entries,
			text: "the " + job.Swaps + " there" + fitted(s.Part) + " has " + c.say(plus(use, minus(c.Estimate, c.Life))) + " on it"}
	}
	return found, found.known
}

func fitted(p *Part) string {
	switch {
	case p.In == "":
		return ""
	case p.Assumed:
		return ", fitted " + p.In.Date() + ", its use taken as given,"
	}
	return ", fitted " + p.In.Date() + ","
}

// afterSlot reports a doing later than what last filled the slot.
func (j *judge) afterSlot(d *Doing, s *Slot) bool {
	n := len(s.Reason.Entries)
	return s.Since == "" || n > 0 && j.earlier(s.Since, s.Reason.Entries[n-1], d.Done, d.Entry)
}

// refilled reports a doing that put into a slot what sits there, a fluid: the doing itself is the start.
func (d *Doing) refilled(s *Slot) bool {
	return d.Via != "swap" && slices.Contains(s.Reason.Entries, d.Entry)
}

// slots are where a part sits at a place, one for each hand it has; none for an assembly.
func (j *judge) slots(part string, p record.Position) []*Slot {
	def, ok := j.m.Fitted.Part(part)
	if !ok {
		return nil
	}
	var found []*Slot
	for _, hand := range j.hands(p.Noun) {
		if s := j.m.Slots[part][SlotName(seat(def, p), hand)]; s != nil {
			found = append(found, s)
		}
	}
	return found
}

// hands are the slots of one place: that of a single thing, then those of two like ones.
func (j *judge) hands(noun string) []string {
	if place, _, ok := j.m.Fitted.Noun(noun); ok && len(place.Hands) > 0 {
		return append([]string{""}, place.Hands...)
	}
	return []string{""}
}

// doneWords is "last done 2026-04-01 at 812 ac", without the count where it is "".
func doneWords(d *Doing, life string) string {
	s := "last done " + d.Done.Date()
	if d.Assumed {
		s = "taken as done on " + d.Done.Date()
	}
	if life != "" {
		s += " at "
		if d.Estimated {
			s += "about "
		}
		s += life
	}
	return s
}

// unread is what can be said where a counter, or the one it is worked out from, was never read.
func (j *judge) unread(counter, how string) verdict {
	what := counter
	if def, ok := j.m.Fitted.Counter(counter); ok && def.Derive != nil && def.Derive.From != "" {
		what = def.Derive.From
	}
	return verdict{state: Unknown, cause: ByInterval, unread: what, brief: what + " never read", why: what + " never read (" + how + "): read the counter and record it"}
}

// isNewOn reports a counter that the book knows since before the first time the interval ran out.
func isNewOn(c *Counter, amount quantity.Quantity) bool {
	if c.Trip || len(c.Points) == 0 || c.Points[0].Act == "reset" || c.Points[0].Act == "replaced" {
		return false
	}
	less, err := c.Points[0].Life.Cmp(amount)
	return err == nil && less < 0
}

// isNew reports a machine that came to the book before a job never done first came due on a counter, by whichever of its triggers: then its calendar
// time counts from that day.
func (j *judge) isNew(job *schedule.Job, p record.Position) bool {
	for i := range job.When {
		t := &job.When[i]
		intervals := t.Every
		if len(t.First) > 0 {
			intervals = t.First
		}
		by, _ := j.factor(t, p)
		for _, iv := range intervals {
			if c := j.m.Counters[iv.Counter]; t.Made == "" && !iv.Calendar() && c != nil && c.Known && isNewOn(c, onCounter(c, scaled(iv.Amount, by))) {
				return true
			}
		}
	}
	return false
}

// reach judges a point on a counter.
func (j *judge) reach(c *Counter, t *schedule.Trigger, due, amount quantity.Quantity, why string, entries []ID) verdict {
	over := minus(c.Estimate, due)
	v := verdict{cause: ByInterval, due: Amount{Counter: c.Name, Value: due}, over: Amount{Counter: c.Name, Value: over, Estimated: c.Estimated}, entries: entries}
	if amount.Sign() > 0 {
		v.share = new(big.Rat).Quo(over.Rat(), amount.Rat())
	}
	if n := len(c.Points); n > 0 {
		v.entries = append(append([]ID(nil), entries...), c.Points[n-1].Entry)
	}
	switch {
	case over.Sign() > 0:
		v.state = Overdue
	case over.Sign() == 0:
		v.state = DueNow
	case over.Neg().Rat().Cmp(j.soonUse(c, t, amount).Rat()) <= 0:
		v.state = Coming
	default:
		v.state = Later
	}
	v.why = why + ": due at " + c.say(due) + ", now " + c.now()
	if c.PerDay != nil && c.PerDay.PerDay > 0 && over.Sign() < 0 {
		if n := math.Ceil(-over.Float64() / c.PerDay.PerDay); n < 3650 {
			v.expected = dateOf(j.on.AddDate(0, 0, int(n)))
		}
	}
	return v
}

// say is an amount on the counter in words: to a tenth where it is worked out from another counter, for more would say more than is known.
func (c *Counter) say(q quantity.Quantity) string {
	if c.Derived {
		if r, err := q.In(q.Unit(), 1); err == nil {
			q = r
		}
	}
	return q.String()
}

// now is the counter's use so far in words.
func (c *Counter) now() string {
	if !c.Estimated {
		return c.say(c.Estimate)
	}
	return "about " + c.say(c.Estimate) + " (estimated: last read " + c.ReadOn + ")"
}

// reachDate judges a day; length is the whole span in days.
func (j *judge) reachDate(t *schedule.Trigger, due time.Time, length int, cause, why string, entries []ID) verdict {
	over := daysBetween(due, j.on)
	v := verdict{cause: cause, due: Amount{Date: dateOf(due)}, over: inDays(over), entries: entries, share: big.NewRat(int64(over), int64(max(length, 1)))}
	soon := j.f.Within
	if soon == 0 {
		soon = j.noticeFor(t, length)
	}
	switch {
	case over > 0:
		v.state = Overdue
	case over == 0:
		v.state = DueNow
	case -over <= soon:
		v.state = Coming
	default:
		v.state = Later
	}
	v.why = why + ": due on " + v.due.Date
	return v
}

// soonUse is how much before its point work counts as coming: the days asked for at the recent rate of use, else the trigger's own notice.
func (j *judge) soonUse(c *Counter, t *schedule.Trigger, amount quantity.Quantity) quantity.Quantity {
	if j.f.Within > 0 && c.PerDay != nil {
		return atRate(c, j.f.Within)
	}
	if t != nil && t.Soon != nil && t.Soon.Calendar() && c.PerDay != nil {
		return atRate(c, spanDays(t.Soon.Amount))
	}
	return j.notice(t, c.Name, amount)
}

// atRate is the use of so many days at the recent rate.
func atRate(c *Counter, days int) quantity.Quantity {
	r := new(big.Rat)
	if r.SetFloat64(c.PerDay.PerDay) == nil {
		return quantity.Whole(0, c.Unit)
	}
	q, err := quantity.FromRat(r.Mul(r, big.NewRat(int64(days), 1)), c.Unit, 1)
	if err != nil {
		return quantity.Whole(0, c.Unit)
	}
	return q
}

// notice is the trigger's own notice on a counter: as it says, else a tenth of the interval.
func (j *judge) notice(t *schedule.Trigger, counter string, amount quantity.Quantity) quantity.Quantity {
	if t != nil && t.Soon != nil && t.Soon.Counter == counter {
		return onCounter(j.m.Counters[counter], t.Soon.Amount)
	}
	return amount.Mul(big.NewRat(1, 10), 6)
}

// noticeFor is the trigger's own notice in days: as it says, else 14 days, and no more than a tenth of the interval.
func (j *judge) noticeFor(t *schedule.Trigger, length int) int {
	if t != nil && t.Soon != nil && t.Soon.Calendar() {
		return spanDays(t.Soon.Amount)
	}
	return min(14, length/10)
}

// onCounter is an amount in the counter's unit.
func onCounter(c *Counter, q quantity.Quantity) quantity.Quantity {
	if x, err := q.Exact(c.Unit); err == nil {
		return x
	}
	x, err := q.In(c.Unit, 3)
	if err != nil {
		return quantity.Whole(0, c.Unit) // the schedule's check has refused such an interval
	}
	return x
}

func onGrid(c *Counter, amount quantity.Quantity, n int64) quantity.Quantity {
	return onCounter(c, amount.Mul(big.NewRat(n, 1), 6))
}

func floor(r *big.Rat) int64 {
	q, _ := new(big.Int).DivMod(r.Num(), r.Denom(), new(big.Int))
	return q.Int64()
}
