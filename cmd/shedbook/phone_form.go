package main

import (
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// spotsOf are places as they stand in the machine: row by row from the front, each from left to right.
func spotsOf(f *schedule.Fitted, all record.Positions) []phone.Spots {
	places := all.All()
	noun := func(p record.Position) int {
		return slices.IndexFunc(f.Places, func(x schedule.Place) bool { return x.Noun == p.Noun })
	}
	slices.SortStableFunc(places, func(a, b record.Position) int {
		if d := noun(a) - noun(b); d != 0 {
			return d
		}
		return f.Rank(a) - f.Rank(b)
	})
	var out []phone.Spots
	for i, p := range places {
		if i == 0 || places[i-1].Noun != p.Noun || f.Rank(places[i-1]) != f.Rank(p) {
			title := p.Noun
			if x, _, ok := f.Noun(p.Noun); ok {
				title = x.Plural
			}
			row := slices.DeleteFunc(slices.Clone(places[i:]), func(q record.Position) bool { return q.Noun != p.Noun || f.Rank(q) != f.Rank(p) })
			out = append(out, phone.Spots{Noun: p.Noun, Title: title + before(", ", stretchName(f, row))})
		}
		x := &out[len(out)-1]
		x.Places = append(x.Places, phone.Spot{Value: p.String(), Label: strings.ReplaceAll(strings.TrimPrefix(p.String(), p.Noun+"/"), "-", " ")})
	}
	return out
}

// groupsOf are names for several of these places, whole rows and wings, as the schedule and the farm call them.
func groupsOf(f *schedule.Fitted, all record.Positions) []phone.Spot {
	var out []phone.Spot
	for _, n := range f.Names() {
		at, ok := f.GroupPositions(n.Word)
		if kindOf(n.What) == phrase.Group && ok && at.Len() > 0 && at.Without(all).IsZero() {
			out = append(out, phone.Spot{Value: n.Word, Label: strings.ReplaceAll(n.Word, "-", " ")})
		}
	}
	return out[:min(len(out), 16)]
}

// everyPlace is all places of a machine.
func everyPlace(f *schedule.Fitted) record.Positions {
	var all record.Positions
	for _, p := range f.Places {
		all = all.Union(f.All(p.Noun))
	}
	return all
}

// Form is what is asked for to record something that is no job. what is the part of a swap.
func (s *shop) Form(name, kind, what string) (out *phone.Form, err error) {
	if kind == "hitch" || kind == "move" {
		return s.wholeForm(name, kind)
	}
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		if m.Fitted == nil || !slices.Contains(phone.Kinds, kind) {
			return phone.ErrNone
		}
		out = newForm(m, kind)
		switch kind {
		case "counter":
			return nil
		case "store":
			out.Stored, out.Slack = m.Stored, m.Slack
			return nil
		case "swap":
			return swapForm(m, what, out)
		case "repair":
			out.Faults = openFaults(m)
		case "adjust":
			b.c.phoneSettings(m, out)
		}
		out.Spots, out.Groups = spotsOf(m.Fitted, everyPlace(m.Fitted)), groupsOf(m.Fitted, everyPlace(m.Fitted))
		return nil
	})
	return out, err
}

func newForm(m *rules.Machine, kind string) *phone.Form {
	title := phoneTitles[kind]
	out := &phone.Form{Machine: m.Name, Kind: kind, Title: m.Name + ": " + strings.ToLower(title[:1]) + title[1:]}
	if m.Fitted != nil {
		out.Counters = readCounters(m)
	}
	return out
}

// phoneSettings are the settings of a machine with what stands now.
func (c *call) phoneSettings(m *rules.Machine, out *phone.Form) {
	now := c.settingsNow(m)
	for i := range m.Fitted.Settings {
		x := &m.Fitted.Settings[i]
		s := phone.Setting{Named: phone.Named{Name: x.Name, Title: titled(x.Title, x.Name)}, Unit: x.Unit.String(), Choices: x.Choices, Now: "not known"}
		if list := now[x.Name]; len(list) > 3 {
			s.Now = "now several values"
		} else if len(list) > 0 {
			s.Now = "now " + strings.Join(list, "; ")
		}
		out.Settings = append(out.Settings, s)
	}
	if sets := m.Fitted.Setups; len(sets) > 0 {
		s := phone.Setting{Named: phone.Named{Name: "setup", Title: "all of a set-up"}, Now: "its name as the value"}
		for _, x := range sets {
			s.Choices = append(s.Choices, x.Name)
		}
		out.Settings = append(out.Settings, s)
	}
}

// swapForm asks for the part first: its places, hands and acts are its own.
func swapForm(m *rules.Machine, what string, out *phone.Form) error {
	f := m.Fitted
	if what == "" {
		for i := range f.Parts {
			if p := &f.Parts[i]; !p.Fluid {
				out.Things = append(out.Things, phone.Named{Name: p.Name, Title: titled("", p.Name)})
			}
		}
		for i := range f.Assemblies {
			out.Things = append(out.Things, phone.Named{Name: f.Assemblies[i].Name, Title: titled("", f.Assemblies[i].Name)})
		}
		return nil
	}
	thing, err := (&line{m: m}).swapped(what)
	if err != nil {
		return err
	}
	out.What = phone.Named{Name: thing.name, Title: titled("", thing.name)}
	out.Title = m.Name + ": " + out.What.Title
	out.Acts = []phone.Named{{Name: "", Title: "a new one is in, the old one is off"}, {Name: "out", Title: "taken off, the place left empty"}}
	if noun, n, ok := f.Noun(thing.noun); ok {
		out.Spots, out.Groups = spotsOf(f, f.All(thing.noun)), append(groupsOf(f, f.All(thing.noun)), phone.Spot{Value: "all", Label: "all " + count(n, noun.Noun)})
		if thing.handed {
			out.Hands = noun.Hands
		}
		out.Acts = append(out.Acts, phone.Named{Name: "exchange", Title: "exchanged with another place"})
	}
	out.Acts = append(out.Acts, phone.Named{Name: "used", Title: "a used one is in"}, phone.Named{Name: "turned", Title: "turned over"}, phone.Named{Name: "sharpened", Title: "sharpened"}, phone.Named{Name: "rebuilt", Title: "rebuilt"})
	return nil
}

// wholeForm asks where a machine went, or what pulls it. It looks at the whole book's outline.
func (s *shop) wholeForm(name, kind string) (out *phone.Form, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		m := st.Machine(strings.ToLower(name))
		if m == nil {
			return phone.ErrNone
		}
		if full, err := b.stateOf(m.ID, rules.Options{On: b.on()}); err != nil {
			return err
		} else if x := full.MachineByID(m.ID); x != nil {
			m = x
		}
		out = newForm(m, kind)
		out.Yard = yardName(st, m.Yard)
		for _, y := range st.Yards {
			if y.ID != m.Yard {
				out.Yards = append(out.Yards, y.Name)
			}
		}
		slices.Sort(out.Yards)
		for _, x := range st.Machines {
			if x.ID == m.Carrier {
				out.Carrier = x.Name
			} else if x.ID != m.ID && x.Sold == "" {
				out.Machines = append(out.Machines, phone.Named{Name: x.Name, Title: x.Name + before(", ", machineLine(st, x).Title)})
			}
		}
		slices.SortFunc(out.Machines, func(a, b phone.Named) int { return strings.Compare(a.Name, b.Name) })
		return nil
	})
	return out, err
}

// Seasons are those of the book, open ones first and closed ones last, newest first, and what is asked for to open or close one.
func (s *shop) Seasons() (out *phone.Form, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		out = &phone.Form{Kind: "season", Title: "Seasons"}
		for _, x := range slices.Backward(st.Seasons) {
			p := phone.Season{Name: x.Name, Stands: "planned", Says: strings.TrimSpace(before("from ", x.PlanFrom) + before(" to ", x.PlanTo))}
			switch {
			case x.Closed != "":
				p.Stands, p.Says = "closed", x.Opened+" to "+x.Closed
			case x.Opened != "":
				p.Stands, p.Says = "open", "since "+weekday(record.Done(x.Opened))
			}
			out.Seasons = append(out.Seasons, p)
		}
		stands := []string{"open", "planned", "closed"}
		slices.SortStableFunc(out.Seasons, func(a, b phone.Season) int { return slices.Index(stands, a.Stands) - slices.Index(stands, b.Stands) })
		for _, k := range st.Kinds {
			for _, work := range k.Schedule.Work {
				if !slices.Contains(out.Works, work) {
					out.Works = append(out.Works, work)
				}
			}
		}
		slices.Sort(out.Works)
		return nil
	})
	return out, err
}

// Correction is what can be said to put one's own entry right: the fields of its kind, empty but for its free words.
func (s *shop) Correction(h phone.Hand, name, id string) (out *phone.Form, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		e := effective(st, record.ID(id))
		if e == nil || e.Record == nil || record.MachineOf(e.Record) != m.ID {
			return phone.ErrNone
		}
		kind := e.Entry.Kind
		if ownerOf(e) != record.ID(h.Person) || e.StruckBy != "" || !phoneMends(kind) {
			return &phone.Refused{Text: "That entry is not yours to put right on a phone, or is taken back already.", Next: "Whoever keeps the book can, at the laptop."}
		}
		out = newForm(m, "correct")
		out.As, out.Valued = kind, slices.Contains([]string{"counter", "adjust", "measure"}, kind)
		l := b.line(st, e.Entry)
		l.record, l.private = e.Record, e.Private
		out.Entry = &phone.Entry{ID: id, Short: record.ID(id).Short(), Done: weekday(e.Done), Who: l.who, Says: l.text(b.c)}
		if e.Private != nil {
			out.Text = e.Private.Text
		}
		if m.Fitted != nil && kind != "counter" && phoneVerbs[kind] != nil || kind == "measure" {
			out.Spots, out.Groups = spotsOf(m.Fitted, everyPlace(m.Fitted)), groupsOf(m.Fitted, everyPlace(m.Fitted))
		}
		if phoneWhole(phone.Act{Kind: kind}) == nil {
			for _, x := range st.Machines {
				if x.ID != m.ID && x.Sold == "" {
					out.Machines = append(out.Machines, phone.Named{Name: x.Name, Title: x.Name})
				}
			}
		}
		return nil
	})
	return out, err
}
