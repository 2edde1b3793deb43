package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/ical"
	"shedbook/rules"
)

func calendarCommand() *command {
	var farm, yard, out string
	var todos bool
	return &command{
		name: "calendar", section: "sharing", brief: "write what is due as a calendar file", reads: true,
		usage:    []string{"calendar [MACHINE] [--farm NAME] [--yard NAME] [--to-dos] [--out FILE]"},
		examples: []string{"calendar --out shed.ics", "calendar drill --to-dos --out drill.ics", "calendar --yard creek --out creek.ics"},
		about: `Everything that has a day: what is overdue or due stands on the day asked about, what comes due on its own day, by the date or at the recent rate of use. ` +
			`The file is in the form that calendars read (RFC 5545). Written again and taken in again, or put where a calendar fetches it, entries change and do not double: each keeps its id.

--to-dos writes tasks instead of all-day events. What is due by a counter nobody reads has no day and is left out; due says it.

` + manualRules,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&farm, "farm", "", "only machines of this `farm`")
			fs.StringVar(&yard, "yard", "", "only machines at this `yard`")
			fs.StringVar(&out, "out", "", "write to this `file`, over what is there; else to the standard output")
			fs.BoolVar(&todos, "to-dos", false, "tasks instead of all-day events")
		},
		run: func(c *call) error {
			machine := ""
			switch {
			case len(c.args) > 1:
				return usage("shedbook calendar drill --out drill.ics", "calendar takes one machine or none")
			case len(c.args) == 1:
				machine = c.args[0]
			}
			books, err := c.openAll()
			if err != nil {
				return err
			}
			list, err := gatherDue(books, farm, yard, machine, rules.Filter{All: true}, "", "")
			if err != nil {
				return err
			}
			days := c.calendarDays(list, books[0].log.ID().String()[:16])
			if out != "" || !c.json {
				err = c.writeCalendar(list.on, calendarName(books, machine, yard, farm), days, todos, out)
			}
			if err == nil && c.json {
				err = c.printJSON(calendarJSON{Format: 1, On: list.on, File: out, Days: days})
			}
			if err != nil {
				return err
			}
			return soundAll(books)
		},
	}
}

type calendarJSON struct {
	Format int               `json:"format"`
	On     string            `json:"on"`
	File   string            `json:"file,omitempty"`
	Days   []calendarDayJSON `json:"days"`
}

type calendarDayJSON struct {
	UID     string `json:"uid"`
	Day     string `json:"day"`
	Machine string `json:"machine"`
	Yard    string `json:"yard"`
	State   string `json:"state"`
	Summary string `json:"summary"`
	Why     string `json:"why"`
	urgent  bool
}

// calendarDays are the items that have a day. What is late stands on the day asked about: a calendar hides the past.
func (c *call) calendarDays(list *dueList, book string) []calendarDayJSON {
	out := []calendarDayJSON{}
	for i := range list.items {
		it := &list.items[i]
		day := dayOf(it.Item, list.on)
		if day == "" {
			continue
		}
		summary := it.Name + ": " + it.Title
		if it.Where != "" {
			summary += ", " + it.Where
		}
		if it.State == rules.Overdue {
			summary += " (overdue)"
		}
		out = append(out, calendarDayJSON{UID: it.ID + "@" + book + ".shedbook", Day: day, Machine: it.Name, Yard: it.yard, State: it.State, Summary: summary, Why: it.Why,
			urgent: it.Severity == "stop"})
	}
	return out
}

// dayOf is the day an item stands on, "" where nobody can say, or where no calendar has it: past the year 9999.
func dayOf(it rules.Item, on string) string {
	switch it.State {
	case rules.Overdue, rules.DueNow, rules.Open:
		return on
	case rules.Unknown:
		return ""
	}
	day := it.Due.Date
	if day == "" {
		day = it.Expected
	}
	if len(day) != len("2026-04-01") {
		return ""
	}
	return max(day, on)
}

func calendarName(books []*book, names ...string) string {
	words := []string{"machinery"}
	if len(books) == 1 {
		words[0] = books[0].log.Title()
	}
	for _, n := range names {
		if n != "" {
			words = append(words, n)
		}
	}
	return strings.Join(words, ", ")
}

func (c *call) writeCalendar(on, name string, days []calendarDayJSON, todos bool, out string) error {
	cal := ical.Calendar{Name: name, Stamp: on, ToDos: todos}
	for _, d := range days {
		cal.Entries = append(cal.Entries, ical.Entry{UID: d.UID, Day: d.Day, Summary: d.Summary, Description: d.Why + "\n" + manualRules, Where: d.Yard, Kinds: []string{d.Machine, d.State}, Urgent: d.urgent})
	}
	var b bytes.Buffer
	if err := ical.Write(&b, cal); err != nil {
		return fmt.Errorf("the calendar: %w", err)
	}
	if out == "" {
		_, err := c.stdout.Write(b.Bytes())
		return err
	}
	if err := c.replaceFile(out, b.Bytes()); err != nil {
		return err
	}
	if !c.json {
		c.aside()("", "wrote %s: %s", out, does(fmt.Sprint(len(days)), len(days), "entry", "entries"))
	}
	return nil
}
