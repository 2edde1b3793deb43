package main

import (
	"errors"
	"slices"
	"strings"
)

// said at a question: what a typed line asks for.
const (
	actValue  = "value"
	actLeave  = "leave" // an empty line
	actOut    = "out"   // leave out what was said before
	actSame   = "same"
	actCannot = "cannot"
	actBack   = "back"
	actTo     = "to"
	actEnd    = "end"
	actStop   = "stop"
	actList   = "list"
	actHelp   = "help"
)

// typed is one line as it was understood.
type typed struct {
	act  string
	text string // the value; where to; why it cannot be reached
}

// cannotWords are the ways to say that a place cannot be reached; a reason may follow.
var cannotWords = []string{"x", "can't reach", "can’t reach", "cant reach", "cannot reach"}

// readTyped understands a line typed at a question. A grade of the reading is always a value, whatever else the word could mean; so is a beginning that only
// one of them has.
func readTyped(line string, grades []string) typed {
	line = strings.TrimSpace(line)
	low := strings.Join(strings.Fields(strings.ToLower(line)), " ")
	if slices.Contains(grades, low) {
		return typed{actValue, line}
	}
	switch low {
	case "":
		return typed{act: actLeave}
	case "=", "+": // a number pad has no =
		return typed{act: actSame}
	case "back", "<":
		return typed{act: actBack}
	case actOut, actEnd, actStop, actList:
		return typed{act: low}
	case "?", "help":
		return typed{act: actHelp}
	}
	if to, ok := strings.CutPrefix(low, "to "); ok {
		return typed{actTo, to}
	}
	for _, w := range cannotWords {
		if rest, ok := strings.CutPrefix(low, w); ok && (rest == "" || strings.ContainsAny(rest[:1], " :,")) {
			why := strings.Join(strings.Fields(line), " ")[len(w):]
			return typed{actCannot, strings.TrimLeft(why, " :,")}
		}
	}
	var whole []string
	for _, g := range grades {
		if strings.HasPrefix(g, low) {
			whole = append(whole, g)
		}
	}
	if len(whole) == 1 {
		return typed{actValue, whole[0]}
	}
	return typed{actValue, line}
}

// keysLine is what can be typed, in short; keysHelp is all of it.
const keysLine = "Enter leaves a place out, = as the place before, x cannot be reached, back, to 14, end, stop keeps it for later, ? says more."

const keysHelp = `  Enter          leave it out for now, or keep what stands
  = or +         the same as the place before
  n, no, none    a grade, or its beginning
  5.9   5 1/4    measured; 5.2>5.9 is as found and as left
  x   x MUDDY    cannot be reached, and why; -: without why
  not-fitted     nothing is there; cannot-read: no reading
  back or <      the question before
  to 14          go to opener 14, or to left-wing
  out            leave it out after all
  list           what was said so far
  end            enough: look it over, then record it
  stop           keep it for later; the same line carries on
`

// asText is a reading as the question takes it again.
func (v answer) asText() string {
	switch v.got.Cannot {
	case "fitted":
		return "not-fitted"
	case "read":
		return "cannot-read"
	case "reach":
		return "-"
	}
	if v.got.Left.IsZero() {
		return v.got.Found.String()
	}
	return v.got.Found.String() + ">" + v.got.Left.String()
}

// where finds the first question of the places named, in walking order.
func (r *round) where(text string) (int, error) {
	l := r.gauges[0].l
	noun := ""
	for _, g := range r.gauges {
		if g.def.Of != "" {
			noun = g.def.Of
			break
		}
	}
	set, err := l.m.Fitted.ParsePositions(noun, strings.Fields(text), nil)
	if err != nil {
		return 0, err
	}
	for i, q := range r.asks {
		if set.Has(q.at) {
			return i, nil
		}
	}
	return 0, errors.New(l.m.Fitted.Describe(set, noun) + " is not among what is asked for")
}

// before is the value of the same reading at the place before, by the way walked.
func (r *round) before(i int) (answer, bool) {
	q := r.asks[i]
	for k := i - 1; k >= 0; k-- {
		p := r.asks[k]
		if p.g != q.g || p.hand != q.hand {
			continue
		}
		if a := r.said[p.key()]; a.given() {
			return a, true
		}
	}
	return answer{}, false
}

// reasons are why places could not be reached, as a remark: "opener 12: mud; opener 30: hose in the way".
func (r *round) reasons(g *gauge) string {
	var out []string
	for _, q := range r.asks {
		if a := r.said[q.key()]; q.g == g && a.given() && a.why != "" {
			out = append(out, q.name()+": "+a.why)
		}
	}
	return strings.Join(out, "; ")
}

// key names a question in a draft.
func (q asking) key() string {
	k := q.g.def.Name
	if at := q.at.String(); at != "" {
		k += " " + at
	}
	if q.hand != "" {
		k += " " + q.hand
	}
	return k
}
