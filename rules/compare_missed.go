package rules

import (
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// compareMissed lists the jobs that were overdue when the stretches ended: what the schedule asked for and nobody did.
func compareMissed(a, b Side) []Change {
	found := func(s Side) map[string]Found {
		out := map[string]Found{}
		for _, it := range Due(s.State, Filter{Machine: s.Machine.ID}) {
			if it.State != Overdue || it.Job == "" {
				continue
			}
			f := out[it.Job]
			f.Count += max(1, it.Positions.Len())
			f.Positions = f.Positions.Union(it.Positions)
			f.Entries = few(append(f.Entries, it.Entries...))
			f.Since = max(f.Since, it.Last.Done)
			f.Reasons = append(f.Reasons, it.Where+iffWhere(it.Where)+it.Why)
			out[it.Job] = f
		}
		return out
	}
	var out []Change
	x, y := found(a), found(b)
	for _, job := range names(x, y) {
		from, to := x[job], y[job]
		if from.Count == to.Count && from.Positions.String() == to.Positions.String() {
			continue
		}
		out = append(out, Change{What: "missed", Name: job, Positions: from.Positions.Union(to.Positions), From: from, To: to})
	}
	return out
}

func iffWhere(where string) string {
	if where == "" {
		return ""
	}
	return ": "
}

// compareCauses counts the faults found during the stretches and the time they cost, by cause: what the repair that closed them names, else the part, else
// "not said". A repair that closes no fault counts by itself.
func compareCauses(a, b Side) []Change {
	x, y := a.causes(), b.causes()
	var out []Change
	for _, cause := range names(x, y) {
		from, to := x[cause], y[cause]
		if from.Count != to.Count || from.Use != to.Use {
			out = append(out, Change{What: "cause", Name: cause, From: from, To: to})
		}
	}
	return out
}

// NoCause names faults of which nobody said why.
const NoCause = "not said"

func (s Side) causes() map[string]Found {
	out := map[string]Found{}
	m := s.later().MachineByID(s.Machine.ID)
	if m == nil {
		return out
	}
	add := func(cause string, lost quantity.Quantity, done record.Done, by ID, entries ...ID) {
		f := out[cause]
		f.Count++
		if !lost.IsZero() {
			f.Use = plusOrFirst(f.Use, lost)
		}
		f.Since, f.Person = done, by
		f.Entries = few(append(f.Entries, entries...))
		out[cause] = f
	}
	repairs := map[ID]*record.Repair{}
	closing := map[ID]bool{}
	for _, f := range m.Faults {
		closing[f.ClosedBy] = true
	}
	who := newAuthors(s.later())
	for _, e := range s.later().Effective {
		r, ok := e.Record.(*record.Repair)
		if !ok || r.Machine != m.ID || e.StruckBy != "" || e.Ignored != "" {
			continue
		}
		repairs[e.Entry.ID] = r
		if !closing[e.Entry.ID] && len(r.Closes) == 0 && s.within(e.Done) && (r.Cause != "" || !r.Lost.IsZero()) {
			add(causeOf(r.Cause, r.Part), r.Lost, e.Done, who[e.Entry.ID], e.Entry.ID)
		}
	}
	told := map[ID]bool{} // repairs whose own lost time is counted
	for _, f := range m.Faults {
		if !s.within(f.Done) {
			continue
		}
		cause, lost, entries := "", f.Lost, []ID{f.ID}
		for _, id := range append(slices.Clone(f.Temporary), f.ClosedBy) {
			r := repairs[id]
			if r == nil {
				continue
			}
			if cause = r.Cause; !told[id] && !r.Lost.IsZero() {
				lost = plusOrFirst(lost, r.Lost)
			}
			told[id] = true
			entries = append(entries, id)
		}
		add(causeOf(cause, f.Part), lost, f.Done, f.Person, entries...)
	}
	return out
}

func causeOf(cause, part string) string {
	switch {
	case cause != "":
		return cause
	case part != "":
		return strings.ReplaceAll(part, "-", " ")
	}
	return NoCause
}
