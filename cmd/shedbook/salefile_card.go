package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
)

// windscreen is the half sheet for the lot: it must say what is wrong as plainly as what is good.
func (s *saleFile) windscreen(wrong []paper.Text) paper.Section {
	w := paper.Windscreen{Title: capital(s.title()), Price: s.o.price, Contact: s.o.contact, Day: s.st.On}
	facts := []string{strings.TrimSpace(s.m.Title)}
	if s.m.Year > 0 {
		facts = append(facts, fmt.Sprint("made in ", s.m.Year))
	}
	facts = append(facts, before("serial ", s.m.Serial), s.breadth())
	w.Facts = marks(facts...)
	for _, k := range s.v.Counters {
		if k.Known && !k.Trip && !k.Derived {
			w.Counters = append(w.Counters, strings.ReplaceAll(k.Counter, "-", " ")+" "+k.Reading.q.Show(s.c.system)+", read "+k.ReadOn)
		}
	}
	for i := range s.left {
		if l := &s.left[i]; l.Now >= 0 {
			w.Left = append(w.Left, s.leftShort(l))
		}
	}
	for _, t := range wrong[:min(len(wrong), 4)] {
		t.From = nil
		t.Words, _, _ = strings.Cut(t.Words, ". Found ")
		t.Words, _, _ = strings.Cut(t.Words, " (asked for ")
		w.Wrong = append(w.Wrong, t)
	}
	if n := len(wrong) - len(w.Wrong); n > 0 {
		w.Wrong = append(w.Wrong, paper.Say(fmt.Sprintf("and %d more in the sale file", n)))
	}
	if len(wrong) == 0 {
		w.Wrong = []paper.Text{paper.Say("nothing is written as wrong; that is no promise: look at it")}
	}
	w.Proof = fmt.Sprintf("Ask for the sale file and its evidence (%s; shedbook audit --evidence must show a digest that begins with %s): every repair, reading and part, to be checked without the seller.", filepath.Base(evidenceBeside(s.o.out)), s.proof.ev.Digest().Short())
	return paper.Section{ID: "windscreen", Title: "Windscreen card", Note: "Half a sheet, to be cut out.", NewSheet: true, Blocks: []paper.Block{w}}
}

// leftShort says what is left in few words: today's likely first, for the measured alone flatters.
func (s *saleFile) leftShort(l *rules.Left) string {
	var parts []string
	if now := &l.Places[l.Now]; now.NowKnown {
		parts = append(parts, "today likely "+s.leastNow(l, now)+", half over "+share(l.Mid))
	}
	if count, ok := l.Wear.Within(0); ok && len(l.Places) > 1 {
		parts = append(parts, fmt.Sprintf("likely past their limit today: %d to %d of %d", count.Low, count.High, l.Forecasted()))
	}
	if l.Worst >= 0 {
		worst := &l.Places[l.Worst]
		parts = append(parts, "measured "+worst.On.Date()+before(", ", ago(s.since(worst)))+": "+leastWords(worst)+" at "+s.leftPlaces(sameReading(l, worst)))
	}
	return capital(l.Title) + ": " + strings.Join(parts, "; ")
}

// breadth is how many places the main things have, and how wide it is, by its options.
func (s *saleFile) breadth() string {
	if s.m.Fitted == nil {
		return ""
	}
	var out []string
	for _, o := range s.m.Fitted.OptionValues {
		if _, count, ok := s.m.Fitted.Noun(strings.TrimSuffix(o.Name, "s")); ok && count > 1 {
			out = append(out, o.Value+" "+strings.ReplaceAll(o.Name, "-", " "))
		}
		if o.Name == "width" {
			out = append(out, o.Value+" wide")
		}
	}
	return strings.Join(out, ", ")
}
