package rules

import (
	"cmp"
	"encoding/binary"
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Kept is how a machine's service was kept: for every job of its schedule how often it came due in hindsight and what became of that. It goes by the schedule,
// options and own values in force on the state's day, for each job from the day on which a schedule with that job came into use.
//
// A point at which a job came due, at one place, is on time when it was done no later than its trigger's notice after it, as `due` has it: where the schedule
// says nothing a tenth of the interval, of dates 14 days at most; work before a season is on time when done before or on the day it opened, work after one within
// 30 days of its close, a follow-on at once on the day or the next. It is late when it was done after that, and missed when it was not done before the next point of
// the same kind came (of a season's work, before that season closed). Missed points do not add up into one long lateness: greased at 0 h and 208 h, every 50 h, is missed at 50, 100 and 150 h and late at 200 h.
// A point not done by the state's day is open. A point that came in storage waits for the day the machine was taken out, unless its trigger runs on. What one
// doing answers counts once, by the point that came first; a doing that answers none was early.
//
// What cannot be judged is not counted: points before the first doing in the book, unless the machine was new or a whole interval had passed since the book
// knows it; what a starting line took as given; what a counter has not read yet. Jobs due by what was measured, by a forecast, by a date of make, or only under
// conditions that the book does not keep day by day, are not judged in hindsight. Each KeptJob says what was left out and why.
type Kept struct {
	From, To string // the days looked at: from the machine's coming to the book
	Jobs     []KeptJob
	Total    Tallied // of all jobs, a place at a time
	Rounds   Tallied // of all jobs, as KeptJob.Rounds
	Periods  []KeptPeriod
	// Unjudged are jobs of which nothing at all could be judged, as KeptJob has it; they are in Jobs too.
	Unjudged []string
}

// Tallied is how many points there were and what became of them: Due is the sum of the others.
type Tallied struct{ Due, OnTime, Late, Missed, Open int }

// KeptJob is one job, all its places together.
type KeptJob struct {
	Job     *schedule.Job
	Title   string
	Places  int     // where it is done; 1 for the machine as a whole
	InUse   string  // from which day on the schedule asks for it; "" since the beginning
	Total   Tallied // a place at a time: 48 openers greased together are 48
	Rounds  Tallied // the same, places that went alike counted once: 47 of 48 openers greased in time and one late are two
	Periods []KeptPeriod
	Lapses  []Lapse // late, missed and open points, oldest first, places alike together
	Times   int     // entries by which it was done in the book, the starting line left out
	Early   int     // doings, a place at a time, when it was not due
	// NotAsked are points, a place at a time, that came before a schedule asked for the job (InUse), and Stored those that came in storage and waited for its end.
	// Neither is in Total but where such a wait was over by the end.
	NotAsked, Stored int
	Last             LastDone
	Notes            []string // what was left out or reckoned otherwise, plain sentences
	Entries          []ID     // doings that Total rests on, in order of effect
}

// KeptPeriod is the part of a count in one season or the time between two, by the day a point came due.
type KeptPeriod struct {
	Name     string // "spring seeding 2026", "before spring seeding 2026"; years where no season is known
	From, To string
	Between  bool
	Count    Tallied // a place at a time
	Rounds   Tallied // as KeptJob.Rounds
}

// Lapse is a point that was not kept on time, at the places where it went alike.
type Lapse struct {
	Job       string
	State     string           // KeptLate, KeptMissed, KeptOpen
	Cause     string           // ByInterval, BySeason, ByFollowOn, ByDate
	Due       Amount           // the point; a counter's value is of all its use so far
	DueOn     string           // the day it came, by the counter's curve where it is a count
	Done      record.Done      // of a late one
	Over      Amount           // how much past the point it was done, or is by now; zero of a missed one
	Skipped   ID               // it was written that it was left out then
	Positions record.Positions // zero: the machine
	Entries   []ID             // what it counts from, and what answered it
}

// What became of a point.
const (
	KeptOnTime = "on time"
	KeptLate   = "late"
	KeptMissed = "missed"
	KeptOpen   = "open"
)

// KeptOf judges in hindsight, without replaying anything: all that it asks for is in the state.
func KeptOf(st *State, m *Machine) *Kept {
	end := st.On
	if m.Sold != "" {
		end = min(end, m.Sold.Date())
	}
	k := &keeper{j: newJudge(st, m, Filter{}, newHistory(st)), st: st, m: m, from: m.Added.Date(), end: end, crossed: map[string]string{}}
	out := &Kept{From: k.from, To: end}
	if m.Fitted == nil {
		return out
	}
	k.periods = newCounting(st, CostQuery{To: end}).periods(m)
	k.uses = schedulesOf(st, m.Kind)
	for i := range m.Fitted.Jobs {
		job := k.job(&m.Fitted.Jobs[i])
		if job.Total.Due == 0 && job.Times == 0 && len(job.Notes) > 0 {
			out.Unjudged = append(out.Unjudged, job.Job.Name)
		}
		out.Jobs = append(out.Jobs, job)
		out.Total.add(job.Total, 1)
		out.Rounds.add(job.Rounds, 1)
		out.Periods = addPeriods(out.Periods, job.Periods)
	}
	slices.SortStableFunc(out.Jobs, func(a, b KeptJob) int { return cmp.Compare(jobOrder(a.Job), jobOrder(b.Job)) })
	slices.SortStableFunc(out.Periods, func(a, b KeptPeriod) int { return cmp.Compare(a.From, b.From) })
	return out
}

func jobOrder(j *schedule.Job) int {
	if j.Order == 0 {
		return lastOrder
	}
	return j.Order
}

func (t *Tallied) add(o Tallied, times int) {
	t.Due += o.Due * times
	t.OnTime += o.OnTime * times
	t.Late += o.Late * times
	t.Missed += o.Missed * times
	t.Open += o.Open * times
}

func (t *Tallied) count(state string, times int) {
	t.Due += times
	switch state {
	case KeptOnTime:
		t.OnTime += times
	case KeptLate:
		t.Late += times
	case KeptMissed:
		t.Missed += times
	case KeptOpen:
		t.Open += times
	}
}

func addPeriods(into, more []KeptPeriod) []KeptPeriod {
	for _, p := range more {
		at := slices.IndexFunc(into, func(q KeptPeriod) bool { return q.From == p.From && q.Name == p.Name })
		if at < 0 {
			into = append(into, p)
			continue
		}
		into[at].Count.add(p.Count, 1)
		into[at].Rounds.add(p.Rounds, 1)
	}
	return into
}

// keeper judges the jobs of one machine.
type keeper struct {
	j         *judge
	st        *State
	m         *Machine
	from, end string // days
	periods   []CostPeriod
	uses      []scheduleUse
	crossed   map[string]string // counter and count -> the day it was reached
}

// scheduleUse is a text of the machine's kind and the day from which it ruled.
type scheduleUse struct {
	from string
	s    *schedule.Schedule
}

// schedulesOf are the texts of a kind ever in use, the one that ruled first coming first.
func schedulesOf(st *State, kind string) []scheduleUse {
	var out []scheduleUse
	for _, e := range st.Effective {
		rec, ok := e.Record.(*record.Schedule)
		if !ok || rec.Name != kind || e.Ignored != "" || e.StruckBy != "" {
			continue
		}
		if s, err := schedule.ParseOnce(kind, rec.Text); err == nil {
			out = append(out, scheduleUse{rec.From, s})
		}
	}
	slices.SortStableFunc(out, func(a, b scheduleUse) int { return cmp.Compare(a.from, b.from) })
	return out
}

// inUse is the day from which a schedule asks for a job; "" since the beginning.
func (k *keeper) inUse(job string) string {
	for _, u := range k.uses {
		if slices.ContainsFunc(u.s.Jobs, func(j schedule.Job) bool { return j.Name == job }) {
			return u.from
		}
	}
	return ""
}

// job judges one job, places with the same history together.
func (k *keeper) job(job *schedule.Job) KeptJob {
	out := KeptJob{Job: job, Title: jobTitle(job), InUse: k.inUse(job.Name)}
	w := &keptWalk{keeper: k, job: job, from: max(k.from, out.InUse), notes: &out.Notes, bad: map[string]map[ID]bool{}}
	if len(job.Only) > 0 {
		w.note("asked for only" + conditionWords(job.Only) + ": not judged in hindsight")
	}
	lapses := map[string]int{}
	var answered []ID
	times := map[ID]bool{}
	seen := map[string]bool{} // rounds
	for _, g := range k.histories(job) {
		n := len(g.places)
		out.Places += n
		points, early := w.walk(g.places[0], g)
		out.Early += early * n
		out.NotAsked += w.unasked * n
		out.Stored += w.waited * n
		for _, d := range g.doings {
			if !d.Skipped && !d.Assumed {
				times[d.Entry] = true
				if out.Last.Done == "" || d.Done.Compare(out.Last.Done) >= 0 {
					out.Last = LastDone{Entry: d.Entry, Done: d.Done}
				}
			}
		}
		for i := range points {
			p := &points[i]
			round := p.State + p.Cause + p.DueOn + string(p.Done)
			rounds := b2i(!seen[round])
			seen[round] = true
			out.Total.count(p.State, n)
			out.Rounds.count(p.State, rounds)
			out.Periods = k.inPeriod(out.Periods, p.DueOn, p.State, n, rounds)
			answered = append(answered, p.Entries...)
			if p.State != KeptOnTime {
				out.Lapses = addLapse(out.Lapses, lapses, p, g.places)
			}
		}
	}
	out.Times = len(times)
	out.Entries = k.j.inOrder(answered)
	slices.SortStableFunc(out.Periods, func(a, b KeptPeriod) int { return cmp.Compare(a.From, b.From) })
	slices.SortStableFunc(out.Lapses, func(a, b Lapse) int {
		return cmp.Or(cmp.Compare(a.DueOn, b.DueOn), cmp.Compare(a.Cause, b.Cause), comparePlaces(a.Positions, b.Positions))
	})
	return out
}

// addLapse joins a lapse to those that went alike elsewhere.
func addLapse(all []Lapse, at map[string]int, p *Lapse, places []record.Position) []Lapse {
	key := p.State + p.Cause + p.DueOn + string(p.Done) + p.Due.Value.String() + p.Due.Date + p.Over.Value.String() + string(p.Skipped)
	i, ok := at[key]
	if !ok {
		i = len(all)
		at[key] = i
		n := *p
		n.Entries = slices.Clone(p.Entries)
		all = append(all, n)
	} else {
		all[i].Entries = unique(append(all[i].Entries, p.Entries...))
	}
	if places[0] != (record.Position{}) {
		all[i].Positions = all[i].Positions.Union(record.NewPositions(places...))
	}
	return all
}

// inPeriod counts a point in the period in which it came due.
func (k *keeper) inPeriod(all []KeptPeriod, day, state string, places, rounds int) []KeptPeriod {
	at := slices.IndexFunc(k.periods, func(p CostPeriod) bool { return day >= p.From && day <= p.To })
	if at < 0 {
		return all
	}
	p := k.periods[at]
	i := slices.IndexFunc(all, func(q KeptPeriod) bool { return q.From == p.From && q.Name == p.Name })
	if i < 0 {
		i = len(all)
		all = append(all, KeptPeriod{Name: p.Name, From: p.From, To: p.To, Between: p.Between})
	}
	all[i].Count.count(state, places)
	all[i].Rounds.count(state, rounds)
	return all
}

// keptHistory is what was recorded of a job at places where it is all the same.
type keptHistory struct {
	places []record.Position
	doings []*Doing // skips too, in order of effect
	until  string   // the last day looked at: earlier than the end where the places are out of use
}

// histories are the places of a job, those with one history together, in order of the first of them.
func (k *keeper) histories(job *schedule.Job) []keptHistory {
	places := []record.Position{{}}
	if job.Of != "" || job.Group != "" {
		set := k.m.Fitted.All(job.Of)
		if job.Group != "" {
			set, _ = k.m.Fitted.GroupPositions(job.Group)
		}
		places = set.All()
	}
	events := k.eventsFor(job)
	at := map[string]int{}
	var out []keptHistory
	for _, p := range places {
		h := keptHistory{places: []record.Position{p}, doings: k.j.doings(job.Name, p), until: k.end}
		if o := k.m.Out[p.String()]; o != nil {
			h.until = min(h.until, o.Since.Date())
		}
		key := []byte(h.until)
		for _, d := range h.doings {
			key = binary.AppendUvarint(key, uint64(k.j.order[d.Entry])<<2|uint64(b2i(d.Skipped))<<1|uint64(b2i(d.Assumed)))
			key = append(append(key, d.Result...), 0)
		}
		for _, e := range events {
			key = append(key, byte('0'+b2i(e.covers(p))))
		}
		if i, ok := at[string(key)]; ok {
			out[i].places = append(out[i].places, p)
			continue
		}
		at[string(key)] = len(out)
		out = append(out, h)
	}
	return out
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
