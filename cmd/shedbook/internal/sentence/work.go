package sentence

import (
	"strconv"
	"strings"

	"shedbook/rules/record"
)

func (t *teller) adjust(r *record.Adjust) string {
	lead := "set "
	if r.Setup != "" {
		lead = "applied the set-up " + r.Setup + ": "
	}
	type key struct{ setting, by string }
	var order []key
	said := map[key][]string{}
	for _, c := range r.Changes {
		where := c.Positions
		if !t.at.IsZero() && !where.IsZero() {
			if where = both(where, t.at); where.IsZero() {
				continue
			}
		}
		k := key{c.Setting, c.By}
		if said[k] == nil {
			order = append(order, k)
		}
		to := "value before not known"
		if !c.To.IsZero() {
			to = "to " + Value(c.To, t.sys)
		}
		noun := ""
		if s := t.setting(c.Setting); s != "" {
			noun = s
		}
		said[k] = append(said[k], to+on(Places(t.m, where, noun)))
	}
	var out []string
	for _, k := range order {
		name := t.settingTitle(k.setting)
		if k.by != "" {
			by := k.by
			if by[0] != '-' && by[0] != '+' {
				by = "+" + by
			}
			out = append(out, name+" by "+by+": "+strings.Join(said[k], ", "))
			continue
		}
		out = append(out, name+" "+strings.Join(said[k], ", "))
	}
	return lead + strings.Join(out, "; ") + t.words()
}

// setting is the noun a setting stands at.
func (t *teller) setting(name string) string {
	if f := t.fitted(); f != nil {
		if s, ok := f.Setting(name); ok {
			return s.Of
		}
	}
	return ""
}

func (t *teller) settingTitle(name string) string {
	if f := t.fitted(); f != nil {
		if s, ok := f.Setting(name); ok {
			return Title(s.Title, name)
		}
	}
	return plain(name)
}

// both are the places of a that b holds too.
func both(a, b record.Positions) record.Positions { return a.Without(a.Without(b)) }

func (t *teller) swap(r *record.Swap) string {
	noun, handed := "", false
	if f := t.fitted(); f != nil {
		if p, ok := f.Part(r.Part); ok {
			noun, handed = p.Of, p.Handed
		}
	}
	many := r.Positions.Len()+r.With.Len() > 1 || handed && r.Hand == ""
	part := plain(r.Part)
	if many {
		kind := ""
		if f := t.fitted(); f != nil {
			kind = f.Schedule.Name
		}
		part = t.pluralOf(kind, r.Part)
	}
	the := "the "
	if r.Hand != "" {
		the += r.Hand + " "
	} else if handed && r.Positions.Len() == 1 && r.With.IsZero() {
		the = "both "
	}
	place := of(Places(t.m, r.Positions, noun))
	var s string
	switch r.Act {
	case record.SwapNew:
		s = "swapped " + the + part + place
	case record.SwapExchange:
		s = "exchanged " + the + part + place + " with " + Places(t.m, r.With, noun)
	case record.SwapOut:
		s = "took " + the + part + place + " off"
	case record.SwapIn:
		s = "put used " + part + " in" + on(Places(t.m, r.Positions, noun))
		if !many {
			s = "put a used " + part + " in" + on(Places(t.m, r.Positions, noun))
		}
	default: // turned, sharpened, rebuilt
		s = r.Act + " " + the + part + place
	}
	if r.Why != "" {
		s += " (" + map[string]string{"worn": "worn", "in-time": "in good time", "with-set": "with the set", "broken": "broken"}[r.Why] + ")"
	}
	if r.From != "" {
		s += ", from " + t.shelf(r.From)
	}
	if r.To != "" {
		s += ", the old to " + t.shelf(r.To)
	}
	if r.Used.Sign() > 0 {
		s += ", used " + r.Used.Show(t.sys) + " before"
	}
	return s + before(", serial ", and(r.Serials)) + t.words()
}

func (t *teller) did(r *record.Did) string {
	noun := ""
	if f := t.fitted(); f != nil {
		if j, ok := f.Job(r.Job); ok {
			noun = j.Of
		}
	}
	s := did(r.Job, Places(t.m, r.Positions.Without(r.Skipped), noun), t.machine())
	if r.Positions.Equal(r.Skipped) && !r.Skipped.IsZero() {
		s = "did not do " + plain(r.Job)
	}
	if !r.Skipped.IsZero() {
		s += ", skipped " + Places(t.m, r.Skipped, noun)
	}
	for _, res := range r.Results {
		what := plain(res.Word)
		if res.Value != (record.Quantity{}) {
			what = strings.TrimSpace(what + " " + res.Value.Show(t.sys))
		}
		if !res.Positions.IsZero() {
			what += ": " + Places(t.m, res.Positions, noun)
		}
		s += ", " + what
	}
	if r.Torque.Sign() > 0 {
		s += ", wrench at " + r.Torque.Show(t.sys)
	}
	for _, f := range r.Fills {
		verb := "filled "
		if f.TopUp {
			verb = "topped up "
		}
		s += ", " + verb + f.Amount.Show(t.sys) + " " + f.Of
	}
	switch r.Outcome {
	case "pass":
		s += ", passed"
	case "fail":
		s += ", failed"
	case "advice":
		s += ", passed with advice"
	}
	return s + before(", valid until ", r.Until) + t.words()
}

func (t *teller) fault(r *record.Fault) string {
	s := "fault" + on(Places(t.m, r.Positions, "")) + before(", ", plain(r.Part)) + t.words() + " (" + r.Severity + ")"
	if r.TiedUp {
		s += ", tied up"
	}
	if r.Unfit {
		s += ", not fit to run"
	}
	s += before(", needs ", needs(r.Needs))
	if r.Lost.Sign() > 0 {
		s += ", lost " + r.Lost.Show(t.sys)
	}
	return s
}

func (t *teller) repair(r *record.Repair) string {
	s := "repaired"
	if r.Temporary {
		s = "repaired for the time being"
	}
	switch where := Places(t.m, r.Positions, ""); {
	case where != "" && r.Part != "":
		s += " the " + plain(r.Part) + " of " + where
	case where != "":
		s += " " + where
	case r.Part != "":
		s += " the " + plain(r.Part)
	default:
		s += " " + t.machine()
	}
	s += t.words()
	if r.Cause != "" {
		s += " (" + plain(r.Cause) + ")"
	}
	s += before(fitted(r.Used), needs(r.Used))
	if r.Lost.Sign() > 0 {
		s += ", lost " + r.Lost.Show(t.sys)
	}
	return s
}

// fitted leads in what went in: said to be used, a part from the shelf would read as an old one.
func fitted(all []record.Need) string {
	if len(all) == 1 && all[0].Count == 1 {
		return ", part: "
	}
	return ", parts: "
}

func needs(all []record.Need) string {
	var out []string
	for _, n := range all {
		if n.Count == 1 {
			out = append(out, n.What)
			continue
		}
		out = append(out, strconv.Itoa(n.Count)+" "+n.What)
	}
	return and(out)
}
