package main

import (
	"fmt"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

var adjustVerb = &verb{kind: "adjust", form: phrase.Adjust, bind: bindAdjust, build: buildAdjust}

func bindAdjust(s *said, fs *pflag.FlagSet) {
	s.bindWork(fs)
	s.bindNote(fs)
}

func adjustCommand() *command {
	s := &said{}
	return &command{
		name: "adjust", section: "in the shed", brief: "record what was set, on which places", writes: true,
		usage: []string{"adjust MACHINE [PLACES] SETTING VALUE ... [but PLACES]", "adjust MACHINE [PLACES] setup=NAME [but PLACES]"},
		examples: []string{
			"adjust drill left-wing depth +1", "adjust drill opener/1-48 depth=6", "adjust drill depth=6 gauge-shims=2 but 14",
			"adjust drill left-wing depth 7 rest 6", "adjust drill setup=spring",
		},
		about: "\"depth +1\" and \"depth -1\" go from what stands there on the day; what comes out is shown and recorded. \"depth=7\" is the value itself. Places left out are all places of the setting.",
		flags: func(fs *pflag.FlagSet) { bindAdjust(s, fs) },
		run:   recordCommand(adjustVerb, s),
	}
}

// set is one place's new value of one setting.
type set struct {
	to   record.Value
	by   string
	said string
}

// setting is what one line does to one setting, place by place; a later word of the line rules over an earlier one.
type settingPlan struct {
	def    *schedule.Setting
	places []record.Position // in the order said
	sets   map[record.Position]set
}

func (p *settingPlan) put(at record.Position, s set) {
	if _, ok := p.sets[at]; !ok {
		p.places = append(p.places, at)
	}
	p.sets[at] = s
}

func (p *settingPlan) covered() record.Positions { return record.NewPositions(p.places...) }

type adjustPlan struct {
	l     *line
	order []*settingPlan
}

func (a *adjustPlan) of(def *schedule.Setting) *settingPlan {
	for _, p := range a.order {
		if p.def.Name == def.Name {
			return p
		}
	}
	p := &settingPlan{def: def, sets: map[record.Position]set{}}
	a.order = append(a.order, p)
	return p
}

func buildAdjust(l *line) (record.Record, *record.Private, error) {
	r := &record.Adjust{}
	plan := &adjustPlan{l: l}
	var old record.Positions
	if o := l.oldRecord(); o != nil {
		*r = *o.(*record.Adjust)
		var err error
		if old, err = plan.start(r); err != nil {
			return nil, nil, err
		}
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	for _, c := range l.ph.Clauses {
		if err := plan.clause(r, c, old); err != nil {
			return nil, nil, err
		}
	}
	r.Changes = plan.changes()
	if len(r.Changes) == 0 {
		return nil, nil, usage("shedbook strike "+l.old.Entry.ID.Short(), "no place is left: nothing would be set")
	}
	p, err := l.private("")
	return r, p, err
}

// start takes up what the entry corrected says. Relative changes are resolved anew, for the day or the places may change.
func (a *adjustPlan) start(r *record.Adjust) (record.Positions, error) {
	var all record.Positions
	for _, c := range r.Changes {
		def, ok := a.l.m.Fitted.Setting(c.Setting)
		if !ok {
			return all, failed("unknown-word", "strike it and record it anew", "%s has no setting %q any more", a.l.m.Name, c.Setting)
		}
		all = all.Union(c.Positions)
		at := a.l.m.Fitted.Walk(c.Positions)
		if c.Positions.IsZero() {
			at = a.l.m.Fitted.Walk(a.l.m.Fitted.All(def.Of))
		}
		if def.Of == "" {
			at = []record.Position{{}}
		}
		for _, p := range at {
			a.of(def).put(p, set{c.To, c.By, c.Said})
		}
		if c.By != "" && (a.l.moved || a.l.s.given("done")) {
			if err := a.move(a.of(def), at, c.By, c.Said); err != nil {
				return all, err
			}
		}
	}
	return all, nil
}

// clause applies one clause of the line.
func (a *adjustPlan) clause(r *record.Adjust, c phrase.Clause, old record.Positions) error {
	if len(c.Terms) == 0 { // a correction of the places alone
		return a.replace(c)
	}
	for _, t := range c.Terms {
		if t.Kind == phrase.Setup {
			if err := a.setup(r, t.Name, c); err != nil {
				return err
			}
			continue
		}
		if t.Name == "" {
			if len(a.order) != 1 {
				return usage("name the setting: depth="+t.Value, "%q of what? the entry sets several things", t.Value)
			}
			t.Name = a.order[0].def.Name
		}
		def, ok := a.l.m.Fitted.Setting(t.Name)
		if !ok {
			return failed("unknown-word", "shedbook schedule show "+a.l.m.Name, "%s has no setting %q", a.l.m.Name, t.Name)
		}
		if err := a.value(def, t, c); err != nil {
			return err
		}
	}
	return nil
}

// replace moves a corrected entry to other places: every setting keeps its value, which must be one.
func (a *adjustPlan) replace(c phrase.Clause) error {
	for _, p := range a.order {
		if p.def.Of == "" {
			return failed("no-positions", "leave the places out", "%s: %s is of the whole machine and has no places", a.l.m.Name, p.def.Name)
		}
		at, err := a.l.places(p.def.Of, c, p.covered())
		if err != nil {
			return err
		}
		if len(c.Places) == 0 {
			for q := range p.sets {
				if !at.Has(q) {
					delete(p.sets, q)
				}
			}
			continue
		}
		var value *set
		for _, q := range p.places {
			s := p.sets[q]
			if value != nil && (s.by != value.by || s.by == "" && s.to != value.to) {
				return usage("name the setting and its value", "%s is set to several values in that entry: which one goes to %s?", p.def.Name, a.l.m.Fitted.Describe(at, p.def.Of))
			}
			value = &s
		}
		p.places, p.sets = nil, map[record.Position]set{}
		walk := a.l.m.Fitted.Walk(at)
		if value.by != "" {
			if err := a.move(p, walk, value.by, c.Said); err != nil {
				return err
			}
			continue
		}
		for _, q := range walk {
			p.put(q, set{to: value.to, said: c.Said})
		}
	}
	return nil
}

// places are where a clause's setting is set; "rest" is what the line has not set yet.
func (a *adjustPlan) places(def *schedule.Setting, c phrase.Clause) ([]record.Position, error) {
	if def.Of == "" {
		if len(c.Places)+len(c.But) > 0 {
			return nil, failed("no-positions", "leave the places out", "%s: %s is of the whole machine and has no places", a.l.m.Name, def.Name)
		}
		return []record.Position{{}}, nil
	}
	f := a.l.m.Fitted
	if len(c.Places) == 1 && c.Places[0] == "rest" {
		rest, err := a.l.where(def.Of, nil, c.But)
		if err != nil {
			return nil, err
		}
		if rest = rest.Without(a.of(def).covered()); rest.IsZero() {
			return nil, failed("unknown-position", "", "%s: there is no rest: %s is set everywhere already", a.l.m.Name, def.Name)
		}
		return f.Walk(rest), nil
	}
	var at record.Positions
	var err error
	if a.l.old != nil && len(c.Places) == 0 {
		covered := a.of(def).covered()
		if covered.IsZero() {
			covered = f.All(def.Of)
		}
		at, err = a.l.places(def.Of, c, covered)
		if err == nil {
			for q := range a.of(def).sets {
				if !at.Has(q) {
					delete(a.of(def).sets, q)
				}
			}
		}
	} else {
		at, err = a.l.where(def.Of, c.Places, c.But)
		if a.l.old != nil {
			*a.of(def) = settingPlan{def: def, sets: map[record.Position]set{}}
		}
	}
	return f.Walk(at), err
}

// value sets one setting of one clause.
func (a *adjustPlan) value(def *schedule.Setting, t phrase.Term, c phrase.Clause) error {
	at, err := a.places(def, c)
	if err != nil {
		return err
	}
	plan := a.of(def)
	if t.Relative() && !(t.Value[0] == '-' && def.Min.Sign() < 0) {
		return a.move(plan, at, t.Value, c.Said)
	}
	if t.Fixed && t.Value[0] == '+' {
		return usage(fmt.Sprintf("write %[1]s %[2]s to go up by so much, or %[1]s=%[3]s", def.Name, t.Value, t.Value[1:]), "%s=%s: a change or the value itself?", def.Name, t.Value)
	}
	to, err := def.ParseValue(t.Value)
	if err != nil {
		return failed("bad-value", "", "%s: %v", a.l.m.Name, err)
	}
	for _, p := range at {
		plan.put(p, set{to: to, said: saidOf(c, plan.sets[p].said)})
	}
	return nil
}

// setup applies a named set-up, or that part of it which concerns the places named.
func (a *adjustPlan) setup(r *record.Adjust, name string, c phrase.Clause) error {
	f := a.l.m.Fitted
	s, ok := f.Setup(name)
	if !ok {
		return failed("unknown-word", "shedbook schedule show "+a.l.m.Name, "%s has no set-up %q", a.l.m.Name, name)
	}
	r.Setup = name
	applied := false
	for _, v := range s.Values {
		def, ok := f.Setting(v.Setting)
		if !ok {
			continue
		}
		to, err := def.ParseValue(v.To)
		if err != nil {
			return failed("bad-value", "shedbook schedule show "+a.l.m.Name, "%s: set-up %s: %v", a.l.m.Name, name, err)
		}
		if def.Of == "" {
			if len(c.Places)+len(c.But) == 0 {
				a.of(def).put(record.Position{}, set{to: to})
				applied = true
			}
			continue
		}
		at, err := f.ParseWhere(def.Of, v.Where)
		if err != nil {
			return failed("bad-value", "", "%s: set-up %s: %v", a.l.m.Name, name, err)
		}
		if len(c.Places)+len(c.But) > 0 {
			named, err := a.l.where(def.Of, c.Places, c.But)
			if err != nil {
				continue // places of another noun
			}
			at = both(at, named)
		}
		for _, p := range f.Walk(at) {
			a.of(def).put(p, set{to: to, said: c.Said})
			applied = true
		}
	}
	if !applied {
		return failed("unknown-position", "shedbook schedule show "+a.l.m.Name, "%s: the set-up %s sets nothing there", a.l.m.Name, name)
	}
	return nil
}

// changes gathers places that end alike into one change each.
func (a *adjustPlan) changes() []record.Change {
	var out []record.Change
	for _, p := range a.order {
		var keys []set
		at := map[set][]record.Position{}
		for _, q := range p.places {
			s, ok := p.sets[q]
			if !ok {
				continue
			}
			if at[s] == nil {
				keys = append(keys, s)
			}
			at[s] = append(at[s], q)
		}
		for _, s := range keys {
			c := record.Change{Setting: p.def.Name, To: s.to, By: s.by, Said: s.said}
			if p.def.Of != "" {
				c.Positions = record.NewPositions(at[s]...)
			}
			out = append(out, c)
		}
	}
	return out
}
