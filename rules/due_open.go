package rules

import (
	"cmp"
	"slices"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// open lists what is wrong and still open: faults, a machine not fit to run, and what was slackened for storage once it is out again.
func (j *judge) open() []finding {
	var found []finding
	unfit := false
	for _, f := range j.m.Faults {
		if f.Closed != "" {
			continue
		}
		unfit = unfit || f.Unfit
		found = append(found, j.fault(f)...)
	}
	if j.m.Unfit && !unfit {
		found = append(found, finding{key: "unfit", Item: Item{State: Open, Cause: ByFault, Severity: record.Severities[0], Title: "not fit to run", Brief: "not fit to run",
			Why: "the machine is not fit to run: find out why before it is used"}})
	}
	switch {
	case j.m.Fitted == nil:
		found = append(found, j.cannot("schedule", "its schedule "+j.m.Kind+" is not in use or cannot be read, so no job of it can be judged"))
	case j.m.Newer:
		found = append(found, j.cannot("newer", "one of its entries needs a newer shedbook: what is due may be wrong until then"))
	}
	if j.m.Stored {
		return found
	}
	for _, what := range j.m.Slack {
		f := finding{key: "slack-" + slug(what), Item: Item{State: Open, Cause: ByFollowOn, Severity: "soon", About: "storage", Title: "put back after storage: " + what, Brief: "put back: " + what,
			Why: "slackened, drained or taken off for storage and not yet put back: " + what}}
		if e := j.latest("storage-out", record.Position{}); e != nil {
			f.Entries, f.Due = []ID{e.Entry}, Amount{Date: e.Done.Date()}
		}
		found = append(found, f)
	}
	return found
}

// cannot says that a machine cannot be judged.
func (j *judge) cannot(key, why string) finding {
	return finding{key: key, Item: Item{State: Unknown, Cause: ByFault, Severity: "soon", Title: "cannot be judged", Brief: "cannot be judged", Why: why, Entries: []ID{j.m.ID}}}
}

// fault is one open fault, at each of its places.
func (j *judge) fault(f *Fault) []finding {
	why := "found " + f.Done.Date()
	severity := f.Severity
	title := f.Text
	switch {
	case f.Part != "" && title != "":
		title = strings.ReplaceAll(f.Part, "-", " ") + ": " + title
	case f.Part != "":
		title = strings.ReplaceAll(f.Part, "-", " ")
	case title == "":
		title = "fault"
	}
	if f.Unfit {
		severity = record.Severities[0]
		why += ", the machine is not fit to run"
	}
	if f.TiedUp {
		why += ", tied up: its use stops"
	}
	switch len(f.Temporary) {
	case 0:
		why += ", not put right yet"
	case 1:
		why += ", put right for the time being only"
	default:
		why += ", put right for the time being only, " + plural(len(f.Temporary), "time", "times")
	}
	brief := title
	if len(f.Temporary) > 0 {
		brief = "for now only: " + title
	}
	item := Item{State: Open, Cause: ByFault, Severity: severity, Title: title, Brief: brief, By: f.Person, Due: Amount{Date: f.Done.Date()}, Why: why,
		Entries: append([]ID{f.ID}, f.Temporary...), Last: LastDone{}}
	places := f.Positions.All()
	if len(places) == 0 {
		places = []record.Position{{}}
	}
	var found []finding
	for _, p := range places {
		found = append(found, finding{Item: item, place: p, of: p.Noun, key: f.ID.Short()})
	}
	return found
}

// slug is words as one word of an item's id.
func slug(s string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		if r == ' ' || r == '/' || r == '\n' {
			return '-'
		}
		return r
	}, strings.ToLower(s)), "-")
}

// disagreements lists settings that should stand alike everywhere and do not. What alike means is one value, or what a set-up of the schedule says,
// whichever fewer places differ from. The places that differ are the Item's.
func (j *judge) disagreements() []finding {
	var found []finding
	for i := range j.m.Fitted.Settings {
		def := &j.m.Fitted.Settings[i]
		if !def.Agree || def.Of == "" {
			continue
		}
		now := map[record.Position]string{}
		var places []record.Position
		for _, p := range j.m.Fitted.All(def.Of).All() {
			v := j.m.Settings[def.Name][p.String()]
			if v != nil && !v.Unknown && !v.Value.IsZero() && j.m.Out[p.String()] == nil {
				now[p] = v.Value.String()
				places = append(places, p)
			}
		}
		odd, brief, why := j.oddOnes(def, places, now)
		var entries []ID
		for _, p := range odd {
			entries = append(entries, j.m.Settings[def.Name][p.String()].Reason.Entries...)
		}
		item := Item{State: Open, Cause: ByLimit, Severity: "tidy", About: def.Name, Title: settingTitle(def) + " should stand alike", Brief: brief, Why: why, Entries: j.inOrder(entries)}
		for _, p := range odd {
			found = append(found, finding{Item: item, place: p, of: def.Of, key: def.Name})
		}
	}
	return found
}

// oddOnes are the places that differ from the commonest value, or from the set-up that fits better, what they stand at in
// few words, and the sentence that says so.
func (j *judge) oddOnes(def *schedule.Setting, places []record.Position, now map[record.Position]string) (odd []record.Position, brief, why string) {
	at := map[string][]record.Position{}
	for _, p := range places {
		at[now[p]] = append(at[now[p]], p)
	}
	if len(at) < 2 {
		return nil, "", ""
	}
	values := make([]string, 0, len(at))
	for v := range at {
		values = append(values, v)
	}
	slices.SortFunc(values, func(a, b string) int { // commonest first, then by first place
		return cmp.Or(len(at[b])-len(at[a]), at[a][0].Compare(at[b][0]))
	})
	odd = slices.DeleteFunc(slices.Clone(places), func(p record.Position) bool { return now[p] == values[0] })
	rest := "the rest " + values[0]
	if len(values) == 2 && len(at[values[0]]) == len(at[values[1]]) {
		rest = j.m.Fitted.Describe(record.NewPositions(at[values[0]]...), def.Of) + " at " + values[0]
	}
	against := ""
	for i := range j.m.Fitted.Setups {
		setup := &j.m.Fitted.Setups[i]
		want, ok := j.inSetup(setup, def, places)
		if !ok {
			continue
		}
		if off := slices.DeleteFunc(slices.Clone(places), func(p record.Position) bool { return now[p] == want[p] }); len(off) < len(odd) {
			odd, rest, against = off, "", " from set-up "+setupTitle(setup)
		}
	}
	var words, each []string
	for _, v := range values {
		if off := slices.DeleteFunc(slices.Clone(at[v]), func(p record.Position) bool { return !slices.Contains(odd, p) }); len(off) > 0 {
			words = append(words, j.m.Fitted.Describe(record.NewPositions(off...), def.Of)+" at "+v)
			each = append(each, v)
		}
	}
	if rest != "" {
		words = append(words, rest)
	}
	short := slices.Clone(words)
	if len(each) == 1 {
		short[0] = "at " + each[0] // the places are the Item's own
	}
	brief = strings.Join(short, ", ") + strings.Replace(against, " from ", ", not as ", 1)
	return odd, brief, settingTitle(def) + " differs" + against + ": " + strings.Join(words, ", ")
}

// inSetup is what a set-up says of a setting at each place; ok is false where it leaves one out.
func (j *judge) inSetup(setup *schedule.Setup, def *schedule.Setting, places []record.Position) (map[record.Position]string, bool) {
	want := map[record.Position]string{}
	for _, v := range setup.Values {
		if v.Setting != def.Name {
			continue
		}
		set := j.m.Fitted.All(def.Of)
		if v.Where != "" {
			var err error
			if set, err = j.m.Fitted.ParseWhere(def.Of, v.Where); err != nil {
				return nil, false
			}
		}
		to, err := def.ParseValue(v.To)
		if err != nil {
			return nil, false
		}
		for _, p := range set.All() {
			want[p] = to.String()
		}
	}
	return want, !slices.ContainsFunc(places, func(p record.Position) bool { return want[p] == "" })
}

func setupTitle(s *schedule.Setup) string {
	if s.Title == "" {
		return s.Name
	}
	return s.Title
}

func settingTitle(def *schedule.Setting) string {
	if def.Title == "" {
		return def.Name
	}
	return def.Title
}

// relations lists places where one thing lies outside the range that another allows, and readings past a limit that no job answers.
func (j *judge) relations() []finding {
	var found []finding
	for i := range j.m.Fitted.Relations {
		rel := &j.m.Fitted.Relations[i]
		if !j.holds(rel.Only, record.Position{}) {
			continue
		}
		for _, p := range j.placesOf(&schedule.Job{Name: "relation:" + rel.Name, Of: rel.Of}) {
			if f, ok := j.relation(rel, p); ok {
				found = append(found, f)
			}
		}
	}
	for i := range j.m.Fitted.Readings {
		def := &j.m.Fitted.Readings[i]
		if j.hasJob(def.Name) {
			continue
		}
		for _, b := range j.beyondAll(def, nil) {
			found = append(found, finding{place: b.at, of: def.Of, key: def.Name, Item: Item{State: Open, Cause: ByLimit, Severity: "soon", About: def.Name,
				Title: readingTitle(def) + " past its limit", Due: Amount{Date: b.r.Done.Date()}, Found: b.found, Bound: b.bound, Entries: []ID{b.r.Entry},
				Why: readingTitle(def) + " measured " + b.r.Done.Date() + ": " + b.why}})
		}
	}
	return found
}

// hasJob reports a job that comes due by the reading's limit.
func (j *judge) hasJob(reading string) bool {
	return slices.ContainsFunc(j.m.Fitted.Jobs, func(job schedule.Job) bool {
		return slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return t.Past == reading })
	})
}

// known is a value with the day it is known from and the entries it rests on.
type known struct {
	value   record.Value
	title   string
	date    string
	entries []ID
}

// relation judges one place.
func (j *judge) relation(rel *schedule.Relation, p record.Position) (finding, bool) {
	by, ok := j.valueAt(rel.By, p)
	if !ok {
		return finding{}, false
	}
	thing, ok := j.valueAt(rel.Thing, p)
	if !ok {
		return finding{}, false
	}
	q, ok := thing.value.Quantity()
	if !ok {
		return finding{}, false
	}
	for i := range rel.Rows {
		row := &rel.Rows[i]
		if !j.holds(row.Only, p) || !rowFits(row, by.value, i == len(rel.Rows)-1) {
			continue
		}
		low, err1 := q.Cmp(row.Min)
		high, err2 := q.Cmp(row.Max)
		if err1 != nil || err2 != nil || low >= 0 && high <= 0 {
			return finding{}, false
		}
		return finding{place: p, of: rel.Of, key: "relation-" + rel.Name, Item: Item{State: Open, Cause: ByLimit, Severity: "soon", About: rel.Thing, Title: thing.title + " does not fit " + by.title,
			Due: Amount{Date: max(thing.date, by.date)}, Brief: q.String() + ", should be " + row.Min.String() + " to " + row.Max.String(), Entries: j.inOrder(append(slices.Clone(thing.entries), by.entries...)),
			Why: thing.title + " is " + q.String() + "; with " + by.title + " at " + by.value.String() + " it should be " + row.Min.String() + " to " + row.Max.String()}}, true
	}
	return finding{}, false
}

// rowFits reports a row that speaks of a value: From counts, To only in the last row.
func rowFits(row *schedule.RelationRow, v record.Value, last bool) bool {
	q, ok := v.Quantity()
	if row.Is != "" || !ok {
		return row.Is != "" && row.Is == v.String()
	}
	from, err1 := q.Cmp(row.From)
	to, err2 := q.Cmp(row.To)
	return err1 == nil && err2 == nil && from >= 0 && (to < 0 || last && to == 0)
}

// valueAt is a setting or the last reading at a place, or the machine's. Steps count as what they are worth; of two hands the smaller reading counts.
func (j *judge) valueAt(name string, p record.Position) (known, bool) {
	if def, ok := j.m.Fitted.Setting(name); ok {
		s := j.standing(name, p)
		if s == nil || s.Unknown || s.Value.IsZero() {
			return known{}, false
		}
		k := known{value: s.Value, title: settingTitle(def), date: s.Since.Date(), entries: s.Reason.Entries}
		if worth, ok := def.Worth(s.Value); ok {
			k.value = record.Amount(worth)
		}
		return k, true
	}
	def, ok := j.m.Fitted.Reading(name)
	if !ok {
		return known{}, false
	}
	var best *Reading
	for _, q := range []record.Position{p, {}} {
		for _, hand := range j.hands(q.Noun) {
			list := j.current(def, q, hand)
			if len(list) > 0 && (best == nil || smaller(valueOf(list[len(list)-1]), valueOf(best))) {
				best = list[len(list)-1]
			}
		}
		if best != nil {
			return known{value: valueOf(best), title: readingTitle(def), date: best.Done.Date(), entries: []ID{best.Entry}}, true
		}
	}
	return known{}, false
}

func smaller(a, b record.Value) bool {
	x, ok1 := a.Quantity()
	y, ok2 := b.Quantity()
	if !ok1 || !ok2 {
		return false
	}
	c, err := x.Cmp(y)
	return err == nil && c < 0
}
