package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/wear"
)

// printWear is the decision first, then what it rests on, part by part.
func (c *call) printWear(st *rules.State, w *rules.Wear, all, why bool) {
	line := c.lines()
	title := readingName(w.Reading)
	limit := c.usual(w.LimitAmount()).String()
	c.printf("%s\n", c.paint(bold, w.Machine.Name+": "+title))
	for _, o := range w.Odd {
		c.oddLine(line, w, o)
	}
	if w.Err != nil {
		line("", "%s", noForecast(w.Err, w))
		if next := wanting(w.Err, w); next != "" {
			line("", "%s", next)
		}
		if w.Model != nil || len(w.Groups) == 0 {
			return
		}
	}
	until := w.Ahead.Name
	if w.Ahead.Blind {
		if until == "" {
			line("", "no season is known: shedbook season plan, or --use")
		} else {
			line("", "nobody knows what %s will take: shedbook season plan, or --use", until)
		}
		line("", "the limit is %s", limit)
	} else if until == "" || w.Ahead.From == "as asked" {
		until = "another " + c.usual(w.Use(w.Ahead.Use)).String()
		line("", "within %s; the limit is %s", until, limit)
	} else {
		end := "to the end of "
		if !w.Ahead.Open {
			end = "through "
		}
		line("", "%s%s: another %s (%s); the limit is %s", end, until, c.usual(w.Use(w.Ahead.Use)), w.Ahead.From, limit)
	}
	c.printWearGroups(w)
	c.printOrders(st, w)
	c.printWeighed(w)
	c.printWorn(w, all, why)
	c.printRests(w, why)
	c.printf("\n%s\n", table.Wrap(manualRules, c.columns(), ""))
}

func (c *call) oddLine(line func(string, string, ...any), w *rules.Wear, o rules.OddReading) {
	where := strings.TrimSpace(w.Machine.Fitted.Describe(record.NewPositions(o.Place), w.Reading.Of) + " " + o.Hand)
	found := o.Reading.Found
	if !o.Reading.Left.IsZero() {
		found = o.Reading.Left
	}
	expected := c.usual(w.Amount(o.Expected, 2))
	if o.Grew {
		line("! ", "%s: %s on %s, and %s before: wear does not run backwards. Was it changed, turned or cleaned without an entry? Left out", where, c.usualValue(found), o.Reading.Done.Date(), expected)
		return
	}
	line("! ", "%s: %s on %s, where the others have it near %s: measured or typed wrong? Left out: shedbook correct %s", where, c.usualValue(found), o.Reading.Done.Date(), expected, o.Reading.Entry.Short())
}

func (c *call) printWearGroups(w *rules.Wear) {
	list := table.NewList("", "", "")
	for _, g := range w.Groups {
		section := ""
		if len(w.Groups) > 1 {
			section = g.Name
			if section == "" {
				section = "the rest"
			}
		}
		for _, d := range []struct {
			do    string
			parts []rules.Worn
		}{{rules.ChangeNow, g.Change}, {rules.Watch, g.Watch}, {rules.Carry, g.Carry}} {
			if len(d.parts) == 0 {
				continue
			}
			where := wornPlaces(w, d.parts)
			if d.do == rules.Watch {
				where += "; measure again by " + c.soonest(w, d.parts)
			}
			list.Line(section, "", fmt.Sprintf("%s %d", d.do, len(d.parts)), where)
		}
	}
	c.printf("%s", list.Text(c.columns()))
}

// soonest is the counter at which the first of some parts comes to a tenth of a chance.
func (c *call) soonest(w *rules.Wear, parts []rules.Worn) string {
	least := math.Inf(1)
	for _, p := range parts {
		least = min(least, p.Forecast.Limits.Low)
	}
	life, _ := w.Counter.Life.Rat().Float64()
	return c.usual(w.Use(math.Floor(life + least))).String()
}

func (c *call) printOrders(st *rules.State, w *rules.Wear) {
	line := c.lines()
	for _, o := range w.Orders(st) {
		name := strings.TrimSpace(w.Reading.Part + " " + o.Hand)
		text := fmt.Sprintf("%s: likely %d; in hard, dry ground %d, in easy ground %d (four seasons in five lie between)", name, o.Likely, o.High, o.Low)
		switch {
		case o.High == 0:
			text = name + ": none is likely to be needed"
		case o.Shelf > 0:
			text += fmt.Sprintf("; on the shelf %d", o.Shelf)
		}
		if o.Buy > 0 {
			text += fmt.Sprintf("; to buy %d", o.Buy)
			if o.Packs > 0 {
				text += fmt.Sprintf(" (%s of %d)", does(fmt.Sprint(o.Packs), o.Packs, "pack", "packs"), o.Pack)
			}
		}
		if o.OrderBy != "" {
			text += ", order by " + o.OrderBy
		}
		line("", "%s", text)
	}
}

// printWeighed sets what is thrown away by changing early against what stopping costs.
func (c *call) printWeighed(w *rules.Wear) {
	line := c.lines()
	if left, n, ok := w.Thrown(); ok {
		text := fmt.Sprintf("changed now, %s %s still to their limit on average", does(fmt.Sprint(n), n, "part has", "parts have"), c.usualApart(w.Amount(left, 2)))
		if job := w.SwapJob(); job != nil && job.Minutes != nil {
			text += fmt.Sprintf("; each one left on and changed in the season stops the machine for about %s (%s)", hoursText(job.Minutes), jobName(job.Title, job.Name))
		}
		line("", "%s", text)
	}
	if s, ok := w.Settles(); ok {
		line("", "measured again after another %s, and come out as expected, the count would lie between %d and %d instead of %d and %d", c.usual(w.Use(s.After)), s.Low, s.High, w.All.Low, w.All.High)
	}
}

func jobName(title, name string) string {
	if title != "" {
		return title
	}
	return name
}

// printWorn is a line for each part: those to change or to watch, or all of them.
func (c *call) printWorn(w *rules.Wear, all, why bool) {
	per := "per " + c.per(w)
	t := table.New(headingOf(w), "now", per, "worked", "left (80 % limits)", "likely on", "do")
	t.Right(1, 2, 3)
	t.Keep(4, 5)
	wide := c.columns() >= 90
	rows, carry := 0, 0
	for _, p := range inPlace(w.Parts) {
		if !all && p.Do == rules.Carry {
			carry++
			continue
		}
		name := strings.TrimSpace(strings.TrimPrefix(p.Place.String(), w.Reading.Of+"/") + " " + p.Hand)
		if w.Reading.Of == "" {
			name = w.Machine.Name
		}
		rows++
		if p.Forecast == nil {
			t.Row(name)
			t.Under(noForecast(p.Why, w))
			continue
		}
		f := p.Forecast
		on, worked := p.On, ""
		if f.Past {
			on = "past it"
		}
		if wide {
			worked = c.usual(w.Use(f.Use)).String()
		}
		rate := c.usualApart(w.Amount(f.Rate*perUnits(w), 3)).Number()
		if c.columns() < 76 { // the day and the rate stand in --json and --why
			rate, on = "", ""
		}
		t.Row(name, c.usual(w.Amount(f.Size, 2)).String(), rate, worked, c.leftText(w, f.Left, f.Limits.Low, f.Limits.High), on, p.Do)
		if why {
			t.Under(c.wornWhy(w, p))
		}
	}
	if rows > 0 {
		c.printf("\n%s", t.Text(c.columns()))
	}
	if carry > 0 {
		c.lines()("", "%s: shedbook wear %s %s --all", does(fmt.Sprint(carry)+" more", carry, "will carry", "will carry"), w.Machine.Name, w.Reading.Name)
	}
	c.printLeft(w)
}

// inPlace are the parts in order of their places, not as one walks.
func inPlace(parts []rules.Worn) []rules.Worn {
	parts = slices.Clone(parts)
	slices.SortStableFunc(parts, func(a, b rules.Worn) int { return a.Place.Compare(b.Place) })
	return parts
}

// perRow is how many parts stand on a line of the chart.
const perRow = 10

// printLeft is a chart: what each part has left from its limit (0) to new (10), in tenths, in the order of their places.
func (c *call) printLeft(w *rules.Wear) {
	if !w.Reading.HasNew || len(w.Parts) < perRow || w.Parts[0].Place.Number == 0 {
		return
	}
	parts := inPlace(w.Parts)
	first, last := parts[0].Place.Number, parts[len(parts)-1].Place.Number
	cells := map[string][]string{} // hand -> cells, a place without a part or a forecast a dash
	var hands []string
	for _, p := range parts {
		if cells[p.Hand] == nil {
			hands = append(hands, p.Hand)
			cells[p.Hand] = slices.Repeat([]string{" -"}, last-first+1)
		}
		if p.Forecast != nil {
			cells[p.Hand][p.Place.Number-first] = fmt.Sprintf("%2d", tenths(w, p.Forecast.Size))
		}
	}
	c.printf("\n%s\n", table.Wrap("tenths left, from the limit (0) to new (10), by "+headingOf(w), c.columns(), ""))
	for _, hand := range hands {
		for n := 0; n < len(cells[hand]); n += perRow {
			c.printf("%s\n", strings.TrimRight(fmt.Sprintf("%4d  %s  %s", first+n, strings.Join(cells[hand][n:min(n+perRow, len(cells[hand]))], " "), hand), " "))
		}
	}
}

func headingOf(w *rules.Wear) string {
	if w.Reading.Of == "" {
		return "machine"
	}
	return w.Reading.Of
}

// perUnits is the use that rates are shown for: a hundred of the counter.
func perUnits(*rules.Wear) float64 { return 100 }

func (c *call) per(w *rules.Wear) string { return c.usual(w.Use(perUnits(w))).String() }

// leftText is "150 (90 to 240) ac"; what lies beyond sight is said so.
func (c *call) leftText(w *rules.Wear, left, low, high float64) string {
	if math.IsInf(low, 1) {
		return "far off"
	}
	side := func(v float64) string {
		if math.IsInf(v, 1) {
			return "far off"
		}
		return c.usual(w.Use(v)).Number()
	}
	unit := c.usual(w.Use(1)).Unit().String()
	if low == 0 && high == 0 {
		return "0 " + unit
	}
	return fmt.Sprintf("%s (%s to %s) %s", side(left), side(low), side(high), unit)
}

// tenths is what is left of the way from the limit to the size when new.
func tenths(w *rules.Wear, size float64) int {
	in, err := w.Reading.New.In(w.Unit, 9)
	if err != nil {
		return 0
	}
	fresh, _ := in.Rat().Float64()
	if fresh == w.Limit {
		return 0
	}
	return max(0, min(10, int(math.Floor(10*(size-w.Limit)/(fresh-w.Limit)+0.5))))
}

// wornWhy is what one part's line rests on.
func (c *call) wornWhy(w *rules.Wear, p rules.Worn) string {
	f := p.Forecast
	var b strings.Builder
	if p.Last != nil {
		v := p.Last.Found
		if !p.Last.Left.IsZero() {
			v = p.Last.Left
		}
		fmt.Fprintf(&b, "last measured %s on %s", c.usualValue(v), p.Last.Done.Date())
	} else {
		b.WriteString("never measured: by the others")
	}
	fmt.Fprintf(&b, "; %s - %s = %s to lose, at %s per %s", c.usual(w.Amount(f.Size, 3)), c.usual(w.LimitAmount()), c.usualApart(w.Amount(math.Abs(f.Size-w.Limit), 3)),
		c.usualApart(w.Amount(f.Rate*perUnits(w), 4)), c.per(w)+map[bool]string{true: " by now"}[w.Model != nil && w.Model.Curved])
	if w.Model != nil && !w.Ahead.Blind {
		fmt.Fprintf(&b, "; chance %.0f %% of passing the limit within %s", 100*f.Chance, c.usual(w.Use(w.Ahead.Use)))
	}
	return b.String() + bracketed(shortIDs(p.Entries, 4))
}

// apartWords says why parts are judged each by itself.
func apartWords(err error) string {
	if errors.Is(err, wear.ErrNoWear) {
		return "together they do not tell a common rate from the error of measuring and the ground"
	}
	return "too few were measured to learn from one another"
}

// printRests is what the forecast rests on, in words.
func (c *call) printRests(w *rules.Wear, why bool) {
	line := c.lines()
	m := w.Model
	c.printf("\n")
	if m == nil {
		line("", "each judged by its own straight line through its own readings (least squares, Fieller's limits): %s", apartWords(w.Apart))
		return
	}
	line("", "from %s of %s: %s per %s, one part from the next by %.0f %%", does(fmt.Sprint(m.Readings), m.Readings, "reading", "readings"), does(fmt.Sprint(m.Parts), m.Parts, "part", "parts"),
		c.usualApart(w.Amount(m.Rate*perUnits(w), 3)), c.per(w), 100*m.PartSD/m.Rate)
	for _, g := range m.Groups {
		if g.Name != "" && math.Abs(g.By) > g.SE {
			line("  ", "%s: %s %.0f %% (give or take %.0f)", g.Name, map[bool]string{true: "faster by", false: "slower by"}[g.By > 0], 100*math.Abs(g.By)/m.Rate, 100*g.SE/m.Rate)
		}
	}
	if m.Prior {
		line("", "only %s can be told apart by the readings: how much grounds differ is joined with a guess of %.0f %% (common practice, no source), so limits are wide; each season measured narrows them",
			does(fmt.Sprint(m.Told+1), m.Told+1, "season", "seasons"), 100*wear.PriorCV)
	} else {
		line("", "seasons differ by %.0f %%", 100*m.SeasonCV)
	}
	if m.Curved {
		line("", "wear is no straight line (it %s with use), and that is taken in; rates are those by now", map[bool]string{true: "quickens", false: "slows"}[m.Curve > 0])
	}
	if m.Repeats > 0 {
		line("", "measured twice, one part comes out differently by %s", c.usualApart(w.Amount(m.Repeat, 3)))
	}
	if !why {
		return
	}
	for _, s := range m.Seasons {
		line("  ", "%s: %s per %s over %s", s.Name, c.usualApart(w.Amount(s.Rate*perUnits(w), 3)), c.per(w), c.usual(w.Use(s.Use)))
	}
	line("  ", "size new differs by %s, one reading by %s", c.usualApart(w.Amount(m.StartSD, 3)), c.usualApart(w.Amount(m.Sigma, 3)))
	line("  ", "mixed model by restricted maximum likelihood: common rate, each part's own, groups, and each season's ground shared by all parts; limits by Student's t with %.0f degrees of freedom", m.DF)
	line("  ", "change now: a chance of %.0f %% or more of passing the limit; watch: %.0f %% or more (round figures of our own)", 100*rules.ChangeChance, 100*rules.WatchChance)
}
