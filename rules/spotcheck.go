package rules

import (
	"cmp"
	"hash/fnv"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// SpotAsk says how many places to check, and the buyer's own word.
type SpotAsk struct {
	Places int    // 0: six
	Word   string // any word a buyer says at the machine; "": none
	Left   []Left // what LeftOf gave for the same state and machine; nil: it is worked out again
}

// Spot is a card of places that a stranger can measure in ten minutes, with what the book expects there.
//
// Which places they are follows from the ids of the machine's newest entries and the buyer's word, so everyone who has the book finds the same ones. An id is a
// digest over the whole entry and a random salt, so nobody knows, while measuring, which places will be asked for. Whoever holds the key could write one more
// entry, look, and write another, until he likes the places; against that the buyer says a word of his own when he stands at the machine.
type Spot struct {
	Seed   []ID // entries that the choice rests on, newest first
	Word   string
	Noun   string // of the places
	Of     int    // places there are to choose from
	Places []SpotPlace
	Faces  []SpotFace // counters to look at, in the order of the schedule
}

// SpotFace is what a counter's face should show: no less than it was last read at.
type SpotFace struct {
	Counter string
	Least   quantity.Quantity
	On      record.Done       // when it was read
	Likely  quantity.Quantity // by the recent rate; equal to Least where none is known
	Entry   ID
}

// SpotPlace is one place to check, in walking order.
type SpotPlace struct {
	Place    record.Position
	Why      string // SpotWorst, SpotChanged, SpotGroup
	Group    string // of SpotGroup; "" where the kind has none
	Expected []SpotSize
	Settings []SpotSetting
	Serials  []SpotSerial
	Entries  []ID
}

// Why a place is on the card.
const (
	SpotWorst   = "worst"   // the least is left there
	SpotChanged = "changed" // something was last changed there
	SpotGroup   = "drawn"   // drawn from a group
)

// SpotSize is what a measurement should find.
type SpotSize struct {
	Reading   string
	Title     string
	Hand      string
	Last      quantity.Quantity
	On        record.Done
	WornSince quantity.Quantity // expected since then; zero of what does not wear
	Forecast  bool              // WornSince is what its wear so far says; else nothing is known of it since, and Expected is Last
	Expected  quantity.Quantity // Last less (or more) WornSince
	Within    quantity.Quantity // either way: twice the measuring error of two readings and the spread of wear since then, taken together
	Worked    quantity.Quantity // since then, on the counter it wears with; zero also where not known
	How       string            // how to measure it, by the schedule
	AsNew     bool              // never measured: Last is the size of a new one, On the day it was fitted
	Entry     ID
}

// SpotSetting is what a setting should stand at.
type SpotSetting struct {
	Setting string
	Title   string
	Value   record.Value
	Since   record.Done
	Assumed bool
	Entry   ID
}

// SpotSerial is a number that should stand on a part.
type SpotSerial struct {
	Part, Hand, Serial string
	Fitted             record.Done
}

const (
	spotPlaces  = 6
	spotEntries = 16 // the newest that the choice rests on
)

// SpotCheckOf chooses places and says what is expected there. Without anything measured or set place by place there are no Places.
func SpotCheckOf(st *State, m *Machine, ask SpotAsk) *Spot {
	s := &Spot{Word: strings.ToLower(strings.TrimSpace(ask.Word))}
	if m.Fitted == nil {
		return s
	}
	s.Seed = newestOf(st, m)
	s.Faces = facesOf(m)
	if ask.Left == nil {
		ask.Left = LeftOf(st, m)
	}
	c := &spotting{j: newJudge(st, m, Filter{}, newHistory(st)), left: ask.Left, taken: map[record.Position]bool{}, steps: map[string]float64{}, draw: newDraw(m.ID, s.Seed, s.Word)}
	s.Noun = c.noun()
	if s.Noun == "" {
		return s
	}
	for _, p := range m.Fitted.Walk(m.Fitted.All(s.Noun)) {
		if place := c.place(p); m.Out[p.String()] == nil && len(place.Expected)+len(place.Settings) > 0 {
			c.all = append(c.all, place)
		}
	}
	if slices.ContainsFunc(c.all, func(p SpotPlace) bool { return len(p.Expected) > 0 }) {
		c.all = slices.DeleteFunc(c.all, func(p SpotPlace) bool { return len(p.Expected) == 0 })
	}
	s.Of = len(c.all)
	c.choose(s.Noun, min(cmp.Or(ask.Places, spotPlaces), len(c.all)))
	for _, p := range c.all {
		if c.taken[p.Place] {
			s.Places = append(s.Places, p)
		}
	}
	return s
}

// newestOf are the newest entries about a machine, the last written first: the deepest, of one depth the one of the greatest id.
func newestOf(st *State, m *Machine) []ID {
	var mine []*Effective
	for _, e := range st.Effective {
		if e.Ignored == "" && e.Record != nil && (record.MachineOf(e.Record) == m.ID || e.Entry.ID == m.ID) {
			mine = append(mine, e)
		}
	}
	mine = byDepth(mine)
	slices.Reverse(mine)
	var out []ID
	for _, e := range mine[:min(spotEntries, len(mine))] {
		out = append(out, e.Entry.ID)
	}
	return out
}

// facesOf are the counters that are read and not zeroed by the driver.
func facesOf(m *Machine) []SpotFace {
	var out []SpotFace
	for _, name := range counterNames(m) {
		c := m.Counters[name]
		if n := len(c.Points); n > 0 && !c.Derived && !c.Trip {
			last := c.Points[n-1]
			out = append(out, SpotFace{Counter: name, Least: c.Reading, On: last.Done, Likely: plus(c.Reading, minus(c.Estimate, c.Life)), Entry: last.Entry})
		}
	}
	return out
}

// draw is a row of numbers that follows from its seed: splitmix64 (Steele, Lea and Flood 2014), seeded by FNV-1a. It hides nothing and need not: that the
// ids it starts from cannot be known beforehand is what makes it fair.
type draw struct{ state uint64 }

func newDraw(machine ID, seed []ID, word string) *draw {
	h := fnv.New64a()
	for _, id := range append([]ID{machine}, seed...) {
		h.Write([]byte(id))
	}
	h.Write([]byte("\n" + word))
	return &draw{h.Sum64()}
}

// below is a number from 0 to n-1.
func (d *draw) below(n int) int {
	d.state += 0x9e3779b97f4a7c15
	z := d.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return int((z ^ z>>31) % uint64(n))
}

// spotting is one choice of places.
type spotting struct {
	j     *judge
	left  []Left
	all   []SpotPlace // to choose from, in walking order
	taken map[record.Position]bool
	draw  *draw
	steps map[string]float64 // reading -> see readTo
}

// noun is what to check: the places at which most sizes of wearing parts are known, else those with most readings or settings.
func (c *spotting) noun() string {
	score := map[string]int{}
	for i := range c.left {
		for _, p := range c.left[i].Places {
			if p.On != "" {
				score[p.Place.Noun] += 1000
			}
		}
	}
	count := func(slot string) {
		p, _ := SplitSlot(slot)
		score[p.Noun]++
	}
	for _, name := range names(c.j.m.Readings, c.j.m.Readings) {
		for slot := range c.j.m.Readings[name] {
			count(slot)
		}
	}
	for _, name := range names(c.j.m.Settings, c.j.m.Settings) {
		for slot := range c.j.m.Settings[name] {
			count(slot)
		}
	}
	best := ""
	for _, noun := range names(score, score) {
		if noun != "" && score[noun] > score[best] || best == "" {
			best = noun
		}
	}
	return best
}

// choose takes n of the places: the worst, the one whose measured part was changed last, and others drawn from its groups by turns.
func (c *spotting) choose(noun string, n int) {
	c.take(n, SpotWorst, "", c.best(func(p *SpotPlace) (string, bool) { return c.wornKey(p.Place) }))
	c.take(n, SpotChanged, "", c.best(func(p *SpotPlace) (string, bool) { return c.changed(p.Place) }))
	groups := c.groups(noun)
	for len(groups) > 0 && len(c.taken) < n {
		before := len(c.taken)
		for _, g := range groups {
			c.take(n, SpotGroup, g.name, c.free(func(p *SpotPlace) bool { return g.in.Has(p.Place) }))
		}
		if len(c.taken) == before {
			break
		}
	}
	for len(c.taken) < n {
		c.take(n, SpotGroup, "", c.free(func(*SpotPlace) bool { return true }))
	}
}

// take draws one of some places, while there is room on the card.
func (c *spotting) take(n int, why, group string, from []*SpotPlace) {
	if len(from) == 0 || len(c.taken) >= n {
		return
	}
	p := from[c.draw.below(len(from))]
	p.Why, p.Group = why, group
	c.taken[p.Place] = true
}

// free are the places not taken that are wanted.
func (c *spotting) free(wanted func(*SpotPlace) bool) []*SpotPlace {
	var out []*SpotPlace
	for i := range c.all {
		if p := &c.all[i]; !c.taken[p.Place] && wanted(p) {
			out = append(out, p)
		}
	}
	return out
}

// best are the free places of the greatest key, those without one left out.
func (c *spotting) best(key func(*SpotPlace) (string, bool)) []*SpotPlace {
	var out []*SpotPlace
	greatest := ""
	for _, p := range c.free(func(*SpotPlace) bool { return true }) {
		k, ok := key(p)
		switch {
		case !ok || k < greatest:
		case k > greatest || out == nil:
			greatest, out = k, []*SpotPlace{p}
		default:
			out = append(out, p)
		}
	}
	return out
}
