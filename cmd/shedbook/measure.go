package main

import (
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

var measureVerb = &verb{kind: "measure", form: phrase.Measure, bind: bindMeasure, build: buildMeasure}

func bindMeasure(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.values, "values", "`values` in walking order, by commas: 5.9,5.8,-,...")
	s.str(fs, &s.from, "from", "`file` of readings, a line each: \"12 5.9\", \"12: 5 7/8 in\" or values in walking order; - is stdin")
	s.yes(fs, &s.ask, "ask", "ask for one place after the other, in walking order")
	s.str(fs, &s.found, "found", "the `value` as found")
	s.str(fs, &s.left, "left", "the `value` as left")
	s.strs(fs, &s.at, "at", "the test condition: `pressure=40psi`")
	s.str(fs, &s.with, "with", "measured with, in your `words`")
	s.str(fs, &s.hand, "hand", "`left` or right, where there are two in one place")
	s.bindWork(fs)
	s.bindNote(fs)
}

func measureCommand() *command {
	s := &said{}
	run := recordCommand(measureVerb, s)
	return &command{
		name: "measure", section: "in the shed", brief: "record what was measured, place by place", writes: true,
		usage: []string{
			"measure MACHINE [PLACES] READING VALUE", "measure MACHINE READING PLACE=VALUE ...", "measure MACHINE [PLACES] READING --values LIST | --from FILE | --ask",
		},
		examples: []string{
			"measure drill 12 disc-reach 5 1/4", "measure drill disc-reach 12=5.9 30=5.8", "measure drill opener/1-48 disc-reach --ask",
			"measure drill opener/1-4 disc-reach --values 5.9,5.8,-,6", "measure drill disc-reach --from readings.txt", "measure sprayer nozzle-flow --values 0.41,0.4 --at pressure=40psi",
		},
		about: `"-" is a place that cannot be reached, "not-fitted" one where there is nothing to measure. "5.2>5.9" (in quotes) is as found and as left. ` +
			`Walking order is along the ranks: the front one from the left, the next one back. Two words make a mixed number: 5 1/4.`,
		flags: func(fs *pflag.FlagSet) { bindMeasure(s, fs) },
		run: func(c *call) error {
			if s.ask {
				if err := c.askReadings(s); err != nil {
					return err
				}
			}
			return run(c)
		},
	}
}

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
	walk []spot // in walking order, left hand first
}

func buildMeasure(l *line) (record.Record, *record.Private, error) {
	r := &record.Measure{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Measure)
	}
	t, said := l.term()
	if said && t.Name != "" {
		r.Reading = t.Name
	}
	def, ok := l.m.Fitted.Reading(r.Reading)
	if !ok {
		return nil, nil, failed("unknown-word", "shedbook schedule show "+l.m.Name, "%s has no reading %q", l.m.Name, r.Reading)
	}
	if def.Computed != nil {
		return nil, nil, failed("computed", "measure "+strings.Join(def.Computed.From, " and "), "%s: %s is worked out from %s and not measured itself", l.m.Name, def.Name, strings.Join(def.Computed.From, " and "))
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	g := &gauge{l: l, def: def, got: map[spot]record.Measured{}}
	if err := g.lay(r); err != nil {
		return nil, nil, err
	}
	if err := g.take(t); err != nil {
		return nil, nil, err
	}
	if len(g.got) == 0 {
		return nil, nil, usage("give a value, --values, --from FILE or --ask", "%s of %s: no value is said", def.Name, l.m.Name)
	}
	g.plausible()
	r.Values, r.Said = g.values(), saidOf(l.clause(), r.Said)
	if err := l.conditions(r, def); err != nil {
		return nil, nil, err
	}
	if l.s.given("with") {
		if err := checkWords("--with", l.s.with, 200); err != nil {
			return nil, nil, err
		}
		r.With = strings.TrimSpace(l.s.with)
	}
	p, err := l.private("")
	return r, p, err
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
	for _, p := range l.walk(g.at) {
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

// take reads the values from wherever they are said; one source only.
func (g *gauge) take(t phrase.Term) error {
	s := g.l.s
	var sources []string
	for _, x := range []struct {
		name string
		is   bool
	}{{"a value", t.Value != ""}, {"values place by place", len(t.Each) > 0}, {"--values", s.given("values")}, {"--from", s.given("from")}, {"--ask", s.ask},
		{"--found or --left", s.given("found") || s.given("left")}} {
		if x.is {
			sources = append(sources, x.name)
		}
	}
	if len(sources) > 1 {
		return usage("say the values in one way", "%s and %s: which of them?", sources[0], sources[1])
	}
	switch {
	case t.Value != "":
		return g.alike(t.Value)
	case len(t.Each) > 0:
		return g.each(t.Each)
	case s.given("values"):
		return g.list(s.values)
	case s.given("from"):
		return g.file()
	case s.ask:
		return g.answers()
	case s.given("found") || s.given("left"):
		return g.foundLeft()
	}
	return nil
}

// alike is one value for all the places.
func (g *gauge) alike(text string) error {
	v, err := g.parse(text)
	if err != nil {
		return failed("bad-value", "", "%s: %v", g.l.m.Name, err)
	}
	if q, ok := v.Found.Quantity(); ok && len(g.walk) > 1 && g.l.clause().Places == nil && g.l.old == nil {
		g.l.doubt("all-alike", "%s of all %d places alike, %s", g.def.Name, len(g.walk), q)
	}
	for _, s := range g.walk {
		g.put(s, v)
	}
	return nil
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

// each is PLACE=VALUE after the reading.
func (g *gauge) each(all []phrase.Each) error {
	g.got = map[spot]record.Measured{}
	var seen record.Positions
	for _, e := range all {
		at, err := g.l.where(g.def.Of, []string{e.Place}, nil)
		if err != nil {
			return err
		}
		if twice := both(at, seen); !twice.IsZero() {
			return usage("say one value of each place", "%s stands twice", g.l.m.Fitted.Describe(twice, g.def.Of))
		}
		seen = seen.Union(at)
		v, err := g.parse(e.Value)
		if err != nil {
			return failed("bad-value", "", "%s: %s: %v", g.l.m.Name, g.l.m.Fitted.Describe(at, g.def.Of), err)
		}
		for _, s := range g.walk {
			if at.Has(s.at) {
				g.put(s, v)
			}
		}
	}
	return nil
}

// list is --values.
func (g *gauge) list(text string) error {
	parts := splitValues(text)
	if len(parts) != len(g.walk) {
		return usage("write - for a place that cannot be reached; walking order is shown by shedbook measure ... --ask",
			"%s for %s of %s; nothing was recorded", count(len(parts), "value"), g.wanted(), g.l.m.Name)
	}
	for i, part := range parts {
		v, err := g.parse(part)
		if err != nil {
			return failed("bad-value", "", "%s: --values: value %d, %s: %v", g.l.m.Name, i+1, g.walk[i].name(), err)
		}
		g.put(g.walk[i], v)
	}
	return nil
}

// wanted is "48 openers", or "96 places (openers 1-48, left and right)".
func (g *gauge) wanted() string {
	n := len(g.walk)
	if g.at.IsZero() {
		return "1 reading"
	}
	if n != g.at.Len() {
		return strconv.Itoa(n) + " places (" + g.l.m.Fitted.Describe(g.at, g.def.Of) + ", " + strings.Join(g.l.handsOf(g.def.Of, g.def.Handed), " and ") + ")"
	}
	p, _, _ := g.l.m.Fitted.Noun(g.def.Of)
	if n == 1 {
		return "1 " + p.Noun
	}
	return strconv.Itoa(n) + " " + p.Plural
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// splitValues splits at semicolons, or where there are none at commas, so that decimal commas can be written "5,9; 5,8".
func splitValues(text string) []string {
	sep := ","
	if strings.Contains(text, ";") {
		sep = ";"
	}
	return strings.Split(strings.TrimRight(strings.TrimSpace(text), sep), sep)
}

// foundLeft is --found and --left, alike for all the places.
func (g *gauge) foundLeft() error {
	var v record.Measured
	for _, f := range []struct {
		flag string
		text string
		at   *record.Value
	}{{"found", g.l.s.found, &v.Found}, {"left", g.l.s.left, &v.Left}} {
		if !g.l.s.given(f.flag) {
			continue
		}
		got, err := g.def.ParseValue(f.text)
		if err != nil {
			return failed("bad-value", "", "%s: --%s: %v", g.l.m.Name, f.flag, err)
		}
		*f.at = got
	}
	for _, s := range g.walk {
		n := v
		if old, ok := g.got[s]; ok && g.l.old != nil { // only what is said changes
			if n.Found.IsZero() {
				n.Found = old.Found
			}
			if n.Left.IsZero() {
				n.Left = old.Left
			}
		}
		g.put(s, n)
	}
	return nil
}

// answers are what was said to --ask.
func (g *gauge) answers() error {
	for _, s := range g.walk {
		text, ok := g.l.s.asked[s.name()]
		if !ok {
			continue
		}
		v, err := g.parse(text)
		if err != nil {
			return failed("bad-value", "", "%s: %s: %v", g.l.m.Name, s.name(), err)
		}
		g.put(s, v)
	}
	return nil
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

// conditions reads the test conditions and says which one is missing.
func (l *line) conditions(r *record.Measure, def *schedule.Reading) error {
	if l.s.given("at") {
		r.Condition = nil
		for _, text := range l.s.at {
			name, value, err := nameValue("at", text)
			if err != nil {
				return err
			}
			name = strings.ToLower(name)
			if !contains(def.Condition, name) {
				if len(def.Condition) == 0 {
					return failed("unknown-word", "leave --at out, or say it with --note", "%s: %s has no test condition", l.m.Name, def.Name)
				}
				return failed("unknown-word", "one of "+commas(def.Condition), "%s: %s has no test condition %q%s", l.m.Name, def.Name, name, didYouMean(name, def.Condition))
			}
			unit := quantity.Unit{}
			for _, c := range def.Correct {
				if c.Condition == name {
					unit = c.Rated.Unit()
				}
			}
			q, err := quantity.Parse(value)
			if err == nil && unit != (quantity.Unit{}) {
				q, err = quantity.ParseIn(value, unit)
			}
			if err != nil {
				return usage("", "--at %s: %v", name, err)
			}
			r.Condition = append(r.Condition, record.Condition{Name: name, Value: q})
		}
	}
	for _, name := range def.Condition {
		said := false
		for _, c := range r.Condition {
			said = said || c.Name == name
		}
		if !said {
			l.note("%s is measured at a stated %s, and none is said: --at %s=VALUE", def.Name, name, name)
		}
	}
	return nil
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
