package quantity

import (
	"strings"
	"unicode/utf8"
)

// twoWays are spellings that mean one thing in one trade and another, far off, in the next; or that case-folding would turn into another unit.
var twoWays = map[string]string{
	"T":   "write t for tonnes or ton for tons of 2,000 lb",
	"GPa": "write gal/ac for gallons an acre, or MPa",
	"mPa": "write MPa, kPa or bar",
	"ML":  "write mL for millilitres, or L",
	"Mm":  "write mm for millimetres, or m",
	"M":   "write m for metres, min for minutes or mo for months",
	"MV":  "write mV for millivolts, or V",
	"gr":  "write g for grams; there is no unit for grains",
}

// unify turns the marks of one meaning into one mark: degree signs, quotes, superscripts, products, micro.
var unify = strings.NewReplacer("º", "°", "˚", "°", "″", "\"", "”", "\"", "“", "\"", "′", "'", "’", "'", "²", "2", "³", "3", "^", "",
	"·", ".", "⋅", ".", "*", ".", "×", ".", "µm", "um", "μm", "um")

// fold is the form in which spellings are compared: marks unified, ASCII letters lower, words joined by one dot.
func fold(s string) string {
	s = lower(unify.Replace(s))
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '.' || r == '-' })
	return strings.Join(words, ".")
}

// lower lowers ASCII letters only: Unicode folding would make a kelvin sign a k.
func lower(s string) string {
	return strings.Map(func(r rune) rune {
		if 'A' <= r && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, s)
}

// lookup finds the unit of a spelling: as it stands, folded, or taken apart at "/" or "per" (a rate) or between two words (a torque).
func lookup(s string) (Unit, bool) {
	if u, ok := lookupWord(s); ok {
		return u, true
	}
	f := fold(s)
	f = strings.ReplaceAll(f, ".per.", "/")
	if above, below, ok := strings.Cut(f, "/"); ok {
		a, okA := lookupWord(strings.Trim(above, "."))
		b, okB := lookupWord(strings.Trim(below, "."))
		if !okA || !okB || a == (Unit{}) || b == (Unit{}) {
			return Unit{}, false
		}
		return lookupWord(a.String() + "/" + b.String())
	}
	if first, second, ok := strings.Cut(f, "."); ok {
		a, okA := lookupWord(first)
		b, okB := lookupWord(second)
		if !okA || !okB {
			return Unit{}, false
		}
		for _, name := range []string{forceName(a) + "." + forceName(b), forceName(b) + "." + forceName(a)} {
			if u, ok := byName[name]; ok {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// lookupWord finds a spelling as it stands or folded; a trailing point is dropped. A single letter is not folded: M is no m, and a is no A.
func lookupWord(s string) (Unit, bool) {
	s = strings.TrimRight(unify.Replace(s), ".")
	if s == "" {
		return Unit{}, false
	}
	if u, ok := byName[s]; ok {
		return u, true
	}
	if u, ok := byAlias[s]; ok {
		return u, true
	}
	if f := fold(s); len(f) > 1 {
		u, ok := byAlias[f]
		return u, ok
	}
	return Unit{}, false
}

// forceName is a unit's name inside a product: the pound of a foot-pound is a pound-force.
func forceName(u Unit) string {
	if s := u.String(); s != "lb" {
		return s
	}
	return "lbf"
}

// nearest is the known spelling within two edits of s (one edit for words of up to three letters), or "". Where several are as near, the
// first of the table wins. Only units that fit are looked at.
func nearest(s string, fits func(Unit) bool) string {
	s = fold(s)
	n := utf8.RuneCountInString(s)
	if n < 2 || n > 32 {
		return ""
	}
	most := 2
	if n <= 3 {
		most = 1
	}
	best, found := most+1, ""
	for i := 1; i < len(units); i++ {
		d := &units[i]
		if !fits(Unit{uint8(i)}) {
			continue
		}
		for _, name := range append([]string{d.name}, strings.Fields(d.aliases)...) {
			if utf8.RuneCountInString(name) < 2 || strings.ContainsAny(name, "0123456789") && !strings.ContainsAny(s, "0123456789") {
				continue
			}
			if e := edits(s, fold(name)); e < best {
				best, found = e, strings.ReplaceAll(name, ".", " ")
				if name == d.name {
					found = d.name
				}
			}
		}
	}
	return found
}

// edits counts insertions, deletions, substitutions and swaps of neighbours between a and b (optimal string alignment).
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}
