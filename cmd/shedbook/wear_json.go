package main

import (
	"errors"
	"math"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/stats"
	"shedbook/rules/wear"
)

type wearsJSON struct {
	Format   int        `json:"format"`
	On       string     `json:"on"`
	Machine  string     `json:"machine"`
	Readings []wearJSON `json:"readings"`
}

type wearJSON struct {
	Reading string          `json:"reading"`
	Part    string          `json:"part,omitempty"`
	Counter string          `json:"counter,omitempty"`
	Limit   amountJSON      `json:"limit"`
	Falls   bool            `json:"falls"`
	None    string          `json:"no_forecast,omitempty"` // why there is none: "no-readings", "no-use", "no-wear", "few-parts", "no-limit", "no-counter"
	Ahead   *aheadJSON      `json:"ahead,omitempty"`
	Model   *wearModelJSON  `json:"model,omitempty"`
	Count   *wearCountJSON  `json:"count,omitempty"`
	Orders  []wearOrderJSON `json:"orders"`
	Parts   []wornJSON      `json:"parts"`
	Odd     []wearOddJSON   `json:"left_out"`
}

type aheadJSON struct {
	Season string     `json:"season,omitempty"`
	Use    amountJSON `json:"use"`
	From   string     `json:"from"`
	Ends   string     `json:"ends,omitempty"`
}

type wearModelJSON struct {
	Rate     amountJSON       `json:"rate"` // for a hundred of the counter
	Per      amountJSON       `json:"per"`
	Parts    int              `json:"parts"`
	Readings int              `json:"readings"`
	PartCV   float64          `json:"part_cv"`
	SeasonCV float64          `json:"season_cv"`
	Prior    bool             `json:"season_prior"`
	Told     int              `json:"season_contrasts"`
	Curved   bool             `json:"curved"`
	Sigma    amountJSON       `json:"reading_sd"`
	Groups   []wearGroupJSON  `json:"groups"`
	Seasons  []wearSeasonJSON `json:"seasons"`
}

type wearGroupJSON struct {
	Group string     `json:"group"`
	By    amountJSON `json:"by"`
	SE    amountJSON `json:"se"`
}

type wearSeasonJSON struct {
	Season string     `json:"season"`
	Rate   amountJSON `json:"rate"`
	Use    amountJSON `json:"use"`
}

type wearCountJSON struct {
	Low    int     `json:"low"`
	Likely int     `json:"likely"`
	High   int     `json:"high"`
	Mean   float64 `json:"mean"`
}

type wearOrderJSON struct {
	Hand    string `json:"hand,omitempty"`
	Low     int    `json:"low"`
	Likely  int    `json:"likely"`
	High    int    `json:"high"`
	Shelf   int    `json:"shelf"`
	Buy     int    `json:"buy"`
	OrderBy string `json:"order_by,omitempty"`
}

type wornJSON struct {
	Position string      `json:"position,omitempty"`
	Hand     string      `json:"hand,omitempty"`
	Do       string      `json:"do,omitempty"` // "change now", "watch", "will carry"
	None     string      `json:"no_forecast,omitempty"`
	Size     *amountJSON `json:"size,omitempty"`
	Rate     *amountJSON `json:"rate,omitempty"`
	Use      *amountJSON `json:"use,omitempty"`
	Past     bool        `json:"past"`
	Chance   *float64    `json:"chance,omitempty"` // absent where there is no forecast, the part is judged alone, or nobody knows how far to look
	Left     *amountJSON `json:"left,omitempty"`   // further use to the limit; absent: farther than can be seen
	LeftLow  *amountJSON `json:"left_low,omitempty"`
	LeftHigh *amountJSON `json:"left_high,omitempty"`
	Then     *amountJSON `json:"then,omitempty"` // the size after the use asked about, with limits; absent where the part is judged alone
	ThenLow  *amountJSON `json:"then_low,omitempty"`
	ThenHigh *amountJSON `json:"then_high,omitempty"`
	On       string      `json:"on,omitempty"`
	Soonest  string      `json:"soonest,omitempty"`
	Entries  []record.ID `json:"entries"`
}

type wearOddJSON struct {
	Position string     `json:"position,omitempty"`
	Hand     string     `json:"hand,omitempty"`
	Grew     bool       `json:"grew"`
	Value    valueJSON  `json:"value"`
	Expected amountJSON `json:"expected"`
	Entry    record.ID  `json:"entry"`
}

func (c *call) wearJSON(st *rules.State, m *rules.Machine, found []*rules.Wear) wearsJSON {
	out := wearsJSON{Format: 1, On: st.On, Machine: m.Name, Readings: []wearJSON{}}
	for _, w := range found {
		out.Readings = append(out.Readings, c.oneWearJSON(st, w))
	}
	return out
}

func (c *call) oneWearJSON(st *rules.State, w *rules.Wear) wearJSON {
	j := wearJSON{Reading: w.Reading.Name, Part: w.Reading.Part, Limit: c.amount(w.LimitAmount()), Falls: w.Falls, Orders: []wearOrderJSON{}, Parts: []wornJSON{}, Odd: []wearOddJSON{}, None: wearCode(w.Err)}
	if w.Counter == nil {
		return j
	}
	j.Counter = w.Counter.Name
	j.Ahead = &aheadJSON{w.Ahead.Name, c.amount(w.Use(w.Ahead.Use)), w.Ahead.From, w.Ahead.Ends}
	if x := w.Model; x != nil {
		per := perUnits(w)
		j.Model = &wearModelJSON{Rate: c.amountApart(w.Amount(x.Rate*per, 4)), Per: c.amount(w.Use(per)), Parts: x.Parts, Readings: x.Readings, SeasonCV: rounded(x.SeasonCV), Prior: x.Prior, Told: x.Told, Curved: x.Curved,
			Sigma: c.amountApart(w.Amount(x.Sigma, 4)), Groups: []wearGroupJSON{}, Seasons: []wearSeasonJSON{}}
		if x.Rate > 0 {
			j.Model.PartCV = rounded(x.PartSD / x.Rate)
		}
		for _, g := range x.Groups {
			j.Model.Groups = append(j.Model.Groups, wearGroupJSON{g.Name, c.amountApart(w.Amount(g.By*per, 4)), c.amountApart(w.Amount(g.SE*per, 4))})
		}
		for _, s := range x.Seasons {
			j.Model.Seasons = append(j.Model.Seasons, wearSeasonJSON{s.Name, c.amountApart(w.Amount(s.Rate*per, 4)), c.amount(w.Use(s.Use))})
		}
		if w.Err == nil && !w.Ahead.Blind {
			j.Count = &wearCountJSON{w.All.Low, w.All.Likely, w.All.High, rounded(w.All.Mean)}
		}
	}
	for _, o := range w.Orders(st) {
		j.Orders = append(j.Orders, wearOrderJSON{o.Hand, o.Low, o.Likely, o.High, o.Shelf, o.Buy, o.OrderBy})
	}
	for _, p := range w.Parts {
		j.Parts = append(j.Parts, c.wornJSON(w, p))
	}
	for _, o := range w.Odd {
		v := o.Reading.Found
		if !o.Reading.Left.IsZero() {
			v = o.Reading.Left
		}
		j.Odd = append(j.Odd, wearOddJSON{o.Place.String(), o.Hand, o.Grew, c.value(v), c.amount(w.Amount(o.Expected, 3)), o.Reading.Entry})
	}
	return j
}

func (c *call) wornJSON(w *rules.Wear, p rules.Worn) wornJSON {
	j := wornJSON{Position: p.Place.String(), Hand: p.Hand, Do: p.Do, None: wearCode(p.Why), On: p.On, Soonest: p.Soonest, Entries: strs(p.Entries)}
	f := p.Forecast
	if f == nil {
		return j
	}
	j.Past = f.Past
	if p.Alone == nil && !w.Ahead.Blind {
		j.Chance = new(rounded(f.Chance))
	}
	j.Size, j.Rate, j.Use = c.maybe(w.Amount(f.Size, 4)), new(c.amountApart(w.Amount(f.Rate*perUnits(w), 4))), c.maybe(w.Use(f.Use))
	j.Left, j.LeftLow, j.LeftHigh = c.maybeUse(w, f.Left), c.maybeUse(w, f.Limits.Low), c.maybeUse(w, f.Limits.High)
	if w.Model != nil {
		j.Then, j.ThenLow, j.ThenHigh = c.maybe(w.Amount(f.At, 4)), c.maybe(w.Amount(f.AtLimits.Low, 4)), c.maybe(w.Amount(f.AtLimits.High, 4))
	}
	return j
}

func (c *call) maybe(q quantity.Quantity) *amountJSON {
	a := c.amount(q)
	return &a
}

func (c *call) maybeUse(w *rules.Wear, v float64) *amountJSON {
	if math.IsInf(v, 0) {
		return nil
	}
	return c.maybe(w.Use(v))
}

func rounded(v float64) float64 { return math.Round(v*1e4) / 1e4 }

func wearCode(err error) string {
	for _, k := range []struct {
		err  error
		code string
	}{{wear.ErrNoReadings, "no-readings"}, {wear.ErrNoUse, "no-use"}, {wear.ErrNoWear, "no-wear"}, {rules.ErrFewParts, "few-parts"}, {rules.ErrNoLimit, "no-limit"}, {rules.ErrNoCounter, "no-counter"},
		{stats.ErrTooFew, "few-readings"}, {stats.ErrNoSpread, "one-use"}} {
		if errors.Is(err, k.err) {
			return k.code
		}
	}
	if err != nil {
		return "none"
	}
	return ""
}
