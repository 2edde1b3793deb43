package rules

import (
	"cmp"
	"slices"
	"strings"

	"shedbook/rules/schedule"
)

// order puts the work of a machine together, where its most pressing task stands; within it what opens the same, so that each thing is opened once; and
// within that what has to come first by the schedule's order, each task after those it follows on.
func (g *gatherer) order() {
	var machines []ID
	for _, t := range g.p.Work {
		if !slices.Contains(machines, t.Machine) {
			machines = append(machines, t.Machine)
		}
	}
	var sorted []Task
	for _, id := range machines {
		var tasks []Task
		for _, t := range g.p.Work {
			if t.Machine == id {
				tasks = append(tasks, t)
			}
		}
		sorted = append(sorted, g.judge(id).inTurn(tasks)...)
	}
	g.p.Work = sorted
	slices.SortStableFunc(g.p.Field, func(a, b FieldWork) int {
		return cmp.Or(slices.Index(machines, a.Machine)-slices.Index(machines, b.Machine), strings.Compare(a.Job, b.Job), comparePlaces(a.Positions, b.Positions))
	})
}

// lastOrder is the turn of a job whose schedule gives none: after all others.
const lastOrder = 1000

// inTurn orders the tasks of one machine.
func (j *judge) inTurn(tasks []Task) []Task {
	if j.m.Fitted == nil {
		return tasks
	}
	follows := j.followers()
	turn := j.turns(follows)
	var opens []string
	groups := map[string][]Task{}
	for _, t := range tasks {
		if !slices.Contains(opens, t.Opens) {
			opens = append(opens, t.Opens)
		}
		groups[t.Opens] = append(groups[t.Opens], t)
	}
	// groups of openings as jobs: one comes after another where a task of it follows on a task of the other
	after := func(a, b string) bool {
		return slices.ContainsFunc(groups[a], func(x Task) bool {
			return slices.ContainsFunc(groups[b], func(y Task) bool { return follows[y.Job][x.Job] })
		})
	}
	var out []Task
	for _, o := range topological(opens, after, func(a, b string) int { return 0 }) {
		index := make([]int, len(groups[o]))
		for i := range index {
			index[i] = i
		}
		in := groups[o]
		for _, i := range topological(index, func(a, b int) bool { return follows[in[b].Job][in[a].Job] }, func(a, b int) int { return cmp.Compare(turn[in[a].Job], turn[in[b].Job]) }) {
			out = append(out, in[i])
		}
	}
	return out
}

// topological sorts a list so that each comes after those it has to (after(a, b): a comes after b), otherwise by less and then as the list has it. Where things go
// round in a circle the first of those left goes first.
func topological[T comparable](list []T, after func(a, b T) bool, less func(a, b T) int) []T {
	left := slices.Clone(list)
	slices.SortStableFunc(left, less)
	var out []T
	for len(left) > 0 {
		i := slices.IndexFunc(left, func(a T) bool {
			return !slices.ContainsFunc(left, func(b T) bool { return a != b && after(a, b) && !after(b, a) })
		})
		i = max(0, i)
		out = append(out, left[i])
		left = slices.Delete(left, i, i+1)
	}
	return out
}

// followers are, for each job, the jobs that follow on it, whatever the places.
func (j *judge) followers() map[string]map[string]bool {
	out := map[string]map[string]bool{}
	for i := range j.m.Fitted.Jobs {
		by := &j.m.Fitted.Jobs[i]
		out[by.Name] = map[string]bool{}
		kinds := j.kindsOf(by, map[string]bool{})
		for k := range j.m.Fitted.Jobs {
			job := &j.m.Fitted.Jobs[k]
			if job != by && j.asksFor(kinds, job) {
				out[by.Name][job.Name] = true
			}
		}
	}
	return out
}

// asksFor reports that events of these kinds bring a job, now or later.
func (j *judge) asksFor(kinds []string, job *schedule.Job) bool {
	return slices.Contains(kinds, "next:"+job.Name) || slices.Contains(kinds, "loosened:"+job.Name) || slices.ContainsFunc(job.When, func(t schedule.Trigger) bool {
		return t.After != "" && slices.ContainsFunc(kinds, func(kind string) bool { return j.named(&Event{Kind: kind}, t.After) })
	})
}

// turns are the schedule's order of jobs, but that none has a later turn than what follows on it: the disc comes before the torque, which comes before the
// grease.
func (j *judge) turns(follows map[string]map[string]bool) map[string]int {
	turn := map[string]int{}
	for i := range j.m.Fitted.Jobs {
		job := &j.m.Fitted.Jobs[i]
		turn[job.Name] = cmp.Or(job.Order, lastOrder)
	}
	for changed := true; changed; {
		changed = false
		for by, all := range follows {
			for job := range all {
				if turn[job] < turn[by] {
					turn[by], changed = turn[job], true
				}
			}
		}
	}
	return turn
}
