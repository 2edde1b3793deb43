package rules_test

import (
	"math/big"
	"slices"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// ruling is what one trigger says of a job at a place: the point at which it comes due (a date, or a count of a counter) and by how much it is past it,
// in days or in the counter's unit.
type ruling struct {
	state, cause, severity string
	date                   string
	counter                string
	point, over, share     *big.Rat
}

// worst first.
var worstFirst = []string{rules.Overdue, rules.DueNow, rules.Open, rules.Coming, rules.Unknown, rules.Later}

// court judges one machine.
type court struct {
	*chronicle
	*oracle
}

// court judges what is due on one machine.
func (o *oracle) court(w *world, machine record.ID) court { return court{o.chronicle(w, machine), o} }

// rule takes a job's triggers together at a place: the worst state, then what is over by the greatest share of its interval, then the first written.
func (c court) rule(job *schedule.Job, p record.Position) (ruling, bool) {
	if !c.hold(job.Only, p) {
		return ruling{}, false
	}
	if d := c.lastDone(job.Name, p); d != nil && d.outcome == "fail" {
		return ruling{state: rules.Open, cause: rules.ByFault, severity: job.Fails, date: d.done.Date()}, true
	}
	stored := c.isStored()
	var all []ruling
	for i := range job.When {
		t := &job.When[i]
		asksOfStorage := slices.ContainsFunc(t.While, func(o schedule.Only) bool { return o.State == "stored" })
		if stored && t.Stored != "run" && !asksOfStorage || !c.hold(t.While, p) {
			continue
		}
		all = append(all, c.one(job, p, t)...)
	}
	if !stored {
		all = append(all, c.askedFor(job, p)...)
	}
	if len(all) == 0 {
		return ruling{}, false
	}
	best := all[0]
	for _, r := range all[1:] {
		a, b := slices.Index(worstFirst, r.state), slices.Index(worstFirst, best.state)
		if a < b || a == b && shareOf(r).Cmp(shareOf(best)) > 0 {
			best = r
		}
	}
	return best, true
}

func shareOf(r ruling) *big.Rat {
	if r.share == nil {
		return new(big.Rat)
	}
	return r.share
}

func (c court) isStored() bool {
	s := c.stored(c.machine)
	return len(s) > 0 && s[len(s)-1].to > minutesOf(c.now())
}

func (c court) one(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	switch {
	case t.Made != "":
		return c.byMake(job, p, t)
	case len(t.Every) > 0:
		return c.byInterval(job, p, t)
	case t.Worked > 0:
		return c.byDaysWorked(job, p, t)
	case t.Idle > 0:
		return c.byIdleness(job, p, t)
	case t.Season == "before":
		return c.beforeSeason(job, p, t)
	case t.Season == "after":
		return c.afterSeason(job, p, t)
	case t.After != "":
		return c.byEvent(job, p, t)
	case t.Past != "":
		return c.byLimit(job, p, t)
	case t.Until != "":
		return c.byPaper(job, p, t)
	}
	return nil
}

// lastDone is the last time a job was really done at a place.
func (c court) lastDone(job string, p record.Position) *doing {
	for _, d := range slices.Backward(c.at(job, p)) {
		if !d.skipped {
			return &d
		}
	}
	return nil
}

// at are the doings of a job at a place; those of the machine as a whole count everywhere.
func (c court) at(job string, p record.Position) []doing {
	here := slices.Clone(c.doings[job+" "+p.String()])
	if p.Noun != "" {
		here = append(here, c.doings[job+" "]...)
		slices.SortStableFunc(here, func(a, b doing) int { return c.rank(a.entry) - c.rank(b.entry) })
	}
	return here
}

// hold reports whether all conditions hold at a place on the day.
func (c court) hold(all []schedule.Only, p record.Position) bool {
	for _, o := range all {
		ok := false
		switch {
		case o.Setting != "":
			v := c.setting(c.machine, o.Setting, p)
			ok = v != nil && !v.unknown && slices.Contains(o.Is, v.value.String())
		case o.State == "stored":
			ok = c.isStored()
		case o.State == "unfit":
			ok = c.isUnfit()
		case o.Ground != "":
			ok = c.lastWord(func(w *record.Work) string { return w.Ground }) == o.Ground
		case o.Crop != "":
			ok = c.lastWord(func(w *record.Work) string { return w.Crop }) == o.Crop
		case o.Reading != "":
			ok = c.gradedSo(o, p)
		case len(o.Any) > 0:
			ok = slices.ContainsFunc(o.Any, func(one schedule.Only) bool { return c.hold([]schedule.Only{one}, p) })
		}
		if !ok {
			return false
		}
	}
	return true
}

// lastWord is the last word said of where and in what the machine worked.
func (c court) lastWord(of func(*record.Work) string) string {
	word := ""
	for _, t := range c.about(c.machine) {
		if w := of(t.rec.(interface{ Base() *record.Work }).Base()); w != "" {
			word = w
		}
	}
	return word
}

// factor multiplies the factors whose conditions hold.
func (c court) factorOf(t *schedule.Trigger, p record.Position) *big.Rat {
	by := ratInt(1)
	for _, f := range t.Factors {
		if c.hold(f.While, p) {
			by = timesRat(by, f.By)
		}
	}
	return by
}
