package main

import (
	"fmt"
	"math"
	"math/big"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
)

// variants sets parts of the whole beside each other.
func (t *lifeText) variants(say func(indent, format string, a ...any)) {
	if t.flags.by == "" {
		return
	}
	if len(t.l.By) == 0 {
		say("", "there is nothing to set apart by %s", t.flags.by)
		return
	}
	tb := table.New(t.flags.by, "parts", "worn out", "half last", "one in ten by", "beside the rest")
	tb.Right(1, 2)
	for _, f := range t.l.By {
		if f.Weibull == nil {
			tb.Row(f.Name, fmt.Sprint(f.Parts), fmt.Sprint(f.Worn), "not enough", "", "")
			continue
		}
		differs := "not enough"
		switch {
		case f.Differs > 0.1:
			differs = "no more than chance"
		case f.Differs > 0:
			differs = fmt.Sprintf("differs (chance %.1g %%)", 100*f.Differs)
		}
		tb.Row(f.Name, fmt.Sprint(f.Parts), fmt.Sprint(f.Worn), t.amount(f.Median.Value)+" ("+t.limits(f.Median)+")", t.amount(f.B10.Value), differs)
		if t.flags.why {
			tb.Under("entries " + shortIDs(f.Entries, 12))
		}
	}
	t.printf("\n%s", tb.Text(t.columns()))
	if t.flags.by == "group" {
		say("", "Groups may have places in common; a part that moved belongs where it did the most.")
	}
}

// arithmetic is how each number came about.
func (t *lifeText) arithmetic(say func(indent, format string, a ...any)) {
	if !t.flags.why {
		return
	}
	l, f := t.l, t.l.All
	t.printf("\n%s\n", t.paint(bold, "how it was worked out"))
	if w := f.Weibull; w != nil {
		say("  ", "share still good at a use t = exp(-(t/eta)^beta), fitted by maximum likelihood to %d lives, %d ended and %d that lasted at least so long: eta %s (standard error %s), beta %.4g (standard error %.2g), log-likelihood %.4g",
			f.Parts, f.Worn, f.Parts-f.Worn, t.amount(w.Eta), t.amount(w.EtaSE), w.Beta, w.BetaSE, w.LogLik)
		say("  ", "half last eta x (ln 2)^(1/beta) = %s; one in ten by eta x (-ln 0.9)^(1/beta) = %s; limits by the normal distribution of their logarithms", t.amount(f.Median.Value), t.amount(f.B10.Value))
	}
	if len(l.Curve) > 0 {
		say("  ", "still good, as counted: Kaplan-Meier, limits by Greenwood's formula on the logarithm")
	}
	if b := l.Broken; b.Use > 0 {
		each, times := t.each(b)
		say("  ", "broken: %d in %s of all together = %.2g in %s; exact limits of a Poisson count%s", b.Count, t.amount(b.Use), b.Rate*times, each, bracketed(shortIDs(b.Entries, 6)))
	}
	if p := l.Places; len(p.Mean) > 0 {
		say("  ", "place by place: %d replaced at %d places, mean cumulative function%s", p.Replaced, p.Places, bracketed(shortIDs(p.Entries, 6)))
	}
	c := l.Coming
	switch {
	case c == nil:
		return
	case c.ByRate:
		say("  ", "ahead: %d in %s so far, and the use to come of all in use: %.2f on the mean; the range is that of a Poisson count whose rate is known from a count only (negative binomial)%s", l.Gone.Count, t.amount(l.Gone.Use), c.Count.Mean,
			bracketed(shortIDs(l.Gone.Entries, 6)))
	default:
		say("  ", "ahead: each part goes with the chance 1 - S(age + use)/S(age), or breaks at the rate above; the sum of the chances is %.2f. The range is that of the count, over all curves that the data allow", c.Count.Mean)
	}
	say("  ", "the range takes each part for itself and the season as it is planned: what is hard on all of them at once (ground, weather) is not in it, so look at the hard season too. To buy is its upper end less the shelf%s", bracketed(shortIDs(c.Entries, 6)))
}

// each is the round use for which a rate is told, 1000 of the unit that is shown, and how many times the rate's own it is.
func (t *lifeText) each(r rules.LifeRate) (words string, times float64) {
	thousand := quantity.Whole(1000, t.usual(quantity.Whole(1, t.l.Ask.Unit)).Unit())
	own, err := thousand.In(t.l.Ask.Unit, 6)
	if err != nil || r.Each <= 0 {
		return t.amount(r.Each), 1
	}
	return thousand.String(), own.Float64() / r.Each
}

// about is an amount as an estimate deserves it: three figures, in the units of the book or those asked for.
func (c *call) about(x float64, u quantity.Unit) string {
	q := figures(x, u, 6)
	if s := c.usual(q); s != q {
		q = s
	}
	return figures(q.Float64(), q.Unit(), 3).String()
}

// figures is a number rounded to so many figures. It is below 1e15, or comes out as 0.
func figures(x float64, u quantity.Unit, n int) quantity.Quantity {
	if x == 0 || math.IsNaN(x) || math.Abs(x) > 1e15 {
		return quantity.Whole(0, u)
	}
	places := n - 1 - int(math.Floor(math.Log10(math.Abs(x))))
	if places < 0 {
		step := math.Pow(10, float64(-places))
		x = math.Round(x/step) * step
	}
	q, err := quantity.FromRat(new(big.Rat).SetFloat64(x), u, min(9, max(0, places)))
	if err != nil {
		return quantity.Whole(0, u)
	}
	return q
}

func (t *lifeText) amount(x float64) string { return t.about(x, t.l.Ask.Unit) }

// limits is "2400 to 3500 ac".
func (t *lifeText) limits(s rules.LifeSpan) string {
	low := t.amount(s.Low)
	if s.Open {
		return low + " or more"
	}
	high := t.amount(s.High)
	if low == high {
		return low
	}
	if number, unit, ok := strings.Cut(high, " "); ok {
		return strings.TrimSuffix(low, " "+unit) + " to " + number + " " + unit
	}
	return low + " to " + high
}
