package main

import (
	"errors"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/record"
)

// historyFilter is what of a book's past is asked for.
type historyFilter struct {
	machine      record.ID
	look         *look
	since, until string
	by           record.ID
	kind         string
	all          bool
}

func historyCommand() *command {
	var since, until, by, kind string
	var last int
	var all bool
	return &command{
		name: "history", section: "read", brief: "list what was done, newest last", reads: true,
		usage:    []string{"history [MACHINE [POSITIONS] [WHAT...]] [--since DATE] [--until DATE] [--by NAME] [--kind KIND] [--last N] [--all]"},
		examples: []string{"history drill", "history drill opener/12", "history drill left-wing depth --since 2026-04-01", `history --by "Sam Rook" --last 20`},
		about: `The date is when the work was done; where it was written down on another day, that is said. What was corrected shows as corrected, with what stood there ` +
			`before. --all adds what was struck, the corrections themselves, and entries that count for nothing, each with the reason.

On a terminal a long list goes through PAGER; SHEDBOOK_PAGER=cat turns that off.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&since, "since", "", "done on this `day` or later")
			fs.StringVar(&until, "until", "", "done on this `day` or before")
			fs.StringVar(&by, "by", "", "done or written by this `person`")
			fs.StringVar(&kind, "kind", "", "only entries of this `kind`: did, swap, fault, ...")
			fs.IntVar(&last, "last", 0, "only the last `N`")
			fs.BoolVar(&all, "all", false, "also what was struck and what does not count")
		},
		run: func(c *call) error {
			f := historyFilter{kind: kind, all: all}
			for _, d := range []struct {
				name, said string
				at         *string
			}{{"--since", since, &f.since}, {"--until", until, &f.until}} {
				if d.said == "" {
					continue
				}
				day, err := c.parseDay(d.said)
				if err != nil {
					return usage("", "%s: %v", d.name, err)
				}
				*d.at = day
			}
			if kind != "" && !slices.Contains(record.Kinds(), kind) {
				return usage("write one of "+strings.Join(record.Kinds(), ", "), "there is no kind of entry %q%s", kind, didYouMean(kind, record.Kinds()))
			}
			if last < 0 {
				return usage("write --last 20", "--last %d is no number of lines", last)
			}
			lines, books, err := c.gatherHistory(f, by)
			if err != nil {
				return err
			}
			if last > 0 && len(lines) > last {
				lines = lines[len(lines)-last:]
			}
			if c.json {
				err = c.printJSON(historiesJSON{1, c.historyJSON(lines)})
			} else {
				err = c.paged(func() error { c.printHistory(lines); return nil })
			}
			if err != nil {
				return err
			}
			return soundAll(books)
		},
	}
}

// gatherHistory collects from the one book that has the machine, or from all books named.
func (c *call) gatherHistory(f historyFilter, by string) ([]historyLine, []*book, error) {
	books, err := c.openAll()
	if err != nil {
		return nil, nil, err
	}
	var lines []historyLine
	var missing error
	found := false
	for _, b := range books {
		st, err := b.now()
		if err != nil {
			return nil, nil, err
		}
		g := f
		if len(c.args) > 0 {
			if g.look, err = lookAt(st, c.args); err != nil {
				var ue *userError
				if errors.As(err, &ue) && (ue.tag == "unknown-machine" || ue.tag == "no-machine") && len(books) > 1 {
					missing = err
					continue
				}
				return nil, nil, err
			}
			g.machine = g.look.m.ID
		}
		if by != "" {
			p := st.Person(by)
			if p == nil {
				var names []string
				for _, q := range st.People {
					names = append(names, q.Name)
				}
				missing = failed("unknown-person", "shedbook people list", "there is no person %q%s", by, didYouMean(by, names))
				continue
			}
			g.by = p.ID
		}
		found = true
		lines = append(lines, b.history(st, g)...)
	}
	if !found {
		return nil, nil, missing
	}
	if len(books) > 1 {
		slices.SortStableFunc(lines, func(a, b historyLine) int { return a.done.Compare(b.done) })
	}
	return lines, books, nil
}

// printHistory writes one line an entry.
func (c *call) printHistory(lines []historyLine) {
	if len(lines) == 0 {
		c.printf("nothing recorded\n")
		return
	}
	several := map[string]bool{}
	for i := range lines {
		several[lines[i].machine] = true
	}
	t := table.New("done", "machine", "who", "what", "entry")
	t.Keep(0, 4)
	for i := range lines {
		l := &lines[i]
		machine := ""
		if len(several) > 1 {
			machine = l.machine
		}
		done := weekday(l.done)
		if c.columns() < 80 {
			done = sinceDay(l.done)
		}
		t.Row(done, machine, l.who, strings.Join(append([]string{l.text(c)}, l.marks...), " "), l.id.Short())
	}
	t.Mark(func(row, col int, text string) string {
		switch {
		case row < 0:
			return c.paint(bold, text)
		case lines[row].fate.State != counts && lines[row].fate.State != corrected:
			return c.paint(dim, text)
		}
		return text
	})
	c.printf("%s", t.Text(c.columns()))
}
