package record

// Machine adds a machine to the book. Key and schedule name never change.
type Machine struct {
	Work
	Key      string   `json:"key"` // 32 random bytes, base64url: whoever is given it finds every entry of this machine
	Name     string   `json:"name"`
	Schedule string   `json:"kind"` // schedule name: "disc-drill"
	Yard     ID       `json:"yard"`
	Options  []Option `json:"options,omitempty"`
	Groups   []Group  `json:"groups,omitempty"` // the farm's own groups and aliases
	Title    string   `json:"title,omitempty"`  // free description: width, trim
	Year     int      `json:"year,omitempty"`   // year of make
	Serial   string   `json:"serial,omitempty"`
}

// Option is one choice of how a machine is built: openers=48.
type Option struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Group is a farm's own name for some positions.
type Group struct {
	Name      string    `json:"name"`
	Positions Positions `json:"positions"`
}

// Shelf is a yard's stock of parts; it has a key as a machine has.
type Shelf struct {
	Work
	Key  string `json:"key"`
	Yard ID     `json:"yard"`
}

// Stock puts parts on a shelf or counts what is there. Machine is the shelf.
type Stock struct {
	Work
	Schedule string   `json:"kind"` // schedule name the part belongs to
	Part     string   `json:"part"`
	Hand     string   `json:"hand,omitempty"`
	Act      string   `json:"act"` // "add" (bought), "count" (so many are there), "scrap"
	Count    int      `json:"count"`
	Serials  []string `json:"serials,omitempty"`
}

// Move takes a machine to another yard.
type Move struct {
	Work
	Yard ID `json:"yard"`
}

// Lend says a machine went out or came in on loan or hire; to whom is in Private.Who.
type Lend struct {
	Work
	Act       string `json:"act"`                 // "lent", "returned", "hired-in", "sent-back"
	Condition string `json:"condition,omitempty"` // "ok", "watch", "bad"
}

// Store puts a machine into storage or takes it out. Slack lists what was slackened, drained or removed and is asked for again.
type Store struct {
	Work
	Act   string   `json:"act"` // "in", "out"
	Slack []string `json:"slack,omitempty"`
}

// Sell ends a machine's time in the book; buyer and price are in Private.
type Sell struct{ Work }

// Hitch joins a machine to the one that carries or pulls it from Done on; no carrier: unhitched.
type Hitch struct {
	Work
	Carrier ID `json:"carrier,omitempty"`
}

// Assume is a starting line: what is taken to be so, unproved, on a day.
type Assume struct {
	Work
	Good  bool      `json:"good,omitempty"` // every job taken as done and every reading as within limits
	Items []Assumed `json:"items,omitempty"`
}

// Assumed is one thing taken as given: a job done, a setting or reading at a value, a part worn by a share.
type Assumed struct {
	Name      string    `json:"name"`
	Positions Positions `json:"positions,omitzero"`
	Hand      string    `json:"hand,omitempty"`
	Value     Value     `json:"value,omitzero"` // of a setting or reading
	Worn      Quantity  `json:"worn,omitzero"`  // of a part: "50 %"
	Used      Quantity  `json:"used,omitzero"`  // of a part: "600 ac"
}

// Override changes one value of the machine's schedule: Path as `schedule show` prints it, Page where the machine's manual says so.
type Override struct {
	Work
	Path  string `json:"path"`  // "job.grease.when.1.every"
	Value string `json:"value"` // TOML value text: `"200 h"`; empty: back to the schedule's own
	Page  string `json:"page"`  // "operator's manual, page 41"
	From  string `json:"from,omitempty"`
}
