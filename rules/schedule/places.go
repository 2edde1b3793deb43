package schedule

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"shedbook/rules/record"
)

// place works out counts, ranks, groups and pairs. Groups without places on this machine are dropped: the rear rank where there is one rank only.
func (f *Fitted) place(values map[string]string) {
	f.counts, f.ranks = map[string]int{}, map[string]int{}
	f.groups, f.pairs = map[string]record.Positions{}, map[record.Position]record.Position{}
	for i := range f.Places {
		p := &f.Places[i]
		n := len(p.Names)
		if n == 0 {
			n = number(p.Count, values)
		}
		f.counts[p.Noun], f.ranks[p.Noun] = n, max(number(p.Ranks, values), 1)
		p.Count, p.Ranks = strconv.Itoa(n), strconv.Itoa(f.ranks[p.Noun])
	}
	dropped := map[string]bool{}
	f.Groups = keep(f.Groups, func(g *Group) bool {
		set := f.groupOf(g)
		if set.IsZero() || g.Rank != 0 && f.ranks[g.Of] == 1 {
			dropped[g.Name] = true
			return false
		}
		f.groups[g.Name] = set
		return true
	})
	f.Jobs = keep(f.Jobs, func(j *Job) bool { return !dropped[j.Group] })
	f.Setups = keep(f.Setups, func(s *Setup) bool {
		s.Values = keep(s.Values, func(v *SetupValue) bool { return !dropped[v.Where] })
		return len(s.Values) > 0
	})
	for i := range f.Pairs {
		f.pairUp(&f.Pairs[i])
	}
}

// groupOf is the set of a group's places that this machine has.
func (f *Fitted) groupOf(g *Group) record.Positions {
	n, ranks := f.counts[g.Of], f.ranks[g.Of]
	p, _ := find(f.Places, g.Of, func(p *Place) string { return p.Noun })
	if g.List != "" {
		items, _ := parseList(g.List)
		var places []record.Position
		for _, i := range items {
			for _, q := range i.expand(g.Of) {
				if f.has(q) {
					places = append(places, q)
				}
			}
		}
		return record.NewPositions(places...)
	}
	var places []record.Position
	for k := 1; k <= n; k++ {
		in := false
		switch {
		case g.To != nil:
			middle := big.NewRat(int64(2*k-1), int64(2*n)) // the place's own middle as a share of the width
			in = middle.Cmp(g.From) >= 0 && (middle.Cmp(g.To) < 0 || g.To.Cmp(big.NewRat(1, 1)) == 0)
		case g.Rank > 0:
			in = (k-1)%ranks+1 == g.Rank
		case g.Rank < 0:
			in = (k-1)%ranks == ranks-1
		case g.Step > 0:
			in = k >= g.Start && (k-g.Start)%g.Step == 0
		}
		if in {
			places = append(places, at(p, k))
		}
	}
	return record.NewPositions(places...)
}

// at is the k-th place of a noun, from 1.
func at(p *Place, k int) record.Position {
	if len(p.Names) > 0 {
		return record.Position{Noun: p.Noun, Name: p.Names[k-1]}
	}
	return record.Position{Noun: p.Noun, Number: k}
}

// has reports whether the machine has the place.
func (f *Fitted) has(q record.Position) bool {
	p, n, ok := f.Noun(q.Noun)
	if !ok {
		return false
	}
	if q.Name != "" {
		return contains(p.Names, q.Name)
	}
	return len(p.Names) == 0 && q.Number >= 1 && q.Number <= n
}

func (f *Fitted) pairUp(p *Pair) {
	place, n, ok := f.Noun(p.Of)
	if !ok {
		return
	}
	link := func(a, b record.Position) {
		if a != b && f.has(a) && f.has(b) {
			f.pairs[a], f.pairs[b] = b, a
		}
	}
	switch p.How {
	case "neighbours":
		for k := 1; k < n; k += 2 {
			link(at(&place, k), at(&place, k+1))
		}
	case "mirror":
		for k := 1; k <= n/2; k++ {
			link(at(&place, k), at(&place, n+1-k))
		}
	case "list":
		for _, text := range p.List {
			a, b, _ := strings.Cut(text, "+")
			x, _ := parseList(a)
			y, _ := parseList(b)
			if len(x) == 1 && len(y) == 1 {
				link(x[0].first(p.Of), y[0].first(p.Of))
			}
		}
	}
}

// PairOf is the partner of a place: by the first of the kind's pairs that names it.
func (f *Fitted) PairOf(p record.Position) (record.Position, bool) {
	q, ok := f.pairs[p]
	return q, ok
}

// Noun finds a noun by its singular or plural, with the number of its places on this machine.
func (f *Fitted) Noun(name string) (p Place, count int, ok bool) {
	for _, p := range f.Places {
		if p.Noun == name || p.Plural == name {
			return p, f.counts[p.Noun], true
		}
	}
	return Place{}, 0, false
}

// All is every place of a noun; All("") and an unknown noun give the empty set, the machine as a whole.
func (f *Fitted) All(noun string) record.Positions {
	p, n, ok := f.Noun(noun)
	switch {
	case !ok:
		return record.Positions{}
	case len(p.Names) == 0:
		return record.Span(p.Noun, 1, n)
	}
	var places []record.Position
	for k := 1; k <= n; k++ {
		places = append(places, at(&p, k))
	}
	return record.NewPositions(places...)
}

// GroupPositions is the set of a group of the schedule or of the farm's own.
func (f *Fitted) GroupPositions(name string) (record.Positions, bool) {
	if g, ok := f.groups[name]; ok {
		return g, true
	}
	for _, g := range f.Farm {
		if g.Name == name {
			return g.Positions, true
		}
	}
	return record.Positions{}, false
}

// Rank is the row a place stands in, 1 in front; 0 for named places and those the machine has not.
func (f *Fitted) Rank(p record.Position) int {
	if p.Name != "" || !f.has(p) {
		return 0
	}
	return (p.Number-1)%f.ranks[p.Noun] + 1
}

// Walk gives the places of a set in the order in which a person walks past them, noun by noun in the schedule's order: 1 to n in line, or rank by
// rank, every second one from right to left. Named places come in the schedule's order. Places the machine has not come last.
func (f *Fitted) Walk(set record.Positions) []record.Position {
	if set.IsZero() {
		return nil
	}
	out := make([]record.Position, 0, set.Len())
	for i := range f.Places {
		p := &f.Places[i]
		n, ranks := f.counts[p.Noun], f.ranks[p.Noun]
		if p.Walk != "serpentine" || len(p.Names) > 0 {
			ranks = 1
		}
		for rank := 1; rank <= ranks; rank++ {
			row := len(out)
			for k := rank; k <= n; k += ranks {
				if q := at(p, k); set.Has(q) {
					out = append(out, q)
				}
			}
			if rank%2 == 0 {
				slices.Reverse(out[row:])
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

// farmGroups checks the farm's own groups.
func (f *Fitted) farmGroups(groups []record.Group) error {
	taken := map[string]string{}
	for _, x := range f.Places {
		taken[x.Noun], taken[x.Plural] = "noun", "noun"
	}
	for _, x := range f.Groups {
		taken[x.Name] = "group"
	}
	for _, x := range f.Counters {
		taken[x.Name] = "counter"
	}
	for _, x := range f.Assemblies {
		taken[x.Name] = "assembly"
	}
	for _, x := range f.Parts {
		taken[x.Name], taken[x.Plural] = "part", "part"
	}
	for _, x := range f.Settings {
		taken[x.Name] = "setting"
	}
	for _, x := range f.Readings {
		taken[x.Name] = "reading"
	}
	for _, x := range f.Jobs {
		taken[x.Name] = "job"
	}
	for _, x := range f.Setups {
		taken[x.Name] = "set-up"
	}
	for _, g := range groups {
		switch what, clash := taken[g.Name]; {
		case contains(reserved, g.Name):
			return fmt.Errorf("group %q cannot have that name: the word is reserved", g.Name)
		case !isName(g.Name):
			return fmt.Errorf("group %q cannot have that name: write small letters, digits and single dashes, a letter first", g.Name)
		case clash:
			return fmt.Errorf("group %q has the name of a %s of kind %s: choose another", g.Name, what, f.Schedule.Name)
		case g.Positions.IsZero():
			return fmt.Errorf("group %q names no place", g.Name)
		}
		taken[g.Name] = "group"
		for _, q := range g.Positions.All() {
			if !f.has(q) {
				return fmt.Errorf("group %q names %s: %s", g.Name, q, f.known(q.Noun))
			}
		}
	}
	return nil
}

// known is what places there are, for errors: "this machine has openers 1 to 48".
func (f *Fitted) known(noun string) string {
	if p, n, ok := f.Noun(noun); ok {
		if len(p.Names) > 0 {
			return fmt.Sprintf("this machine has %s %s", p.Plural, listed(p.Names, "and"))
		}
		if n == 1 {
			return fmt.Sprintf("this machine has one %s", p.Noun)
		}
		return fmt.Sprintf("this machine has %s 1 to %d", p.Plural, n)
	}
	if len(f.Places) == 0 {
		return "this machine has no numbered places"
	}
	var words []string
	for _, p := range f.Places {
		words = append(words, p.Plural)
	}
	return "this machine has " + listed(words, "and")
}
