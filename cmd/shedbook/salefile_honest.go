package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
)

// honest is how near to the work the record was written, by whom, and how smooth it is; then what was put right or struck.
func (s *saleFile) honest() paper.Section {
	h := rules.HonestyOf(s.st, s.m)
	out := paper.Section{ID: "honesty", Title: "How this record was kept", Note: "Plain counts. They judge nobody: work typed in of an evening from a notebook is as true as any. The time of writing is the writer's own clock; only somebody else's device or a countersignature dates an entry."}
	if h.Entries == 0 {
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("No work is written at all.")}}
		return out
	}
	out.Blocks = append(out.Blocks, paper.List{Items: s.honestLines(h)})
	out.Blocks = append(out.Blocks, s.lateEntries(h)...)
	out.Blocks = append(out.Blocks, s.smooth(h)...)
	return out
}

func (s *saleFile) honestLines(h *rules.Honesty) []paper.Text {
	part := func(n, of int) string { return fmt.Sprintf("%.0f %%", 100*float64(n)/float64(max(of, 1))) }
	lines := []paper.Text{
		paper.Say(fmt.Sprintf("%s of work, done from %s to %s, written from %s to %s; the others of the %d about the machine add it to the book and set it up", capital(entryCount(h.Entries)), sinceDay(h.First), sinceDay(h.Last), h.Oldest, h.Newest, s.proof.info.Machine)),
		paper.Say(s.lagLine(h, part(h.Near, h.Entries)), longestIDs(h)...),
	}
	people := func(all []rules.Share) string {
		var out []string
		for _, x := range all[:min(len(all), 8)] {
			out = append(out, fmt.Sprintf("%s %s", s.person(x.Person), part(x.Count, x.Of)))
		}
		return strings.Join(out, ", ")
	}
	lines = append(lines, paper.Say("Work done by: "+people(h.Hands)), paper.Say(fmt.Sprintf("Written by: %s; on %s", people(h.Writers), countWords(len(h.Devices), "device"))))
	lines = append(lines, s.citedLines(len(h.Writers))...)
	for i, x := range h.Sittings {
		if i == 5 {
			lines = append(lines, paper.Say(fmt.Sprintf("and %d more such sittings", len(h.Sittings)-5)))
			break
		}
		lines = append(lines, marked(paper.Watch, "at one go", fmt.Sprintf("%s written on %s at one go by %s, about work of %d days from %s to %s", entryCount(len(x.Entries)), x.Written, s.person(x.Person), x.Days, x.From, x.To), x.Entries...))
	}
	if n := len(h.Recent); n > 0 {
		var from []record.ID
		for _, l := range h.Recent {
			from = append(from, l.Entry)
		}
		lines = append(lines, marked(paper.Watch, "written lately", fmt.Sprintf("%s of the last %d days about work more than a year older", entryCount(n), rules.RecentDays), from...))
	} else {
		lines = append(lines, paper.Say(fmt.Sprintf("Nothing written in the last %d days is about work more than a year older", rules.RecentDays)))
	}
	lines = append(lines, paper.Say(fmt.Sprintf("Services asked for every so often by a counter, and written with a reading of that same counter: %d; of these done exactly on the count: %d", h.Services, len(h.Exact)), exactIDs(h)...))
	return lines
}

// lagLine is how long after the work it was written down.
func (s *saleFile) lagLine(h *rules.Honesty, near string) string {
	if h.Longest == 0 {
		return "All of it written on the day of the work, by the writer's clock"
	}
	return fmt.Sprintf("%s written within %d days of the work; half of all %s; the longest after %s", near, rules.NearDays, sameDay(h.Median), countWords(h.Longest, "day"))
}

func longestIDs(h *rules.Honesty) []string {
	if h.Longest == 0 {
		return nil
	}
	return []string{string(h.LongestEntry)}
}

// sameDay says within how many days.
func sameDay(days int) string {
	if days == 0 {
		return "on the same day"
	}
	return "within " + countWords(days, "day")
}

func exactIDs(h *rules.Honesty) []string {
	var out []string
	for _, x := range h.Exact {
		out = append(out, string(x.Entry))
	}
	return out
}

// lateEntries are those written long after the work, and what was corrected or struck.
func (s *saleFile) lateEntries(h *rules.Honesty) []paper.Block {
	var out []paper.Block
	said := func(id record.ID) string {
		if l := s.lines[id]; l != nil {
			return l.text(s.c)
		}
		return "not shown"
	}
	var rows []paper.Row
	for _, l := range h.Lags[:min(len(h.Lags), saleRows)] {
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(fmt.Sprint(l.Days)), paper.Say(sinceDay(l.Done)), paper.Say(l.Written), says(said(l.Entry), l.Entry)}})
	}
	if len(rows) > 0 {
		t := paper.Table{Columns: []paper.Column{{Title: "days after", Narrow: true}, {Title: "done", Narrow: true}, {Title: "written", Narrow: true}, {Title: "what"}}, Rows: rows,
			Printed: len(rows) <= salePrint, Fold: fmt.Sprintf("Late entries: %d written more than %d days after the work, longest first", len(h.Lags), rules.NearDays)}
		if len(h.Lags) > len(rows) {
			t.Foot = fmt.Sprintf("and %d more: in the evidence", len(h.Lags)-len(rows))
		}
		out = append(out, t)
	}
	rows = nil
	amended := func(word string, all []rules.Amended) {
		for _, a := range all {
			was := ""
			if l := s.lines[a.Of]; l != nil {
				was = sentence.Record(s.st, s.m, a.Before, nil, s.c.system)
			}
			now := ""
			if a.Now != nil {
				now = sentence.Record(s.st, s.m, a.Now, nil, s.c.system)
				if a.NewDone != a.Done {
					now += ", on " + sinceDay(a.NewDone)
				}
			}
			rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(a.Written), says(word+" by "+s.person(a.By)+", "+countWords(a.After, "day")+" after it was written"+before(": ", a.Text), a.Entry, a.Of), paper.Say(was + ", on " + sinceDay(a.Done)), paper.Say(now)}})
		}
	}
	amended("corrected", h.Corrections)
	amended("struck", h.Strikes)
	if len(rows) == 0 {
		return append(out, paper.Para{Text: paper.Say("Nothing was corrected, nothing struck.")})
	}
	slices.SortStableFunc(rows, func(a, b paper.Row) int { return -strings.Compare(a.Cells[0].Words, b.Cells[0].Words) })
	total := len(rows)
	t := paper.Table{Columns: []paper.Column{{Title: "written", Narrow: true}, {Title: "what"}, {Title: "it said"}, {Title: "it says"}}, Rows: rows[:min(total, saleRows)],
		Printed: len(rows) <= salePrint, Fold: fmt.Sprintf("Put right: %s, %s; both stay in the evidence", countWords(len(h.Corrections), "correction"), countWords(len(h.Strikes), "strike"))}
	if total > saleRows {
		t.Foot = fmt.Sprintf("and %d more: in the evidence", total-saleRows)
	}
	return append(out, t)
}

// smooth are readings and services that look smoother than work is.
func (s *saleFile) smooth(h *rules.Honesty) []paper.Block {
	var items []paper.Text
	for _, a := range h.Alike {
		items = append(items, marked(paper.Watch, "alike", fmt.Sprintf("%s: %d of %d places read %s, %s", s.readingTitle(a.Reading), a.Same, a.Places, sentence.Value(a.Value, s.c.system), sinceDay(a.Done)), a.Entry))
	}
	for _, r := range h.Repeated {
		text := fmt.Sprintf("%s: %d places read on %s what they read on %s", s.readingTitle(r.Reading), r.Places, sinceDay(r.LaterDone), sinceDay(r.EarlierDone))
		if r.WorkedBetween.Sign() > 0 {
			text += ", with " + s.amount(r.WorkedBetween) + " worked between"
		}
		items = append(items, marked(paper.Watch, "repeated", text, r.Earlier, r.Later))
	}
	for _, g := range h.Grown {
		items = append(items, s.grown(&g))
	}
	for _, x := range h.Exact[:min(len(h.Exact), 20)] {
		items = append(items, marked(paper.Plain, "exact", fmt.Sprintf("%s at %s, %s, on an interval of %s", s.jobTitle(x.Job), s.amount(x.At), sinceDay(x.Done), s.amount(x.Interval)), x.Entry))
	}
	if len(items) == 0 {
		return []paper.Block{paper.Para{Text: paper.Say("No measurement reads the same nearly everywhere, repeats an earlier one after work, or says that a part grew, and no service was done exactly on the count.")}}
	}
	return []paper.Block{paper.List{Items: items[:min(len(items), 40)]}}
}

// grown is a size that does not follow from the one before.
func (s *saleFile) grown(g *rules.GrownSize) paper.Text {
	where := s.readingTitle(g.Reading) + ", " + strings.TrimSpace(s.places(record.NewPositions(g.Place))+" "+g.Hand)
	if g.New {
		return marked(paper.Watch, "does not fit", fmt.Sprintf("%s: fitted new %s, read %s on %s before it had worked; a new one is %s: was it new?", where, sinceDay(g.EarlierDone), s.size(g.To), sinceDay(g.LaterDone), s.size(g.From)), g.Later)
	}
	text := fmt.Sprintf("%s: read %s on %s, and %s on %s", where, s.size(g.From), sinceDay(g.EarlierDone), s.size(g.To), sinceDay(g.LaterDone))
	if g.Worked.Sign() > 0 {
		text += ", " + s.amount(g.Worked) + " later"
	}
	return marked(paper.Watch, "does not fit", text+": it cannot grow, and no change is written in between; a slip of the tape, or a change that nobody wrote", g.Earlier, g.Later)
}

func (s *saleFile) readingTitle(name string) string {
	if s.m.Fitted != nil {
		if r, ok := s.m.Fitted.Reading(name); ok {
			return capital(sentence.Title(r.Title, name))
		}
	}
	return name
}

func (s *saleFile) jobTitle(name string) string {
	if s.m.Fitted != nil {
		if j, ok := s.m.Fitted.Job(name); ok {
			return capital(sentence.Title(j.Title, name))
		}
	}
	return name
}
