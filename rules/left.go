package rules

import (
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Left is how much is left of the parts that one reading is the size of, before its limit.
type Left struct {
	Reading *schedule.Reading
	Title   string
	Part    string            // "" where the reading is of no part
	Limit   quantity.Quantity // in the reading's unit; the schedule's, common practice: the operator's manual rules
	Falls   bool              // sizes fall to the limit; else they rise to it
	Counter string            // what it wears with
	Places  []LeftPlace       // what sits in the machine now, in walking order; those never measured too
	Never   int               // of Places never measured
	Past    int               // of Places measured past the limit
	Worst   int               // index of the place with the least share left; -1 where none is known
	Middle  float64           // the middle share left of those known
	Err     error             // why nothing is forecast
	Wear    *Wear             // the forecast it rests on
}

// LeftPlace is one part.
type LeftPlace struct {
	Place    record.Position
	Hand     string
	Part     *Part             // nil: the reading is of no part, or nobody knows what sits there
	Serial   string            // "" where not told
	New      quantity.Quantity // size when new; zero where not known
	NewFrom  string            // "schedule", "measured" when it was fitted, "" where not known
	Size     quantity.Quantity // last measured, at its rated condition; zero: never
	On       record.Done       // when
	Person   ID                // who measured
	Since    quantity.Quantity // use since then on Left.Counter; zero also where not known
	Share    float64           // of the way from new to the limit still to go, 1 new, 0 at the limit, below 0 past it
	Known    bool              // Share is: measured, and new size and limit are known
	Past     bool              // the last reading is past the limit
	Assumed  bool              // the part's age or the reading was taken as given
	Forecast bool              // Low, Likely and High are there
	Low      float64           // further use to the limit in the counter's unit, low and high at 80 %; infinite where beyond sight
	Likely   float64
	High     float64
	LikelyOn string // the day it likely passes the limit, the soonest first; "" where not in sight
	Soonest  string
	Why      error // why there is no forecast here
	Entries  []ID  // readings of it, in order of effect
}
