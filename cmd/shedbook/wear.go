package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
	"shedbook/rules/stats"
	"shedbook/rules/wear"
)

func wearCommand() *command {
	var use string
	var why, all bool
	return &command{
		name: "wear", section: "read", brief: "say which parts wear out before the season ends, and when", reads: true,
		usage:    []string{"wear MACHINE [READING] [--use AMOUNT] [--all] [--why]"},
		examples: []string{"wear drill", "wear drill disc-reach --use 600ac", "wear drill --on 2027-01-15 --json"},
		about: `From sizes measured on each part and what it had worked by then: which parts to change now, which will carry, which to measure again and when; how many to order; and for each its size, rate, and the use and day at which it meets its limit, with limits that hold four times in five.

All parts go through a season's ground together: the same disc lasts half as long in a dry, abrasive spring. How much seasons differ is learned from your own; where fewer than four can be told apart a wider guess is joined to it, and the answer says so.

It looks to the end of the season under way, else of the next one, at the use it is planned for, else the mean of those past. --use asks about so much more use instead.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&use, "use", "", "how much further `use` to look ahead, 600ac")
			fs.BoolVar(&all, "all", false, "each part on a line, those that will carry too")
			fs.BoolVar(&why, "why", false, "what the figures rest on, and the entries of each part")
		},
		run: func(c *call) error { return c.wear(use, all, why) },
	}
}

func (c *call) wear(use string, all, why bool) error {
	if len(c.args) == 0 || len(c.args) > 2 {
		return usage("shedbook wear drill disc-reach", "wear takes a machine, and perhaps one of its readings")
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	st, err := b.now()
	if err != nil {
		return err
	}
	m, err := findMachine(st, strings.ToLower(c.args[0]))
	if err != nil {
		return err
	}
	readings, err := wearReadings(m, c.args[1:])
	if err != nil {
		return err
	}
	var found, measured []*rules.Wear
	for _, def := range readings {
		more, err := moreUse(m, def, use)
		if err != nil {
			return err
		}
		w := rules.ForecastWear(st, m, def, more)
		if len(c.args) == 2 || !errors.Is(w.Err, wear.ErrNoReadings) {
			found = append(found, w)
		} else if len(m.Readings[def.Name]) > 0 {
			measured = append(measured, w)
		}
	}
	if len(found) == 0 {
		found = measured // each says what is wanting
	}
	if len(found) == 0 {
		return failed("never-measured", measureLine(m, readings[0]), "nothing that wears was ever measured on %s", m.Name)
	}
	if c.json {
		err = c.printJSON(c.wearJSON(st, m, found))
	} else {
		err = c.paged(func() error {
			for i, w := range found {
				if i > 0 {
					c.printf("\n")
				}
				c.printWear(st, w, all, why)
			}
			return nil
		})
	}
	if err != nil {
		return err
	}
	return b.soundness()
}

// wearReadings are the readings asked about: the one named, else all that can be forecast.
func wearReadings(m *rules.Machine, names []string) ([]*schedule.Reading, error) {
	if m.Fitted == nil {
		return nil, failed("no-schedule", "shedbook schedule list", "the schedule of %s cannot be read, so nobody knows what wears", m.Name)
	}
	can := rules.WearReadings(m)
	var known, parts []string
	for _, def := range can {
		known = append(known, def.Name)
		if def.Part != "" {
			parts = append(parts, def.Part)
		}
	}
	if len(names) == 0 {
		if len(can) == 0 {
			return nil, failed("nothing-wears", "a reading that wears names its limit and the counter it wears with: shedbook schedule show "+m.Kind, "no reading of the schedule %s has a limit that wear runs into", m.Kind)
		}
		return can, nil
	}
	name := strings.ToLower(names[0])
	for _, def := range can {
		if def.Name == name || def.Part == name {
			return []*schedule.Reading{def}, nil
		}
	}
	if def, ok := m.Fitted.Reading(name); ok {
		return nil, failed("no-limit", "shedbook schedule show "+m.Kind, "%s is no size that wears to a limit with a counter, by the schedule %s", def.Name, m.Kind)
	}
	hint := "shedbook schedule show " + m.Kind
	if len(known) > 0 {
		hint = "what wears: " + strings.Join(known, ", ")
	}
	return nil, failed("unknown-reading", hint, "%s has no reading %q%s", m.Name, name, didYouMean(name, append(known, parts...)))
}

// moreUse is the further use asked about, 0 where none is.
func moreUse(m *rules.Machine, def *schedule.Reading, use string) (float64, error) {
	if use == "" {
		return 0, nil
	}
	counter, ok := m.Fitted.Counter(def.Wears[0])
	if !ok {
		return 0, nil
	}
	q, err := quantity.ParseIn(use, counter.Unit)
	if err == nil {
		q, err = q.In(counter.Unit, 6)
	}
	if err != nil || q.Sign() <= 0 {
		return 0, usage(fmt.Sprintf("shedbook wear %s %s --use \"600 %s\"", m.Name, def.Name, counter.Unit), "--use %q is no amount of %s", use, counter.Name)
	}
	f, _ := q.Rat().Float64()
	return f, nil
}

// noForecast says why there is none, and what to do.
func noForecast(err error, w *rules.Wear) string {
	title := readingName(w.Reading)
	switch {
	case errors.Is(err, wear.ErrNoReadings):
		return "no forecast: " + title + " wants readings at two different uses of a part, or one of a part that was new within the record"
	case errors.Is(err, wear.ErrNoUse):
		return "no forecast: nobody knows what the parts had worked when they were measured"
	case errors.Is(err, wear.ErrNoWear):
		return "no forecast: they have not lost enough yet to tell a rate from the error of measuring and the ground"
	case errors.Is(err, rules.ErrFewParts):
		return "no forecast: too few parts were measured to learn from one another, and none three times by itself"
	case errors.Is(err, stats.ErrTooFew):
		return "three readings of it are needed"
	case errors.Is(err, stats.ErrNoSpread):
		return "its readings were all taken at the same use"
	}
	return "no forecast: " + err.Error()
}

// wanting says what is measured, how often and when, so that there is a forecast, with the line to type; "" where measuring does not help.
func wanting(err error, w *rules.Wear) string {
	so, last := 0, (*rules.Reading)(nil)
	for _, all := range w.Machine.Readings[w.Reading.Name] {
		if len(all) > 0 {
			so++
			if n := all[len(all)-1]; last == nil || n.Done.Compare(last.Done) > 0 || n.Done == last.Done && n.Entry < last.Entry {
				last = n
			}
		}
	}
	done := "none is measured so far"
	if last != nil {
		done = fmt.Sprintf("%s measured so far, the last on %s", does(fmt.Sprint(so), so, "place", "places"), last.Done.Date())
	}
	read := last != nil && w.Counter != nil && slices.ContainsFunc(w.Counter.Points, func(p rules.CounterPoint) bool { return p.Entry == last.Entry })
	unread := !read && (errors.Is(err, wear.ErrNoUse) || errors.Is(err, wear.ErrNoReadings) && len(w.Counter.Points) == 0)
	line := measureLine(w.Machine, w.Reading)
	switch {
	case unread && last != nil:
		return fmt.Sprintf("next: say what %s stood at when they were measured: shedbook correct %s --counter %s=...; then measure once more when the season ends: %s", w.Counter.Name, last.Entry.Short(), w.Counter.Name, line)
	case errors.Is(err, wear.ErrNoReadings), errors.Is(err, wear.ErrNoUse):
		return "next: " + done + "; two readings of each are wanted, with a season or so of work in between, and the counter's with them: " + line
	case errors.Is(err, wear.ErrNoWear):
		return "next: " + done + "; measure them all again when the season ends, with the counter's reading: " + line
	case errors.Is(err, rules.ErrFewParts):
		return fmt.Sprintf("next: %s; measure %d or more, each twice with a season or so of work in between, or one three times: %s", done, rules.FewestParts, line)
	}
	return ""
}

// measureLine is the line by which a reading is keyed in place by place, with that of the counter it wears with.
func measureLine(m *rules.Machine, def *schedule.Reading) string {
	s := "shedbook measure " + m.Name + " " + def.Name + " --ask"
	if len(def.Wears) > 0 {
		s += " --counter " + def.Wears[0] + "=..."
	}
	return s
}

func readingName(def *schedule.Reading) string {
	if def.Title != "" {
		return def.Title
	}
	return def.Name
}

// wornPlaces joins the places of some parts.
func wornPlaces(w *rules.Wear, parts []rules.Worn) string {
	hands := map[string][]record.Position{}
	var order []string
	for _, p := range parts {
		if hands[p.Hand] == nil {
			order = append(order, p.Hand)
		}
		hands[p.Hand] = append(hands[p.Hand], p.Place)
	}
	slices.Sort(order)
	var out []string
	for _, h := range order {
		out = append(out, strings.TrimSpace(w.Machine.Fitted.Describe(record.NewPositions(hands[h]...), w.Reading.Of)+" "+h))
	}
	return strings.Join(out, "; ")
}
