package record

import (
	"encoding/json"
	"fmt"

	"shedbook/rules/quantity"
)

// Quantity is an exact decimal with its unit.
type Quantity = quantity.Quantity

// Value is what a setting or reading can be: a quantity ("5.25 in", "6") or one word of a list ("carry-both", "watch"). The zero Value is absent.
type Value struct {
	quantity Quantity
	word     string
	set      bool
}

// Amount makes the value of a quantity.
func Amount(q Quantity) Value { return Value{quantity: q, set: true} }

// Word makes the value of a word: [a-z][a-z0-9-]*.
func Word(w string) Value { return Value{word: w, set: true} }

// IsZero reports an absent value.
func (v Value) IsZero() bool { return !v.set }

// Word is the word, or "".
func (v Value) Word() string { return v.word }

// Quantity is the amount; ok is false for words and absent values.
func (v Value) Quantity() (q Quantity, ok bool) { return v.quantity, v.set && v.word == "" }

// String is the stored form; "" when absent.
func (v Value) String() string {
	switch {
	case !v.set:
		return ""
	case v.word != "":
		return v.word
	}
	return v.quantity.String()
}

// ParseValue reads a stored form.
func ParseValue(s string) (Value, error) {
	if isWord(s) {
		return Word(s), nil
	}
	var q Quantity
	if err := q.UnmarshalText([]byte(s)); err != nil {
		return Value{}, err
	}
	return Amount(q), nil
}

// MarshalJSON writes the stored form as a string.
func (v Value) MarshalJSON() ([]byte, error) { return json.Marshal(v.String()) }

// UnmarshalJSON takes stored forms only.
func (v *Value) UnmarshalJSON(b []byte) error {
	s, err := textOf(b)
	if err != nil {
		return err
	}
	if s == "" {
		return fmt.Errorf("an empty value: leave the member out")
	}
	got, err := ParseValue(s)
	if err != nil {
		return err
	}
	*v = got
	return nil
}
