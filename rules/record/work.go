package record

// Counter reads, adds to, resets or replaces counters.
type Counter struct {
	Work
	Acts []CounterAct `json:"acts"`
}

// CounterAct is one act on one counter.
type CounterAct struct {
	Counter string   `json:"counter"`
	Act     string   `json:"act"`            // "at", "add", "reset", "replaced"
	Value   Quantity `json:"value,omitzero"` // at: the reading; add: the increment; reset, replaced: where it starts (absent: 0)
	Last    Quantity `json:"last,omitzero"`  // reset, replaced: the last reading before, if known
	Span    string   `json:"span,omitempty"` // "lifetime" or "trip", where the act changes it
}

// Adjust sets settings.
type Adjust struct {
	Work
	Setup   string   `json:"setup,omitempty"` // the named set-up applied, as typed; Changes holds what it meant
	Changes []Change `json:"changes"`
}

// Change is one setting of some positions taken to one value. A relative change ("+1") is kept as said in By and as resolved in To where the value
// before was known; positions that end at different values are separate changes.
type Change struct {
	Setting   string    `json:"setting"`
	Positions Positions `json:"positions,omitzero"` // absent: the whole machine
	To        Value     `json:"to,omitzero"`
	By        string    `json:"by,omitempty"`   // "+1", "-0.25 in"
	Said      string    `json:"said,omitempty"` // the positions as typed
}

// Measure holds readings of one quantity.
type Measure struct {
	Work
	Reading   string      `json:"reading"`
	Values    []Measured  `json:"values"`
	Condition []Condition `json:"condition,omitempty"` // the test condition: pressure 40 psi
	With      string      `json:"with,omitempty"`      // the instrument, in the person's words
	Said      string      `json:"said,omitempty"`
}

// Measured is one reading at one position. Exactly one of Found, Left (or both of them) or Cannot is there.
type Measured struct {
	Positions Positions `json:"positions,omitzero"` // absent: the machine; several: all alike
	Hand      string    `json:"hand,omitempty"`     // "left", "right"
	Found     Value     `json:"found,omitzero"`
	Left      Value     `json:"left,omitzero"`
	Cannot    string    `json:"cannot,omitempty"` // "reach", "fitted" (not fitted), "read"
}

// Condition is one named value under which a reading was taken.
type Condition struct {
	Name  string   `json:"name"`
	Value Quantity `json:"value"`
}

// Swap changes what sits in the slots of some positions.
type Swap struct {
	Work
	Part      string    `json:"part"`
	Positions Positions `json:"positions,omitzero"`
	Hand      string    `json:"hand,omitempty"`  // absent: both hands where the part has two
	Act       string    `json:"act"`             // see SwapActs
	Why       string    `json:"why,omitempty"`   // "worn", "in-time", "with-set", "broken"
	With      Positions `json:"with,omitzero"`   // exchange: the other positions, in walking order
	From      ID        `json:"from,omitempty"`  // new or in: the shelf the part came from (absent: bought new)
	To        ID        `json:"to,omitempty"`    // the shelf the old part went to (absent: scrapped; for out: in transit)
	Parts     []string  `json:"parts,omitempty"` // in: the part ids that go in, in walking order (left hand first)
	Serials   []string  `json:"serials,omitempty"`
	Used      Quantity  `json:"used,omitzero"` // a used part's own use so far, as claimed
	Said      string    `json:"said,omitempty"`
}

// Acts of a swap: a new (or shelf) part for the old; one position's part with another's; taken off and left empty; a named part put in; the same part
// turned, sharpened or rebuilt, which starts a new segment of its wear.
const (
	SwapNew       = "new"
	SwapExchange  = "exchange"
	SwapOut       = "out"
	SwapIn        = "in"
	SwapTurned    = "turned"
	SwapSharpened = "sharpened"
	SwapRebuilt   = "rebuilt"
)

// Did says a job of the schedule was done.
type Did struct {
	Work
	Job       string    `json:"job"`
	Positions Positions `json:"positions,omitzero"` // absent: the job has none
	Skipped   Positions `json:"skipped,omitzero"`   // could not be reached or was left out, said so
	Results   []Result  `json:"results,omitempty"`
	Torque    Quantity  `json:"torque,omitzero"`   // the wrench setting used
	Outcome   string    `json:"outcome,omitempty"` // "pass", "fail", "advice"
	Until     string    `json:"until,omitempty"`   // valid until, YYYY-MM-DD
	Fills     []Fill    `json:"fills,omitempty"`
	Said      string    `json:"said,omitempty"`
}

// Result is what was found at some positions: "moved", "ok", "tight", ... or a value.
type Result struct {
	Positions Positions `json:"positions,omitzero"`
	Word      string    `json:"word,omitempty"`
	Value     Quantity  `json:"value,omitzero"`
}

// Fill is a fluid or consumable put in.
type Fill struct {
	Of     string   `json:"of"`
	Amount Quantity `json:"amount"`
	TopUp  bool     `json:"top_up,omitempty"`
}

// Severities of faults and due items, worst first.
var Severities = []string{"stop", "soon", "winter", "tidy"}

// Fault is something wrong and still open; what it is stands in Private.Text. The entry's id is the fault's id.
type Fault struct {
	Work
	Positions Positions `json:"positions,omitzero"`
	Part      string    `json:"part,omitempty"`
	Severity  string    `json:"severity"`
	TiedUp    bool      `json:"tied_up,omitempty"` // the positions are out of use: their use stops
	Unfit     bool      `json:"unfit,omitempty"`   // the machine is not fit to run
	Needs     []Need    `json:"needs,omitempty"`   // parts it will take
	Lost      Quantity  `json:"lost,omitzero"`     // time lost, "2 h"
	Said      string    `json:"said,omitempty"`
}

// Need is a part or material, in the person's words, and how many.
type Need struct {
	What  string `json:"what"`
	Count int    `json:"count"`
}

// Repair is any work that puts something right, scheduled or not; Work.Closes names the faults. Temporary keeps them open.
type Repair struct {
	Work
	Positions Positions `json:"positions,omitzero"`
	Part      string    `json:"part,omitempty"`
	Used      []Need    `json:"used,omitempty"` // parts and material that went in
	Temporary bool      `json:"temporary,omitempty"`
	Cause     string    `json:"cause,omitempty"` // "worn", "broken", "stone", ...
	Lost      Quantity  `json:"lost,omitzero"`
	Said      string    `json:"said,omitempty"`
}

// Note is a remark; its words are in Private.Text.
type Note struct {
	Work
	Positions Positions `json:"positions,omitzero"`
	Said      string    `json:"said,omitempty"`
}
