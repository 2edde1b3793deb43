package quantity

import (
	"errors"
	"fmt"
	"strings"
)

// Unit names one unit of measure. It is comparable; the zero Unit is "no unit", that of a bare number.
type Unit struct {
	index uint8 // into units; 0 is the bare number
}

// ParseUnit reads a unit as people write it: "in", "inches", "\"", "acres", "ft-lb", "°F", "gal per acre", "mph". Case is ignored in names of
// two letters or more; the empty string is the zero Unit. An unknown unit is an error that offers the nearest known spelling.
func ParseUnit(s string) (Unit, error) {
	if u, ok := byName[s]; ok { // the stored spelling, without work
		return u, nil
	}
	if err := checkText(s); err != nil {
		return Unit{}, err
	}
	typed := strings.TrimSpace(s)
	if why, ok := twoWays[typed]; ok {
		return Unit{}, fmt.Errorf("unit %q can be read two ways: %s", typed, why)
	}
	if u, ok := lookup(typed); ok {
		return u, nil
	}
	if near := nearest(typed, func(Unit) bool { return true }); near != "" {
		return Unit{}, fmt.Errorf("unknown unit %q: did you mean %q?", typed, near)
	}
	return Unit{}, fmt.Errorf("unknown unit %q: write one such as in, mm, ac, ha, h, lbf.ft, psi", typed)
}

// MustUnit is ParseUnit for units written in the program itself; it panics on an unknown one.
func MustUnit(s string) Unit {
	u, err := ParseUnit(s)
	if err != nil {
		panic(err)
	}
	return u
}

// Units lists every unit but the zero Unit, by dimension, in a fixed order.
func Units() []Unit {
	us := make([]Unit, 0, len(units)-1)
	for i := 1; i < len(units); i++ {
		us = append(us, Unit{uint8(i)})
	}
	return us
}

// String is the one spelling that is stored: "in", "lbf.ft", "degC"; "" for no unit. It is plain ASCII without spaces.
func (u Unit) String() string { return units[u.index].name }

// Dimension is the kind of quantity the unit measures.
func (u Unit) Dimension() Dimension { return units[u.index].dim }

// System is US or Metric where the unit belongs to one of the two, and AsWritten where it serves both (h, %, V, counts).
func (u Unit) System() System { return units[u.index].system }

// Equal reports u == o.
func (u Unit) Equal(o Unit) bool { return u == o }

// MarshalText gives String.
func (u Unit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText reads the one spelling that is stored, and no other.
func (u *Unit) UnmarshalText(text []byte) error {
	known, ok := byName[string(text)]
	if !ok {
		if p, err := ParseUnit(string(text)); err == nil {
			return fmt.Errorf("stored unit %q is not in its one form: that is %q", text, p.String())
		}
		return fmt.Errorf("stored unit %q is unknown", text)
	}
	*u = known
	return nil
}

// Converts reports whether an amount in u can be expressed in o: the dimension is the same and they do not count different things.
func (u Unit) Converts(o Unit) bool { return mismatch(u, o) == nil }

// ErrMismatch is wrapped by every error about two units that do not convert into one another.
var ErrMismatch = errors.New("units do not fit together")

// misfit is an ErrMismatch that says which units, and why, in its own words.
type misfit struct{ text string }

func (m misfit) Error() string { return m.text }
func (m misfit) Unwrap() error { return ErrMismatch }

// mismatch is nil where u and o convert into one another, and otherwise an error that names both.
func mismatch(u, o Unit) error {
	a, b := &units[u.index], &units[o.index]
	if a.dim != b.dim {
		return misfit{fmt.Sprintf("%s is %s, %s is %s", u.named(), a.dim.article(), o.named(), b.dim.article())}
	}
	if a.noun != b.noun && a.noun != "" && b.noun != "" {
		return misfit{fmt.Sprintf("%s are not %s", a.noun, b.noun)}
	}
	return nil
}

// named is the unit for an error text.
func (u Unit) named() string {
	if u == (Unit{}) {
		return "a bare number"
	}
	return u.String()
}
