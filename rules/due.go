package rules

import (
	"cmp"
	"math/big"
	"slices"
	"sync"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// States of an item, in the order people want them.
const (
	Overdue = "overdue" // past due by more than nothing
	DueNow  = "due"     // reached exactly, due on this very day, or a season's window is open
	Open    = "open"    // something wrong that was said and not put right
	Coming  = "coming"  // will be due soon
	Unknown = "unknown" // cannot be judged, and why
	Later   = "later"   // not due; listed only where everything is asked for
)

// Causes of an item.
const (
	ByInterval = "interval"
	BySeason   = "season"
	ByLimit    = "limit"
	ByForecast = "forecast"
	ByFollowOn = "follow-on"
	ByDate     = "date"
	ByFault    = "fault"
)

// Filter narrows the list. The zero Filter asks for all machines and each trigger's own notice.
type Filter struct {
	Farm, Yard, Machine ID
	Within              int  // days ahead that count as coming, at the recent rate of use; 0: each trigger's own notice
	All                 bool // also what is not due yet, as Later
}

// takes reports a machine that is held and asked about.
func (f *Filter) takes(m *Machine) bool {
	return m.Sold == "" && (f.Farm == "" || f.Farm == m.Farm) && (f.Yard == "" || f.Yard == m.Yard) && (f.Machine == "" || f.Machine == m.ID)
}

// Amount is a point on a counter or on the calendar, or a distance between two. Exactly one of Date and Value is set where it is a point: a date
// for calendar time, a value of the named counter else. A distance has a Value only, in days ("12 d") or in the counter's unit.
type Amount struct {
	Date      string
	Counter   string
	Value     quantity.Quantity
	Estimated bool // rests on a counter carried on beyond its last reading
}

// LastDone is the last time a job was done.
type LastDone struct {
	Entry ID // "": never recorded
	Done  record.Done
}

// Item is one line of the due list: one job (or fault, or limit) at all the places of one machine where it stands exactly alike.
type Item struct {
	ID                  string // "<machine>/<job, reading, setting or fault>/<cause>" and the first place where it has places; the same every day
	Farm, Yard, Machine ID
	Name                string           // of the machine
	Positions           record.Positions // none: the whole machine
	Where               string           // "openers 1-48 but 14"
	Job                 string           // "" where no job of the schedule answers it
	About               string           // where no job does: the setting or reading it is about, or "storage"
	Title               string
	State               string // see the constants
	Severity            string // one of record.Severities
	Cause               string
	Due                 Amount // where it came or comes due; zero where there is no such point
	Over                Amount // by how much it is past that; negative: still to go
	Expected            string // YYYY-MM-DD on which a counter is expected to reach Due at the recent rate; "" where unknown or past
	Last                LastDone
	By                  ID             // whose it is, as far as the book knows: who did the job last, or found the fault; "" for nobody
	Assumed             bool           // Due is counted from a starting line: the last doing was taken as given
	Unread              string         // the counter that nobody has read, where that is why it cannot be judged
	Brief               string         // what makes it due in a few words, where Due and Over do not say it: "before spring seeding 2026", "since the disc of 2026-02-21"
	Found               []record.Value // the readings past their limit, place by place and hand by hand
	Bound               schedule.Bound // what all of Found are past; zero for grades and where it is not one and the same
	Why                 string         // one plain sentence
	Entries             []ID           // what it rests on, oldest first
	Includes            []string       // smaller jobs that are due too and are done with this one
	Minutes             *big.Rat       // for all its places, nil where the schedule does not say
	Cautions            []string       // lines to print before the job
	Order               int            // of the job: smaller first; 0: none given, last
}

// Due lists the work there is: for every machine held, every job at every place, by whichever of its triggers comes first, and beside it open faults,
// readings and settings that do not fit, and what was left slack in storage. Places that stand exactly alike share one Item.
//
// Worst first: what must stop the machine, then overdue, due, open, coming, unknown; within these by severity, machine, order of the jobs, place. The list
// depends on the State and the Filter only.
func Due(s *State, f Filter) []Item { return dueOn(s, f, f.takes) }

// dueOn is Due for the machines that are taken.
func dueOn(s *State, f Filter, takes func(*Machine) bool) []Item {
	h := newHistory(s)
	var asked []*Machine
	for _, m := range s.Machines {
		if takes(m) {
			asked = append(asked, m)
		}
	}
	found := make([][]Item, len(asked))
	onAllCores(len(asked), func(i int) {
		m := asked[i]
		j := newJudge(s, m, f, h)
		list := j.open()
		if m.Fitted != nil {
			list = append(list, j.jobs()...)
			list = append(list, j.disagreements()...)
			list = append(list, j.relations()...)
		}
		found[i] = group(m, list)
	})
	items := slices.Concat(found...)
	orderItems(items)
	return items
}

// history is what is asked of the list of entries, gathered once for all machines.
type history struct {
	order map[ID]int     // place of an entry in the order of effect, from 1
	moved map[ID][]Event // machine -> moves and hitchings, which are no Events of the Machine
	parts map[ID]string  // repair -> part

	machines []*Machine
	parting  sync.Mutex                       // guards byPart: machines are judged side by side, and parts go from one to another
	byPart   map[string]map[string][]*Reading // reading -> part id -> in any order; filled as asked for
}

func newHistory(s *State) *history {
	h := &history{order: make(map[ID]int, len(s.Effective)), moved: map[ID][]Event{}, parts: map[ID]string{},
		machines: s.Machines, byPart: map[string]map[string][]*Reading{}}
	for i, e := range s.Effective {
		h.order[e.Entry.ID] = i + 1
		if e.StruckBy != "" || e.Ignored != "" || e.Done.Date() > s.On {
			continue
		}
		switch r := e.Record.(type) {
		case *record.Move:
			h.moved[r.Machine] = append(h.moved[r.Machine], Event{Kind: "move", Done: e.Done, Entry: e.Entry.ID})
		case *record.Hitch:
			if r.Carrier == "" {
				continue // unhitched
			}
			h.moved[r.Machine] = append(h.moved[r.Machine], Event{Kind: "hitch", Done: e.Done, Entry: e.Entry.ID})
		case *record.Repair:
			h.parts[e.Entry.ID] = r.Part
		}
	}
	return h
}

// judge asks about one machine on one day.
type judge struct {
	*history
	s       *State
	m       *Machine
	f       Filter
	on      time.Time
	options map[string]string
	places  map[string][]record.Position // job -> where it is done, places out of use left out
	events  []Event                      // in order of effect
	byKind  map[string][]*Event          // what a trigger's after names -> those of events; filled as asked for

	readings map[string][]*Reading // reading and slot -> what speaks of what is there now; filled as asked for
	past     map[string][]beyond   // reading -> those past their limit; filled as asked for
	wears    map[string]*Wear      // reading -> its forecast; filled as asked for
}

func newJudge(s *State, m *Machine, f Filter, h *history) *judge {
	j := &judge{history: h, s: s, m: m, f: f, on: calendarDay(s.On), options: map[string]string{}, places: map[string][]record.Position{},
		byKind: map[string][]*Event{}, readings: map[string][]*Reading{}, past: map[string][]beyond{}, wears: map[string]*Wear{}}
	if m.Fitted != nil {
		for _, o := range m.Fitted.OptionValues {
			j.options[o.Name] = o.Value
		}
	}
	j.events = append(slices.Clone(m.Events), h.moved[m.ID]...)
	slices.SortStableFunc(j.events, func(a, b Event) int { return j.compare(a.Done, a.Entry, b.Done, b.Entry) })
	return j
}

// compare is the order of effect of two entries.
func (h *history) compare(a record.Done, x ID, b record.Done, y ID) int {
	return cmp.Or(a.Compare(b), h.order[x]-h.order[y], cmp.Compare(x, y))
}

func (h *history) earlier(a record.Done, x ID, b record.Done, y ID) bool {
	return h.compare(a, x, b, y) < 0
}

// finding is an Item at one place, before places alike are joined.
type finding struct {
	Item
	place record.Position // zero: the whole machine
	of    string          // noun
	key   string          // what the ID names: job, fault, setting, relation
	each  *big.Rat        // minutes for this place
}

// orderItems sorts worst first; the comparison is total.
func orderItems(items []Item) {
	at := make([]*Item, len(items)) // an item is far larger than where it stands
	for i := range items {
		at[i] = &items[i]
	}
	slices.SortStableFunc(at, compareItems)
	ordered := make([]Item, len(items))
	for i, from := range at {
		ordered[i] = *from
	}
	copy(items, ordered)
}

func compareItems(a, b *Item) int {
	if n := cmp.Or(
		urgency(a)-urgency(b),
		slices.Index(record.Severities, a.Severity)-slices.Index(record.Severities, b.Severity),
		cmp.Compare(a.Name, b.Name),
		cmp.Compare(a.Machine, b.Machine),
		turnOf(a)-turnOf(b),
		cmp.Compare(a.Job, b.Job),
	); n != 0 {
		return n
	}
	return cmp.Or(comparePlaces(a.Positions, b.Positions), cmp.Compare(a.ID, b.ID))
}

// turnOf is an item's place in the order of jobs: a job whose schedule gives it none comes after all others, what is no job before them.
func turnOf(i *Item) int {
	if i.Job != "" && i.Order == 0 {
		return lastOrder
	}
	return i.Order
}

func comparePlaces(a, b record.Positions) int {
	p, q := a.All(), b.All()
	if len(p) == 0 || len(q) == 0 {
		return len(p) - len(q)
	}
	return p[0].Compare(q[0])
}

var stateOrder = []string{Overdue, DueNow, Open, Coming, Unknown, Later}

// urgency puts work that must stop the machine before all else, unless it is only coming.
func urgency(i *Item) int {
	at := slices.Index(stateOrder, i.State)
	if i.Severity == record.Severities[0] && at <= slices.Index(stateOrder, Open) {
		return -1
	}
	return at
}

// jobSeverity is the job's own, or the usual one.
func jobSeverity(job *schedule.Job) string {
	if job.Severity == "" {
		return "soon"
	}
	return job.Severity
}

func jobTitle(job *schedule.Job) string {
	if job.Title == "" {
		return job.Name
	}
	return job.Title
}
