package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/record"
)

// ShopCost is what one outside shop or dealer was paid under one name. An invoice over several jobs is written with each of them, its part of the money
// under the same words ("invoice 8812"): here it is one sum again, to be held against the paper.
type ShopCost struct {
	Who, For string
	Amount   *big.Rat
	Machines []ID // and shelves, in the order of their first entry
	Entries  []ID // in order of effect
}

// ShopCosts sums up what shops were paid in the days asked about, by shop and name; of the machines and shelves named, or of all.
func ShopCosts(st *State, of []ID, q CostQuery) []ShopCost {
	if q.To == "" || q.To > st.On {
		q.To = st.On
	}
	c := &counting{st: st, q: q}
	by := map[[2]string]*ShopCost{}
	for _, e := range st.Effective {
		w := record.Base(e.Record)
		if !e.counts(st.On) || w == nil || e.Private == nil || e.Private.Who == "" || !c.within(e.Done) {
			continue
		}
		machine := cmp.Or(w.Machine, e.Entry.ID)
		if _, sale := e.Record.(*record.Sell); sale || len(of) > 0 && !slices.Contains(of, machine) {
			continue
		}
		for _, cost := range e.Private.Costs {
			amount, currency := money(cost)
			_, bought := e.Record.(*record.Machine)
			if !c.mine(currency) || bought && slices.Contains(costText(cost.For), costList) {
				continue
			}
			key := [2]string{strings.ToLower(e.Private.Who), strings.ToLower(cost.For)}
			if by[key] == nil {
				by[key] = &ShopCost{Who: e.Private.Who, For: cost.For, Amount: new(big.Rat)}
			}
			s := by[key]
			s.Amount.Add(s.Amount, amount)
			s.Machines = unique(append(s.Machines, machine))
			if n := len(s.Entries); n == 0 || s.Entries[n-1] != e.Entry.ID {
				s.Entries = append(s.Entries, e.Entry.ID)
			}
		}
	}
	var out []ShopCost
	for _, s := range by {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b ShopCost) int {
		return cmp.Or(strings.Compare(strings.ToLower(a.Who), strings.ToLower(b.Who)), strings.Compare(strings.ToLower(a.For), strings.ToLower(b.For)))
	})
	return out
}
