package schedule

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// ParseValue reads what a person typed for the setting: a number of steps, an amount (a bare number takes the setting's unit), a choice. What comes
// back is within range and on a step.
func (s *Setting) ParseValue(text string) (record.Value, error) {
	text = strings.TrimSpace(text)
	if s.Type == "choice" {
		v := record.Word(strings.ToLower(text))
		if err := s.Check(v); err != nil {
			return record.Value{}, err
		}
		return v, nil
	}
	q, err := quantity.ParseIn(text, s.Unit)
	if err != nil {
		return record.Value{}, fmt.Errorf("%s: %w", s.Name, err)
	}
	v := record.Amount(q)
	if err := s.Check(v); err != nil {
		if s.Type != "amount" && q.Unit() != s.Unit {
			err = quantity.Amiss(text, q, s.Unit, err)
		}
		return record.Value{}, err
	}
	return v, nil
}

// Check reports a value that the setting cannot have: a word for an amount, another dimension, out of range, between steps, no choice.
func (s *Setting) Check(v record.Value) error {
	q, amount := v.Quantity()
	if s.Type == "choice" {
		if amount || v.IsZero() || !contains(s.Choices, v.Word()) {
			hint := "write " + listed(s.Choices, "or")
			if near := Suggest(v.Word(), s.Choices); len(near) > 0 {
				hint = "did you mean " + quoted(near, "or") + "?"
			}
			return fmt.Errorf("%s cannot be %q: %s", s.Name, v, hint)
		}
		return nil
	}
	if !amount {
		return fmt.Errorf("%s is set to an amount, not to %q: %s", s.Name, v, s.Range())
	}
	if !q.Unit().Converts(s.Unit) || s.Type != "amount" && q.Unit() != s.Unit {
		return fmt.Errorf("%s cannot be %s: %s", s.Name, inWords(q), s.Range())
	}
	if c, _ := q.Cmp(s.Min); s.hasMin() && c < 0 {
		return fmt.Errorf("%s cannot be %s: %s", s.Name, inWords(q), s.Range())
	}
	if c, _ := q.Cmp(s.Max); s.hasMax() && c > 0 {
		return fmt.Errorf("%s cannot be %s: %s", s.Name, inWords(q), s.Range())
	}
	if !s.onStep(q) {
		return fmt.Errorf("%s is between steps at %s: steps are %s", s.Name, inWords(q), inWords(s.Step))
	}
	return nil
}

// Range is the range in words: "it goes from 1 (shallowest) to 12 (deepest)", "any length".
func (s *Setting) Range() string {
	ends := []string{"", ""}
	for i := range s.Ends {
		ends[i] = " (" + s.Ends[i] + ")"
	}
	switch {
	case s.Type == "choice":
		return "it is " + listed(s.Choices, "or")
	case s.hasMin() && s.hasMax():
		return "it goes from " + inWords(s.Min) + ends[0] + " to " + inWords(s.Max) + ends[1]
	case s.hasMin():
		return "it is at least " + inWords(s.Min)
	case s.hasMax():
		return "it is at most " + inWords(s.Max)
	}
	return "it is any " + s.Unit.Dimension().String()
}

// A range that is there has a unit or is not zero; "min = 0" of a bare count is there when max is.
func (s *Setting) hasMin() bool {
	return !s.Min.IsZero() || !s.Max.IsZero() && s.Type != "amount"
}
func (s *Setting) hasMax() bool { return !s.Max.IsZero() }

// onStep reports whether q lies a whole number of steps from Min, exactly.
func (s *Setting) onStep(q quantity.Quantity) bool {
	if s.Step.Sign() <= 0 {
		return true
	}
	base, err := ratIn(s.Min, s.Step)
	if err != nil {
		base = new(big.Rat)
	}
	r, err := ratIn(q, s.Step)
	if err != nil {
		return false
	}
	r.Sub(r, base)
	return r.Quo(r, s.Step.Rat()).IsInt()
}

// ratIn is q's number in the unit of like, exactly; temperatures and lengths alike, for it goes by what one unit is worth.
func ratIn(q, like quantity.Quantity) (*big.Rat, error) {
	if q.Unit() == like.Unit() || q.IsZero() {
		return q.Rat(), nil
	}
	e, err := q.Exact(like.Unit())
	if err == nil {
		return e.Rat(), nil
	}
	return nil, err
}

// Move is the value after a relative change: "+1" is one step further, or the next choice; of an amount "+1/4 in", or, bare, so many of its unit.
func (s *Setting) Move(from record.Value, by string) (record.Value, error) {
	by = strings.TrimSpace(by)
	if by == "" || by[0] != '+' && by[0] != '-' {
		return record.Value{}, fmt.Errorf("%q is no change: write +1 or -1", by)
	}
	if from.IsZero() {
		return record.Value{}, fmt.Errorf("%s is not known there, so %s cannot be worked out: write the value itself", s.Name, by)
	}
	step, err := quantity.ParseIn(strings.TrimPrefix(by, "+"), s.Unit)
	if err != nil {
		return record.Value{}, fmt.Errorf("%s: %w", s.Name, err)
	}
	if s.Type == "choice" {
		n := step.Rat()
		for i, c := range s.Choices {
			if c != from.Word() || !n.IsInt() || !n.Num().IsInt64() {
				continue
			}
			to := int64(i) + n.Num().Int64()
			if to < 0 || to >= int64(len(s.Choices)) {
				return record.Value{}, fmt.Errorf("%s cannot go %s from %s: %s", s.Name, by, c, s.Range())
			}
			return record.Word(s.Choices[to]), nil
		}
		return record.Value{}, fmt.Errorf("%s cannot go %s from %s: %s", s.Name, by, from, s.Range())
	}
	q, ok := from.Quantity()
	if !ok {
		return record.Value{}, fmt.Errorf("%s cannot go %s from %q", s.Name, by, from)
	}
	sum, err := q.Add(step)
	if errors.Is(err, quantity.ErrInexact) {
		var inStep quantity.Quantity
		if inStep, err = q.Exact(step.Unit()); err == nil {
			sum, err = inStep.Add(step)
		}
	}
	if err != nil {
		return record.Value{}, fmt.Errorf("%s: %w", s.Name, err)
	}
	v := record.Amount(sum)
	if err := s.Check(v); err != nil {
		return record.Value{}, fmt.Errorf("%s from %s: %w", by, inWords(q), err)
	}
	return v, nil
}

// Worth is what a setting in steps is worth: step 3 of steps of 1/4 in, the first worth 0 in, is 0.5 in. ok is false where steps have no worth.
func (s *Setting) Worth(v record.Value) (worth quantity.Quantity, ok bool) {
	q, amount := v.Quantity()
	if s.Type != "steps" || s.StepIs.Sign() == 0 || !amount || s.Step.Sign() <= 0 {
		return quantity.Quantity{}, false
	}
	steps := new(big.Rat).Sub(q.Rat(), s.Min.Rat())
	steps.Quo(steps, s.Step.Rat())
	base := s.MinIs
	if base.IsZero() {
		base = quantity.Whole(0, s.StepIs.Unit())
	}
	sum, err := base.Add(s.StepIs.Mul(steps, 12))
	return sum, err == nil
}

// ParseValue reads what a person typed for the reading: an amount (a bare number takes the reading's unit) or a grade.
func (r *Reading) ParseValue(text string) (record.Value, error) {
	text = strings.TrimSpace(text)
	if len(r.Grades) > 0 {
		w := strings.ToLower(text)
		if !contains(r.Grades, w) {
			hint := "write " + listed(r.Grades, "or")
			if near := Suggest(w, r.Grades); len(near) > 0 {
				hint = "did you mean " + quoted(near, "or") + "?"
			}
			return record.Value{}, fmt.Errorf("%s is a grade, not %q: %s", r.Name, text, hint)
		}
		return record.Word(w), nil
	}
	q, err := quantity.ParseIn(text, r.Unit)
	if err != nil {
		return record.Value{}, fmt.Errorf("%s: %w", r.Name, err)
	}
	return record.Amount(q), nil
}

// Check reports a value that the reading cannot have: a word for an amount, an unknown grade, another dimension.
func (r *Reading) Check(v record.Value) error {
	q, amount := v.Quantity()
	switch {
	case len(r.Grades) > 0 && !contains(r.Grades, v.Word()):
		return fmt.Errorf("%s is a grade, not %q: write %s", r.Name, v, listed(r.Grades, "or"))
	case len(r.Grades) > 0:
		return nil
	case !amount:
		return fmt.Errorf("%s is an amount, not %q", r.Name, v)
	case !q.Unit().Converts(r.Unit):
		return fmt.Errorf("%s cannot be %s: it is a %s", r.Name, q, r.Unit.Dimension())
	}
	return nil
}

// Plausible reports whether the value lies in the plausible range; outside a person is asked whether it is meant so. Grades are always plausible.
func (r *Reading) Plausible(v record.Value) bool {
	q, amount := v.Quantity()
	if !amount {
		return true
	}
	if r.HasLow {
		if c, err := q.Cmp(r.Low); err != nil || c < 0 {
			return false
		}
	}
	if r.HasHigh {
		if c, err := q.Cmp(r.High); err != nil || c > 0 {
			return false
		}
	}
	return true
}

// inWords is an amount as people in the shed say it: inches and feet in halves to sixty-fourths where they are exact, else as stored.
func inWords(q quantity.Quantity) string {
	u := q.Unit().String()
	r := q.Rat()
	if u != "in" && u != "ft" || r.IsInt() || !r.Denom().IsInt64() {
		return q.String()
	}
	switch r.Denom().Int64() {
	case 2, 4, 8, 16, 32, 64:
	default:
		return q.String()
	}
	sign := ""
	if r.Sign() < 0 {
		sign, r = "-", new(big.Rat).Neg(r)
	}
	whole, rest := new(big.Int).QuoRem(r.Num(), r.Denom(), new(big.Int))
	fraction := rest.String() + "/" + r.Denom().String()
	if whole.Sign() == 0 {
		return sign + fraction + " " + u
	}
	return sign + whole.String() + " " + fraction + " " + u
}
