package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

type specLineJSON struct {
	Name  string    `json:"name"`
	Value string    `json:"value"`
	Note  string    `json:"note,omitempty"`
	Path  string    `json:"path"`           // in the schedule
	Own   bool      `json:"own"`            // a value of the farm's own
	Page  string    `json:"page,omitempty"` // that it cites
	Entry record.ID `json:"entry,omitempty"`
	Jobs  []string  `json:"jobs"` // that need it

	Computed string `json:"computed,omitempty"` // the arithmetic of a torque computed from a bolt
}

type specJSON struct {
	Format   int            `json:"format"`
	Machine  string         `json:"machine,omitempty"`
	Schedule string         `json:"schedule"`
	Source   string         `json:"source"`
	Lines    []specLineJSON `json:"lines"`
}

func specCommand() *command {
	var why bool
	return &command{
		name: "spec", section: "read", brief: "say which oil, filter, torque, pressure or belt it takes", reads: true,
		usage:    []string{"spec MACHINE|KIND [WORD...] [--why]"},
		examples: []string{"spec tractor oil", "spec drill torque --why", "spec tractor wheel nut", "spec drill"},
		about: `Looks the words up in the machine's spec card, its options, and what its jobs torque and use. One line an answer; a value of your own names the page of the manual that it comes from.

Put your manual's values in: shedbook schedule set drill spec.grease.value "..." --page "operator's manual p. 12".

A torque that is "computed from the bolt" stands in for a manual that names none, for plain flange bolts only; --why gives the arithmetic, and the manual's figure takes its place the same way.`,
		flags: func(fs *pflag.FlagSet) {
			fs.BoolVar(&why, "why", false, "under each line where its value stands in the schedule and, where it is computed, how")
		},
		run: func(c *call) error {
			if len(c.args) == 0 {
				return usage("shedbook spec tractor oil", "spec takes a machine, and perhaps what to look up")
			}
			b, st, err := c.maybeBook()
			if err != nil {
				return err
			}
			t, err := c.findSchedule(st, strings.ToLower(c.args[0]))
			if err != nil {
				return err
			}
			all := t.card()
			lines := lookUp(all, c.args[1:])
			if len(lines) == 0 && len(c.args) > 1 {
				return failed("unknown-spec", "shedbook spec "+c.args[0]+" shows the whole card", "nothing about %q stands on the card of %s%s", strings.Join(c.args[1:], " "), c.args[0], didYouMean(c.args[1], cardWords(all)))
			}
			if c.json {
				out := specJSON{Format: 1, Schedule: t.f.Name, Source: t.f.Source, Lines: []specLineJSON{}}
				if t.m != nil {
					out.Machine = t.m.Name
				}
				for _, l := range lines {
					l.Jobs = strs(l.Jobs)
					out.Lines = append(out.Lines, l.specLineJSON)
				}
				err = c.printJSON(out)
			} else {
				err = c.paged(func() error { t.printCard(lines, why); return nil })
			}
			if err != nil || b == nil {
				return err
			}
			return b.soundness()
		},
	}
}

// cardLine is a line of the card with the words by which it is found.
type cardLine struct {
	specLineJSON
	words []string
	known []string // of these, those that name it: what is suggested for a word mistyped
}

// card gathers what somebody at the bench asks for: the spec card itself, options that are an amount or a choice, what jobs torque and what they use.
func (t *shownSchedule) card() []*cardLine {
	var out []*cardLine
	byPath := map[string]*cardLine{}
	add := func(path, name, value, note, job string, words ...string) *cardLine {
		l := byPath[path]
		if l == nil {
			l = &cardLine{specLineJSON: specLineJSON{Name: name, Value: value, Note: note, Path: path}}
			l.known = lookWords(name)
			l.words = append(lookWords(name), words...)
			if own := ownAt(t.f, path); len(own) > 0 {
				l.Own, l.Page, l.Entry = true, pagesOf(own), own[len(own)-1].Entry
			}
			byPath[path] = l
			out = append(out, l)
		}
		if job != "" && !slices.Contains(l.Jobs, job) {
			l.Jobs = append(l.Jobs, job)
		}
		return l
	}
	for _, s := range t.f.Specs {
		add("spec."+s.Name, s.Name, s.Value, s.Note, "", append(s.Words, lookWords(s.Value)...)...)
	}
	// Of the same fastener or fluid in several jobs one line is enough, if they say the same.
	seen := map[string]*cardLine{}
	of := func(job *schedule.Job, path, what, value, note string, words ...string) *cardLine {
		section, _, _ := strings.Cut(strings.TrimPrefix(path, "job."+job.Name+"."), ".")
		key := strings.Join([]string{section, what, value, note}, "\x00")
		if l := seen[key]; l != nil {
			if !slices.Contains(l.Jobs, job.Name) {
				l.Jobs = append(l.Jobs, job.Name)
			}
			return l
		}
		seen[key] = add(path, what, value, note, job.Name, append(words, lookWords(job.Title)...)...)
		return seen[key]
	}
	for i := range t.f.Jobs {
		job := &t.f.Jobs[i]
		for n, q := range job.Torques {
			value := t.both(q.Value)
			if !q.Min.IsZero() || !q.Max.IsZero() {
				value += ", " + t.both(q.Min) + " to " + t.both(q.Max)
			}
			computed, why := "", ""
			if q.Bolt != nil {
				computed, why = q.Bolt.Short(), q.Bolt.Why()
			}
			l := of(job, torquePath(job.Name, n), q.What, value, marks(q.Size, iff(q.LeftHand, "left-hand thread"), computed), "torque", "wrench")
			l.Computed = why
		}
		for n, u := range job.Uses {
			of(job, fmt.Sprintf("job.%s.uses.%d", job.Name, n+1), u.What, t.quantity(u.Amount), "", "fill", "fills")
		}
	}
	value := map[string]string{}
	for _, o := range t.f.OptionValues {
		value[o.Name] = o.Value
	}
	for _, o := range t.f.Options {
		q, err := quantity.Parse(value[o.Name])
		if o.Type != "amount" || err != nil { // an amount's value has been checked
			continue
		}
		if v := t.both(q); !saidAlready(out, o.Name, v) {
			add("option."+o.Name, o.Name, v, o.About, "", lookWords(o.About)...)
		}
	}
	return out
}

// saidAlready: an option that only feeds a job stands there, under the same words and with the same value.
func saidAlready(lines []*cardLine, name, value string) bool {
	return slices.ContainsFunc(lines, func(l *cardLine) bool {
		return len(l.Jobs) > 0 && l.Value == value && len(lookUp([]*cardLine{l}, []string{name})) > 0
	})
}

func (t *shownSchedule) quantity(q quantity.Quantity) string {
	if q.IsZero() {
		return ""
	}
	return t.both(q)
}

// lookWords splits a text into the words it is found by.
func lookWords(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return r != '/' && r != '.' && (r < '0' || r > '9') && (r < 'a' || r > 'z') && r < 0x80
	})
}

// lookUp finds the lines that have a word beginning with each of those asked for; a last s is no matter.
func lookUp(lines []*cardLine, asked []string) []*cardLine {
	var out []*cardLine
	for _, l := range lines {
		fits := true
		for _, text := range asked {
			for _, w := range lookWords(text) {
				w = strings.TrimSuffix(w, "s")
				fits = fits && slices.ContainsFunc(l.words, func(have string) bool { return strings.HasPrefix(have, w) })
			}
		}
		if fits {
			out = append(out, l)
		}
	}
	return out
}

func cardWords(lines []*cardLine) []string {
	var out []string
	for _, l := range lines {
		for _, w := range l.known {
			if len(w) > 3 && !slices.Contains(out, w) {
				out = append(out, w)
			}
		}
	}
	return out
}

// printCard prints a line for each, and where the values come from.
func (t *shownSchedule) printCard(lines []*cardLine, why bool) {
	builtIn := false
	for _, l := range lines {
		text := l.Name + ": " + l.Value + before(" - ", l.Note)
		if len(l.Jobs) > 0 {
			text += " (" + strings.Join(l.Jobs, ", ") + ")"
		}
		if l.Own {
			text += " [your own value, " + l.Page + "]"
		} else {
			builtIn = true
		}
		t.printf("%s\n", table.Wrap(table.Clean(text), t.columns(), "  "))
		if why {
			t.line("", l.Path+before(": ", l.Computed)+bracketed(l.Entry.Short()), "    ")
		}
	}
	rule := "The operator's manual rules."
	if builtIn {
		rule += " Values without a page are " + t.f.Source + "."
	}
	t.say("\n%s\n", table.Wrap(rule, t.columns(), ""))
}
