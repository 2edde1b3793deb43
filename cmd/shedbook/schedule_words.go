package main

import (
	"fmt"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// These put a schedule's rules into words. They say what stands there and judge nothing.

// triggerWords is when a job comes due: "every 250 h or 12 mo, the first time 50 h".
func triggerWords(t *schedule.Trigger) string {
	var s string
	switch {
	case t.Made != "":
		s = "every " + intervalsWords(t.Every) + " from the " + spaced(t.Made) + "'s date of make"
	case len(t.Every) > 0:
		s = "every " + intervalsWords(t.Every)
		if t.Grid {
			s += " of the counter"
		}
	case t.Worked == 1:
		s = "every day it works"
	case t.Worked > 0:
		s = fmt.Sprintf("every %d days on which it works", t.Worked)
	case t.Idle > 0:
		s = fmt.Sprintf("after %d days without work", t.Idle)
	case t.Season != "":
		s = t.Season + " each season"
		if t.Work != "" {
			s += " of " + spaced(t.Work)
		}
	case t.After != "":
		s = afterWords(t)
	case t.Past != "":
		s = "when " + spaced(t.Past) + " is past its limit"
		if t.K > 0 {
			s += fmt.Sprintf(" at %d", t.K)
			if t.Of > 0 {
				s += fmt.Sprintf(" of %d", t.Of)
			}
		}
	case t.Forecast != "":
		s = "when " + spaced(t.Forecast) + " is likely to pass its limit before the season ends"
	case t.Until != "":
		s = "when the date written on the last " + spaced(t.Until) + " has come"
	}
	if len(t.First) > 0 {
		s += ", the first time " + intervalsWords(t.First)
	}
	if len(t.While) > 0 {
		s += ", while " + onlyWords(t.While)
	}
	for _, f := range t.Factors {
		by := "times " + f.By.RatString()
		switch by {
		case "times 1/2":
			by = "halved"
		case "times 2":
			by = "doubled"
		}
		s += ", " + by + " while " + onlyWords(f.While)
	}
	switch {
	case t.Soon == nil:
	case len(t.Series) == 1 && t.Soon.Counter == t.Series[0].Counter && t.Soon.Amount.Unit() == t.Series[0].Amount.Unit() && t.Soon.Amount.Rat().Cmp(t.Series[0].Amount.Rat()) >= 0:
		s += ", coming at once"
	default:
		s += ", coming " + t.Soon.String() + " before"
	}
	if t.Stored == "run" {
		s += ", in storage too"
	}
	return s
}

// afterWords is the trigger of an event: "after a new disc", "after work that loosens it, at 5 h and 20 h, then every 20 h until none moved".
func afterWords(t *schedule.Trigger) string {
	event, of, _ := strings.Cut(t.After, ":")
	of = spaced(of)
	s := "after " + map[string]string{
		"swap": "a new " + of, "turn": "the " + of + " is turned or rebuilt", "did": of, "loosened": "work that loosens it", "adjust": of + " is set", "measure": of + " is measured",
		"fault": "a fault" + before(" of the ", of), "repair": "a repair" + before(" of the ", of), "season-open": "a season" + before(" of ", of) + " is opened", "season-close": "a season" + before(" of ", of) + " is closed",
		"storage-in": "it is put into storage", "storage-out": "it is taken out of storage", "hitch": "it is hitched", "move": "it is moved to another yard",
	}[event]
	if len(t.Series) > 0 {
		var at []string
		for _, i := range t.Series {
			at = append(at, i.String())
		}
		s += ", at " + strings.Join(at, " and ")
	}
	if t.Then != nil {
		s += ", then every " + t.Then.String()
	}
	if t.UntilResult != "" {
		s += " until " + spaced(t.UntilResult)
	}
	if t.Finally != nil {
		s += ", from then on every " + t.Finally.String()
	}
	return s
}

func intervalsWords(all []schedule.Interval) string {
	var out []string
	for _, i := range all {
		out = append(out, i.String())
	}
	return strings.Join(out, " or ")
}

// onlyWords is when a condition holds.
func onlyWords(all []schedule.Only) string {
	var out []string
	for _, o := range all {
		what := ""
		switch {
		case o.Option != "":
			what = spaced(o.Option)
		case o.Setting != "":
			what = spaced(o.Setting)
		case o.Reading != "":
			what = spaced(o.Reading)
			if o.Last > 1 {
				what = fmt.Sprintf("each of the last %d of %s", o.Last, what)
			}
		case o.State != "":
			out = append(out, map[string]string{"stored": "in storage", "unfit": "not fit to run"}[o.State])
			continue
		case o.Ground != "":
			out = append(out, "the ground is "+o.Ground)
			continue
		case o.Crop != "":
			out = append(out, "the crop is "+o.Crop)
			continue
		default:
			var any []string
			for _, a := range o.Any {
				any = append(any, onlyWords([]schedule.Only{a}))
			}
			out = append(out, strings.Join(any, " or "))
			continue
		}
		var is []string
		for _, w := range o.Is {
			is = append(is, spaced(w))
		}
		out = append(out, what+" is "+strings.Join(is, " or "))
	}
	return strings.Join(out, " and ")
}

// spaced is a name of the schedule in words.
func spaced(name string) string { return strings.ReplaceAll(name, "-", " ") }

// limitWords is what a reading may be; amounts are told by show.
func limitWords(l *schedule.Limit, show func(quantity.Quantity) string) string {
	var out []string
	add := func(is bool, format string, a ...any) {
		if is {
			out = append(out, fmt.Sprintf(format, a...))
		}
	}
	add(l.HasMin, "at least %s", show(l.Min))
	add(l.HasMax, "at most %s", show(l.Max))
	add(l.HasShare && l.Falls, "at least %s of new", show(l.Share))
	add(l.HasShare && !l.Falls, "at most %s of new", show(l.Share))
	add(l.HasStep, "at most %s from the last reading", apart(l.Step, show))
	add(l.HasNeighbours, "at most %s from the median of the others", apart(l.Neighbours, show))
	add(l.OneIn != "", "at most %s / %s", show(l.OneInAmount), spaced(l.OneIn))
	s := strings.Join(out, ", ")
	switch {
	case l.K > 0 && l.Of > 0:
		s += fmt.Sprintf("; %d of any %d past it count for all", l.K, l.Of)
	case l.K > 0:
		s += fmt.Sprintf("; %d past it count for all", l.K)
	}
	return s
}

// apart tells how far two readings may be from one another. Of temperatures a difference is not shown as a temperature is: 20 degC apart is not 68 degF.
func apart(q quantity.Quantity, show func(quantity.Quantity) string) string {
	if q.Dimension() == quantity.Temperature {
		return q.String()
	}
	return show(q)
}

// optionWords is what an option may be.
func optionWords(o *schedule.Option) string {
	switch o.Type {
	case "count":
		return fmt.Sprintf("%d to %d", o.Min, o.Max)
	case "choice":
		return strings.Join(o.Choices, ", ")
	case "yes-no":
		return "yes, no"
	}
	if o.Low.IsZero() && o.High.IsZero() {
		return "any " + o.Unit.Dimension().String()
	}
	return o.Low.String() + " to " + o.High.String()
}
