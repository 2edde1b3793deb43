package schedule

import (
	"sort"

	"shedbook/rules/record"
)

// Changes is what applying the set-up means on this machine: one change for each setting and value, positions resolved. Where two of its values name
// one place the later rules.
func (f *Fitted) Changes(s *Setup) ([]record.Change, error) {
	type change struct {
		setting string
		to      record.Value
		at      record.Positions
	}
	var out []change
	for _, v := range s.Values {
		set, ok := f.Setting(v.Setting)
		if !ok {
			continue
		}
		at, err := f.ParseWhere(set.Of, v.Where)
		if err != nil {
			return nil, err
		}
		to, err := set.ParseValue(v.To)
		if err != nil {
			return nil, err
		}
		kept := out[:0]
		for _, c := range out {
			if c.setting == v.Setting {
				if c.at = c.at.Without(at); c.at.IsZero() {
					continue
				}
			}
			kept = append(kept, c)
		}
		out = append(kept, change{v.Setting, to, at})
	}
	order := map[string]int{}
	for i, s := range f.Settings {
		order[s.Name] = i
	}
	sort.SliceStable(out, func(i, j int) bool { return order[out[i].setting] < order[out[j].setting] })
	changes := make([]record.Change, len(out))
	for i, c := range out {
		changes[i] = record.Change{Setting: c.setting, Positions: c.at, To: c.to}
	}
	return changes, nil
}
