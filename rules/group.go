package rules

import (
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/record"
)

// group joins what stands exactly alike at several places of one machine into one Item: same job, state, cause, severity, point, distance, last doing and
// reason. Nothing is rounded together: places that differ by an acre are two lines.
func group(m *Machine, found []finding) []Item {
	at := map[string]int{}
	var joined []finding
	var places [][]record.Position
	for _, f := range found {
		k := f.alike()
		i, ok := at[k]
		if !ok {
			i = len(joined)
			at[k] = i
			joined = append(joined, f)
			places = append(places, nil)
		}
		places[i] = append(places[i], f.place)
	}
	items := make([]Item, len(joined))
	for i, f := range joined {
		items[i] = f.item(m, record.NewPositions(places[i]...))
	}
	return items
}

// alike is everything that must be the same on one line.
func (f *finding) alike() string {
	return fmt.Sprintf("%q", []string{f.key, f.of, f.Job, f.Title, f.State, f.Severity, f.Cause, f.Due.Date, f.Due.Counter, f.Due.Value.String(), f.Over.Counter, f.Over.Value.String(),
		f.Expected, string(f.Last.Entry), string(f.Last.Done), f.Brief, fmt.Sprint(f.Found), f.Why, fmt.Sprint(f.Entries), strings.Join(f.Includes, " ")})
}

func (f *finding) item(m *Machine, at record.Positions) Item {
	it := f.Item
	it.Farm, it.Yard, it.Machine, it.Name = m.Farm, m.Yard, m.ID, m.Name
	it.Positions = at
	it.ID = m.ID.Short() + "/" + f.key + "/" + it.Cause
	n := 1
	if all := at.All(); len(all) > 0 {
		it.ID += "/" + all[0].String()
		n = len(all)
		it.Where = at.String()
		if m.Fitted != nil {
			it.Where = m.Fitted.Describe(at, f.of)
		}
	}
	if f.each != nil {
		it.Minutes = new(big.Rat).Mul(f.each, big.NewRat(int64(n), 1))
	}
	return it
}
