package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// services is what the schedule asked for and what became of it: season by season, job by job, and each that was late or missed.
func (s *saleFile) services() paper.Section {
	out := paper.Section{ID: "services", Title: "Services kept and missed", Note: "Against the schedule in this book: common practice or the farm's own values, not the maker's. Counted in rounds: 48 openers greased together are one; one of them greased late is one more."}
	k, _ := s.kept()
	if k.Total.Due == 0 {
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("Nothing came due that this record can judge.")}}
		out.Blocks = append(out.Blocks, s.unjudged(k)...)
		return out
	}
	t := k.Rounds
	out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say(fmt.Sprintf("From %s to %s services came due %d times: %s on time, %s late, %s missed, %s still open.", k.From, k.To, t.Due, of(t.OnTime, t.Due), of(t.Late, t.Due), of(t.Missed, t.Due), of(t.Open, t.Due)))})
	c := paper.Kept{}
	for _, p := range k.Periods {
		if p.Rounds.Due > 0 {
			c.Seasons = append(c.Seasons, paper.KeptSeason{Name: p.Name, OnTime: p.Rounds.OnTime, Late: p.Rounds.Late, Missed: p.Rounds.Missed})
		}
	}
	if n := len(c.Seasons); n > 24 {
		c.Seasons = c.Seasons[n-24:]
	}
	out.Blocks = append(out.Blocks, paper.Figure{Title: "Services by the time they came due", About: "A bar a season and a bar the time between two; what is still open is not in it.", Chart: c}, s.byJob(k))
	out.Blocks = append(out.Blocks, s.lapses(k)...)
	out.Blocks = append(out.Blocks, s.unjudged(k)...)
	return out
}

// of is "12 (8 %)".
func of(n, all int) string {
	return fmt.Sprintf("%d (%.0f %%)", n, 100*float64(n)/float64(max(all, 1)))
}

func (s *saleFile) byJob(k *rules.Kept) paper.Block {
	t := paper.Table{Caption: "Job by job", Columns: []paper.Column{{Title: "job"}, {Title: "came due", Number: true}, {Title: "on time", Number: true}, {Title: "late", Number: true}, {Title: "missed", Number: true}, {Title: "open", Number: true}, {Title: "last done", Narrow: true}, {Title: "the schedule asks for it"}}}
	jobs := slices.DeleteFunc(slices.Clone(k.Jobs), func(j rules.KeptJob) bool { return j.Total.Due == 0 })
	slices.SortStableFunc(jobs, func(a, b rules.KeptJob) int { return b.Rounds.Missed + b.Rounds.Late - a.Rounds.Missed - a.Rounds.Late })
	for _, j := range jobs {
		n := j.Rounds
		var last []record.ID
		if j.Last.Entry != "" {
			last = []record.ID{j.Last.Entry}
		}
		row := []paper.Text{paper.Say(capital(sentence.Title(j.Title, j.Job.Name)))}
		for i, x := range []int{n.Due, n.OnTime, n.Late, n.Missed, n.Open} {
			row = append(row, paper.Say(iff(x > 0 || i < 2, fmt.Sprint(x)))) // what did not happen needs no line of its own on a phone
		}
		t.Rows = append(t.Rows, paper.Row{Cells: append(row, says(sinceDay(j.Last.Done)+s.measuredSince(j.Job, j.Last.Done), last...), paper.Say(s.asked(j.Job)))})
	}
	return t
}

// asked is when the schedule asks for a job, other jobs after which it does so too.
func (s *saleFile) asked(job *schedule.Job) string {
	var out, by []string
	own := false
	for i := range job.When {
		out = append(out, triggerWords(&job.When[i]))
		own = own || strings.HasPrefix(job.When[i].After, "loosened")
	}
	for i := range s.m.Fitted.Jobs {
		if x := &s.m.Fitted.Jobs[i]; slices.Contains(x.Next, job.Name) || !own && slices.Contains(x.Loosens, job.Name) {
			by = append(by, spaced(x.Name))
		}
	}
	if len(by) > 0 {
		out = append(out, "after "+strings.Join(by, " or "))
	}
	return strings.Join(out, "; ")
}

// measuredSince names what of a job's measurements was taken alone after the job was last done: "; since then disc, edge to hub alone, 2026-09-06".
func (s *saleFile) measuredSince(job *schedule.Job, last record.Done) string {
	var out []string
	for _, name := range job.Measures {
		var on record.Done
		for _, list := range s.m.Readings[name] {
			for _, r := range list {
				if !r.Assumed && !r.Computed {
					on = max(on, r.Done)
				}
			}
		}
		if last != "" && on.Date() > last.Date() {
			title := ""
			if def, ok := s.m.Fitted.Reading(name); ok {
				title = def.Title
			}
			out = append(out, sentence.Title(title, name)+" on "+on.Date())
		}
	}
	if len(out) == 0 || len(out) == len(job.Measures) {
		return ""
	}
	return "; since then alone: " + strings.Join(out, ", ")
}

// lapses are what was late or missed, newest first.
func (s *saleFile) lapses(k *rules.Kept) []paper.Block {
	var all []rules.Lapse
	title := map[string]string{}
	for _, j := range k.Jobs {
		title[j.Job.Name] = capital(sentence.Title(j.Title, j.Job.Name))
		for _, l := range j.Lapses {
			if l.State != rules.KeptOpen {
				all = append(all, l)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b rules.Lapse) int { return -strings.Compare(a.DueOn, b.DueOn) })
	var rows []paper.Row
	for _, l := range all[:min(len(all), saleRows)] {
		kind := paper.Mark{Kind: paper.Watch, Word: l.State}
		if l.State == rules.KeptMissed {
			kind.Kind = paper.Late
		}
		what := title[l.Job] + before(", ", s.places(l.Positions))
		how := "not done before it came due again"
		switch {
		case l.Skipped != "":
			how = "written as left out" + before(", done ", sinceDay(l.Done))
		case l.State == rules.KeptLate:
			how = "done " + sinceDay(l.Done)
			if l.Over.Value.Sign() > 0 {
				how += ", " + s.amount(l.Over.Value) + " over"
			}
		}
		if l.State == rules.KeptMissed {
			how += s.openBeside(k, &l)
		}
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(l.DueOn), paper.Say(periodOf(k, l.DueOn)), {Words: "", Mark: kind}, says(what, l.Entries...), paper.Say(how)}})
	}
	if len(rows) == 0 {
		return nil
	}
	t := paper.Table{Columns: []paper.Column{{Title: "came due", Narrow: true}, {Title: "season"}, {Title: "", Narrow: true}, {Title: "job"}, {Title: "how"}}, Rows: rows, Fold: fmt.Sprintf("Late and missed, newest first: %s", countWords(len(all), "line")), Printed: len(rows) <= salePrint}
	if len(all) > len(rows) {
		t.Foot = fmt.Sprintf("and %d earlier ones", len(all)-len(rows))
	}
	return []paper.Block{t}
}

// openBeside says at how many places the same that was missed here is still open.
func (s *saleFile) openBeside(k *rules.Kept, missed *rules.Lapse) string {
	n := 0
	for _, j := range k.Jobs {
		for _, l := range j.Lapses {
			if l.Job == missed.Job && l.State == rules.KeptOpen && l.DueOn == missed.DueOn {
				n += l.Positions.Len()
			}
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; %s still open, see What is wrong today", countWords(n, "other"))
}

// unjudged says what was left out of the counts, and why.
func (s *saleFile) unjudged(k *rules.Kept) []paper.Block {
	var rows []paper.Row
	for _, j := range k.Jobs {
		if len(j.Notes) > 0 {
			rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(capital(sentence.Title(j.Title, j.Job.Name))), paper.Say(strings.Join(j.Notes, "; "))}})
		}
	}
	if len(rows) == 0 {
		return nil
	}
	return []paper.Block{paper.Table{Columns: []paper.Column{{Title: "job"}, {Title: "what is not counted, and why"}}, Rows: rows, Fold: fmt.Sprintf("What these counts leave out: %s", countWords(len(rows), "job"))}}
}
