package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// within reports a day of the stretch.
func (s Side) within(d record.Done) bool { return d.Date() >= s.From && d.Date() <= s.To }

// compareReadings sets the readings of the two stretches side by side: all places together, for a single slip of the tape is no difference between seasons. Those
// that tell what the work came to are outcomes.
func compareReadings(a, b Side) []Change {
	var j joiner
	for _, name := range names(a.Machine.Readings, b.Machine.Readings) {
		if isOutcome(a, name) || isOutcome(b, name) {
			continue
		}
		from, at := a.readings(name, false)
		to, too := b.readings(name, false)
		if from.differs(to) {
			j.add(name, record.Position{}, Change{What: "reading", Name: name, From: from, To: to})
			j.places[len(j.places)-1] = append(at, too...)
		}
	}
	return j.changes()
}

// compareOutcomes sets side by side what the work came to: all readings of the stretches that the schedule calls outcomes.
func compareOutcomes(a, b Side) []Change {
	var j joiner
	for _, name := range names(a.Machine.Readings, b.Machine.Readings) {
		if !isOutcome(a, name) && !isOutcome(b, name) {
			continue
		}
		from, at := a.readings(name, true)
		to, too := b.readings(name, true)
		if from.differs(to) {
			j.add(name, record.Position{}, Change{What: "outcome", Name: name, From: from, To: to})
			j.places[len(j.places)-1] = append(at, too...)
		}
	}
	return j.changes()
}

func isOutcome(s Side, reading string) bool {
	if s.Machine.Fitted == nil {
		return false
	}
	def, ok := s.Machine.Fitted.Reading(reading)
	return ok && def.Outcome
}

// readings are those of a stretch and where they were taken: all of them, or the last of each place and hand.
func (s Side) readings(name string, all bool) (Found, []record.Position) {
	var f Found
	var values []record.Value
	var places []record.Position
	var entries []ID
	slots := s.Machine.Readings[name]
	for _, slot := range names(slots, slots) {
		taken := s.taken(name, slot)
		if n := len(taken); n > 1 && !all {
			taken = taken[n-1:]
		}
		for _, r := range taken {
			values = append(values, asRead(r))
			entries = append(entries, r.Entry)
			if r.Done > f.Since {
				f.Since, f.Person = r.Done, r.Person
			}
		}
		if p, _ := SplitSlot(slot); len(taken) > 0 && p != (record.Position{}) {
			places = append(places, p)
		}
	}
	f.Count, f.Entries = len(values), few(entries)
	slices.SortStableFunc(values, compareValues)
	if n := len(values); n > 0 {
		f.Low, f.Mid, f.High = values[0], values[(n-1)/2], values[n-1]
		if values[0] == values[n-1] {
			f.Value = values[0]
		}
		f.Mean = mean(values)
	}
	return f, places
}

// taken are the readings of a place and hand that the stretch holds, oldest first: without those that could not be taken, and what was only assumed.
func (s Side) taken(name, slot string) []*Reading {
	var out []*Reading
	for _, r := range s.Machine.Readings[name][slot] {
		if s.within(r.Done) && r.Cannot == "" && !r.Assumed && (!r.Found.IsZero() || !r.Left.IsZero()) {
			out = append(out, r)
		}
	}
	return out
}

// asRead is what a reading found; where nobody said, what it left.
func asRead(r *Reading) record.Value {
	if r.Found.IsZero() {
		return r.Left
	}
	return r.Found
}

// mean is the mean of amounts to four decimals; zero where a word or another dimension is among them.
func mean(values []record.Value) record.Value {
	var sum quantity.Quantity
	for i, v := range values {
		q, ok := v.Quantity()
		if i == 0 {
			sum = q
			continue
		}
		next, err := sum.Add(q)
		if !ok || err != nil {
			return record.Value{}
		}
		sum = next
	}
	if _, ok := values[0].Quantity(); !ok {
		return record.Value{}
	}
	return record.Amount(sum.Mul(big.NewRat(1, int64(len(values))), 4))
}

// differs reports other readings.
func (f Found) differs(o Found) bool {
	return f.Count != o.Count || f.Low != o.Low || f.Mid != o.Mid || f.High != o.High || f.Mean != o.Mean
}

// compareValues orders quantities of one dimension by size, words after them.
func compareValues(a, b record.Value) int {
	x, okX := a.Quantity()
	y, okY := b.Quantity()
	if okX && okY && x.Dimension() == y.Dimension() {
		if c, err := x.Cmp(y); err == nil {
			return c
		}
	}
	return cmp.Or(-compareBools(okX, okY), strings.Compare(a.String(), b.String()))
}

func compareBools(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// compareJobs counts how often each job was done during the stretches, an entry once however many places it names.
func compareJobs(a, b Side) []Change {
	var j joiner
	found := func(s Side, name string) (f Found) {
		log := s.Machine.Jobs[name]
		if log == nil {
			return f
		}
		type doing struct {
			done record.Done
			by   ID
		}
		entries := map[ID]doing{}
		for _, all := range log.Done {
			for _, d := range all {
				if s.within(d.Done) && !d.Skipped && !d.Assumed {
					entries[d.Entry] = doing{d.Done, d.Person}
				}
			}
		}
		var ids []ID
		for id := range entries {
			ids = append(ids, id)
		}
		slices.SortFunc(ids, func(x, y ID) int {
			return cmp.Or(strings.Compare(string(entries[x].done), string(entries[y].done)), strings.Compare(string(x), string(y)))
		})
		f.Count, f.Entries = len(ids), few(ids)
		if n := len(ids); n > 0 {
			f.Since, f.Person = entries[ids[n-1]].done, entries[ids[n-1]].by
		}
		return f
	}
	for _, name := range names(a.Machine.Jobs, b.Machine.Jobs) {
		from, to := found(a, name), found(b, name)
		if from.Count != to.Count {
			j.add(name, record.Position{}, Change{What: "job", Name: name, From: from, To: to})
		}
	}
	return j.changes()
}

// compareFaults counts the faults found during the stretches, by severity, and the time they cost.
func compareFaults(a, b Side) []Change {
	var out []Change
	found := func(s Side, severity string) (f Found) {
		var entries []ID
		for _, x := range s.Machine.Faults {
			if x.Severity != severity || !s.within(x.Done) {
				continue
			}
			f.Count++
			entries = append(entries, x.ID)
			f.Since, f.Person = x.Done, x.Person
			switch sum, err := f.Use.Add(x.Lost); {
			case x.Lost.IsZero():
			case f.Use.IsZero():
				f.Use = x.Lost
			case err == nil:
				f.Use = sum
			}
		}
		f.Entries = few(entries)
		return f
	}
	for _, severity := range []string{"stop", "soon", "winter", "tidy"} {
		from, to := found(a, severity), found(b, severity)
		if from.Count != to.Count || from.Use != to.Use {
			out = append(out, Change{What: "fault", Name: severity, From: from, To: to})
		}
	}
	return out
}
