package main

import (
	"cmp"
	"fmt"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

func prepareCommand() *command {
	var a preparing
	return &command{
		name: "prepare", section: "read", brief: "say what the work before a season takes: parts, hours", reads: true,
		usage:    []string{"prepare [MACHINE] --before SEASON|DATE [--farm NAME] [--yard NAME] [--person NAME] [--why]"},
		examples: []string{`prepare --before "spring 2027"`, `prepare drill --before 2027-03-20 --why`, `prepare --before "spring 2027" --yard creek`, `prepare --before "spring 2027" --person Wren`},
		about: `Everything that is overdue, due, open or comes due by then, at the recent rate of use, and what follows on that work: the parts to order, less what lies on the shelves, and by when; oils, grease and tools to bring; ` +
			`hours by yard, by who may do it and by who did it the last time; the work itself, machine by machine, in an order that opens each thing once; and what will follow in the field, such as the torque after the first hours.

Name the season as it was planned (season plan), or a day. --why has the arithmetic of each part. Used parts on a shelf are counted: look at them before you rely on them. Who is trained or licensed is in no book: --person is ` +
			`the work which that person did the last time.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.before, "before", "", "the `season or day` by which it is to be done")
			fs.StringVar(&a.farm, "farm", "", "only machines of this `farm`, and its shelves")
			fs.StringVar(&a.yard, "yard", "", "only machines at this `yard`, and its shelf")
			fs.StringVar(&a.person, "person", "", "only the work that this `person` did the last time")
			fs.BoolVar(&a.why, "why", false, "the reason, the arithmetic and the entries of each line")
		},
		run: func(c *call) error { return c.prepare(a) },
	}
}

type preparing struct {
	farm, yard, person, before, machine string
	why                                 bool
}

// prepared is what one book has to prepare.
type prepared struct {
	st    *rules.State
	title string // of the book, where there are several
	words string // the day meant
	rules.Preparation
}

func (c *call) prepare(a preparing) error {
	switch {
	case len(c.args) > 1:
		return usage(`shedbook prepare drill --before "spring 2027"`, "prepare takes one machine or none")
	case len(c.args) == 1:
		a.machine = c.args[0]
	}
	books, err := c.openAll()
	if err != nil {
		return err
	}
	all, err := c.prepareBooks(books, a)
	if err != nil {
		return err
	}
	if c.json {
		err = c.printJSON(c.prepareJSON(all))
	} else {
		err = c.paged(func() error {
			for i, p := range all {
				if p.title != "" {
					c.printf("%s%s\n", iff(i > 0, "\n"), c.paint(bold, table.Clean(p.title)))
				}
				c.printPreparation(p, a.why)
			}
			return nil
		})
	}
	if err != nil {
		return err
	}
	return soundAll(books)
}

// prepareBooks asks every book; a name that none of them has is an error. A season that one book does not know is the day another has for it.
func (c *call) prepareBooks(books []*book, a preparing) ([]prepared, error) {
	all := make([]prepared, len(books))
	days := make([]string, len(books))
	known := -1
	var unknown error
	for i, b := range books {
		st, err := b.now()
		if err != nil {
			return nil, err
		}
		all[i].st = st
		if len(books) > 1 {
			all[i].title = b.log.Title()
		}
		if days[i], all[i].words, err = c.beforeDay(st, a.before); err != nil {
			unknown = cmp.Or(unknown, err)
		} else if known < 0 {
			known = i
		}
	}
	if known < 0 {
		return nil, unknown
	}
	var out []prepared
	var missing error
	for i, p := range all {
		if days[i] == "" {
			days[i], p.words = days[known], all[known].words
		}
		if err := p.gather(a, days[i]); err != nil {
			missing = cmp.Or(missing, err)
			continue
		}
		out = append(out, p)
	}
	if len(out) == 0 {
		return nil, missing
	}
	return out, nil
}

// gather asks one book; a name that it does not have is an error.
func (p *prepared) gather(a preparing, day string) error {
	var f rules.Filter
	if err := narrow(p.st, a.farm, a.yard, a.machine, &f); err != nil {
		return err
	}
	var person record.ID
	if a.person != "" {
		who, err := findPerson(p.st, a.person)
		if err != nil {
			return err
		}
		person = who.ID
	}
	p.Preparation = rules.Prepare(p.st, f, day, person)
	return nil
}

// beforeDay is the day meant: the one on which a season is planned to begin, or a day itself.
func (c *call) beforeDay(st *rules.State, text string) (day, words string, err error) {
	var ahead []string
	for _, s := range st.Seasons {
		if s.Opened == "" && s.PlanFrom > st.On {
			ahead = append(ahead, s.Name)
		}
	}
	if text == "" {
		hint := `add --before "spring 2027", or a day`
		if len(ahead) > 0 {
			hint = fmt.Sprintf("add --before %q", ahead[0])
		}
		return "", "", usage(hint, "by when is missing")
	}
	if s := st.Season(text); s != nil {
		switch {
		case s.Opened != "":
			return "", "", failed("begun", "shedbook due", "%s began on %s: what is due in it, due says", s.Name, s.Opened)
		case s.PlanFrom == "":
			return "", "", failed("no-day", fmt.Sprintf("shedbook season plan %q --from DATE --to DATE", s.Name), "%s has no day planned", s.Name)
		}
		day, words = s.PlanFrom, s.Name+", planned from "+s.PlanFrom
	} else {
		if day, err = c.parseDay(text); err != nil {
			return "", "", failed("unknown-season", "say a day, --before 2027-04-01, or when that season is to be: shedbook season plan NAME --work WORK --from DAY --to DAY", "%q is no day and no season%s", text, didYouMean(text, ahead))
		}
		words = weekday(record.Done(day))
	}
	if day <= st.On {
		return "", "", failed("past", "shedbook due", "%s is not ahead of %s: what is due now, due says", day, st.On)
	}
	return day, words, nil
}
