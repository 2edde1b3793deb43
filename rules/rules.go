// Package rules replays the verified entries of a book into what is so: machines with their settings, readings, parts, counters and faults on any day,
// and the work that is due.
//
// Everything is a pure function of (entries, on, known): the same entries in any order of arrival give the same State and the same due list. Order of
// effect is (date done, hh:mm or 24:00, depth, id). Every derived fact carries the entries it rests on. Nothing here reads a clock, a file or a key:
// entries come in decoded, with their order keys (entry.go adapts verified ones).
//
// What cannot be judged is said (Problem), never guessed: a part whose moves are impossible is disputed, a counter never read is unknown.
package rules

import (
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// ID names an entry.
type ID = record.ID

// Entry is one counted entry, decoded. Entries that do not count (pending, waiting, stopped) are not handed to rules; Stands says which they are when
// a history shows them.
type Entry struct {
	ID      ID
	Writer  string // the device's log
	Person  ID     // whose device it is
	Owner   bool   // the device's role
	Seq     uint64
	Depth   uint64
	At      string // when recorded, RFC 3339 UTC: the writer's own clock
	Known   string // YYYY-MM-DD, UTC: the latest day in its causal past (for --known)
	Kind    string
	Record  record.Record   // nil where Err is set
	Private *record.Private // nil: none, or held back
	// PrivateErr is why Private could not be decoded: only its words are missing.
	PrivateErr error
	Err        error // why Record could not be decoded; *record.NewerError: kept, results for the machine say so
	// MachineTag reports whether the entry's tag is that of the machine with this base64url key; nil for shared entries.
	MachineTag func(key string) bool `json:"-"`
}

// Options says which day is asked about and what was known then.
type Options struct {
	On    string // YYYY-MM-DD: what was true at the end of that day; never empty
	Known string // YYYY-MM-DD: only entries known by then; "": all
}

// Reason is why a derived fact is so.
type Reason struct {
	Entries []ID   // oldest first
	Rule    string // plain words, or ""
}

// State is what is so on a day.
type State struct {
	On, Known string
	Farms     []*Farm // sorted by name
	Yards     []*Yard
	People    []*Person
	Seasons   []*Season
	Kinds     []*KindInUse // schedules in use on the day, by name
	Machines  []*Machine   // sorted by name; sold ones too, marked
	Shelves   []*Shelf
	Parts     []*Part      // every part there ever was, scrapped ones too, by id
	Effective []*Effective // every entry with its fate, in order of effect
	Problems  []Problem
	Carriers  []ID // of a portion: machines of others whose curves its counters rest on
}

type Farm struct {
	ID   ID
	Name string
}

type Yard struct {
	ID   ID
	Name string
	Farm ID
}

// Person is somebody with or without a device.
type Person struct {
	ID   ID
	Name string // "" where held back
}

// Season with the days it was planned, opened and closed.
type Season struct {
	Name             string
	Work             string
	Farms            []ID // none: all
	PlanFrom, PlanTo string
	Opened, Closed   string // "" while not
	Use              []record.PlannedUse
	Reason           Reason
}

// KindInUse is a schedule text in force.
type KindInUse struct {
	Schedule *schedule.Schedule
	Entry    ID
	From     string
}

// Effective is an entry with its fate.
type Effective struct {
	Entry       *Entry
	Record      record.Record   // as corrected
	Private     *record.Private // as corrected
	Done        record.Done     // order of effect; "" for entries that hold always
	CorrectedBy []ID            // all valid corrections, the ruling one last
	StruckBy    ID
	Ignored     string // why it has no effect: "no right", "machine does not match", "" when it has
}

// Problem is something that cannot be judged or does not fit; shown beside results, never hidden.
type Problem struct {
	Code    string // stable: "part-disputed", "counter-backwards", "newer", "tag-mismatch", "no-right", "relative-mismatch", "future", ...
	Machine ID
	Entries []ID
	Message string
}

// Machine is one machine on the day.
type Machine struct {
	ID        ID
	Name      string
	Key       string
	Kind      string // schedule name
	Title     string
	Serial    string
	Year      int
	Yard      ID
	Farm      ID
	Added     record.Done
	Sold      record.Done // "" while held
	Stored    bool
	Slack     []string // what was slackened for storage
	Lent      string   // "", "lent", "hired-in"
	Unfit     bool
	Carrier   ID
	Fitted    *schedule.Fitted                 // nil with a Problem where its schedule is unknown
	Counters  map[string]*Counter              // every counter of its schedule, read or not
	Settings  map[string]map[string]*Standing  // setting -> position ("" for the machine) -> what stands
	Readings  map[string]map[string][]*Reading // reading -> slot -> all readings in order of effect; slot = SlotName(position, hand)
	Slots     map[string]map[string]*Slot      // part -> slot -> what sits there
	Out       map[string]*OutOfUse             // position -> tied up or empty, its use stops
	Jobs      map[string]*JobLog
	Faults    []*Fault // open and closed, oldest first
	Worked    []string // days on which it is known to have worked, derived
	Events    []Event  // what jobs may follow on: swaps, jobs done, settings changed, faults, seasons; in order of effect
	Storage   []Stretch
	Warranted []Warranty // work with a warranty of its own, repairs and jobs, in order of effect; parts carry theirs with them
	Context   Context    // the latest field, crop and ground named with any work
	Assumed   ID         // the latest starting line
	Newer     bool       // an entry of this machine needs a newer shedbook
	// Reasons are the entries that "yard", "lent", "stored", "hitched" and "sold" rest on.
	Reasons map[string]Reason
}

// Event is something that happened to a machine which a job may follow on.
type Event struct {
	// Kind is "swap:<part>" (new, put in or exchanged), "out:<part>", "turn:<part>" (turned, sharpened, rebuilt), each for an assembly and for each
	// of its parts, "did:<job>" (done itself, by a bigger job, or by a
	// measurement, swap or setting that counts as doing it), "loosened:<job>" (a job that loosens it was done), "adjust:<setting>",
	// "measure:<reading>", "fault", "repair", "season-open", "season-close", "store-in", "store-out".
	Kind      string
	Positions record.Positions             // zero: the machine
	Done      record.Done                  //
	Counters  map[string]quantity.Quantity // Life then, as Doing.Counters
	Estimated bool                         // Counters go beyond the last reading
	Entry     ID
}

// Warranty is what a shop stands for until the end of a day.
type Warranty struct {
	Until     string // YYYY-MM-DD
	Part, Job string // "" where the work names none
	Positions record.Positions
	Done      record.Done
	Entry     ID
}

// Stretch is a time from one moment to another.
type Stretch struct {
	From, To record.Done // To "": still so
}

// Context is what a person said of where and in what the machine worked; each is the latest one said.
type Context struct {
	Crop, Field, Ground string
	Done                record.Done // of the latest word
}

// SlotName keys a position and hand: "opener/12", "opener/12 left", "" for the machine.
func SlotName(p record.Position, hand string) string {
	if hand == "" {
		return p.String()
	}
	return p.String() + " " + hand
}

// Counter is a counter's curve up to the day.
type Counter struct {
	Name      string
	Unit      quantity.Unit
	Trip      bool
	Points    []CounterPoint    // in order of effect
	Derived   bool              // worked out from another counter
	WorkedOut string            // the counter of this machine that it is worked out from, or OfCarrier; "" where it is read
	Unhitched bool              // derived from what pulled the machine, and nothing pulls it now: it stands still
	Known     bool              // ever read (or assumed)
	Reading   quantity.Quantity // what its face shows: last reading plus later additions
	ReadOn    string
	Life      quantity.Quantity // all use so far: the monotone curve's value at the last point
	Estimate  quantity.Quantity // Life carried on to the day at the recent rate; equal to Life where there is no later use
	Estimated bool              // Estimate goes beyond the last reading
	PerDay    *RateOfUse        // recent rate, nil when unknown
	Reason    Reason

	idle, stored []minutes // see idleTimes
	source       *Counter  // that it is worked out from; nil where it is read
}

// OfCarrier is what a counter is worked out from that goes by the counter of the machine which pulled it.
const OfCarrier = "what pulled it"

// RateOfUse is use a day over a stretch.
type RateOfUse struct {
	PerDay   float64 // units of the counter a day
	From, To string
}

// CounterPoint is one known point of the curve.
type CounterPoint struct {
	Done  record.Done
	Face  quantity.Quantity // what the counter showed
	Life  quantity.Quantity // all use so far
	Act   string
	Entry ID
}

// Standing is a setting's present value somewhere.
type Standing struct {
	Value   record.Value
	Since   record.Done
	Before  record.Value // zero when unknown
	Assumed bool
	Unknown bool // a relative change from an unknown value
	Reason  Reason

	entry ID        // that set it
	prev  *Standing // what stood before; nil: nothing known
}

// Reading is one reading with the use of the part it measures.
type Reading struct {
	Done      record.Done
	Found     record.Value
	Left      record.Value
	Cannot    string
	Condition []record.Condition
	With      string
	Part      string // part id where the reading is a size of a part
	Segment   int
	Use       map[string]quantity.Quantity // counter -> use of the part (or the machine) then
	// SegmentUse is the use since the part was last turned, sharpened or rebuilt; nil where the reading is no size of a part.
	SegmentUse map[string]quantity.Quantity
	Computed   bool // worked out from other readings of that entry's day
	Assumed    bool
	Person     ID
	Entry      ID
}

// Slot is a place for a part.
type Slot struct {
	Part     *Part // nil: empty
	Unknown  bool  // never recorded: the original part, its use counted from the machine's first known counter
	Disputed bool
	Since    record.Done
	Reason   Reason
}

// Part is one physical part and its life so far.
type Part struct {
	ID          string // "<swap entry id>/<slot>" or "original/<machine id>/<part>/<slot>"
	Kind        string // part name
	Schedule    string
	Hand        string
	Serial      string
	In          record.Done // when first fitted
	Segment     int         // counted from 1: turned, sharpened, rebuilt begin a new one
	SegmentFrom record.Done
	Use         map[string]quantity.Quantity // counter -> use so far, over all places
	SegmentUse  map[string]quantity.Quantity
	Assumed     bool              // its use rests on a starting line or on what a seller claimed
	Worn        quantity.Quantity // share worn as assumed by the starting line ("50 %"); zero: none said
	Stays       []Stay
	Fillings    []Filling // of a fluid: what was filled in since it is in, oldest first
	Disputed    bool
	Gone        string // "", "scrapped", "transit", "shelf"
	Warranty    string // YYYY-MM-DD, the last day it is warranted; "" where nothing was said
	Reason      Reason
}

// Stay is a stretch of a part's life in one slot.
type Stay struct {
	Machine  ID
	Slot     string
	From, To record.Done                  // From "": from the beginning of the record; To "": still there
	Use      map[string]quantity.Quantity // counter -> use during the stay
	Why      string                       // why it was taken out: "worn", "in-time", "with-set", "broken", "" where not said or only moved
	Entry    ID                           // by which it came in
	End      ID                           // by which it went, or by which its place came into dispute
}

// OutOfUse says since when a position does not work.
type OutOfUse struct {
	Since record.Done
	Why   string // "tied up", "empty"
	Entry ID
}

// JobLog is every doing of a job, by place.
type JobLog struct {
	Job  string
	Done map[string][]*Doing // position ("" for the machine) -> in order of effect
}

// Doing is one time a job was done at a place (or skipped there).
type Doing struct {
	Done     record.Done
	Counters map[string]quantity.Quantity // Life then, counters that were known
	// Estimated says that a counter of Counters goes beyond its last reading: carried on at the recent rate, as Counter.Estimate is.
	Estimated bool
	Skipped   bool
	Result    string
	Value     quantity.Quantity
	Torque    quantity.Quantity
	Outcome   string
	Until     string
	Assumed   bool
	Via       string // the bigger job that included it, or "measure", "swap", "adjust" where such an entry counts as doing it
	Person    ID
	Entry     ID
}

// Fault is something wrong.
type Fault struct {
	ID            ID
	Done          record.Done
	Positions     record.Positions
	Part          string
	Severity      string
	Text          string
	TiedUp, Unfit bool
	Needs         []record.Need
	Lost          quantity.Quantity
	Closed        record.Done // "" while open
	ClosedBy      ID
	Temporary     []ID // temporary repairs that keep it open
	Person        ID
}

// Shelf is a yard's stock.
type Shelf struct {
	ID    ID
	Yard  ID
	Key   string
	Stock []StockLine
}

// StockLine is how many of one part lie on a shelf.
type StockLine struct {
	Schedule, Part, Hand string
	Count                int      // all that lie there, used ones too
	Parts                []*Part  // used ones with their history
	Serials              []string // of new ones, as far as they were told
	Reason               Reason
}
