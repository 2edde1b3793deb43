package schedule

import (
	"fmt"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func (r *reader) readJobs(top *table) []Job {
	var out []Job
	for _, t := range top.named("job") {
		out = append(out, r.readJob(t))
	}
	return out
}

func (r *reader) readJob(t *table) Job {
	j := Job{Name: t.name, Title: t.title(), Of: t.ref("of", "place"), Group: t.ref("group", "group"),
		Severity: t.oneOf("severity", append([]string{""}, record.Severities...)...),
		Only:     t.readOnly("only", false), Minutes: t.fraction("minutes"), Hands: t.count("hands", 1, 9),
		Who: t.oneOf("who", "", "anyone", "trained", "licensed"), Tools: t.texts("tools"), Points: t.count("points", 1, 99),
		Results: t.words("results"), Open: t.text("open"), Order: t.count("order", 1, 999),
		Includes: t.refs("includes", "job"), Loosens: t.refs("loosens", "job"), Next: t.refs("next", "job"), Try: t.refs("try", "job"),
		Sets: t.refs("sets", "setting"), Measures: t.refs("measures", "reading"), Swaps: t.ref("swaps", "part", "assembly"), Turns: t.ref("turns", "part"),
		Fails: t.oneOf("fails", append([]string{""}, record.Severities...)...), How: t.text("how"), Cautions: t.refs("cautions", "caution", "standard caution")}
	r.claim(j.Name, "job", t.n)
	if j.Severity == "" {
		j.Severity = "soon"
	}
	if j.Who == "" {
		j.Who = "anyone"
	}
	if j.Minutes != nil && j.Minutes.Sign() <= 0 {
		t.wrong(t.n.items["minutes"], "write the minutes for one place", "minutes of %s is %s", t.what, j.Minutes.RatString())
	}
	for _, key := range []string{"includes", "loosens", "next", "try"} {
		for _, n := range t.listNodes(key) {
			if n.text == j.Name {
				t.wrong(n, "take it out", "%s of %s names the job itself", key, t.what)
			}
		}
	}
	if !contains(j.Cautions, AnyJob) {
		j.Cautions = append([]string{AnyJob}, j.Cautions...)
	}
	for _, u := range t.tables("uses", "use", "uses of "+t.what) {
		x := Use{What: u.text("what")}
		x.Amount, _ = u.anyAmount("amount")
		if u.n.items["what"] == nil {
			u.missing("what", `write uses = [{ what = "grease", amount = "5 pumps" }]`)
		}
		u.finish()
		j.Uses = append(j.Uses, x)
	}
	for _, u := range t.tables("torques", "torque", "torques of "+t.what) {
		j.Torques = append(j.Torques, u.readTorque(j))
	}
	for _, w := range t.tables("when", "trigger", "when of "+t.what) {
		j.When = append(j.When, r.readTrigger(w, t, j))
	}
	r.later = append(r.later, func() { t.checkAbout(j) })
	t.finish()
	return j
}

// checkAbout checks that what a job sets and measures sits where the job is done.
func (t *table) checkAbout(j Job) {
	for _, n := range t.listNodes("sets") {
		if x, ok := find(t.r.schedule.Settings, n.text, func(x *Setting) string { return x.Name }); ok {
			t.samePlaces(n, "setting", n.text, x.Of, j)
		}
	}
	for _, n := range t.listNodes("measures") {
		if x, ok := find(t.r.schedule.Readings, n.text, func(x *Reading) string { return x.Name }); ok {
			t.samePlaces(n, "reading", n.text, x.Of, j)
		}
	}
}

// listNodes are the texts of a list without noting the key as read.
func (t *table) listNodes(key string) []*node {
	n := t.n.items[key]
	switch {
	case n == nil:
		return nil
	case n.kind == listNode:
		return n.list
	}
	return []*node{n}
}

// readValue is a fastener's torque as a manual has it; whether it is there at all readTorque checks.
func (t *table) readValue() Torque {
	q := Torque{What: t.text("what"), Size: t.text("size"), LeftHand: t.flag("left_hand")}
	example := `"75 lbf.ft"`
	q.Value, _ = t.quantity("value", quantity.Torque, example)
	q.Min, _ = t.quantity("min", quantity.Torque, example)
	q.Max, _ = t.quantity("max", quantity.Torque, example)
	if t.n.items["what"] == nil {
		t.missing("what", "name the fastener")
	}
	value, low, high := t.n.items["value"], t.n.items["min"], t.n.items["max"]
	switch {
	case value == nil:
	case (low == nil) != (high == nil):
		t.missing("whole range", "write both min and max, or neither: then it is within 5 % of the value")
	case low != nil && q.Min.Sign() != 0 && q.Max.Sign() != 0 && q.Value.Sign() != 0:
		a, _ := q.Min.Cmp(q.Value)
		b, _ := q.Value.Cmp(q.Max)
		if a > 0 || b > 0 {
			t.wrong(value, "min, value and max go upwards", "%s is %s, outside %s to %s", t.what, q.Value, q.Min, q.Max)
		}
	}
	if value != nil && q.Value.Sign() < 0 {
		t.wrong(value, "write "+example, "%s is %s", t.what, q.Value)
	}
	return q
}

// events are what a trigger's after may name, each with the kinds of things that may follow a colon; a "?" marks one that may stand alone.
var events = map[string][]string{
	"swap": {"part", "assembly"}, "did": {"job"}, "loosened": {"?", "job"}, "adjust": {"setting"}, "measure": {"reading"},
	"fault": {"?", "part"}, "repair": {"?", "part"}, "season-open": {"?", "work"}, "season-close": {"?", "work"},
	"storage-in": {"?"}, "storage-out": {"?"}, "hitch": {"?"}, "move": {"?"},
}

var eventNames = []string{"swap:PART", "did:JOB", "loosened", "loosened:JOB", "adjust:SETTING", "measure:READING", "fault", "repair",
	"season-open", "season-close", "storage-in", "storage-out", "hitch", "move"}

func (r *reader) readTrigger(t, job *table, j Job) Trigger {
	g := Trigger{Every: t.intervals("every"), First: t.intervals("first"), Grid: t.flag("grid"), Soon: t.interval("soon"),
		Worked: t.count("worked", 1, 999), Idle: t.count("idle", 1, 9999),
		Season: t.oneOf("season", "", "before", "after"), Work: t.ref("work", "work"),
		Series: t.intervals2("series"), Then: t.interval("then"), Finally: t.interval("finally"),
		Past: t.ref("past", "reading"), K: t.count("k", 1, maxPlaces), Of: t.count("of", 1, maxPlaces), Forecast: t.ref("forecast", "reading"),
		Made: t.ref("made", "part"), Until: t.ref("until", "job"),
		While: t.readOnly("while", false), Stored: t.oneOf("stored", "pause", "run")}
	if w, n := t.word("until_result"); n != nil {
		if g.UntilResult = w; !contains(j.Results, w) {
			t.wrong(n, didYouMean(w, j.Results), "until_result of %s is %q, which is none of the job's results", t.what, w)
		}
	}
	if n := t.typed("after", textNode, `"swap:disc"`); n != nil {
		g.After = t.event(n, j.Name)
	}
	for _, f := range t.tables("factors", "factor", "factors of "+t.what) {
		x := Factor{By: f.fraction("by"), While: f.readOnly("while", false)}
		switch {
		case f.n.items["by"] == nil:
			f.missing("by", `write by = "1/2" to halve the interval`)
		case x.By != nil && x.By.Sign() <= 0:
			f.wrong(f.n.items["by"], `write by = "1/2" to halve the interval`, "by of %s is %s", f.what, x.By.RatString())
		}
		if len(x.While) == 0 && f.n.items["while"] == nil {
			f.missing("while", "say when it holds")
		}
		f.finish()
		g.Factors = append(g.Factors, x)
	}
	r.checkTrigger(t, g)
	r.later = append(r.later, func() { r.checkCause(t, g, j) })
	t.finish()
	return g
}

// intervals2 is a list of intervals that may be several on one counter: at 1 h, at 10 h, each greater than the last.
func (t *table) intervals2(key string) []Interval {
	var out []Interval
	for _, n := range t.intervalNodes(key) {
		i, err := readInterval(n.text, t.r.counters)
		if err != nil {
			t.wrong(n, "", "%s of %s: %v", key, t.what, err)
			continue
		}
		if len(out) > 0 {
			last := out[len(out)-1]
			c, err := i.Amount.Cmp(last.Amount)
			if err != nil || i.Counter != last.Counter || c <= 0 {
				t.wrong(n, "count every step from the event: 1 h, 10 h, 50 h", "%s of %s goes from %s to %s", key, t.what, last, i)
			}
		}
		out = append(out, i)
	}
	return out
}

func (t *table) event(n *node, job string) string {
	name, of, named := strings.Cut(n.text, ":")
	kinds, ok := events[name]
	if !ok {
		hint := "write one of " + listed(eventNames, "or")
		var words []string
		for _, e := range eventNames {
			words = append(words, strings.SplitN(e, ":", 2)[0])
		}
		if near := Suggest(name, words); len(near) > 0 {
			hint = "did you mean " + quoted(near, "or") + "?"
		}
		t.wrong(n, hint, "after of %s is %q, which is no event", t.what, n.text)
		return ""
	}
	alone := kinds[0] == "?"
	if alone {
		kinds = kinds[1:]
	}
	switch {
	case !named && name == "loosened":
		return "loosened:" + job
	case !named && !alone:
		t.wrong(n, fmt.Sprintf("name the %s: %s:NAME", listed(kinds, "or"), name), "after of %s is %q", t.what, n.text)
	case named && len(kinds) == 0:
		t.wrong(n, fmt.Sprintf("write %q", name), "after of %s is %q: nothing goes after %s", t.what, n.text, name)
	case named:
		t.refer(n, of, kinds...)
	}
	return n.text
}

// checkTrigger checks what goes with what.
func (r *reader) checkTrigger(t *table, g Trigger) {
	has := func(key string) bool { return t.n.items[key] != nil }
	causes := []string{"every", "worked", "idle", "season", "after", "past", "forecast", "made", "until"}
	var have []string
	for _, c := range causes {
		if has(c) && !(c == "every" && has("made")) {
			have = append(have, c)
		}
	}
	at := func(key string) *node { return t.n.items[key] }
	switch len(have) {
	case 0:
		if t.broken {
			break
		}
		r.fail(t.n.mistake(t.n.start, t.what+" has no trigger in it", "write one of "+listed(causes, "or")))
	case 1:
	default:
		n := at(have[1])
		r.fail(n.mistake(n.key, fmt.Sprintf("%s has both %s", t.what, listed(have, "and")), "write each in an entry of its own: whichever comes first rules"))
	}
	needs := []struct {
		key  string
		with []string
	}{
		{"first", []string{"every"}}, {"grid", []string{"every"}}, {"work", []string{"season", "after"}}, {"series", []string{"after"}}, {"then", []string{"after"}},
		{"until_result", []string{"then", "series"}}, {"finally", []string{"until_result"}}, {"k", []string{"past"}}, {"of", []string{"k"}},
		{"factors", []string{"every", "worked", "idle", "then", "finally"}},
	}
	for _, need := range needs {
		ok := !has(need.key)
		for _, w := range need.with {
			ok = ok || has(w)
		}
		if !ok {
			r.fail(at(need.key).mistake(at(need.key).key, fmt.Sprintf("%s of %s goes with %s only", need.key, t.what, listed(need.with, "or")), "take it out"))
		}
	}
	if has("made") && !has("every") {
		t.missing("every", `say how long after the date of make: every = "10 yr"`)
	}
	if has("made") {
		for _, i := range g.Every {
			if !i.Calendar() {
				t.wrong(at("every"), "write years or months", "every of %s is %s: a date of make is counted in calendar time", t.what, i)
			}
		}
	}
	if g.Grid && len(g.First) > 0 {
		r.fail(at("first").mistake(at("first").key, "first of "+t.what+" does not go with a fixed grid", "take one of them out"))
	}
	if g.Grid {
		for _, i := range g.Every {
			if i.Calendar() {
				t.wrong(at("every"), "a grid counts from a counter's zero", "every of %s is %s: calendar time has no grid", t.what, i)
			}
		}
	}
	if g.Of > 0 && g.K > g.Of {
		t.wrong(at("k"), "write k = 2 and of = 8: two of any eight", "%s counts %d of %d", t.what, g.K, g.Of)
	}
}

// checkCause checks, once everything is read, that the readings and parts a trigger names have limits and sit where the job is done.
func (r *reader) checkCause(t *table, g Trigger, j Job) {
	for _, key := range []string{"past", "forecast"} {
		name := map[string]string{"past": g.Past, "forecast": g.Forecast}[key]
		x, ok := find(r.schedule.Readings, name, func(x *Reading) string { return x.Name })
		if !ok {
			continue
		}
		n := t.n.items[key]
		t.samePlaces(n, "reading", name, x.Of, j)
		switch {
		case len(x.Limits) == 0 && x.BadFrom == "":
			t.wrong(n, "give the reading a limit, or grades with bad_from", "%s of %s: reading %q has no limit", key, t.what, name)
		case key == "forecast" && !x.trends():
			t.wrong(n, "only an amount with min, max or share can be forecast", "forecast of %s: reading %q has no course", t.what, name)
		}
	}
	event, of := splitEvent(g.After)
	switch event {
	case "swap", "fault", "repair":
		if p, ok := find(r.schedule.Parts, of, func(p *Part) string { return p.Name }); ok {
			t.samePlaces(t.n.items["after"], "part", of, p.Of, j)
		}
	case "adjust":
		if x, ok := find(r.schedule.Settings, of, func(x *Setting) string { return x.Name }); ok {
			t.samePlaces(t.n.items["after"], "setting", of, x.Of, j)
		}
	case "measure":
		if x, ok := find(r.schedule.Readings, of, func(x *Reading) string { return x.Name }); ok {
			t.samePlaces(t.n.items["after"], "reading", of, x.Of, j)
		}
	case "loosened":
		if of == j.Name && len(j.Torques) == 0 {
			t.wrong(t.n.items["after"], "give the job torques: what it tightens", "after of %s is loosened, but the job has no torques", t.what)
		}
	}
}

// trends reports an amount that wears towards a limit of its own.
func (x *Reading) trends() bool {
	for _, l := range x.Limits {
		if l.HasMin || l.HasMax || l.HasShare {
			return true
		}
	}
	return false
}

// samePlaces refuses a thing of other places than the job's. A thing of the machine may make a job of places due, and the other way round.
func (t *table) samePlaces(n *node, what, name, of string, j Job) {
	if of != "" && j.Of != "" && of != j.Of {
		t.wrong(n, "give both the same of", "%s %q is of %s, job %q of %s", what, name, of, j.Name, j.Of)
	}
}
