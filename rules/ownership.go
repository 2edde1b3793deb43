package rules

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strconv"

	"shedbook/rules/cost"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Owning is what a person says for the formulas of ownership; what is 0 or nil is taken from the book, where it
// is written there.
type Owning struct {
	Class               cost.Class // with the person's own coefficients where they gave some
	OwnRepair, OwnValue bool       // the coefficients are the person's own
	List, Price         *big.Rat   // list price of a new one of its like now; what was paid
	Made, Bought        int        // years
	Hours               float64    // worked so far
	Keep                float64    // years from the purchase to the sale
	Rate                *float64   // real rate of interest, a fraction of one
	RateWhy             string
	PowerHP             float64 // at the power take-off
	FuelPrice           float64 // for a US gallon of diesel
}

// OwnFigure is one answer of the formulas, or what it lacks.
type OwnFigure struct {
	Name     string // stable: "age", "hours", "worth", ...
	Title    string
	Value    float64
	Unit     string // "years", "h", "h/year", "money", "money/year", "money/h", "gal/h"
	Why      string // the arithmetic
	Source   string // of the coefficients
	Recalled bool   // coefficients that nothing confirmed
	Entries  []ID
	Needs    []string // what is missing: "class", "list-price", "made", "hours", "price", "bought", "interest", "keep"; Value means nothing then
	Wrong    error    // the formula does not take these numbers
}

// owning works figures out one after the other.
type owning struct {
	o     Owning
	m     *Machine
	c     MachineCosts
	out   []OwnFigure
	known map[string]float64
	from  map[string][]ID
}

// Ownership is what owning the machine costs by the published formulas, beside what the book says of repairs in the days asked about. Every figure carries its
// arithmetic; one that lacks something says what. Money is in the prices it was written in: no price is carried from one year to another.
func Ownership(c MachineCosts, o Owning) []OwnFigure {
	w := &owning{o: o, m: c.Machine, c: c, known: map[string]float64{}, from: map[string][]ID{}}
	w.facts()
	w.age()
	w.worth()
	w.repairs()
	w.capital()
	w.fuel()
	return w.out
}

// set takes up a fact that is known.
func (w *owning) set(name string, x float64, from ...ID) {
	w.known[name], w.from[name] = x, from
}

// lacking are those of the names that are not known.
func (w *owning) lacking(list ...string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(n string) bool { _, ok := w.known[n]; return ok })
}

func (w *owning) entries(list ...string) []ID {
	var out []ID
	for _, n := range list {
		out = append(out, w.from[n]...)
	}
	return unique(out)
}

// figure adds one, worked out only where nothing is lacking; its value is then a fact of its name.
func (w *owning) figure(f OwnFigure, needs []string, work func(f *OwnFigure) error) {
	if f.Needs = w.lacking(needs...); len(f.Needs) == 0 {
		f.Entries = w.entries(needs...)
		if f.Wrong = work(&f); f.Wrong == nil {
			w.set(f.Name, f.Value, f.Entries...)
		}
	}
	w.out = append(w.out, f)
}

func float(r *big.Rat) float64 { x, _ := r.Float64(); return x }

// facts takes up what was said, else what is written.
func (w *owning) facts() {
	o := w.o
	year := w.c.Total.To[:4]
	if now, err := strconv.Atoi(year); err == nil {
		w.set("now", float64(now))
	}
	if o.Class.Name != "" {
		w.set("class", 1)
	}
	take := func(name string, said *big.Rat, written *Expense) {
		switch {
		case said != nil:
			w.set(name, float(said))
		case written != nil:
			w.set(name, float(written.Amount), written.Entries...)
		}
	}
	take("list-price", o.List, w.c.List)
	take("price", o.Price, w.c.Price)
	switch {
	case o.Made != 0:
		w.set("made", float64(o.Made))
	case w.m.Year != 0:
		w.set("made", float64(w.m.Year), w.m.ID)
	}
	switch {
	case o.Bought != 0:
		w.set("bought", float64(o.Bought))
	case w.c.Price != nil:
		if y, err := strconv.Atoi(w.c.Price.Done.Date()[:4]); err == nil {
			w.set("bought", float64(y), w.c.Price.Entries...)
		}
	}
	if o.Rate != nil {
		w.set("interest", *o.Rate)
	}
}

// age is how old the machine is and how much it has worked.
func (w *owning) age() {
	w.figure(OwnFigure{Name: "age", Title: "age", Unit: "years"}, []string{"made", "now"}, func(f *OwnFigure) error {
		f.Value = w.known["now"] - w.known["made"]
		f.Why = fmt.Sprintf("%.0f less %.0f, the year of make", w.known["now"], w.known["made"])
		if f.Value < 0 {
			return fmt.Errorf("%s: the year of make lies after the day asked about", w.m.Name)
		}
		return nil
	})
	hours := OwnFigure{Name: "hours", Title: "hours worked", Unit: "h"}
	if w.o.Hours > 0 {
		w.figure(hours, nil, func(f *OwnFigure) error { f.Value, f.Why = w.o.Hours, "as you said"; return nil })
	} else if c, q := w.clock(); c != nil {
		w.figure(hours, nil, func(f *OwnFigure) error {
			f.Value, f.Why, f.Entries = q, "counter "+c.Name+worked(c), few(c.Reason.Entries)
			return nil
		})
	} else {
		w.out = append(w.out, OwnFigure{Name: "hours", Title: hours.Title, Unit: "h", Needs: []string{"hours"}})
	}
	w.figure(OwnFigure{Name: "hours-a-year", Title: "hours a year", Unit: "h/year"}, []string{"hours", "age"}, func(f *OwnFigure) error {
		years := max(1, w.known["age"])
		f.Value, f.Why = w.known["hours"]/years, fmt.Sprintf("%.4g h / %.4g years", w.known["hours"], years)
		return nil
	})
}

func worked(c *Counter) string {
	if c.Derived {
		return ", worked out from another"
	}
	return ", as last read by then"
}

// clock is the machine's lasting counter of hours, and what it had been read at by the end of the days asked about.
func (w *owning) clock() (*Counter, float64) {
	if w.m.Fitted == nil {
		return nil, 0
	}
	for _, def := range w.m.Fitted.Counters {
		c := w.m.Counters[def.Name]
		if c == nil || !c.Known || c.Trip || def.Unit.Dimension() != quantity.Time {
			continue
		}
		if q, ok := c.recorded(record.Done(w.c.Total.To)); ok {
			if h, err := q.In(anHour, 4); err == nil {
				return c, h.Float64()
			}
		}
	}
	return nil, 0
}

// worth is what the machine is worth at the end of the days asked about.
func (w *owning) worth() {
	v := w.o.Class.Value
	w.figure(OwnFigure{Name: "worth", Title: "worth now", Unit: "money", Source: v.Source, Recalled: !v.Checked && !w.o.OwnValue}, []string{"class", "list-price", "age", "hours-a-year"}, func(f *OwnFigure) error {
		share, err := cost.RemainingValue(v, w.known["age"], w.known["hours-a-year"])
		f.Value, f.Why = share*w.known["list-price"], w.shareWhy(share, w.known["age"])
		return err
	})
}

func (w *owning) shareWhy(share, age float64) string {
	v := w.o.Class.Value
	text := fmt.Sprintf("%.2f %% of the list price %.2f: (%g - %g x sqrt(%.4g years) - %g x sqrt(%.4g h a year))^2", 100*share, w.known["list-price"], v.C1, v.C2, age, v.C3, w.known["hours-a-year"])
	if age < cost.TableFrom || age > cost.TableTo {
		text += fmt.Sprintf("; the published table runs from %d year to %d only", cost.TableFrom, cost.TableTo)
	}
	return text
}

// repairs is what repairs come to by the formula: from new up to now, and over the hours of the days asked about, beside the book's.
func (w *owning) repairs() {
	r := w.o.Class.Repair
	marked := OwnFigure{Unit: "money", Source: r.Source, Recalled: !r.Checked && !w.o.OwnRepair}
	total := marked
	total.Name, total.Title = "repairs-from-new", "repairs from new, by the formula"
	w.figure(total, []string{"class", "list-price", "hours"}, func(f *OwnFigure) (err error) {
		f.Value, err = cost.AccumulatedRepair(r, w.known["list-price"], w.known["hours"])
		f.Why = fmt.Sprintf("list price %.2f x %g x (%.4g h / 1000)^%g", w.known["list-price"], r.RF1, w.known["hours"], r.RF2)
		if w.known["hours"] > w.o.Class.Life && w.o.Class.Life > 0 {
			f.Why += fmt.Sprintf("; %g h is as far as the formula was made for", w.o.Class.Life)
		}
		return err
	})
	spent := new(big.Rat)
	for _, k := range []string{CostParts, CostLabour, CostOutside, CostOther} {
		spent.Add(spent, w.c.Total.Of(k))
	}
	w.figure(OwnFigure{Name: "repairs-in-book", Title: "repairs in the book", Unit: "money"}, nil, func(f *OwnFigure) error {
		f.Value, f.Why = float(spent), "parts, labour, outside and other in the days asked about; oil, grease and fuel are not in the formula either"
		return nil
	})
	worked, ok := w.worked(quantity.Time)
	during := marked
	during.Name, during.Title = "repairs-by-formula", "the formula for the same hours"
	if !ok {
		return
	}
	w.figure(during, []string{"class", "list-price", "hours"}, func(f *OwnFigure) error {
		before := max(0, w.known["hours"]-worked)
		a, err := cost.AccumulatedRepair(r, w.known["list-price"], before)
		b, err2 := cost.AccumulatedRepair(r, w.known["list-price"], w.known["hours"])
		f.Value, f.Why = b-a, fmt.Sprintf("from %.4g h to %.4g h: %.2f less %.2f", before, w.known["hours"], b, a)
		return errors.Join(err, err2)
	})
}

// worked is what the machine worked in the days asked about, in hours or in the unit of its area.
func (w *owning) worked(d quantity.Dimension) (float64, bool) {
	for _, u := range w.c.Total.Use {
		if u.Use.Dimension() != d || u.Use.Sign() <= 0 {
			continue
		}
		if d != quantity.Time {
			return u.Use.Float64(), true
		}
		h, err := u.Use.In(anHour, 4)
		return h.Float64(), err == nil
	}
	return 0, false
}

// capital is what the money in the machine costs a year and an hour.
func (w *owning) capital() {
	if w.o.Keep > 0 {
		w.set("keep", w.o.Keep)
	} else if years := w.known["now"] - w.known["bought"]; len(w.lacking("bought")) == 0 && years >= 1 {
		w.set("keep", years)
	}
	v := w.o.Class.Value
	sale, sold := w.sale()
	f := OwnFigure{Name: "capital-a-year", Title: "capital, a year", Unit: "money/year", Source: v.Source, Recalled: !v.Checked && !w.o.OwnValue}
	needs := []string{"price", "bought", "interest", "keep", "class", "list-price", "made", "hours-a-year"}
	if sold {
		f.Source, f.Recalled, needs = "", false, needs[:4]
	}
	w.figure(f, needs, func(f *OwnFigure) (err error) {
		keep, salvage, how := w.known["keep"], 0.0, ""
		if sold {
			salvage, how, f.Entries = float(sale.Amount), "sold for", unique(append(f.Entries, sale.Entries...))
		} else {
			age := w.known["bought"] - w.known["made"] + keep
			share, err := cost.RemainingValue(v, age, w.known["hours-a-year"])
			if err != nil {
				return err
			}
			salvage, how = share*w.known["list-price"], "worth then "+w.shareWhy(share, age)+":"
		}
		factor, err := cost.RecoveryFactor(w.known["interest"], keep)
		if err != nil {
			return err
		}
		f.Value, err = cost.CapitalRecovery(w.known["price"], salvage, w.known["interest"], keep)
		f.Why = fmt.Sprintf("(bought for %.2f less %.2f) x %.5f + %.2f x %.4g; %.4g years at %s; %s %.2f", w.known["price"], salvage, factor, salvage, w.known["interest"], keep, w.o.RateWhy, how, salvage)
		return err
	})
	w.figure(OwnFigure{Name: "capital-an-hour", Title: "capital, an hour", Unit: "money/h", Source: f.Source, Recalled: f.Recalled}, []string{"capital-a-year", "hours-a-year"}, func(f *OwnFigure) error {
		if w.known["hours-a-year"] <= 0 {
			return fmt.Errorf("%s: it has worked no hours", w.m.Name)
		}
		f.Value = w.known["capital-a-year"] / w.known["hours-a-year"]
		f.Why = fmt.Sprintf("%.2f / %.4g h a year", w.known["capital-a-year"], w.known["hours-a-year"])
		return nil
	})
}

// sale is what the machine was sold for, where no other end is asked about.
func (w *owning) sale() (Expense, bool) {
	for _, x := range w.c.Capital {
		if x.Kind == CostSale && w.o.Keep == 0 {
			return x, true
		}
	}
	return Expense{}, false
}

// fuel is what a tractor burns, where its power is said.
func (w *owning) fuel() {
	if w.o.PowerHP <= 0 {
		return
	}
	w.figure(OwnFigure{Name: "fuel-an-hour", Title: "fuel, an hour", Unit: "gal/h", Source: fuelSource}, nil, func(f *OwnFigure) (err error) {
		f.Value, err = cost.FuelPerHour(w.o.PowerHP, cost.DieselPerHP)
		f.Why = fmt.Sprintf("%.4g hp x %g US gallons of diesel for each hp and hour", w.o.PowerHP, cost.DieselPerHP)
		return err
	})
	if w.o.FuelPrice <= 0 {
		return
	}
	w.figure(OwnFigure{Name: "fuel-cost", Title: "fuel, an hour", Unit: "money/h", Source: fuelSource}, []string{"fuel-an-hour"}, func(f *OwnFigure) error {
		f.Value, f.Why = w.known["fuel-an-hour"]*w.o.FuelPrice, fmt.Sprintf("%.4g US gallons x %.4g", w.known["fuel-an-hour"], w.o.FuelPrice)
		return nil
	})
	w.figure(OwnFigure{Name: "lubrication", Title: "oil and grease, an hour", Unit: "money/h", Source: fuelSource}, []string{"fuel-cost"}, func(f *OwnFigure) (err error) {
		f.Value, err = cost.Lubrication(w.known["fuel-cost"])
		f.Why = fmt.Sprintf("%g %% of %.4g", 100*cost.LubricationShare, w.known["fuel-cost"])
		return err
	})
}

const fuelSource = "Iowa State University Extension, Estimating Farm Machinery Costs (PM 710)"

// ClassOf is the class of the formulas that a machine's kind belongs to; of a tractor its power at the power take-off, in hp, decides.
func ClassOf(kind string, powerHP float64) (cost.Class, bool) {
	name := kind
	switch {
	case kind == "disc-drill" || kind == "hoe-drill":
		name = "grain-drill"
	case kind == "disc-mower":
		name = "mower"
	case kind == "planter":
		name = "row-planter"
	case kind == "tractor" && powerHP >= 150:
		name = "tractor-150hp"
	case kind == "tractor" && powerHP >= 80:
		name = "tractor-80hp"
	case kind == "tractor" && powerHP > 0:
		name = "tractor-30hp"
	}
	return cost.Find(name)
}
