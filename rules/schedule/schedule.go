// Package schedule reads machine kinds: how a machine is built (positions, parts, settings, readings) and how it is serviced (jobs with triggers),
// written in TOML by us or by a farm.
//
// A Schedule is one parsed, checked text. Fit applies a machine's options and single-value overrides and gives a Fitted: concrete counts, groups,
// limits and jobs, against which what a person types is resolved (ParsePositions) and what is due is judged. The grammar is whole from its first
// version, also where the rules engine learns a trigger later; GRAMMAR.md describes every key, example.toml teaches it.
//
// What holds: Parse reports every mistake at once, each with file:line:column, and an unknown key is a mistake. A Schedule and a Fitted are never
// changed once made and may be shared. A Fitted holds only what its machine has: items whose options do not hold are gone, and with them whatever
// names them, so that no reference is left dangling and no condition on an option is left to judge.
//
// It judges nothing but single values against single limits and knows no dates of work. Built-in values are our own round figures of common
// practice; the operator's manual rules.
package schedule

import (
	"math/big"

	"shedbook/rules/quantity"
)

// Version is the grammar version, the number in `shedbook_schedule = 1`.
const Version = 1

// Schedule is one checked machine kind as its text says it, before any machine's options are known.
type Schedule struct {
	Name   string // "disc-drill": [a-z][a-z0-9-]*
	Title  string
	About  string
	Source string   // where its figures come from: "common practice, no source" or a manual with its page
	Rules  string   // the lines every printout carries: the operator's manual rules; the standard line is always the first
	Work   []string // kinds of work its machines take part in: "seeding"
	Text   string   // the whole TOML

	Counters   []Counter
	Options    []Option
	Places     []Place
	Groups     []Group
	Pairs      []Pair
	Assemblies []Assembly
	Parts      []Part
	Settings   []Setting
	Readings   []Reading
	Jobs       []Job
	Relations  []Relation
	Setups     []Setup
	Specs      []Spec
	Cautions   []Caution // its own and the standard ones its jobs name

	root *node // the text as a tree, to which overrides are applied
}

// Counter is one of the machine's counters: how much it has worked.
type Counter struct {
	Name   string        // "hours", "area", "bales"
	Unit   quantity.Unit // of its readings
	Trip   bool          // zeroed by the driver; else lifetime
	Main   bool          // the one meant when a person names none; exactly one per schedule
	Derive *Derive       // how it is worked out where it is not read
}

// Derive works out one counter from another: hours = area / field capacity, or takes the carrier's.
type Derive struct {
	From       string            // counter of this machine: "area"
	Width      quantity.Quantity // working width
	Speed      quantity.Quantity
	Efficiency quantity.Quantity // per cent
	Carrier    string            // or, where From is absent or gives nothing: this counter of the machine it is hitched to
}

// Option is how one machine may differ from the next of its kind: a count, one of several words, yes/no, or an amount.
type Option struct {
	Name     string
	Type     string // "count", "choice", "yes-no", "amount"
	Default  string
	Min, Max int               // of a count
	Choices  []string          // of a choice
	Unit     quantity.Unit     // of an amount
	Low      quantity.Quantity // of an amount: least ...
	High     quantity.Quantity // ... and greatest
	About    string
}

// Only is one condition: an item is limited to machines, or to times, where all its conditions hold. Exactly one of Option, Setting, Reading, State,
// Ground, Crop and Any is used. After Fit none names an option.
type Only struct {
	Option  string   // with Is: an option's value
	Setting string   // with Is: a setting in force
	Reading string   // with Is: the grade of a reading; with Last: of each of its last ones
	State   string   // "stored", "unfit"
	Ground  string   // a word given as context
	Crop    string   // a word given as context
	Is      []string // any of these
	Last    int      // so many of the last readings; 0 and 1: the last
	Any     []Only   // holds where any one of these holds
}

// Place is a noun with numbered places (Count) or named ones (Names), numbered left to right, standing behind the machine, facing forward.
type Place struct {
	Noun      string
	Plural    string
	Count     string   // an integer or the name of a count option; always an integer once fitted
	Names     []string // "left-front", ...
	Ranks     string   // as Count: rows of places one behind another; place n stands in rank (n-1) mod Ranks + 1, the front rank first
	Walk      string   // "line" (1 to n) or "serpentine" (each rank in turn, every second one from right to left)
	Hands     []string // names of the two like things in one place: "left", "right"; absent: one
	HandsOnly []Only   // machines without it have one thing in each place
	Only      []Only
}

// Group is a named set of places. Exactly one of From/To shares, Rank, Every or List.
type Group struct {
	Name     string
	Of       string   // noun
	From, To *big.Rat // share of the width: 0 to 1/3
	Rank     int      // 1 is the front rank, -1 the rear one
	Step     int      // every Step-th ...
	Start    int      // ... from Start on
	List     string   // "1-16,20" or "left-front,right-front"
	Only     []Only
}

// Pair says which places are partners: opposite ones balance, neighbours share a part.
type Pair struct {
	Name string
	Of   string
	How  string   // "neighbours" (1-2, 3-4, ...), "mirror" (1 with the last, ...), "list"
	List []string // "1+2", "left-front+right-front"
	Only []Only
}

// Assembly is a thing that holds parts and moves with them: an arm with its hub and disc.
type Assembly struct {
	Name  string
	Of    string
	Parts []string
	Whole bool // one for all places of Of: a set of nozzles taken off and put back together
	Only  []Only
}

// Part is a thing that wears and is swapped, one in each place of Of (one in each hand where Handed).
type Part struct {
	Name    string
	Plural  string
	Of      string   // noun; "": one on the machine
	Handed  bool     // left and right hand differ
	Pack    int      // sold in packs of
	Lead    string   // time to get one: "14 d"
	Set     bool     // replaced all together
	With    []string // parts replaced with it
	Partner string   // pair whose other place gets a new one too: balance
	Edges   int      // how often it can be turned, plus one
	Fluid   bool
	Make    bool // its own date of make counts
	Per     int  // one part serves this many neighbouring places
	Only    []Only
}

// Setting is something a person sets.
type Setting struct {
	Name     string
	Title    string
	Of       string // noun; "": the machine
	Type     string // "steps", "choice", "count", "amount"
	Min, Max quantity.Quantity
	Step     quantity.Quantity // between allowed values; zero: any
	StepIs   quantity.Quantity // what one step is worth: "1/4 in"
	MinIs    quantity.Quantity // what Min is worth; absent: 0 of StepIs's unit
	Ends     []string          // what Min and Max mean: "shallowest", "deepest"
	Unit     quantity.Unit
	Choices  []string
	Agree    bool   // all positions should stand alike; which differ is worth a line
	How      string // how to set it
	Only     []Only
}

// Reading is something a person measures.
type Reading struct {
	Name            string
	Title           string
	Of              string
	Handed          bool
	Unit            quantity.Unit     // of an amount; none for grades and counts
	Grades          []string          // words instead of amounts, best first: "ok", "watch", "bad"
	BadFrom         string            // the first grade past the limit
	Low, High       quantity.Quantity // plausible range; outside is asked about
	HasLow, HasHigh bool
	Limit           *Limit            // the one in force: of Limits, the first whose options hold
	Limits          []Limit           // as written
	Part            string            // the part it is a size of
	Wears           []string          // counters it wears with
	New             quantity.Quantity // its value when the part is new
	HasNew          bool
	Condition       []string // names of test conditions asked for: "pressure"
	Correct         []Correction
	Computed        *Computed
	Outcome         bool   // what the work came to, not how the machine is: seasons are set side by side by it
	How             string // how to measure it
	Only            []Only
}

// Correction takes a reading to its rated test condition: times (Rated / actual) to the Power. Flow goes with the root of pressure: Power 1/2.
type Correction struct {
	Condition string
	Rated     quantity.Quantity
	Power     *big.Rat
}

// Limit is what a reading may be. Any of its members may stand alone.
type Limit struct {
	Min, Max       quantity.Quantity // lower and upper
	HasMin, HasMax bool
	Share          quantity.Quantity // of the value when new, per cent: below it (falling) or above it (rising)
	HasShare       bool
	Falls          bool              // direction of wear: the reading gets smaller
	Step           quantity.Quantity // jump since the last reading
	HasStep        bool
	Neighbours     quantity.Quantity // difference from the median of the others
	HasNeighbours  bool
	Of, K          int               // K of any Of past the limit count for the whole set; Of 0: of all
	OneIn          string            // a count option N: Max is at most OneInAmount / N
	OneInAmount    quantity.Quantity // "200 %"
	Only           []Only
}

// Computed is a reading worked out from others: difference, smaller, larger, sum or ratio of two readings, or a setting's worth; or a product of several
// things over the product of others.
type Computed struct {
	How  string   // "difference", "smaller", "larger", "sum", "ratio", "product"
	From []string // "disc-size", or "disc-size/left" where the reading is handed; of a product also amounts, "8 ft"
	By   []string // of a product: what it is divided by
}

// Job is a line of the schedule: what is to be done, where, when, how.
type Job struct {
	Name     string
	Title    string
	Of       string // noun; "": the machine
	Group    string // or only these places
	Severity string // record.Severities
	When     []Trigger
	Only     []Only
	Minutes  *big.Rat // for one place (or the machine)
	Hands    int      // people it takes; 0 and 1: one
	Who      string   // "anyone", "trained", "licensed"
	Tools    []string
	Uses     []Use
	Torques  []Torque
	Points   int      // grease points in one place
	Results  []string // words a person can report: "moved", "none-moved"
	Open     string   // what must be opened: the job card opens each once
	Order    int      // before jobs with a greater number when both are due: preset before grease
	Includes []string // jobs done with it
	Loosens  []string // torque jobs it makes due
	Next     []string // jobs it asks for at once, in this order
	Sets     []string // settings it is about
	Measures []string // readings it is about
	Swaps    string   // the part it replaces: swapping the part is doing the job, with all it loosens and asks for
	Turns    string   // the part it turns, sharpens or rebuilds: doing that to the part is doing the job, as with Swaps
	Try      []string // jobs that may do instead, tried first in this order: shim before replacing
	Fails    string   // severity once its outcome is "fail"
	How      string
	Cautions []string // names of Cautions
}

// Use is a consumable or fill: 22 L of engine oil.
type Use struct {
	What   string
	Amount quantity.Quantity
}

// Torque is a fastener's torque.
type Torque struct {
	What     string
	Size     string // "3/4 in"; of a bolt its thread, grade and finish
	Value    quantity.Quantity
	Min, Max quantity.Quantity // both zero: within 5 % of Value
	Bolt     *Bolt             // what Value was computed from; nil: it stands in the text, or is the farm's own
	LeftHand bool
}

// Trigger says when a job comes due. Exactly one of Every, Worked, Idle, Season, After, Past, Forecast, Made, Until is used; a job's triggers are
// taken together, whichever comes first.
type Trigger struct {
	Every []Interval // each counted from the last time done, whichever first
	First []Interval // the first time differs
	Grid  bool       // on a fixed grid from the counter's zero, not from last done
	Soon  *Interval  // "coming" from this much before; absent: a tenth of the interval, or 14 days

	Worked int // every so many days on which the machine worked
	Idle   int // after so many days without work

	Season string // "before", "after"
	Work   string // of this kind of work only

	After       string     // event: "swap:disc", "did:hub-open", "loosened:wheel", "adjust:depth", "fault", "season-open"
	Series      []Interval // after the event: at 1 h, at 10 h (each one once); empty: at once
	Then        *Interval  // then every ...
	UntilResult string     // ... until this result ...
	Finally     *Interval  // ... then every ...

	Past     string // reading past its limit
	K, Of    int    // with Past: this job's own "K of any Of"; 0: the limit's
	Forecast string // reading forecast to pass its limit before the season ends

	Made  string // part's date of make; with Every
	Until string // a valid-until date written on a job's last doing: the job's name

	While   []Only   // only while all hold
	Factors []Factor // intervals are multiplied while their conditions hold
	Stored  string   // "pause" (default) or "run" while the machine is in storage
}

// Factor stretches or shortens every interval of a trigger.
type Factor struct {
	By    *big.Rat // 1/2 halves
	While []Only
}

// Interval is an amount of a counter or of calendar time: "250 h", "12 mo", "500 ac".
type Interval struct {
	Amount  quantity.Quantity
	Counter string // the counter it is counted on; "" for calendar time
	Named   bool   // the text names the counter, as it must where several counters are counted in such units
}

// Relation is the allowed range of one thing as a function of another: scraper height against disc size.
type Relation struct {
	Name  string
	Of    string // noun
	Thing string // setting or reading judged; a setting in steps by what its steps are worth
	By    string // setting or reading it depends on
	Rows  []RelationRow
	How   string
	Only  []Only
}

// RelationRow allows Min to Max of the thing while the other lies between From and To.
type RelationRow struct {
	From, To quantity.Quantity // From counts, To does not, but where no other row goes on
	Is       string            // or the other is this word
	Min, Max quantity.Quantity
	Only     []Only
}

// Setup is a named set-up: settings to apply together and to compare with.
type Setup struct {
	Name   string
	Title  string
	Values []SetupValue
	Only   []Only
}

// SetupValue is one setting of a set-up.
type SetupValue struct {
	Setting string
	Where   string // group or position expression; "": everywhere
	To      string
	Only    []Only
}

// Spec is a line of the spec card: oils, filters, torques, pressures, belt lengths.
type Spec struct {
	Name  string
	Words []string // other words people look it up by
	Value string
	Note  string
	Only  []Only
}

// Caution is one line printed before a job.
type Caution struct {
	Name string
	Text string
}
