package schedule

import (
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/quantity"
)

// flag is true or false; absent: false.
func (t *table) flag(key string) bool {
	n := t.typed(key, boolNode, "true or false")
	return n != nil && n.text == "true"
}

// count is a whole number from low to high; 0 where absent.
func (t *table) count(key string, low, high int) int {
	n := t.typed(key, integerNode, "a whole number")
	if n == nil {
		return 0
	}
	v, ok := n.integer()
	if !ok || v < low || v > high {
		t.wrong(n, fmt.Sprintf("write a whole number from %d to %d", low, high), "%s of %s is %s", key, t.what, n.text)
		return 0
	}
	return v
}

// fraction is an exact number: 2, 2.5 or "1/3"; nil where absent.
func (t *table) fraction(key string) *big.Rat {
	n := t.value(key)
	if n == nil {
		return nil
	}
	text := strings.ReplaceAll(n.text, "_", "")
	r, ok := new(big.Rat), false
	if n.kind <= decimalNode && n.kind >= textNode && len(text) <= 20 && !strings.ContainsAny(text, "eExXpP") {
		r, ok = r.SetString(text)
	}
	if !ok {
		t.wrong(n, `write a number such as 2, 2.5 or "1/3"`, "%s of %s is %s", key, t.what, n.format())
		return nil
	}
	return r
}

// unit is a unit; the zero unit where absent.
func (t *table) unit(key string) quantity.Unit {
	n := t.typed(key, textNode, `a unit in quotes: "in", "ac", "h"`)
	if n == nil {
		return quantity.Unit{}
	}
	u, err := quantity.ParseUnit(n.text)
	if err != nil {
		t.wrong(n, "", "%s of %s: %v", key, t.what, err)
	}
	return u
}

// amountText is the text of a value that may be written as a text or, a bare count, as a number.
func amountText(n *node) (string, bool) {
	switch n.kind {
	case textNode:
		return n.text, true
	case integerNode, decimalNode:
		return strings.ReplaceAll(n.text, "_", ""), true
	}
	return "", false
}

// amount is a quantity in a unit that converts into u; a bare number takes u.
func (t *table) amount(key string, u quantity.Unit) (quantity.Quantity, bool) {
	n := t.value(key)
	if n == nil {
		return quantity.Quantity{}, false
	}
	text, ok := amountText(n)
	if !ok {
		t.wrong(n, `write an amount such as "5 in"`, "%s of %s is %s", key, t.what, n.kind)
		return quantity.Quantity{}, false
	}
	q, err := quantity.ParseIn(text, u)
	if err != nil {
		t.wrong(n, "", "%s of %s: %v", key, t.what, err)
		return q, false
	}
	return q, true
}

// quantity is an amount in any unit of the dimension.
func (t *table) quantity(key string, of quantity.Dimension, example string) (quantity.Quantity, bool) {
	n := t.value(key)
	if n == nil {
		return quantity.Quantity{}, false
	}
	text, ok := amountText(n)
	if !ok {
		t.wrong(n, "write "+example, "%s of %s is %s", key, t.what, n.kind)
		return quantity.Quantity{}, false
	}
	q, err := quantity.Parse(text)
	switch {
	case err != nil:
		t.wrong(n, "", "%s of %s: %v", key, t.what, err)
		return q, false
	case q.Dimension() != of:
		t.wrong(n, "write "+example, "%s of %s is %s, a %s", key, t.what, q, q.Dimension())
		return q, false
	}
	return q, true
}
