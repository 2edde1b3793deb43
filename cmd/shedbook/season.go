package main

import (
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func bindSeason(s *said, fs *pflag.FlagSet) {
	s.fs = fs
	s.str(fs, &s.workOf, "work", "which kind of `work`: seeding (left out: the one the name says)")
	s.str(fs, &s.from, "from", "planned first `day`")
	s.str(fs, &s.to, "to", "planned last `day`")
	s.strs(fs, &s.farms, "farm", "only this `farm` (left out: all)")
	s.strs(fs, &s.use, "use", "what it is expected to take: `disc-drill=1500ac`")
	s.str(fs, &s.done, "done", "the `day` it was opened or closed (left out: today)")
	s.bindNote(fs)
}

func seasonCommand(act, brief string, examples ...string) func() *command {
	return func() *command {
		s := &said{}
		return &command{
			name: "season " + act, section: "seasons", brief: brief, writes: true,
			usage:    []string{"season " + act + " NAME [--work WORK] [--from DAY] [--to DAY] [--farm NAME] [--use KIND=AMOUNT]"},
			examples: examples,
			about:    "A season is a named stretch of one kind of work. Jobs before and after it go by its days: planned ones until it is opened and closed.",
			flags:    func(fs *pflag.FlagSet) { bindSeason(s, fs) },
			run: func(c *call) error {
				name := strings.Join(c.args, " ")
				if strings.TrimSpace(name) == "" {
					return usage("shedbook "+examples[0], "season %s takes the season's name", act)
				}
				return c.record(func(w *writing, sure sureOf) error { return w.addSeason(s, act, name, sure) })
			},
		}
	}
}

var (
	seasonPlanCommand  = seasonCommand("plan", "say when a season is to be", "season plan spring seeding 2026 --from 2026-04-10 --to 2026-05-20", "season plan \"fall wheat 2026\" --work seeding")
	seasonOpenCommand  = seasonCommand("open", "record that a season began", "season open spring seeding 2026", "season open \"spring seeding 2026\" --done 2026-04-12")
	seasonCloseCommand = seasonCommand("close", "record that a season is over", "season close spring seeding 2026")
)

func (w *writing) addSeason(s *said, act, name string, sure sureOf) error {
	a := &reply{c: w.c, w: w}
	if err := w.seasonInto(a, s, act, name, sure); err != nil {
		return err
	}
	w.then(a.print)
	return nil
}

// seasonInto signs what is said of a season and keeps it for the answer.
func (w *writing) seasonInto(a *reply, s *said, act, name string, sure sureOf) error {
	if s.done == "" {
		s.done = "today"
	}
	done, err := s.when(w.c.env)
	if err != nil {
		return err
	}
	st, err := w.state(max(done.Date(), w.c.today()), "")
	if err != nil {
		return err
	}
	l := &line{c: w.c, w: w, s: s, v: &verb{}, st: st, m: &rules.Machine{}, done: done}
	r := &record.Season{Act: act, Name: strings.Join(strings.Fields(name), " "), Done: done}
	p, err := l.season(r)
	if err != nil {
		return err
	}
	l.common()
	l.doubled(r, p)
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	e, err := w.add(r, p, nil)
	if err != nil {
		return err
	}
	a.entries = append(a.entries, replied{e: e, r: r, p: w.c.hand.claim(p)})
	return nil
}

// season fills in what the flags say, and what the season of that name has already.
func (l *line) season(r *record.Season) (*record.Private, error) {
	s := l.s
	if err := checkWords("the name", r.Name, 200); err != nil {
		return nil, err
	}
	before := l.st.Season(r.Name)
	if before != nil {
		r.Name = before.Name
	}
	if r.Act == "close" && l.old == nil {
		switch {
		case before == nil:
			var names []string
			for _, x := range l.st.Seasons {
				names = append(names, x.Name)
			}
			return nil, failed("unknown-season", "shedbook season open "+r.Name, "there is no season %q%s", r.Name, didYouMean(r.Name, names))
		case before.Closed != "":
			return nil, failed("closed", "", "the season %s was closed on %s already", r.Name, weekday(record.Done(before.Closed)))
		case before.Opened == "":
			return nil, failed("not-open", "shedbook season open "+r.Name, "the season %s was never opened", r.Name)
		case l.done.Date() < before.Opened:
			return nil, failed("not-open", "", "the season %s was opened on %s, after %s", r.Name, weekday(record.Done(before.Opened)), weekday(l.done))
		}
	}
	if r.Act == "open" && before != nil && before.Opened != "" && before.Closed == "" && l.old == nil {
		return nil, failed("open-already", "", "the season %s was opened on %s already", r.Name, weekday(record.Done(before.Opened)))
	}
	var err error
	if r.Act != "close" {
		if r.Work, err = l.seasonWork(r, before); err != nil {
			return nil, err
		}
	}
	if s.given("farm") {
		r.Farms = nil
		for _, name := range s.farms {
			f, err := oneFarm(l.st, name)
			if err != nil {
				return nil, err
			}
			if !slices.Contains(r.Farms, f.ID) {
				r.Farms = append(r.Farms, f.ID)
			}
		}
	}
	for _, d := range []struct {
		flag, said string
		at         *string
	}{{"from", s.from, &r.From}, {"to", s.to, &r.To}} {
		if s.given(d.flag) {
			if *d.at, err = l.c.parseDay(d.said); err != nil {
				return nil, usage("write --"+d.flag+" 2026-04-10", "--%s: %v", d.flag, err)
			}
		}
	}
	if r.From != "" && r.To != "" && r.To < r.From {
		return nil, usage("exchange them", "the season would end, %s, before it begins, %s", r.To, r.From)
	}
	if s.given("use") {
		r.Use = nil
		for _, text := range s.use {
			u, err := l.plannedUse(text)
			if err != nil {
				return nil, err
			}
			r.Use = append(r.Use, u)
		}
	}
	return l.private("")
}

// seasonWork is the kind of work: as said, as the season has it, or the one that the name names.
func (l *line) seasonWork(r *record.Season, before *rules.Season) (string, error) {
	var known []string
	for _, k := range l.st.Kinds {
		for _, w := range k.Schedule.Work {
			if !slices.Contains(known, w) {
				known = append(known, w)
			}
		}
	}
	if l.s.given("work") {
		work := strings.ToLower(strings.TrimSpace(l.s.workOf))
		if !slices.Contains(known, work) {
			hint := "shedbook schedule list shows what machines take part in"
			if len(known) > 0 {
				hint = "one of " + commas(known)
			}
			return "", failed("unknown-work", hint, "no kind of machine here takes part in %q%s", l.s.workOf, didYouMean(work, known))
		}
		return work, nil
	}
	if r.Work != "" {
		return r.Work, nil
	}
	if before != nil && before.Work != "" {
		return before.Work, nil
	}
	for _, word := range strings.Fields(strings.ToLower(r.Name)) {
		if slices.Contains(known, word) {
			return word, nil
		}
	}
	hint := "add --work seeding"
	if len(known) > 0 {
		hint = "add --work " + strings.Join(known, " or ")
	}
	return "", usage(hint, "which kind of work is %s?", r.Name)
}

// plannedUse reads "disc-drill=1500ac".
func (l *line) plannedUse(text string) (record.PlannedUse, error) {
	kind, value, err := nameValue("use", text)
	if err != nil {
		return record.PlannedUse{}, err
	}
	var kinds []string
	for _, k := range l.st.Kinds {
		kinds = append(kinds, k.Schedule.Name)
		if k.Schedule.Name != kind {
			continue
		}
		if f := fittedAs(l.st, k.Schedule); f != nil {
			of := *l
			of.m = &rules.Machine{Name: kind, Fitted: f}
			c, q, err := of.counterValue(nil, "", value)
			if err != nil {
				return record.PlannedUse{}, err
			}
			if q.Sign() <= 0 || q == (quantity.Quantity{}) {
				return record.PlannedUse{}, usage("write --use "+kind+"=1500ac", "--use %s: %s is no use", kind, q)
			}
			return record.PlannedUse{Kind: kind, Counter: c.Name, Amount: q}, nil
		}
	}
	return record.PlannedUse{}, failed("unknown-kind", "shedbook schedule list", "the book uses no kind %q%s", kind, didYouMean(kind, kinds))
}
