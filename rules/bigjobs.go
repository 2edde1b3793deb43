package rules

import (
	"math/big"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// BigJob is a large or dear piece of work: a new set of parts, an overhaul, a repair by a shop. What one person would call one job is one: parts of a kind put in
// within a few days of one another at many places are one set.
type BigJob struct {
	Done, To  record.Done // the first and the last day of it
	Kind      string      // "swap", "did", "repair"
	Name      string      // the part or the job, by its name in the schedule; of a repair the part, "" where none is named
	Title     string      // in words
	Positions record.Positions
	Parts     int               // put in
	Whole     bool              // at every place there is
	Why       []string          // what makes it one: BigSet, BigJobDone, BigShop, BigCost, BigTime
	Costs     []Money           // as written, a currency at a time; none: not written, or held back
	Who       []string          // shops named, "" never among them
	Invoices  []string          // what the money was for, in the person's words
	Minutes   int               // of the farm's own work, as written
	Warranty  string            // YYYY-MM-DD, the latest of it
	Counter   string            // the main one
	At        quantity.Quantity // its use by then; zero where not known
	Cause     string            // of a repair
	Text      string            // the words written with its first entry that has any
	Papers    int               // photos and documents kept with it
	Latest    bool              // the last of its kind and name
	Told      bool              // an entry of it has a private part that can be read: without one, costs and shops may be held back
	Entries   []ID              // in order of effect
}

// Money is an amount in a currency; "" where none was written.
type Money struct {
	Amount   *big.Rat
	Currency string
}

// Why work is listed as big.
const (
	BigSet     = "set"  // parts at many places at once
	BigJobDone = "job"  // a job that the schedule reckons long, or that includes others
	BigShop    = "shop" // done by a shop
	BigCost    = "cost" // among the dearest of the machine
	BigTime    = "time" // hours of work as written, or of time lost
)
