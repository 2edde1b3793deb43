package main

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/rules"
	"shedbook/rules/record"
)

// Style is that of the pages that wear and comparisons are drawn on.
func (s *shop) Style() []byte { return paper.Style() }

// lookOf is a page of paper within one of the phone: without the list of entries, which the phone shows elsewhere, and at a phone's width.
func lookOf(machine, title string, p *paper.Page) (*phone.Look, error) {
	body, err := p.Inner()
	return &phone.Look{Machine: machine, Title: title, Body: body}, err
}

// Wear is what is left of the parts that are judged by a size, in the words and the drawings of a sale file.
func (s *shop) Wear(name string) (out *phone.Look, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		if m.Fitted == nil {
			return phone.ErrNone
		}
		f := &saleFile{c: b.c, b: b, st: st, m: m, v: b.c.viewMachine(st, &look{m: m}), left: rules.LeftOf(st, m)}
		section := f.wearLeft()
		section.Title = ""
		out, err = lookOf(m.Name, m.Name+": wear left", &paper.Page{Sections: []paper.Section{section}})
		return err
	})
	return out, err
}

// Compare sets two seasons or days beside each other as compare does; the last two seasons that began, where none are named.
func (s *shop) Compare(name, one, other string) (out *phone.Look, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		m := st.Machine(strings.ToLower(name))
		if m == nil {
			return phone.ErrNone
		}
		var begun []string
		for _, x := range st.Seasons {
			if x.Opened != "" && m.Fitted != nil && slices.Contains(m.Fitted.Work, x.Work) {
				begun = append(begun, x.Name)
			}
		}
		title := m.Name + ": seasons compared"
		if one == "" && other == "" && len(begun) > 1 {
			one, other = begun[len(begun)-2], begun[len(begun)-1]
		}
		if one == "" || other == "" {
			out = &phone.Look{Machine: m.Name, Title: title, Seasons: append(begun, b.on()), One: one, Other: other, About: "Name two seasons, or two days: 2026-04-15."}
			return nil
		}
		var sides [2]sideOf
		for i, at := range []string{one, other} {
			if sides[i], err = b.sideAt(m.Name, at); err != nil {
				return err
			}
		}
		p, err := b.comparePage(sides, rules.Compare(sides[0].Side, sides[1].Side))
		if err != nil {
			return err
		}
		p.Sections = slices.DeleteFunc(p.Sections, func(x paper.Section) bool { return x.ID == "entries" })
		if out, err = lookOf(m.Name, title, p); err == nil {
			out.Seasons, out.One, out.Other = begun, one, other
		}
		return err
	})
	return out, err
}

// Spec is the spec card, or what the words find on it.
func (s *shop) Spec(name, words string) (out *phone.Look, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		t, err := b.c.findSchedule(st, m.Name)
		if err != nil {
			return err
		}
		all := t.card()
		lines := lookUp(all, strings.Fields(words))
		out = &phone.Look{Machine: m.Name, Title: m.Name + ": spec card", Asks: "What do you look for?", Asked: words, Hint: "oil, filter, torque; empty: the whole card"}
		builtIn := false
		for _, l := range lines {
			f := phone.Fact{Name: l.Name, Values: []string{strings.TrimSuffix(l.Value+before(" - ", l.Note), " - ")}}
			if len(l.Jobs) > 0 {
				f.Values = append(f.Values, "for "+strings.Join(l.Jobs, ", "))
			}
			if builtIn = builtIn || !l.Own; l.Own {
				f.Values = append(f.Values, "your own value, "+l.Page)
			}
			if l.Computed != "" {
				f.Values = append(f.Values, l.Computed)
			}
			out.Facts = append(out.Facts, f)
		}
		out.About = "The operator's manual rules."
		if builtIn {
			out.About += " Values without a page are " + t.f.Source + "."
		}
		if len(lines) == 0 {
			out.About = "Nothing about that stands on the card" + didYouMean(strings.TrimSpace(words), cardWords(all)) + "."
		}
		return nil
	})
	return out, err
}

// phoneColumns is how wide text in columns is on a phone of 320 px.
const phoneColumns = 34

// fewPast is how many entries stand under a place or a thing.
const fewPast = 12

// Show tells of a place or a thing what show --why tells, and what was recorded of it; of the machine as a whole where nothing is named.
func (s *shop) Show(name, words string) (out *phone.Look, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		out = &phone.Look{Machine: m.Name, Title: m.Name + ": a place, and why", Asks: "Which place or thing?", Asked: words, Hint: "opener/12, or 12 disc, or left-wing depth"}
		if strings.TrimSpace(words) == "" {
			out.About = "Shows what is so there, and for each line the entries and the rule that it rests on."
			return nil
		}
		l, err := lookAt(st, append([]string{m.Name}, strings.Fields(strings.ToLower(words))...))
		if err != nil {
			return err
		}
		c, common := *b.c, *b.c.common
		var text bytes.Buffer
		common.color = "never"
		c.env, c.common = quietly(c.env), &common
		c.env.stdout, c.env.getenv = &text, func(name string) string {
			if name == "COLUMNS" {
				return strconv.Itoa(phoneColumns)
			}
			return b.c.env.getenv(name)
		}
		t := &machineText{call: &c, v: c.viewMachine(st, l), l: l, fine: l.places.Len() == 1, why: true, titles: true}
		t.print()
		out.Lines = text.String()
		lines := b.history(st, historyFilter{machine: m.ID, look: l})
		out.More = len(lines) > fewPast
		for _, x := range slices.Backward(lines[max(0, len(lines)-fewPast):]) {
			out.Past = append(out.Past, phone.Entry{ID: string(x.id), Short: record.ID(x.id).Short(), Done: weekday(x.done), Who: x.who, Says: strings.Join(append([]string{x.text(b.c)}, x.marks...), " ")})
		}
		return nil
	})
	return out, err
}
