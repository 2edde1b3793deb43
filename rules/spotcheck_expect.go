package rules

import (
	"fmt"
	"math"
	"math/big"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// spotGuess is the share of the wear expected since the last reading by which it may be off where the readings are too few to tell. Our own round figure.
const spotGuess = 0.5

// wornKey orders places by the least share likely left there today, the least as the greatest text.
func (c *spotting) wornKey(p record.Position) (string, bool) {
	least, ok := math.Inf(1), false
	for i := range c.left {
		for _, x := range c.left[i].Places {
			share, known := x.Today()
			if x.Place == p && known {
				least, ok = min(least, share), true
			}
		}
	}
	return fmt.Sprintf("%020.9f", 1e6-least), ok
}

// changed is the day on which a part that the card measures was last put in there, by an entry; where it measures none, any part.
func (c *spotting) changed(p record.Position) (string, bool) {
	measured := map[string]bool{}
	for i := range c.left {
		if l := &c.left[i]; l.Part != "" && l.Reading.Of == p.Noun {
			measured[l.Part] = true
		}
	}
	day := ""
	for _, part := range names(c.j.m.Slots, c.j.m.Slots) {
		def, ok := c.j.m.Fitted.Part(part)
		if !ok || def.Fluid || len(measured) > 0 && !measured[part] {
			continue
		}
		for _, s := range c.j.slots(part, p) {
			if s.Part != nil && !s.Disputed && s.Since != "" {
				day = max(day, s.Since.Date())
			}
		}
	}
	return day, day != ""
}

type spotGroup struct {
	name string
	in   record.Positions
}

// groups are the groups of a noun that hold some of its places and not all, and what lies in none of them, in an order that is drawn; where it has none, its row cut into four.
func (c *spotting) groups(noun string) []spotGroup {
	f := c.j.m.Fitted
	all := f.All(noun)
	var out []spotGroup
	rest := all
	for i := range f.Groups {
		def := &f.Groups[i]
		in, ok := f.GroupPositions(def.Name)
		if ok && def.Of == noun && !in.IsZero() && in.Len() < all.Len() {
			out, rest = append(out, spotGroup{def.Name, in}), rest.Without(in)
		}
	}
	if len(out) > 0 && !rest.IsZero() {
		out = append(out, spotGroup{"", rest})
	}
	if len(out) == 0 {
		row := f.Walk(all)
		for k := range 4 {
			if from, to := len(row)*k/4, len(row)*(k+1)/4; to > from {
				out = append(out, spotGroup{"", record.NewPositions(row[from:to]...)})
			}
		}
	}
	for i := len(out) - 1; i > 0; i-- {
		k := c.draw.below(i + 1)
		out[i], out[k] = out[k], out[i]
	}
	return out
}

// place is what the book expects at one place.
func (c *spotting) place(p record.Position) SpotPlace {
	out := SpotPlace{Place: p}
	wears := map[string]bool{}
	for i := range c.left {
		l := &c.left[i]
		wears[l.Reading.Name] = true
		for k := range l.Places {
			switch x := &l.Places[k]; {
			case x.Place != p:
			case x.On != "":
				out.Expected = append(out.Expected, c.worn(l, x, l.Worn(k)))
			default:
				if size, ok := c.fresh(l, x, l.Worn(k)); ok {
					out.Expected = append(out.Expected, size)
				}
			}
		}
	}
	for i := range c.j.m.Fitted.Readings {
		def := &c.j.m.Fitted.Readings[i]
		if def.Of == p.Noun && !wears[def.Name] && len(def.Grades) == 0 && def.Computed == nil && !def.Outcome && len(def.Condition) == 0 {
			out.Expected = append(out.Expected, c.steady(def, p)...)
		}
	}
	for i := range c.j.m.Fitted.Settings {
		def := &c.j.m.Fitted.Settings[i]
		if v := c.j.m.Settings[def.Name][p.String()]; def.Of == p.Noun && v != nil && !v.Unknown {
			s := SpotSetting{Setting: def.Name, Title: settingTitle(def), Value: v.Value, Since: v.Since, Assumed: v.Assumed}
			if n := len(v.Reason.Entries); n > 0 {
				s.Entry = v.Reason.Entries[n-1]
			}
			out.Settings = append(out.Settings, s)
		}
	}
	for _, part := range names(c.j.m.Slots, c.j.m.Slots) {
		for _, s := range c.j.slots(part, p) {
			if s.Part != nil && !s.Disputed && s.Part.Serial != "" {
				out.Serials = append(out.Serials, SpotSerial{Part: part, Hand: s.Part.Hand, Serial: s.Part.Serial, Fitted: s.Since})
			}
		}
	}
	for _, x := range out.Expected {
		out.Entries = append(out.Entries, x.Entry)
	}
	for _, x := range out.Settings {
		out.Entries = append(out.Entries, x.Entry)
	}
	out.Entries = c.j.inOrder(out.Entries)
	return out
}

// worn is what a wearing part should measure. Two readings are compared, the book's and the stranger's, each with the error of one; wear since the first may
// differ by what parts and seasons differ.
func (c *spotting) worn(l *Left, x *LeftPlace, p *Worn) SpotSize {
	out := SpotSize{Reading: l.Reading.Name, Title: l.Title, Hand: x.Hand, Last: x.Size, On: x.On, Expected: x.Size, Worked: x.Since, How: l.Reading.How, Entry: p.Last.Entry}
	step := c.readTo(l.Reading)
	sigma, spread := step, 0.0
	if m := l.Wear.Model; m != nil {
		sigma = max(m.Sigma, step/math.Sqrt(12))
	}
	if f := p.Forecast; f != nil {
		use := x.Since.Float64()
		lost := math.Abs(f.Rate) * use
		spread = spotGuess * lost
		if m := l.Wear.Model; m != nil {
			spread = use * math.Hypot(m.PartSD, m.SeasonSD)
		}
		out.Forecast = true
		out.WornSince = sized(lost, l.Reading.Unit)
		if l.Falls {
			out.Expected = minus(x.Size, out.WornSince)
		} else {
			out.Expected = plus(x.Size, out.WornSince)
		}
	}
	out.Within = within(2*math.Sqrt(2*sigma*sigma+spread*spread), step, l.Reading.Unit)
	return out
}

// fresh is what a part should measure that was fitted new by an entry and never measured since: the size of a new one, less its wear.
func (c *spotting) fresh(l *Left, x *LeftPlace, p *Worn) (SpotSize, bool) {
	part := x.Part
	if part == nil || !l.Reading.HasNew || part.Assumed || part.Segment != 1 || len(part.Stays) == 0 || part.In == "" {
		return SpotSize{}, false
	}
	now := *x
	now.Size, now.On, now.Since = x.New, part.In, part.Use[l.Counter]
	out := c.worn(l, &now, &Worn{Last: &Reading{Entry: part.Stays[0].Entry}, Forecast: p.Forecast})
	out.AsNew = true
	return out, true
}

// steady are readings of what nobody knows to wear: as last read, give or take what two readings differ by.
func (c *spotting) steady(def *schedule.Reading, p record.Position) []SpotSize {
	var out []SpotSize
	for _, hand := range c.j.hands(p.Noun) {
		list := c.j.current(def, p, hand)
		if len(list) == 0 || list[len(list)-1].Assumed {
			continue
		}
		last := list[len(list)-1]
		q, ok := atRated(def, last).Quantity()
		if !ok {
			continue
		}
		step := c.readTo(def)
		q = inReading(def, q)
		out = append(out, SpotSize{Reading: def.Name, Title: readingTitle(def), Hand: hand, Last: q, On: last.Done, Expected: q, How: def.How, Entry: last.Entry,
			Within: within(2*step, step, q.Unit())})
	}
	return out
}

// readTo is the reading's, worked out once.
func (c *spotting) readTo(def *schedule.Reading) float64 {
	if step, ok := c.steps[def.Name]; ok {
		return step
	}
	c.steps[def.Name] = readTo(c.j.m, def)
	return c.steps[def.Name]
}

// readTo is how finely a reading is taken: the coarsest of a tape's steps on which nine of ten of its values lie. Fewer than five different values may lie on a
// coarse step by chance: they count as read to a sixteenth of an inch, or to the last digit written.
func readTo(m *Machine, def *schedule.Reading) float64 {
	var values []float64
	different, digits := map[float64]bool{}, 0
	for _, list := range m.Readings[def.Name] {
		for _, r := range list {
			if q, ok := valueOf(r).Quantity(); ok && !r.Assumed {
				q = inReading(def, q)
				values = append(values, q.Float64())
				different[q.Float64()], digits = true, max(digits, decimals(q))
			}
		}
	}
	last := math.Pow10(-min(digits, 3)) // of the digits written; more than three are those of a fraction
	step := last
	for _, s := range []float64{1, 0.5, 0.25, 0.2, 0.125, 0.1, 0.0625, 0.05, 0.03125, 0.02, 0.015625, 0.01, 0.005, 0.002} {
		on := 0
		for _, v := range values {
			if math.Abs(v/s-math.Round(v/s)) < 1e-6 {
				on++
			}
		}
		if 10*on >= 9*len(values) {
			step = s
			break
		}
	}
	if len(different) < 5 {
		if def.Unit.String() == "in" && step >= 0.0625 {
			last = 0.0625
		}
		step = min(step, last)
	}
	return step
}

// within is a margin rounded up to a whole number of a tape's steps, two at least: a stranger reads to the step as well.
func within(x, step float64, u quantity.Unit) quantity.Quantity {
	return sized(max(2, math.Ceil(x/step-1e-9))*step, u)
}

// sized is a floating number as an amount, to five decimals.
func sized(x float64, u quantity.Unit) quantity.Quantity {
	r := new(big.Rat)
	if r.SetFloat64(x) == nil {
		return quantity.Whole(0, u)
	}
	q, err := quantity.FromRat(r, u, 5)
	if err != nil {
		return quantity.Whole(0, u)
	}
	return q
}
