package main

import (
	"regexp"
	"strings"
)

// file reads --from: a line for each place, "12 5.9" or "12: 5 7/8 in" or "12 left 5.9", or values alone by number. Empty lines and what follows #
// are left out. Whether the lines name places is decided for the file as a whole, since "5 7/8" alone could be opener 5.
func (g *gauge) file() error {
	name := g.l.s.from
	text, err := g.l.readings()
	if err != nil {
		return err
	}
	if name == "-" {
		name = "stdin"
	}
	var lines []fileLine
	for i, s := range strings.Split(text, "\n") {
		s, _, _ = strings.Cut(s, "#")
		if s = strings.TrimSpace(strings.TrimSuffix(s, "\r")); s != "" {
			lines = append(lines, fileLine{n: i + 1, text: s})
		}
	}
	if len(lines) == 0 {
		return failed("bad-file", "", "%s holds no reading", name)
	}
	placed := false
	for _, f := range lines {
		if f.placedOnly() {
			placed = true
		}
	}
	if !placed {
		return g.bare(name, lines)
	}
	return g.placed(name, lines)
}

// readings is the text of --from, read once, for a doubt makes the line anew.
func (l *line) readings() (string, error) {
	if text, ok := l.s.asked["from"]; ok {
		return text, nil
	}
	text, err := l.c.readText(l.s.from)
	if err != nil {
		return "", err
	}
	if l.s.asked == nil {
		l.s.asked = map[string]string{}
	}
	l.s.asked["from"] = text
	return text, nil
}

type fileLine struct {
	n    int
	text string
}

var (
	// placedForm is a place, then a colon, semicolon, tab or blank, then a value.
	placedForm = regexp.MustCompile(`^((?:[A-Za-z][A-Za-z-]*[ /])?[0-9]+|[A-Za-z][A-Za-z-]*/[A-Za-z][A-Za-z-]*)(?: (left|right))?\s*[:;\t ]\s*(\S.*)$`)
	// mixedForm could be a value by itself: "5 7/8", "5 7/8 in", "40 psi".
	mixedForm = regexp.MustCompile(`^[0-9]+ +([0-9]+/[0-9]+.*|[A-Za-z°"%].*)$`)
)

// placedOnly reports a line that can only be read as a place and its value.
func (f fileLine) placedOnly() bool {
	return placedForm.MatchString(f.text) && !mixedForm.MatchString(f.text)
}

// bare takes values by the places' numbers.
func (g *gauge) bare(name string, lines []fileLine) error {
	if len(lines) != len(g.walk) {
		last := lines[len(lines)-1].n
		return failed("bad-file", "write - for a place that cannot be reached, or begin each line with its place: \"12 5.9\"",
			"%s:%d: %s for %s of %s; nothing was recorded", name, last, count(len(lines), "value"), g.wanted(), g.l.m.Name)
	}
	for i, f := range lines {
		v, err := g.parse(f.text)
		if err != nil {
			return failed("bad-file", "", "%s:%d: %s: %v", name, f.n, g.walk[i].name(), err)
		}
		g.put(g.walk[i], v)
	}
	return nil
}

// placed takes lines that begin with their place.
func (g *gauge) placed(name string, lines []fileLine) error {
	seen := map[spot]int{}
	for _, f := range lines {
		m := placedForm.FindStringSubmatch(f.text)
		if m == nil {
			return failed("bad-file", "write \"12 5.9\"", "%s:%d: %q does not begin with its place, as other lines do", name, f.n, f.text)
		}
		at, err := g.l.m.Fitted.ParseWhere(g.def.Of, strings.ToLower(m[1]))
		if err != nil {
			return failed("bad-file", "", "%s:%d: %s: %v", name, f.n, g.l.m.Name, err)
		}
		hand := strings.ToLower(m[2])
		v, err := g.parse(m[3])
		if err != nil {
			return failed("bad-file", "", "%s:%d: %v", name, f.n, err)
		}
		hit := false
		for _, s := range g.walk {
			if !at.Has(s.at) || hand != "" && s.hand != hand {
				continue
			}
			hit = true
			if before := seen[s]; before > 0 {
				return failed("bad-file", "say one value of each place", "%s:%d: %s stands in line %d already", name, f.n, s.name(), before)
			}
			seen[s] = f.n
			g.put(s, v)
		}
		if !hit {
			return failed("bad-file", "", "%s:%d: %s is not among %s", name, f.n, strings.TrimSpace(m[1]+" "+m[2]), g.l.m.Fitted.Describe(g.at, g.def.Of))
		}
	}
	if n := len(g.walk) - len(seen); n > 0 && g.l.old == nil {
		g.l.note("%d of %s are not in %s", n, g.wanted(), name)
	}
	return nil
}
