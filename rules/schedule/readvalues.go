package schedule

import (
	"fmt"
	"math/big"

	"shedbook/rules/quantity"
)

func (r *reader) readSettings(top *table) []Setting {
	var out []Setting
	for _, t := range top.named("setting") {
		out = append(out, r.readSetting(t))
	}
	return out
}

func (r *reader) readSetting(t *table) Setting {
	s := Setting{Name: t.name, Title: t.title(), Of: t.ref("of", "place"), Type: t.oneOf("type", "", "steps", "choice", "count", "amount"),
		Unit: t.unit("unit"), Choices: t.words("choices"), Ends: t.texts("ends"), Agree: t.flag("agree"), How: t.text("how"), Only: t.readOnly("only", true)}
	r.claim(s.Name, "setting", t.n)
	if s.Type != "" && s.Type != "amount" {
		s.Unit = quantity.Unit{}
	}
	var hasMin, hasMax, hasStep bool
	s.Min, hasMin = t.amount("min", s.Unit)
	s.Max, hasMax = t.amount("max", s.Unit)
	s.Step, hasStep = t.amount("step", s.Unit)
	s.StepIs, _ = t.anyAmount("step_is")
	s.MinIs, _ = t.amount("min_is", s.StepIs.Unit())
	for _, key := range []string{"min", "max", "step", "unit", "step_is", "min_is", "ends", "choices"} {
		n := t.n.items[key]
		bad := ""
		switch {
		case n == nil || s.Type == "":
		case s.Type == "choice" && key != "choices" && key != "ends":
			bad = "has choices"
		case s.Type != "choice" && key == "choices":
			bad = "is no choice"
		case s.Type != "steps" && (key == "step_is" || key == "min_is"):
			bad = "is not set in steps"
		case s.Type != "amount" && key == "unit":
			bad = "is set in " + s.Type
		}
		if bad != "" {
			r.fail(n.mistake(n.key, fmt.Sprintf("%s has %s, but it %s", t.what, key, bad), "take it out"))
		}
	}
	switch s.Type {
	case "":
		if t.n.items["type"] == nil {
			t.missing("type", `write type = "steps", "choice", "count" or "amount"`)
		}
	case "choice":
		if len(s.Choices) < 2 {
			t.missing("choices", `write choices = ["one", "other"]`)
		}
	case "steps", "count":
		if t.n.items["min"] == nil || t.n.items["max"] == nil {
			t.missing("range", "write min and max")
		}
		if !hasStep {
			s.Step = quantity.Whole(1, quantity.Unit{})
		}
	case "amount":
		if s.Unit == (quantity.Unit{}) && t.n.items["unit"] == nil {
			t.missing("unit", `write unit = "in" or the like`)
		}
	}
	if hasMin && hasMax {
		if c, err := s.Min.Cmp(s.Max); err == nil && c >= 0 {
			t.wrong(t.n.items["max"], "the greatest must be more than the least", "%s runs from %s to %s", t.what, s.Min, s.Max)
		} else if err == nil && !s.onStep(s.Max) {
			t.wrong(t.n.items["max"], "count the steps from min", "max of %s, %s, is not a whole number of steps of %s from %s", t.what, s.Max, s.Step, s.Min)
		}
	}
	if s.Step.Sign() < 0 || hasStep && s.Step.Sign() == 0 {
		t.wrong(t.n.items["step"], "leave it out where any value will do", "step of %s is %s", t.what, s.Step)
	}
	if n := t.n.items["ends"]; n != nil && len(s.Ends) != 2 {
		t.wrong(n, `write ends = ["shallowest", "deepest"]`, "ends of %s names %d", t.what, len(s.Ends))
	}
	t.finish()
	return s
}

// anyAmount is a quantity of whatever dimension.
func (t *table) anyAmount(key string) (quantity.Quantity, bool) {
	n := t.value(key)
	if n == nil {
		return quantity.Quantity{}, false
	}
	text, ok := amountText(n)
	if !ok {
		t.wrong(n, `write an amount such as "1/2 in"`, "%s of %s is %s", key, t.what, n.kind)
		return quantity.Quantity{}, false
	}
	q, err := quantity.Parse(text)
	if err != nil {
		t.wrong(n, "", "%s of %s: %v", key, t.what, err)
	}
	return q, err == nil
}

func (r *reader) readReadings(top *table) []Reading {
	var out []Reading
	for _, t := range top.named("reading") {
		out = append(out, r.readReading(t))
	}
	return out
}

func (r *reader) readReading(t *table) Reading {
	x := Reading{Name: t.name, Title: t.title(), Of: t.ref("of", "place"), Handed: t.flag("handed"), Unit: t.unit("unit"), Grades: t.words("grades"),
		BadFrom: "", Part: t.ref("part", "part"), Wears: t.refs("wears", "counter"), Condition: t.words("condition"), Outcome: t.flag("outcome"),
		How: t.text("how"), Only: t.readOnly("only", true)}
	r.claim(x.Name, "reading", t.n)
	t.handed(x.Handed, x.Of)
	if x.Outcome && x.Part != "" {
		t.wrong(t.n.items["outcome"], "take outcome or part out", "%s is the outcome of the work and a size of the part %s at once", t.what, x.Part)
	}
	x.Low, x.HasLow = t.amount("low", x.Unit)
	x.High, x.HasHigh = t.amount("high", x.Unit)
	x.New, x.HasNew = t.amount("new", x.Unit)
	if b, n := t.word("bad_from"); n != nil {
		if x.BadFrom = b; !contains(x.Grades, b) {
			t.wrong(n, didYouMean(b, x.Grades), "bad_from of %s is %q, which is none of its grades", t.what, b)
		} else if x.Grades[0] == b {
			t.wrong(n, "the first grade is the best one", "bad_from of %s is its first grade", t.what)
		}
	}
	if len(x.Grades) == 1 {
		t.wrong(t.n.items["grades"], `write grades = ["ok", "watch", "bad"], best first`, "grades of %s has one word", t.what)
	}
	for _, key := range []string{"unit", "low", "high", "new", "limit", "correct", "computed"} {
		if n := t.n.items[key]; n != nil && len(x.Grades) > 0 {
			r.fail(n.mistake(n.key, fmt.Sprintf("%s has %s, but it is told in grades", t.what, key), "take one of them out"))
		}
	}
	if x.HasLow && x.HasHigh {
		if c, err := x.Low.Cmp(x.High); err == nil && c >= 0 {
			t.wrong(t.n.items["high"], "the greatest must be more than the least", "%s is plausible from %s to %s", t.what, x.Low, x.High)
		}
	}
	x.Correct = t.readCorrect(x)
	if c := t.one("computed", "computed", "computed of "+t.what); c != nil {
		x.Computed = c.readComputed(x)
	}
	x.Limits = t.readLimits(x)
	for i := range x.Limits {
		if len(x.Limits[i].Only) == 0 {
			x.Limit = &x.Limits[i]
			break
		}
	}
	t.finish()
	return x
}

func (t *table) readCorrect(x Reading) []Correction {
	var out []Correction
	for _, c := range t.tables("correct", "correct", "correct of "+t.what) {
		k := Correction{Power: c.fraction("power")}
		var n *node
		if k.Condition, n = c.word("condition"); n != nil && !contains(x.Condition, k.Condition) {
			c.wrong(n, didYouMean(k.Condition, x.Condition), "%s names %q, which is no condition of the reading", c.what, k.Condition)
		} else if n == nil && c.n.items["condition"] == nil {
			c.missing("condition", `name it: condition = "pressure"`)
		}
		var ok bool
		if k.Rated, ok = c.anyAmount("rated"); (!ok || k.Rated.Sign() <= 0) && (ok || c.n.items["rated"] == nil) {
			c.missing("rated", `write rated = "40 psi"`)
		}
		if k.Power == nil && c.n.items["power"] == nil {
			c.missing("power", `write power = "1/2" where the reading goes with the root`)
		}
		c.finish()
		out = append(out, k)
	}
	return out
}

func (t *table) readLimits(x Reading) []Limit {
	var out []Limit
	tables := t.tables("limit", "limit", "limit of "+t.what)
	for i, l := range tables {
		if n := t.n.items["limit"]; n.kind == tableNode {
			l.path = t.join("limit")
		}
		k := Limit{Falls: l.flag("falls"), K: l.count("k", 1, maxPlaces), Of: l.count("of", 1, maxPlaces), Only: l.readOnly("only", true)}
		k.Min, k.HasMin = l.amount("min", x.Unit)
		k.Max, k.HasMax = l.amount("max", x.Unit)
		k.Share, k.HasShare = l.quantity("share", quantity.Ratio, `"85 %"`)
		k.Step, k.HasStep = l.difference("step", x.Unit)
		k.Neighbours, k.HasNeighbours = l.difference("neighbours", x.Unit)
		k.OneInAmount, _ = l.amount("one_in_amount", x.Unit)
		k.OneIn = l.ref("one_in", "option")
		if (k.OneIn != "") != (l.n.items["one_in_amount"] != nil) {
			l.missing("whole one_in", `one_in = "teeth" goes with one_in_amount = "200 %"`)
		}
		if o, ok := t.r.options[k.OneIn]; ok {
			if o.Type != "count" || o.Min < 1 {
				l.wrong(l.n.items["one_in"], "name a count option of at least 1", "%s divides by option %q", l.what, k.OneIn)
			} else {
				k.divide(t.r.values[k.OneIn])
			}
		}
		if k.HasMin && k.HasMax {
			if c, err := k.Min.Cmp(k.Max); err == nil && c > 0 {
				l.wrong(l.n.items["max"], "the upper limit must be more than the lower", "%s runs from %s to %s", l.what, k.Min, k.Max)
			}
		}
		if k.HasShare && k.Share.Sign() <= 0 {
			l.wrong(l.n.items["share"], `write "85 %" and falls = true, or "110 %"`, "share of %s is %s", l.what, k.Share)
		}
		for _, d := range []struct {
			key string
			q   quantity.Quantity
			has bool
		}{{"step", k.Step, k.HasStep}, {"neighbours", k.Neighbours, k.HasNeighbours}} {
			if d.has && d.q.Sign() <= 0 {
				l.wrong(l.n.items[d.key], "write how far apart two readings may be", "%s of %s is %s", d.key, l.what, d.q)
			}
		}
		if k.Of > 0 && k.K > k.Of || k.Of > 0 && k.K == 0 {
			l.wrong(l.n.items["of"], "write k = 2 and of = 8: two of any eight", "%s counts %d of %d", l.what, k.K, k.Of)
		}
		if !k.HasMin && !k.HasMax && !k.HasShare && !k.HasStep && !k.HasNeighbours && l.n.items["min"] == nil && l.n.items["max"] == nil &&
			l.n.items["share"] == nil && l.n.items["step"] == nil && l.n.items["neighbours"] == nil && k.OneIn == "" {
			l.missing("limit in it", "write one of min, max, share, step and neighbours")
		}
		if len(k.Only) == 0 && i < len(tables)-1 {
			t.r.fail(tables[i+1].n.mistake(tables[i+1].n.start, fmt.Sprintf("limit %d of %s is never reached", i+2, t.what),
				"the first whose options hold rules: put the one without only last"))
		}
		l.finish()
		out = append(out, k)
	}
	return out
}

// difference is an amount in the unit, or a share of the other reading: "1/4 in", "5 %". A difference of degrees is written in degrees.
func (t *table) difference(key string, u quantity.Unit) (quantity.Quantity, bool) {
	n := t.n.items[key]
	if n != nil && n.kind == textNode {
		if q, err := quantity.Parse(n.text); err == nil && q.Dimension() == quantity.Ratio {
			return t.quantity(key, quantity.Ratio, `"5 %"`)
		}
	}
	return t.amount(key, u)
}

// divide sets Max to the lesser of it and OneInAmount / n, rounded down: at four decimals a limit is never loosened by rounding.
func (l *Limit) divide(value string) {
	n, ok := new(big.Rat).SetString(value)
	if !ok || n.Sign() <= 0 {
		return
	}
	r := new(big.Rat).Quo(l.OneInAmount.Rat(), n)
	const places = 4
	tenThousand := big.NewRat(10000, 1)
	r.Mul(r, tenThousand)
	whole := new(big.Int).Quo(r.Num(), r.Denom())
	q, err := quantity.FromRat(new(big.Rat).Quo(new(big.Rat).SetInt(whole), tenThousand), l.OneInAmount.Unit(), places)
	if err != nil {
		return
	}
	if less, err := q.Cmp(l.Max); !l.HasMax || err == nil && less < 0 {
		l.Max, l.HasMax = q, true
	}
}
