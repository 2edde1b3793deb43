package rules

import (
	"errors"
	"sort"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// build makes what holds always: farms, yards, people, schedules in force, machines and shelves, in the order they were entered.
func (r *replay) build() {
	var overrides, machines, shelves []*Effective
	var unread []*Effective
	texts := map[string]*Effective{}
	for _, e := range byDepth(r.s.Effective) {
		if e.Record == nil {
			unread = append(unread, e)
		}
		if e.Ignored != "" || e.StruckBy != "" {
			continue
		}
		switch rec := e.Record.(type) {
		case *record.Farm:
			f := &Farm{ID: e.Entry.ID, Name: rec.Name}
			r.farms[f.ID], r.s.Farms = f, append(r.s.Farms, f)
		case *record.Yard:
			y := &Yard{ID: e.Entry.ID, Name: rec.Name, Farm: rec.Farm}
			r.yards[y.ID], r.s.Yards = y, append(r.s.Yards, y)
		case *record.Person:
			p := &Person{ID: e.Entry.ID}
			if e.Private != nil {
				p.Name = e.Private.Name
			}
			r.s.People = append(r.s.People, p)
		case *record.Schedule:
			if rec.From <= r.s.On {
				texts[rec.Name] = e // the newest of those whose day has come
			}
		case *record.Override:
			if rec.From <= r.s.On {
				overrides = append(overrides, e)
			}
		case *record.Machine:
			machines = append(machines, e)
		case *record.Shelf:
			shelves = append(shelves, e)
		}
	}
	for _, y := range r.s.Yards {
		if r.farms[y.Farm] == nil {
			r.problem("unknown-farm", "", []ID{y.ID}, "yard %s names a farm that is not in the book", y.Name)
		}
	}
	s := r.s
	sort.Slice(s.Farms, func(i, j int) bool {
		return before(s.Farms[i].Name, s.Farms[j].Name, string(s.Farms[i].ID), string(s.Farms[j].ID))
	})
	sort.Slice(s.Yards, func(i, j int) bool {
		return before(s.Yards[i].Name, s.Yards[j].Name, string(s.Yards[i].ID), string(s.Yards[j].ID))
	})
	sort.Slice(s.People, func(i, j int) bool {
		return before(s.People[i].Name, s.People[j].Name, string(s.People[i].ID), string(s.People[j].ID))
	})
	r.readSchedules(texts)
	for _, e := range machines {
		r.addMachine(e, e.Record.(*record.Machine), overrides)
	}
	for _, e := range shelves {
		r.addShelf(e, e.Record.(*record.Shelf))
	}
	r.markNewer(unread)
}

// byDepth lists entries as they were written: (depth, id).
func byDepth(list []*Effective) []*Effective {
	out := append([]*Effective(nil), list...)
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i].Entry, out[j].Entry
		if a.Depth != b.Depth {
			return a.Depth < b.Depth
		}
		return a.ID < b.ID
	})
	return out
}

// readSchedules parses the text in force of each name, once.
func (r *replay) readSchedules(texts map[string]*Effective) {
	for name, e := range texts {
		rec := e.Record.(*record.Schedule)
		s, err := schedule.ParseOnce(name, rec.Text)
		if err == nil && s.Name != name {
			r.problem("schedule", "", []ID{e.Entry.ID}, "schedule %s: its text is that of %s", name, s.Name)
			continue
		}
		if err != nil {
			r.problem("schedule", "", []ID{e.Entry.ID}, "schedule %s cannot be read: %v", name, err)
			continue
		}
		r.schedule[name] = &KindInUse{Schedule: s, Entry: e.Entry.ID, From: rec.From}
		r.s.Kinds = append(r.s.Kinds, r.schedule[name])
	}
	sort.Slice(r.s.Kinds, func(i, j int) bool { return r.s.Kinds[i].Schedule.Name < r.s.Kinds[j].Schedule.Name })
}

func (r *replay) addMachine(e *Effective, rec *record.Machine, overrides []*Effective) {
	m := &Machine{
		ID: e.Entry.ID, Name: rec.Name, Key: rec.Key, Kind: rec.Schedule, Title: rec.Title, Serial: rec.Serial, Year: rec.Year,
		Yard: rec.Yard, Added: e.Done,
		Counters: map[string]*Counter{}, Settings: map[string]map[string]*Standing{}, Readings: map[string]map[string][]*Reading{},
		Slots: map[string]map[string]*Slot{}, Out: map[string]*OutOfUse{}, Jobs: map[string]*JobLog{}, Reasons: map[string]Reason{},
	}
	u := &unit{
		m: m, adds: e, acts: map[string][]counterAct{}, own: map[ID]map[string]point{}, deriven: map[string]bool{},
		slots: map[string]map[string]*slot{}, byPlace: map[string][]*slot{}, out: map[string]map[string]OutOfUse{},
		walks: map[walkKey]walked{}, slotNames: map[slotKey]string{}, tallies: map[tallyKey]*tally{}, worked: map[string]bool{}, said: map[string]bool{},
	}
	r.units[m.ID] = u
	r.order = append(r.order, u)
	r.settle(u, rec.Yard, e)
	if k := r.schedule[rec.Schedule]; k == nil {
		r.problem("no-schedule", m.ID, []ID{m.ID}, "%s is a %s, and no schedule of that name is in use: what is due on it cannot be judged", m.Name, rec.Schedule)
	} else {
		u.f = r.fit(m, k.Schedule, rec, overridesOf(m.ID, overrides))
		m.Fitted = u.f
	}
	if u.f != nil {
		for _, c := range u.f.Counters {
			m.Counters[c.Name] = &Counter{Name: c.Name, Unit: c.Unit, Trip: c.Trip, Reading: quantity.Whole(0, c.Unit), Life: quantity.Whole(0, c.Unit), Estimate: quantity.Whole(0, c.Unit)}
		}
	}
	r.addOriginals(u)
}

// settle puts a machine into a yard and thereby on a farm.
func (r *replay) settle(u *unit, yard ID, e *Effective) {
	y := r.yards[yard]
	if y == nil {
		r.problem("unknown-yard", u.m.ID, []ID{e.Entry.ID}, "%s stands in a yard that is not in the book", u.m.Name)
		return
	}
	u.m.Yard, u.m.Farm = yard, y.Farm
	u.because("yard", e)
}

// overridesOf are the newest value of each path of one machine, in the order they were entered; an empty value goes back to the schedule's own.
func overridesOf(machine ID, all []*Effective) []schedule.Override {
	var out []schedule.Override
	for _, e := range all {
		rec := e.Record.(*record.Override)
		if rec.Machine != machine {
			continue
		}
		kept := out[:0]
		for _, o := range out {
			if o.Path != rec.Path {
				kept = append(kept, o)
			}
		}
		out = kept
		if rec.Value != "" {
			out = append(out, schedule.Override{Path: rec.Path, Value: rec.Value, Page: rec.Page, Entry: e.Entry.ID})
		}
	}
	return out
}

// fit makes the machine's schedule concrete. A farm's own value that no longer fits is a Problem and left out; the machine is not judged only when
// its options do not fit.
func (r *replay) fit(m *Machine, s *schedule.Schedule, rec *record.Machine, overrides []schedule.Override) *schedule.Fitted {
	f, err := s.Fit(rec.Options, rec.Groups, overrides)
	if err != nil {
		r.problem("schedule", m.ID, []ID{m.ID}, "%s does not fit its schedule %s: %v", m.Name, s.Name, err)
		return nil
	}
	for _, d := range f.Dropped {
		r.problem("override", m.ID, []ID{d.Entry}, "%s: own value of %s does not fit its schedule and is left out: %s", m.Name, d.Path, d.Why)
	}
	return f
}

// markNewer marks the machines whose entries this version cannot read. They are found by their tags, for what they say cannot be read.
func (r *replay) markNewer(unread []*Effective) {
	for _, e := range unread {
		var n *record.NewerError
		if !errors.As(e.Entry.Err, &n) || e.Entry.MachineTag == nil {
			continue
		}
		found := false
		for _, u := range r.order {
			if e.Entry.MachineTag(u.m.Key) {
				u.m.Newer, found = true, true
				r.problem("newer", u.m.ID, []ID{e.Entry.ID}, "%s cannot be judged: %v", u.m.Name, n)
			}
		}
		for _, s := range r.shelves {
			if e.Entry.MachineTag(s.s.Key) {
				found = true
				r.problem("newer", s.s.ID, []ID{e.Entry.ID}, "a shelf cannot be judged: %v", n)
			}
		}
		if !found {
			r.problem("newer", "", []ID{e.Entry.ID}, "entry %s is about a machine not known here: %v", e.Entry.ID.Short(), n)
		}
	}
}
