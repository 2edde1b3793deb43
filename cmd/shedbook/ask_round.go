package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// all asks until the person has looked everything over.
func (r *round) all() error {
	r.shown = -1
	i, more := r.next(r.lastSaid())
	if r.doubt != "" {
		i, more = r.doubted, true
	}
	for {
		for more {
			var err error
			if i, more, err = r.one(i); err != nil {
				return err
			}
		}
		to, err := r.review()
		if to < 0 || err != nil {
			return err
		}
		i, more = to, true
	}
}

// lastSaid is the question answered last, -1 where none was.
func (r *round) lastSaid() int {
	if len(r.trail) == 0 {
		return -1
	}
	return r.trail[len(r.trail)-1]
}

// next is what to ask after question i: the next place of which nothing was said, then those passed over, then once more those left out.
func (r *round) next(i int) (int, bool) {
	open := func(k, left int) bool {
		a := r.said[r.asks[k].key()]
		return !a.given() && a.left == left
	}
	for left := range 2 {
		for k := range r.asks {
			if n := (i + 1 + k) % len(r.asks); left == 0 && open(n, 0) {
				return n, true
			}
			if left == 1 && open(k, 1) {
				if !r.again {
					r.again = true
					r.talk("Left out: %s. Once more, Enter leaves them out.", r.names(func(q asking) bool { return r.said[q.key()].left == 1 }))
				}
				return k, true
			}
		}
	}
	return 0, false
}

// one asks one question until it is answered, and says which one is next; more is false when it is time to look over.
func (r *round) one(i int) (next int, more bool, err error) {
	q := r.asks[i]
	if i != r.doubted {
		r.doubt = ""
	}
	if r.doubt != "" {
		r.talk("  %s", r.odd(i, r.doubt))
	}
	if s := r.stretch(i); s != "" && (r.shown < 0 || r.stretch(r.shown) != s) {
		r.talk("%s", s)
	}
	r.shown = i
	for {
		text, err := r.c.put(r.question(i))
		if err != nil {
			return i, false, err
		}
		t := readTyped(text, q.g.def.Grades)
		if t.act != actValue {
			r.doubt = ""
		}
		switch t.act {
		case actValue:
			if t.text != strings.TrimSpace(text) {
				r.talk("  %s", t.text)
			}
			taken, err := r.value(i, t.text)
			if err != nil {
				return i, false, err
			}
			if !taken {
				continue
			}
		case actLeave:
			if r.said[q.key()].given() { // it stays as it is
				break
			}
			if err := r.say(i, draft.Line{Left: true}); err != nil {
				return i, false, err
			}
		case actOut:
			if err := r.say(i, draft.Line{Left: true, Say: actOut}); err != nil {
				return i, false, err
			}
		case actSame:
			a, ok := r.before(i)
			if !ok {
				r.talk("  nothing was said of the place before")
				continue
			}
			if err := r.say(i, draft.Line{Say: a.asText(), More: a.why}); err != nil {
				return i, false, err
			}
		case actCannot:
			why, err := r.reason(i, t.text)
			if err != nil {
				return i, false, err
			}
			if err := r.say(i, draft.Line{Say: "-", More: why}); err != nil {
				return i, false, err
			}
		default:
			to, moved, err := r.move(i, t)
			if err != nil || moved {
				return to, to >= 0, err
			}
			continue
		}
		next, more := r.next(i)
		return next, more, nil
	}
}

// move does what a word asks for that is no answer. moved: question to is next, or -1 to look over.
func (r *round) move(i int, t typed) (to int, moved bool, err error) {
	switch t.act {
	case actBack:
		for len(r.trail) > 0 {
			to = r.lastSaid()
			r.trail = r.trail[:len(r.trail)-1]
			if to != i {
				return to, true, nil
			}
		}
		r.talk("  this is the first one")
	case actTo:
		to, err := r.where(t.text)
		if err != nil {
			r.talk("  %v", err)
			return i, false, nil
		}
		return to, true, nil
	case actEnd:
		return -1, true, nil
	case actStop:
		return i, false, errStop
	case actList:
		r.list()
	case actHelp:
		r.c.say("%s", keysHelp)
	}
	return i, false, nil
}

// value takes what was measured. What looks like a slip is taken when it is typed a second time.
func (r *round) value(i int, text string) (taken bool, err error) {
	v, err := r.asks[i].g.parse(text)
	if err != nil {
		r.talk("  %v", err)
		return false, nil
	}
	say := answer{got: v}.asText()
	if odd := r.odd(i, say); odd != "" && !(i == r.doubted && say == r.doubt) {
		if err := r.say(i, draft.Line{Doubt: say}); err != nil {
			return false, err
		}
		r.doubt, r.doubted = say, i
		r.talk("  %s", odd)
		return false, nil
	}
	r.doubt = ""
	return true, r.say(i, draft.Line{Say: say})
}

// reason is why a place cannot be reached. Where it was said of another reading there it is the same.
func (r *round) reason(i int, said string) (string, error) {
	for said == "" {
		for k := i - 1; k >= 0 && r.asks[k].at == r.asks[i].at; k-- {
			if a := r.said[r.asks[k].key()]; a.given() && a.got.Cannot == "reach" {
				return a.why, nil
			}
		}
		text, err := r.c.put("  why (Enter: not said):")
		if err != nil {
			return "", err
		}
		if said = strings.TrimSpace(text); said == "" {
			return "", nil
		}
		if err := checkWords("why", said, 200); err != nil {
			r.talk("  %v", err)
			said = ""
		}
	}
	if err := checkWords("why", said, 200); err != nil {
		r.talk("  %v: left out", err)
		return "", nil
	}
	return said, nil
}

// odd is a soft question about a value that looks like a slip: outside what is usual, or five times off the last one there or, where there is none, off the
// middle one of those said so far.
func (r *round) odd(i int, say string) string {
	q := r.asks[i]
	v, err := q.g.parse(say)
	if err != nil {
		return ""
	}
	last, _ := q.g.last(q.spot)
	which := "the last was"
	if last.IsZero() {
		last, which = r.middle(i), "the others are about"
	}
	for _, x := range []record.Value{v.Found, v.Left} {
		n, ok := x.Quantity()
		if !ok {
			continue
		}
		const again = "Type it again if it is right, else the right one."
		if !q.g.def.Plausible(x) {
			return fmt.Sprintf("%s? Usual is %s. %s", n, q.g.usual(), again)
		}
		if q.g.beyondNew(x) {
			return fmt.Sprintf("%s? A new one has %s. %s", n, q.g.def.New, again)
		}
		if farOff(x, last) {
			return fmt.Sprintf("%s? %s %s. %s", n, which, last, again)
		}
	}
	return ""
}

// middle is the median of what was said of the reading at other places; none, the zero value.
func (r *round) middle(i int) record.Value {
	var all []quantity.Quantity
	for k, q := range r.asks {
		if n, ok := r.said[q.key()].got.Found.Quantity(); ok && k != i && q.g == r.asks[i].g && r.said[q.key()].given() {
			all = append(all, n)
		}
	}
	if len(all) == 0 {
		return record.Value{}
	}
	slices.SortStableFunc(all, func(a, b quantity.Quantity) int { c, _ := a.Cmp(b); return c })
	return record.Amount(all[len(all)/2])
}

// question names the place, what stands there already, and what was read there the last time, as far as the terminal has room.
func (r *round) question(i int) string {
	q := r.asks[i]
	name := q.name()
	if len(r.gauges) > 1 {
		name += " " + q.g.def.Name
	}
	if a := r.said[q.key()]; a.given() {
		name += " [" + asRead(a.got) + "]"
	}
	last, when := q.g.last(q.spot)
	if !last.IsZero() {
		const typing = 12
		for _, more := range []string{fmt.Sprintf(" (%s on %s)", last, when.Date()), fmt.Sprintf(" (%s)", last)} {
			if table.Width(name+more)+typing <= r.c.columns() {
				return name + more + ":"
			}
		}
	}
	return name + ":"
}

// stretch is the part of the way that question i lies in, as the job card heads it: "rear rank, from the right".
func (r *round) stretch(i int) string {
	f, at := r.gauges[0].l.m.Fitted, r.asks[i].at
	same := func(q asking) bool { return q.at.Noun == at.Noun && f.Rank(q.at) == f.Rank(at) }
	if at.Noun == "" {
		return ""
	}
	from := slices.IndexFunc(r.asks, same)
	var walk []record.Position
	for _, q := range r.asks[from:] {
		if !same(q) {
			break
		}
		if n := len(walk); n == 0 || walk[n-1] != q.at {
			walk = append(walk, q.at)
		}
	}
	return stretchName(f, walk)
}
