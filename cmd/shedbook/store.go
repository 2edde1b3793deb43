package main

import (
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules/record"
)

func bindStore(s *said, fs *pflag.FlagSet) {
	s.bindWork(fs)
	s.bindNote(fs)
	s.yes(fs, &s.out, "out", "it is taken out of storage")
	s.strs(fs, &s.slack, "slack", "`what` was slackened, drained or taken off, by commas: springs,\"pump drained\"")
	s.strs(fs, &s.putBack, "put-back", "with --out: `what` is as it should be again, by commas, or all")
}

func machineStoreCommand() *command {
	s := &said{}
	return &command{
		name: "machine store", section: "machines", brief: "record that a machine was put into storage or taken out", writes: true,
		usage:    []string{"machine store MACHINE [--slack WHAT,...]", "machine store MACHINE --out [--put-back WHAT,...|all]"},
		examples: []string{"machine store drill --slack \"springs,pump drained\"", "machine store drill --out --put-back springs", "machine store drill --out --put-back all"},
		about: `In storage, jobs that come by use or season wait; those that the calendar asks for in storage too go on. What was slackened, drained or taken off is asked for in due from the day it comes out until ` +
			`you say that it is put back: say the same again with what is done since.`,
		flags: func(fs *pflag.FlagSet) { bindStore(s, fs) },
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook "+c.cmd.examples[0], "machine store takes one machine")
			}
			return c.aboutMachine(s, c.args[0], buildStore)
		},
	}
}

func buildStore(l *line) (record.Record, *record.Private, error) {
	r := &record.Store{Act: "in"}
	if l.s.out {
		r.Act = "out"
	}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Store)
		if l.s.given("out") {
			return nil, nil, usage("shedbook strike ID, and record it anew", "whether it went in or came out is not corrected")
		}
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	slack, put := commaList(l.s.slack), commaList(l.s.putBack)
	for _, text := range slices.Concat(slack, put) {
		if err := checkWords("--slack", text, 100); err != nil {
			return nil, nil, err
		}
	}
	switch {
	case r.Act == "in" && len(put) > 0:
		return nil, nil, usage("shedbook machine store "+l.m.Name+" --out --put-back springs", "--put-back belongs to --out")
	case l.old != nil:
		if l.s.given("slack") {
			r.Slack = slack
		}
	case r.Act == "in" && l.m.Stored:
		return nil, nil, failed("there-already", "shedbook machine store "+l.m.Name+" --out", "%s is in storage already", l.m.Name)
	case r.Act == "in":
		r.Slack = slack
	case !l.m.Stored && len(put) == 0:
		return nil, nil, failed("there-already", "", "%s is not in storage", l.m.Name)
	default:
		if r.Slack, err = stillSlack(l, put); err != nil {
			return nil, nil, err
		}
		r.Slack = append(r.Slack, slack...)
	}
	p, err := l.private("")
	return r, p, err
}

// stillSlack is what was slackened less what is put back.
func stillSlack(l *line, put []string) ([]string, error) {
	still := slices.Clone(l.m.Slack)
	for _, text := range put {
		if strings.EqualFold(text, "all") {
			return nil, nil
		}
		i := slices.IndexFunc(still, func(s string) bool { return strings.EqualFold(s, text) })
		if i < 0 { // the first word is enough where it is the only one so
			var fits []int
			for k, s := range still {
				if strings.HasPrefix(strings.ToLower(s), strings.ToLower(text)) {
					fits = append(fits, k)
				}
			}
			if len(fits) == 1 {
				i = fits[0]
			}
		}
		if i < 0 {
			hint := "nothing of it is slack"
			if len(still) > 0 {
				hint = "still slack: " + strings.Join(still, ", ")
			}
			return nil, failed("not-slack", hint, "%q was not slackened or drained on %s", text, l.m.Name)
		}
		still = slices.Delete(still, i, i+1)
	}
	return still, nil
}

func commaList(texts []string) []string {
	var out []string
	for _, t := range texts {
		for _, s := range strings.Split(t, ",") {
			if s = strings.TrimSpace(s); s != "" && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}
