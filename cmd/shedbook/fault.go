package main

import (
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/record"
)

var faultVerb = &verb{kind: "fault", form: phrase.Fault, bind: bindFault, build: buildFault}

func bindFault(s *said, fs *pflag.FlagSet) {
	s.yes(fs, &s.stop, "stop", "do not run it so")
	s.yes(fs, &s.soon, "soon", "put right soon (this is what holds when nothing is said)")
	s.yes(fs, &s.winter, "winter", "for the winter shop")
	s.yes(fs, &s.tidy, "tidy", "when there is time")
	s.yes(fs, &s.tiedUp, "tied-up", "the places are out of use: their acres stop")
	s.yes(fs, &s.unfit, "unfit", "the machine is not fit to run")
	s.strs(fs, &s.needs, "needs", "parts it will take: \"`hub bearing=2`\"")
	s.str(fs, &s.lost, "lost", "`time` lost: 2h")
	s.bindWork(fs)
}

func faultCommand() *command {
	s := &said{}
	var letter recall
	return &command{
		name: "fault", section: "in the shed", brief: "record what is wrong, until a repair closes it", writes: true,
		usage: []string{
			"fault MACHINE [PLACES] [PART] WORDS [--stop|--soon|--winter|--tidy] [--tied-up] [--unfit] [--needs PART=N] [--lost TIME]",
			"fault WORDS --serials \"FROM to TO\" [--kind KIND] [--part PART]",
		},
		examples: []string{
			"fault drill opener/23 \"hub rough\" --winter", "fault drill opener/9 \"hub out\" --stop --tied-up --lost 2h", "fault tractor \"left work light dead\" --tidy",
			"fault \"letter 12: new pin\" --serials \"4100 to 4399\" --kind tractor",
		},
		about: "It stays in the list of work until a repair or another job closes it.\n\n" +
			"A maker's letter that goes for a range of serial numbers: --serials records it as a fault of every machine held whose number lies in the range, or with --part of every place where such a part sits. " +
			"Machines without a number are named: look at their plates. Each stays open until its own repair, which says who did it.",
		flags: func(fs *pflag.FlagSet) { bindFault(s, fs); letter.bind(fs) },
		run: func(c *call) error {
			if letter.serials != "" {
				return c.recall(s, letter)
			}
			if letter.kind != "" || letter.part != "" {
				return usage("add --serials \"4100 to 4399\"", "--kind and --part go with --serials")
			}
			return recordCommand(faultVerb, s)(c)
		},
	}
}

func buildFault(l *line) (record.Record, *record.Private, error) {
	r := &record.Fault{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Fault)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if r.Positions, r.Part, r.Said, err = l.spoken(r.Positions, r.Part, r.Said); err != nil {
		return nil, nil, err
	}
	s := l.s
	var said []string
	for _, x := range []struct {
		word string
		is   bool
	}{{"stop", s.stop}, {"soon", s.soon}, {"winter", s.winter}, {"tidy", s.tidy}} {
		if x.is {
			said = append(said, x.word)
		}
	}
	switch {
	case len(said) > 1:
		return nil, nil, usage("say one of them", "--%s and --%s: how bad is it?", said[0], said[1])
	case len(said) == 1:
		r.Severity = said[0]
	case r.Severity == "":
		r.Severity = "soon"
	}
	if s.given("tied-up") {
		if r.TiedUp = s.tiedUp; r.TiedUp && r.Positions.IsZero() {
			return nil, nil, usage("name the place, or say --unfit", "--tied-up: which place of %s is out of use?", l.m.Name)
		}
	}
	if s.given("unfit") {
		r.Unfit = s.unfit
	}
	if s.given("needs") {
		if r.Needs, err = needsOf("needs", s.needs); err != nil {
			return nil, nil, err
		}
	}
	if s.given("lost") {
		if r.Lost, err = amount("lost", s.lost, hours); err != nil {
			return nil, nil, err
		}
	}
	p, err := l.private(l.ph.Text)
	return r, p, err
}

// spoken reads the places and the part of a line with free words. Nothing named is the machine as a whole; a part alone is every place of it only when
// "all" is said.
func (l *line) spoken(old record.Positions, part, said string) (record.Positions, string, string, error) {
	c := l.clause()
	noun := ""
	if t, ok := l.term(); ok {
		part = t.Name
	}
	if part != "" {
		if what, err := l.swapped(part); err == nil {
			noun = what.noun
		}
	}
	if len(c.Places)+len(c.But) == 0 {
		return old, part, said, nil
	}
	if bareNumbers(c.Places) && noun == "" {
		noun = l.mainNoun()
	}
	at, err := l.places(noun, c, old)
	return at, part, saidOf(c, said), err
}

// bareNumbers reports places that name no noun.
func bareNumbers(places []string) bool {
	for _, p := range places {
		if p[0] < '0' || p[0] > '9' {
			return false
		}
	}
	return len(places) > 0
}

// mainNoun is the one numbered noun that bare numbers can only mean, "" where there are several.
func (l *line) mainNoun() string {
	noun := ""
	for _, p := range l.m.Fitted.Places {
		if len(p.Names) == 0 {
			if noun != "" {
				return ""
			}
			noun = p.Noun
		}
	}
	return noun
}

// needsOf reads "hub bearing=2" flags; a thing without a number is one.
func needsOf(flag string, list []string) ([]record.Need, error) {
	var out []record.Need
	for _, text := range list {
		what, n := strings.TrimSpace(text), 1
		if i := strings.LastIndexByte(text, '='); i >= 0 {
			var err error
			what = strings.TrimSpace(text[:i])
			if n, err = strconv.Atoi(strings.TrimSpace(text[i+1:])); err != nil || n < 1 || n > 100000 {
				return nil, usage("write --"+flag+" \"hub bearing=2\"", "--%s %q: %q is no number of parts", flag, text, strings.TrimSpace(text[i+1:]))
			}
		}
		if err := checkWords("--"+flag, what, 100); err != nil {
			return nil, err
		}
		out = append(out, record.Need{What: what, Count: n})
	}
	return out, nil
}
