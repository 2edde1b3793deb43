package main

import (
	"slices"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

var assumeVerb = &verb{kind: "assume", form: phrase.Assume, bind: bindAssume, build: buildAssume}

func bindAssume(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.hand, "hand", "`left` or right, where there are two in one place")
	s.bindWork(fs)
	s.bindNote(fs)
}

func assumeCommand() *command {
	s := &said{}
	return &command{
		name: "assume", section: "machines", brief: "draw the starting line of an old machine", writes: true,
		usage: []string{"assume MACHINE good", "assume MACHINE [PLACES] PART worn=50%|used=600ac ... [but PLACES]", "assume MACHINE [PLACES] SETTING=VALUE|READING=VALUE|JOB ..."},
		examples: []string{
			"assume drill good --counter area=1812ac", "assume tractor good --counter hours=4210h", "assume drill disc worn=50% --done 2026-03-01", "assume drill depth=6 good",
		},
		about: "What is taken to be so, unproved: good takes every job as done and every reading as within its limits on that day. It is shown as assumed wherever it matters.",
		flags: func(fs *pflag.FlagSet) { bindAssume(s, fs) },
		run:   recordCommand(assumeVerb, s),
	}
}

func buildAssume(l *line) (record.Record, *record.Private, error) {
	r := &record.Assume{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Assume)
		r.Items = slices.Clone(r.Items)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if slices.Contains(l.ph.Flags, "good") {
		r.Good = true
	}
	for _, c := range l.ph.Clauses {
		if len(c.Terms) == 0 {
			return nil, nil, usage("name the thing too: disc worn=50%", "%s: what of it?", c.Said)
		}
		for _, t := range c.Terms {
			it, err := l.assumed(c, t)
			if err != nil {
				return nil, nil, err
			}
			r.Items = slices.DeleteFunc(r.Items, func(o record.Assumed) bool {
				return l.old != nil && o.Name == it.Name && o.Hand == it.Hand && (o.Positions.IsZero() || it.Positions.IsZero() || !both(o.Positions, it.Positions).IsZero())
			})
			r.Items = append(r.Items, it)
		}
	}
	p, err := l.private("")
	return r, p, err
}

// assumed is one thing taken as given.
func (l *line) assumed(c phrase.Clause, t phrase.Term) (record.Assumed, error) {
	it := record.Assumed{Name: t.Name}
	f := l.m.Fitted
	noun, handed := "", false
	var err error
	switch t.Kind {
	case phrase.Setting:
		def, _ := f.Setting(t.Name)
		noun = def.Of
		it.Value, err = def.ParseValue(t.Value)
	case phrase.Reading:
		def, _ := f.Reading(t.Name)
		noun, handed = def.Of, def.Handed
		it.Value, err = def.ParseValue(t.Value)
	case phrase.Job:
		def, _ := f.Job(t.Name)
		noun = def.Of
	case phrase.Part:
		what, perr := l.swapped(t.Name)
		if perr != nil {
			return it, perr
		}
		if len(what.parts) != 1 {
			return it, usage("name its parts one by one", "%s is several parts", what.name)
		}
		noun, handed = what.noun, what.handed
		err = l.assumedUse(&it, t)
	}
	if err != nil {
		return it, failed("bad-value", "", "%s: %v", l.m.Name, err)
	}
	if l.s.given("hand") && handed {
		if it.Hand, err = l.oneHand(t.Name, l.handsOf(noun, handed)); err != nil {
			return it, err
		}
	}
	if len(c.Places)+len(c.But) > 0 {
		if noun == "" {
			return it, failed("no-positions", "leave the places out", "%s: %s is of the whole machine and has no places", l.m.Name, t.Name)
		}
		it.Positions, err = l.where(noun, c.Places, c.But)
	}
	return it, err
}

// assumedUse reads worn=50% and used=600ac.
func (l *line) assumedUse(it *record.Assumed, t phrase.Term) error {
	percent := quantity.MustUnit("%")
	if t.Worn != "" {
		q, err := quantity.ParseIn(t.Worn, percent)
		if err != nil {
			return err
		}
		if n, err := q.Cmp(quantity.Whole(100, percent)); err != nil || n > 0 || q.Sign() < 0 {
			return usage("write worn=50%", "%s cannot be worn %s: it is 0 %% to 100 %%", t.Name, q)
		}
		it.Worn = q
	}
	if t.Used != "" {
		_, q, err := l.counterValue(nil, "", t.Used)
		if err != nil {
			return err
		}
		it.Used = q
	}
	return nil
}
