package rules

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// holds reports whether all conditions hold at a place on the day.
func (j *judge) holds(all []schedule.Only, p record.Position) bool {
	for _, o := range all {
		if !j.condition(o, p) {
			return false
		}
	}
	return true
}

func (j *judge) condition(o schedule.Only, p record.Position) bool {
	switch {
	case o.Option != "":
		return slices.Contains(o.Is, j.options[o.Option])
	case o.Setting != "":
		v := j.standing(o.Setting, p)
		return v != nil && !v.Unknown && slices.Contains(o.Is, v.Value.String())
	case o.Reading != "":
		return j.graded(o, p)
	case o.State != "":
		return o.State == "stored" && j.m.Stored || o.State == "unfit" && j.m.Unfit
	case o.Ground != "":
		return j.m.Context.Ground == o.Ground
	case o.Crop != "":
		return j.m.Context.Crop == o.Crop
	}
	return slices.ContainsFunc(o.Any, func(one schedule.Only) bool { return j.condition(one, p) })
}

// graded reports whether the last readings there (or of the machine) all have one of the grades; with fewer readings than asked for it does not hold.
func (j *judge) graded(o schedule.Only, p record.Position) bool {
	n, seen := max(o.Last, 1), false
	for _, hand := range j.hands(p.Noun) {
		all := j.valued(o.Reading, SlotName(p, hand))
		if len(all) == 0 && p.Noun != "" {
			all = j.valued(o.Reading, SlotName(record.Position{}, hand))
		}
		if len(all) == 0 {
			continue
		}
		seen = true
		if len(all) < n || slices.ContainsFunc(all[len(all)-n:], func(r *Reading) bool { return !slices.Contains(o.Is, valueOf(r).String()) }) {
			return false
		}
	}
	return seen
}

// standing is a setting's value at a place: its own, else the machine's.
func (j *judge) standing(setting string, p record.Position) *Standing {
	if v := j.m.Settings[setting][p.String()]; v != nil {
		return v
	}
	return j.m.Settings[setting][""]
}

// factor multiplies the factors whose conditions hold; why names them, "" where none does.
func (j *judge) factor(t *schedule.Trigger, p record.Position) (by *big.Rat, why string) {
	by = big.NewRat(1, 1)
	for _, f := range t.Factors {
		if f.By != nil && f.By.Sign() > 0 && j.holds(f.While, p) {
			by.Mul(by, f.By)
			why += ", times " + f.By.RatString() + conditionWords(f.While)
		}
	}
	return by, why
}

func conditionWords(all []schedule.Only) string {
	var words []string
	for _, o := range all {
		switch {
		case o.Option != "":
			words = append(words, o.Option+" is "+orWords(o.Is))
		case o.Setting != "":
			words = append(words, o.Setting+" is "+orWords(o.Is))
		case o.Ground != "":
			words = append(words, "ground is "+o.Ground)
		case o.Crop != "":
			words = append(words, "the crop is "+o.Crop)
		case o.Reading != "":
			words = append(words, o.Reading+" reads "+orWords(o.Is))
		case len(o.Any) > 0:
			var any []string
			for _, one := range o.Any {
				any = append(any, strings.TrimPrefix(conditionWords([]schedule.Only{one}), " while "))
			}
			words = append(words, strings.Join(any, " or "))
		case o.State != "":
			words = append(words, "it is "+o.State)
		}
	}
	if len(words) == 0 {
		return ""
	}
	return " while " + inWords(words)
}

// scaled is an interval's amount times a factor.
func scaled(q quantity.Quantity, by *big.Rat) quantity.Quantity {
	if by.Cmp(big.NewRat(1, 1)) == 0 {
		return q
	}
	return q.Mul(by, 6)
}
