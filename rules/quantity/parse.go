package quantity

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxText is the greatest length of a typed amount, in bytes.
const maxText = 80

// Parse reads an amount as a person writes it: a number, and after it, with or without a blank, a unit or none.
//
//	5.25 in   5,25 in   14 3/4 in   14-3/4 in   3/4"   ¾ in   -1   .5 in   1812ac   75 ft-lb   10 gal per acre   20 °C   2 %
//
// The sign of a mixed number is that of the whole: -5 1/4 is -5.25. Refused, with an error that quotes what was typed and says what to type
// instead: more than 15 digits, exponents, NaN and Inf, thousands separators, a comma before exactly three digits (1,200 could be 1200 or
// 1.2), fractions that no decimal equals (1/3), two units (5 ft 3 in), unknown units, control and invisible characters.
func Parse(s string) (Quantity, error) {
	if q, ok := parseStored(s); ok {
		return q, nil
	}
	if err := checkText(s); err != nil {
		return Quantity{}, err
	}
	n, rest, err := scanNumber(s)
	if err != nil {
		return Quantity{}, err
	}
	u, err := ParseUnit(rest)
	if err != nil {
		if two := twoUnits(s, n, rest); two != nil {
			return Quantity{}, two
		}
		return Quantity{}, fmt.Errorf("%q: %w", s, err)
	}
	q, ok := exact(n, u)
	if ok {
		return q, nil
	}
	short, err := FromRat(n, u, max(3, placesFor(n, 3)))
	if err != nil {
		return Quantity{}, tooLong(s)
	}
	return Quantity{}, fmt.Errorf("%q has no exact decimal of 15 digits: write it as finely as it was measured, such as %s", s, short)
}

// ParseIn is Parse for a place that has a unit of its own: a bare number takes def, and an amount that does not convert into def is an error
// that names both dimensions and wraps ErrMismatch. What was written in another unit of the same dimension keeps it.
func ParseIn(s string, def Unit) (Quantity, error) {
	q, err := Parse(s)
	if err != nil {
		return q, misspelled(s, def, err)
	}
	if q.unit == def {
		return q, nil
	}
	if q.unit == (Unit{}) {
		q.unit = def
		return q, nil
	}
	if why := mismatch(q.unit, def); why != nil {
		return Quantity{}, Amiss(s, q, def, wanted(s, q, def, why))
	}
	return q, nil
}

// Miswritten is an amount whose unit is unknown or measures something else. Instead is what was probably meant, as it can be typed: "155min".
type Miswritten struct {
	Typed, Instead string
	err            error
}

func (m *Miswritten) Error() string { return m.err.Error() }
func (m *Miswritten) Unwrap() error { return m.err }

// Amiss is the error why of an amount q, typed so, whose unit does not go where def is wanted.
func Amiss(typed string, q Quantity, def Unit, why error) *Miswritten {
	return &Miswritten{typed, joined(Quantity{q.coef, q.dec, Unit{}}.String(), def.String()), why}
}

// misspelled looks for an unknown unit among those that convert into the one wanted; failing that the wanted one is offered. Other errors stay as they are.
func misspelled(s string, def Unit, err error) error {
	n, rest, scan := scanNumber(s)
	if scan != nil || strings.TrimSpace(rest) == "" || twoUnits(s, n, rest) != nil {
		return err
	}
	typed := strings.TrimSpace(rest)
	number := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), typed))
	if _, known := lookup(typed); known || twoWays[typed] != "" {
		return err
	}
	near := ""
	if def != (Unit{}) {
		near = nearest(typed, def.Converts)
	}
	why := fmt.Errorf("%q: unknown unit %q: did you mean %q?", s, typed, near)
	switch {
	case near != "":
	case def == (Unit{}):
		why = fmt.Errorf("%q: unknown unit %q: a bare number is wanted", s, typed)
	default:
		near = def.String()
		why = fmt.Errorf("%q: unknown unit %q: write it like %s %s", s, typed, number, near)
	}
	return &Miswritten{s, joined(number, near), why}
}

// joined is an amount as one word, unless its unit is several.
func joined(number, unit string) string {
	if strings.Contains(unit, " ") || strings.HasPrefix(unit, "/") {
		return number + " " + unit
	}
	return number + unit
}

// wanted explains that s, read as q, does not convert into def.
func wanted(s string, q Quantity, def Unit, why error) error {
	got, want := q.Dimension(), def.Dimension()
	like := Quantity{q.coef, q.dec, def}
	kind := want.article()
	switch {
	case got == want:
		return misfit{fmt.Sprintf("%q: %s: write an amount in %s, such as %s", s, why, def, like)}
	case def == (Unit{}):
		kind = "a bare number"
	}
	text := fmt.Sprintf("%q is %s, but %s is wanted, such as %s", s, got.article(), kind, like)
	if hint := lookAlike[[2]string{q.unit.String(), want.String()}]; hint != "" {
		text += "; " + hint
	}
	return misfit{text}
}

// lookAlike are units that people write for another dimension.
var lookAlike = map[[2]string]string{
	{"m", "time"}:           "m is the metre, the minute is min",
	{"m", "calendar span"}:  "m is the metre, the month is mo",
	{"lb", "force"}:         "lb is a mass, the force is lbf",
	{"kg", "force"}:         "kg is a mass, the force is kgf or N",
	{"oz", "volume"}:        "oz is a mass, the fluid ounce is floz",
	{"lb", "pressure"}:      "lb is a mass, pounds per square inch are psi",
	{"deg", "temperature"}:  "deg is an angle, temperatures are degF or degC",
	{"mi", "speed"}:         "mi is a length, miles per hour are mi/h",
	{"gal", "flow"}:         "gal is a volume, gallons per minute are gal/min",
	{"L", "flow"}:           "L is a volume, litres per minute are L/min",
	{"d", "calendar span"}:  "days are no calendar span: 30 d is not 1 mo",
	{"wk", "calendar span"}: "weeks are no calendar span: 4 wk is not 1 mo",
	{"mo", "time"}:          "a month has no fixed number of days",
	{"yr", "time"}:          "a year has no fixed number of days",
}

// MustParse is Parse for amounts written in the program itself; it panics on an error.
func MustParse(s string) Quantity {
	q, err := Parse(s)
	if err != nil {
		panic(err)
	}
	return q
}

// parseStored reads exactly what String writes: -?(0|[1-9][0-9]*)(\.[0-9]*[1-9])?( unit)?, no -0, at most 15 digits.
func parseStored(s string) (Quantity, bool) {
	number, unit, named := strings.Cut(s, " ")
	u, ok := byName[unit]
	if !ok || named == (unit == "") {
		return Quantity{}, false
	}
	digits := strings.TrimPrefix(number, "-")
	whole, decimals, point := strings.Cut(digits, ".")
	if whole == "" || len(whole) > 1 && whole[0] == '0' || point && (decimals == "" || decimals[len(decimals)-1] == '0') {
		return Quantity{}, false
	}
	if len(decimals) > maxDigits || len(whole)+len(decimals) > maxDigits+1 {
		return Quantity{}, false
	}
	var coef int64
	for _, part := range [2]string{whole, decimals} {
		for i := 0; i < len(part); i++ {
			if part[i] < '0' || part[i] > '9' {
				return Quantity{}, false
			}
			coef = 10*coef + int64(part[i]-'0')
		}
	}
	if coef >= limit {
		return Quantity{}, false
	}
	if len(digits) < len(number) {
		if coef == 0 {
			return Quantity{}, false
		}
		coef = -coef
	}
	return Quantity{coef, uint8(len(decimals)), u}, true
}

// checkText refuses what must not be looked at further: nothing, too much, and characters that a reader cannot see.
func checkText(s string) error {
	if len(s) > maxText {
		return fmt.Errorf("%q... is %d characters long: write one amount, such as 5.25 in", cutRunes(s, 20), utf8.RuneCountInString(s))
	}
	for _, r := range s {
		if r == utf8.RuneError || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r) {
			return fmt.Errorf("%q holds a control or invisible character: type it again", s)
		}
	}
	return nil
}

// cutRunes is the first n runes of s.
func cutRunes(s string, n int) string {
	for i := range s {
		if n--; n < 0 {
			return s[:i]
		}
	}
	return s
}

func tooLong(s string) error {
	return fmt.Errorf("%q has more than %d digits: round it to what was measured", s, maxDigits)
}

// twoUnits explains "5 ft 3 in": the unit that could not be read is a unit, a number and a unit. It is nil for anything else.
func twoUnits(s string, n *big.Rat, rest string) error {
	i := strings.IndexFunc(rest, func(r rune) bool { return '0' <= r && r <= '9' || r == '.' })
	if i <= 0 {
		if a, b, ok := strings.Cut(rest, " "); ok && isUnit(a) && isUnit(strings.TrimLeft(b, " ")) {
			return fmt.Errorf("%q has two units: write one number with one unit, such as 63 in", s)
		}
		return nil
	}
	first, err := ParseUnit(rest[:i])
	if err != nil {
		return nil
	}
	m, rest, err := scanNumber(rest[i:])
	if err != nil {
		return nil
	}
	second, err := ParseUnit(rest)
	if err != nil {
		return nil
	}
	if second == (Unit{}) {
		return fmt.Errorf("%q has two numbers: write one number with one unit, such as 63 in", s)
	}
	if mismatch(first, second) == nil && units[first.index].offset == nil && units[second.index].offset == nil {
		sum := new(big.Rat).Mul(n, units[first.index].factor)
		sum.Quo(sum, units[second.index].factor)
		if n.Sign() < 0 {
			m.Neg(m)
		}
		if q, ok := exact(sum.Add(sum, m), second); ok {
			return fmt.Errorf("%q has two units: write %s", s, q)
		}
	}
	return fmt.Errorf("%q has two units: write one number with one unit, such as 63 in", s)
}

// isUnit reports whether s is a spelling of a unit.
func isUnit(s string) bool {
	_, ok := lookup(s)
	return ok
}

// plain is a number for an error text: digits with a point, no leading zeros.
func plain(whole, decimals string) string {
	whole, decimals = strings.TrimLeft(whole, "0"), strings.TrimRight(decimals, "0")
	if whole == "" {
		whole = "0"
	}
	if decimals == "" {
		return whole
	}
	return whole + "." + decimals
}

// smallInt reads up to 15 digits.
func smallInt(digits string) (int64, bool) {
	digits = strings.TrimLeft(digits, "0")
	if len(digits) > maxDigits {
		return 0, false
	}
	if digits == "" {
		return 0, true
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	return n, err == nil
}
