package rules

import (
	"fmt"
	"slices"
	"sort"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Replay works out what is so at the end of o.On from the entries given, in any order of arrival. Its error is for Options that name no day; whatever
// is wrong with entries is a Problem of the State. Entries are kept by pointer in State.Effective and must not be changed afterwards.
//
// It runs in four steps: every entry gets its fate (order.go, rights.go); what holds always is built (identity.go); the counters' curves are drawn
// (counters.go), so that use at any moment is known; then the effects are applied in their order, each by the file named after it.
func Replay(entries []Entry, o Options) (*State, error) { return ReplayPortion(entries, o, nil, nil) }

// Others tells of the machines of other portions: nil for one that is not in the book or of the portion itself, else its counters, drawn when they are asked
// for.
type Others func(machine ID) func() map[string]*Counter

// ReplayPortion is Replay of the common entries of a book and those of one portion, whose machines are named, with what is so of the others. The outline may be
// among the entries; only the portion's machines are then whole.
func ReplayPortion(entries []Entry, o Options, machines []ID, others Others) (*State, error) {
	if err := checkDay("on", o.On); err != nil {
		return nil, err
	}
	if o.Known != "" {
		if err := checkDay("known", o.Known); err != nil {
			return nil, err
		}
	}
	r := &replay{
		s:        &State{On: o.On, Known: o.Known},
		byEntry:  map[ID]*Effective{},
		units:    map[ID]*unit{},
		shelves:  map[ID]*shelf{},
		parts:    map[string]*part{},
		faults:   map[ID]*Fault{},
		seasons:  map[string]*Season{},
		farms:    map[ID]*Farm{},
		yards:    map[ID]*Yard{},
		schedule: map[string]*KindInUse{},

		strangers: map[ID][]ID{},
		others:    others,
	}
	if others == nil {
		r.others = func(ID) func() map[string]*Counter { return nil }
	} else {
		r.whole = machines
	}
	r.judge(entries)
	r.build()
	r.drawCurves()
	for _, e := range r.effects {
		r.apply(e)
	}
	r.finish()
	slices.Sort(r.s.Carriers)
	r.s.Carriers = slices.Compact(r.s.Carriers)
	return r.s, nil
}

func checkDay(what, day string) error {
	if d, err := record.ParseDone(day); err != nil || d.Date() != day {
		return fmt.Errorf("%s: %q is no day: write 2026-04-01", what, day)
	}
	return nil
}

// replay is one run of Replay.
type replay struct {
	s        *State
	byEntry  map[ID]*Effective // every entry known
	effects  []*Effective      // those that have effect by the day, in order
	units    map[ID]*unit
	order    []*unit // in the order the machines were added
	shelves  map[ID]*shelf
	parts    map[string]*part
	faults   map[ID]*Fault
	closes   []closing
	seasons  map[string]*Season
	farms    map[ID]*Farm
	yards    map[ID]*Yard
	schedule map[string]*KindInUse
	// strangers are the entries about each machine or shelf that is not in the book.
	strangers map[ID][]ID
	others    Others
	whole     []ID // of a portion: its machines; nil: all
}

// isWhole reports that all of a machine is replayed, not its outline alone.
func (r *replay) isWhole(u *unit) bool { return r.whole == nil || slices.Contains(r.whole, u.m.ID) }

// unit is a machine under replay.
type unit struct {
	m         *Machine
	f         *schedule.Fitted // nil: its schedule is unknown
	adds      *Effective
	acts      map[string][]counterAct
	own       map[ID]map[string]point // counter points by the entry that made them
	hitched   []hitching
	idle      []minutes // see idleTimes
	stored    []minutes
	deriven   map[string]bool // derived counters already drawn, or being drawn
	slots     map[string]map[string]*slot
	byPlace   map[string][]*slot // slots by position served
	out       map[string]map[string]OutOfUse
	now       moment
	walks     map[walkKey]walked
	slotNames map[slotKey]string
	tallies   map[tallyKey]*tally
	worked    map[string]bool
	said      map[string]bool // problems said once per machine
}

// moment is the machine's use at the entry being applied, worked out once for all places of the entry.
type moment struct {
	entry     ID
	recorded  lives // by the curve, not beyond its last point; never falls from one entry to the next
	estimated lives // carried on at the recent rate
	beyond    bool
}

// apply gives one entry its effect.
func (r *replay) apply(e *Effective) {
	w := record.Base(e.Record)
	if w == nil {
		if s, ok := e.Record.(*record.Season); ok {
			r.season(e, s)
		}
		return
	}
	if st, ok := e.Record.(*record.Stock); ok {
		r.stock(e, st)
		return
	}
	u := r.units[w.Machine]
	if u == nil {
		return // adds a machine or shelf; the others were refused by judge
	}
	u.at(e) // at every entry, for use must not fall from one to the next
	r.context(u, e, w)
	u.warrant(e, w)
	switch rec := e.Record.(type) {
	case *record.Move:
		r.move(u, e, rec)
	case *record.Lend:
		r.lend(u, e, rec)
	case *record.Store:
		r.store(u, e, rec)
	case *record.Sell:
		u.m.Sold = e.Done
		u.because("sold", e)
	case *record.Hitch:
		r.hitch(u, e, rec)
	case *record.Assume:
		r.assume(u, e, rec)
	case *record.Adjust:
		r.adjust(u, e, rec)
	case *record.Measure:
		r.measure(u, e, rec)
	case *record.Swap:
		r.swap(u, e, rec)
	case *record.Did:
		r.did(u, e, rec)
	case *record.Fault:
		r.fault(u, e, rec)
	case *record.Repair:
		r.event(u, e, "repair", rec.Positions)
	}
	r.close(u, e, w)
}

// finish turns what was kept for the replay into the State's plain data, sorted.
func (r *replay) finish() {
	r.unclosed()
	for _, u := range r.order {
		r.finishParts(u)
		r.finishOut(u)
		r.finishWorked(u)
		r.s.Machines = append(r.s.Machines, u.m)
	}
	r.finishShelves()
	for _, p := range r.parts {
		r.s.Parts = append(r.s.Parts, p.Part)
	}
	sort.Slice(r.s.Parts, func(i, j int) bool { return r.s.Parts[i].ID < r.s.Parts[j].ID })
	for _, s := range r.seasons {
		r.s.Seasons = append(r.s.Seasons, s)
	}
	s := r.s
	sort.Slice(s.Seasons, func(i, j int) bool { return s.Seasons[i].Name < s.Seasons[j].Name })
	sort.Slice(s.Machines, func(i, j int) bool {
		a, b := s.Machines[i], s.Machines[j]
		return before(a.Name, b.Name, string(min(a.Sold, "1")), string(min(b.Sold, "1")), string(a.ID), string(b.ID))
	})
	for i, m := range s.Machines {
		if i > 0 && s.Machines[i-1].Name == m.Name && s.Machines[i-1].Sold == "" && m.Sold == "" {
			r.problem(sameName, m.ID, []ID{s.Machines[i-1].ID, m.ID}, "two machines are called %s", m.Name)
		}
	}
	r.sortProblems()
}

// before orders by pairs of words: the first pair that differs decides.
func before(pairs ...string) bool {
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i] != pairs[i+1] {
			return pairs[i] < pairs[i+1]
		}
	}
	return false
}

// by is who did the work: the first person named, else who wrote it down.
func by(e *Effective) ID {
	if w := record.Base(e.Record); w != nil && len(w.By) > 0 {
		return w.By[0]
	}
	return e.Entry.Person
}

// text is the entry's free words, "" where held back.
func text(e *Effective) string {
	if e.Private == nil {
		return ""
	}
	return e.Private.Text
}
