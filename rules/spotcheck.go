package rules

import (
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// SpotAsk says how many places to check, and the buyer's own word.
type SpotAsk struct {
	Places int    // 0: six
	Word   string // any word a buyer says at the machine; "": none
}

// Spot is a card of places that a stranger can measure in ten minutes, with what the book expects there.
//
// Which places they are follows from the ids of the machine's newest entries and the buyer's word, so everyone who has the book finds the same ones. An id is a
// digest over the whole entry and a random salt, so nobody knows, while measuring, which places will be asked for. Whoever holds the key could write one more
// entry, look, and write another, until he likes the places; against that the buyer says a word of his own when he stands at the machine.
type Spot struct {
	Seed   []ID // entries that the choice rests on, newest first
	Word   string
	Noun   string // of the places
	Of     int    // places there are to choose from
	Places []SpotPlace
}

// SpotPlace is one place to check, in walking order.
type SpotPlace struct {
	Place    record.Position
	Why      string // SpotWorst, SpotChanged, SpotGroup
	Group    string // of SpotGroup; "" where the kind has none
	Expected []SpotSize
	Settings []SpotSetting
	Serials  []SpotSerial
	Entries  []ID
}

// Why a place is on the card.
const (
	SpotWorst   = "worst"   // the least is left there
	SpotChanged = "changed" // something was last changed there
	SpotGroup   = "drawn"   // drawn from a group
)

// SpotSize is what a measurement should find.
type SpotSize struct {
	Reading   string
	Title     string
	Hand      string
	Last      quantity.Quantity
	On        record.Done
	WornSince quantity.Quantity // expected since then; zero of what does not wear
	Expected  quantity.Quantity // Last less (or more) WornSince
	Within    quantity.Quantity // either way: twice the measuring error of two readings and the spread of wear since then, taken together
	Worked    quantity.Quantity // since then, on the counter it wears with
	How       string            // how to measure it, by the schedule
	Entry     ID
}

// SpotSetting is what a setting should stand at.
type SpotSetting struct {
	Setting string
	Title   string
	Value   record.Value
	Since   record.Done
	Assumed bool
	Entry   ID
}

// SpotSerial is a number that should stand on a part.
type SpotSerial struct {
	Part, Hand, Serial string
	Fitted             record.Done
}
