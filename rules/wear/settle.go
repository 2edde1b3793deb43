package wear

import "slices"

// Remeasured is the count of the parts that pass their limit within the use ahead, as it would be known if all of them were measured again after some of it and
// came out as expected: what one more measurement settles. more is above 0 and below the whole.
func (m *Model) Remeasured(parts []int, a Ahead, more, whole float64) (Count, error) {
	d := m.data
	d.Seasons = append(slices.Clone(d.Seasons), "next")
	d.Parts = slices.Clone(d.Parts)
	next := len(d.Seasons) - 1
	rest := min(more, a.Rest)
	for _, i := range parts {
		p := &d.Parts[i]
		then := m.at(i, a, more)
		use := less(p.Use, nil, len(d.Seasons))
		if rest > 0 {
			use[next-1] += rest
		}
		use[next] += more - rest
		groups := less(p.Groups, nil, len(d.Groups))
		for g := range groups {
			if g < len(p.Here) {
				groups[g] += p.Here[g] * more
			}
		}
		p.Readings = append(slices.Clone(p.Readings), Reading{Day: "again", Size: m.size(i, then.Value), Use: use, Groups: groups})
		p.Use, p.Groups = use, groups
	}
	rows, starts := d.rows(m.odd)
	out := &Model{data: d, Step: m.Step, Odd: m.Odd, odd: m.odd, starts: starts, DF: m.DF, Told: m.Told, Curved: m.Curved}
	g := d.design(rows, m.Curved)
	if err := out.held(g, m.given(g)); err != nil {
		return Count{}, err
	}
	after := a
	after.Rest = a.Rest - rest
	if more > rest { // the season begun is now the last one
		after.Rest = max(0, min(a.Season, whole-rest)-(more-rest))
	}
	return out.Count(parts, after, whole-more), nil
}
