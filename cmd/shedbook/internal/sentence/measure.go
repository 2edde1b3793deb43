package sentence

import (
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// measure tells readings as a range, "5.2 to 5.9 in", or for graded words each with its places; what could not be measured comes last.
func (t *teller) measure(r *record.Measure) string {
	noun, title := "", plain(r.Reading)
	if f := t.fitted(); f != nil {
		if x, ok := f.Reading(r.Reading); ok {
			noun, title = x.Of, Title(x.Title, r.Reading)
		}
	}
	var here []record.Measured
	for _, v := range r.Values {
		if !t.at.IsZero() && !v.Positions.IsZero() {
			if v.Positions = both(v.Positions, t.at); v.Positions.IsZero() {
				continue
			}
		}
		here = append(here, v)
	}
	var got, cannot record.Positions
	hands := map[string]bool{}
	for _, v := range here {
		if v.Cannot == "" {
			got = got.Union(v.Positions)
			hands[v.Hand] = true
		}
	}
	for _, v := range here {
		if v.Cannot != "" {
			cannot = cannot.Union(v.Positions.Without(got))
		}
	}
	s := "measured " + title
	if len(hands) == 1 {
		for h := range hands {
			s = "measured " + before("", h) + space(h) + title
		}
	}
	all := got.Union(cannot)
	where := Places(t.m, all, noun)
	if !cannot.IsZero() && !got.IsZero() {
		where = Places(t.m, got, noun)
	}
	s += on(where)
	s += t.values(here, noun)
	if why := t.cannot(here, noun); why != "" {
		s += " (" + why + ")"
	}
	if len(r.Condition) > 0 {
		var at []string
		for _, c := range r.Condition {
			at = append(at, plain(c.Name)+" "+c.Value.Show(t.sys))
		}
		s += ", " + and(at)
	}
	return s + before(", with ", r.With) + t.words()
}

func space(s string) string {
	if s == "" {
		return ""
	}
	return " "
}

// values are the readings found, and as left where that was recorded.
func (t *teller) values(all []record.Measured, noun string) string {
	found := t.spread(all, noun, func(v record.Measured) record.Value { return v.Found })
	left := t.spread(all, noun, func(v record.Measured) record.Value { return v.Left })
	switch {
	case found == "" && left == "":
		return ""
	case left == "":
		return ": " + found
	case found == "":
		return ": left at " + left
	}
	return ": found " + found + ", left at " + left
}

// spread is one value, a range, or each word with its places.
func (t *teller) spread(all []record.Measured, noun string, pick func(record.Measured) record.Value) string {
	var low, high quantity.Quantity
	amounts := 0
	var words []string
	places := map[string]record.Positions{}
	for _, v := range all {
		x := pick(v)
		q, amount := x.Quantity()
		switch {
		case x.IsZero():
		case !amount:
			if _, seen := places[x.Word()]; !seen {
				words = append(words, x.Word())
			}
			places[x.Word()] = places[x.Word()].Union(v.Positions)
		case amounts == 0:
			low, high, amounts = q, q, 1
		default:
			amounts++
			if c, err := q.Cmp(low); err == nil && c < 0 {
				low = q
			}
			if c, err := q.Cmp(high); err == nil && c > 0 {
				high = q
			}
		}
	}
	var out []string
	if amounts > 0 {
		out = append(out, Range(low, high, t.sys))
	}
	for _, w := range words {
		s := plain(w)
		if len(words) > 1 || amounts > 0 {
			s += on(Places(t.m, places[w], noun))
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

// Range is "5.2 to 5.9 in", or one amount where both are the same.
func Range(low, high quantity.Quantity, sys quantity.System) string {
	low, high = low.Usual(sys), high.Usual(sys)
	switch {
	case low == high:
		return low.String()
	case low.Unit() == high.Unit():
		return low.Number() + " to " + high.String()
	}
	return low.String() + " to " + high.String()
}

// cannot tells which places have no reading and why.
func (t *teller) cannot(all []record.Measured, noun string) string {
	var out []string
	for _, why := range []struct{ word, say string }{{"reach", "could not be reached"}, {"fitted", "not fitted"}, {"read", "could not be read"}} {
		var places record.Positions
		found := false
		hand := ""
		for _, v := range all {
			if v.Cannot == why.word {
				places, found, hand = places.Union(v.Positions), true, v.Hand
			}
		}
		if !found {
			continue
		}
		where := Places(t.m, places, noun)
		if where == "" {
			out = append(out, why.say)
			continue
		}
		out = append(out, where+before(" ", hand)+" "+why.say)
	}
	return strings.Join(out, "; ")
}
