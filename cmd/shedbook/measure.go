package main

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

var measureVerb = &verb{kind: "measure", form: phrase.Measure, bind: bindMeasure, build: buildMeasure}

func bindMeasure(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.values, "values", "`values` in the order of the numbers, by commas: 5.9,5.8,-,...")
	s.str(fs, &s.from, "from", "`file` of readings, a line each: \"12 5.9\", \"12: 5 7/8 in\" or values by number; - is stdin")
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
			"measure MACHINE [PLACES] READING VALUE", "measure MACHINE READING PLACE=VALUE ...", "measure MACHINE [PLACES] READING --values LIST | --from FILE",
			"measure MACHINE [PLACES] READING ... --ask",
		},
		examples: []string{
			"measure drill 12 disc-reach 5 1/4", "measure drill disc-reach 12=5.9 30=5.8", "measure drill disc-reach --ask", "measure drill 1-24 disc-reach hub-play --ask",
			"measure drill opener/1-4 disc-reach --values 5.9,5.8,-,6", "measure drill disc-reach --from readings.txt", "measure sprayer nozzle-flow --values 0.41,0.4 --at pressure=40psi",
		},
		about: `"-" is a place that cannot be reached, "not-fitted" one where there is nothing to measure. "5.2>5.9" (in quotes) is as found and as left. ` +
			`Values in a list go by the places' numbers. Two words make a mixed number: 5 1/4.

--ask keys a card in: it goes in the card's walking order, along the ranks, the front one from the left, the next one back; several readings are asked for at each place in turn. What you type is:

` + keysHelp + `
A value that looks like a slip is taken when it is typed a second time. At the end everything is looked over before it is signed. What is typed is kept line by line on this device, and only there, until it is recorded: ` +
			`after a closed terminal or a power cut the same line carries on where it stopped. The day is that of the beginning, or --done.`,
		flags: func(fs *pflag.FlagSet) {
			bindMeasure(s, fs)
			s.yes(fs, &s.ask, "ask", "ask for one place after the other, in walking order")
		},
		run: func(c *call) error {
			if s.ask {
				return c.measureAsked(s)
			}
			return run(c)
		},
	}
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
	def, err := l.measurable(r.Reading)
	if err != nil {
		return nil, nil, err
	}
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
	if g.valueSaid() {
		g.read()
	}
	r.Values = g.values()
	if !g.more || r.Said == "" || g.at.Len() == len(g.walk) {
		r.Said = saidOf(l.clause(), r.Said)
	}
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

// measurable finds a reading that is measured itself.
func (l *line) measurable(name string) (*schedule.Reading, error) {
	def, ok := l.m.Fitted.Reading(name)
	if !ok {
		return nil, failed("unknown-word", "shedbook schedule show "+l.m.Name, "%s has no reading %q", l.m.Name, name)
	}
	if def.Computed != nil {
		return nil, failed("computed", "measure "+strings.Join(def.Computed.Things(), " and "), "%s: %s is worked out from %s and not measured itself", l.m.Name, def.Name, strings.Join(def.Computed.Things(), " and "))
	}
	return def, nil
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
	if g.l.old != nil && g.l.clause().Places == nil {
		for _, s := range g.walk {
			if old, ok := g.got[s]; ok && !alike(old, g.got[g.walk[0]]) {
				g.l.doubt("all-alike", "the entry holds several values of %s: %s at all %d places? (one of them: shedbook correct %s PLACE=VALUE)", g.def.Name, v.Found, len(g.walk), g.l.old.Entry.ID.Short())
				break
			}
		}
	}
	for _, s := range g.walk {
		g.put(s, v)
	}
	return nil
}

// each is PLACE=VALUE after the reading. A correction may add places.
func (g *gauge) each(all []phrase.Each) error {
	if !g.more {
		g.got = map[spot]record.Measured{}
	}
	var named []record.Position
	for _, s := range g.walk {
		named = append(named, s.at)
	}
	among := record.NewPositions(named...)
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
		if out := at.Without(among); !out.IsZero() && (!g.more || len(g.l.clause().Places) > 0) {
			return failed("unknown-position", "name it among the places", "%s: %s is not among %s", g.l.m.Name, g.l.m.Fitted.Describe(out, g.def.Of), g.l.m.Fitted.Describe(among, g.def.Of))
		}
		g.at = g.at.Union(at)
		for _, s := range g.spots(g.l.numbered(at)) {
			g.put(s, v)
		}
	}
	g.walk = g.spots(g.l.numbered(seen))
	return nil
}

// list is --values.
func (g *gauge) list(text string) error {
	parts := splitValues(text)
	if len(parts) != len(g.walk) {
		return usage("write - for a place that cannot be reached; or let shedbook ask: --ask",
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

// workedOut tells what a calibration came to: the products that the readings just written down complete.
func (a *reply) workedOut(st *rules.State) []string {
	var out []string
	for _, x := range a.entries {
		if _, ok := x.r.(*record.Measure); !ok || x.m == nil || a.c.dryRun {
			continue
		}
		m := st.MachineByID(x.m.ID)
		if m == nil || m.Fitted == nil {
			continue
		}
		for _, def := range m.Fitted.Readings {
			if def.Computed == nil || def.Computed.How != "product" {
				continue
			}
			for _, slot := range slices.Sorted(maps.Keys(m.Readings[def.Name])) {
				all := m.Readings[def.Name][slot]
				if n := len(all); n > 0 && all[n-1].Entry == record.ID(x.e.ID().String()) {
					out = append(out, fmt.Sprintf("%s: %s, worked out: %s", strings.TrimSpace(def.Title+" "+slot), sentence.Value(all[n-1].Found, a.system()), def.Computed))
				}
			}
		}
	}
	const shown = 6
	if n := len(out) - shown; n > 0 {
		out = append(out[:shown], fmt.Sprintf("and %d more worked out: shedbook show %s", n, a.m.Name))
	}
	return out
}
