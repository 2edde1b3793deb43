package phrase

import (
	"regexp"
	"strings"
)

// bareRange is a list of numbers: "12", "1-48", "12,14-16".
var bareRange = regexp.MustCompile(`^[0-9]+(-[0-9]+)?(,[0-9]+(-[0-9]+)?)*$`)

// placeList reads places for as long as there are any, each in one word: "opener/12,14" is "opener/12" and "opener/14". stop may end the list early.
func (p *parser) placeList(stop func(word) bool) []string {
	var out []string
	for p.more() {
		back := p.i
		if len(out) > 0 {
			p.join()
		}
		if !p.more() || stop != nil && stop(p.next()) {
			p.i = back
			break
		}
		got := p.place()
		if got == nil {
			p.i = back
			break
		}
		out = append(out, got...)
	}
	return out
}

// place reads one place, or gives nil and stays where it is.
func (p *parser) place() []string {
	w := p.next()
	if w.low == "all" {
		p.i++
		return []string{w.low}
	}
	if strings.ContainsRune(w.low, ',') || strings.ContainsRune(w.low, '/') || bareRange.MatchString(w.low) {
		if list := p.listed(w.low); list != nil {
			p.i++
			return list
		}
		return nil
	}
	name, kind, n, _, eq := p.name(p.i)
	if eq || name == "" {
		return nil
	}
	switch kind {
	case Group:
		p.i += n
		p.noun = ""
		return []string{name}
	case Noun:
		p.i += n
		p.noun = name
		if p.more() && bareRange.MatchString(p.next().low) {
			list := p.listed(p.next().low)
			p.i++
			return list
		}
		if named, n := p.nameOf(name); n > 0 {
			p.i += n
			return []string{name + "/" + named}
		}
		return []string{name}
	}
	return nil
}

// nameOf finds the longest run of words that is a place's name of the noun: wheel "left front".
func (p *parser) nameOf(noun string) (string, int) {
	found, length, joined := "", 0, ""
	for k := 0; k < longestName && p.i+k < len(p.words); k++ {
		if joined != "" {
			joined += "-"
		}
		joined += p.words[p.i+k].low
		if p.v.Place(noun, joined) {
			found, length = joined, k+1
		}
	}
	return found, length
}

// listed takes one word apart at its commas; nil where any part of it is no place. A number takes the noun said last.
func (p *parser) listed(s string) []string {
	var out []string
	noun := p.noun
	for _, part := range strings.Split(s, ",") {
		before, after, slash := strings.Cut(part, "/")
		switch {
		case part == "":
			return nil
		case slash:
			name, kind, ok := p.v.Name(before)
			if !ok || kind != Noun || after == "" {
				return nil
			}
			noun = name
			out = append(out, name+"/"+after)
		case bareRange.MatchString(part):
			if noun != "" {
				part = noun + "/" + part
			}
			out = append(out, part)
		default:
			name, kind, ok := p.v.Name(part)
			if !ok || kind != Noun && kind != Group {
				return nil
			}
			noun = ""
			if kind == Noun {
				noun = name
			}
			out = append(out, name)
		}
	}
	p.noun = noun
	return out
}

// noteSaid keeps the place words as they were typed.
func (p *parser) noteSaid(from int) {
	for i, w := range p.words[from:p.i] {
		t := w.text
		if w.comma && from+i < p.i-1 {
			t += ","
		}
		p.typed = append(p.typed, t)
	}
}

// lastNoun is the noun that a bare number after these places belongs to; "" where they leave it open.
func lastNoun(places []string) string {
	if len(places) == 0 {
		return ""
	}
	if noun, _, ok := strings.Cut(places[len(places)-1], "/"); ok {
		return noun
	}
	return ""
}
