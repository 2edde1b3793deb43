package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// shownSchedule is a schedule as show prints it: of a machine as it is built, of a kind with its usual options.
type shownSchedule struct {
	*call
	f     *schedule.Fitted
	plain *schedule.Schedule // before overrides
	m     *rules.Machine     // nil: a kind
}

// print writes the schedule section by section; under is a path at which it stops ("job", "job.grease"), "" for all.
func (t *shownSchedule) print(under string) {
	s := t.f.Schedule
	if t.m != nil {
		t.line(bold, t.m.Name+": "+s.Title+" ("+s.Name+")", "")
	} else {
		t.line(bold, s.Name+": "+s.Title, "")
	}
	if under == "" {
		t.line("", s.About, "")
		t.line("", before("source: ", s.Source), "")
		if len(s.Work) > 0 {
			t.line("", "for "+strings.Join(s.Work, ", "), "")
		}
		t.overrides()
	}
	for _, part := range []struct {
		path, name string
		print      func(only string)
	}{
		{"option", "options", t.options}, {"place", "places", t.places}, {"counter", "counters", t.counters}, {"part", "parts", t.parts}, {"setting", "settings", t.settings},
		{"reading", "readings", t.readings}, {"job", "jobs", t.jobs}, {"relation", "what must fit together", t.relations}, {"setup", "set-ups", t.setups}, {"spec", "spec card", t.specs},
		{"caution", "cautions", t.cautions},
	} {
		head, only, _ := strings.Cut(under, ".")
		if head != "" && head != part.path {
			continue
		}
		only, _, _ = strings.Cut(only, ".")
		var text strings.Builder
		e := *t.env
		e.stdout = &text
		c := *t.call
		c.env = &e
		out := t.call
		t.call = &c
		part.print(only)
		t.call = out
		if text.Len() > 0 {
			t.printf("\n%s\n%s", t.paint(bold, part.name), text.String())
		}
	}
	t.printf("\n%s\n", table.Wrap(table.Clean(strings.ReplaceAll(s.Rules, "\n", " ")), t.columns(), ""))
}

// line writes one cleaned, wrapped line; "" writes none.
func (t *shownSchedule) line(style, s, indent string) {
	if s == "" {
		return
	}
	for l := range strings.Lines(table.Wrap(indent+table.Clean(s), t.columns(), indent+"  ")) {
		t.printf("%s\n", t.paint(style, strings.TrimSuffix(l, "\n")))
	}
}

// overrides lists the values of one's own, with their page.
func (t *shownSchedule) overrides() {
	if len(t.f.Overrides)+len(t.f.Dropped) == 0 {
		return
	}
	t.printf("\n%s\n", t.paint(bold, "own values"))
	was := map[string]string{}
	for _, p := range t.plain.Paths() {
		was[p.Path] = p.Value
	}
	for _, o := range t.f.Overrides {
		s := o.Path + ": " + plainValue(o.Value) + " (" + o.Page + ")"
		if w, ok := was[o.Path]; ok {
			s += ", in place of " + plainValue(w)
		}
		t.line("", s+" ["+o.Entry.Short()+"]", "  ")
	}
	for _, d := range t.f.Dropped {
		t.line("", d.Path+": "+plainValue(d.Value)+" ("+d.Page+") no longer fits: "+d.Why+" ["+d.Entry.Short()+"]", "  ")
	}
}

// plainValue is a TOML value without the quotes of a text.
func plainValue(v string) string {
	if len(v) > 1 && v[0] == '"' && v[len(v)-1] == '"' && !strings.ContainsAny(v[1:len(v)-1], `"\`) {
		return v[1 : len(v)-1]
	}
	return v
}

func (t *shownSchedule) options(only string) {
	tb := table.New("", "", "", "")
	value := map[string]string{}
	for _, o := range t.f.OptionValues {
		value[o.Name] = o.Value
	}
	for i := range t.f.Options {
		o := &t.f.Options[i]
		if only == "" || only == o.Name {
			tb.Row(o.Name, value[o.Name], optionWords(o), o.About)
		}
	}
	t.printf("%s", tb.Text(t.columns()))
}

func (t *shownSchedule) places(only string) {
	for i := range t.f.Places {
		p := &t.f.Places[i]
		if only != "" && only != p.Noun {
			continue
		}
		all := t.f.All(p.Noun)
		s := fmt.Sprintf("%d %s", all.Len(), p.Plural)
		if len(p.Names) > 0 {
			s += ": " + strings.Join(p.Names, ", ")
		} else {
			s += ", numbered left to right, standing behind the machine"
		}
		if p.Ranks != "" && p.Ranks != "1" {
			s += ", in " + p.Ranks + " ranks"
		}
		if p.Walk == "serpentine" {
			s += ", walked rank by rank there and back"
		}
		if len(p.Hands) > 0 {
			s += ", " + strings.Join(p.Hands, " and ") + " in each"
		}
		t.line("", s, "  ")
	}
	for _, g := range t.f.Groups {
		if set, ok := t.f.GroupPositions(g.Name); ok && only == "" {
			t.line("", g.Name+": "+g.Of+"s "+runsOf(set), "  ")
		}
	}
	for _, g := range t.f.Farm {
		if only == "" {
			t.line("", g.Name+" (your own): "+g.Positions.String(), "  ")
		}
	}
	for _, a := range t.f.Assemblies {
		if only == "" {
			t.line("", a.Name+": "+strings.Join(a.Parts, ", ")+" taken off and put on as one", "  ")
		}
	}
}

// runsOf is a set's numbers and names without their noun.
func runsOf(set record.Positions) string {
	var out []string
	for _, s := range set.Strings() {
		out = append(out, s[strings.IndexByte(s, '/')+1:])
	}
	return strings.Join(out, ", ")
}

func (t *shownSchedule) counters(only string) {
	for i := range t.f.Counters {
		c := &t.f.Counters[i]
		if only != "" && only != c.Name {
			continue
		}
		s := c.Name + " in " + c.Unit.String()
		if c.Main {
			s += ", the one meant when none is named"
		}
		if c.Trip {
			s += ", set back to nothing now and then"
		}
		if d := c.Derive; d != nil {
			switch {
			case d.From != "":
				s += fmt.Sprintf(", worked out from %s where it is not read: %s wide, %s, %s of the time", d.From, d.Width, d.Speed, d.Efficiency)
			case d.Carrier != "":
				s += ", that of the machine it is hitched to where it is not read"
			}
		}
		t.line("", s, "  ")
	}
}

func (t *shownSchedule) noun(of, group string) string {
	if group != "" {
		return spaced(group)
	}
	if p, _, ok := t.f.Noun(of); ok {
		return p.Plural
	}
	return ""
}

func (t *shownSchedule) parts(only string) {
	tb := table.New("", "", "")
	for i := range t.f.Parts {
		p := &t.f.Parts[i]
		if only != "" && only != p.Name {
			continue
		}
		tb.Row(p.Name, t.noun(p.Of, ""), marks(iff(p.Handed, "one for each hand"), iff(p.Set, "replaced all together"), before("with it: ", strings.Join(p.With, ", ")), iff(p.Partner != "", "its partner's too"),
			iff(p.Edges > 1, fmt.Sprintf("%d edges", p.Edges)), iff(p.Per > 1, fmt.Sprintf("one for %d", p.Per)), iff(p.Pack > 1, fmt.Sprintf("in packs of %d", p.Pack)), before("takes ", p.Lead)+iff(p.Lead != "", " to get")))
	}
	t.printf("%s", tb.Text(t.columns()))
}

func (t *shownSchedule) settings(only string) {
	tb := table.New("", "", "", "")
	for i := range t.f.Settings {
		s := &t.f.Settings[i]
		if only != "" && only != s.Name {
			continue
		}
		tb.Row(s.Name, s.Title, t.noun(s.Of, ""), strings.TrimPrefix(s.Range(), "it ")+iff(!s.StepIs.IsZero(), ", a step is "+t.both(s.StepIs))+iff(s.Agree, ", all alike"))
		if only != "" {
			tb.Under(s.How)
		}
	}
	t.printf("%s", tb.Text(t.columns()))
}

func (t *shownSchedule) readings(only string) {
	tb := table.New("", "", "", "", "")
	for i := range t.f.Readings {
		r := &t.f.Readings[i]
		if only != "" && only != r.Name {
			continue
		}
		what := r.Unit.String()
		limit := ""
		if len(r.Grades) > 0 {
			what = strings.Join(r.Grades, ", ")
			limit = before("past from ", r.BadFrom)
		}
		if r.Limit != nil {
			limit = limitWords(r.Limit, t.both)
		}
		if r.HasNew {
			limit = marks("new "+t.both(r.New), limit)
		}
		tb.Row(r.Name, r.Title, t.noun(r.Of, ""), what, limit)
		if only != "" {
			tb.Under(r.How)
			if r.Computed != nil {
				tb.Under("worked out: " + r.Computed.String())
			}
		}
	}
	t.printf("%s", tb.Text(t.columns()))
}

func (t *shownSchedule) relations(only string) {
	for _, r := range t.f.Relations {
		if only != "" && only != r.Name {
			continue
		}
		t.line("", r.Name+": "+spaced(r.Thing)+" by "+spaced(r.By), "  ")
		for _, row := range r.Rows {
			at := spaced(row.Is)
			if row.Is == "" {
				at = t.both(row.From) + " to " + t.both(row.To)
			}
			t.line("", at+": "+t.both(row.Min)+" to "+t.both(row.Max), "    ")
		}
	}
}

func (t *shownSchedule) setups(only string) {
	for _, s := range t.f.Setups {
		if only != "" && only != s.Name {
			continue
		}
		var values []string
		for _, v := range s.Values {
			values = append(values, strings.TrimSpace(v.Setting+" "+v.To+before(" on ", v.Where)))
		}
		t.line("", s.Name+": "+strings.Join(values, ", "), "  ")
	}
}

func (t *shownSchedule) specs(only string) {
	tb := table.New("", "", "")
	for _, s := range t.f.Specs {
		if only == "" || only == s.Name {
			tb.Row(s.Name, s.Value, s.Note)
		}
	}
	t.printf("%s", tb.Text(t.columns()))
}

func (t *shownSchedule) cautions(only string) {
	for _, c := range t.f.Cautions {
		if only == "" || only == c.Name {
			t.line("", c.Name+": "+c.Text, "  ")
		}
	}
}

// paths lists every value that can be overridden, those of one's own marked with their page.
func (t *shownSchedule) paths(under string) bool {
	own := map[string]schedule.Override{}
	for _, o := range t.f.Overrides {
		own[o.Path] = o
	}
	tb := table.New("path", "value", "own value")
	tb.Keep(0)
	paths := t.plain.Paths()
	for _, o := range t.f.Overrides {
		if !slices.ContainsFunc(paths, func(p schedule.PathValue) bool { return p.Path == o.Path }) {
			paths = append(paths, schedule.PathValue{Path: o.Path})
		}
	}
	for _, p := range paths {
		if under != "" && p.Path != under && !strings.HasPrefix(p.Path, under+".") {
			continue
		}
		mine := ""
		if o, ok := own[p.Path]; ok {
			mine = plainValue(o.Value) + " (" + o.Page + ")"
		}
		tb.Row(p.Path, plainValue(p.Value), mine)
	}
	t.printf("%s", tb.Text(t.columns()))
	return tb.Len() > 0
}
