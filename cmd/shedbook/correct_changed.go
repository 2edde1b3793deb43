package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shedbook/rules/record"
)

// changed says place by place what a correction changes where the sentences of before and after do not: a range of readings hides the one between. Alike says
// that the two sentences are the same; then what else differs is said by the members of the entry.
func (l *line) changed(was, now record.Record, alike bool) []string {
	a, isMeasure := was.(*record.Measure)
	b, still := now.(*record.Measure)
	if isMeasure && still && a.Reading == b.Reading {
		if out := l.changedReadings(a, b); len(out) > 0 {
			return out
		}
	}
	if !alike {
		return nil
	}
	return changedMembers(was, now)
}

// changedReadings are the places whose values differ: "opener 2: was 6 in, now 5.7 in"; nothing where there is but one place, for the sentences say that.
func (l *line) changedReadings(was, now *record.Measure) []string {
	const most = 8
	old, walk := l.readAt(was)
	cur, more := l.readAt(now)
	for _, s := range more {
		if _, ok := old[s]; !ok {
			walk = append(walk, s)
		}
	}
	if len(walk) < 2 {
		return nil
	}
	var out []string
	for _, s := range walk {
		a, had := old[s]
		b, has := cur[s]
		switch {
		case !has:
			out = append(out, s.name()+": was "+a+", now not in the entry")
		case !had:
			out = append(out, s.name()+": new, "+b)
		case a != b:
			out = append(out, s.name()+": was "+a+", now "+b)
		}
	}
	if n := len(out) - most; n > 0 {
		out = append(out[:most], fmt.Sprintf("and %d more", n))
	}
	if len(out) == 0 {
		return nil
	}
	return []string{"changed: " + strings.Join(out, "; ")}
}

// fresh tells the places of which a corrected measurement says something else than before; of other entries it is nil.
func (l *line) fresh(was, now record.Record) func(record.Position, string) bool {
	a, isMeasure := was.(*record.Measure)
	b, still := now.(*record.Measure)
	if !isMeasure || !still {
		return nil
	}
	old, _ := l.readAt(a)
	cur, _ := l.readAt(b)
	return func(p record.Position, hand string) bool {
		return a.Reading != b.Reading || old[spot{p, hand}] != cur[spot{p, hand}]
	}
}

// readAt are an entry's values as they read, slot by slot, with the slots in walking order.
func (l *line) readAt(r *record.Measure) (map[spot]string, []spot) {
	of, handed := "", false
	if l.m.Fitted != nil {
		if def, ok := l.m.Fitted.Reading(r.Reading); ok {
			of, handed = def.Of, def.Handed
		}
	}
	out := map[spot]string{}
	var walk []spot
	for _, v := range r.Values {
		hands := []string{v.Hand}
		if v.Hand == "" && l.m.Fitted != nil {
			hands = l.handsOf(of, handed)
		}
		places := v.Positions.All()
		if v.Positions.IsZero() {
			places = []record.Position{{}}
		}
		for _, p := range places {
			for _, h := range hands {
				out[spot{p, h}] = asRead(v)
				walk = append(walk, spot{p, h})
			}
		}
	}
	return out, walk
}

// changedMembers are the members of an entry that differ, as the entry holds them.
func changedMembers(was, now record.Record) []string {
	a, b := members(was), members(now)
	keys := slices.Collect(maps.Keys(a))
	for k := range b {
		if _, ok := a[k]; !ok {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	var out []string
	for _, k := range keys {
		if k != "said" && !bytes.Equal(a[k], b[k]) { // how the places were typed is no change
			out = append(out, fmt.Sprintf("changed: %s was %s, now %s", strings.ReplaceAll(k, "_", " "), memberText(a[k]), memberText(b[k])))
		}
	}
	return out
}

func members(r record.Record) map[string]json.RawMessage {
	out := map[string]json.RawMessage{}
	if raw, err := json.Marshal(r); err == nil {
		_ = json.Unmarshal(raw, &out) // of what was written just now nothing can be wrong
	}
	return out
}

func memberText(raw json.RawMessage) string {
	if len(raw) == 0 {
		return "not said"
	}
	const most = 200
	s := strings.NewReplacer(`"`, "", ",", ", ").Replace(string(raw))
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "..."
	}
	return s
}
