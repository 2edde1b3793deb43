package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/stats"
)

// HarshSeason is the use a hard season is counted as, times what it is: our own round figure. All parts share a season's ground, so it is hard for all of them or for none, which
// the range of a count does not hold.
const HarshSeason = 1.5

// LifeComing is how many of the parts that are in use now will have to be replaced in the season ahead: worn out by their age, or broken. A new one that fails in that same
// season is not counted.
type LifeComing struct {
	ByRate  bool         // there is no estimate of their life: by how many went so far, whatever the age
	Seasons []LifeSeason // what each machine will do, by its name
	Parts   int          // in use, and judged
	Least   int          // of them: what they had done before the book began is not known, so they are taken for younger than they are
	Not     int          // in use, and cannot be judged: no counter, or their place is in dispute, or their machine's season is not known
	Count   LifeCount
	Harsh   LifeCount // the same in a hard season
	Hands   []LifeOrder
	Entries []ID // those who say how much the season will take
}

// LifeCount is a count ahead.
type LifeCount struct {
	Likely    int     // as likely more as fewer
	Low, High int     // between them at LifeLevel
	Mean      float64 // by the curve as estimated
}

// LifeOrder is what one hand of it takes.
type LifeOrder struct {
	Hand  string // "" where there are none
	Parts int
	Count LifeCount
	Shelf int    // on all shelves of the book
	Buy   int    // to have the greatest number of the range
	Packs int    // of Pack; 0 where they are sold singly
	Pack  int    //
	By    string // the last day to order; "" where the schedule or the season does not say
}

// ahead looks to the coming season.
func (l *PartLife) ahead(s *State) {
	if l.All.Weibull == nil && l.Gone.Count == 0 {
		l.NotAhead = "none has worn out or broken yet"
		return
	}
	c := &LifeComing{ByRate: l.All.Weibull == nil}
	parts := map[string][]stats.Ageing{}
	var hands []string
	seasons := map[ID]*LifeSeason{}
	start := ""
	for _, v := range l.Lives {
		m := s.MachineByID(v.Machine)
		if v.End != EndInUse || m == nil || m.Sold != "" {
			continue
		}
		season := seasons[m.ID]
		if season == nil {
			n := s.lifeSeason(m, l.Ask)
			season = &n
			seasons[m.ID] = season
		}
		if v.Without == WithoutPlace || v.Without == WithoutCounter || season.From == "" {
			c.Not++
			continue
		}
		c.Least += count(v.Without == WithoutStart)
		if !slices.Contains(hands, v.Part.Hand) {
			hands = append(hands, v.Part.Hand)
		}
		parts[v.Part.Hand] = append(parts[v.Part.Hand], stats.Ageing{Age: v.Use, Use: season.Use})
		c.Parts++
	}
	for _, n := range seasons {
		if n.From == "" {
			continue
		}
		c.Seasons = append(c.Seasons, *n)
		c.Entries = append(c.Entries, n.Entries...)
		if x := n.Season; x != nil && x.Opened == "" && x.PlanFrom > s.On && (start == "" || x.PlanFrom < start) {
			start = x.PlanFrom
		}
	}
	slices.SortFunc(c.Seasons, func(a, b LifeSeason) int {
		return cmp.Or(cmp.Compare(a.Machine.Name, b.Machine.Name), cmp.Compare(a.Machine.ID, b.Machine.ID))
	})
	c.Entries = onceEach(c.Entries)
	switch {
	case c.Parts+c.Not == 0:
		l.NotAhead = "none is in use on a machine that is still held"
		return
	case c.Parts == 0:
		l.NotAhead = "how much the coming season takes is not known: no season is planned with it, none is past, and nothing was done in the last twelve months"
		return
	}
	l.Coming = c
	l.counts(s, parts, hands, start)
}

// counts forecasts each hand and all together.
func (l *PartLife) counts(s *State, parts map[string][]stats.Ageing, hands []string, start string) {
	slices.Sort(hands)
	c, def := l.Coming, s.lifeDef(l.Ask)
	var all []stats.Ageing
	for _, hand := range hands {
		all = append(all, parts[hand]...)
		o := LifeOrder{Hand: hand, Parts: len(parts[hand]), Count: l.howMany(parts[hand]), Shelf: max(0, onShelves(s, l.Ask.Kind, l.Ask.Part, hand))}
		o.Buy = max(0, o.Count.High-o.Shelf)
		if def != nil {
			if o.Pack = def.Pack; def.Pack > 1 {
				o.Packs = (o.Buy + def.Pack - 1) / def.Pack
			}
			if days := leadDays(def.Lead); days > 0 && start != "" && o.Buy > 0 {
				o.By = dateOf(calendarDay(start).AddDate(0, 0, -days))
			}
		}
		c.Hands = append(c.Hands, o)
	}
	c.Count = l.howMany(all)
	for i := range all {
		all[i].Use *= HarshSeason
	}
	c.Harsh = l.howMany(all)
}

// howMany is a count of parts that go: by their ages, or where their life is not known by how many went so far.
func (l *PartLife) howMany(parts []stats.Ageing) LifeCount {
	var chances []float64
	n := LifeCount{}
	if w := l.All.Weibull; w != nil {
		rate := 0.0
		if l.Broken.Use > 0 {
			rate = float64(l.Broken.Count) / l.Broken.Use
		}
		chances, n.Mean = w.Failing(parts, rate), w.FailsOf(parts, rate)
	} else {
		ahead := 0.0
		for _, p := range parts {
			ahead += p.Use
		}
		chances = stats.PoissonAhead(l.Gone.Count, l.Gone.Use, ahead, len(parts))
		n.Mean = stats.CountMean(chances)
	}
	tail := (1 - LifeLevel) / 2
	n.Likely, n.Low, n.High = stats.CountQuantile(chances, 0.5), stats.CountQuantile(chances, tail), stats.CountQuantile(chances, 1-tail)
	return n
}
