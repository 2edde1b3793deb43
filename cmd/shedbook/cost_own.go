package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/cost"
	"shedbook/rules/quantity"
)

// owning reads what is said for the formulas.
func (a *costing) owning(m rules.MachineCosts) (rules.Owning, error) {
	o := rules.Owning{Made: a.made, Bought: a.bought}
	var err error
	if a.fs.Changed("list-price") {
		if o.List, err = priceOf("list-price", a.list, "52000"); err != nil {
			return o, err
		}
	}
	if a.fs.Changed("bought-for") {
		if o.Price, err = priceOf("bought-for", a.price, "41500"); err != nil {
			return o, err
		}
	}
	for _, y := range []struct {
		flag string
		year int
	}{{"made", a.made}, {"bought", a.bought}} {
		if a.fs.Changed(y.flag) && (y.year < 1850 || y.year > 2200) {
			return o, usage("write --"+y.flag+" 2014", "--%s %d is no year", y.flag, y.year)
		}
	}
	for _, n := range []struct {
		flag, said string
		at         *float64
		most       float64
	}{{"hours", a.hours, &o.Hours, 1e6}, {"keep", a.keep, &o.Keep, cost.MostYears}} {
		if a.fs.Changed(n.flag) {
			unit := map[string]string{"hours": "h", "keep": "years"}[n.flag]
			if *n.at, err = plainNumber(strings.TrimSpace(strings.TrimSuffix(n.said, unit))); err != nil || *n.at <= 0 || *n.at > n.most {
				return o, usage("write --"+n.flag+" 10", "--%s %q is no number of %s", n.flag, n.said, unit)
			}
		}
	}
	if err := a.rate(&o); err != nil {
		return o, err
	}
	if err := a.tractor(&o); err != nil {
		return o, err
	}
	return o, a.classFor(&o, m.Machine)
}

// rate is interest less inflation.
func (a *costing) rate(o *rules.Owning) error {
	if !a.fs.Changed("interest") {
		if a.fs.Changed("inflation") {
			return usage("add --interest 8", "--inflation is taken off the interest, and no interest is said")
		}
		return nil
	}
	var percent [2]float64
	for i, said := range []string{a.interest, a.inflation} {
		if said = strings.TrimSpace(strings.TrimSuffix(said, "%")); said == "" && i == 1 {
			continue
		}
		x, err := plainNumber(said)
		if err != nil {
			return usage("write --interest 8 --inflation 3", "%q is no rate in percent", said)
		}
		percent[i] = x
	}
	real, err := cost.RealRate(percent[0]/100, percent[1]/100)
	if err != nil {
		return usage("write --interest 8 --inflation 3", "%v", err)
	}
	o.Rate, o.RateWhy = &real, fmt.Sprintf("%g %% interest", percent[0])
	if a.inflation != "" {
		o.RateWhy += fmt.Sprintf(" less %g %% inflation", percent[1])
	}
	return nil
}

// tractor reads power and the price of fuel.
func (a *costing) tractor(o *rules.Owning) error {
	if a.fs.Changed("power") {
		hp := quantity.MustUnit("hp")
		q, err := quantity.ParseIn(a.power, hp)
		if err == nil {
			q, err = q.In(hp, 4)
		}
		if err != nil || q.Sign() <= 0 {
			return usage("write --power 180hp or --power 134kW", "--power %q is no power", a.power)
		}
		o.PowerHP = q.Float64()
	}
	if !a.fs.Changed("fuel-price") {
		return nil
	}
	if !a.fs.Changed("power") {
		return usage("add --power 180hp", "--fuel-price wants the tractor's power: fuel is reckoned from it")
	}
	number, per, _ := strings.Cut(a.fuel, "/")
	price, err := plainNumber(strings.TrimSpace(number))
	q, unitErr := quantity.Parse("1 " + strings.TrimSpace(per))
	if unitErr == nil {
		q, unitErr = q.In(quantity.MustUnit("gal"), 9)
	}
	if err != nil || unitErr != nil || price <= 0 || price > 1e6 || q.Sign() <= 0 {
		return usage("write --fuel-price 1.05/L or --fuel-price 3.90/gal", "--fuel-price %q is no price of a litre or gallon", a.fuel)
	}
	o.FuelPrice = price / q.Float64()
	return nil
}

// classFor finds the class and puts a person's own coefficients in.
func (a *costing) classFor(o *rules.Owning, m *rules.Machine) error {
	class, ok := rules.ClassOf(m.Kind, o.PowerHP)
	if a.fs.Changed("class") {
		if class, ok = cost.Find(strings.ToLower(a.class)); !ok {
			var names []string
			for _, c := range cost.Classes() {
				names = append(names, c.Name)
			}
			return failed("unknown-class", "shedbook cost --classes", "the formulas have no class %q%s", a.class, didYouMean(a.class, names))
		}
	}
	repair, err := factors("repair-factors", a.repairFactors, a.fs.Changed("repair-factors"), "0.32,2.1")
	if err != nil {
		return err
	}
	value, err := factors("value-factors", a.valueFactors, a.fs.Changed("value-factors"), "0.88,0.08,0")
	if err != nil {
		return err
	}
	if repair != nil {
		class.Repair, o.OwnRepair = cost.Repair{RF1: repair[0], RF2: repair[1], Source: "your own factors"}, true
	}
	if value != nil {
		class.Value, o.OwnValue = cost.Value{C1: value[0], C2: value[1], C3: value[2], Source: "your own factors"}, true
	}
	if !ok && repair != nil && value != nil {
		class.Name, class.Title, ok = "own", "a class of your own", true
	}
	if ok {
		o.Class = class
	}
	return nil
}

// factors reads as many numbers as the example has.
func factors(flag, text string, given bool, example string) ([]float64, error) {
	if !given {
		return nil, nil
	}
	var out []float64
	for _, s := range strings.Split(text, ",") {
		x, err := plainNumber(strings.TrimSpace(s))
		if err != nil || x < 0 {
			return nil, usage("write --"+flag+" "+example, "--%s: %q is no number", flag, s)
		}
		out = append(out, x)
	}
	if want := strings.Count(example, ",") + 1; len(out) != want {
		return nil, usage("write --"+flag+" "+example, "--%s takes %d numbers, not %d", flag, want, len(out))
	}
	return out, nil
}

// plainNumber is a decimal number: no exponents, no NaN.
func plainNumber(s string) (float64, error) {
	q, err := quantity.Parse(s)
	if err != nil || q.Unit() != (quantity.Unit{}) {
		return 0, fmt.Errorf("%q is no number", s)
	}
	return q.Float64(), nil
}

// lacks are how to say what the formulas lack.
var lacks = []struct{ need, say string }{
	{"class", "--class CLASS (shedbook cost --classes)"},
	{"list-price", "--list-price AMOUNT, of a new one of its like"},
	{"made", "--made YEAR"},
	{"hours", "--hours HOURS"},
	{"price", "--bought-for AMOUNT"},
	{"bought", "--bought YEAR"},
	{"interest", "--interest PERCENT"},
	{"keep", "--keep YEARS, from its purchase to its sale"},
}

// lacking is what would answer the figures that cannot be told.
func lacking(own []rules.OwnFigure) []string {
	var out []string
	for _, l := range lacks {
		if slices.ContainsFunc(own, func(f rules.OwnFigure) bool { return slices.Contains(f.Needs, l.need) }) {
			out = append(out, l.say)
		}
	}
	return out
}

func (c *call) printOwning(x costed, why bool) {
	line := c.lines()
	title := "owning it, by published formulas"
	if x.owning.Class.Name != "" {
		title += ": " + x.owning.Class.Title
	}
	t := table.New("", "", "")
	t.Right(1)
	recalled := false
	for _, f := range x.own {
		switch {
		case f.Wrong != nil:
			t.Row(f.Title, "", f.Wrong.Error())
			continue
		case len(f.Needs) > 0:
			continue
		}
		t.Row(f.Title, figureText(f), iff(f.Recalled, cost.Recalled))
		recalled = recalled || f.Recalled
		if why {
			t.Under(f.Why + bracketed(shortIDs(f.Entries, 3)))
			t.Under(f.Source)
		}
	}
	c.printf("\n%s\n%s", table.Wrap(c.paint(bold, title), c.columns(), "  "), t.Text(c.columns()))
	line("", "Averages over many farms, not this machine.")
	if more := lacking(x.own); len(more) > 0 {
		line("", "to know more, add %s", strings.Join(more, "; "))
		if m := x.machines[0]; !pricesWritten(x.st, m.Machine) {
			line("", "prices can be written once: shedbook correct %s --cost price=41500 --cost \"list price=52000\"", m.Machine.ID.Short())
		}
	}
	if recalled {
		line("", "Recalled, unverified: the coefficients are those of ASABE D497 from memory; the standard was not at hand.")
	}
}

// pricesWritten reports any amount written with the machine itself, in whatever currency: a correction would take its place.
func pricesWritten(st *rules.State, m *rules.Machine) bool {
	return slices.ContainsFunc(st.Effective, func(e *rules.Effective) bool {
		return e.Entry.ID == m.ID && e.Private != nil && len(e.Private.Costs) > 0
	})
}

// figureText is a figure as shown: money with two decimals, the rest with as many as tell something.
func figureText(f rules.OwnFigure) string {
	unit := strings.TrimPrefix(strings.TrimPrefix(f.Unit, "money"), "/")
	if strings.HasPrefix(f.Unit, "money") {
		return strconv.FormatFloat(f.Value, 'f', 2, 64)
	}
	return strings.TrimSpace(strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(f.Value, 'f', 2, 64), "0"), ".") + " " + unit)
}

func (c *call) printClasses() {
	t := table.New("class", "RF1 RF2", "C1 C2 C3", "")
	t.Keep(0, 1, 2)
	numbers := func(list ...float64) string {
		var out []string
		for _, x := range list {
			out = append(out, strconv.FormatFloat(x, 'f', -1, 64))
		}
		return strings.Join(out, " ")
	}
	for _, x := range cost.Classes() {
		mark := ""
		switch {
		case x.Repair.Checked && x.Value.Checked:
		case x.Repair.Checked:
			mark = "C " + cost.Recalled
		default:
			mark = "all " + cost.Recalled
		}
		t.Row(x.Name, numbers(x.Repair.RF1, x.Repair.RF2), numbers(x.Value.C1, x.Value.C2, x.Value.C3), mark)
		t.Under(x.Title + ", made to last " + numbers(x.Life) + " h")
	}
	c.printf("%s\n", t.Text(c.columns()))
	line := c.lines()
	line("", "Repairs from new: list price x RF1 x (hours / 1000)^RF2. Worth: list price x (C1 - C2 x sqrt(age in years) - C3 x sqrt(hours a year))^2.")
	var seen []string
	for _, x := range cost.Classes() {
		for _, s := range []string{x.Repair.Source, x.Value.Source} {
			if !slices.Contains(seen, s) {
				seen = append(seen, s)
				line("", "From %s.", s)
			}
		}
	}
}
