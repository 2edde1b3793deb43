package schedule

import (
	"fmt"
	"slices"

	"shedbook/rules/quantity"
)

// unitOf is the unit in which a setting or reading is compared: of a setting in steps what its steps are worth; words have choices instead.
func unitOf(s *Schedule, name string) (u quantity.Unit, choices []string, ok bool) {
	for i := range s.Settings {
		if x := &s.Settings[i]; x.Name == name {
			if x.Type == "steps" && x.StepIs.Sign() != 0 {
				return x.StepIs.Unit(), nil, true
			}
			return x.Unit, x.Choices, true
		}
	}
	for i := range s.Readings {
		if x := &s.Readings[i]; x.Name == name {
			return x.Unit, x.Grades, true
		}
	}
	return u, nil, false
}

func (r *reader) readRelations(top *table, s *Schedule) []Relation {
	var out []Relation
	for _, t := range top.named("relation") {
		x := Relation{Name: t.name, Of: t.ref("of", "place"), Thing: t.ref("thing", "setting", "reading"), By: t.ref("by", "setting", "reading"),
			How: t.text("how"), Only: t.readOnly("only", true)}
		for _, k := range []string{"thing", "by", "rows"} {
			if t.n.items[k] == nil {
				t.missing(k, "a relation says what thing may be at each value of by")
			}
		}
		r.relationPlaces(t, &x, s)
		thing, thingWords, _ := unitOf(s, x.Thing)
		by, byWords, _ := unitOf(s, x.By)
		if len(thingWords) > 0 {
			t.wrong(t.n.items["thing"], "only amounts have ranges", "%s judges %q, which is a word", t.what, x.Thing)
			thing = quantity.Unit{}
		}
		for i, row := range t.tables("rows", "row", "row of "+t.what) {
			x.Rows = append(x.Rows, row.readRow(thing, by, byWords, x.Rows, i))
		}
		t.finish()
		out = append(out, x)
	}
	return out
}

// relationPlaces takes the noun from the thing judged, and refuses what it depends on where that sits at other places.
func (r *reader) relationPlaces(t *table, x *Relation, s *Schedule) {
	of := map[string]string{}
	for _, v := range s.Settings {
		of[v.Name] = v.Of
	}
	for _, v := range s.Readings {
		of[v.Name] = v.Of
	}
	thing, ok := of[x.Thing]
	if !ok {
		return
	}
	if x.Of == "" {
		x.Of = thing
	} else if x.Of != thing {
		t.wrong(t.n.items["of"], "leave it out", "%s is of %s, but %q is of %s", t.what, nounOr(x.Of), x.Thing, nounOr(thing))
	}
	if by, ok := of[x.By]; ok && by != thing && by != "" {
		t.wrong(t.n.items["by"], "both are of the same places, or the second is of the machine", "%q is of %s, %q of %s", x.Thing, nounOr(thing), x.By, nounOr(by))
	}
}

func (t *table) readRow(thing, by quantity.Unit, words []string, before []RelationRow, i int) RelationRow {
	t.what = fmt.Sprintf("row %d of %s", i+1, t.what[len("row of "):])
	x := RelationRow{Only: t.readOnly("only", false)}
	var n *node
	if x.Is, n = t.word("is"); n != nil && !contains(words, x.Is) {
		t.wrong(n, didYouMean(x.Is, words), "is of %s is %q", t.what, x.Is)
	}
	var from, to, lo, hi bool
	x.From, from = t.amount("from", by)
	x.To, to = t.amount("to", by)
	x.Min, lo = t.amount("min", thing)
	x.Max, hi = t.amount("max", thing)
	switch {
	case len(words) > 0 && n == nil && t.n.items["is"] == nil:
		t.missing("is", "name one of "+quoted(words, "or"))
	case len(words) == 0 && (t.n.items["from"] == nil || t.n.items["to"] == nil):
		t.missing("from and to", "say for which values the row holds")
	case from && to:
		if c, _ := x.From.Cmp(x.To); c >= 0 {
			t.wrong(t.n.items["to"], "from is the lesser", "%s runs from %s to %s", t.what, x.From, x.To)
		}
	}
	switch {
	case t.n.items["min"] == nil || t.n.items["max"] == nil:
		t.missing("min and max", "say what the thing may be")
	case lo && hi:
		if c, _ := x.Min.Cmp(x.Max); c > 0 {
			t.wrong(t.n.items["max"], "min is the lesser", "%s allows %s to %s", t.what, x.Min, x.Max)
		}
	}
	for k, b := range before {
		if len(b.Only) > 0 || len(x.Only) > 0 || !from || !to || b.Is != "" {
			continue
		}
		c1, e1 := b.To.Cmp(x.From)
		c2, e2 := x.To.Cmp(b.From)
		if e1 == nil && e2 == nil && c1 > 0 && c2 > 0 {
			t.wrong(t.n.items["from"], "let each row begin where the last one ends", "%s overlaps row %d", t.what, k+1)
		}
	}
	t.finish()
	return x
}

func (r *reader) readSetups(top *table, s *Schedule) []Setup {
	var out []Setup
	for _, t := range top.named("setup") {
		x := Setup{Name: t.name, Title: t.title(), Only: t.readOnly("only", true)}
		r.claim(x.Name, "setup", t.n)
		if t.n.items["values"] == nil {
			t.missing("values", `write values = [{ setting = "depth", to = 4 }]`)
		}
		for _, v := range t.tables("values", "value", "a value of "+t.what) {
			x.Values = append(x.Values, v.readSetupValue(s))
		}
		t.finish()
		out = append(out, x)
	}
	return out
}

func (t *table) readSetupValue(s *Schedule) SetupValue {
	x := SetupValue{Setting: t.ref("setting", "setting"), Where: t.text("where"), Only: t.readOnly("only", true)}
	if t.n.items["setting"] == nil {
		t.missing("setting", "name it")
	}
	n := t.value("to")
	if n == nil {
		if t.n.items["to"] == nil {
			t.missing("to", "say what it is set to")
		}
		t.finish()
		return x
	}
	text, ok := amountText(n)
	if !ok {
		t.wrong(n, "write an amount or a word", "to of %s is %s", t.what, n.kind)
	}
	for i := range s.Settings {
		if set := &s.Settings[i]; ok && set.Name == x.Setting {
			v, err := set.ParseValue(text)
			if err != nil {
				t.wrong(n, "", "to of %s: %v", t.what, err)
			}
			x.To = v.String()
		}
	}
	t.finish()
	return x
}

func (r *reader) readSpecs(top *table) []Spec {
	var out []Spec
	for _, t := range top.named("spec") {
		x := Spec{Name: t.name, Words: t.texts("words"), Value: t.text("value"), Note: t.text("note"), Only: t.readOnly("only", true)}
		if t.n.items["value"] == nil {
			t.missing("value", "write the line of the spec card")
		}
		t.finish()
		out = append(out, x)
	}
	return out
}

// readCautions reads the schedule's own and adds the standard ones its jobs name, in the order of the standard list.
func (r *reader) readCautions(top *table, s *Schedule) []Caution {
	standard := StandardCautions()
	for _, c := range standard {
		r.index["standard caution"] = append(r.index["standard caution"], c.Name)
	}
	var own, out []Caution
	for _, t := range top.named("caution") {
		c := Caution{Name: t.name, Text: t.text("text")}
		if c.Text == "" && (t.n.items["text"] == nil || t.n.items["text"].text == "") {
			t.missing("text", "write the one line to be printed")
		}
		if contains(r.index["standard caution"], c.Name) {
			r.fail(t.n.mistake(t.n.key, fmt.Sprintf("%s is a standard one and keeps its words", t.what), "give yours another name and list both"))
		}
		t.finish()
		own = append(own, c)
	}
	used := map[string]bool{AnyJob: true}
	for _, j := range s.Jobs {
		for _, c := range j.Cautions {
			used[c] = true
		}
	}
	for _, c := range standard {
		if used[c.Name] {
			out = append(out, c)
		}
	}
	return append(out, own...)
}

// checkWhole checks what only the whole text shows.
func (r *reader) checkWhole(s *Schedule, root *node) {
	at := func(section, name string) *node { return root.items[section].items[name] }
	of := map[string]string{} // noun of each group and pair
	for _, g := range s.Groups {
		of["group "+g.Name] = g.Of
	}
	for _, p := range s.Pairs {
		of["pair "+p.Name] = p.Of
	}
	for _, p := range s.Parts {
		of["part "+p.Name] = p.Of
		n := at("part", p.Name)
		if p.Partner != "" && of["pair "+p.Partner] != p.Of {
			r.fail(n.items["partner"].mistake(n.items["partner"].start, fmt.Sprintf("pair %q is of %s, part %q of %s", p.Partner, nounOr(of["pair "+p.Partner]), p.Name, nounOr(p.Of)), "name a pair of the same places"))
		}
	}
	for _, x := range s.Readings {
		i := slices.IndexFunc(s.Parts, func(p Part) bool { return p.Name == x.Part && p.Of == x.Of })
		if n := at("reading", x.Name); x.Handed && i >= 0 && !s.Parts[i].Handed { // whose size would it be?
			r.fail(n.items["handed"].mistake(n.items["handed"].start, fmt.Sprintf("reading %q is taken at each hand, and there is one %s for both", x.Name, x.Part), "make the part handed too, or leave part out"))
		}
	}
	for _, j := range s.Jobs {
		n := at("job", j.Name)
		if g := of["group "+j.Group]; j.Group != "" && g != "" && g != j.Of {
			r.fail(n.items["group"].mistake(n.items["group"].start, fmt.Sprintf("group %q is of %s, job %q of %s", j.Group, nounOr(g), j.Name, nounOr(j.Of)), "name a group of the same places"))
		}
		if p, ok := of["part "+j.Swaps]; j.Swaps != "" && ok && p != j.Of {
			r.fail(n.items["swaps"].mistake(n.items["swaps"].start, fmt.Sprintf("part %q sits at %s, job %q is of %s", j.Swaps, nounOr(p), j.Name, nounOr(j.Of)), "give both the same of"))
		}
		if p, ok := of["part "+j.Turns]; j.Turns != "" && ok && p != j.Of {
			r.fail(n.items["turns"].mistake(n.items["turns"].start, fmt.Sprintf("part %q sits at %s, job %q is of %s", j.Turns, nounOr(p), j.Name, nounOr(j.Of)), "give both the same of"))
		}
		if j.Turns != "" && j.Swaps != "" {
			r.fail(n.items["turns"].mistake(n.items["turns"].start, fmt.Sprintf("job %q both swaps a part and turns one", j.Name), "make two jobs of it"))
		}
		for _, key := range []string{"loosens"} {
			for _, name := range j.Loosens {
				for _, o := range s.Jobs {
					if o.Name == name && len(o.Torques) == 0 {
						for _, item := range (&table{r: r, n: n}).listNodes(key) {
							if item.text == name {
								r.fail(item.mistake(item.start, fmt.Sprintf("job %q has no torques", name), "what is loosened needs a job that tightens it"))
							}
						}
					}
				}
			}
		}
	}
	r.checkLoops(s, root)
}

// checkLoops refuses jobs that include one another in a ring: doing one would do it again.
func (r *reader) checkLoops(s *Schedule, root *node) {
	includes := map[string][]string{}
	for _, j := range s.Jobs {
		includes[j.Name] = j.Includes
	}
	for _, j := range s.Jobs {
		if contains(j.Includes, j.Name) {
			continue // said already
		}
		seen := map[string]bool{}
		todo := append([]string(nil), j.Includes...)
		for len(todo) > 0 {
			name := todo[0]
			todo = todo[1:]
			if name == j.Name {
				n := root.items["job"].items[j.Name].items["includes"]
				r.fail(n.mistake(n.key, fmt.Sprintf("job %q includes itself by way of others", j.Name), "let the bigger job include the smaller one only"))
				break
			}
			if !seen[name] {
				seen[name] = true
				todo = append(todo, includes[name]...)
			}
		}
	}
}

func nounOr(noun string) string {
	if noun == "" {
		return "the machine"
	}
	return noun
}
