package main

import (
	"slices"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// inOrder are the names of a schedule's list that a map knows, then whatever else the map knows, by the alphabet.
func inOrder[T any](known map[string]T, listed []string) []string {
	out := slices.Clone(listed)
	var rest []string
	for name := range known {
		if !slices.Contains(listed, name) {
			rest = append(rest, name)
		}
	}
	slices.Sort(rest)
	return append(out, rest...)
}

// slotsOf are a map's slots in order of position, then hand; only those looked at.
func slotsOf[T any](l *look, known map[string]T) []string {
	type key struct {
		p    record.Position
		hand string
		name string
	}
	var keys []key
	for name := range known {
		if p, hand := rules.SplitSlot(name); l.has(p) {
			keys = append(keys, key{p, hand, name})
		}
	}
	slices.SortFunc(keys, func(a, b key) int {
		if d := a.p.Compare(b.p); d != 0 {
			return d
		}
		return strings.Compare(a.hand, b.hand)
	})
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = k.name
	}
	return out
}

func (c *call) viewCounters(l *look) []counterView {
	out := []counterView{}
	var listed []string
	if l.m.Fitted != nil {
		for _, x := range l.m.Fitted.Counters {
			listed = append(listed, x.Name)
		}
	}
	for _, name := range inOrder(l.m.Counters, listed) {
		x := l.m.Counters[name]
		if x == nil || !l.wants("counter", name) {
			continue
		}
		v := counterView{Counter: name, Trip: x.Trip, Known: x.Known, Derived: x.Derived, ReadOn: x.ReadOn, Estimated: x.Estimated, Entries: strs(x.Reason.Entries), Rule: x.Reason.Rule}
		if x.Known {
			v.Reading, v.Life, v.Estimate = c.amount(x.Reading), c.amount(x.Life), c.amount(x.Estimate)
		}
		out = append(out, v)
	}
	return out
}

func viewFaults(l *look) []faultView {
	out := []faultView{}
	for _, f := range l.m.Faults {
		if !l.touches(f.Positions) || len(l.names) > 0 && !l.wants("part", f.Part) {
			continue
		}
		out = append(out, faultView{ID: f.ID, Done: f.Done, Positions: strs(f.Positions.Strings()), Part: f.Part, Severity: f.Severity, Text: f.Text, TiedUp: f.TiedUp, Unfit: f.Unfit,
			Open: f.Closed == "", Closed: f.Closed, ClosedBy: f.ClosedBy, Temporary: strs(f.Temporary), at: f.Positions})
	}
	return out
}

func viewOut(l *look) []outView {
	out := []outView{}
	if len(l.names) > 0 {
		return out
	}
	for _, name := range slotsOf(l, l.m.Out) {
		x := l.m.Out[name]
		p := record.NewPositions(place(name))
		if n := len(out); n > 0 && out[n-1].Entry == x.Entry && out[n-1].Why == x.Why && out[n-1].Since == x.Since {
			out[n-1].at = out[n-1].at.Union(p)
			out[n-1].Positions = out[n-1].at.Strings()
			continue
		}
		out = append(out, outView{Positions: p.Strings(), Since: x.Since, Why: x.Why, Entry: x.Entry, at: p})
	}
	return out
}

func (c *call) viewSettings(l *look) []settingView {
	out := []settingView{}
	var listed []string
	if l.m.Fitted != nil {
		for _, x := range l.m.Fitted.Settings {
			listed = append(listed, x.Name)
		}
	}
	for _, name := range inOrder(l.m.Settings, listed) {
		if !l.wants("setting", name) {
			continue
		}
		title, of := name, ""
		var all record.Positions
		if l.m.Fitted != nil {
			if x, ok := l.m.Fitted.Setting(name); ok {
				title, of = x.Title, x.Of
				all = l.m.Fitted.All(of)
			}
		}
		begin := len(out)
		var seen record.Positions
		for _, key := range slotsOf(l, l.m.Settings[name]) {
			s := l.m.Settings[name][key]
			p := place(key)
			at := record.NewPositions(p)
			seen = seen.Union(at)
			v := settingView{Setting: name, Since: s.Since, Assumed: s.Assumed, Entries: strs(s.Reason.Entries), Rule: s.Reason.Rule, title: title, of: of}
			if !s.Unknown {
				v.Value = c.value(s.Value)
			}
			if !s.Before.IsZero() {
				v.Before = c.value(s.Before)
			}
			i := slices.IndexFunc(out[begin:], func(o settingView) bool {
				return o.Value == v.Value && o.Since == v.Since && o.Before == v.Before && o.Assumed == v.Assumed && o.Rule == v.Rule && slices.Equal(o.Entries, v.Entries)
			})
			if i < 0 {
				out = append(out, v)
				i = len(out) - 1 - begin
			}
			o := &out[begin+i]
			o.at = o.at.Union(at)
			o.Positions = strs(o.at.Strings())
		}
		rest := all.Without(seen)
		if !l.places.IsZero() {
			rest = rest.Without(rest.Without(l.places))
		}
		if !rest.IsZero() || all.IsZero() && len(out) == begin && l.places.IsZero() {
			out = append(out, settingView{Setting: name, Positions: strs(rest.Strings()), Entries: []record.ID{}, title: title, of: of, at: rest})
		}
	}
	return out
}

// uses lists use in the order of the machine's counters.
func (c *call) uses(m *rules.Machine, use map[string]record.Quantity) []useJSON {
	out := []useJSON{}
	var listed []string
	trip := map[string]bool{} // a second face of a lifetime counter: it would say the same twice
	if m.Fitted != nil {
		for _, x := range m.Fitted.Counters {
			listed = append(listed, x.Name)
			trip[x.Name] = x.Trip
		}
	}
	for _, name := range inOrder(use, listed) {
		if q, ok := use[name]; ok && !trip[name] {
			out = append(out, c.use(name, q))
		}
	}
	return out
}

func (c *call) viewParts(l *look, on string) []partView {
	out := []partView{}
	var listed []string
	if l.m.Fitted != nil {
		for _, x := range l.m.Fitted.Parts {
			listed = append(listed, x.Name)
		}
	}
	for _, name := range inOrder(l.m.Slots, listed) {
		if !l.wants("part", name) {
			continue
		}
		of := ""
		if l.m.Fitted != nil {
			if x, ok := l.m.Fitted.Part(name); ok {
				of = x.Of
			}
		}
		for _, key := range slotsOf(l, l.m.Slots[name]) {
			s := l.m.Slots[name][key]
			p, hand := rules.SplitSlot(key)
			at := record.NewPositions(p)
			v := partView{Part: name, Positions: strs(at.Strings()), Hand: hand, State: "fitted", Since: s.Since, Use: []useJSON{}, Entries: strs(s.Reason.Entries), Rule: s.Reason.Rule, of: of, at: at}
			if q := s.Part; q != nil {
				v.ID, v.Serial, v.First, v.Use, v.Segment = q.ID, q.Serial, q.In, c.uses(l.m, q.Use), q.Segment
				if q.Segment > 1 {
					v.SegmentUse = c.uses(l.m, q.SegmentUse)
				}
				v.Assumed, v.claimed = q.Assumed, claimed(q)
				if q.Warranty >= on {
					v.Warranty = q.Warranty
				}
				if q.Worn.Sign() > 0 {
					v.Worn = c.amount(q.Worn)
				}
				if sum, _ := q.ToppedUp(); sum.Sign() > 0 {
					v.ToppedUp = c.amount(sum)
				}
				if len(v.Entries) == 0 || q.Assumed { // who said how old it is, too
					v.Entries = strs(q.Reason.Entries)
				}
			}
			switch {
			case s.Disputed || s.Part != nil && s.Part.Disputed:
				v.State = "disputed"
			case s.Part == nil && !s.Unknown:
				v.State = "empty"
			case s.Unknown || strings.HasPrefix(v.ID, "original/"):
				v.State = "original"
			}
			out = append(out, v)
		}
	}
	return out
}

// claimed reports a part with more use than its stays hold: somebody said what it had worked before.
func claimed(p *rules.Part) bool {
	for name, q := range p.Use {
		for _, s := range p.Stays {
			if more, err := q.Sub(s.Use[name]); err == nil {
				q = more
			}
		}
		if q.Sign() > 0 {
			return true
		}
	}
	return false
}

func (c *call) viewReadings(l *look) []readingView {
	out := []readingView{}
	var listed []string
	if l.m.Fitted != nil {
		for _, x := range l.m.Fitted.Readings {
			listed = append(listed, x.Name)
		}
	}
	for _, name := range inOrder(l.m.Readings, listed) {
		if !l.wants("reading", name) {
			continue
		}
		for _, key := range slotsOf(l, l.m.Readings[name]) {
			all := l.m.Readings[name][key]
			if len(all) > 0 {
				out = append(out, c.viewReading(l.m, name, key, all))
			}
		}
	}
	return out
}

// viewReading is the latest reading of one slot that has a value, with what its own limit says of it (against neighbours and earlier readings it is judged
// by due); a later try that gave none is said beside it.
func (c *call) viewReading(m *rules.Machine, name, key string, all []*rules.Reading) readingView {
	last := all[len(all)-1]
	r := last
	for i := len(all) - 1; i >= 0 && r.Cannot != ""; i-- {
		r = all[i]
	}
	p, hand := rules.SplitSlot(key)
	at := record.NewPositions(p)
	v := readingView{Reading: name, Positions: strs(at.Strings()), Hand: hand, Done: r.Done, Found: c.value(r.Found), Left: c.value(r.Left), Use: c.uses(m, r.Use), Computed: r.Computed,
		Assumed: r.Assumed, Entries: []record.ID{r.Entry}, title: name, at: at}
	if last.Cannot != "" {
		v.Cannot, v.CannotOn = last.Cannot, last.Done
		if last.Entry != r.Entry {
			v.Entries = append(v.Entries, last.Entry)
		}
	}
	if m.Fitted == nil {
		return v
	}
	def, ok := m.Fitted.Reading(name)
	if !ok {
		return v
	}
	v.title, v.of = def.Title, def.Of
	if s := m.Slots[def.Part][key]; s != nil && r.Part != "" && (s.Part == nil || s.Part.ID != r.Part || s.Part.Segment > r.Segment) {
		v.Earlier = true
		return v
	}
	if past, why := def.Past(v.stood(r), schedule.Against{}); past {
		v.Past = why
	}
	return v
}

// stood is a reading as it was left, else as it was found.
func (v *readingView) stood(r *rules.Reading) record.Value {
	if !r.Left.IsZero() {
		return r.Left
	}
	return r.Found
}

func (c *call) viewJobs(l *look) []jobView {
	out := []jobView{}
	var listed []string
	if l.m.Fitted != nil {
		for _, x := range l.m.Fitted.Jobs {
			listed = append(listed, x.Name)
		}
	}
	for _, name := range inOrder(l.m.Jobs, listed) {
		if !l.wants("job", name) {
			continue
		}
		title, of := name, ""
		var all record.Positions
		if l.m.Fitted != nil {
			if x, ok := l.m.Fitted.Job(name); ok {
				title, of = x.Title, x.Of
				all = l.m.Fitted.All(of)
				if g, ok := l.m.Fitted.GroupPositions(x.Group); ok {
					all = g
				}
			}
		}
		begin := len(out)
		var seen record.Positions
		if log := l.m.Jobs[name]; log != nil {
			for _, key := range slotsOf(l, log.Done) {
				list := log.Done[key]
				if len(list) == 0 {
					continue
				}
				at := record.NewPositions(place(key))
				seen = seen.Union(at)
				v := c.viewDoing(l.m, name, list[len(list)-1])
				v.title, v.of = title, of
				i := slices.IndexFunc(out[begin:], func(o jobView) bool { return o.sameDoing(&v) })
				if i < 0 {
					out = append(out, v)
					i = len(out) - 1 - begin
				}
				o := &out[begin+i]
				o.at = o.at.Union(at)
				o.Positions = strs(o.at.Strings())
			}
		}
		rest := all.Without(seen)
		if !l.places.IsZero() {
			rest = rest.Without(rest.Without(l.places))
		}
		if !rest.IsZero() || all.IsZero() && len(out) == begin && l.places.IsZero() {
			out = append(out, jobView{Job: name, Positions: strs(rest.Strings()), Counters: []useJSON{}, Entries: []record.ID{}, title: title, of: of, at: rest})
		}
	}
	return out
}

func (c *call) viewDoing(m *rules.Machine, job string, d *rules.Doing) jobView {
	v := jobView{Job: job, Done: d.Done, Skipped: d.Skipped, Via: d.Via, Result: d.Result, Outcome: d.Outcome, Until: d.Until, Counters: c.uses(m, d.Counters), Assumed: d.Assumed,
		Entries: []record.ID{d.Entry}}
	if d.Torque.Sign() > 0 {
		v.Torque = c.amount(d.Torque)
	}
	if d.Value.Sign() != 0 {
		v.Result = strings.TrimSpace(v.Result + " " + c.shown(d.Value).String())
	}
	return v
}

// sameDoing reports doings that differ in their places only.
func (v *jobView) sameDoing(o *jobView) bool {
	return v.Entries[0] == o.Entries[0] && v.Done == o.Done && v.Skipped == o.Skipped && v.Via == o.Via && v.Result == o.Result && v.Outcome == o.Outcome && v.Until == o.Until &&
		v.Torque == o.Torque && v.Assumed == o.Assumed && slices.Equal(v.Counters, o.Counters)
}
