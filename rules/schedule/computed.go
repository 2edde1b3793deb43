package schedule

import (
	"fmt"
	"strings"

	"shedbook/rules/quantity"
)

// Fixed is a term of a product that is an amount itself, "8 ft" or "4"; false for the name of a reading or setting.
func Fixed(term string) (quantity.Quantity, bool) {
	if term == "" || term[0] < '0' || term[0] > '9' {
		return quantity.Quantity{}, false
	}
	q, err := quantity.Parse(term)
	return q, err == nil
}

// Things are the readings and settings it is worked out from, with their hands.
func (c *Computed) Things() []string {
	var out []string
	for _, term := range append(append([]string(nil), c.From...), c.By...) {
		if _, ok := Fixed(term); !ok {
			out = append(out, term)
		}
	}
	return out
}

// RestsOn reports whether it is worked out from a reading or setting, of whichever hand.
func (c *Computed) RestsOn(thing string) bool {
	for _, list := range [2][]string{c.From, c.By} {
		for _, term := range list {
			if base, _, _ := strings.Cut(term, "/"); base == thing {
				if _, ok := Fixed(term); !ok {
					return true
				}
			}
		}
	}
	return false
}

// String says how it is worked out: "caught / (turns x 8 ft x 7.5 in)", "the smaller of size/left and size/right".
func (c *Computed) String() string {
	switch c.How {
	case "difference":
		return strings.Join(c.From, " less ")
	case "smaller", "larger":
		return "the " + c.How + " of " + strings.Join(c.From, " and ")
	case "sum":
		return strings.Join(c.From, " + ")
	case "ratio":
		return strings.Join(c.From, " / ")
	}
	s := strings.Join(c.From, " x ")
	if len(c.From) == 0 {
		s = "1"
	}
	switch len(c.By) {
	case 0:
		return s
	case 1:
		return s + " / " + c.By[0]
	}
	return s + " / (" + strings.Join(c.By, " x ") + ")"
}

// readComputed checks that it is worked out from readings or settings, of one hand where "/left" is written.
func (t *table) readComputed(x Reading) *Computed {
	c := &Computed{How: t.oneOf("how", "", "difference", "smaller", "larger", "sum", "ratio", "product")}
	if c.How == "" && t.n.items["how"] == nil {
		t.missing("how", `write how = "difference", "smaller", "larger", "sum", "ratio" or "product"`)
	}
	product, before := c.How == "product", len(t.r.errs)
	from := t.nodes("from", textNode, integerNode, decimalNode)
	by := t.nodes("by", textNode, integerNode, decimalNode)
	c.From, c.By = t.terms(from, product), t.terms(by, product)
	switch n := t.n.items["by"]; {
	case n != nil && !product && c.How != "":
		t.r.fail(n.mistake(n.key, fmt.Sprintf("by of %s goes with how = \"product\" only", t.what), "take it out"))
	case product && t.n.items["from"] == nil:
		t.missing("from", `write from = ["caught"], and by = ["turns", "8 ft"] for what it is divided by`)
	case product && len(t.r.errs) > before: // what is wrong has been said
	case product:
		t.r.later = append(t.r.later, func() { t.checkProduct(x, c, from, by) })
	case t.n.items["from"] == nil:
		t.missing("from", `write from = ["disc-size/left", "disc-size/right"]`)
	case len(c.From) == 1 || len(c.From) > 2:
		t.wrong(t.n.items["from"], "name two", "%s is worked out from %d readings", t.what, len(c.From))
	}
	t.finish()
	return c
}

// terms are the names and, of a product, the amounts of a list.
func (t *table) terms(nodes []*node, product bool) []string {
	var out []string
	for _, n := range nodes {
		text := n.text
		if n.kind != textNode {
			text = strings.ReplaceAll(text, "_", "")
		}
		out = append(out, text)
		if text != "" && (text[0] >= '0' && text[0] <= '9' || n.kind != textNode) {
			_, err := quantity.Parse(text)
			switch {
			case !product:
				t.wrong(n, `name a reading or a setting; amounts go with how = "product"`, "%s holds the amount %s", t.what, text)
			case err != nil:
				t.wrong(n, "", "%s: %v", t.what, err)
			}
			continue
		}
		name, hand, handed := strings.Cut(text, "/")
		t.refer(n, name, "reading", "setting")
		if handed && hand != "left" && hand != "right" {
			t.wrong(n, "write disc-size/left or disc-size/right", "%s names the hand %q", t.what, hand)
		}
	}
	return out
}

// checkProduct checks, once everything is read, that what is multiplied and divided makes what the reading's unit says.
func (t *table) checkProduct(x Reading, c *Computed, from, by []*node) {
	measured := false
	one := func(term string, n *node) (quantity.Quantity, bool) {
		if q, ok := Fixed(term); ok {
			return q, true
		}
		name, _, _ := strings.Cut(term, "/")
		if r, ok := find(t.r.schedule.Readings, name, func(r *Reading) string { return r.Name }); ok {
			measured = true
			switch {
			case len(r.Grades) > 0:
				t.wrong(n, "name one that is told in amounts", "reading %q is told in grades", name)
			case r.Of != x.Of:
				t.wrong(n, "give both the same of", "reading %q is not of the same places as %q", name, x.Name)
			default:
				return quantity.Whole(1, r.Unit), true
			}
			return quantity.Quantity{}, false
		}
		s, ok := find(t.r.schedule.Settings, name, func(s *Setting) string { return s.Name })
		switch {
		case !ok: // said already
		case s.Type == "choice":
			t.wrong(n, "name one that is set in amounts", "setting %q is a choice of words", name)
		case s.Type == "steps" && !s.StepIs.IsZero():
			return quantity.Whole(1, s.StepIs.Unit()), true
		default:
			return quantity.Whole(1, s.Unit), true
		}
		return quantity.Quantity{}, false
	}
	var times, over []quantity.Quantity
	whole := true
	for i, n := range from {
		q, ok := one(c.From[i], n)
		times, whole = append(times, q), whole && ok
	}
	for i, n := range by {
		q, ok := one(c.By[i], n)
		over, whole = append(over, q), whole && ok
	}
	switch {
	case !whole:
	case !measured:
		t.wrong(t.n.items["from"], "name at least one reading: when it is taken the product is worked out", "%s names no reading", t.what)
	default:
		if _, err := quantity.Product(times, over, x.Unit, 4); err != nil {
			t.wrong(t.n.items["from"], "see that from over by gives the reading's unit", "%s: %v", t.what, err)
		}
	}
}
