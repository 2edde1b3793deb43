package main

import (
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules/record"
)

func bindLend(s *said, fs *pflag.FlagSet) {
	s.bindWork(fs)
	s.bindNote(fs)
	s.str(fs, &s.condition, "condition", "what it was like when it changed hands: `ok, watch or bad`")
	s.yes(fs, &s.back, "back", "it came back; of one hired in: it was sent back")
	s.yes(fs, &s.hired, "hired-in", "it is another's, and was hired or borrowed")
}

func machineLendCommand() *command {
	s := &said{}
	return &command{
		name: "machine lend", section: "machines", brief: "record that a machine was lent, hired in, or came back", writes: true,
		usage:    []string{"machine lend MACHINE --who NAME [--condition ok|watch|bad]", "machine lend MACHINE --back [--condition ok|watch|bad]", "machine lend MACHINE --hired-in --who NAME"},
		examples: []string{"machine lend baler --who \"Pim Reed\" --condition ok --counter 18210", "machine lend baler --back --condition watch --counter 19040", "machine lend combine --hired-in --who \"the dealer\" --counter 1210"},
		about:    `Say its condition and read its counters both times: who broke what is then no matter of memory. What is wrong when it comes back is a fault of its own: shedbook fault.`,
		flags:    func(fs *pflag.FlagSet) { bindLend(s, fs) },
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook "+c.cmd.examples[0], "machine lend takes one machine; to whom is said with --who")
			}
			return c.aboutMachine(s, c.args[0], buildLend)
		},
	}
}

func buildLend(l *line) (record.Record, *record.Private, error) {
	r := &record.Lend{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Lend)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if l.s.given("condition") {
		if r.Condition = strings.ToLower(l.s.condition); !slices.Contains([]string{"ok", "watch", "bad"}, r.Condition) {
			return nil, nil, usage("write --condition ok, watch or bad", "%q is no condition", l.s.condition)
		}
	}
	now, hired, back := l.m.Lent, l.s.hired, l.s.back
	switch {
	case l.old != nil && !hired && !back: // only its condition, its date
	case hired && back:
		return nil, nil, usage("leave one out", "--hired-in and --back are two different days")
	case l.old != nil:
		return nil, nil, usage("shedbook strike ID, and record it anew", "which way it went is not corrected")
	case hired && now != "", !back && now == "hired-in":
		return nil, nil, failed("there-already", "shedbook machine lend "+l.m.Name+" --back", "%s is %s already", l.m.Name, lentWords(now))
	case hired:
		r.Act = "hired-in"
	case back && now == "lent":
		r.Act = "returned"
	case back && now == "hired-in":
		r.Act = "sent-back"
	case back:
		return nil, nil, failed("not-lent", "", "%s is neither lent nor hired in", l.m.Name)
	case now == "lent":
		return nil, nil, failed("there-already", "shedbook machine lend "+l.m.Name+" --back", "%s is lent already", l.m.Name)
	default:
		r.Act = "lent"
	}
	p, err := l.private("")
	if err == nil && l.old == nil && !back && (p == nil || p.Who == "") {
		return nil, nil, usage("add --who \"Pim Reed\"", "to or from whom is missing")
	}
	return r, p, err
}

func lentWords(act string) string {
	if act == "hired-in" {
		return "hired in"
	}
	return "lent"
}
