package main

import (
	"strings"

	"shedbook/rules/quantity"
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
	l     *line
	def   *schedule.Reading
	at    record.Positions
	hand  string   // the only one, or ""
	hands []string // of the hands spoken of, or one without a name
	got   map[spot]record.Measured
	walk  []spot // of which something is said, as the values are: by number, with --ask in walking order; left hand first
	more  bool   // a correction says values of some: the others stay
}

// lay finds the places and hands of which something is said, and takes up what a corrected entry holds: its other values stay.
func (g *gauge) lay(r *record.Measure) error {
	l := g.l
	all := l.handsOf(g.def.Of, g.def.Handed)
	g.hands = all
	if l.s.given("hand") {
		var err error
		if g.hand, err = l.oneHand(g.def.Name, all); err != nil {
			return err
		}
		g.hands = []string{g.hand}
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
	places := l.numbered(g.at)
	if l.s.ask {
		places = l.walk(g.at)
	}
	g.walk = g.spots(places)
	if l.old == nil {
		return nil
	}
	g.more = g.valueSaid() && l.old.Record.(*record.Measure).Reading == g.def.Name
	if g.more && (old.Len() > 1 || g.eachSaid()) {
		g.at = g.at.Union(old)
	}
	return g.takeUp(r)
}

// spots are the slots of places for the hands spoken of.
func (g *gauge) spots(places []record.Position) []spot {
	var out []spot
	for _, p := range places {
		for _, h := range g.hands {
			out = append(out, spot{p, h})
		}
	}
	return out
}

// takeUp starts from the values of the entry corrected.
func (g *gauge) takeUp(r *record.Measure) error {
	l := g.l
	var values []record.Measured
	for _, v := range r.Values {
		hs := g.hands
		if g.more { // a value said of one hand leaves the other as it stands
			hs = l.handsOf(g.def.Of, g.def.Handed)
		}
		if v.Hand != "" {
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
	if len(g.got) == 0 && len(l.clause().Places) > 0 && !g.valueSaid() { // the same value, at another place
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

// valueSaid reports that the line says a value in any way, and eachSaid that it says them place by place.
func (g *gauge) valueSaid() bool {
	t, _ := g.l.term()
	return t.Value != "" || len(t.Each) > 0 || g.l.measureFlags()
}

func (g *gauge) eachSaid() bool {
	t, _ := g.l.term()
	return len(t.Each) > 0
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

// plausible asks about values outside the schedule's range, or far from the last one there. Those answered one by one were asked about already, and so were
// those that a correction leaves as they stand.
func (g *gauge) plausible() {
	if g.l.s.ask || g.l.old != nil && !g.valueSaid() {
		return
	}
	for _, s := range g.walk {
		v := g.got[s]
		for _, x := range []record.Value{v.Found, v.Left} {
			if !x.IsZero() && !g.def.Plausible(x) {
				g.l.doubt("implausible", "%s: %s %s is outside what is usual, %s%s", s.name(), g.def.Name, x, g.usual(), g.otherUnit(x))
			} else if g.beyondNew(x) {
				g.l.doubt("beyond-new", "%s: %s %s is more than a new one has, %s%s", s.name(), g.def.Name, x, g.def.New, g.otherUnit(x))
			} else if last, on := g.last(s); farOff(x, last) {
				g.l.doubt("far-off", "%s: %s %s is far from the last, %s on %s%s", s.name(), g.def.Name, x, last, weekday(on), g.otherUnit(x))
			}
		}
	}
}

// beyondNew reports an amount that only gets smaller and is a tenth more than a new one has. The bound is the project's own: common practice, no source.
func (g *gauge) beyondNew(x record.Value) bool {
	n, ok := x.Quantity()
	if !ok || !g.def.HasNew || g.def.Limit == nil || !g.def.Limit.Falls || g.def.New.Sign() <= 0 {
		return false
	}
	e, err := n.Exact(g.def.New.Unit())
	return err == nil && e.Float64() > 1.1*g.def.New.Float64()
}

// farOff reports an amount five times off another: mostly a digit or a point too many. The bound is the project's own: common practice, no source.
func farOff(x, last record.Value) bool {
	n, ok := x.Quantity()
	before, amount := last.Quantity()
	if !ok || !amount || before.Sign() <= 0 {
		return false
	}
	e, err := n.Exact(before.Unit())
	return err == nil && (e.Float64() > 5*before.Float64() || e.Float64() < before.Float64()/5)
}

// otherUnit asks whether the reading's own unit is meant, where the same number is usual in it: "5.9mm" of what is read in inches.
func (g *gauge) otherUnit(x record.Value) string {
	q, ok := x.Quantity()
	if !ok || q.Unit() == g.def.Unit {
		return ""
	}
	meant, err := quantity.FromRat(q.Rat(), g.def.Unit, 6)
	if err != nil || !g.def.Plausible(record.Amount(meant)) {
		return ""
	}
	return "; did you mean " + meant.String() + "?"
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
		if len(hands) > 1 && !g.bothAlike(s.at, hands) {
			v.Hand = s.hand
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

// order is every slot with a value: as the values are said, and where a correction leaves others as they stand all by number, left hand first.
func (g *gauge) order() []spot {
	var out []spot
	seen := map[spot]bool{}
	add := func(s spot) {
		if _, ok := g.got[s]; ok && !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	if !g.more {
		for _, s := range g.walk {
			add(s)
		}
	}
	for _, p := range g.l.numbered(g.at) {
		for _, h := range append([]string{""}, g.l.handsOf(g.def.Of, g.def.Handed)...) {
			add(spot{p, h})
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

// read lists the few values just said place by place, so that a slip of the finger shows; a program reads them in the record.
func (g *gauge) read() {
	const most = 8
	same := true
	var first *record.Measured
	var out []string
	for _, s := range g.walk {
		v, ok := g.got[s]
		if !ok {
			continue
		}
		if first == nil {
			first = &v
		}
		same = same && alike(v, *first)
		out = append(out, s.name()+" "+asRead(v))
	}
	if len(out) > 1 && len(out) <= most && !same && !g.l.c.json {
		g.l.note("%s", strings.Join(out, ", "))
	}
}

func asRead(v record.Measured) string {
	switch {
	case v.Cannot == "fitted":
		return "not fitted"
	case v.Cannot == "read":
		return "not read"
	case v.Cannot != "":
		return "not reached"
	case v.Found.IsZero():
		return "left at " + v.Left.String()
	case v.Left.IsZero():
		return v.Found.String()
	}
	return v.Found.String() + " left at " + v.Left.String()
}
