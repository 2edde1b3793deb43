package rules_test

import (
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// doing is one time a job was done, or skipped, at one place.
type doing struct {
	done            record.Done
	entry           record.ID
	skipped         bool
	assumed         bool
	result, outcome string
	until           string
	via             string
}

// happening is what a job may follow on, with the places it names (none: the machine).
type happening struct {
	kind  string
	at    record.Positions
	done  record.Done
	entry record.ID
}

// places are all places of a job: its group's, its noun's, or the machine as a whole.
func (o *oracle) places(machine record.ID, job *schedule.Job) []record.Position {
	f := o.fit(machine)
	set := f.All(job.Of)
	if job.Group != "" {
		set, _ = f.GroupPositions(job.Group)
	}
	if job.Of == "" && job.Group == "" {
		return []record.Position{{}}
	}
	return set.All()
}

// chronicle is everything that was done on a machine, in order of effect: doings by job and place, and what jobs may follow on.
type chronicle struct {
	o       *oracle
	machine record.ID
	f       *schedule.Fitted
	w       *world
	doings  map[string][]doing // job and place
	ticks   map[string][]string
	events  []happening
}

func (o *oracle) chronicle(w *world, machine record.ID) *chronicle {
	c := &chronicle{o: o, w: w, machine: machine, f: o.fit(machine), doings: map[string][]doing{}, ticks: map[string][]string{}}
	for _, t := range o.told {
		if s, ok := t.rec.(*record.Season); ok {
			c.season(t, s)
			continue
		}
		if machineNamed(t.rec) != machine {
			continue
		}
		switch r := t.rec.(type) {
		case *record.Did:
			c.did(t, r)
		case *record.Assume:
			c.assume(t, r)
		case *record.Adjust:
			c.adjusted(t, r)
		case *record.Measure:
			c.measured(t, r)
		case *record.Swap:
			c.swapped(t, r)
		case *record.Fault:
			c.event(t, "fault", r.Positions)
			if r.Part != "" {
				c.event(t, "fault:"+r.Part, r.Positions)
			}
		case *record.Repair:
			c.event(t, "repair", r.Positions)
			if r.Part != "" {
				c.event(t, "repair:"+r.Part, r.Positions)
			}
		case *record.Store:
			c.event(t, "storage-"+r.Act, record.Positions{})
		case *record.Move:
			c.event(t, "move", record.Positions{})
		case *record.Hitch:
			if r.Carrier != "" {
				c.event(t, "hitch", record.Positions{})
			}
		}
	}
	return c
}

func (c *chronicle) event(t told, kind string, at record.Positions) {
	c.events = append(c.events, happening{kind, at, t.done, t.id})
}

// season: opening and closing one is something jobs follow on.
func (c *chronicle) season(t told, s *record.Season) {
	work, mine := c.o.concerns(c.machine, t, s)
	if s.Act == "plan" || !mine {
		return
	}
	c.event(t, "season-"+s.Act, record.Positions{})
	c.event(t, "season-"+s.Act+":"+work, record.Positions{})
}

// concerns reports a season of one of the machine's own kinds of work that is for the farm where the machine is, by what had been said up to then.
func (o *oracle) concerns(machine record.ID, t told, s *record.Season) (work string, mine bool) {
	work = s.Work
	for _, season := range o.seasons(machine, "") {
		if season.name == s.Name {
			work = season.work
		}
	}
	return work, slices.Contains(o.fit(machine).Work, work) && !o.elsewhere(machine, t.id, s.Name)
}

// did notes a job as done at its places but those skipped, with what was found there, and all it brings with it.
func (c *chronicle) did(t told, r *record.Did) {
	job, ok := c.f.Job(r.Job)
	if !ok {
		return
	}
	var done []record.Position
	at := c.o.places(c.machine, job)
	if job.Of != "" && !r.Positions.IsZero() {
		at = c.f.All(job.Of).All()
	}
	for _, p := range at {
		if p.Noun != "" && !r.Positions.IsZero() && !r.Positions.Has(p) && !r.Skipped.Has(p) {
			continue
		}
		d := doing{done: t.done, entry: t.id, outcome: r.Outcome, until: r.Until, skipped: r.Skipped.Has(p)}
		if !d.skipped {
			done = append(done, p)
		}
		for _, w := range r.Results {
			if w.Positions.IsZero() || w.Positions.Has(p) {
				d.result = w.Word
			}
		}
		if d.skipped {
			d.outcome, d.until = "", ""
		}
		c.log(r.Job, p, d)
	}
	if len(done) > 0 {
		c.follow(t, job, done, map[string]bool{r.Job: true})
	}
}

func (c *chronicle) log(job string, p record.Position, d doing) {
	key := job + " " + p.String()
	c.doings[key] = append(c.doings[key], d)
}

// follow lists what a job done at some places means: it was done, it loosened what it loosens, and the smaller jobs it includes were done too.
func (c *chronicle) follow(t told, job *schedule.Job, at []record.Position, seen map[string]bool) {
	c.followed(t, job, at)
	for _, name := range job.Includes {
		small, ok := c.f.Job(name)
		if !ok || seen[name] {
			continue
		}
		seen[name] = true
		covered := c.covered(job.Of, at, small)
		for _, p := range covered {
			c.log(name, p, doing{done: t.done, entry: t.id})
		}
		if len(covered) > 0 {
			c.follow(t, small, covered, seen)
		}
	}
}

// followed lists that a job was done, or its place opened, and what it loosened.
func (c *chronicle) followed(t told, job *schedule.Job, at []record.Position) {
	named := positionsOf(at)
	c.event(t, "did:"+job.Name, named)
	for _, l := range job.Loosens {
		c.event(t, "loosened:"+l, named)
	}
}

// covered are the places of a smaller job that a bigger one takes care of: the same places; all where the bigger was about the machine or at every place
// of its noun; else none.
func (c *chronicle) covered(noun string, at []record.Position, small *schedule.Job) []record.Position {
	all := c.o.places(c.machine, small)
	if noun == small.Of {
		return slices.DeleteFunc(all, func(p record.Position) bool { return !slices.Contains(at, p) })
	}
	if noun == "" || len(at) == c.f.All(noun).Len() {
		return all
	}
	return nil
}

// through notes a job as done by an entry of another kind, about places of a noun.
func (c *chronicle) through(t told, job *schedule.Job, noun string, at []record.Position, via string) {
	if len(at) == 0 {
		return
	}
	if at = c.covered(noun, at, job); len(at) == 0 {
		return
	}
	for _, p := range at {
		c.log(job.Name, p, doing{done: t.done, entry: t.id, via: via})
	}
	c.follow(t, job, at, map[string]bool{job.Name: true})
}

// assume: taken as good, every job counts as done everywhere; a job named counts as done at its places.
func (c *chronicle) assume(t told, r *record.Assume) {
	for i := range c.f.Jobs {
		job := &c.f.Jobs[i]
		for _, p := range c.o.places(c.machine, job) {
			named := slices.ContainsFunc(r.Items, func(it record.Assumed) bool {
				return it.Name == job.Name && (it.Positions.IsZero() || it.Positions.Has(p))
			})
			if r.Good || named {
				c.log(job.Name, p, doing{done: t.done, entry: t.id, assumed: true})
			}
		}
	}
}

// Some entries count as doing a job without naming it: putting in the part it swaps, in every hand; else reading all it measures; else setting all it
// sets. Several entries that make it up together are of one day.

// tick notes one of the things a job takes at a place and reports whether they are all there on this day, since it was last done so.
func (c *chronicle) tick(job string, p record.Position, day, thing string, need int) bool {
	key := job + " " + p.String() + " " + day
	if !slices.Contains(c.ticks[key], thing) {
		c.ticks[key] = append(c.ticks[key], thing)
	}
	if len(c.ticks[key]) < need {
		return false
	}
	delete(c.ticks, key)
	return true
}

func (c *chronicle) adjusted(t told, r *record.Adjust) {
	for _, ch := range r.Changes {
		c.event(t, "adjust:"+ch.Setting, ch.Positions)
		def, ok := c.f.Setting(ch.Setting)
		for k := range c.f.Jobs {
			job := &c.f.Jobs[k]
			if !ok || job.Swaps != "" || job.Turns != "" || len(job.Measures) > 0 || !slices.Contains(job.Sets, ch.Setting) {
				continue
			}
			var at []record.Position
			for _, p := range c.placesNamed(def.Of, ch.Positions) {
				if c.tick(job.Name, p, t.done.Date(), ch.Setting, len(job.Sets)) {
					at = append(at, p)
				}
			}
			c.through(t, job, def.Of, at, "adjust")
		}
	}
}

// placesNamed are the places of a noun that are named, all where none is.
func (c *chronicle) placesNamed(noun string, named record.Positions) []record.Position {
	if noun == "" {
		return []record.Position{{}}
	}
	return slices.DeleteFunc(c.f.All(noun).All(), func(p record.Position) bool { return !named.IsZero() && !named.Has(p) })
}

func (c *chronicle) measured(t told, r *record.Measure) {
	def, ok := c.f.Reading(r.Reading)
	if !ok {
		return
	}
	hands := map[record.Position][]string{}
	var read []record.Position
	for _, v := range r.Values {
		if v.Cannot != "" {
			continue
		}
		for _, p := range c.placesNamed(def.Of, v.Positions) {
			if !slices.Contains(read, p) {
				read = append(read, p)
			}
			hands[p] = append(hands[p], c.handsOf(def.Of, def.Handed, v.Hand)...)
		}
	}
	if len(read) == 0 {
		return
	}
	c.event(t, "measure:"+r.Reading, positionsOf(read))
	for k := range c.f.Jobs {
		job := &c.f.Jobs[k]
		if job.Swaps != "" || job.Turns != "" || !slices.Contains(job.Measures, r.Reading) {
			continue
		}
		var at []record.Position
		for _, p := range read {
			for _, h := range hands[p] {
				if c.tick(job.Name, p, t.done.Date(), r.Reading+" "+h, c.needs(job)) {
					at = append(at, p)
				}
			}
		}
		c.through(t, job, def.Of, at, "measure")
	}
}

// needs counts the readings a job takes at one place, one for each hand.
func (c *chronicle) needs(job *schedule.Job) int {
	n := 0
	for _, name := range job.Measures {
		if def, ok := c.f.Reading(name); ok && def.Computed == nil {
			n += len(c.handsOf(def.Of, def.Handed, ""))
		}
	}
	return n
}

// handsOf are the hands of one place: the one named, both where none is, one without a name where there are no two.
func (c *chronicle) handsOf(noun string, handed bool, named string) []string {
	place, _, ok := c.f.Noun(noun)
	switch {
	case !ok || !handed || len(place.Hands) == 0:
		return []string{""}
	case named != "":
		return []string{named}
	}
	return place.Hands
}

func positionsOf(at []record.Position) record.Positions {
	if len(at) == 0 || at[0].Noun == "" {
		return record.Positions{}
	}
	return record.NewPositions(at...)
}
