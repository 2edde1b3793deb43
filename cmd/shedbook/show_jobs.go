package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// mostDoings is how many lines a job may have before its older doings share one.
const mostDoings = 6

func (t *machineText) jobs() (*table.Table, string) {
	tb := table.New("job", "last done", "where", "at", "", "entries")
	tb.Keep(1)
	var never []string
	for from := 0; from < len(t.v.Jobs); {
		to := from
		for to < len(t.v.Jobs) && t.v.Jobs[to].Job == t.v.Jobs[from].Job {
			to++
		}
		never = append(never, t.job(tb, t.v.Jobs[from:to])...)
		from = to
	}
	return tb, notKnown("never recorded", never)
}

// job writes the lines of one job: what was done when and where, then where it never was. A job never done anywhere is returned by its name. Swaps are told by
// the parts, unless they are asked for; the job of a new part recorded as done has its line.
func (t *machineText) job(tb *table.Table, rows []jobView) (never []string) {
	if f := t.v.m.Fitted; f != nil && !t.fine && len(t.l.names) == 0 {
		if j, ok := f.Job(rows[0].Job); ok && j.Swaps != "" {
			rows = slices.DeleteFunc(slices.Clone(rows), func(r jobView) bool { return r.Via == "swap" || r.Assumed || len(r.Entries) == 0 })
			if len(rows) == 0 {
				return nil
			}
		}
	}
	var done, rest []jobView
	for _, r := range rows {
		if len(r.Entries) > 0 {
			done = append(done, r)
		} else if t.fine || t.asked(r.Job) {
			rest = append(rest, r)
		}
	}
	if len(done) == 0 && len(rest) > 0 && !t.fine {
		return []string{rows[0].Job}
	}
	slices.SortStableFunc(done, func(a, b jobView) int { return b.Done.Compare(a.Done) })
	for i, j := range done {
		if i == mostDoings-1 && len(done) > mostDoings {
			var at record.Positions
			for _, o := range done[i:] {
				at = at.Union(o.at)
			}
			tb.Row(j.Job, "earlier", t.where(at, j.of), "", fmt.Sprintf("%d times, the first on %s", len(done)-i, sinceDay(done[len(done)-1].Done)))
			break
		}
		beside, below := t.beside(marks(iff(j.Skipped, "skipped"), before("with ", j.viaText()), strings.ReplaceAll(j.Result, "-", " "),
			map[string]string{"pass": "passed", "fail": "failed", "advice": "passed with advice"}[j.Outcome],
			before("valid until ", j.Until), iff(!j.Torque.IsZero(), "wrench at "+j.Torque.q.Show(t.system)), iff(j.Assumed, "assumed")))
		tb.Row(j.Job, sinceDay(j.Done), t.where(j.at, j.of), t.useText(j.Counters), beside, t.ids(j.Entries))
		tb.Under(below)
		if i == 0 {
			tb.Under(t.called(j.title, j.Job))
		}
	}
	for _, j := range rest {
		tb.Row(j.Job, "never recorded", t.where(j.at, j.of))
	}
	return nil
}

// asked reports a job that comes due by itself, so that never having done it means something: not one that only answers a limit or other work.
func (t *machineText) asked(job string) bool {
	if t.v.m.Fitted == nil {
		return false
	}
	j, ok := t.v.m.Fitted.Job(job)
	return ok && slices.ContainsFunc(j.When, func(w schedule.Trigger) bool {
		return len(w.Every) > 0 || w.Worked > 0 || w.Idle > 0 || w.Season != "" || w.Made != "" || w.Until != ""
	})
}

// viaText names what did the job besides itself.
func (j *jobView) viaText() string {
	switch j.Via {
	case "measure":
		return "a measurement"
	case "swap":
		return "a swap"
	case "adjust":
		return "a setting"
	}
	return strings.ReplaceAll(j.Via, "-", " ")
}
