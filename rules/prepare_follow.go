package rules

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// listedWork is what the list holds already: machine and job -> its places; the empty set for the machine.
type listedWork map[string]record.Positions

func listedKey(machine ID, job string) string { return string(machine) + "\x00" + job }

// add notes an item, and the smaller jobs that are done with it.
func (l listedWork) add(j *judge, it Item) {
	if j.m.Fitted == nil || it.Job == "" {
		return
	}
	job, ok := j.m.Fitted.Job(it.Job)
	if !ok {
		return
	}
	l.put(it.Machine, job.Name, it.Positions)
	for _, name := range j.smaller(job.Name) {
		if small, ok := j.m.Fitted.Job(name); ok {
			if at, ok := j.coveredBy(job, it.Positions, small); ok {
				l.put(it.Machine, name, at)
			}
		}
	}
}

func (l listedWork) put(machine ID, job string, at record.Positions) {
	key := listedKey(machine, job)
	l[key] = l[key].Union(at)
}

// has reports a job at a place of the list.
func (l listedWork) has(machine ID, job string, p record.Position) bool {
	at, ok := l[listedKey(machine, job)]
	return ok && (p == record.Position{} || at.Has(p))
}

// consequence is what doing jobs of the list brings: one job at one place.
type consequence struct {
	machine ID
	job     string
	place   record.Position
	trigger *schedule.Trigger // of field work; nil: at once
}

// foresee adds what will follow on the work of the list: at once, as tasks, which may bring more in their turn; later, as work in the field.
func (g *gatherer) foresee(listed listedWork) {
	type cause struct {
		machine ID
		job     string
		at      record.Positions
		by      ID
	}
	var queue []cause
	for _, t := range g.p.Work {
		if t.Job != "" {
			queue = append(queue, cause{t.Machine, t.Job, t.Positions, t.LastBy})
		}
	}
	var order []consequence
	brought := map[consequence][]string{} // by which jobs
	by := map[consequence]ID{}
	for len(queue) > 0 {
		c := queue[0]
		queue = queue[1:]
		j := g.judge(c.machine)
		job, ok := j.m.Fitted.Job(c.job)
		if !ok {
			continue
		}
		var jobs []string // brought at once and for the first time
		at := map[string][]record.Position{}
		for _, n := range j.consequences(job, c.at) {
			if n.trigger == nil && listed.has(n.machine, n.job, n.place) {
				continue // due anyway
			}
			if _, ok := brought[n]; !ok {
				order = append(order, n)
				by[n] = c.by
				if n.trigger == nil {
					jobs = addWord(jobs, n.job)
					at[n.job] = append(at[n.job], n.place)
				}
			}
			brought[n] = addWord(brought[n], c.job)
		}
		for _, name := range jobs {
			queue = append(queue, cause{c.machine, name, placed(at[name]), c.by})
		}
	}
	g.tell(order, brought, by)
}

// tell puts places that stand alike together: tasks by what brings them, work in the field whatever brings it.
func (g *gatherer) tell(order []consequence, brought map[consequence][]string, by map[consequence]ID) {
	var lines []consequence // the first of each line
	places, follows := map[string][]record.Position{}, map[string][]string{}
	line := func(n consequence) string {
		key := fmt.Sprintf("%s %s %p", n.machine, n.job, n.trigger)
		if n.trigger == nil {
			key += fmt.Sprintf(" %q %s", brought[n], by[n])
		}
		return key
	}
	for _, n := range order {
		key := line(n)
		if _, ok := places[key]; !ok {
			lines = append(lines, n)
		}
		places[key] = append(places[key], n.place)
		for _, job := range brought[n] {
			follows[key] = addWord(follows[key], job)
		}
	}
	for _, n := range lines {
		key := line(n)
		at := placed(places[key])
		j := g.judge(n.machine)
		job, _ := j.m.Fitted.Job(n.job)
		if n.trigger != nil {
			g.p.Field = append(g.p.Field, j.inField(job, at, n.trigger, follows[key]))
			continue
		}
		t := g.newTask(j.foreseen(job, at, follows[key]))
		t.LastBy, t.Follows = by[n], follows[key]
		g.p.Work = append(g.p.Work, t)
	}
}

// placed is a set of places, the empty one for the machine.
func placed(list []record.Position) record.Positions {
	return record.NewPositions(slices.DeleteFunc(slices.Clone(list), func(p record.Position) bool { return p == record.Position{} })...)
}

// foreseen is a job that other work will bring at once.
func (j *judge) foreseen(job *schedule.Job, at record.Positions, by []string) Item {
	it := Item{ID: strings.Join([]string{j.m.ID.Short(), job.Name, "foreseen"}, "/"), Farm: j.m.Farm, Yard: j.m.Yard, Machine: j.m.ID, Name: j.m.Name, Positions: at, Job: job.Name, Title: jobTitle(job), State: Coming,
		Severity: jobSeverity(job), Cause: ByFollowOn, Order: job.Order, Brief: "after " + inWords(by), Why: "to be done at once after " + inWords(j.titles(by))}
	if all := at.All(); len(all) > 0 {
		it.ID += "/" + all[0].String()
		it.Where = j.m.Fitted.Describe(at, job.Of)
	}
	it.Minutes = minutesFor(job, at)
	for _, name := range job.Cautions {
		if c, ok := j.m.Fitted.Caution(name); ok {
			it.Cautions = append(it.Cautions, c.Text)
		}
	}
	return it
}

func minutesFor(job *schedule.Job, at record.Positions) *big.Rat {
	if job.Minutes == nil {
		return nil
	}
	return new(big.Rat).Mul(job.Minutes, big.NewRat(int64(max(1, at.Len())), 1))
}

func (j *judge) inField(job *schedule.Job, at record.Positions, t *schedule.Trigger, by []string) FieldWork {
	w := FieldWork{Machine: j.m.ID, Yard: j.m.Yard, Name: j.m.Name, Job: job.Name, Title: jobTitle(job), Positions: at, Follows: by, At: t.Series, Then: t.Then, Until: t.UntilResult, Minutes: minutesFor(job, at),
		Torques: job.Torques, Severity: jobSeverity(job)}
	if !at.IsZero() {
		w.Where = j.m.Fitted.Describe(at, job.Of)
	}
	if w.Then == nil {
		w.Then = t.Finally
	}
	return w
}

// consequences are what doing a job at some places brings, place by place in the schedule's order.
func (j *judge) consequences(by *schedule.Job, at record.Positions) []consequence {
	kinds := j.kindsOf(by, map[string]bool{})
	var out []consequence
	for i := range j.m.Fitted.Jobs {
		job := &j.m.Fitted.Jobs[i]
		for _, p := range j.placesOf(job) {
			e := Event{Positions: at}
			if !e.covers(p) || !j.holds(job.Only, p) {
				continue
			}
			for _, t := range j.broughtBy(job, kinds, p) {
				out = append(out, consequence{j.m.ID, job.Name, p, t})
			}
		}
	}
	return out
}

// broughtBy are the triggers of a job that events of these kinds set off at a place; nil stands for "at once".
func (j *judge) broughtBy(job *schedule.Job, kinds []string, p record.Position) []*schedule.Trigger {
	var out []*schedule.Trigger
	atOnce, answers := false, false
	for i := range job.When {
		t := &job.When[i]
		answers = answers || strings.HasPrefix(t.After, "loosened:")
		hit := t.After != "" && slices.ContainsFunc(kinds, func(kind string) bool { return j.named(&Event{Kind: kind}, t.After) })
		switch {
		case !hit || j.paused(t) || !j.holds(t.While, p):
		case len(t.Series) == 0 && t.Then == nil && t.Finally == nil:
			atOnce = true
		default:
			out = append(out, t)
		}
	}
	atOnce = atOnce || slices.Contains(kinds, "next:"+job.Name) || !answers && slices.Contains(kinds, "loosened:"+job.Name)
	if atOnce {
		out = append(out, nil)
	}
	return out
}

// kindsOf are the events that doing a job makes, as Event.Kind names them, those of the jobs it includes too; "next:JOB" stands for what it asks for.
func (j *judge) kindsOf(job *schedule.Job, seen map[string]bool) []string {
	if seen[job.Name] {
		return nil
	}
	seen[job.Name] = true
	kinds := []string{"did:" + job.Name}
	for _, name := range job.Loosens {
		kinds = append(kinds, "loosened:"+name)
	}
	for _, name := range job.Next {
		kinds = append(kinds, "next:"+name)
	}
	if job.Swaps != "" {
		kinds = append(kinds, "swap:"+job.Swaps)
		if a, ok := j.m.Fitted.Assembly(job.Swaps); ok {
			for _, part := range a.Parts {
				kinds = append(kinds, "swap:"+part)
			}
		}
	}
	for _, name := range job.Measures {
		kinds = append(kinds, "measure:"+name)
	}
	for _, name := range job.Includes {
		if small, ok := j.m.Fitted.Job(name); ok {
			kinds = append(kinds, j.kindsOf(small, seen)...)
		}
	}
	return kinds
}
