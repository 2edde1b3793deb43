package record

// Farm is an owner's holding.
type Farm struct {
	Name string `json:"name"`
}

// Yard is a place where machines stand and are worked on.
type Yard struct {
	Name string `json:"name"`
	Farm ID     `json:"farm"`
}

// Person is somebody without a signing key; the name is in Private. The entry's id is the person's id.
type Person struct{}

// Schedule puts a machine kind into use: its whole text, so that old results stay reproducible. The newest text of one name whose From has come rules.
type Schedule struct {
	Name string `json:"name"`           // "disc-drill"
	Text string `json:"text"`           // TOML, at most 48 KiB
	From string `json:"from,omitempty"` // YYYY-MM-DD; absent: since the beginning
}

// Season is a named stretch of one kind of work: planned, opened, closed.
type Season struct {
	Act   string       `json:"act"`             // "plan", "open", "close"
	Name  string       `json:"name"`            // "spring seeding 2026"
	Work  string       `json:"work,omitempty"`  // kind of work: "seeding"; required by plan and open
	Farms []ID         `json:"farms,omitempty"` // absent: all farms of the book
	From  string       `json:"from,omitempty"`  // planned first day; for open and close the day itself is Done
	To    string       `json:"to,omitempty"`    // planned last day
	Done  Done         `json:"done"`
	Use   []PlannedUse `json:"use,omitempty"` // what a season is expected to take, a machine kind at a time
}

// PlannedUse is an expected amount of work in a season.
type PlannedUse struct {
	Kind    string   `json:"kind"` // schedule name
	Counter string   `json:"counter"`
	Amount  Quantity `json:"amount"`
}

// Correct replaces the record of an earlier entry by a whole new one of the same kind. Book, machine, kind, keys and part ids stay. The new private
// part, if any, is the correcting entry's own.
type Correct struct {
	Machine ID     `json:"machine,omitempty"` // of a corrected work entry
	Entry   ID     `json:"entry"`
	As      string `json:"as"`     // kind of the entry corrected
	Record  Raw    `json:"record"` // its whole new record
}

// Strike takes an entry back for ever. Its reason is in Private.
type Strike struct {
	Machine ID `json:"machine,omitempty"`
	Entry   ID `json:"entry"`
}
