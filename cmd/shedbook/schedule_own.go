package main

import (
	"fmt"
	"strings"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// both is an amount of a schedule in the units the book is read in and, where they differ, as the schedule has it: "295 lbf.ft (400 N.m)". To a program it
// is one amount.
func (c *call) both(q quantity.Quantity) string {
	if c.json {
		return c.shown(q).String()
	}
	s := q.Show(c.system)
	if s == q.String() {
		return s
	}
	return s + " (" + q.String() + ")"
}

// ownAt are the farm's own values at a path and below it, in the order of their paths.
func ownAt(f *schedule.Fitted, path string) []schedule.Override {
	var out []schedule.Override
	for _, o := range f.Overrides {
		if o.Path == path || strings.HasPrefix(o.Path, path+".") {
			out = append(out, o)
		}
	}
	return out
}

// pagesOf are the pages that own values cite, each once: "operator's manual p. 41, p. 112".
func pagesOf(own []schedule.Override) string {
	var out []string
	for _, o := range own {
		if len(out) == 0 || out[len(out)-1] != o.Page {
			out = append(out, o.Page)
		}
	}
	return strings.Join(out, ", ")
}

// torquePath is where the n-th torque of a job stands, counted from 0.
func torquePath(job string, n int) string { return fmt.Sprintf("job.%s.torques.%d", job, n+1) }

// ruleLines are what stands behind a job that is due: its torques, and the values of the farm's own that it goes by, with their pages.
func (c *call) ruleLines(m *rules.Machine, name string) []string {
	if m == nil || m.Fitted == nil {
		return nil
	}
	job, ok := m.Fitted.Job(name)
	if !ok {
		return nil
	}
	var out []string
	for i := range job.Torques {
		out = append(out, "torque: "+c.torqueWords(m.Fitted, job, i))
	}
	own := ownAt(m.Fitted, "job."+name+".when")
	seen := map[string]bool{}
	for _, w := range job.When {
		if r := w.Past + w.Forecast; r != "" && !seen[r] { // a trigger has one cause
			seen[r] = true
			own = append(own, ownAt(m.Fitted, "reading."+r)...)
		}
	}
	for _, o := range own {
		out = append(out, "own value: "+o.Path+" is "+plainValue(o.Value)+", "+o.Page+bracketed(shortIDs([]rules.ID{o.Entry}, 1)))
	}
	return out
}

// torqueWords is one fastener's torque, with the page where it is the farm's own, and saying so where it is computed.
func (c *call) torqueWords(f *schedule.Fitted, job *schedule.Job, n int) string {
	t := &job.Torques[n]
	s := strings.TrimSpace(t.What+" "+t.Size) + ": " + c.both(t.Value)
	if t.Min.Sign() > 0 || t.Max.Sign() > 0 {
		s += ", " + c.both(t.Min) + " to " + c.both(t.Max)
	}
	if t.LeftHand {
		s += ", left-hand thread"
	}
	if t.Bolt != nil {
		s += ", " + t.Bolt.Short()
	}
	if own := ownAt(f, torquePath(job.Name, n)); len(own) > 0 {
		s += " [your own value, " + pagesOf(own) + "]"
	}
	return s
}
