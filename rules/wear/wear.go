// Package wear forecasts how like parts wear: from sizes measured on each of them at known use, to the chance that each will pass its limit before so much more
// use, and how many will. Numbers only: it knows no machine, entry, unit or date.
//
// The model. What a part has lost when it has worked x is
//
//	loss = (b + groups) x + u(part) x + c(part) + sum over seasons of v(season) x(season) + error
//
// b is the common rate; groups (rear rank, wheel track) differ from it by fixed amounts; each part has its own rate u and its own start c (no two new discs are
// quite alike, and a hub moves the zero); and each season has ground of its own, v, which all parts share. It is fitted by restricted maximum likelihood
// (rules/stats). That last term matters most: forty-eight discs go through next spring's ground together, so they are all right or all wrong together, and limits
// that leave it out are far too narrow.
//
// What holds:
//
//   - The spread of seasons is estimated where four or more can be told apart; with fewer, it is joined with a stated prior (PriorCV, PriorWeight), the result
//     says so, and limits are wider.
//   - Readings that cannot be (a disc that grew, one far off its neighbours) are left out and named.
//   - Where the data cannot give a rate, Fit says why in an error; no number is made up.
//   - Deterministic: same data, same result, to the bit.
package wear

import "errors"

// What is taken for the spread of ground between seasons where few seasons were measured: a standard deviation of a quarter of the rate, as if seen in
// PriorWeight seasons. Common practice, no source; wear ratios between soils of 1.5 to 6.4 have been published (coulters, J. agric. Engng Res. 35, 1986).
const (
	PriorCV     = 0.25
	PriorWeight = 4.0
	// EnoughSeasons can be told apart (as contrasts) before the prior is left out.
	EnoughSeasons = 3
)

// Errors of data that cannot give a forecast.
var (
	ErrNoReadings = errors.New("no part has readings at two different uses, and none was new within the record")
	ErrNoWear     = errors.New("the parts have not lost enough to tell a rate")
	ErrNoUse      = errors.New("the use at the readings is not known")
)

// Part is one part, in one stretch of its life (since it was new, or last turned, sharpened or rebuilt).
type Part struct {
	// Start is its size at no use; HasStart false where nobody knows it: then its first reading is taken for it and use counts from there.
	Start    float64
	HasStart bool
	Readings []Reading // in order of use
	// Use is its use now, by season, and Groups the same by group: at or beyond the last reading.
	Use, Groups []float64
	// Here is the group membership now: 1 where it stands in the group.
	Here []float64
	// Gone marks a part that works no more: its readings tell of wear, nothing is forecast for it.
	Gone bool
}

// Reading is a size at a use.
type Reading struct {
	Day    string    // only compared: readings of one part on one day tell the measuring error
	Size   float64   //
	Use    []float64 // by season, all use so far: the sum is the use at the reading
	Groups []float64 // all use so far in each group
}

// Data is what is known of like parts.
type Data struct {
	Seasons []string // names, in order of time
	Groups  []string // names of groups whose rate may differ
	Parts   []Part
	Falls   bool    // sizes get smaller with wear
	Limit   float64 // the size at which a part is worn out
	Step    float64 // sizes are rounded to this; 0: found from the readings
}

// Oddity is a reading left out of the sums.
type Oddity struct {
	Part, Reading int
	Grew          bool    // larger than the reading before by more than measuring can explain; else far from the others
	Expected      float64 // the size others of the day or the reading before would have it
}

// Model is a fitted Data.
type Model struct {
	Parts    int // that gave readings
	Readings int // used
	Odd      []Oddity
	Rate     float64 // common loss for one unit of use, over the seasons seen; where wear is curved, at the parts' mean use by their last readings
	RateSE   float64 // with the spread of seasons
	Groups   []GroupRate
	PartSD   float64 // of one part's rate
	StartSD  float64 // of one part's start
	SeasonSD float64 // of one season's rate, as used
	SeasonCV float64 // the same as a share of the rate
	Seasons  []SeasonRate
	// Told is how many contrasts between seasons the readings tell; Prior says that they were too few and the prior was joined.
	Told  int
	Prior bool
	DF    float64 // degrees of freedom of SeasonSD
	Sigma float64 // of one reading
	// Repeat is the measuring error as repeated readings of one day tell it, from so many of them.
	Repeat  float64
	Repeats int
	Curve   float64 // t of a term in the square of use; beyond 3 either way wear is no straight line
	Curved  bool    // and the term was kept
	Step    float64 // rounding of readings

	odd     map[[2]int]bool // part and reading of Odd
	fit     fitted
	data    Data
	rows    []int     // part -> group number in the fit, -1 none
	starts  []start   // part -> where its loss is counted from
	current []float64 // see common
}

// GroupRate is how much faster a group wears than the rest.
type GroupRate struct {
	Name  string
	By    float64 // added to Rate
	SE    float64
	Parts int
}

// SeasonRate is the rate of one season.
type SeasonRate struct {
	Name string
	Rate float64
	Use  float64 // the mean use of a part in it
}
