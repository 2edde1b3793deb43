package rules

import (
	"math"
	"math/big"

	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// PartOrder is what a forecast makes one order of a part.
type PartOrder struct {
	Hand              string
	Low, Likely, High int // 80 % between Low and High
	Shelf             int
	Buy, Packs, Pack  int    // to have the likely number
	OrderBy           string // "" where the schedule does not say how long it takes, or the season has no day
}

// Orders is what to order of the part that a forecast is about, hand by hand; nothing where nobody knows how far to look.
func (w *Wear) Orders(s *State) []PartOrder {
	def, ok := w.Machine.Fitted.Part(w.Reading.Part)
	if !ok || w.Model == nil || w.Err != nil || w.Ahead.Blind {
		return nil
	}
	var out []PartOrder
	add := func(hand string, low, likely, high int) {
		o := PartOrder{Hand: hand, Low: low, Likely: likely, High: high, Shelf: onShelves(s, w.Machine.Kind, def.Name, hand), Pack: def.Pack}
		o.Buy = max(0, likely-o.Shelf)
		if def.Pack > 1 {
			o.Packs = (o.Buy + def.Pack - 1) / def.Pack
		}
		if lead := leadDays(def.Lead); lead > 0 && w.Ahead.starts != "" && o.Buy > 0 && !w.Ahead.Open {
			o.OrderBy = dateOf(calendarDay(w.Ahead.starts).AddDate(0, 0, -lead))
		}
		out = append(out, o)
	}
	if len(w.Hands) == 0 {
		add("", w.All.Low, w.All.Likely, w.All.High)
		return out
	}
	place, _, _ := w.Machine.Fitted.Noun(w.Reading.Of)
	for _, hand := range place.Hands {
		if c, ok := w.Hands[hand]; ok {
			add(hand, c.Low, c.Likely, c.High)
		}
	}
	return out
}

func onShelves(s *State, kind, part, hand string) int {
	n := 0
	for _, h := range s.Shelves {
		for _, l := range h.Stock {
			if l.Schedule == kind && l.Part == part && l.Hand == hand {
				n += l.Count
			}
		}
	}
	return n
}

// Thrown is the mean size left to the limit on the parts to change that are not past it, and what stopping to change one in the season takes: the minutes of the
// job that swaps it. ok is false where no such part is to be changed.
func (w *Wear) Thrown() (left float64, parts int, ok bool) {
	for _, p := range w.Parts {
		if p.Forecast != nil && p.Do == ChangeNow && !p.Forecast.Past {
			rest := p.Forecast.Size - w.Limit
			if !w.Falls {
				rest = -rest
			}
			left += max(0, rest)
			parts++
		}
	}
	if parts == 0 {
		return 0, 0, false
	}
	return left / float64(parts), parts, true
}

// SwapJob is the job that replaces the part, nil where the schedule has none.
func (w *Wear) SwapJob() *schedule.Job {
	for i := range w.Machine.Fitted.Jobs {
		if job := &w.Machine.Fitted.Jobs[i]; w.Reading.Part != "" && job.Swaps == w.Reading.Part {
			return job
		}
	}
	return nil
}

// Amount is a size or a distance of sizes in the reading's unit, to so many decimals or, where those leave fewer, to three figures; nothing finer than a millionth.
func (w *Wear) Amount(v float64, decimals int) quantity.Quantity {
	const figures, most = 3, 6
	if size := math.Abs(v); size > 0 && size < 1 {
		decimals = max(decimals, min(most, figures-1-int(math.Floor(math.Log10(size)))))
	}
	return floatAmount(v, w.Unit, decimals)
}

// LimitAmount is the limit to the digits of the schedule, or worked out from its share of the size when new.
func (w *Wear) LimitAmount() quantity.Quantity {
	if l := w.Reading.Limit; l != nil && !l.HasShare {
		for _, q := range []quantity.Quantity{l.Min, l.Max} {
			if in, err := q.Exact(w.Unit); err == nil && number(q, w.Unit) == w.Limit {
				return in
			}
		}
	}
	return w.Amount(w.Limit, 4)
}

// Use is an amount of the counter.
func (w *Wear) Use(v float64) quantity.Quantity { return floatAmount(v, w.Counter.Unit, 0) }

// Settled is the count as it would be known after measuring again.
type Settled struct {
	After     float64
	Low, High int
}

// Settles is what measuring again halfway to the horizon would settle; ok is false where it would settle nothing.
func (w *Wear) Settles() (Settled, bool) {
	if w.Model == nil || w.Err != nil || w.All.High-w.All.Low < 2 || w.Ahead.reach <= 0 {
		return Settled{}, false
	}
	var parts []int
	for i, p := range w.Parts {
		if p.Forecast != nil {
			parts = append(parts, w.current[i])
		}
	}
	more := math.Round(w.Ahead.reach / 2)
	if more <= 0 {
		return Settled{}, false
	}
	n, err := w.Model.Remeasured(parts, w.Ahead.ahead, more, w.Ahead.reach)
	if err != nil || n.High-n.Low >= w.All.High-w.All.Low {
		return Settled{}, false
	}
	return Settled{After: more, Low: n.Low, High: n.High}, true
}

// floatAmount is a float of a counter or reading as a quantity, to so many decimals; for showing only.
func floatAmount(v float64, u quantity.Unit, decimals int) quantity.Quantity {
	r := new(big.Rat)
	if math.IsNaN(v) || math.IsInf(v, 0) || r.SetFloat64(v) == nil {
		return quantity.Quantity{}
	}
	q, err := quantity.FromRat(r, u, decimals)
	if err != nil {
		return quantity.Quantity{}
	}
	return q
}
