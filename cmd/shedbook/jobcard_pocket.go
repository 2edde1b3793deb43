package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

func anyJobCare() string { return schedule.StandardCautions()[0].Text }

// pocketPage is a small card for the field, where no screen reaches: what is set, what is wrong, torques, and the lines to fill in and type that night.
func (c *call) pocketPage(b *book, st *rules.State, a carding) (*paper.Page, error) {
	m, err := findMachine(st, strings.ToLower(a.machine))
	if err != nil {
		return nil, err
	}
	if m.Fitted == nil {
		return nil, failed("no-schedule", "shedbook schedule list", "the schedule %q of %s is not known, so nothing can be told of its settings", m.Kind, m.Name)
	}
	v := c.viewMachine(st, &look{m: m})
	p := &paper.Page{Title: m.Name, Kind: "pocket card", Print: true, Running: fmt.Sprintf("%s, %s, up to entry %s", m.Name, st.On, newestOf(st, m.ID).Short())}
	now := paper.Strip{Title: m.Name + " on " + weekday(record.Done(st.On))}
	now.Blocks = append(now.Blocks, paper.Notice{Grave: true, Lines: []paper.Text{paper.Say(anyJobCare())}})
	var facts []paper.Fact
	facts = append(facts, c.pocketSettings(m, v)...)
	for i := range m.Fitted.Counters {
		if k := m.Counters[m.Fitted.Counters[i].Name]; k != nil && k.Known && !k.Derived {
			facts = append(facts, paper.Fact{Name: k.Name, Values: []paper.Text{paper.Say(rough(k.Reading, c.system).String() + before(" on ", k.ReadOn))}})
		}
	}
	now.Blocks = append(now.Blocks, paper.Facts{Items: facts})
	wrong := paper.List{}
	for _, f := range m.Faults {
		if f.Closed == "" {
			words := f.Severity
			if !f.Positions.IsZero() {
				words = m.Fitted.Describe(f.Positions, "") + ", " + words
			}
			wrong.Items = append(wrong.Items, paper.Say(words+before(": ", f.Text), string(f.ID)))
		}
	}
	if len(wrong.Items) == 0 {
		wrong.Items = []paper.Text{paper.Say("nothing is written down as wrong")}
	}
	now.Blocks = append(now.Blocks, paper.Para{Text: paper.Say("Wrong now:")}, wrong)
	values := paper.Strip{Title: m.Name + ": torques, pressures, oils"}
	values.Blocks = append(values.Blocks, c.pocketSpec(m))
	for _, s := range safetyLines {
		values.Blocks = append(values.Blocks, paper.Para{Text: paper.Say(s)})
	}
	lines := paper.Strip{Title: "Fill in, type it tonight"}
	for i := range 5 {
		lines.Blocks = append(lines.Blocks, paper.Blanks{Names: []string{fmt.Sprintf("%d. time", i+1), "field", "what, where, from, to"}})
	}
	lines.Blocks = append(lines.Blocks, paper.Commands{Lines: pocketLines(m)}, paper.Blanks{Names: cardBlanks(m)})
	p.Sections = []paper.Section{{Title: "To carry", Note: "Cut along the dashed lines and fold once.", Blocks: []paper.Block{now, values, lines}}}
	return p, nil
}

// pocketSettings are the settings as they stand, places alike together, each value once.
func (c *call) pocketSettings(m *rules.Machine, v *wholeJSON) []paper.Fact {
	type standing struct {
		name, value string
		at          record.Positions
	}
	var all []standing
	for _, s := range v.Settings {
		at, err := record.ParsePositions(s.Positions)
		if err != nil || s.Value.IsZero() {
			continue
		}
		value := sentence.Value(s.Value.v, c.system)
		if n := slices.IndexFunc(all, func(o standing) bool { return o.name == s.Setting && o.value == value }); n >= 0 {
			all[n].at = all[n].at.Union(at)
			continue
		}
		all = append(all, standing{s.Setting, value, at})
	}
	var out []paper.Fact
	for _, s := range all {
		where := ""
		if !s.at.IsZero() && !m.Fitted.All(s.at.All()[0].Noun).Equal(s.at) {
			where = ", " + m.Fitted.Describe(s.at, "")
		}
		out = append(out, paper.Fact{Name: s.name + where, Values: []paper.Text{paper.Say(s.value)}})
	}
	return out
}

// pocketSpec is the spec card in short lines, what is tightened in the field first.
func (c *call) pocketSpec(m *rules.Machine) paper.Block {
	t := &shownSchedule{call: c, f: m.Fitted, m: m}
	lines := t.card()
	slices.SortStableFunc(lines, func(a, b *cardLine) int { return len(b.Jobs) - len(a.Jobs) })
	const most = 12
	var out paper.List
	for i, l := range lines {
		if i == most {
			out.Items = append(out.Items, paper.Say(fmt.Sprintf("and %d more: shedbook spec %s", len(lines)-most, m.Name)))
			break
		}
		out.Items = append(out.Items, paper.Say(l.Name+": "+l.Value+iff(l.Own, " (your own value, "+l.Page+")")))
	}
	if len(out.Items) == 0 {
		out.Items = []paper.Text{paper.Say("its schedule has none: see the manual")}
	}
	return out
}

// pocketLines are the commands that fit the machine, with gaps.
func pocketLines(m *rules.Machine) []string {
	var out []string
	for i := range m.Fitted.Settings {
		if s := &m.Fitted.Settings[i]; len(out) < 2 {
			where := " ____"
			if s.Of == "" {
				where = ""
			}
			out = append(out, fmt.Sprintf("shedbook adjust %s%s %s ____ --done ____", m.Name, where, s.Name))
		}
	}
	place := ""
	if len(m.Fitted.Places) > 0 {
		place = " " + m.Fitted.Places[0].Noun + "/___"
	}
	out = append(out, fmt.Sprintf("shedbook fault %s%s \"________\" --soon", m.Name, place))
	if k := m.Fitted.MainCounter(); k != nil {
		out = append(out, fmt.Sprintf("shedbook counter %s %s=____%s", m.Name, k.Name, k.Unit))
	}
	return out
}
