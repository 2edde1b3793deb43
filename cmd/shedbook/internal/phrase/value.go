package phrase

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"shedbook/rules/quantity"
)

var (
	fraction = regexp.MustCompile(`^[0-9]+/[0-9]+`)
	whole    = regexp.MustCompile(`^[+-]?[0-9]+$`)
	endsBare = regexp.MustCompile(`[0-9.,]$|[¼½¾⅛⅜⅝⅞]$`)
)

// isNumeric reports a word that begins a number.
func isNumeric(s string) bool {
	s = strings.TrimLeft(s, "+-")
	return s != "" && (s[0] >= '0' && s[0] <= '9' || s[0] == '.' || strings.ContainsAny(s[:min(len(s), 4)], "¼½¾⅛⅜⅝⅞"))
}

// term reads one thing spoken of with its value; ok is false where the words name none that the verb takes.
func (p *parser) term() (t Term, ok bool, err error) {
	w := p.next()
	if before, after, eq := strings.Cut(w.text, "="); strings.EqualFold(before, "setup") && slices.Contains(p.form.Kinds, Setup) {
		p.i++
		if !eq || after == "" {
			name, kind, n, _, _ := p.name(p.i)
			if kind != Setup {
				return t, false, p.missing("which set-up? its name is missing", p.next(), Setup)
			}
			p.i += n
			return Term{Name: name, Kind: kind}, true, nil
		}
		word := strings.Join(strings.Fields(strings.ToLower(after)), "-")
		name, kind, known := p.v.Name(word)
		if !known || kind != Setup {
			e := p.missing(fmt.Sprintf("%s has no set-up %q", p.machine, after), newWord("", false), Setup)
			e.Word, e.Unknown = after, true
			return t, false, e
		}
		return Term{Name: name, Kind: kind}, true, nil
	}
	name, kind, n, value, equals := p.name(p.i)
	if name == "" || !slices.Contains(p.form.Kinds, kind) {
		if equals && name != "" && kind != Noun && kind != Group {
			return t, false, p.wrongKind(name, kind)
		}
		return t, false, nil
	}
	if kind == Noun || kind == Group {
		return t, false, nil
	}
	p.i += n
	t = Term{Name: name, Kind: kind}
	switch kind {
	case Setting, Reading:
		if p.form.Each && !equals {
			if t.Each, err = p.each(); err != nil || t.Each != nil {
				return t, true, err
			}
			if !p.more() || p.next().low == "but" || p.placeNamed() || p.form.Many && p.lookAhead(func() bool { p.join(); return p.termNext() }) {
				return t, true, nil // values come by flags or questions
			}
		}
		if t.Value = p.valueAfter(value, equals); t.Value == "" {
			return t, false, p.fail(name, fmt.Sprintf("shedbook %s %s %s=6", p.form.Verb, p.machine, name), "%s to what? its value is missing", name)
		}
		t.Fixed = kind == Setting && equals && signed(t.Value)
	case Counter:
		if slices.Contains(p.form.Acts, p.next().low) && !equals {
			t.Act = p.next().low
			p.i++
			return t, true, nil
		}
		if t.Value = p.valueAfter(value, equals); t.Value == "" {
			return t, false, p.fail(name, fmt.Sprintf("shedbook counter %s %s=1812", p.machine, name), "what does %s show? its value is missing", name)
		}
	case Part:
		if equals {
			return t, false, p.fail(name, "", "%s=%s: a part takes no value", name, value)
		}
		if p.form.Verb == "assume" {
			err = p.shares(&t)
		}
	default:
		if equals {
			return t, false, p.fail(name, "", "%s=%s: %s takes no value", name, value, name)
		}
	}
	return t, true, err
}

// shares reads worn=50% and used=600ac after a part.
func (p *parser) shares(t *Term) error {
	for p.more() {
		before, after, eq := strings.Cut(p.next().text, "=")
		low := strings.ToLower(before)
		if low != "worn" && low != "used" {
			break
		}
		p.i++
		v := p.valueAfter(after, eq)
		if v == "" {
			return p.fail(low, "", "%s %s how much? its value is missing", t.Name, low)
		}
		if low == "worn" {
			t.Worn = v
		} else {
			t.Used = v
		}
	}
	if t.Worn == "" && t.Used == "" {
		return p.fail(t.Name, fmt.Sprintf("shedbook assume %s %s worn=50%%", p.machine, t.Name), "%s how? say worn=50%% or used=600ac", t.Name)
	}
	return nil
}

// each reads PLACE=VALUE for as long as there are any.
func (p *parser) each() ([]Each, error) {
	var out []Each
	for p.more() {
		back := p.i
		p.join()
		before, after, eq := strings.Cut(p.next().text, "=")
		low := strings.ToLower(before)
		places := p.listed(low)
		if !eq || places == nil {
			p.i = back
			break
		}
		p.i++
		v := p.valueAfter(after, true)
		if v == "" {
			return nil, p.fail(before, "", "%s reads what? its value is missing", before)
		}
		for _, place := range places {
			out = append(out, Each{Place: place, Value: v})
		}
	}
	return out, nil
}

// placeNamed reports whether the next words are a place that no value can be mistaken for.
func (p *parser) placeNamed() bool {
	if isNumeric(p.next().text) && !strings.Contains(p.next().text, "/") {
		return false
	}
	return p.lookAhead(func() bool { return p.place() != nil })
}

// termFollows reports whether something of the verb's kinds is named later in the line.
func (p *parser) termFollows() bool {
	for i := p.i; i < len(p.words); i++ {
		if strings.HasPrefix(p.words[i].low, "setup") {
			return true
		}
		if _, kind, n, _, _ := p.name(i); n > 0 && slices.Contains(p.form.Kinds, kind) {
			return true
		}
	}
	return false
}

// termNext reports whether the next words name something of the verb's kinds.
func (p *parser) termNext() bool {
	_, kind, n, _, _ := p.name(p.i)
	return n > 0 && slices.Contains(p.form.Kinds, kind)
}

func (p *parser) lookAhead(f func() bool) bool {
	i, noun := p.i, p.noun
	defer func() { p.i, p.noun = i, noun }()
	return f()
}

// alone reports whether the next words are a value without a name: the main counter's, a correction's, or what the rest is set to.
func (p *parser) alone(cur *Clause) bool {
	w := p.next()
	switch {
	case isRest(cur):
		name, _, _, _, _ := p.name(p.i)
		return name == "" && w.low != "all" && !strings.HasPrefix(w.low, "setup") && !strings.Contains(w.text, "/")
	case p.form.Alone:
		return isNumeric(w.text)
	case p.form.Partial && p.form.Values:
		if strings.Contains(w.text, "=") || w.low == "all" || w.low == "rest" {
			return false
		}
		if name, _, n, _, _ := p.name(p.i); n > 0 && name != "" {
			return false
		}
		if p.listed(w.low) != nil && (!isNumeric(w.text) || p.termFollows()) {
			return false
		}
		return true
	}
	return false
}

// valueAfter reads a value whose beginning may stand behind "=".
func (p *parser) valueAfter(given string, equals bool) string {
	if equals && given != "" {
		return p.value(given)
	}
	if p.next().low == "to" && p.i+1 < len(p.words) {
		p.i++
	}
	if !p.more() || p.next().low == "but" {
		return ""
	}
	return p.value("")
}

// value reads one value: the first word whatever it is, then what can only belong to it: a fraction after a whole number, a unit, and a second
// number with a unit, which the schedule will refuse in its own words.
func (p *parser) value(first string) string {
	if first == "" {
		if p.next().low == "to" && p.i+1 < len(p.words) {
			p.i++
		}
		first = p.next().text
		stop := p.next().comma
		p.i++
		if stop {
			return first
		}
	}
	out := first
	if !isNumeric(first) || !p.more() {
		return out
	}
	if p.i > 0 && p.words[p.i-1].comma {
		return out
	}
	if whole.MatchString(first) && fraction.MatchString(p.next().text) {
		out += " " + p.next().text
		p.i++
	}
	if !endsBare.MatchString(out) {
		return out
	}
	n := p.unit()
	if n == 0 && p.misspelled() {
		n = 1
	}
	if n == 0 {
		return out
	}
	out = p.with(out, n)
	if isNumeric(p.next().text) { // 14 ft 3 in
		i := p.i
		p.i++
		n := p.unit()
		p.i = i
		if n > 0 {
			out = p.with(out, 1+n)
		}
	}
	return out
}

// misspelled reports a last word of the line that can only be meant as a unit: the schedule will say which one it looks like.
func (p *parser) misspelled() bool {
	w := p.next()
	if p.i != len(p.words)-1 || w.low == "but" || w.low == "rest" || strings.ContainsAny(w.text, "=/>") || isNumeric(w.text) || slices.Contains(p.form.Flags, w.low) || slices.Contains(p.form.Acts, w.low) {
		return false
	}
	name, _, _, _, _ := p.name(p.i)
	return name == "" && p.listed(w.low) == nil
}

// with appends the next n words.
func (p *parser) with(s string, n int) string {
	for range n {
		s += " " + p.next().text
		p.i++
	}
	return s
}

// unit counts how many of the next words are a unit, at most four ("gal per acre").
func (p *parser) unit() int {
	found, text := 0, ""
	for k := 0; k < 4 && p.i+k < len(p.words); k++ {
		w := p.words[p.i+k]
		if strings.Contains(w.text, "=") {
			break
		}
		text = strings.TrimSpace(text + " " + w.text)
		if _, err := quantity.ParseUnit(text); err == nil {
			found = k + 1
		}
		if w.comma {
			break
		}
	}
	return found
}
