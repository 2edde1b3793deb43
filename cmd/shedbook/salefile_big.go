package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
)

// bigShown is how many large jobs are seen without opening the list.
const bigShown = 6

// bigJobs are the last large and dear jobs, with invoices where they are written.
func (s *saleFile) bigJobs() paper.Section {
	out := paper.Section{ID: "big-jobs", Title: "Last large jobs", Note: "New sets of parts, faults that were mended, work by a shop, long jobs and the dearest ones, as written; a season's usual rounds are not among them. A price without a currency was written without one."}
	jobs := rules.BigJobsOf(s.st, s.m)
	if len(jobs) == 0 {
		out.Note = ""
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("None is written.")}}
		return out
	}
	columns := []paper.Column{{Title: "done", Narrow: true}, {Title: "what"}, {Title: "by"}, {Title: "paid, and to whom"}, {Title: "at", Narrow: true}}
	var rows []paper.Row
	for i := range jobs[:min(len(jobs), saleRows)] {
		rows = append(rows, s.bigRow(&jobs[i]))
	}
	first := rows[:min(len(rows), bigShown)]
	out.Blocks = append(out.Blocks, paper.Table{Columns: columns, Rows: first})
	if n := len(rows) - len(first); n > 0 {
		out.Blocks = append(out.Blocks, paper.Table{Columns: columns, Rows: rows[len(first):], Fold: fmt.Sprintf("show %d earlier ones", n)})
	}
	return out
}

func (s *saleFile) bigRow(j *rules.BigJob) paper.Row {
	day := sinceDay(j.Done)
	if j.To.Date() != j.Done.Date() {
		day += " to " + j.To.Date()
	}
	what := capital(strings.ReplaceAll(j.Title, "-", " ")) + before(", ", s.places(j.Positions))
	if j.Kind == "swap" && j.Parts > 1 {
		what += fmt.Sprintf(" (%d put in)", j.Parts)
	}
	what += before("; cause: ", strings.ReplaceAll(j.Cause, "-", " ")) + before(": ", j.Text)
	if j.Minutes > 0 {
		what += "; " + sentence.Minutes(j.Minutes) + " of work"
	}
	if j.Papers > 0 {
		what += fmt.Sprintf("; %s kept with it", countWords(j.Papers, "paper"))
	}
	what += before("; under warranty until ", j.Warranty)
	var paid []string
	for _, m := range j.Costs {
		paid = append(paid, strings.TrimSpace(m.Amount.FloatString(2)+" "+m.Currency))
	}
	paid = append(paid, j.Invoices...)
	paid = append(paid, j.Who...)
	said := strings.Join(paid, ", ")
	if said == "" {
		said = "no invoice written"
		if !j.Told {
			said = iff(s.proof.info.HeldBack > 0, "held back, or none written") + iff(s.proof.info.HeldBack == 0, "no invoice written")
		}
	}
	var who []string
	for _, id := range j.By {
		who = append(who, s.person(id))
	}
	at := ""
	if j.At.Sign() > 0 {
		at = s.useAt(j.To)
	}
	return paper.Row{Cells: []paper.Text{paper.Say(day), says(what, j.Entries...), paper.Say(strings.Join(who, ", ")), paper.Say(said), paper.Say(at)}}
}
