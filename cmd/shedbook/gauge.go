package main

import (
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// spot is one slot to be measured: a place, and a hand where there are two.
type spot struct {
	at   record.Position
	hand string
}

// name is "opener 12" or "opener 12 left".
func (p spot) name() string {
	s := strings.ReplaceAll(p.at.String(), "/", " ")
	if s == "" {
		s = "the machine"
	}
	if p.hand != "" {
		s += " " + p.hand
	}
	return s
}

// gauge is one measure line being made.
type gauge struct {
	l    *line
	def  *schedule.Reading
	at   record.Positions
	hand string // the only one, or ""
	got  map[spot]record.Measured
	walk []spot // as the values are said: by number, with --ask in walking order; left hand first
}

// lay finds the places and hands, and takes up what a corrected entry holds.
func (g *gauge) lay(r *record.Measure) error {
	l := g.l
	hands := l.handsOf(g.def.Of, g.def.Handed)
	if l.s.given("hand") {
		var err error
		if g.hand, err = l.oneHand(g.def.Name, hands); err != nil {
			return err
		}
		hands = []string{g.hand}
	}
	var old record.Positions
	if l.old != nil {
		for _, v := range r.Values {
			old = old.Union(v.Positions)
		}
	}
	var err error
	if g.at, err = l.places(g.def.Of, l.clause(), old); err != nil {
		return err
	}
	g.walk = nil
	places := l.numbered(g.at)
	if l.s.ask {
		places = l.walk(g.at)
	}
	for _, p := range places {
		for _, h := range hands {
			g.walk = append(g.walk, spot{p, h})
		}
	}
	if l.old == nil {
		return nil
	}
	var values []record.Measured
	for _, v := range r.Values {
		hs := hands
		if v.Hand != "" || len(hands) == 0 {
			hs = []string{v.Hand}
		}
		for _, p := range l.walk(v.Positions) {
			for _, h := range hs {
				one := record.Measured{Hand: v.Hand, Found: v.Found, Left: v.Left, Cannot: v.Cannot}
				if g.at.Has(p) || p.Noun == "" {
					g.got[spot{p, h}] = one
				}
				values = append(values, one)
			}
		}
	}
	if len(g.got) == 0 && len(l.clause().Places) > 0 && len(l.clause().Terms) == 0 && !l.measureFlags() { // the same value, at another place
		for _, v := range values {
			if !alike(v, values[0]) {
				return usage("say the value too", "the entry holds several values: which one was at %s?", l.m.Fitted.Describe(g.at, g.def.Of))
			}
		}
		for _, s := range g.walk {
			g.got[s] = values[0]
		}
	}
	return nil
}

func (l *line) measureFlags() bool {
	return l.s.given("values") || l.s.given("from") || l.s.given("found") || l.s.given("left") || l.s.ask
}

// numbered is the places by their numbers, as a person reads "1-48"; the machine as a whole is one.
func (l *line) numbered(at record.Positions) []record.Position {
	if at.IsZero() {
		return []record.Position{{}}
	}
	return at.All()
}

// walk is the places in walking order; the machine as a whole is one.
func (l *line) walk(at record.Positions) []record.Position {
	if at.IsZero() {
		return []record.Position{{}}
	}
	return l.m.Fitted.Walk(at)
}

// handsOf are the hands of things that differ by hand, or one without a name.
func (l *line) handsOf(noun string, handed bool) []string {
	if p, _, ok := l.m.Fitted.Noun(noun); ok && handed && len(p.Hands) > 0 {
		return p.Hands
	}
	return []string{""}
}

// oneHand checks --hand.
func (l *line) oneHand(what string, hands []string) (string, error) {
	if hands[0] == "" {
		return "", failed("no-hand", "leave --hand out", "%s: there is one %s in each place, no left and right", l.m.Name, what)
	}
	return oneOf("--hand", l.s.hand, hands)
}

// put keeps one value; of a handed thing measured without saying which hand, one entry for both.
func (g *gauge) put(s spot, v record.Measured) {
	v.Hand = s.hand
	g.got[s] = v
}

// parse reads one value as typed: an amount or grade, "-" and the like, or as found > as left.
func (g *gauge) parse(text string) (record.Measured, error) {
	text = strings.TrimSpace(text)
	switch strings.ToLower(text) {
	case "-", "–", "cannot-reach":
		return record.Measured{Cannot: "reach"}, nil
	case "not-fitted":
		return record.Measured{Cannot: "fitted"}, nil
	case "cannot-read":
		return record.Measured{Cannot: "read"}, nil
	}
	before, after, both := strings.Cut(text, ">")
	found, err := g.def.ParseValue(before)
	if err != nil {
		return record.Measured{}, err
	}
	m := record.Measured{Found: found}
	if both {
		if m.Left, err = g.def.ParseValue(after); err != nil {
			return m, err
		}
	}
	return m, nil
}

// plausible asks about values outside the schedule's range. Those answered one by one were asked about already.
func (g *gauge) plausible() {
	if g.l.s.ask {
		return
	}
	for _, s := range g.walk {
		v := g.got[s]
		for _, x := range []record.Value{v.Found, v.Left} {
			if !x.IsZero() && !g.def.Plausible(x) {
				g.l.doubt("implausible", "%s: %s %s is outside what is usual, %s", s.name(), g.def.Name, x, g.usual())
			}
		}
	}
}

func (g *gauge) usual() string {
	switch {
	case g.def.HasLow && g.def.HasHigh:
		return g.def.Low.String() + " to " + g.def.High.String()
	case g.def.HasLow:
		return "at least " + g.def.Low.String()
	}
	return "at most " + g.def.High.String()
}

// values gathers places that read alike, in walking order.
func (g *gauge) values() []record.Measured {
	var keys []record.Measured
	at := map[string][]record.Position{}
	key := func(v record.Measured) string {
		return v.Hand + "\n" + v.Found.String() + "\n" + v.Left.String() + "\n" + v.Cannot
	}
	hands := g.l.handsOf(g.def.Of, g.def.Handed)
	for _, s := range g.order() {
		v, ok := g.got[s]
		if !ok {
			continue
		}
		v.Positions = record.Positions{}
		if g.bothAlike(s.at, hands) {
			if s.hand != hands[0] {
				continue
			}
			v.Hand = ""
		}
		if k := key(v); at[k] == nil {
			keys = append(keys, v)
			at[k] = []record.Position{s.at}
		} else {
			at[k] = append(at[k], s.at)
		}
	}
	for i := range keys {
		if g.def.Of != "" {
			keys[i].Positions = record.NewPositions(at[key(keys[i])]...)
		}
	}
	return keys
}

// order is every slot with a value, in walking order; those of a corrected entry outside the line's hands come last.
func (g *gauge) order() []spot {
	out := append([]spot(nil), g.walk...)
	seen := map[spot]bool{}
	for _, s := range out {
		seen[s] = true
	}
	for _, p := range g.l.walk(g.at) {
		for _, h := range append([]string{""}, g.l.handsOf(g.def.Of, g.def.Handed)...) {
			if s := (spot{p, h}); !seen[s] {
				if _, ok := g.got[s]; ok {
					seen[s] = true
					out = append(out, s)
				}
			}
		}
	}
	return out
}

// bothAlike reports that all hands of a place were given one and the same value, which an entry says once, without a hand.
func (g *gauge) bothAlike(p record.Position, hands []string) bool {
	if len(hands) < 2 {
		return false
	}
	var first record.Measured
	for i, h := range hands {
		v, ok := g.got[spot{p, h}]
		if !ok {
			return false
		}
		if i == 0 {
			first = v
		} else if !alike(v, first) {
			return false
		}
	}
	return true
}

func alike(a, b record.Measured) bool {
	return a.Found == b.Found && a.Left == b.Left && a.Cannot == b.Cannot
}
