package rules

import (
	"cmp"
	"math"
	"time"

	"shedbook/rules/wear"
)

// target is the season to look to: open now, else the next planned. One that was never opened and whose plan is over is not to come.
func (g *wearGatherer) target() *Season {
	over := func(s *Season) bool { return s.Opened == "" && cmp.Or(s.PlanTo, s.PlanFrom) < g.s.On }
	target, closed := g.j.season("")
	if target == nil || !over(target) {
		return target
	}
	for _, s := range g.j.seasons("") {
		if s.Closed == "" && (closed == nil || s.start() >= closed.start()) && !over(s) {
			return s
		}
	}
	return nil
}

// ahead is the season the forecast looks to: what is left of the one under way, or the next one, by its plan, else by the mean of those past.
func (g *wearGatherer) ahead(more float64) Lookahead {
	var a Lookahead
	unit := g.w.Counter.Unit
	whole, from, _ := g.j.pastUse(g.w.Counter, g.seasons)
	target := g.target()
	if target == nil && len(g.seasons) > 0 {
		a.Name = "the next season"
	}
	a.Whole = whole
	if target != nil {
		a.Season, a.Name = target, target.Name
		a.Open = target.Opened != ""
		for _, u := range target.Use {
			if u.Kind == g.m.Kind && u.Counter == g.counter {
				a.Whole, from = number(u.Amount, unit), "the season's plan"
			}
		}
	}
	a.From, a.Use = from, a.Whole
	a.starts, a.Ends = g.days(target)
	if a.Open {
		a.Use = max(0, a.Whole-g.w.Counter.worked(target.Opened, g.s.On))
	}
	a.ahead.Rest, a.ahead.Season = a.Use, a.Whole
	if whole > 0 {
		a.ahead.Season = whole
	}
	a.reach = a.Use
	if more > 0 {
		a.reach, a.Use, a.From = more, more, "as asked"
	}
	a.Blind = a.reach <= 0 && !a.Open
	return a
}

// days are the first and last day of the season looked to, by its plan or by the last one a year on.
func (g *wearGatherer) days(target *Season) (first, last string) {
	var before *Season
	for _, s := range g.seasons {
		if s.Closed != "" && (target == nil || s.Work == target.Work) {
			before = s
		}
	}
	later := func(day string) string { return dateOf(calendarDay(day).AddDate(1, 0, 0)) }
	if target != nil {
		first, last = target.start(), target.PlanTo
		if last == "" && before != nil {
			last = dateOf(calendarDay(first).Add(time.Duration(daysBetween(calendarDay(before.Opened), calendarDay(before.Closed))) * 24 * time.Hour))
		}
		return first, last
	}
	if before == nil {
		return "", ""
	}
	return later(before.Opened), later(before.Closed)
}

// day is the day on which so much further use is reached: within the season looked to, and the same days of the years after it. "" where that is not known.
func (w *Wear) day(more float64) string {
	a := w.Ahead
	if a.starts == "" || a.Ends == "" || a.Whole <= 0 || math.IsInf(more, 0) || math.IsNaN(more) {
		return ""
	}
	first, last := calendarDay(a.starts), calendarDay(a.Ends)
	if a.Open {
		first = calendarDay(w.Ahead.on(w))
	}
	left, season := more, a.ahead.Rest
	for year := 0; year <= wear.Futures; year++ {
		if season > 0 && left <= season && !last.Before(first) {
			days := float64(daysBetween(first, last))
			return dateOf(first.AddDate(0, 0, int(math.Floor(days*left/season))))
		}
		left -= season
		first, last = calendarDay(a.starts).AddDate(year+1, 0, 0), last.AddDate(1, 0, 0)
		season = a.ahead.Season
	}
	return ""
}

func (a Lookahead) on(w *Wear) string {
	if n := len(w.Counter.Points); n > 0 && w.Counter.Points[n-1].Done.Date() > a.starts {
		return w.Counter.Points[n-1].Done.Date()
	}
	return a.starts
}
