package schedule

// prune takes out what this machine has not: items whose options do not hold, and then whatever names them.
func (f *Fitted) prune(values map[string]string) {
	s := f.Schedule
	p := &pruner{values: values}
	s.Places = keep(s.Places, func(x *Place) bool {
		if !p.holds(&x.HandsOnly) {
			x.Hands = nil
		}
		return p.holds(&x.Only)
	})
	place := map[string]bool{"": true}
	hands := map[string]bool{}
	for _, x := range s.Places {
		place[x.Noun], hands[x.Noun] = true, len(x.Hands) > 0
	}
	s.Groups = keep(s.Groups, func(x *Group) bool { return p.holds(&x.Only) && place[x.Of] })
	s.Pairs = keep(s.Pairs, func(x *Pair) bool { return p.holds(&x.Only) && place[x.Of] })
	groups, pairs := namesOf(s.Groups, func(x *Group) string { return x.Name }), namesOf(s.Pairs, func(x *Pair) string { return x.Name })
	s.Parts = keep(s.Parts, func(x *Part) bool {
		x.Handed = x.Handed && hands[x.Of]
		if !pairs[x.Partner] {
			x.Partner = ""
		}
		return p.holds(&x.Only) && place[x.Of]
	})
	parts := namesOf(s.Parts, func(x *Part) string { return x.Name })
	for i := range s.Parts {
		s.Parts[i].With = only(s.Parts[i].With, parts)
	}
	s.Assemblies = keep(s.Assemblies, func(x *Assembly) bool {
		x.Parts = only(x.Parts, parts)
		return p.holds(&x.Only) && place[x.Of] && len(x.Parts) > 0
	})
	assemblies := namesOf(s.Assemblies, func(x *Assembly) string { return x.Name })
	s.Settings = keep(s.Settings, func(x *Setting) bool { return p.holds(&x.Only) && place[x.Of] })
	p.settings = namesOf(s.Settings, func(x *Setting) string { return x.Name })
	s.Readings = keep(s.Readings, func(x *Reading) bool {
		x.Handed = x.Handed && hands[x.Of]
		if !parts[x.Part] {
			x.Part = ""
		}
		x.Limits = keep(x.Limits, func(l *Limit) bool { return p.holds(&l.Only) })
		x.Limit = nil
		if len(x.Limits) > 0 {
			x.Limit = &x.Limits[0]
		}
		return p.holds(&x.Only) && place[x.Of]
	})
	p.readings = namesOf(s.Readings, func(x *Reading) string { return x.Name })
	p.computed(s, hands)
	s.Jobs = keep(s.Jobs, func(x *Job) bool {
		return p.holds(&x.Only) && place[x.Of] && (x.Group == "" || groups[x.Group]) && (x.Swaps == "" || parts[x.Swaps] || assemblies[x.Swaps]) && (x.Turns == "" || parts[x.Turns])
	})
	jobs := namesOf(s.Jobs, func(x *Job) string { return x.Name })
	for i := range s.Jobs {
		x := &s.Jobs[i]
		x.Includes, x.Loosens, x.Next, x.Try = only(x.Includes, jobs), only(x.Loosens, jobs), only(x.Next, jobs), only(x.Try, jobs)
		x.Sets, x.Measures = only(x.Sets, p.settings), only(x.Measures, p.readings)
		x.When = keep(x.When, func(g *Trigger) bool { return p.trigger(g, parts, assemblies, jobs) })
	}
	known := func(name string) bool { return p.settings[name] || p.readings[name] }
	s.Relations = keep(s.Relations, func(x *Relation) bool {
		x.Rows = keep(x.Rows, func(row *RelationRow) bool { return p.holds(&row.Only) })
		return p.holds(&x.Only) && place[x.Of] && known(x.Thing) && known(x.By) && len(x.Rows) > 0
	})
	s.Setups = keep(s.Setups, func(x *Setup) bool {
		x.Values = keep(x.Values, func(v *SetupValue) bool { return p.holds(&v.Only) && p.settings[v.Setting] })
		return p.holds(&x.Only) && len(x.Values) > 0
	})
	s.Specs = keep(s.Specs, func(x *Spec) bool { return p.holds(&x.Only) })
}

type pruner struct {
	values             map[string]string
	settings, readings map[string]bool
}

// holds decides the conditions on options and takes them out of the list; the others stay for the engine. Until the settings and readings are known
// (nil) only options are named.
func (p *pruner) holds(list *[]Only) bool {
	var rest []Only
	for _, o := range *list {
		switch {
		case o.Option != "":
			if !contains(o.Is, p.values[o.Option]) {
				return false
			}
		case len(o.Any) > 0:
			any, open := false, []Only(nil)
			for _, a := range o.Any {
				one := []Only{a}
				if p.holds(&one) {
					any = any || len(one) == 0
					open = append(open, one...)
				}
			}
			if any {
				continue
			}
			if len(open) == 0 {
				return false
			}
			rest = append(rest, Only{Any: open})
		case o.Setting != "" && p.settings != nil && !p.settings[o.Setting], o.Reading != "" && p.readings != nil && !p.readings[o.Reading]:
			return false
		default:
			rest = append(rest, o)
		}
	}
	*list = rest
	return true
}

// computed takes out readings worked out from others that are gone or, on a machine with one thing in each place, from the hand that is not there;
// as often as it takes, for they may build on one another.
func (p *pruner) computed(s *Schedule, hands map[string]bool) {
	of := map[string]string{}
	for _, x := range s.Readings {
		of[x.Name] = x.Of
	}
	for {
		n := len(s.Readings)
		s.Readings = keep(s.Readings, func(x *Reading) bool {
			if x.Computed == nil {
				return true
			}
			for _, from := range x.Computed.Things() {
				name, hand := splitHand(from)
				if !p.settings[name] && !p.readings[name] || hand != "" && !hands[of[name]] {
					return false
				}
			}
			return true
		})
		p.readings = namesOf(s.Readings, func(x *Reading) string { return x.Name })
		if len(s.Readings) == n {
			return
		}
	}
}

func (p *pruner) trigger(g *Trigger, parts, assemblies, jobs map[string]bool) bool {
	if !p.holds(&g.While) {
		return false
	}
	g.Factors = keep(g.Factors, func(f *Factor) bool { return p.holds(&f.While) })
	event, of := splitEvent(g.After)
	switch {
	case g.Past != "" && !p.readings[g.Past], g.Forecast != "" && !p.readings[g.Forecast], g.Made != "" && !parts[g.Made], g.Until != "" && !jobs[g.Until]:
		return false
	case of == "":
	case event == "swap" && !parts[of] && !assemblies[of], (event == "fault" || event == "repair") && !parts[of], (event == "did" || event == "loosened") && !jobs[of],
		event == "adjust" && !p.settings[of], event == "measure" && !p.readings[of]:
		return false
	}
	return true
}

func keep[T any](list []T, holds func(*T) bool) []T {
	var out []T
	for i := range list {
		x := list[i]
		if holds(&x) {
			out = append(out, x)
		}
	}
	return out
}

func only(names []string, known map[string]bool) []string {
	var out []string
	for _, n := range names {
		if known[n] {
			out = append(out, n)
		}
	}
	return out
}

func namesOf[T any](list []T, of func(*T) string) map[string]bool {
	names := map[string]bool{}
	for i := range list {
		names[of(&list[i])] = true
	}
	return names
}
