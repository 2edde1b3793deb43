package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/schedule"
)

func (t *shownSchedule) jobs(only string) {
	tb := table.New("", "", "", "")
	for i := range t.f.Jobs {
		j := &t.f.Jobs[i]
		if only != "" && only != j.Name {
			continue
		}
		tb.Row(j.Name, j.Title, t.noun(j.Of, j.Group), j.Severity)
		for k := range j.When {
			tb.Under(triggerWords(&j.When[k]))
		}
		switch {
		case len(j.When) > 0:
		case t.asked(j.Name):
			tb.Under("only when asked for by other work")
		default:
			tb.Under("whenever it happens")
		}
		t.jobMore(tb, j, only != "")
	}
	t.printf("%s", tb.Text(t.columns()))
}

// asked reports whether another job asks for this one, takes it in or loosens it.
func (t *shownSchedule) asked(job string) bool {
	return slices.ContainsFunc(t.f.Jobs, func(j schedule.Job) bool {
		return slices.Contains(slices.Concat(j.Next, j.Try, j.Includes, j.Loosens), job)
	})
}

// jobMore is what else a job says; all of it when it is looked at by itself.
func (t *shownSchedule) jobMore(tb *table.Table, j *schedule.Job, all bool) {
	for i := range j.Torques {
		tb.Under("torque: " + t.torqueWords(t.f, j, i))
		if b := j.Torques[i].Bolt; b != nil && all {
			tb.Under(b.Why())
		}
	}
	for _, u := range j.Uses {
		tb.Under("takes " + strings.TrimPrefix(t.both(u.Amount)+" ", "0 ") + u.What)
	}
	tb.Under(before("takes in ", strings.Join(j.Includes, ", ")))
	tb.Under(before("loosens ", strings.Join(j.Loosens, ", ")))
	tb.Under(before("then ", strings.Join(j.Next, ", ")))
	tb.Under(before("try first: ", strings.Join(j.Try, ", ")))
	if len(j.Only) > 0 {
		tb.Under("only while " + onlyWords(j.Only))
	}
	if !all {
		return
	}
	tb.Under(before("new ", j.Swaps))
	tb.Under(before("turns, sharpens or rebuilds the ", j.Turns))
	tb.Under(before("measure ", strings.Join(j.Measures, ", ")))
	tb.Under(before("set ", strings.Join(j.Sets, ", ")))
	tb.Under(before("say what was found: ", strings.Join(j.Results, ", ")))
	tb.Under(marks(minutesWords(j), iff(j.Hands > 1, fmt.Sprintf("%d people", j.Hands)), map[string]string{"trained": "a trained person", "licensed": "a licensed person"}[j.Who],
		iff(j.Points > 0, fmt.Sprintf("%d grease points", j.Points)), before("opens ", j.Open)))
	tb.Under(before("tools: ", strings.Join(j.Tools, ", ")))
	tb.Under(before("how: ", j.How))
	for _, name := range j.Cautions {
		if c, ok := t.f.Caution(name); ok {
			tb.Under("caution: " + c.Text)
		}
	}
}

func minutesWords(j *schedule.Job) string {
	if j.Minutes == nil {
		return ""
	}
	s := j.Minutes.RatString() + " min"
	if j.Of != "" {
		s += " each"
	}
	return s
}
