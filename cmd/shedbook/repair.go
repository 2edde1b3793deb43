package main

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
	"shedbook/rules/record"
)

var repairVerb = &verb{kind: "repair", form: phrase.Repair, bind: bindRepair, build: buildRepair}

func bindRepair(s *said, fs *pflag.FlagSet) {
	bindWarranty(s, fs)
	s.strs(fs, &s.used, "used", "parts and material that went in: \"`hub=1`\"")
	s.yes(fs, &s.temporary, "temporary", "a makeshift: the fault stays open")
	s.str(fs, &s.cause, "cause", "what did it, one `word`: worn, broken, stone")
	s.str(fs, &s.lost, "lost", "`time` lost: 2h")
	s.bindWork(fs)
}

func repairCommand() *command {
	s := &said{}
	return &command{
		name: "repair", section: "in the shed", brief: "record what was put right, and close the fault", writes: true,
		usage: []string{"repair MACHINE [PLACES] [PART] WORDS [--closes FAULT] [--used PART=N] [--cost WHAT=AMOUNT] [--temporary]"},
		examples: []string{
			"repair drill 9 \"new hub\" --used hub=1 --minutes 90", "repair drill \"rear pivot\" --used bushing=2 --cost parts=120.50",
			"repair tractor \"hose patched\" --temporary",
		},
		about: "The one open fault of the same places is closed with it; --closes names another.",
		flags: func(fs *pflag.FlagSet) { bindRepair(s, fs) },
		run:   recordCommand(repairVerb, s),
	}
}

func buildRepair(l *line) (record.Record, *record.Private, error) {
	r := &record.Repair{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Repair)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if r.Positions, r.Part, r.Said, err = l.spoken(r.Positions, r.Part, r.Said); err != nil {
		return nil, nil, err
	}
	s := l.s
	if s.given("temporary") {
		r.Temporary = s.temporary
	}
	if s.given("used") {
		if r.Used, err = needsOf("used", s.used); err != nil {
			return nil, nil, err
		}
	}
	if s.given("cause") {
		if r.Cause = strings.Join(strings.Fields(strings.ToLower(s.cause)), "-"); !plainWord(r.Cause) {
			return nil, nil, usage("write --cause stone", "--cause %q is no plain word", s.cause)
		}
	}
	if s.given("lost") {
		if r.Lost, err = amount("lost", s.lost, hours); err != nil {
			return nil, nil, err
		}
	}
	if !s.given("closes") && l.old == nil {
		l.closesOnly(r)
	}
	l.stillThere(r)
	p, err := l.private(l.ph.Text)
	return r, p, err
}

// stillThere says that a repair of a part, or one that used one or names one in its words, is not yet a new part in the book.
func (l *line) stillThere(r *record.Repair) {
	if l.old != nil {
		return
	}
	names := []string{r.Part}
	for _, u := range r.Used {
		names = append(names, l.partsIn(u.What, r.Positions)...)
	}
	for _, name := range append(names, l.partsIn(l.ph.Text, r.Positions)...) {
		p, ok := l.m.Fitted.Part(name)
		if !ok || p.Fluid {
			continue
		}
		places := ""
		if !r.Positions.IsZero() {
			places = strings.Join(r.Positions.Strings(), ",") + " "
		} else if p.Of != "" {
			places = "PLACES "
		}
		l.note("this is not yet a new %s in the book: the use of the old one goes on; where it is new: shedbook swap %s %s%s", name, l.m.Name, places, name)
		return
	}
}

// partsIn are the parts of the machine at some places that free words name, in the order of the words; of "hub bearing" the longest name counts.
func (l *line) partsIn(text string, at record.Positions) []string {
	words := strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	var out []string
	for i := 0; i < len(words); i++ {
		for n := min(4, len(words)-i); n > 0; n-- {
			name, ok := l.m.Fitted.Lookup(strings.Join(words[i:i+n], "-"))
			if !ok {
				continue
			}
			if p, ok := l.m.Fitted.Part(name.Word); ok && name.What == "part" && (at.IsZero() || l.seated(p.Name, at)) {
				out = append(out, p.Name)
			}
			i += n - 1
			break
		}
	}
	return out
}

// seated reports a part that has its seat at one of these places.
func (l *line) seated(part string, at record.Positions) bool {
	return slices.ContainsFunc(l.slots(l.m, part, at, ""), func(name string) bool { return l.m.Slots[part][name] != nil })
}

// closesOnly closes the one open fault of the places repaired, and says so; of several it closes none and lists them.
func (l *line) closesOnly(r *record.Repair) {
	var open []*rules.Fault
	for _, f := range l.m.Faults {
		same := f.Positions.IsZero() && r.Positions.IsZero() || !both(f.Positions, r.Positions).IsZero()
		if f.Closed == "" && same && f.Done.Compare(l.done) <= 0 && (r.Part == "" || f.Part == "" || r.Part == f.Part) {
			open = append(open, f)
		}
	}
	switch {
	case len(open) == 1:
		f := open[0]
		r.Closes = []record.ID{f.ID}
		if r.Temporary {
			l.note("the fault %q [%s] stays open: this holds for now", f.Text, f.ID.Short())
		} else {
			l.note("closes the fault %q [%s]; if that is not so: shedbook correct {id} --closes none", f.Text, f.ID.Short())
		}
	case len(open) > 1:
		var list []string
		for _, f := range open {
			list = append(list, fmt.Sprintf("%q [%s]", f.Text, f.ID.Short()))
		}
		l.note("%d faults are open there and none is closed: %s; say which with --closes", len(open), strings.Join(list, ", "))
	}
}
