package rules

import (
	"math/big"
	"slices"

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
	Places  []LeftPlace       // what sits in the machine now, as Wear.Parts and then Wear.Idle have it; those never measured too
	Never   int               // of Places never measured
	Past    int               // of Places measured past the limit
	Worst   int               // index of the place with the least share left; -1 where none is known
	Middle  float64           // the middle share left of those known
	Now     int               // index of the place that likely has the least left on the state's day, as Least orders them; -1 where none is known
	Mid     float64           // the middle share likely left on the state's day
	Err     error             // why nothing is forecast
	Wear    *Wear             // the forecast it rests on
}

// LeftPlace is one part.
type LeftPlace struct {
	Place    record.Position
	Hand     string
	Part     *Part             // nil: the reading is of no part, or nobody knows what sits there
	Position string            // Place and Hand, as SlotName has it
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
	NowShare float64           // as Share, likely on the state's day, by the forecast; a part never measured has one where it was new and its sisters were measured
	NowKnown bool              // NowShare and NowSize are
	NowSize  quantity.Quantity // the likely size on the state's day
	Forecast bool              // Low, Likely and High are there
	Low      float64           // further use to the limit in the counter's unit, low and high at 80 %; infinite where beyond sight
	Likely   float64
	High     float64
	LikelyOn string // the day it likely passes the limit, the soonest first; "" where not in sight
	Soonest  string
	Why      error     // why there is no forecast here
	Out      *OutOfUse // its place is out of use: it stands as it is, and its part is still one to be bought
	Entries  []ID      // readings of it, in order of effect
}

// LeftOf is what is left of the parts of a machine, a reading at a time, in the order of the schedule.
func LeftOf(st *State, m *Machine) []Left {
	var out []Left
	defs := WearReadings(m)
	if len(defs) == 0 {
		return nil
	}
	j := newJudge(st, m, Filter{}, newHistory(st))
	for _, def := range defs {
		limit, err := limitOf(def)
		if err != nil {
			continue
		}
		w := j.wear(def, 0)
		l := Left{Reading: def, Title: readingTitle(def), Part: def.Part, Limit: limit, Falls: w.Falls, Worst: -1, Err: w.Err, Wear: w}
		if w.Counter != nil {
			l.Counter = w.Counter.Name
		}
		for i := range w.Parts {
			l.place(j, w, &w.Parts[i])
		}
		for i := range w.Idle {
			l.place(j, w, &w.Idle[i])
		}
		l.sum()
		out = append(out, l)
	}
	return out
}

// Worn is what the forecast says of Places[i].
func (l *Left) Worn(i int) *Worn {
	if n := len(l.Wear.Parts); i >= n {
		return &l.Wear.Idle[i-n]
	}
	return &l.Wear.Parts[i]
}

// limitOf is the exact size at which a part is worn out: wearLimit's.
func limitOf(def *schedule.Reading) (quantity.Quantity, error) {
	at, _, err := wearLimit(def)
	if err != nil {
		return quantity.Quantity{}, err
	}
	if l := def.Limit; l.HasShare && def.HasNew {
		share := numberIn(l.Share, quantity.MustUnit("%"))
		return quantity.FromRat(share.Mul(share, new(big.Rat).Quo(numberIn(def.New, def.Unit), big.NewRat(100, 1))), def.Unit, 4)
	}
	for _, q := range []quantity.Quantity{def.Limit.Min, def.Limit.Max} {
		if q != (quantity.Quantity{}) && number(q, def.Unit) == at {
			return inReading(def, q), nil
		}
	}
	return quantity.FromRat(new(big.Rat).SetFloat64(at), def.Unit, 4)
}

// inReading is an amount in the reading's unit.
func inReading(def *schedule.Reading, q quantity.Quantity) quantity.Quantity {
	if x, err := q.Exact(def.Unit); err == nil {
		return x
	}
	if x, err := q.In(def.Unit, 4); err == nil {
		return x
	}
	return q
}

// place adds one part.
func (l *Left) place(j *judge, w *Wear, p *Worn) {
	def := w.Reading
	x := LeftPlace{Place: p.Place, Hand: p.Hand, Position: SlotName(p.Place, p.Hand), Part: p.Part, Why: p.Why, LikelyOn: p.On, Soonest: p.Soonest, Entries: p.Entries, Out: j.m.Out[p.Place.String()]}
	if p.Part != nil {
		x.Serial, x.Assumed = p.Part.Serial, p.Part.Assumed
	}
	x.New, x.NewFrom = newSize(j, def, p)
	if p.Last != nil {
		if q, ok := atRated(def, p.Last).Quantity(); ok {
			x.Size, x.On, x.Person = inReading(def, q), p.Last.Done, p.Last.Person
			x.Past = w.Falls && x.Size.Rat().Cmp(l.Limit.Rat()) < 0 || !w.Falls && x.Size.Rat().Cmp(l.Limit.Rat()) > 0
			x.Since = sinceReading(w, p)
		}
	}
	if x.On != "" && x.NewFrom != "" {
		whole := new(big.Rat).Sub(x.New.Rat(), l.Limit.Rat())
		if whole.Sign() != 0 && (whole.Sign() > 0) == w.Falls {
			left := new(big.Rat).Sub(x.Size.Rat(), l.Limit.Rat())
			x.Share, _ = left.Quo(left, whole).Float64()
			x.Known = true
		}
	}
	if f := p.Forecast; f != nil {
		x.Forecast, x.Low, x.Likely, x.High = true, f.Limits.Low, f.Left, f.Limits.High
		l.today(&x, f)
	}
	l.Places = append(l.Places, x)
}

// newSize is what a part measured when it was new: what the schedule says, else its first reading where that was taken on the day it was fitted.
func newSize(j *judge, def *schedule.Reading, p *Worn) (quantity.Quantity, string) {
	if def.HasNew {
		return inReading(def, def.New), "schedule"
	}
	if p.Part == nil || p.Part.In == "" || p.Part.Segment != 1 {
		return quantity.Quantity{}, ""
	}
	list := j.current(def, p.Place, p.Hand)
	if len(list) == 0 || list[0].Assumed || list[0].Done.Date() != p.Part.In.Date() {
		return quantity.Quantity{}, ""
	}
	q, ok := atRated(def, list[0]).Quantity()
	if !ok {
		return quantity.Quantity{}, ""
	}
	return inReading(def, q), "measured"
}

// sinceReading is what a part worked since it was last measured, by the counter's readings.
func sinceReading(w *Wear, p *Worn) quantity.Quantity {
	counter := w.Counter.Name
	then, now := p.Last.Use[counter], w.Counter.Life
	if p.Part != nil && p.Last.Part == p.Part.ID {
		now = p.Part.Use[counter]
	}
	if then == (quantity.Quantity{}) || now == (quantity.Quantity{}) {
		return quantity.Quantity{}
	}
	return minus(now, then)
}

func (l *Left) sum() {
	var shares []float64
	for i := range l.Places {
		p := &l.Places[i]
		switch {
		case p.On == "":
			l.Never++
		case p.Past:
			l.Past++
		}
		if p.Known {
			shares = append(shares, p.Share)
			if l.Worst < 0 || p.Share < l.Places[l.Worst].Share {
				l.Worst = i
			}
		}
	}
	slices.Sort(shares)
	l.Middle = middleOf(shares)
	l.Now = -1
	var now []float64
	for i := range l.Places {
		p := &l.Places[i]
		share, ok := p.Today()
		if !ok {
			continue
		}
		now = append(now, share)
		if l.Now < 0 || least(p, &l.Places[l.Now]) < 0 {
			l.Now = i
		}
	}
	slices.Sort(now)
	l.Mid = middleOf(now)
}

// middleOf is the middle of sorted numbers; 0 of none.
func middleOf(sorted []float64) float64 {
	n := len(sorted)
	if n == 0 {
		return 0
	}
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
