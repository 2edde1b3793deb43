package main

import (
	"fmt"
	"strconv"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/quantity"
)

// usePerYear is how much it worked, year by year and counter by counter, with what was set back, replaced or not read for long.
func (s *saleFile) usePerYear() paper.Section {
	out := paper.Section{ID: "use", Title: "Use per year"}
	for _, y := range rules.UsePerYear(s.st, s.m) {
		if y.Trip {
			out.Blocks = append(out.Blocks, s.tripTurns(&y)...)
			continue
		}
		out.Blocks = append(out.Blocks, s.yearsOf(&y)...)
	}
	if len(out.Blocks) == 0 {
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("No counter was ever read.")}}
	}
	return out
}

// tripTurns are the times a trip counter was set back, with what it showed: the years' use told a second way.
func (s *saleFile) tripTurns(y *rules.CounterYears) []paper.Block {
	if len(y.Turns) == 0 {
		return nil
	}
	t := paper.Table{Caption: capital(strings.ReplaceAll(y.Counter, "-", " ")) + ", set back by the driver", Columns: []paper.Column{{Title: "set back", Narrow: true}, {Title: "what it showed before"}},
		Foot: "What it showed is the use since it was set back before, told a second way: hold it against the years."}
	first := max(0, len(y.Turns)-tripShown)
	for _, turn := range y.Turns[first:] {
		showed := "not known"
		if !turn.Before.IsZero() {
			showed = turn.Before.Show(s.c.system) + iff(!turn.Told, ", the last reading before it")
		}
		t.Rows = append(t.Rows, paper.Row{Cells: []paper.Text{paper.Say(sinceDay(turn.Done)), says(showed, turn.Entry)}})
	}
	return []paper.Block{t}
}

// tripShown is how many are told, the newest.
const tripShown = 12

func (s *saleFile) yearsOf(y *rules.CounterYears) []paper.Block {
	name := strings.ReplaceAll(y.Counter, "-", " ")
	t := paper.Table{Caption: capital(name), Columns: []paper.Column{{Title: "year", Narrow: true}, {Title: "use"}, {Title: "readings"}, {Title: ""}}}
	if y.Derived {
		t.Caption += ", worked out from another counter, not read"
	}
	for _, x := range y.Years {
		note := iff(x.Part, "as far as it was read: the year is not whole")
		t.Rows = append(t.Rows, paper.Row{Cells: []paper.Text{paper.Say(strconv.Itoa(x.Year)), paper.Say(s.amount(x.Use)), paper.Say(strconv.Itoa(x.Readings)), paper.Say(note)}})
	}
	if k := s.m.Counters[y.Counter]; k != nil && !k.Derived {
		t.Foot = unordered(k.Points)
	}
	if len(t.Rows) > 12 {
		t.Fold = fmt.Sprintf("%s, year by year: %s", capital(name), countWords(len(t.Rows), "year"))
	}
	out := []paper.Block{}
	if k := s.m.Counters[y.Counter]; k != nil && y.Main && !y.Derived {
		out = append(out, paper.Figure{Title: capital(name) + " over the years", About: "All use so far: what it showed first in the book and what it moved since, set back or not. It should rise in the seasons (grey) and rest between them.", Chart: s.counterChart(k, y)})
	}
	out = append(out, t)
	var odd []paper.Text
	for _, turn := range y.Turns {
		odd = append(odd, s.turn(turn))
	}
	for _, g := range y.Gaps {
		text := fmt.Sprintf("%s: no reading from %s to %s, %d days", name, g.From, g.To, g.Days)
		if g.Season != "" {
			text = fmt.Sprintf("%s: not read in %s, from %s to %s", name, g.Season, g.From, g.To)
		}
		if g.Use.Sign() > 0 {
			text += "; it moved " + s.amount(g.Use) + " meanwhile"
		}
		odd = append(odd, marked(paper.Watch, "gap", text))
	}
	switch {
	case len(odd) > 0:
		out = append(out, paper.List{Items: odd[:min(len(odd), saleRows)]})
	case !y.Derived:
		out = append(out, paper.Para{Text: paper.Say("This counter was not set back, not replaced, and was read in every season as far as the book goes.")})
	}
	return out
}

// unordered says of readings of one day that nothing tells which was first, and how they are taken; "" where each has a day or a time of its own.
func unordered(points []rules.CounterPoint) string {
	days, read := map[string]int{}, map[string]bool{}
	for _, p := range points {
		read[p.Done.Date()] = true
		if p.Done.Clock() == "24:00" { // no time of day was written
			days[p.Done.Date()]++
		}
	}
	n := 0
	for _, count := range days {
		if count > 1 {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("On %d of the %s with readings there are several without a time of day: their order is not known, and they are taken from the least up.", n, countWords(len(read), "day"))
}

// counterChart draws a counter's curve. All use is counted from what the face showed first.
func (s *saleFile) counterChart(k *rules.Counter, y *rules.CounterYears) paper.CounterLine {
	number := func(q quantity.Quantity) float64 { return q.Usual(s.c.system).Float64() }
	c := paper.CounterLine{Name: k.Name, Unit: k.Life.Usual(s.c.system).Unit().String()}
	gap := map[string]bool{}
	for _, g := range y.Gaps {
		if g.Season == "" {
			gap[g.To] = true
		}
	}
	points := k.Points
	step := max(1, (len(points)+399)/400) // a reader cannot tell more apart; marked ones are all kept
	for i, p := range points {
		mark := map[string]string{"reset": "set back", "replaced": "replaced"}[p.Act]
		if i%step != 0 && i != len(points)-1 && mark == "" && !gap[p.Done.Date()] {
			continue
		}
		if p.Entry == s.m.Assumed && mark == "" {
			mark = "assumed"
		}
		c.Points = append(c.Points, paper.CounterDot{Day: p.Done.Date(), Value: number(p.Life), Face: s.amount(p.Face), Mark: mark, Gap: gap[p.Done.Date()], From: []string{string(p.Entry)}})
	}
	for _, season := range s.st.Seasons {
		if season.Opened != "" && s.takesPart(season) {
			c.Seasons = append(c.Seasons, paper.Band{Name: season.Name, From: season.Opened, To: season.Closed})
		}
	}
	if k.Estimated {
		c.OnDay, c.OnValue = s.st.On, number(k.Estimate)
	}
	return c
}

// takesPart reports a season of the machine's work on its farm.
func (s *saleFile) takesPart(season *rules.Season) bool {
	if s.m.Fitted == nil {
		return false
	}
	work := false
	for _, w := range s.m.Fitted.Work {
		work = work || w == season.Work
	}
	farm := len(season.Farms) == 0
	for _, f := range season.Farms {
		farm = farm || f == s.m.Farm
	}
	return work && farm
}
