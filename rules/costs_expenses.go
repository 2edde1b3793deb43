package rules

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/record"
)

// Kinds of expense. The first five are running costs.
const (
	CostParts       = "parts"
	CostLabour      = "labour"
	CostConsumables = "consumables" // oil, grease, fuel
	CostOutside     = "outside"     // invoices of shops and dealers
	CostOther       = "other"
	CostCapital     = "capital" // the machine itself, and what makes it better
	CostSale        = "sale"    // what it was sold for
	costList        = "list"    // no expense: what a new one would cost
)

// CostKinds are the running costs, in the order they are shown.
var CostKinds = []string{CostParts, CostLabour, CostConsumables, CostOutside, CostOther}

// Expense is an amount of money or of the farm's own work that an entry brought on a machine.
type Expense struct {
	Done      record.Done
	Kind      string
	For       string   // what for, in the person's word
	Who       string   // the shop, where one is named
	Amount    *big.Rat // nil: work or a part without a price
	Minutes   *big.Rat // of the farm's own work; nil: none
	Scheduled bool     // the minutes are the schedule's, as none were written
	Shelf     ID       // the part came from this shelf
	Rule      string   // how the amount came about; "": it is written so
	Entries   []ID     // the entry that brought it, then those its price rests on
}

// counting is one look at a book's money.
type counting struct {
	st    *State
	q     CostQuery
	work  map[ID][]*Effective // by machine or shelf, in order of effect
	taken map[ID][]*Part      // new parts that a swap took from a shelf, by the swap's entry
}

func newCounting(st *State, q CostQuery) *counting {
	c := &counting{st: st, q: q, work: map[ID][]*Effective{}, taken: map[ID][]*Part{}}
	for _, e := range st.Effective {
		if !e.counts(st.On) {
			continue
		}
		w := record.Base(e.Record)
		if w == nil {
			continue
		}
		machine := w.Machine
		if machine == "" {
			machine = e.Entry.ID
		}
		c.work[machine] = append(c.work[machine], e)
	}
	for _, p := range st.Parts {
		if len(p.Stays) > 0 {
			c.taken[p.Stays[0].Entry] = append(c.taken[p.Stays[0].Entry], p)
		}
	}
	return c
}

// mine reports an amount in the currency asked about.
func (c *counting) mine(currency string) bool {
	return currency == c.q.Currency || currency == "" && c.q.All
}

// expenses lists the running costs of a machine, in order of effect, and notes the rest in out.
func (c *counting) expenses(m *Machine, out *MachineCosts) []Expense {
	var all []Expense
	planned := scheduledMinutes(m)
	for _, e := range c.work[m.ID] {
		first := len(all)
		if e.Private != nil {
			all = append(all, c.written(m, e, out)...)
		}
		has := func(kind string) bool {
			return slices.ContainsFunc(all[first:], func(x Expense) bool { return x.Kind == kind })
		}
		if s, ok := e.Record.(*record.Swap); ok && s.From != "" && !has(CostParts) {
			all = append(all, c.fromShelf(m, e, s)...)
		}
		paid := has(CostLabour) || has(CostOutside) // then the time is in that amount
		if x, ok := c.labour(e, planned[e.Entry.ID], paid); ok {
			all = append(all, x)
		}
	}
	return all
}

// written are the amounts of an entry.
func (c *counting) written(m *Machine, e *Effective, out *MachineCosts) []Expense {
	var all []Expense
	for _, cost := range e.Private.Costs {
		amount, currency := money(cost)
		x := Expense{Done: e.Done, For: cost.For, Who: e.Private.Who, Amount: amount, Kind: costKind(m, e, cost.For), Entries: []ID{e.Entry.ID}}
		switch {
		case !c.mine(currency):
			if x.Kind != costList && c.within(e.Done) {
				out.Left++
			}
		case x.Kind == costList:
			out.List = &x
		case x.Kind == CostCapital || x.Kind == CostSale:
			if _, bought := e.Record.(*record.Machine); bought {
				out.Price = sumPrice(out.Price, x)
			}
			out.Capital = append(out.Capital, x)
		default:
			all = append(all, x)
		}
	}
	return all
}

// sumPrice adds what came with the price: delivery, a warranty.
func sumPrice(p *Expense, x Expense) *Expense {
	if p != nil {
		x.Amount, x.For = new(big.Rat).Add(p.Amount, x.Amount), p.For+" and "+x.For
	}
	return &x
}

// labour is the farm's own work on an entry: the minutes written, else the schedule's for the jobs it did.
func (c *counting) labour(e *Effective, planned *big.Rat, paid bool) (Expense, bool) {
	w := record.Base(e.Record)
	x := Expense{Done: e.Done, Kind: CostLabour, For: "work", Entries: []ID{e.Entry.ID}}
	switch {
	case paid:
		return x, false
	case w.Minutes > 0:
		x.Minutes, x.Rule = big.NewRat(int64(w.Minutes), 1), "as written"
	case planned != nil && planned.Sign() > 0:
		x.Minutes, x.Scheduled, x.Rule = planned, true, "by the schedule, as no minutes are written"
	default:
		return x, false
	}
	if c.q.Labour != nil {
		hours := new(big.Rat).Quo(x.Minutes, big.NewRat(60, 1))
		x.Amount = cents(hours.Mul(hours, c.q.Labour))
	}
	return x, true
}

// cents rounds money to hundredths, halves up, so that what is shown adds up.
func cents(r *big.Rat) *big.Rat {
	out, _ := new(big.Rat).SetString(r.FloatString(2))
	return out
}

// scheduledMinutes is what the schedule reckons for the jobs that entries did themselves; a job that a bigger one includes is in the bigger one's time.
func scheduledMinutes(m *Machine) map[ID]*big.Rat {
	out := map[ID]*big.Rat{}
	if m.Fitted == nil {
		return out
	}
	for i := range m.Fitted.Jobs {
		job := &m.Fitted.Jobs[i]
		log := m.Jobs[job.Name]
		if log == nil || job.Minutes == nil {
			continue
		}
		each := new(big.Rat).Mul(job.Minutes, big.NewRat(int64(max(1, job.Hands)), 1)) // all hands together, as written minutes are
		places := map[ID]int64{}                                                       // entry -> at how many it did the job
		for _, done := range log.Done {
			for _, d := range done {
				if d.Skipped || d.Assumed || d.Via != "" && d.Via != "measure" && d.Via != "swap" && d.Via != "adjust" {
					continue
				}
				places[d.Entry]++
			}
		}
		for entry, n := range places {
			if out[entry] == nil {
				out[entry] = new(big.Rat)
			}
			out[entry].Add(out[entry], new(big.Rat).Mul(each, big.NewRat(n, 1)))
		}
	}
	return out
}

// fromShelf prices the new parts a swap took from a shelf at the average of what was paid for such parts by then. Used ones were paid for where they wore.
func (c *counting) fromShelf(m *Machine, e *Effective, s *record.Swap) []Expense {
	byHand := map[string]int64{}
	for _, p := range c.taken[e.Entry.ID] {
		byHand[p.Hand]++
	}
	var all []Expense
	for _, hand := range names(byHand, byHand) {
		n := byHand[hand]
		x := Expense{Done: e.Done, Kind: CostParts, For: strings.TrimSpace(s.Part + " " + hand), Shelf: s.From, Entries: []ID{e.Entry.ID}}
		if each, from := c.shelfPrice(s.From, stockKey{m.Kind, s.Part, hand}, e.Done); each != nil {
			x.Amount = cents(new(big.Rat).Mul(each, big.NewRat(n, 1)))
			x.Rule = big.NewRat(n, 1).FloatString(0) + " from the shelf at " + each.FloatString(2) + ", the average of what was paid for such parts by then"
			x.Entries = append(x.Entries, from...)
		} else {
			x.Rule = big.NewRat(n, 1).FloatString(0) + " from the shelf: no price is written with what was bought for it"
		}
		all = append(all, x)
	}
	return all
}

func (c *counting) shelfPrice(shelf ID, k stockKey, on record.Done) (each *big.Rat, from []ID) {
	paid, count := new(big.Rat), int64(0)
	for _, e := range c.work[shelf] {
		s, ok := e.Record.(*record.Stock)
		if !ok || s.Act != "add" || s.Count == 0 || e.Private == nil || (stockKey{s.Schedule, s.Part, s.Hand}) != k || e.Done.Compare(on) > 0 {
			continue
		}
		priced := false
		for _, cost := range e.Private.Costs {
			if amount, currency := money(cost); c.mine(currency) {
				paid.Add(paid, amount)
				priced = true
			}
		}
		if priced {
			count += int64(s.Count)
			from = append(from, e.Entry.ID)
		}
	}
	if count == 0 {
		return nil, nil
	}
	return paid.Quo(paid, big.NewRat(count, 1)), from
}

// ShelfCost is what was paid for the parts of one shelf, and for those of them that went into machines.
type ShelfCost struct {
	Shelf        *Shelf
	Bought, Used *big.Rat
	Entries      []ID // of what was bought, in order of effect
}

// ShelfCosts sums up what the shelves cost in the days asked about; machines are all those that took from them.
func ShelfCosts(st *State, machines []MachineCosts, q CostQuery) []ShelfCost {
	if q.To == "" || q.To > st.On {
		q.To = st.On
	}
	c := newCounting(st, q)
	var out []ShelfCost
	for _, h := range st.Shelves {
		s := ShelfCost{Shelf: h, Bought: new(big.Rat), Used: new(big.Rat)}
		for _, e := range c.work[h.ID] {
			if e.Private == nil || !c.within(e.Done) {
				continue
			}
			for _, cost := range e.Private.Costs {
				if amount, currency := money(cost); c.mine(currency) {
					s.Bought.Add(s.Bought, amount)
					s.Entries = append(s.Entries, e.Entry.ID)
				}
			}
		}
		s.Entries = unique(s.Entries)
		for _, m := range machines {
			for _, x := range m.Total.Expenses {
				if x.Shelf == h.ID && x.Amount != nil {
					s.Used.Add(s.Used, x.Amount)
				}
			}
		}
		if s.Bought.Sign() != 0 || s.Used.Sign() != 0 {
			out = append(out, s)
		}
	}
	return out
}

// costWords are the words by which an amount's kind is known, singular; of several the first kind rules.
var costWords = []struct {
	kind  string
	words []string
}{
	{CostCapital, []string{"capital"}},
	{CostLabour, []string{"labour", "labor", "wage", "work"}},
	{CostOutside, []string{"invoice", "bill", "shop", "dealer", "outside", "hire"}},
	{CostConsumables, []string{"consumable", "oil", "grease", "fuel", "diesel", "petrol", "gasoline", "coolant", "antifreeze", "fluid", "lubricant", "twine", "wrap"}},
	{CostParts, []string{"part", "spare", "bearing", "hose", "belt", "filter", "tyre", "tire"}},
}

// costKind tells what an amount is for: by the entry where that is the machine's purchase or sale, else by its words, else by the parts and fills of the
// machine's schedule and of the entry, else it is the shop's where one is named.
func costKind(m *Machine, e *Effective, text string) string {
	words := costText(text)
	has := func(list ...string) bool {
		return slices.ContainsFunc(list, func(w string) bool { return slices.Contains(words, w) })
	}
	switch e.Record.(type) {
	case *record.Machine:
		if has("list") {
			return costList
		}
		return CostCapital
	case *record.Sell:
		if has("price", "sale", "sold") {
			return CostSale
		}
	}
	for _, k := range costWords {
		if has(k.words...) {
			return k.kind
		}
	}
	parts, fills := costNames(m, e)
	switch {
	case has(parts...):
		return CostParts
	case has(fills...):
		return CostConsumables
	case e.Private.Who != "":
		return CostOutside
	}
	if _, swap := e.Record.(*record.Swap); swap {
		return CostParts
	}
	return CostOther
}

// costNames are the words for parts and for fills that a machine's schedule and an entry have.
func costNames(m *Machine, e *Effective) (parts, fills []string) {
	if m.Fitted != nil {
		for _, p := range m.Fitted.Parts {
			parts = append(parts, lastWord(p.Name)...)
		}
		for i := range m.Fitted.Jobs {
			for _, u := range m.Fitted.Jobs[i].Uses {
				fills = append(fills, lastWord(u.What)...)
			}
		}
	}
	switch r := e.Record.(type) {
	case *record.Repair:
		for _, n := range r.Used {
			parts = append(parts, costText(n.What)...)
		}
	case *record.Did:
		for _, f := range r.Fills {
			fills = append(fills, costText(f.Of)...)
		}
	}
	return parts, fills
}

// lastWord is the noun of a name: "oil" of "engine oil".
func lastWord(name string) []string {
	words := costText(name)
	return words[max(0, len(words)-1):]
}

// costText splits a text into small words without the s of a plural.
func costText(text string) []string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" -/,.;:()+&", r) })
	for i, w := range words {
		if len(w) > 3 && !strings.HasSuffix(w, "ss") {
			words[i] = strings.TrimSuffix(w, "s")
		}
	}
	return words
}
