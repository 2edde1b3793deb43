package main

import (
	"fmt"
	"slices"
	"time"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/ledger/audit"
	"shedbook/rules/record"
)

// citing is what devices of other people say of the machine's entries: that they held them.
type citing struct {
	of     int // entries about the machine that count
	cited  int // of them by somebody else's device
	people int // the most people that cite one
	half   time.Duration
	most   time.Duration // nine of ten of those cited
	last   time.Duration // all of them
	newest []audit.Cited // at the end, cited by nobody yet, oldest first
}

func (s *saleFile) citing() citing {
	if s.cites != nil {
		return *s.cites
	}
	var c citing
	var after []time.Duration
	for _, x := range s.proof.ev.Cited() {
		c.of++
		if x.First == nil {
			c.newest = append(c.newest, x)
			continue
		}
		c.people = max(c.people, x.People)
		after = append(after, x.After)
	}
	slices.Sort(after)
	if c.cited = len(after); c.cited > 0 {
		c.half, c.most, c.last = after[(c.cited-1)/2], after[(9*c.cited-1)/10], after[c.cited-1]
	}
	s.cites = &c
	return c
}

// citedLines say how soon other people's devices confirm that the entries were there, and what that is worth.
func (s *saleFile) citedLines(writers int) []paper.Text {
	c := s.citing()
	if c.cited == 0 {
		return []paper.Text{{Words: "no device of anybody else cites an entry of it: nobody confirms when any of it was written", Mark: paper.Mark{Kind: paper.Watch, Word: iff(writers == 1, "one writer") + iff(writers != 1, "not confirmed")}}}
	}
	out := []paper.Text{paper.Say(fmt.Sprintf("%s %s about it (%s in all), by signed entries of their own; half of these within %s of the writing, nine of ten within %s, all within %s",
		does(fmt.Sprint("Devices of ", c.people), c.people, "other person cite", "other people cite"), c.share(), entryCount(c.of), lasting(c.half), lasting(c.most), lasting(c.last)))}
	if n := len(c.newest); n > 0 {
		var from []record.ID
		for _, x := range c.newest {
			from = append(from, record.ID(x.Entry.ID().String()))
		}
		out = append(out, marked(paper.Watch, "not confirmed", fmt.Sprintf("%s cited by nobody else, the last written %s", does(entryCount(n), n, "is", "are"), c.newest[n-1].Entry.At().Format("2006-01-02")), from...))
	}
	return append(out, paper.Say("That shows that they were written no later than then, by those clocks, unless the keys of the people who cite them were used too: they are of one family or firm, and a family could act together. Only somebody from outside, by a stamp, vouches against all of them."))
}

func (c *citing) share() string {
	if c.cited == c.of {
		return "every entry"
	}
	return fmt.Sprintf("all but %d of the entries", c.of-c.cited)
}

// lasting is a stretch of time in its largest whole unit, rounded up.
func lasting(d time.Duration) string {
	up := func(unit time.Duration) int { return int((d + unit - 1) / unit) }
	switch {
	case d <= time.Hour:
		return countWords(max(1, up(time.Minute)), "minute")
	case d <= 48*time.Hour:
		return countWords(up(time.Hour), "hour")
	}
	return countWords(up(24*time.Hour), "day")
}

// tailLine says in few words what the citing says of the end of the record: up to where nothing can have been left out unseen.
func (c *citing) tailLine() string {
	if c.cited == 0 {
		return ""
	}
	return "Devices of other people of the book cite " + c.share() + " shown; one of these left out would show, unless their logs were cut as well."
}
