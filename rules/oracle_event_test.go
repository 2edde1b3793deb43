package rules_test

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// concerns reports whether what happened is about a place: it names it, or is about the machine, or the job is, or it names places of other nouns only.
func (h happening) concerns(p record.Position) bool {
	if h.at.IsZero() || p.Noun == "" || h.at.Has(p) {
		return true
	}
	return !slices.ContainsFunc(h.at.All(), func(q record.Position) bool { return q.Noun == p.Noun })
}

// latest is the last thing of a kind that happened at a place.
func (c court) latest(kind string, p record.Position) *happening {
	for _, h := range slices.Backward(c.events) {
		if h.kind == kind && h.concerns(p) {
			return &h
		}
	}
	return nil
}

// doingsAfter are the doings of a job at a place later than an event in order of effect, and what the very entry of the event says of it. On one day where
// either has no time the job counts as done after; a machine taken as good was so before the work of the day, whatever the times.
func (c court) doingsAfter(job string, p record.Position, h *happening) []doing {
	var out []doing
	for _, d := range c.at(job, p) {
		later := c.rank(d.entry) >= c.rank(h.entry)
		if d.done.Date() == h.done.Date() {
			later = !d.assumed && (later || len(d.done) == 10 || len(h.done) == 10)
		}
		if !d.skipped && later {
			out = append(out, d)
		}
	}
	return out
}

// rank is an entry's place in the order of effect.
func (o *oracle) rank(id record.ID) int {
	return slices.IndexFunc(o.told, func(t told) bool { return t.id == id })
}

// byEvent: at once after an event; or at each step of a series, each once; then every so much until a result; then every so much.
func (c court) byEvent(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	kind := t.After
	if kind == "loosened" {
		kind += ":" + job.Name
	}
	if t.Work != "" && !strings.Contains(kind, ":") {
		kind += ":" + t.Work
	}
	if len(t.Series) == 0 && t.Then == nil && t.Finally == nil {
		return c.atOnce(job, p, t, kind)
	}
	h := c.latest(kind, p)
	if h == nil {
		return c.foundMoved(job, p, t)
	}
	by := c.factorOf(t, p)
	done := c.doingsAfter(job.Name, p, h)
	steps, answering := t.Series, -1
	start := *h // what the steps count from
	for i, d := range done {
		if len(steps) > 0 && len(steps) == len(t.Series) && !c.hasCount(start.done, start.entry, steps[0]) && c.hasCount(d.done, d.entry, steps[0]) {
			start.done, start.entry, steps, answering = d.done, d.entry, steps[1:], i
		}
		for len(steps) > 0 && c.answersStep(t, &start, d, steps[0], by) {
			steps, answering = steps[1:], i
		}
	}
	if len(steps) > 0 {
		r := c.fromThen(t, start.done, start.entry, steps[0], by)
		if r.state == rules.Unknown && len(done) == 0 && !steps[0].Calendar() && len(c.curve(c.machine, steps[0].Counter)) > 0 {
			r.state = rules.DueNow
		}
		return []ruling{r}
	}
	// what repeats counts from the last doing, or from the event where nothing was asked for before it
	from, entry, ended := h.done, h.entry, false
	if n := len(done); n > 0 && (answering >= 0 || len(t.Series) == 0) {
		from, entry = done[n-1].done, done[n-1].entry
		ended = t.UntilResult != "" && c.foundEverywhere(job, p, h, t.UntilResult)
	}
	switch {
	case t.Then != nil && !ended:
		return []ruling{c.fromThen(t, from, entry, *t.Then, by)}
	case t.Finally != nil:
		return []ruling{c.fromThen(t, from, entry, *t.Finally, by)}
	}
	return []ruling{{state: rules.Later, cause: rules.ByFollowOn}}
}

// foundMoved: nothing was loosened, but the job's last doing there found that it had moved: it is repeated as after a series, until it has not.
func (c court) foundMoved(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	moved, repeats := strings.CutPrefix(t.UntilResult, "none-")
	d := c.lastDone(job.Name, p)
	if !repeats || t.Then == nil || d == nil || d.result != moved {
		return nil
	}
	return []ruling{c.fromThen(t, d.done, d.entry, *t.Then, c.factorOf(t, p))}
}

// hasCount reports an entry whose count of a step's counter is known; steps in days want none.
func (c court) hasCount(done record.Done, entry record.ID, iv schedule.Interval) bool {
	return iv.Calendar() || c.countThen(c.curve(c.machine, iv.Counter), done, entry) != nil
}

// atOnce: due on the day of the event, until the job is done after it.
func (c court) atOnce(job *schedule.Job, p record.Position, t *schedule.Trigger, kind string) []ruling {
	h := c.latest(kind, p)
	if h == nil {
		return nil
	}
	if len(c.doingsAfter(job.Name, p, h)) > 0 {
		return []ruling{{state: rules.Later, cause: rules.ByFollowOn}}
	}
	return []ruling{c.onDate(t, h.done.Day(), 1, rules.ByFollowOn)}
}

// answersStep: done at the step, or as much before it as the trigger's notice allows.
func (c court) answersStep(t *schedule.Trigger, h *happening, d doing, iv schedule.Interval, by *big.Rat) bool {
	if iv.Calendar() {
		span := stretched(iv.Amount, by)
		left := after(h.done.Day(), span).Sub(d.done.Day()).Hours() / 24
		return left <= float64(noticeDays(t, about(span)))
	}
	curve := c.curve(c.machine, iv.Counter)
	if len(curve) == 0 {
		return false
	}
	start := c.countThen(curve, h.done, h.entry)
	if start == nil {
		start = curve[0].life // the event was before the counter was first read
	}
	then, amount := c.countThen(curve, d.done, d.entry), c.amountOn(iv, by)
	return then != nil && then.Cmp(minusRat(plusRat(start, amount), c.noticeOf(t, iv.Counter, amount))) >= 0
}

// countThen is a counter at an entry: its own reading, else the use at that moment; nil before the first reading.
func (c court) countThen(curve []mark, done record.Done, entry record.ID) *big.Rat {
	if m := ownMark(curve, entry); m != nil {
		return m.life
	}
	life, _, ok := c.useAt(c.machine, curve, done)
	if !ok {
		return nil
	}
	return life
}

// fromThen judges an interval from an event or a doing; from one before the first reading it is certain only once that much has passed since that.
func (c court) fromThen(t *schedule.Trigger, done record.Done, entry record.ID, iv schedule.Interval, by *big.Rat) ruling {
	if iv.Calendar() {
		span := stretched(iv.Amount, by)
		return c.onDate(t, after(done.Day(), span), about(span), rules.ByFollowOn)
	}
	curve := c.curve(c.machine, iv.Counter)
	if len(curve) == 0 {
		return ruling{state: rules.Unknown, cause: rules.ByFollowOn}
	}
	amount, start := c.amountOn(iv, by), c.countThen(curve, done, entry)
	sure := start != nil
	if !sure {
		start = curve[0].life
	}
	r := c.onCount(t, iv.Counter, curve, plusRat(start, amount), amount)
	r.cause = rules.ByFollowOn
	if !sure && r.state != rules.Overdue {
		return ruling{state: rules.Unknown, cause: rules.ByFollowOn}
	}
	return r
}

// foundEverywhere reports whether the last doings after an event, at all the places it was about, had a result; "none-moved" is that none had "moved".
func (c court) foundEverywhere(job *schedule.Job, p record.Position, h *happening, result string) bool {
	not, negative := strings.CutPrefix(result, "none-")
	for _, q := range c.working(job) {
		if q != p && (p.Noun == "" || !h.concerns(q)) {
			continue
		}
		done := c.doingsAfter(job.Name, q, h)
		if len(done) == 0 {
			return false
		}
		if got := done[len(done)-1].result; got != result && (!negative || got == not) {
			return false
		}
	}
	return true
}

// working are the places of a job that are in use.
func (c court) working(job *schedule.Job) []record.Position {
	return slices.DeleteFunc(c.places(c.machine, job), func(p record.Position) bool { return p.Noun != "" && c.w.outOfUse(c.machine, p) })
}

// askedFor is what other jobs ask for at once: the next ones of a chain, and a torque job that says nothing itself of being loosened.
func (c court) askedFor(job *schedule.Job, p record.Position) []ruling {
	var all []ruling
	none := &schedule.Trigger{}
	for _, by := range c.f.Jobs {
		if slices.Contains(by.Next, job.Name) {
			all = append(all, c.atOnce(job, p, none, "did:"+by.Name)...)
		}
	}
	if !slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return strings.HasPrefix(t.After, "loosened") }) {
		all = append(all, c.atOnce(job, p, none, "loosened:"+job.Name)...)
	}
	return all
}
