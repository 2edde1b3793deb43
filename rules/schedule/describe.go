package schedule

import (
	"fmt"
	"strconv"
	"strings"

	"shedbook/rules/record"
)

// Describe says a set of places as people do: "openers 1-48 but 14", "openers 3, 7-9", "opener 12", "all 48 openers", "left wing", "wheel left-front",
// "the whole machine": a group that is just this set, else the shorter of the list and the all-but form. ParseWhere reads it back, whatever the noun
// spoken of; of is that noun or "", and decides nothing yet.
func (f *Fitted) Describe(set record.Positions, of string) string {
	if set.IsZero() {
		return "the whole machine"
	}
	for _, g := range append(f.groupsByName(), f.Farm...) {
		if g.Positions.Equal(set) && !f.All(nounOf(set)).Equal(set) {
			if back, err := f.ParseWhere("", spaced(g.Name)); err == nil && back.Equal(set) {
				return spaced(g.Name)
			}
			return g.Name
		}
	}
	byNoun := map[string][]record.Position{}
	var nouns []string
	for _, p := range f.inOrder(set) {
		if byNoun[p.Noun] == nil {
			nouns = append(nouns, p.Noun)
		}
		byNoun[p.Noun] = append(byNoun[p.Noun], p)
	}
	parts := make([]string, len(nouns))
	for i, n := range nouns {
		parts[i] = f.describeNoun(n, byNoun[n], len(nouns) == 1)
	}
	return strings.Join(parts, " and ")
}

func nounOf(set record.Positions) string {
	if r := set.Ranges(); len(r) > 0 {
		return r[0].Noun
	}
	return ""
}

// groupsByName are the schedule's groups with their places.
func (f *Fitted) groupsByName() []record.Group {
	var out []record.Group
	for _, g := range f.Groups {
		out = append(out, record.Group{Name: g.Name, Positions: f.groups[g.Name]})
	}
	return out
}

// inOrder gives the places noun by noun and name by name in the schedule's order.
func (f *Fitted) inOrder(set record.Positions) []record.Position {
	var out []record.Position
	for i := range f.Places {
		p := &f.Places[i]
		for k := 1; k <= f.counts[p.Noun]; k++ {
			if q := at(p, k); set.Has(q) {
				out = append(out, q)
			}
		}
	}
	for _, q := range set.All() {
		if !f.has(q) {
			out = append(out, q)
		}
	}
	return out
}

// describeNoun says places of one noun; but is allowed where nothing else follows, for it takes from all that stands before it.
func (f *Fitted) describeNoun(noun string, places []record.Position, but bool) string {
	p, n, ok := f.Noun(noun)
	if !ok {
		p.Plural = noun
	}
	switch {
	case len(places) == 1:
		return noun + " " + strings.TrimPrefix(places[0].String(), places[0].Noun+"/")
	case ok && len(places) == n && f.All(noun).Equal(record.NewPositions(places...)):
		return fmt.Sprintf("all %d %s", n, p.Plural)
	}
	list := p.Plural + " " + runs(places)
	if !but || !ok {
		return list
	}
	have := record.NewPositions(places...)
	var absent []record.Position
	for k := 1; k <= n; k++ {
		if q := at(&p, k); !have.Has(q) {
			absent = append(absent, q)
		}
	}
	allBut := fmt.Sprintf("%s 1-%d but %s", p.Plural, n, runs(absent))
	if len(p.Names) > 0 {
		allBut = fmt.Sprintf("all %d %s but %s", n, p.Plural, runs(absent))
	}
	if len(absent) > 0 && len(allBut) <= len(list) {
		return allBut
	}
	return list
}

// runs is "3, 7-9" or "left-front, right-front".
func runs(places []record.Position) string {
	var words []string
	for i := 0; i < len(places); {
		if places[i].Name != "" {
			words = append(words, places[i].Name)
			i++
			continue
		}
		j := i
		for j+1 < len(places) && places[j+1].Number == places[j].Number+1 {
			j++
		}
		switch j - i {
		case 0:
			words = append(words, strconv.Itoa(places[i].Number))
		case 1:
			words = append(words, strconv.Itoa(places[i].Number), strconv.Itoa(places[j].Number))
		default:
			words = append(words, fmt.Sprintf("%d-%d", places[i].Number, places[j].Number))
		}
		i = j + 1
	}
	return strings.Join(words, ", ")
}
