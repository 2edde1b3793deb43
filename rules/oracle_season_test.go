package rules_test

import (
	"cmp"
	"slices"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// stretchOfWork is a season as it stands on the day: the last thing said of each of its days.
type stretchOfWork struct {
	name, work              string
	planned, opened, closed string
	farms                   []record.ID
}

func (s stretchOfWork) start() string { return cmp.Or(s.opened, s.planned) }

// seasons are those a machine takes part in: of one kind of work, or of any of its kind's; by their first day, then by name.
func (o *oracle) seasons(machine record.ID, work string) []stretchOfWork {
	var out []stretchOfWork
	for _, t := range o.told {
		s, ok := t.rec.(*record.Season)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, func(b stretchOfWork) bool { return b.name == s.Name })
		if i < 0 {
			i = len(out)
			out = append(out, stretchOfWork{name: s.Name})
		}
		n := &out[i]
		n.work, n.planned = cmp.Or(s.Work, n.work), cmp.Or(s.From, n.planned)
		if len(s.Farms) > 0 {
			n.farms = s.Farms
		}
		switch s.Act {
		case "open": // one that was closed is open again
			n.opened, n.closed = s.Done.Date(), ""
		case "close":
			n.closed = s.Done.Date()
		}
	}
	kinds := o.fit(machine).Work
	out = slices.DeleteFunc(out, func(s stretchOfWork) bool {
		mine := len(kinds) == 0 || slices.Contains(kinds, s.work)
		if work != "" {
			mine = s.work == work
		}
		return !mine || s.start() == "" || len(s.farms) > 0 && !slices.Contains(s.farms, o.farmOf(machine))
	})
	slices.SortStableFunc(out, func(a, b stretchOfWork) int {
		return cmp.Or(cmp.Compare(a.start(), b.start()), cmp.Compare(a.name, b.name))
	})
	return out
}

// elsewhere reports a season that, by what had been said of it up to an entry, was not for the farm where the machine then was.
func (o *oracle) elsewhere(machine, entry record.ID, name string) bool {
	until := *o
	until.told = o.told[:o.rank(entry)+1]
	var farms []record.ID
	for _, t := range until.told {
		if s, ok := t.rec.(*record.Season); ok && s.Name == name && len(s.Farms) > 0 {
			farms = s.Farms
		}
	}
	return len(farms) > 0 && !slices.Contains(farms, until.farmOf(machine))
}

// farmOf is the farm of the yard a machine was last put into.
func (o *oracle) farmOf(machine record.ID) record.ID {
	yard := record.ID("")
	for _, t := range o.told {
		switch r := t.rec.(type) {
		case *record.Machine:
			if t.id == machine {
				yard = r.Yard
			}
		case *record.Move:
			if r.Machine == machine {
				yard = r.Yard
			}
		}
	}
	for _, t := range o.told {
		if y, ok := t.rec.(*record.Yard); ok && t.id == yard {
			return y.Farm
		}
	}
	return ""
}

// ahead is the season that work before seasons is asked for (the one opened last that is not closed, else the next planned), and the one closed last.
func (c court) ahead(work string) (target, closed *stretchOfWork) {
	all := c.seasons(c.machine, work)
	for i := range all {
		if s := &all[i]; s.closed != "" && (closed == nil || s.closed >= closed.closed) {
			closed = s
		}
	}
	for i := range all {
		s := &all[i]
		if s.closed != "" || closed != nil && s.start() < closed.start() {
			continue
		}
		if s.opened != "" || target == nil {
			target = s
		}
	}
	return target, closed
}

// beforeSeason counts a doing since the last such season closed, else in the twelve months before. Where the job is asked for after the season too, only
// in the half of that time nearer to the new season (but never later than it is asked for), so that one doing does not answer both.
func (c court) beforeSeason(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	target, closed := c.ahead(t.Work)
	if target == nil {
		return nil
	}
	start := record.Done(target.start()).Day()
	from := start.AddDate(-1, 0, 0)
	if closed != nil {
		from = record.Done(closed.closed).Day()
	}
	if slices.ContainsFunc(job.When, func(o schedule.Trigger) bool { return o.Season == "after" && o.Work == t.Work }) {
		days := int(start.Sub(from).Hours() / 24)
		from = from.AddDate(0, 0, min(days/2, max(0, days-noticeDays(t, 365))))
	}
	last := c.lastDone(job.Name, p)
	if last != nil && !last.done.Day().Before(from) {
		return []ruling{{state: rules.Later, cause: rules.BySeason}}
	}
	if last == nil && target.opened != "" && c.added().Date() > target.opened {
		return []ruling{{state: rules.Unknown, cause: rules.BySeason}} // it came while the season was on
	}
	r := c.onDate(t, start, 365, rules.BySeason)
	if target.opened != "" && r.state != rules.DueNow {
		r.state = rules.Overdue
	}
	if target.opened == "" && r.state == rules.Overdue {
		r.state = rules.DueNow // planned for a day gone by, and not opened
	}
	return []ruling{r}
}

// afterSeason: due from the day the season closed, overdue 30 days later.
func (c court) afterSeason(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	_, closed := c.ahead(t.Work)
	if closed == nil || c.added().Date() > closed.closed {
		return nil
	}
	if last := c.lastDone(job.Name, p); last != nil && last.done.Date() >= closed.closed {
		return []ruling{{state: rules.Later, cause: rules.BySeason}}
	}
	r := c.onDate(t, record.Done(closed.closed).Day().AddDate(0, 0, 30), 365, rules.BySeason)
	if r.state != rules.Overdue {
		r.state = rules.DueNow
	}
	return []ruling{r}
}

// daysWorked are the days on which something is known to have been worked: an own counter grew by a reading or an addition, or work was written down with
// its crop, field or ground. What a counter moved before the last reading that came with a reset was booked on another day.
func (o *oracle) daysWorked(machine record.ID) []string {
	var out []string
	for _, t := range o.about(machine) {
		w := t.rec.(interface{ Base() *record.Work }).Base()
		if w.Crop != "" || w.Field != "" || w.Ground != "" {
			out = append(out, t.done.Date())
		}
	}
	for _, def := range o.fit(machine).Counters {
		acts := o.acts(machine, def.Name)
		if len(acts) == 0 {
			continue // derived: not its own
		}
		curve := o.curve(machine, def.Name)
		for i := 1; i < len(curve); i++ {
			a := actOf(acts, curve[i])
			if curve[i].life.Cmp(curve[i-1].life) > 0 && (a.Act == "at" || a.Act == "add") {
				out = append(out, a.done.Date())
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// actOf is the act that made a point.
func actOf(acts []act, m mark) act {
	for _, a := range acts {
		if a.entry == m.entry {
			return a
		}
	}
	return act{}
}
