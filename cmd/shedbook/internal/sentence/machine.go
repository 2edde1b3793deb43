package sentence

import (
	"strconv"
	"strings"

	"shedbook/rules/record"
)

// work tells the act itself; who reports that Private.Who is already named.
func (t *teller) work(r record.Record) (s string, who bool) {
	switch r := r.(type) {
	case *record.Machine:
		return t.added(r), false
	case *record.Shelf:
		return "set up the parts shelf of " + t.yard(r.Yard), false
	case *record.Stock:
		return t.stock(r), false
	case *record.Move:
		return "moved " + t.machine() + " to " + t.yard(r.Yard), false
	case *record.Lend:
		return t.lend(r), true
	case *record.Store:
		return t.store(r), false
	case *record.Sell:
		return "sold " + t.machine() + before(" to ", t.p.Who), true
	case *record.Hitch:
		return t.hitch(r), false
	case *record.Assume:
		return t.assume(r), false
	case *record.Override:
		return t.override(r), false
	case *record.Counter:
		return t.counter(r), false
	case *record.Adjust:
		return t.adjust(r), false
	case *record.Measure:
		return t.measure(r), false
	case *record.Swap:
		return t.swap(r), false
	case *record.Did:
		return t.did(r), false
	case *record.Fault:
		return t.fault(r), false
	case *record.Repair:
		return t.repair(r), false
	case *record.Note:
		return "note" + on(Places(t.m, r.Positions, "")) + t.words(), false
	case nil:
		return "an entry that cannot be read", false
	}
	return "recorded " + r.Kind(), false
}

func before(lead, s string) string {
	if s == "" {
		return ""
	}
	return lead + s
}

func (t *teller) added(m *record.Machine) string {
	s := "added " + m.Name + ", a " + plain(m.Schedule) + ", at " + t.yard(m.Yard)
	var options []string
	for _, o := range m.Options {
		options = append(options, plain(o.Name)+" "+o.Value)
	}
	if len(options) > 0 {
		s += ", with " + and(options)
	}
	s += before(", ", m.Title)
	if m.Year != 0 {
		s += ", made in " + strconv.Itoa(m.Year)
	}
	return s + before(", serial ", m.Serial)
}

func (t *teller) stock(r *record.Stock) string {
	verb := map[string]string{"add": "put ", "count": "counted ", "scrap": "scrapped "}[r.Act]
	part := plain(r.Part)
	if r.Count != 1 {
		part = t.pluralOf(r.Schedule, r.Part)
	}
	s := verb + strconv.Itoa(r.Count) + " " + before("", r.Hand)
	if r.Hand != "" {
		s += " "
	}
	s += part + " (" + plain(r.Schedule) + ")"
	switch r.Act {
	case "add":
		s += " on " + t.shelf(r.Machine)
	case "count":
		s += " on " + t.shelf(r.Machine)
	case "scrap":
		s += " from " + t.shelf(r.Machine)
	}
	return s + before(", serial ", and(r.Serials)) + t.words()
}

// pluralOf is what a schedule calls several of a part.
func (t *teller) pluralOf(kind, part string) string {
	for _, k := range t.st.Kinds {
		if k.Schedule == nil || k.Schedule.Name != kind {
			continue
		}
		for _, p := range k.Schedule.Parts {
			if p.Name == part && p.Plural != "" {
				return plain(p.Plural)
			}
		}
	}
	return plain(part) + "s"
}

func (t *teller) lend(r *record.Lend) string {
	m := t.machine()
	s := map[string]string{
		"lent": "lent " + m + before(" to ", t.p.Who), "returned": "got " + m + " back" + before(" from ", t.p.Who),
		"hired-in": "hired " + m + " in" + before(" from ", t.p.Who), "sent-back": "sent " + m + " back" + before(" to ", t.p.Who),
	}[r.Act]
	return s + before(", condition ", r.Condition) + t.words()
}

func (t *teller) store(r *record.Store) string {
	if r.Act == "in" {
		return "put " + t.machine() + " into storage" + before("; left slack or drained: ", and(r.Slack)) + t.words()
	}
	return "took " + t.machine() + " out of storage" + before("; still slack or drained: ", and(r.Slack)) + t.words()
}

func (t *teller) hitch(r *record.Hitch) string {
	if r.Carrier == "" {
		return "unhitched " + t.machine()
	}
	if c := t.st.MachineByID(r.Carrier); c != nil {
		return "hitched " + t.machine() + " to " + c.Name
	}
	return "hitched " + t.machine() + " to machine " + r.Carrier.Short()
}

func (t *teller) assume(r *record.Assume) string {
	var out []string
	if r.Good {
		out = append(out, "took "+t.machine()+" as good")
	}
	for _, it := range r.Items {
		where := on(Places(t.m, it.Positions, ""))
		name := plain(it.Name)
		switch {
		case !it.Value.IsZero():
			name += " at " + Value(it.Value, t.sys)
		case it.Worn.Sign() > 0:
			name += " " + it.Worn.String() + " worn"
		case it.Used.Sign() > 0:
			name += " used " + it.Used.Show(t.sys)
		default:
			name += " as done"
		}
		if it.Hand != "" {
			name = it.Hand + " " + name
		}
		out = append(out, "assumed "+name+where)
	}
	if len(out) == 0 {
		out = append(out, "assumed where the counters stood")
	}
	return strings.Join(out, "; ") + t.words()
}

func (t *teller) override(r *record.Override) string {
	if r.Value == "" {
		return "put " + r.Path + " back to the schedule's own value" + from(r.From) + before(" (", r.Page) + closing(r.Page)
	}
	return "set " + r.Path + " to " + strings.Trim(r.Value, `"`) + from(r.From) + " (" + r.Page + ")"
}

func closing(s string) string {
	if s == "" {
		return ""
	}
	return ")"
}

func (t *teller) counter(r *record.Counter) string {
	var out []string
	for _, a := range r.Acts {
		name, start := plain(a.Counter), a.Value.Show(t.sys)
		if a.Value.IsZero() {
			start = "0"
		}
		var s string
		switch a.Act {
		case "at":
			s = "read " + name + " at " + a.Value.Show(t.sys)
			if len(out) > 0 && a.Last.IsZero() && a.Span == "" && strings.HasPrefix(out[len(out)-1], "read ") {
				out[len(out)-1] += " and " + name + " at " + a.Value.Show(t.sys)
				continue
			}
		case "add":
			s = "added " + a.Value.Show(t.sys) + " to " + name
		case "reset":
			s = "set the " + name + " counter back to " + start
		case "replaced":
			s = "replaced the " + name + " counter, the new one starts at " + start
		}
		if !a.Last.IsZero() {
			s += " (it showed " + a.Last.Show(t.sys) + ")"
		}
		if a.Span != "" {
			s += ", a " + a.Span + " counter from then on"
		}
		out = append(out, s)
	}
	return strings.Join(out, "; ") + t.words()
}
