package main

import "shedbook/rules/quantity"

// shownApart is how far two sizes lie apart (a rate, a standard deviation, what is left to a limit), in the units asked for with --units. Of temperatures the
// ratio of the units counts and not where their zeros lie: 5 degC apart is 9 degF.
func (c *call) shownApart(q quantity.Quantity) quantity.Quantity {
	u := q.Unit().Usual(c.system)
	if c.units == "" || q.Dimension() != quantity.Temperature || u == q.Unit() {
		return c.shown(q)
	}
	const places = 9
	far, err := q.In(u, places)
	if err != nil {
		return q
	}
	zero, err := quantity.Whole(0, q.Unit()).In(u, places)
	if err != nil {
		return q
	}
	if far, err = far.Sub(zero); err != nil {
		return q
	}
	if far, err = far.In(u, 4); err != nil {
		return q
	}
	return far
}

func (c *call) amountApart(q quantity.Quantity) amountJSON { return amountJSON{c.shownApart(q)} }
