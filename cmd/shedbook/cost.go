package main

import (
	"cmp"
	"fmt"
	"math/big"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/record"
)

func costCommand() *command {
	a := &costing{}
	return &command{
		name: "cost", section: "read", brief: "add up what machines cost, by season, hour and acre", reads: true,
		usage:    []string{"cost [MACHINE] [--year YEAR] [--by-year] [--labour AMOUNT] [--why]", "cost MACHINE --list-price AMOUNT --interest PERCENT [--class CLASS] ...", "cost [MACHINE] --shops [--year YEAR]", "cost --classes"},
		examples: []string{"cost drill --labour 25", "cost --year 2026", "cost drill --list-price 52000 --interest 8 --inflation 3", "cost tractor --power 180hp --fuel-price 1.05/L --why"},
		about: `Money comes from --cost on what is recorded: parts, labour, consumables (oil, grease, fuel), outside (a shop's invoice), told apart by the word before the = and by the machine's own parts; capital and the price of machine ` +
			`add and machine sell stand apart. A new part from a shelf costs the average of what was paid for such parts by then. Your own work is the minutes written, else the schedule's; --labour gives an hour a price. A job whose labour or ` +
			`invoice is written has its time in that. Hours and acres are those read on the counters; lost time is what each fault and repair says for itself. An invoice over several jobs is written with each, its part under the same words: --cost "invoice 8812=140" --who SHOP; --shops adds it up again.

Of one machine it also says what owning it costs by published formulas: what it is worth, what repairs would have come to, what its capital costs a year. They are averages over many farms, and most of their coefficients here are recalled and could ` +
			`not be checked: each such figure says so; --classes shows them and --repair-factors and --value-factors put yours in their place. Price and list price can be written once: shedbook machine add ... --cost price=41500 --cost "list price=52000".`,
		flags: a.bind,
		run:   func(c *call) error { return c.costs(a) },
	}
}

// costing is what was asked.
type costing struct {
	fs                                                *pflag.FlagSet
	machine, farm, yard                               string
	year, bought, made                                int
	byYear, why, classes, shops                       bool
	labour, currency, list, price, class, power, fuel string
	interest, inflation, hours, keep                  string
	repairFactors, valueFactors                       string
}

func (a *costing) bind(fs *pflag.FlagSet) {
	a.fs = fs
	fs.IntVar(&a.year, "year", 0, "only this calendar `year`")
	fs.BoolVar(&a.byYear, "by-year", false, "by calendar year, not by season")
	fs.StringVar(&a.labour, "labour", "", "what an hour of your own work is worth: `25`")
	fs.StringVar(&a.currency, "currency", "", "amounts in this `currency`, where the book has several: EUR")
	fs.StringVar(&a.farm, "farm", "", "only machines of this `farm`")
	fs.StringVar(&a.yard, "yard", "", "only machines at this `yard`")
	fs.BoolVar(&a.why, "why", false, "the amounts, the arithmetic and the entries of each figure")
	fs.BoolVar(&a.shops, "shops", false, "what each outside shop was paid, by its words on the paper")
	fs.BoolVar(&a.classes, "classes", false, "list the classes of machines that the formulas know")
	fs.StringVar(&a.class, "class", "", "the machine's `class` in the formulas")
	fs.StringVar(&a.list, "list-price", "", "what a new one of its like costs now: an `amount`")
	fs.StringVar(&a.price, "bought-for", "", "what was paid for it: an `amount`")
	fs.IntVar(&a.bought, "bought", 0, "the `year` it was bought")
	fs.IntVar(&a.made, "made", 0, "its `year` of make")
	fs.StringVar(&a.hours, "hours", "", "the `hours` it has worked, where no counter says")
	fs.StringVar(&a.keep, "keep", "", "`years` from its purchase to its sale (left out: up to now)")
	fs.StringVar(&a.interest, "interest", "", "interest in `percent`: 8")
	fs.StringVar(&a.inflation, "inflation", "", "rise of prices in `percent`, taken off the interest: 3")
	fs.StringVar(&a.power, "power", "", "`power` of a tractor at the power take-off: 180hp")
	fs.StringVar(&a.fuel, "fuel-price", "", "price of diesel, `1.05/L`")
	fs.StringVar(&a.repairFactors, "repair-factors", "", "your own `RF1,RF2` of the repair formula")
	fs.StringVar(&a.valueFactors, "value-factors", "", "your own `C1,C2,C3` of the remaining value")
}

// costed is what one book says.
type costed struct {
	st       *rules.State
	title    string // of the book, where there are several
	currency string
	machines []rules.MachineCosts
	shelves  []rules.ShelfCost
	shops    []rules.ShopCost
	own      []rules.OwnFigure // of one machine
	owning   rules.Owning
}

func (c *call) costs(a *costing) error {
	switch {
	case len(c.args) > 1:
		return usage("shedbook cost drill", "cost takes one machine or none")
	case a.classes && len(c.args) > 0:
		return usage("shedbook cost --classes", "--classes lists them all: it takes no machine")
	case a.classes && c.json:
		return c.printJSON(classesOf())
	case a.classes:
		return c.paged(func() error { c.printClasses(); return nil })
	case len(c.args) == 1:
		a.machine = c.args[0]
	}
	if a.machine == "" {
		if f := a.forOne(); f != "" {
			return usage("shedbook cost MACHINE --"+f+" ...", "--%s is said of one machine, and none is named", f)
		}
	}
	q, err := a.query(c)
	if err != nil {
		return err
	}
	books, err := c.openAll()
	if err != nil {
		return err
	}
	all, err := c.costBooks(books, a, q)
	if err != nil {
		return err
	}
	if c.json {
		err = c.printJSON(c.costsJSON(all, q))
	} else {
		err = c.paged(func() error { c.printCosts(all, a, q); return nil })
	}
	if err != nil {
		return err
	}
	return soundAll(books)
}

// forOne is a flag that only one machine can have, if one is given.
func (a *costing) forOne() string {
	for _, f := range []string{"class", "list-price", "bought-for", "bought", "made", "hours", "keep", "interest", "inflation", "power", "fuel-price", "repair-factors", "value-factors"} {
		if a.fs.Changed(f) {
			return f
		}
	}
	return ""
}

// query reads what the running costs are asked by.
func (a *costing) query(c *call) (rules.CostQuery, error) {
	q := rules.CostQuery{ByYear: a.byYear, Currency: strings.ToUpper(a.currency)}
	if a.fs.Changed("year") {
		if a.year < 1900 || a.year > 9999 {
			return q, usage("write --year 2026", "--year %d is no year", a.year)
		}
		q.From, q.To = fmt.Sprintf("%04d-01-01", a.year), fmt.Sprintf("%04d-12-31", a.year)
	}
	if a.fs.Changed("labour") {
		rate, err := priceOf("labour", strings.TrimSuffix(a.labour, "/h"), "25")
		if err != nil {
			return q, err
		}
		q.Labour = rate
	}
	if a.fs.Changed("currency") && !isCurrency(q.Currency) {
		return q, usage("write --currency EUR", "--currency %q is no currency: three letters", a.currency)
	}
	return q, nil
}

func isCurrency(s string) bool {
	return (&record.Private{Costs: []record.Cost{{For: "x", Amount: "1 " + s}}}).Check() == nil
}

// priceOf reads an amount of money without a currency: the book's own is meant.
func priceOf(flag, text, example string) (*big.Rat, error) {
	cost, err := parseCost("x=" + text)
	if err == nil {
		if r, ok := new(big.Rat).SetString(cost.Amount); ok {
			return r, nil
		}
	}
	return nil, usage(fmt.Sprintf("write --%s %s", flag, example), "--%s: %q is no amount of money, a plain number with two decimals at most", flag, text)
}

// costBooks asks every book; a name that none of them has is an error.
func (c *call) costBooks(books []*book, a *costing, q rules.CostQuery) ([]costed, error) {
	var out []costed
	var missing error
	for _, b := range books {
		st, err := b.now()
		if err != nil {
			return nil, err
		}
		x := costed{st: st}
		if len(books) > 1 {
			x.title = b.log.Title()
		}
		if err := c.costBook(&x, a, q); err != nil {
			missing = cmp.Or(missing, err)
			continue
		}
		out = append(out, x)
	}
	if len(out) == 0 {
		return nil, missing
	}
	return out, nil
}

func (c *call) costBook(x *costed, a *costing, q rules.CostQuery) error {
	var f rules.Filter
	if err := narrow(x.st, a.farm, a.yard, a.machine, &f); err != nil {
		return err
	}
	named := rules.Currencies(x.st)
	q.All = len(named) < 2
	switch {
	case q.Currency == "" && len(named) == 1:
		q.Currency = named[0]
	case q.Currency == "" && len(named) > 1:
		return failed("currencies", "add --currency "+named[0], "the book has amounts in %s, which do not add up", strings.Join(named, " and "))
	case q.Currency != "" && len(named) == 1 && named[0] != q.Currency:
		q.All = false
	}
	x.currency = q.Currency
	if q.From > x.st.On {
		return usage("write a year up to "+x.st.On[:4], "--year %s has not begun by %s", q.From[:4], x.st.On)
	}
	var machines []*rules.Machine
	for _, m := range x.st.Machines {
		if (f.Machine == "" || m.ID == f.Machine) && (f.Farm == "" || m.Farm == f.Farm) && (f.Yard == "" || m.Yard == f.Yard) {
			machines = append(machines, m)
		}
	}
	switch {
	case len(x.st.Machines) == 0:
		return failed("no-machine", "shedbook machine add drill disc-drill", "there is no machine in this book yet")
	case len(machines) == 0:
		return failed("no-machine", "shedbook machine list", "no machine is there")
	}
	x.machines = rules.Costs(x.st, machines, q)
	everything := a.machine == "" && a.farm == "" && a.yard == ""
	var of []record.ID
	for _, m := range machines {
		if !everything {
			of = append(of, m.ID)
		}
	}
	x.shops = rules.ShopCosts(x.st, of, q)
	if everything {
		x.shelves = rules.ShelfCosts(x.st, x.machines, q)
	}
	if a.machine == "" {
		return nil
	}
	var err error
	if x.owning, err = a.owning(x.machines[0]); err == nil {
		x.own = rules.Ownership(x.machines[0], x.owning)
	}
	return err
}
