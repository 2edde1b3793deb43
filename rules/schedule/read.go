package schedule

import (
	"fmt"
	"strings"

	"shedbook/rules/quantity"
)

// OperatorsManual is the first of every schedule's Rules.
const OperatorsManual = "The operator's manual, local codes and licensed practice rule; the figures here are a guide and never replace them."

// reserved words stand for something else on a command line or in a list of positions.
var reserved = []string{"all", "and", "but", "each", "from", "left", "machine", "none", "off", "on", "right", "same", "setup", "the", "to", "whole", "with"}

// Parse reads and checks a schedule's text; file is the name for messages. The error is Errors: every mistake at once.
func Parse(file string, text []byte) (*Schedule, error) {
	root, err := parseTree(file, text)
	if err != nil {
		return nil, err
	}
	s, r := read(root, nil)
	if len(r.errs) > 0 {
		return nil, r.errs.sorted()
	}
	s.Text = string(text)
	f, err := s.fit(nil, nil, nil)
	if err != nil {
		return nil, Errors{root.mistake(0, err.Error(), "")} // not reached while read checks what fit needs
	}
	if errs := f.whereMistakes(s, root); len(errs) > 0 {
		return nil, errs.sorted()
	}
	return s, nil
}

// whereMistakes are the places of set-ups that a machine with the default options has not. A group of the schedule may be absent from it.
func (f *Fitted) whereMistakes(s *Schedule, root *node) Errors {
	var errs Errors
	for _, u := range s.Setups {
		list := root.items["setup"].items[u.Name].items["values"]
		for i, v := range u.Values {
			set, ok := f.Setting(v.Setting)
			_, group := find(s.Groups, v.Where, func(g *Group) string { return g.Name })
			if !ok || group || v.Where == "" {
				continue
			}
			if _, err := f.ParseWhere(set.Of, v.Where); err != nil {
				n := list
				if list.kind == listNode {
					n = list.list[i]
				}
				n = n.items["where"]
				errs = append(errs, n.mistake(n.start, fmt.Sprintf("where of a value of setup %q: %v", u.Name, err), ""))
			}
		}
	}
	return errs
}

// read turns a tree into a schedule with the given option values, defaults where there is none. Only when r.errs is empty is the schedule whole.
func read(root *node, values map[string]string) (*Schedule, *reader) {
	return readAs(root, values, false)
}

// list reads a tree and notes every path and key on the way.
func list(root *node, values map[string]string) *reader {
	_, r := readAs(root, values, true)
	return r
}

func readAs(root *node, values map[string]string, listing bool) (*Schedule, *reader) {
	r := &reader{options: map[string]Option{}, values: map[string]string{}, claims: map[string]claim{}, index: map[string][]string{}, listing: listing,
		asked: map[string][]string{}, grammar: map[string][]string{}}
	s := &Schedule{root: root}
	r.schedule = s
	t := &table{r: r, n: root, kind: "top", what: "the schedule"}
	if !r.version(t) {
		return s, r
	}
	var at *node
	if s.Name, at = t.word("name"); at == nil && root.items["name"] == nil {
		r.fail(root.mistake(0, "the schedule has no name", `write name = "disc-drill" or the like near the top`))
	}
	s.Options = r.readOptions(t, values)
	if s.Title = t.text("title"); s.Title == "" {
		s.Title = spaced(s.Name)
	}
	s.About, s.Source = t.text("about"), t.text("source")
	s.Rules = strings.TrimSpace(OperatorsManual + "\n" + t.text("rules"))
	s.Work = t.words("work")
	r.index["work"] = s.Work
	s.Counters = r.readCounters(t)
	r.counters = s.Counters
	s.Places = r.readPlaces(t)
	s.Groups = r.readGroups(t)
	s.Pairs = r.readPairs(t)
	s.Parts = r.readParts(t)
	s.Assemblies = r.readAssemblies(t)
	s.Settings = r.readSettings(t)
	s.Readings = r.readReadings(t)
	s.Jobs = r.readJobs(t)
	s.Relations = r.readRelations(t, s)
	s.Setups = r.readSetups(t, s)
	s.Specs = r.readSpecs(t)
	s.Cautions = r.readCautions(t, s)
	t.finish()
	for len(r.later) > 0 {
		check := r.later[0]
		r.later = r.later[1:]
		check()
	}
	r.checkWhole(s, root)
	return s, r
}

// version checks the grammar version; a newer text is not read further, for every unknown key in it would be reported.
func (r *reader) version(t *table) bool {
	n := t.raw("shedbook_schedule")
	if n == nil {
		r.fail(t.n.mistake(0, "the version line is missing", "begin the text with shedbook_schedule = 1"))
		return true
	}
	v, ok := n.integer()
	switch {
	case n.kind != integerNode || !ok || v < 1:
		r.fail(n.mistake(n.start, fmt.Sprintf("shedbook_schedule is %s, which is no version", n.format()), "write shedbook_schedule = 1"))
	case v > Version:
		r.fail(n.mistake(n.start, fmt.Sprintf("the text is written in version %d of the grammar and needs a newer shedbook", v),
			fmt.Sprintf("this one reads version %d", Version)))
		return false
	}
	return true
}

// claim takes a word of the shared namespace.
func (r *reader) claim(word, what string, at *node) {
	if !isName(word) {
		return
	}
	if contains(reserved, word) {
		r.fail(at.mistake(at.key, fmt.Sprintf("%q cannot be the name of a %s: the word is reserved", word, what), "choose another name"))
		return
	}
	if old, ok := r.claims[word]; ok {
		line, _ := old.at.src.at(old.at.key)
		r.fail(at.mistake(at.key, fmt.Sprintf("%s %q has the name of the %s of line %d", what, word, old.what, line),
			"these words share one list: rename one"))
		return
	}
	r.claims[word] = claim{what, at}
}

// spaced is a name as people read it.
func spaced(name string) string { return strings.ReplaceAll(name, "-", " ") }

// title is the title, or the name with blanks.
func (t *table) title() string {
	if s := t.text("title"); s != "" {
		return s
	}
	return spaced(t.name)
}

func (r *reader) readOptions(top *table, values map[string]string) []Option {
	var out []Option
	for _, t := range top.named("option") {
		o := Option{Name: t.name, About: t.text("about")}
		o.Type = t.oneOf("type", "", "count", "choice", "yes-no", "amount")
		o.Min, o.Max = t.count("min", 0, maxPlaces), t.count("max", 0, maxPlaces)
		o.Choices, o.Unit = t.words("choices"), t.unit("unit")
		o.Low, _ = t.amount("low", o.Unit)
		o.High, _ = t.amount("high", o.Unit)
		for _, k := range []struct{ key, of string }{{"min", "count"}, {"max", "count"}, {"choices", "choice"}, {"unit", "amount"}, {"low", "amount"}, {"high", "amount"}} {
			if n := t.n.items[k.key]; n != nil && o.Type != "" && o.Type != k.of {
				t.r.fail(n.mistake(n.key, fmt.Sprintf("%s is for options of type %q; %s is %q", k.key, k.of, t.what, o.Type), "take it out"))
			}
		}
		n := t.value("default")
		switch {
		case o.Type == "":
			if t.n.items["type"] == nil {
				t.missing("type", `write type = "count", "choice", "yes-no" or "amount"`)
			}
		case o.Type == "count" && (o.Max < 1 || o.Min > o.Max):
			t.missing("sensible range", "write min and max, the greatest at least 1")
		case o.Type == "choice" && len(o.Choices) < 2:
			t.missing("choices", `write choices = ["one", "other"]`)
		case o.Type == "amount" && (o.Unit == quantity.Unit{}):
			t.missing("unit", `write unit = "in" or the like`)
		case n == nil:
			t.missing("default", "write the commonest value")
		default:
			text := n.text
			if n.kind == boolNode {
				text = map[string]string{"true": "yes", "false": "no"}[text]
			}
			var err error
			if o.Default, err = o.Check(text); err != nil {
				t.wrong(n, "", "default of %s: %v", t.what, err)
			}
		}
		t.finish()
		r.options[o.Name] = o
		r.values[o.Name] = o.Default
		if v, ok := values[o.Name]; ok {
			r.values[o.Name] = v
		}
		out = append(out, o)
	}
	return out
}

// Check is the value in its one form, or an error that says what the option takes.
func (o *Option) Check(value string) (string, error) {
	switch o.Type {
	case "count":
		v, ok := (&node{text: value}).integer()
		if !ok || v < o.Min || v > o.Max {
			return "", fmt.Errorf("option %s is a whole number from %d to %d, not %q", o.Name, o.Min, o.Max, value)
		}
		return fmt.Sprint(v), nil
	case "yes-no":
		if value != "yes" && value != "no" {
			return "", fmt.Errorf("option %s is yes or no, not %q", o.Name, value)
		}
		return value, nil
	case "choice":
		if !contains(o.Choices, value) {
			hint := "write " + listed(o.Choices, "or")
			if near := Suggest(value, o.Choices); len(near) > 0 {
				hint = "did you mean " + quoted(near, "or") + "?"
			}
			return "", fmt.Errorf("option %s cannot be %q: %s", o.Name, value, hint)
		}
		return value, nil
	}
	q, err := quantity.ParseIn(value, o.Unit)
	if err != nil {
		return "", fmt.Errorf("option %s: %w", o.Name, err)
	}
	none := quantity.Quantity{}
	if below, _ := q.Cmp(o.Low); o.Low != none && below < 0 {
		return "", fmt.Errorf("option %s is at least %s, not %s", o.Name, o.Low, q)
	}
	if above, _ := q.Cmp(o.High); o.High != none && above > 0 {
		return "", fmt.Errorf("option %s is at most %s, not %s", o.Name, o.High, q)
	}
	return q.String(), nil
}

func (r *reader) readCounters(top *table) []Counter {
	tables := top.named("counter")
	var out []Counter
	mains := 0
	for _, t := range tables {
		c := Counter{Name: t.name, Unit: t.unit("unit"), Trip: t.flag("trip"), Main: t.flag("main")}
		r.claim(c.Name, "counter", t.n)
		if isCalendar(c.Unit) {
			t.wrong(t.n.items["unit"], "days and years are counted anyway", "%s counts calendar time", t.what)
		}
		if c.Main {
			if mains++; mains > 1 {
				t.wrong(t.n.items["main"], "keep one", "%s is a second main counter", t.what)
			}
			if c.Trip {
				t.wrong(t.n.items["main"], "make a lifetime counter the main one", "%s is a trip counter and cannot be the main one", t.what)
			}
		}
		out = append(out, c)
	}
	if mains == 0 && len(tables) == 1 && !out[0].Trip {
		out[0].Main = true
	} else if mains == 0 && len(tables) > 0 {
		tables[0].missing("main = true, nor has another counter", "say which counter is meant when a person names none")
	}
	for i, t := range tables {
		d := t.one("derive", "derive", "derive of "+t.what)
		if d != nil {
			out[i].Derive = r.readDerive(d, out[i], out)
		}
		t.finish()
	}
	return out
}

func (r *reader) readDerive(t *table, c Counter, all []Counter) *Derive {
	d := &Derive{}
	var width, speed, efficiency bool
	d.From = t.ref("from", "counter")
	d.Width, width = t.quantity("width", quantity.Length, `"30 ft"`)
	d.Speed, speed = t.quantity("speed", quantity.Speed, `"5 mi/h"`)
	d.Efficiency, efficiency = t.quantity("efficiency", quantity.Ratio, `"75 %"`)
	d.Carrier, _ = t.word("carrier")
	switch {
	case d.From == "" && d.Carrier == "":
		t.missing("from or carrier", `write from = "area" with width, speed and efficiency, or carrier = "hours"`)
	case d.From != "":
		for _, k := range []string{"width", "speed", "efficiency"} {
			if t.n.items[k] == nil {
				t.missing(k, "hours are area over width x speed x efficiency")
			}
		}
		if width && speed && efficiency {
			if _, err := quantity.FieldCapacity(d.Width, d.Speed, d.Efficiency); err != nil {
				t.r.fail(t.n.mistake(t.n.start, fmt.Sprintf("%s: %v", t.what, err), ""))
			}
		}
		hour := quantity.MustUnit("h")
		if !c.Unit.Converts(hour) {
			t.r.fail(t.n.mistake(t.n.start, fmt.Sprintf("counter %q counts in %s", c.Name, unitName(c.Unit)), "only hours are worked out from an area"))
		}
		for _, o := range all {
			if o.Name == d.From && o.Unit.Dimension() != quantity.Area {
				t.wrong(t.n.items["from"], "name a counter of acres or hectares", "counter %q counts in %s", o.Name, unitName(o.Unit))
			}
		}
	}
	t.finish()
	return d
}
