package schedule

import (
	"fmt"
	"strings"

	"shedbook/rules/quantity"
)

// String is how the interval is written: "250 h", "12 mo", "250 h on separator".
func (i Interval) String() string {
	if i.Named && i.Counter != "" {
		return i.Amount.String() + " on " + i.Counter
	}
	return i.Amount.String()
}

// Calendar reports an interval of days, weeks, months or years.
func (i Interval) Calendar() bool { return i.Counter == "" }

// isCalendar tells units of the calendar from those of a counter: a day is calendar time, an hour is the machine's.
func isCalendar(u quantity.Unit) bool {
	switch u.String() {
	case "d", "wk", "mo", "yr":
		return true
	}
	return false
}

// interval reads one interval; of several counters that count in such units the main one is meant
// unless another is named: "250 h", "12 mo" or "250 h on separator".
func (t *table) interval(key string) *Interval {
	list := t.intervals(key)
	if len(list) == 0 {
		return nil
	}
	if len(list) > 1 {
		n := t.raw(key)
		t.wrong(n.list[1], "write one", "%s of %s is one interval", key, t.what)
	}
	return &list[0]
}

func (t *table) intervals(key string) []Interval {
	var out []Interval
	for _, n := range t.intervalNodes(key) {
		i, err := readInterval(n.text, t.r.counters)
		if err != nil {
			t.wrong(n, "", "%s of %s: %v", key, t.what, err)
			continue
		}
		for _, o := range out {
			if o.Counter == i.Counter {
				t.wrong(n, "keep one", "%s of %s has two intervals of one kind, %s and %s", key, t.what, o, i)
			}
		}
		out = append(out, i)
	}
	return out
}

// intervalNodes are the texts of one or several intervals; a number without a unit says nothing of what it counts.
func (t *table) intervalNodes(key string) []*node {
	var out []*node
	for _, n := range t.nodes(key, textNode, integerNode, decimalNode) {
		if n.kind != textNode {
			t.wrong(n, fmt.Sprintf(`write "%[1]s h", "%[1]s ac", "%[1]s mo" or the like`, n.text), "%s of %s is %s without a unit", key, t.what, n.text)
			continue
		}
		out = append(out, n)
	}
	return out
}

func readInterval(text string, counters []Counter) (Interval, error) {
	amount, name, named := strings.Cut(text, " on ")
	q, err := quantity.Parse(amount)
	if err != nil {
		return Interval{}, err
	}
	if q.Sign() <= 0 {
		return Interval{}, fmt.Errorf("%q is no interval: it must be more than nothing", text)
	}
	if isCalendar(q.Unit()) {
		if named {
			return Interval{}, fmt.Errorf("%q is calendar time: leave %q out", text, " on "+name)
		}
		if strings.Contains(q.Number(), ".") {
			return Interval{}, fmt.Errorf("%q has a part of a day: write whole days, weeks, months or years", text)
		}
		if tooLong(q) {
			return Interval{}, fmt.Errorf("%q is more than 100 years: write a shorter interval", text)
		}
		return Interval{Amount: q}, nil
	}
	var names, fit []string
	for _, c := range counters {
		if c.Trip {
			continue // zeroed by the driver: nothing can be counted on it
		}
		names = append(names, c.Name)
		if q.Unit().Converts(c.Unit) && (q.Unit() != quantity.Unit{} || c.Unit == quantity.Unit{}) {
			fit = append(fit, c.Name)
			if named && c.Name == strings.TrimSpace(name) {
				return Interval{Amount: q, Counter: c.Name, Named: true}, nil
			}
			if !named && c.Main {
				return Interval{Amount: q, Counter: c.Name}, nil
			}
		}
	}
	switch {
	case named && contains(names, strings.TrimSpace(name)):
		return Interval{}, fmt.Errorf("%q: the counter %s does not count in %s", text, strings.TrimSpace(name), unitName(q.Unit()))
	case named:
		return Interval{}, fmt.Errorf("%q: no counter %q: %s", text, strings.TrimSpace(name), didYouMean(strings.TrimSpace(name), names))
	case len(fit) == 0:
		return Interval{}, fmt.Errorf("%q: no counter counts in %s: this kind has %s; count it on one of these or add a counter", text, unitName(q.Unit()), countersInWords(counters))
	case len(fit) > 1:
		return Interval{}, fmt.Errorf("%q could be on %s: write %q", text, listed(fit, "or"), q.String()+" on "+fit[0])
	}
	return Interval{Amount: q, Counter: fit[0]}, nil
}

var century = []quantity.Quantity{quantity.Whole(100, quantity.MustUnit("yr")), quantity.Whole(36525, quantity.MustUnit("d"))}

// tooLong reports a span of the calendar above 100 years. No machine is kept so long, and days in years of five digits are not dates any more.
func tooLong(q quantity.Quantity) bool {
	for _, most := range century { // months and years are one dimension, days and weeks another
		if c, err := q.Cmp(most); err == nil {
			return c > 0
		}
	}
	return false
}

func unitName(u quantity.Unit) string {
	if u == (quantity.Unit{}) {
		return "bare numbers"
	}
	return u.String()
}

func countersInWords(counters []Counter) string {
	var words []string
	for _, c := range counters {
		if c.Trip {
			continue
		}
		words = append(words, c.Name+" in "+unitName(c.Unit))
	}
	if len(words) == 0 {
		return "no counter"
	}
	return listed(words, "and")
}

func contains(words []string, word string) bool {
	for _, w := range words {
		if w == word {
			return true
		}
	}
	return false
}
