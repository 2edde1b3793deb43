package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

var counterVerb = &verb{kind: "counter", form: phrase.Count, bind: bindCounter, build: buildCounter}

func bindCounter(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.last, "last", "reset, replaced: what it showed `last`: 812ac")
	s.str(fs, &s.start, "start", "reset, replaced: where it `starts` again (left out: 0)")
	s.yes(fs, &s.trip, "trip", "it is zeroed by the driver from now on")
	s.yes(fs, &s.lifetime, "lifetime", "it is never zeroed from now on")
	s.bindWork(fs)
	s.bindNote(fs)
}

func counterCommand() *command {
	s := &said{}
	return &command{
		name: "counter", section: "in the shed", brief: "record what hours, acres or bales a counter shows", writes: true,
		usage: []string{"counter MACHINE VALUE", "counter MACHINE NAME=VALUE ...", "counter MACHINE NAME +VALUE", "counter MACHINE NAME reset|replaced [--last VALUE] [--start VALUE]"},
		examples: []string{
			"counter drill 1812", "counter drill area=1812ac hours=210h", "counter drill area +40",
			"counter drill trip-area reset --last 812ac", "counter tractor hours replaced --last 4312h --start 0",
		},
		about: "A value alone is the main counter's. A reading that lies below the one before is asked about: was the counter reset or replaced, or is it a slip? So is one that is far above it. " +
			"Use goes on over a reset and a new counter.",
		flags: func(fs *pflag.FlagSet) { bindCounter(s, fs) },
		run:   recordCommand(counterVerb, s),
	}
}

func buildCounter(l *line) (record.Record, *record.Private, error) {
	r := &record.Counter{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Counter)
		r.Acts = append([]record.CounterAct(nil), r.Acts...)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	for _, c := range l.ph.Clauses {
		for _, t := range c.Terms {
			if err := l.counterAct(r, t); err != nil {
				return nil, nil, err
			}
		}
	}
	if err := l.counterFlags(r); err != nil {
		return nil, nil, err
	}
	for _, a := range r.Acts {
		switch a.Act {
		case "at":
			l.checkReading(a.Counter, a.Value)
		case "reset", "replaced":
			if a.Last != (quantity.Quantity{}) {
				l.checkReading(a.Counter, a.Last)
			}
			l.checkReset(a)
		}
	}
	p, err := l.private("")
	return r, p, err
}

// counterAct adds what a term says, or puts it in the place of what a correction finds there.
func (l *line) counterAct(r *record.Counter, t phrase.Term) error {
	var c *schedule.Counter
	name := t.Name
	if name == "" && l.old != nil && len(r.Acts) == 1 {
		name = r.Acts[0].Counter
	}
	if name != "" {
		c, _ = l.m.Fitted.Counter(name)
	}
	a := record.CounterAct{Act: "at"}
	switch {
	case t.Act != "":
		a.Act = t.Act
	default:
		text, add := strings.CutPrefix(t.Value, "+")
		if add {
			a.Act = "add"
		}
		var err error
		if c, a.Value, err = l.counterValue(c, name, text); err != nil {
			return err
		}
	}
	if c == nil {
		return l.noCounter(name)
	}
	a.Counter = c.Name
	for i := range r.Acts {
		if r.Acts[i].Counter != c.Name {
			continue
		}
		if l.old == nil {
			return usage("say each counter once", "%s stands twice", c.Name)
		}
		if a.Act == "at" && r.Acts[i].Act != "add" {
			r.Acts[i].Value = a.Value
		} else {
			r.Acts[i] = a
		}
		return nil
	}
	r.Acts = append(r.Acts, a)
	return nil
}

// counterValue reads a value: of the counter named, of the main one where it is a bare number, else of the one counter that counts in such units.
func (l *line) counterValue(c *schedule.Counter, name, text string) (*schedule.Counter, quantity.Quantity, error) {
	if c == nil {
		if name != "" {
			return nil, quantity.Quantity{}, l.noCounter(name)
		}
		c = l.m.Fitted.MainCounter()
		if c == nil {
			return nil, quantity.Quantity{}, l.noCounter("")
		}
		q, err := quantity.Parse(text)
		if err != nil {
			_, err = quantity.ParseIn(text, c.Unit) // it knows which units are likely
			return nil, q, usage("", "counter %s: %v", c.Name, err)
		}
		if q.Unit() != (quantity.Unit{}) && !q.Unit().Converts(c.Unit) {
			var fit []*schedule.Counter
			for i := range l.m.Fitted.Counters {
				if x := &l.m.Fitted.Counters[i]; q.Unit().Converts(x.Unit) {
					fit = append(fit, x)
				}
			}
			if len(fit) == 1 {
				c = fit[0]
			}
		}
	}
	q, err := quantity.ParseIn(text, c.Unit)
	if err != nil {
		return nil, q, usage("", "counter %s: %v", c.Name, err)
	}
	if q.Sign() < 0 {
		return nil, q, usage("write +40 to add, or what it shows", "counter %s: %s is below zero", c.Name, q)
	}
	return c, q, nil
}

func (l *line) noCounter(name string) error {
	var known []string
	for _, c := range l.m.Fitted.Counters {
		known = append(known, c.Name)
	}
	if len(known) == 0 {
		return failed("unknown-counter", "", "%s has no counter", l.m.Name)
	}
	if name == "" {
		return usage("one of "+commas(known), "which counter of %s?", l.m.Name)
	}
	return failed("unknown-counter", "one of "+commas(known), "%s has no counter %q%s", l.m.Name, name, didYouMean(name, known))
}

// counterFlags puts --last, --start, --trip and --lifetime on the one act they are about.
func (l *line) counterFlags(r *record.Counter) error {
	s := l.s
	if !s.given("last") && !s.given("start") && !s.trip && !s.lifetime {
		return nil
	}
	var act *record.CounterAct
	for i := range r.Acts {
		if s.trip || s.lifetime || r.Acts[i].Act == "reset" || r.Acts[i].Act == "replaced" {
			if act != nil {
				return usage("one line for each counter", "which of the counters is meant?")
			}
			act = &r.Acts[i]
		}
	}
	if act == nil {
		return usage("shedbook counter "+l.m.Name+" NAME reset --last 812", "--last and --start go with a counter that was reset or replaced")
	}
	c, _ := l.m.Fitted.Counter(act.Counter)
	var err error
	if s.given("last") {
		if act.Last, err = amount("last", s.last, c.Unit); err != nil {
			return err
		}
	}
	if s.given("start") {
		if act.Value, err = amount("start", s.start, c.Unit); err != nil {
			return err
		}
	}
	switch {
	case s.trip && s.lifetime:
		return usage("", "--trip and --lifetime: it is one of them")
	case s.trip:
		act.Span = "trip"
	case s.lifetime:
		act.Span = "lifetime"
	}
	return nil
}

// counters reads the --counter flags.
func (l *line) counters() ([]record.CounterAt, error) {
	var out []record.CounterAt
	for _, list := range l.s.counters {
		name, text, ok := strings.Cut(list, "=")
		if !ok {
			name, text = "", list
		}
		var c *schedule.Counter
		if name = strings.ToLower(strings.TrimSpace(name)); name != "" {
			c, _ = l.m.Fitted.Counter(name)
		}
		c, q, err := l.counterValue(c, name, strings.TrimSpace(text))
		if err != nil {
			return nil, err
		}
		for _, o := range out {
			if o.Counter == c.Name {
				return nil, usage("say each counter once", "--counter: %s stands twice", c.Name)
			}
		}
		l.checkReading(c.Name, q)
		out = append(out, record.CounterAt{Counter: c.Name, At: q})
	}
	return out, nil
}

// checkReading asks about a reading that lies far above or below an earlier one, or, with what was added in between, above a later one of the same run of the counter.
func (l *line) checkReading(name string, q quantity.Quantity) {
	c := l.laterCounter(name)
	if c == nil {
		return
	}
	if c.Derived { // what was worked out is no reading, but tells another machine's from this one's
		l.checkWorkedOut(name, c.Estimate, q)
		return
	}
	var past *rules.CounterPoint
	grown, face := q, quantity.Whole(0, c.Unit)
	for i := range c.Points {
		p := &c.Points[i]
		if l.old != nil && p.Entry == l.old.Entry.ID {
			continue
		}
		if p.Done.Compare(l.done) <= 0 {
			past, face = p, p.Face
			continue
		}
		if p.Act == "reset" || p.Act == "replaced" {
			break
		}
		if p.Act == "add" {
			if more, err := p.Face.Sub(face); err == nil {
				grown, _ = grown.Add(more)
			}
			face = p.Face
			continue
		}
		if n, err := grown.Cmp(p.Face); err == nil && n > 0 {
			l.doubt("counter-backwards", "%s of %s would go backwards later: it showed %s on %s, and %s is said of %s%s", name, l.m.Name, p.Face, weekday(p.Done), q, weekday(l.done), l.ifWrong(" (if the later one", name, p, ")"))
			return
		}
		break
	}
	if past == nil {
		return
	}
	if n, err := q.Cmp(past.Face); err == nil && n < 0 {
		l.doubt("counter-backwards", "%s of %s would go backwards: it showed %s on %s, now %s (if it was set back or replaced: shedbook counter %s %s reset|replaced%s)",
			name, l.m.Name, past.Face, weekday(past.Done), q, l.m.Name, name, l.ifWrong("; if the earlier one", name, past, ""))
		return
	}
	l.checkJump(name, past, q)
}

// ifWrong is how a reading recorded before is put right, "" where it is no entry that a correction with a value is for, or one of this very line or file.
func (l *line) ifWrong(which, name string, p *rules.CounterPoint, end string) string {
	id, err := ledger.ParseID(string(p.Entry))
	if err != nil {
		return ""
	}
	e := l.w.log.Entry(id)
	switch {
	case e == nil:
		return ""
	case e.Kind() == "counter":
		return fmt.Sprintf("%s is wrong: shedbook correct %s %s=VALUE%s", which, p.Entry.Short(), name, end)
	case slices.Contains([]string{"adjust", "measure", "swap", "did", "fault", "repair", "note"}, e.Kind()):
		return fmt.Sprintf("%s is wrong: shedbook correct %s --counter %s=VALUE%s", which, p.Entry.Short(), name, end)
	}
	return ""
}

// checkJump asks about a reading that mostly has a digit too many: more hours than have passed, a day to spare, or five times what it showed, where that
// was more than a few. The bounds are the project's own: common practice, no source.
func (l *line) checkJump(name string, past *rules.CounterPoint, q quantity.Quantity) {
	showed := fmt.Sprintf("%s of %s showed %s on %s, now %s", name, l.m.Name, past.Face, weekday(past.Done), q)
	if gain, err := q.Sub(past.Face); err == nil {
		if h, err := gain.Exact(hours); err == nil && h.Float64() > 24*float64(daysBetween(past.Done, l.done)+1) {
			l.doubt("counter-jump", "%s: more hours than have passed since; a digit too many?", showed)
			return
		}
	}
	last, errA := past.Face.Exact(past.Face.Unit())
	now, errB := q.Exact(past.Face.Unit())
	if errA == nil && errB == nil && last.Float64() > 50 && now.Float64() >= 5*last.Float64() {
		l.doubt("counter-jump", "%s: at least five times as much; a digit too many?", showed)
	}
}

// checkWorkedOut asks about the first reading of a counter that was worked out so far, where it is five times as much and more than a few.
func (l *line) checkWorkedOut(name string, so, q quantity.Quantity) {
	was, errA := so.Exact(so.Unit())
	now, errB := q.Exact(so.Unit())
	if errA == nil && errB == nil && was.Float64() > 50 && now.Float64() >= 5*was.Float64() {
		l.doubt("counter-jump", "%s of %s: worked out at %s so far, never read, and %s is at least five times as much; is it this machine's?", name, l.m.Name, so, q)
	}
}

// daysBetween counts the days from one date to a later one.
func daysBetween(from, to record.Done) int {
	return int((to.Day().Unix() - from.Day().Unix()) / (24 * 60 * 60))
}

// laterCounter is a counter with its readings up to today, of the machine as it is then.
func (l *line) laterCounter(name string) *rules.Counter {
	if l.bulk != nil {
		return l.bulk.counter(l, name)
	}
	st, err := l.w.stateOf(l.m.ID, rules.Options{On: max(l.done.Date(), l.c.today())})
	if err != nil {
		return l.m.Counters[name]
	}
	if m := st.MachineByID(l.m.ID); m != nil {
		return m.Counters[name]
	}
	return nil
}

// checkReset asks whether a counter that is never zeroed was.
func (l *line) checkReset(a record.CounterAct) {
	if c := l.m.Counters[a.Counter]; a.Act == "reset" && a.Span == "" && c != nil && !c.Trip && (l.old == nil || !wasReset(l.old.Record, a.Counter)) {
		l.doubt("counter-reset", "%s of %s counts its whole life: was it really set back?", a.Counter, l.m.Name)
	}
}

func wasReset(r record.Record, name string) bool {
	c, ok := r.(*record.Counter)
	if !ok {
		return false
	}
	for _, a := range c.Acts {
		if a.Counter == name && a.Act == "reset" {
			return true
		}
	}
	return false
}

// oldRecord is the record corrected as it stands, nil for a new one.
func (l *line) oldRecord() record.Record {
	if l.old == nil {
		return nil
	}
	return l.old.Record
}
