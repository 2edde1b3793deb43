package main

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/record"
)

// recall is a maker's letter that goes for a range of serial numbers.
type recall struct{ serials, kind, part string }

func (a *recall) bind(fs *pflag.FlagSet) {
	fs.StringVar(&a.serials, "serials", "", "every machine, or part, whose serial number lies in this `range`: \"4100 to 4399\"")
	fs.StringVar(&a.kind, "kind", "", "with --serials: only machines of this `kind`")
	fs.StringVar(&a.part, "part", "", "with --serials: the numbers are those of this `part`")
}

// recall records the letter as one fault for each machine it goes for.
func (c *call) recall(s *said, a recall) error {
	low, high, ok := strings.Cut(a.serials, " to ")
	if !ok {
		high = low
	}
	if serialKey(low) == nil || serialKey(high) == nil || compareSerials(low, high) > 0 {
		return usage("write --serials \"4100 to 4399\"", "--serials %q is no range of serial numbers", a.serials)
	}
	if len(c.args) == 0 {
		return usage("shedbook fault \"maker's letter: new steering pin\" --serials \"4100 to 4399\"", "what the letter says is missing")
	}
	return c.record(func(w *writing, sure sureOf) error {
		st, err := w.state(c.today(), "")
		if err != nil {
			return err
		}
		if a.kind != "" && !slices.ContainsFunc(st.Kinds, func(k *rules.KindInUse) bool { return k.Schedule.Name == a.kind }) {
			return failed("unknown-kind", "shedbook schedule list", "no machine is of the kind %q", a.kind)
		}
		out := &reply{c: c, w: w}
		var bare []string
		for _, m := range st.Machines {
			if m.Sold != "" || a.kind != "" && m.Kind != a.kind {
				continue
			}
			at, hit := a.goesFor(m, low, high)
			if !hit {
				if a.part == "" && strings.TrimSpace(m.Serial) == "" {
					bare = append(bare, m.Name)
				}
				continue
			}
			if err := w.letter(out, s, m, append(at, c.args...), sure); err != nil {
				return err
			}
		}
		if len(bare) > 0 {
			out.notes = append(out.notes, fmt.Sprintf("no serial number is known of %s: look at the plate", commas(bare)))
		}
		if len(out.entries) == 0 {
			return failed("nothing-hit", "shedbook machine list --json has the numbers", "no %s has a serial number from %s to %s; nothing was recorded%s", cmp.Or(a.part, "machine held"), low, high, before("; no number is known of ", commas(bare)))
		}
		w.then(out.print)
		return nil
	})
}

// letter records it for one machine.
func (w *writing) letter(out *reply, s *said, m *rules.Machine, words []string, sure sureOf) error {
	l, err := w.line(faultVerb, s, m.Name, words)
	if err != nil {
		return err
	}
	r, p, err := faultVerb.build(l)
	if err != nil {
		return err
	}
	l.common()
	l.doubled(r, p)
	l.warranted(r)
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	out.notes = append(out.notes, l.notes...)
	return out.sign(l.m, r, p)
}

// goesFor reports a machine whose number lies in the range; of a part, the words that name the places where such parts sit.
func (a recall) goesFor(m *rules.Machine, low, high string) (words []string, hit bool) {
	in := func(serial string) bool {
		return serialKey(serial) != nil && compareSerials(low, serial) <= 0 && compareSerials(serial, high) <= 0
	}
	if a.part == "" {
		return nil, in(m.Serial)
	}
	for slot, s := range m.Slots[a.part] {
		if s.Part == nil || !in(s.Part.Serial) {
			continue
		}
		hit = true
		if p, _ := rules.SplitSlot(slot); p != (record.Position{}) && !slices.Contains(words, p.String()) {
			words = append(words, p.String())
		}
	}
	slices.Sort(words)
	return append(words, a.part), hit
}

// serialKey takes a serial number apart into runs of letters and of digits, in small letters, other signs left out; nil where it has neither.
func serialKey(serial string) []string {
	var out []string
	last := 0
	for _, r := range strings.ToLower(serial) {
		kind := 0
		switch {
		case r >= '0' && r <= '9':
			kind = 1
		case r >= 'a' && r <= 'z':
			kind = 2
		}
		if kind != 0 && kind == last {
			out[len(out)-1] += string(r)
		} else if kind != 0 {
			out = append(out, string(r))
		}
		last = kind
	}
	return out
}

// compareSerials orders serial numbers run by run: digits as numbers, so that A 99 lies below A 100, letters as words.
func compareSerials(a, b string) int {
	return slices.CompareFunc(serialKey(a), serialKey(b), func(x, y string) int {
		m, errX := strconv.ParseUint(x, 10, 64)
		n, errY := strconv.ParseUint(y, 10, 64)
		if errX == nil && errY == nil {
			return cmp.Compare(m, n)
		}
		return strings.Compare(x, y)
	})
}
