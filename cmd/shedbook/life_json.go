package main

import (
	"math"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/stats"
)

type lifeJSON struct {
	Format  int             `json:"format"`
	On      string          `json:"on"`
	Kind    string          `json:"kind"`
	Machine string          `json:"machine,omitempty"`
	Part    string          `json:"part"`
	Counter string          `json:"counter"`
	Level   float64         `json:"level"`   // of all limits
	Planned bool            `json:"planned"` // without a reason it was changed in good time
	Lives   []livedJSON     `json:"lives"`
	All     lifeFitJSON     `json:"all"`
	Ways    []lifeFitJSON   `json:"ways"`
	By      []lifeFitJSON   `json:"by"`
	Curve   []lifeStepJSON  `json:"curve"`
	Broken  lifeRateJSON    `json:"broken"`
	Gone    lifeRateJSON    `json:"gone"` // worn out or broken, whatever the age
	Places  lifePlacesJSON  `json:"places"`
	Coming  *lifeComingJSON `json:"coming,omitempty"`
	// NotAhead is why coming is absent.
	NotAhead string `json:"not_ahead,omitempty"`
}

type livedJSON struct {
	Part    string      `json:"part"`
	Machine string      `json:"machine"`
	Place   string      `json:"place"`
	Hand    string      `json:"hand,omitempty"`
	Use     amountJSON  `json:"use,omitzero"`
	From    amountJSON  `json:"from,omitzero"` // the use it had when it came into the book
	End     string      `json:"end"`
	Without string      `json:"without,omitempty"` // why its life does not count
	Entries []record.ID `json:"entries"`
}

type lifeFitJSON struct {
	Name    string       `json:"name,omitempty"`
	Parts   int          `json:"parts"`
	Worn    int          `json:"worn"`
	Not     string       `json:"not,omitempty"` // why there is no estimate
	More    int          `json:"more,omitempty"`
	Eta     amountJSON   `json:"eta,omitzero"`
	EtaSE   amountJSON   `json:"eta_se,omitzero"`
	Beta    float64      `json:"beta,omitempty"`
	BetaSE  float64      `json:"beta_se,omitempty"`
	LogLik  float64      `json:"log_likelihood,omitempty"`
	Median  lifeSpanJSON `json:"median,omitzero"`
	B10     lifeSpanJSON `json:"b10,omitzero"`
	Differs float64      `json:"differs,omitempty"` // chance that it and the rest differ so by chance
	Entries []record.ID  `json:"entries"`
}

type lifeSpanJSON struct {
	Value amountJSON `json:"value"`
	Low   amountJSON `json:"low"`
	High  amountJSON `json:"high,omitzero"` // absent: no useful upper limit
}

func (s lifeSpanJSON) IsZero() bool { return s.Value.IsZero() }

type lifeStepJSON struct {
	Use   amountJSON `json:"use"`
	Risk  float64    `json:"at_risk"`
	Worn  float64    `json:"worn"`
	Share float64    `json:"share"`
	SE    float64    `json:"se"`
	Low   float64    `json:"low"`
	High  float64    `json:"high"`
}

type lifeRateJSON struct {
	Count   int         `json:"count"`
	Use     amountJSON  `json:"use"`
	Each    amountJSON  `json:"each"`
	Rate    float64     `json:"rate"`
	Low     float64     `json:"low"`
	High    float64     `json:"high"`
	Entries []record.ID `json:"entries"`
}

type lifePlacesJSON struct {
	Places   int            `json:"places"`
	Replaced int            `json:"replaced"`
	Mean     []lifeMeanJSON `json:"mean"`
	Entries  []record.ID    `json:"entries"`
}

type lifeMeanJSON struct {
	Use      amountJSON `json:"use"`
	Risk     int        `json:"at_risk"`
	Replaced int        `json:"replaced"`
	Mean     float64    `json:"mean"`
}

type lifeComingJSON struct {
	ByRate  bool             `json:"by_rate"` // by how many went so far, for want of a life
	Seasons []lifeSeasonJSON `json:"seasons"`
	Parts   int              `json:"parts"`
	Least   int              `json:"least"`
	Not     int              `json:"not_judged"`
	Count   lifeCountJSON    `json:"count"`
	Harsh   lifeCountJSON    `json:"hard_season"`
	Hands   []lifeOrderJSON  `json:"hands"`
	Entries []record.ID      `json:"entries"`
}

type lifeSeasonJSON struct {
	Machine string     `json:"machine"`
	Season  string     `json:"season,omitempty"`
	Use     amountJSON `json:"use"`
	From    string     `json:"from"`
}

type lifeCountJSON struct {
	Likely int     `json:"likely"`
	Low    int     `json:"low"`
	High   int     `json:"high"`
	Mean   float64 `json:"mean"`
}

type lifeOrderJSON struct {
	Hand    string        `json:"hand,omitempty"`
	Parts   int           `json:"parts"`
	Count   lifeCountJSON `json:"count"`
	Shelf   int           `json:"shelf"`
	Buy     int           `json:"buy"`
	Pack    int           `json:"pack,omitempty"`
	Packs   int           `json:"packs,omitempty"`
	OrderBy string        `json:"order_by,omitempty"`
}

func (c *call) lifeJSON(st *rules.State, l *rules.PartLife) lifeJSON {
	amount := func(x float64) amountJSON { return c.amount(figures(x, l.Ask.Unit, 6)) }
	out := lifeJSON{Format: 1, On: st.On, Kind: l.Ask.Kind, Part: l.Ask.Part, Counter: l.Ask.Counter, Level: rules.LifeLevel, Planned: l.Planned, NotAhead: l.NotAhead,
		Lives: []livedJSON{}, Ways: []lifeFitJSON{}, By: []lifeFitJSON{}, Curve: []lifeStepJSON{}}
	if l.Ask.Machine != nil {
		out.Machine = l.Ask.Machine.Name
	}
	name := func(id record.ID) string {
		if m := st.MachineByID(id); m != nil {
			return m.Name
		}
		return string(id)
	}
	for _, v := range l.Lives {
		j := livedJSON{Part: v.Part.ID, Machine: name(v.Machine), Place: v.Slot, Hand: v.Part.Hand, Use: amount(v.Use), End: v.End, Without: v.Without, Entries: strs(v.Entries)}
		if v.From > 0 {
			j.From = amount(v.From)
		}
		out.Lives = append(out.Lives, j)
	}
	fit := func(f rules.LifeFit) lifeFitJSON {
		j := lifeFitJSON{Name: f.Name, Parts: f.Parts, Worn: f.Worn, Not: f.Not, More: f.More, Differs: sixFigures(f.Differs), Entries: strs(f.Entries)}
		if w := f.Weibull; w != nil {
			span := func(s rules.LifeSpan) lifeSpanJSON {
				x := lifeSpanJSON{Value: amount(s.Value), Low: amount(s.Low)}
				if !s.Open {
					x.High = amount(s.High)
				}
				return x
			}
			j.Eta, j.EtaSE, j.Beta, j.BetaSE, j.LogLik = amount(w.Eta), amount(w.EtaSE), sixFigures(w.Beta), sixFigures(w.BetaSE), sixFigures(w.LogLik)
			j.Median, j.B10 = span(f.Median), span(f.B10)
		}
		return j
	}
	out.All = fit(l.All)
	for _, f := range l.Ways {
		out.Ways = append(out.Ways, fit(f))
	}
	for _, f := range l.By {
		out.By = append(out.By, fit(f))
	}
	for _, s := range l.Curve {
		limits := s.Limits(rules.LifeLevel)
		out.Curve = append(out.Curve, lifeStepJSON{amount(s.Time), s.AtRisk, s.Failed, sixFigures(s.Share), sixFigures(s.SE), sixFigures(limits.Low), sixFigures(limits.High)})
	}
	rate := func(b rules.LifeRate) lifeRateJSON {
		return lifeRateJSON{b.Count, amount(b.Use), amount(b.Each), sixFigures(b.Rate), sixFigures(b.Limits.Low), sixFigures(b.Limits.High), strs(b.Entries)}
	}
	out.Broken, out.Gone = rate(l.Broken), rate(l.Gone)
	out.Places = lifePlacesJSON{l.Places.Places, l.Places.Replaced, lifeMeans(l.Places.Mean, amount), strs(l.Places.Entries)}
	if l.Coming != nil {
		out.Coming = comingJSON(l.Coming, amount)
	}
	return out
}

func lifeMeans(steps []stats.Recurrence, amount func(float64) amountJSON) []lifeMeanJSON {
	out := []lifeMeanJSON{}
	for _, r := range steps {
		out = append(out, lifeMeanJSON{amount(r.Age), r.AtRisk, r.Replacements, sixFigures(r.Mean)})
	}
	return out
}

func comingJSON(k *rules.LifeComing, amount func(float64) amountJSON) *lifeComingJSON {
	count := func(n rules.LifeCount) lifeCountJSON {
		return lifeCountJSON{n.Likely, n.Low, n.High, sixFigures(n.Mean)}
	}
	out := &lifeComingJSON{ByRate: k.ByRate, Seasons: []lifeSeasonJSON{}, Parts: k.Parts, Least: k.Least, Not: k.Not, Count: count(k.Count), Harsh: count(k.Harsh), Hands: []lifeOrderJSON{}, Entries: strs(k.Entries)}
	for _, n := range k.Seasons {
		j := lifeSeasonJSON{Machine: n.Machine.Name, Use: amount(n.Use), From: n.From}
		if n.Season != nil {
			j.Season = n.Season.Name
		}
		out.Seasons = append(out.Seasons, j)
	}
	for _, o := range k.Hands {
		out.Hands = append(out.Hands, lifeOrderJSON{o.Hand, o.Parts, count(o.Count), o.Shelf, o.Buy, o.Pack, o.Packs, o.By})
	}
	return out
}

// sixFigures rounds to six figures, so that a program reads no noise of the last bits.
func sixFigures(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	scale := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}
