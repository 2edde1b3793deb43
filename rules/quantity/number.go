package quantity

import (
	"fmt"
	"math/big"
	"strings"
)

// The grammar of numbers, after marks are unified and blanks at both ends cut:
//
//	number   = [ "+" | "-" ] ( fraction | mixed | decimal )
//	fraction = digits "/" digits
//	mixed    = digits ( blanks | "-" ) fraction          fraction below 1
//	decimal  = digits [ mark digits ] | mark digits      mark = "." | ","

// vulgar are the fraction characters of Unicode, as two numbers.
var vulgar = map[rune]string{
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4", '⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5", '⅙': "1/6", '⅚': "5/6",
	'⅐': "1/7", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8", '⅑': "1/9", '⅒': "1/10",
}

// flatten writes the marks of numbers in ASCII: minus and fraction signs, fraction characters, the blanks of typesetting. A fraction
// character never joins the digits beside it: "5½" is "5 1/2" and "½5" is "1/2 5".
func flatten(s string) string {
	var b strings.Builder
	last, wasVulgar := byte(' '), false
	put := func(t string) {
		b.WriteString(t)
		last = t[len(t)-1]
	}
	for _, r := range s {
		f, isVulgar := vulgar[r]
		switch {
		case isVulgar:
			if isDigit(last) {
				put(" ")
			}
			put(f)
		case r == '−': // U+2212
			put("-")
		case r == '⁄', r == '∕': // U+2044, U+2215
			put("/")
		case r == '\u00a0', r == '\u2009', r == '\u202f': // no-break, thin
			put(" ")
		default:
			if wasVulgar && r < 0x80 && isDigit(byte(r)) {
				put(" ")
			}
			put(string(r))
		}
		wasVulgar = isVulgar
	}
	return strings.Trim(b.String(), " ")
}

// scanNumber reads the number at the start of s and returns it with what follows. Errors quote s.
func scanNumber(s string) (n *big.Rat, rest string, err error) {
	t := flatten(s)
	if t == "" {
		return nil, "", fmt.Errorf("no amount given: write a number and a unit, such as 5.25 in")
	}
	negative := false
	if t[0] == '-' || t[0] == '+' {
		negative, t = t[0] == '-', t[1:]
		if t != "" && (t[0] == '-' || t[0] == '+') {
			return nil, "", fmt.Errorf("%q has two signs: write one, such as -5", s)
		}
	}
	token, rest := span(t, isNumeral)
	switch {
	case strings.HasPrefix(t, " ") && len(t) > 1 && isNumeral(strings.TrimLeft(t, " ")[0]):
		return nil, "", fmt.Errorf("%q has a blank after the sign: write it without, such as -5", s)
	case strings.Trim(token, ".,") == "":
		return nil, "", fmt.Errorf("%q does not start with a number: write a number and a unit, such as 5.25 in", s)
	case exponent(rest):
		return nil, "", fmt.Errorf("%q has an exponent: write the number out, with at most %d digits", s, maxDigits)
	case fractionFollows(rest):
		n, rest, err = scanMixed(s, token, rest)
	case strings.HasPrefix(rest, "/") && rest != "/" && isDigit(rest[1]):
		n, rest, err = scanFraction(s, token, rest)
	default:
		n, err = scanDecimal(s, token, negative)
	}
	if err != nil {
		return nil, "", err
	}
	if rest = strings.TrimLeft(rest, " "); rest != "" {
		switch {
		case rest[0] == '/':
			return nil, "", fmt.Errorf("%q has a fraction bar with no number after it: write a fraction such as 1/4", s)
		case isNumeral(rest[0]):
			return nil, "", fmt.Errorf("%q has two numbers: write one, without blanks in it (1200), or a fraction such as 5 1/4", s)
		case startsSecond(rest):
			return nil, "", fmt.Errorf("%q has two numbers: write one, such as 5.25 in", s)
		}
	}
	if negative {
		n.Neg(n)
	}
	return n, rest, nil
}

// scanDecimal reads digits with at most one point or comma.
func scanDecimal(s, token string, negative bool) (*big.Rat, error) {
	at := strings.IndexAny(token, ".,")
	if at < 0 {
		at = len(token)
	}
	whole, mark, decimals := token[:at], "", ""
	if at < len(token) {
		mark, decimals = token[at:at+1], token[at+1:]
	}
	sign := ""
	if negative {
		sign = "-"
	}
	switch {
	case strings.ContainsAny(decimals, ".,"):
		return nil, fmt.Errorf("%q has more than one point or comma: write the number with one point and without thousands separators, such as 1200.5", s)
	case mark == "," && len(decimals) == 3 && strings.Trim(whole, "0") == "":
		return nil, fmt.Errorf("%q has a comma before three digits, as in thousands: write %s", s, sign+plain(whole, decimals))
	case mark == "," && len(decimals) == 3:
		return nil, fmt.Errorf("%q could be %s or %s: write the one that is meant", s, sign+plain(whole+decimals, ""), sign+plain(whole, decimals))
	case mark != "" && decimals == "":
		return nil, fmt.Errorf("%q has nothing after the %s: write %s", s, markName(mark), sign+plain(whole, ""))
	}
	if len(strings.TrimLeft(whole, "0"))+len(decimals) > maxDigits {
		return nil, tooLong(s)
	}
	c, ok := smallInt(whole + decimals)
	if !ok {
		return nil, tooLong(s)
	}
	return ratOf(c, len(decimals)), nil
}

// scanFraction reads "/4..." after the numerator.
func scanFraction(s, numerator, rest string) (*big.Rat, string, error) {
	denominator, rest := span(rest[1:], isNumeral)
	if strings.ContainsAny(numerator+denominator, ".,") {
		return nil, "", fmt.Errorf("%q has a point or comma in a fraction: write whole numbers, such as 3/4, or one decimal", s)
	}
	a, okA := smallInt(numerator)
	b, okB := smallInt(denominator)
	switch {
	case !okA || !okB:
		return nil, "", tooLong(s)
	case b == 0:
		return nil, "", fmt.Errorf("%q divides by zero: write a fraction such as 1/4", s)
	case strings.HasPrefix(rest, "/"):
		return nil, "", fmt.Errorf("%q has two fraction bars: write one amount, such as 3/4 in", s)
	}
	return big.NewRat(a, b), rest, nil
}

// scanMixed reads " 1/4..." or "-1/4..." after the whole number.
func scanMixed(s, whole, rest string) (*big.Rat, string, error) {
	numerator, rest := span(strings.TrimLeft(rest, " -"), isNumeral)
	f, rest, err := scanFraction(s, numerator, rest)
	if err != nil {
		return nil, "", err
	}
	if strings.ContainsAny(whole, ".,") {
		return nil, "", fmt.Errorf("%q has a decimal and a fraction: write one of them, such as 5.25 or 5 1/4", s)
	}
	if f.Cmp(big.NewRat(1, 1)) >= 0 {
		return nil, "", fmt.Errorf("%q has a fraction of one or more after a whole number: write one such as 5 1/4", s)
	}
	w, ok := smallInt(whole)
	if !ok {
		return nil, "", tooLong(s)
	}
	return f.Add(f, big.NewRat(w, 1)), rest, nil
}

// exponent reports whether rest continues a number as 1e400 does.
func exponent(rest string) bool {
	if rest == "" || rest[0] != 'e' && rest[0] != 'E' {
		return false
	}
	digits := strings.TrimLeft(rest[1:], "+-")
	return digits != "" && isDigit(digits[0])
}

// fractionFollows reports whether rest is blanks or one hyphen, digits and "/".
func fractionFollows(rest string) bool {
	after := strings.TrimLeft(rest, " ")
	if len(after) == len(rest) {
		if after = strings.TrimPrefix(rest, "-"); len(after) == len(rest) {
			return false
		}
	}
	numerator, after := span(after, isNumeral)
	return numerator != "" && strings.HasPrefix(after, "/")
}

// startsSecond reports whether rest begins a second number with a sign, as in 5-6 or 5 + 6.
func startsSecond(rest string) bool {
	if rest[0] != '-' && rest[0] != '+' {
		return false
	}
	after := strings.TrimLeft(rest[1:], " ")
	return after != "" && isNumeral(after[0])
}

// span splits s after its leading bytes for which f holds.
func span(s string, f func(byte) bool) (head, rest string) {
	i := 0
	for i < len(s) && f(s[i]) {
		i++
	}
	return s[:i], s[i:]
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func isNumeral(c byte) bool { return isDigit(c) || c == '.' || c == ',' }

func markName(mark string) string {
	if mark == "," {
		return "comma"
	}
	return "point"
}
