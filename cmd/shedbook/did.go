package main

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

var didVerb = &verb{kind: "did", form: phrase.Did, bind: bindDid, build: buildDid}

func bindDid(s *said, fs *pflag.FlagSet) {
	bindWarranty(s, fs)
	s.str(fs, &s.moved, "moved", "`places` where it had moved, or none: the others had not")
	s.str(fs, &s.skipped, "skipped", "`places` that could not be reached or were left out")
	s.strs(fs, &s.results, "result", "what was found: `word` or amount, or word=PLACES")
	s.str(fs, &s.torque, "torque", "the wrench `setting` used: 150lbf.ft")
	s.str(fs, &s.outcome, "outcome", "of a test: `pass`, fail or advice")
	s.str(fs, &s.until, "until", "of a test: valid until this `day`")
	s.strs(fs, &s.fills, "fill", "what was filled in: \"`engine oil=22 L`\"")
	s.strs(fs, &s.topUps, "top-up", "what was added: \"`engine oil=2 L`\"")
	s.bindWork(fs)
	s.bindNote(fs)
}

func didCommand() *command {
	s := &said{}
	run := recordCommand(didVerb, s)
	return &command{
		name: "did", section: "in the shed", brief: "record that a job of the schedule was done", writes: true,
		usage: []string{"did MACHINE [PLACES] JOB [but PLACES] [--moved PLACES] [--skipped PLACES] [--result WORD] ...", "did MACHINE [JOB ...] --ask"},
		examples: []string{
			"did drill grease but 14,31", "did drill grease 1-24", "did drill torque-check --moved 14,31 --skipped 9",
			"did tractor oil-change --fill \"engine oil=22 L\" --counter 4210", "did sprayer test --outcome pass --until 2027-05-01",
			"did drill --ask",
		},
		about: "Places left out are all places of the job. A bigger job counts for the smaller ones it includes. --ask goes through what the job card lists, in its order, and asks of each where it was done: to key a card in.",
		flags: func(fs *pflag.FlagSet) {
			bindDid(s, fs)
			s.yes(fs, &s.ask, "ask", "ask for one job of the card after the other")
		},
		run: func(c *call) error {
			if !s.ask || len(c.args) == 0 {
				return run(c)
			}
			jobs, err := c.askDone(s)
			if err != nil {
				return err
			}
			return c.recordDone(jobs)
		},
	}
}

func buildDid(l *line) (record.Record, *record.Private, error) {
	r := &record.Did{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Did)
	}
	if t, ok := l.term(); ok {
		r.Job = t.Name
	}
	job, ok := l.m.Fitted.Job(r.Job)
	if !ok {
		return nil, nil, failed("unknown-word", "shedbook schedule show "+l.m.Name, "%s has no job %q", l.m.Name, r.Job)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if err := l.didPlaces(r, job); err != nil {
		return nil, nil, err
	}
	l.notSwapped(job)
	if err := l.didResults(r, job); err != nil {
		return nil, nil, err
	}
	if err := l.didOther(r, job); err != nil {
		return nil, nil, err
	}
	p, err := l.private("")
	return r, p, err
}

// notSwapped says that a job which replaces a part is not yet a new part. Of a fluid it is: what was drained is gone.
func (l *line) notSwapped(job *schedule.Job) {
	if job.Swaps == "" || l.old != nil {
		return
	}
	places := ""
	if p, ok := l.m.Fitted.Part(job.Swaps); ok && p.Fluid {
		return
	} else if job.Of != "" {
		places = "PLACES "
	}
	l.note("this says that the job was done, not that the %s is a new one: its use goes on (a new one: shedbook swap %s %s%s)", job.Swaps, l.m.Name, places, job.Swaps)
}

// didPlaces finds where it was done: of the job's own places, less those skipped.
func (l *line) didPlaces(r *record.Did, job *schedule.Job) error {
	f := l.m.Fitted
	all := f.All(job.Of)
	if job.Group != "" {
		all, _ = f.GroupPositions(job.Group)
	}
	c := l.clause()
	if len(c.Places) == 1 && c.Places[0] == "all" && job.Of != "" {
		c.Places = nil // all of the job's own
		if l.old != nil {
			r.Positions, r.Skipped = all, record.Positions{}
		}
	}
	set := r.Positions.Union(r.Skipped)
	var err error
	switch {
	case len(c.Places)+len(c.But) == 0 && l.old != nil && (set.IsZero() == all.IsZero()):
	case len(c.Places) == 0 && len(c.But) > 0 && l.old == nil && job.Group != "":
		var less record.Positions
		if less, err = l.where(job.Of, c.But, nil); err == nil {
			set = all.Without(less)
		}
	case len(c.Places) == 0 && len(c.But) == 0:
		set = all
	default:
		set, err = l.places(job.Of, c, set)
	}
	if err != nil {
		return err
	}
	if rest := set.Without(all); !rest.IsZero() {
		return failed("unknown-position", "", "%s: %s is done on %s, not on %s", l.m.Name, job.Name, f.Describe(all, job.Of), f.Describe(rest, job.Of))
	}
	skipped := both(r.Skipped, set)
	if l.s.given("skipped") {
		if skipped, err = l.someOf(set, job, "--skipped", l.s.skipped); err != nil {
			return err
		}
	}
	r.Positions, r.Skipped, r.Said = set.Without(skipped), skipped, saidOf(c, r.Said)
	if r.Positions.IsZero() && job.Of != "" {
		return usage("shedbook fault "+l.m.Name+" ... says what stands in the way", "every place of %s is skipped: nothing was done", job.Name)
	}
	if l.old != nil {
		var kept []record.Result
		for _, res := range r.Results {
			if left := both(res.Positions, r.Positions); !left.IsZero() || res.Positions.IsZero() {
				res.Positions = left
				kept = append(kept, res)
			}
		}
		r.Results = kept
	}
	return nil
}

func both(a, b record.Positions) record.Positions { return a.Without(a.Without(b)) }

// someOf reads the places of a flag, which must be among those the job was done on.
func (l *line) someOf(of record.Positions, job *schedule.Job, flag, text string) (record.Positions, error) {
	if strings.EqualFold(strings.TrimSpace(text), "none") {
		return record.Positions{}, nil
	}
	if job.Of == "" {
		return record.Positions{}, failed("no-positions", "leave the places out", "%s: %s: %s is of the whole machine and has no places", l.m.Name, flag, job.Name)
	}
	set, err := l.list(flag, job.Of, text)
	if err != nil {
		return set, err
	}
	if out := set.Without(of); !out.IsZero() {
		hint := "name it among the places, or leave it out of " + flag
		if said := l.clause().Places; len(said) > 0 && strings.Trim(strings.Join(said, ""), "0123456789,") == "" { // --moved 9 22
			hint += "; several places of " + flag + " go with a comma: " + flag + " " + strings.TrimSpace(text) + "," + strings.Join(said, ",")
		}
		return set, failed("unknown-position", hint, "%s: %s %s: the job was not done there", l.m.Name, flag, l.m.Fitted.Describe(out, job.Of))
	}
	return set, nil
}

// didResults reads what was found.
func (l *line) didResults(r *record.Did, job *schedule.Job) error {
	if !l.s.given("moved") && !l.s.given("result") {
		if l.old == nil && len(job.Results) > 0 {
			l.note("what was found is not said: --result %s", strings.Join(job.Results, "|"))
		}
		return nil
	}
	r.Results = nil
	var told record.Positions
	add := func(res record.Result) error {
		if twice := both(res.Positions, told); !twice.IsZero() {
			return usage("say one result of each place", "%s: two results are said of %s", job.Name, l.m.Fitted.Describe(twice, job.Of))
		}
		told = told.Union(res.Positions)
		r.Results = append(r.Results, res)
		return nil
	}
	if l.s.given("moved") {
		if !slices.Contains(job.Results, "moved") {
			return usage("write --result WORD"+orOf(job.Results), "--moved: %s has no result %q", job.Name, "moved")
		}
		set, err := l.someOf(r.Positions, job, "--moved", l.s.moved)
		if err != nil {
			return err
		}
		if !set.IsZero() {
			if err := add(record.Result{Positions: set, Word: "moved"}); err != nil {
				return err
			}
		}
		if rest := r.Positions.Without(set); slices.Contains(job.Results, "none-moved") && !l.s.given("result") && !rest.IsZero() {
			if err := add(record.Result{Positions: rest, Word: "none-moved"}); err != nil {
				return err
			}
		}
	}
	for _, text := range l.s.results {
		res, err := l.result(r, job, text)
		if err != nil {
			return err
		}
		if err := add(res); err != nil {
			return err
		}
	}
	return nil
}

// result reads one --result: a word of the job's or an amount, of some places or of all.
func (l *line) result(r *record.Did, job *schedule.Job, text string) (record.Result, error) {
	what, where, some := strings.Cut(text, "=")
	res := record.Result{Positions: r.Positions}
	if some {
		set, err := l.someOf(r.Positions, job, "--result", where)
		if err != nil {
			return res, err
		}
		res.Positions = set
	}
	word := strings.Join(strings.Fields(strings.ToLower(what)), "-")
	if q, err := quantity.Parse(what); err == nil {
		res.Value = q
		return res, nil
	}
	if !slices.Contains(job.Results, word) && (len(job.Results) > 0 || !plainWord(word)) {
		return res, usage("write --result WORD"+orOf(job.Results), "--result: %s cannot end in %q%s", job.Name, what, didYouMean(word, job.Results))
	}
	res.Word = word
	return res, nil
}

func orOf(words []string) string {
	if len(words) == 0 {
		return ""
	}
	return ": " + strings.Join(words, " or ")
}

// plainWord is a word as an entry holds it.
func plainWord(s string) bool {
	for i, c := range s {
		if !(c >= 'a' && c <= 'z' || i > 0 && (c >= '0' && c <= '9' || c == '-')) {
			return false
		}
	}
	return s != ""
}

// didOther reads the wrench setting, the outcome of a test and what was filled in.
func (l *line) didOther(r *record.Did, job *schedule.Job) error {
	s := l.s
	var err error
	if s.given("torque") {
		if q, err := quantity.Parse(s.torque); err == nil && q.Unit() == (quantity.Unit{}) { // wrenches are marked in either: none is taken for granted
			return usage(fmt.Sprintf("write --torque %[1]sN.m or --torque %[1]slbf.ft", q), "--torque: %s what? the unit is missing", q)
		}
		q, err := amount("torque", s.torque, quantity.MustUnit("N.m"))
		if err != nil {
			return err
		}
		r.Torque = q
		l.flagTorque(q, job)
	}
	if s.given("outcome") {
		if r.Outcome, err = oneOf("--outcome", s.outcome, []string{"pass", "fail", "advice"}); err != nil {
			return err
		}
	}
	if s.given("until") {
		if r.Until, err = l.c.parseDay(s.until); err != nil {
			return usage("write --until 2027-05-01", "--until: %v", err)
		}
		if r.Until < l.done.Date() {
			l.doubt("until", "it would be valid until %s, before it was done", weekday(record.Done(r.Until)))
		}
	}
	if s.given("fill") || s.given("top-up") {
		r.Fills = nil
		for i, list := range [][]string{s.fills, s.topUps} {
			flag := []string{"fill", "top-up"}[i]
			for _, text := range list {
				of, value, err := nameValue(flag, text)
				if err != nil {
					return err
				}
				q, err := quantity.Parse(value)
				if err != nil || q.Sign() <= 0 {
					return usage(fmt.Sprintf("write --%s \"engine oil=22 L\"", flag), "--%s %q: %q is no amount", flag, text, value)
				}
				if q.Unit() == (quantity.Unit{}) {
					return usage(fmt.Sprintf("write --%s \"%s=%s L\", qt or gal", flag, of, value), "--%s %q: %s of what? the unit is missing: L, qt or gal", flag, text, value)
				}
				r.Fills = append(r.Fills, record.Fill{Of: of, Amount: q, TopUp: flag == "top-up"})
			}
		}
	}
	return nil
}

// flagTorque says when the wrench setting fits none of the job's fasteners. It is recorded as said: it is what was done.
func (l *line) flagTorque(q quantity.Quantity, job *schedule.Job) {
	if len(job.Torques) == 0 {
		return
	}
	var ranges []string
	for _, t := range job.Torques {
		low, high := torqueRange(t)
		a, errA := q.Cmp(low)
		b, errB := q.Cmp(high)
		if errA == nil && errB == nil && a >= 0 && b <= 0 {
			return
		}
		ranges = append(ranges, fmt.Sprintf("%s to %s (%s)", low.Show(l.c.system), high.Show(l.c.system), marks(t.What, iff(t.Bolt != nil, "computed"))))
	}
	l.note("%s is outside the schedule's torque: %s; the operator's manual rules", q, strings.Join(ranges, ", "))
}

// torqueRange is what a fastener may be tightened to: as the schedule says, else within 5 % of its torque.
func torqueRange(t schedule.Torque) (low, high quantity.Quantity) {
	if t.Min.Sign() != 0 || t.Max.Sign() != 0 {
		return t.Min, t.Max
	}
	return t.Value.Mul(big.NewRat(95, 100), 3), t.Value.Mul(big.NewRat(105, 100), 3)
}
