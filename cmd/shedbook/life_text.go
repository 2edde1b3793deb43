package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// lifeText prints a part's life: the answer in words, then what it rests on.
type lifeText struct {
	*call
	st    *rules.State
	l     *rules.PartLife
	flags lifeFlags
	name  string // machine or kind, as typed
}

// lifeCaution stands below every life: a forecast is no inspection.
const lifeCaution = "A life is what the past tells on the mean, no leave to run: what is past its limit, rough or cracked goes out at whatever age. "

func (t *lifeText) print() {
	l := t.l
	say := func(indent, format string, a ...any) { // prose: it goes on where it began
		t.printf("%s\n", table.Wrap(indent+table.Clean(fmt.Sprintf(format, a...)), t.columns(), indent))
	}
	say("", "%s of %s, lives on the counter %s, up to %s", l.Ask.Part, t.name, l.Ask.Counter, t.st.On)
	if len(l.Lives) == 0 {
		say("", "no %s is in the book yet", l.Ask.Part)
		return
	}
	t.answer(say)
	t.coming(say)
	t.ends(say)
	t.ways(say)
	t.curve()
	t.variants(say)
	t.arithmetic(say)
	t.printf("\n%s\n", table.Wrap(lifeCaution+manualRules, t.columns(), ""))
}

// answer is what a person came for.
func (t *lifeText) answer(say func(indent, format string, a ...any)) {
	l, f := t.l, t.l.All
	if f.Weibull == nil {
		say("", "Not enough to say how long they last: %s.%s", f.Not, enough(f))
		if f.Worn > 0 && len(l.Curve) > 0 {
			first := l.Curve[0]
			say("", "The first went at %s.", t.amount(first.Time))
		}
	} else {
		say("", "%s of %s wore out. Half of them last %s (%.0f %% limits %s); one in ten is worn out by %s (B10, %s).", fmt.Sprint(f.Worn), does(fmt.Sprint(f.Parts), f.Parts, l.Ask.Part, l.Plural),
			t.amount(f.Median.Value), rules.LifeLevel*100, t.limits(f.Median), t.amount(f.B10.Value), t.limits(f.B10))
		of := func(x float64) string { return figures(x, quantity.Unit{}, 2).Number() }
		shape := fmt.Sprintf("(shape %s, %s to %s)", of(f.Shape.Value), of(f.Shape.Low), of(f.Shape.High))
		if f.Shape.Open {
			shape = fmt.Sprintf("(shape %s, %s or more)", of(f.Shape.Value), of(f.Shape.Low))
		}
		switch {
		case f.Shape.Low > 1:
			say("", "They wear out with age %s.", shape)
		case f.Shape.High < 1 && !f.Shape.Open:
			say("", "New ones go more readily than old ones %s: look at how they are fitted, or at the lot.", shape)
		default:
			say("", "Whether they go by age or by chance is not settled %s.", shape)
		}
		if f.Worn < rules.LifeEnough {
			say("", "It rests on %d worn out: a first estimate. %d would tell the shape to about a quarter.", f.Worn, rules.LifeEnough)
		}
	}
	if b := l.Broken; b.Count > 0 {
		each, times := t.each(b)
		say("", "%s broke, whatever the age: %.2g in %s at each place (%.0f %% limits %.2g to %.2g). That is not counted as wear.", plainCount(b.Count), b.Rate*times, each, rules.LifeLevel*100, b.Limits.Low*times, b.Limits.High*times)
	}
	if p := l.Places; p.Most > 1 && len(p.Mean) > 0 {
		last := p.Mean[len(p.Mean)-1]
		say("", "Place by place: replaced %.2g times by %s on the mean, whatever the reason; most at %s, %d times.", last.Mean, t.amount(last.Age), t.placeWords(p), p.Most)
	}
}

func plainCount(n int) string {
	if n == 1 {
		return "One"
	}
	return fmt.Sprint(n)
}

// enough is how many worn out ones it takes.
func enough(f rules.LifeFit) string {
	if f.More == 0 {
		return ""
	}
	return fmt.Sprintf(" A first estimate takes %d that wore out, so %d more; %d would tell the shape to about a quarter.", rules.LifeLeast, f.More, rules.LifeEnough)
}

func (t *lifeText) placeWords(p rules.LifePlaces) string {
	m := t.st.MachineByID(p.MostOn)
	at, hand := rules.SplitSlot(p.MostAt)
	words := "the machine"
	if at != (record.Position{}) {
		words = describer(t.st, p.MostOn)(record.NewPositions(at))
	} else if m != nil {
		return m.Name
	}
	if t.l.Ask.Machine == nil && m != nil {
		words = m.Name + " " + words
	}
	return strings.TrimSpace(words + " " + hand)
}

// coming is the season ahead.
func (t *lifeText) coming(say func(indent, format string, a ...any)) {
	c := t.l.Coming
	if c == nil {
		if t.l.All.Weibull != nil || t.l.Gone.Count > 0 {
			say("", "Of the season ahead nothing can be said: %s. Add --use 400%s.", t.l.NotAhead, t.l.Ask.Unit)
		}
		return
	}
	var season, machines, from []string
	for _, n := range c.Seasons {
		if !slices.Contains(from, n.From) {
			from = append(from, n.From)
		}
	}
	for _, n := range c.Seasons {
		name := "the next season"
		if n.Season != nil {
			name = n.Season.Name
		}
		if !slices.Contains(season, name) {
			season = append(season, name)
		}
		words := t.amount(n.Use)
		if len(from) > 1 {
			words += ", " + n.From
		}
		if len(c.Seasons) > 1 {
			words = n.Machine.Name + " " + words
		}
		machines = append(machines, words)
	}
	if len(from) == 1 {
		machines[len(machines)-1] += ", " + from[0]
	}
	t.printf("\n")
	if g := t.l.Gone; c.ByRate {
		say("", "For want of a life, by how many went so far at whatever age: %d worn out or broken in %s of all together. Parts that wear go more readily as they age: take what follows as a least number.", g.Count, t.amount(g.Use))
	}
	say("", "In %s (%s) likely %d of the %d in use go, with %.0f %% chance %d to %d. If it is a hard one (half as much wear again), likely %d.", strings.Join(season, ", "), strings.Join(machines, "; "),
		c.Count.Likely, c.Parts, rules.LifeLevel*100, c.Count.Low, c.Count.High, c.Harsh.Likely)
	if c.Least > 0 && !c.ByRate {
		say("", "It is a least number: of %d the use before the book began is not known, so they are taken for younger than they are.", c.Least)
	}
	if name := measuredWear(c.Seasons, t.l.Ask.Part); name != "" {
		say("", "This goes by what became of earlier ones. What is measured on those in use now says more: shedbook wear %s", name)
	}
	if c.Not > 0 {
		say("", "%d more are in use and could not be judged.", c.Not)
	}
	tb := table.New("hand", "in use", "likely", fmt.Sprintf("%.0f %%", rules.LifeLevel*100), "on shelf", "to buy", "order by")
	tb.Right(1, 2, 4)
	for _, o := range c.Hands {
		hand := o.Hand
		if hand == "" {
			hand = "all"
		}
		buy := fmt.Sprint(o.Buy)
		switch {
		case o.Buy == 0:
			buy = "none"
		case o.Packs > 0:
			buy += fmt.Sprintf(" (%s of %d)", does(fmt.Sprint(o.Packs), o.Packs, "pack", "packs"), o.Pack)
		}
		by := o.By
		if by != "" && by < t.st.On {
			by = "late: " + by
		}
		tb.Row(hand, fmt.Sprint(o.Parts), fmt.Sprint(o.Count.Likely), fmt.Sprintf("%d to %d", o.Count.Low, o.Count.High), fmt.Sprint(o.Shelf), buy, by)
	}
	t.printf("%s", tb.Text(t.columns()))
}

// lifeEnds is how the ends are told, in the order of the table.
var lifeEnds = []struct{ end, words, counted string }{
	{rules.EndWorn, "worn out", ""},
	{rules.EndUnsaid, "no reason told", "as worn out"},
	{rules.EndInTime, "changed in good time", "lasted so long"},
	{rules.EndWithSet, "changed with the set", "lasted so long"},
	{rules.EndBroken, "broken", "lasted so long"},
	{rules.EndOff, "taken off, on a shelf", "lasted so long"},
	{rules.EndInUse, "in use", "lasted so long"},
}

// ends is what became of the parts, and which of them were left out.
func (t *lifeText) ends(say func(indent, format string, a ...any)) {
	tb := table.New("what became of them", "parts", "from", "to", "counted")
	tb.Right(1, 2, 3)
	out := map[string][]rules.Lived{}
	for _, v := range t.l.Lives {
		if v.Without != "" {
			out[v.Without] = append(out[v.Without], v)
		}
	}
	for _, e := range lifeEnds {
		n, low, high := 0, math.Inf(1), 0.0
		var ids []record.ID
		for _, v := range t.l.Lives {
			if v.End == e.end && v.Without == "" {
				n++
				low, high = min(low, v.Use), max(high, v.Use)
				for _, id := range v.Entries[len(v.Entries)-1:] {
					if !slices.Contains(ids, id) {
						ids = append(ids, id)
					}
				}
			}
		}
		if n == 0 {
			continue
		}
		counted := e.counted
		if e.end == rules.EndUnsaid && t.l.Planned {
			counted = "lasted so long"
		}
		tb.Row(e.words, fmt.Sprint(n), t.amount(low), t.amount(high), counted)
		if t.flags.why {
			tb.Under("entries " + shortIDs(ids, 12))
		}
	}
	t.printf("\n%s", tb.Text(t.columns()))
	if t.l.Turned > 0 {
		say("", "%d were turned, sharpened or rebuilt on the way: counted from new to the end.", t.l.Turned)
	}
	if t.l.Late > 0 {
		say("", "%d came into the book with a use that somebody told: counted from there on.", t.l.Late)
	}
	for _, why := range []string{rules.WithoutStart, rules.WithoutUse, rules.WithoutCounter, rules.WithoutPlace} {
		n := len(out[why])
		if n == 0 {
			continue
		}
		worn, low, high := 0, math.Inf(1), 0.0
		for _, v := range out[why] {
			if v.End == rules.EndWorn || v.End == rules.EndUnsaid && !t.l.Planned {
				worn++
				low, high = min(low, v.Use), max(high, v.Use)
			}
		}
		also := ""
		switch {
		case worn > 0 && why == rules.WithoutStart:
			also = fmt.Sprintf(" (%d of them worn out since, after at least %s)", worn, t.limits(rules.LifeSpan{Low: low, High: high}))
		case worn > 0:
			also = fmt.Sprintf(" (%d of them worn out since)", worn)
		}
		next := ""
		if why == rules.WithoutStart {
			next = fmt.Sprintf("; if somebody knows: shedbook assume %s %s used=600%s", t.anyMachine(out[why]), t.l.Ask.Part, t.l.Ask.Unit)
		}
		say("", "left out, %d%s: %s%s", n, also, why, next)
	}
}

func (t *lifeText) anyMachine(lives []rules.Lived) string {
	if m := t.st.MachineByID(lives[0].Machine); m != nil {
		return m.Name
	}
	return t.name
}

// ways is how far the answer hangs on the reasons.
func (t *lifeText) ways(say func(indent, format string, a ...any)) {
	if len(t.l.Ways) == 0 || t.l.All.Weibull == nil {
		return
	}
	tb := table.New("if the reasons are taken otherwise", "worn out", "half last", "one in ten by")
	tb.Right(1)
	row := func(name string, f rules.LifeFit) {
		if f.Weibull == nil {
			tb.Row(name, fmt.Sprint(f.Worn), "not enough", "")
			return
		}
		tb.Row(name, fmt.Sprint(f.Worn), t.amount(f.Median.Value), t.amount(f.B10.Value))
	}
	row("as told", t.l.All)
	informative := false
	for _, f := range t.l.Ways {
		row(f.Name, f)
	}
	for _, v := range t.l.Lives {
		informative = informative || v.Without == "" && (v.End == rules.EndWithSet || v.End == rules.EndInTime)
	}
	t.printf("\n%s", tb.Text(t.columns()))
	if informative {
		say("", "What is changed with the set, or in good time, is mostly near its end. As told, such a part counts as good for as long as any other of its age: lives come out too long. As good as worn out is the least they can be.")
	}
}

// curve sets what was counted beside the curve.
func (t *lifeText) curve() {
	steps := t.l.Curve
	if len(steps) == 0 {
		return
	}
	tb := table.New("by", "watched", "still good", fmt.Sprintf("%.0f %% limits", rules.LifeLevel*100), "by the curve")
	tb.Right(0, 1, 2)
	const most = 8
	for i, s := range steps {
		if !t.flags.curve && len(steps) > most && i != len(steps)-1 && (i*most)/len(steps) == ((i+1)*most)/len(steps) {
			continue
		}
		limits := s.Limits(rules.LifeLevel)
		curve := ""
		if w := t.l.All.Weibull; w != nil {
			curve = percent(w.Survives(s.Time))
		}
		tb.Row(t.amount(s.Time), fmt.Sprint(s.AtRisk), percent(s.Share), percent(limits.Low)+" to "+percent(limits.High), curve)
	}
	t.printf("\n%s", tb.Text(t.columns()))
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// measuredWear is the machine and the reading from which the wear of a part is forecast, the first where there are several; "" where none of it was measured.
func measuredWear(seasons []rules.LifeSeason, part string) string {
	for _, n := range seasons {
		for _, def := range rules.WearReadings(n.Machine) {
			if def.Part == part && len(n.Machine.Readings[def.Name]) > 0 {
				return n.Machine.Name + " " + def.Name
			}
		}
	}
	return ""
}
