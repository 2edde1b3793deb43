package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
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
		about: "What is taken to be so, unproved: good takes every job as done and every reading as within its limits on that day. It is shown as assumed wherever it matters. " +
			"Of a part whose places are left out it speaks of those there when the book began: what was put in since keeps its own count.",
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
		if err := l.sayTakenAsDone(); err != nil {
			return nil, nil, err
		}
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
		if it.Positions, err = l.where(noun, c.Places, c.But); err != nil {
			return it, err
		}
	}
	if t.Kind == phrase.Part {
		err = l.putInSince(&it, c, noun)
	}
	return it, err
}

// putInSince keeps a starting line from making old what the book knows to be newer. Where places are left out, those whose part an entry put in are left out
// too, and that is said; a place or part named outright is asked about.
func (l *line) putInSince(it *record.Assumed, c phrase.Clause, noun string) error {
	all := it.Positions
	if all.IsZero() && noun != "" {
		all = l.m.Fitted.All(noun)
	}
	var since, some, old []record.Position // put in on all hands, on one of them, on none
	var days []string
	for _, p := range l.numbered(all) {
		in, there := 0, l.slots(l.m, it.Name, record.NewPositions(placeOf(p)...), it.Hand)
		for _, name := range there {
			s := l.m.Slots[it.Name][name]
			if s == nil || s.Part == nil || !s.Part.PutIn(l.m.ID) {
				continue
			}
			in++
			if day := string(s.Part.In.Date()); day != "" {
				days = append(days, day)
			}
		}
		switch in {
		case 0:
			old = append(old, p)
		case len(there):
			since = append(since, p)
		default:
			some = append(some, p)
		}
	}
	if len(since)+len(some) == 0 {
		return nil
	}
	what := strings.ReplaceAll(it.Name, "-", " ")
	slices.Sort(days)
	when := "since"
	if days = slices.Compact(days); len(days) == 1 {
		when = "on " + weekday(record.Done(days[0]))
	} else if len(days) > 1 {
		when = "between " + weekday(record.Done(days[0])) + " and " + weekday(record.Done(days[len(days)-1]))
	}
	if noun == "" || len(c.Places) > 0 || len(c.But) > 0 && len(some) > 0 {
		where := l.m.Name
		if noun != "" {
			where = l.m.Fitted.Describe(record.NewPositions(append(since, some...)...), noun)
		}
		l.doubt("put-in", "the %s of %s was put in %s, and its use is counted from there: by this line it would count as older", what, where, when)
		return nil
	}
	if len(old)+len(some) == 0 {
		return failed("put-in", "to say it all the same, name the places: shedbook assume "+l.m.Name+" "+strings.Join(all.Strings(), ",")+" "+it.Name+" ...",
			"%s: every %s was put in since the book began (%s), and its use is counted from there", l.m.Name, what, when)
	}
	if len(some) == 0 {
		it.Positions = all.Without(record.NewPositions(since...))
	} // else the places stay unsaid, of which a replay takes the parts that were there from the beginning, hand by hand
	left := l.placesOf(since, noun, "")
	if len(some) > 0 {
		left = strings.TrimPrefix(left+", "+l.placesOf(some, noun, " on one side"), ", ")
	}
	l.note("left out %s whose %s was put in %s: %s", l.counted(len(since)+len(some), noun), what, when, left)
	return nil
}

// placesOf are the numbers of some places: "5-7, 12".
func (l *line) placesOf(at []record.Position, noun, more string) string {
	if len(at) == 0 {
		return ""
	}
	return l.m.Fitted.Describe(record.NewPositions(at...), noun) + more
}

// counted is "3 openers".
func (l *line) counted(n int, noun string) string {
	p, _, _ := l.m.Fitted.Noun(noun)
	if n == 1 {
		return "1 " + p.Noun
	}
	return fmt.Sprintf("%d %s", n, p.Plural)
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

// sayTakenAsDone tells which work that was overdue on its day a starting line takes as done: mostly some of it is still to be done.
func (l *line) sayTakenAsDone() error {
	st, err := l.w.stateOf(l.m.ID, rules.Options{On: l.done.Date()})
	if err != nil {
		return err
	}
	var jobs []string // worst first
	at := map[string]record.Positions{}
	for _, i := range rules.Due(st, rules.Filter{Machine: l.m.ID}) {
		if i.Job == "" || i.State != rules.Overdue {
			continue
		}
		if !slices.Contains(jobs, i.Job) {
			jobs = append(jobs, i.Job)
		}
		at[i.Job] = at[i.Job].Union(i.Positions)
	}
	var late []string
	for _, job := range jobs {
		what := strings.ReplaceAll(job, "-", " ")
		if !at[job].IsZero() {
			what += " of " + l.m.Fitted.Describe(at[job], "")
		}
		late = append(late, what)
	}
	if len(late) > 0 {
		l.note("with this, what was overdue counts as done: %s. If that is not so, take it back (shedbook strike {id}) and name the jobs that are: shedbook assume %s grease", strings.Join(late, "; "), l.m.Name)
	}
	return nil
}
