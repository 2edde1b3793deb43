package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

func scheduleUseCommand() *command {
	var from string
	return &command{
		name: "schedule use", section: "machines", brief: "put a schedule into use, or a later text of it", writes: true,
		usage:    []string{"schedule use KIND|FILE [--from DATE]"},
		examples: []string{"schedule use disc-drill", "schedule use our-drill.toml --from 2026-04-01"},
		about: `Its whole text goes into the book, so that old results stay what they were. It holds for all machines of the kind, from the beginning unless --from ` +
			`says otherwise; single values of your own (schedule set) stay. What changes for which machine is said before anything is recorded; see it with --dry-run.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&from, "from", "", "the `day` from which it holds (left out: since the beginning)")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook schedule use disc-drill", "schedule use takes a built-in kind or a file")
			}
			day, err := c.fromDay(from)
			if err != nil {
				return err
			}
			s, err := c.scheduleToUse(c.args[0])
			if err != nil {
				return err
			}
			return c.write(func(w *writing) error {
				if err := w.leads("puts a schedule into use"); err != nil {
					return err
				}
				st, err := w.state(max(c.today(), day), "")
				if err != nil {
					return err
				}
				if k := kindInUse(st, s.Name); k != nil && k.Schedule.Text == s.Text && (k.From == day || k.From == "") {
					return failed("no-change", "", "this very text of %s is in use already", s.Name)
				}
				lines, err := changesOf(st, s)
				if err != nil {
					return err
				}
				e, err := w.add(&record.Schedule{Name: s.Name, Text: s.Text, From: day}, nil, nil)
				if err != nil {
					return err
				}
				w.then(func() error {
					return c.recordedWith(lines, e, "the schedule %s is in use%s", s.Name, before(" from ", day))
				})
				return nil
			})
		},
	}
}

// fromDay reads --from.
func (c *call) fromDay(said string) (string, error) {
	if said == "" {
		return "", nil
	}
	day, err := c.parseDay(said)
	if err != nil {
		return "", usage("write --from 2026-04-01", "--from: %v", err)
	}
	return day, nil
}

// scheduleToUse is a built-in kind, or a file's schedule when it has no mistake.
func (c *call) scheduleToUse(name string) (*schedule.Schedule, error) {
	if s, ok := schedule.Builtin(name); ok && !isFile(c.path(name)) {
		return s, nil
	}
	if name != "-" && !isFile(c.path(name)) {
		var known []string
		for _, s := range schedule.Builtins() {
			known = append(known, s.Name)
		}
		return nil, failed("unknown-kind", "shedbook schedule list", "there is neither a built-in kind nor a file %q%s", name, didYouMean(name, known))
	}
	text, err := c.readSchedule(name)
	if err != nil {
		return nil, err
	}
	x, s := checkSchedule(fileName(name), text)
	if s == nil {
		for _, m := range x.Mistakes[:min(len(x.Mistakes), 5)] {
			c.say("%s\n", m.text)
		}
		return nil, failed("bad-schedule", "shedbook schedule check "+name, "%s: %s, nothing was recorded", x.File, countWords(len(x.Mistakes), "mistake"))
	}
	return s, nil
}

// changesOf says what a new text changes for each machine of its kind. A machine that it does not fit is an error.
func changesOf(st *rules.State, s *schedule.Schedule) ([]string, error) {
	var out []string
	k := kindInUse(st, s.Name)
	var changed []string
	if k != nil {
		changed = textChanges(k.Schedule, s)
	}
	for _, m := range st.Machines {
		if m.Kind != s.Name || m.Sold != "" {
			continue
		}
		var options []record.Option
		var groups []record.Group
		var own []schedule.Override
		if m.Fitted != nil {
			options, groups, own = m.Fitted.OptionValues, m.Fitted.Farm, m.Fitted.Overrides
			options = slices.DeleteFunc(slices.Clone(options), func(o record.Option) bool {
				return !slices.ContainsFunc(s.Options, func(p schedule.Option) bool { return p.Name == o.Name })
			})
		}
		f, err := s.Fit(options, groups, own)
		if err != nil {
			return nil, failed("does-not-fit", "mend the text, then say it again", "%s does not fit the new text: %v", m.Name, err)
		}
		line := m.Name + ": "
		switch {
		case k == nil:
			line += "had no schedule, has one now"
		case len(changed) == 0:
			line += "no value changes"
		default:
			line += strings.Join(changed[:min(len(changed), 12)], "; ")
			if n := len(changed) - 12; n > 0 {
				line += fmt.Sprintf("; and %d more", n)
			}
		}
		for _, d := range f.Dropped {
			line += "; your own " + d.Path + " no longer fits: " + d.Why
		}
		out = append(out, line)
	}
	if len(out) == 0 {
		out = append(out, "no machine of this kind yet")
	}
	return out, nil
}

// textChanges compares two texts value by value.
func textChanges(was, is *schedule.Schedule) []string {
	old := map[string]string{}
	for _, p := range was.Paths() {
		old[p.Path] = p.Value
	}
	var out []string
	fresh := map[string]bool{}
	for _, p := range is.Paths() {
		fresh[p.Path] = true
		switch o, ok := old[p.Path]; {
		case !ok:
			out = append(out, p.Path+": new, "+plainValue(p.Value))
		case o != p.Value:
			out = append(out, p.Path+": "+plainValue(o)+" to "+plainValue(p.Value))
		}
	}
	for _, p := range was.Paths() {
		if !fresh[p.Path] {
			out = append(out, p.Path+": gone, was "+plainValue(p.Value))
		}
	}
	return out
}

func scheduleSetCommand() *command {
	var page, from string
	return &command{
		name: "schedule set", section: "machines", brief: "put one value of a machine's schedule right", writes: true,
		usage:    []string{`schedule set MACHINE PATH VALUE --page "operator's manual p. 41" [--from DATE]`},
		examples: []string{`schedule set drill job.grease.when.1.every "80 ac" --page "p. 41"`, `schedule set drill job.grease.when.1.every ""`},
		about: `The manual rules: where it gives another figure than the built-in one, put it in here, with the page. schedule show MACHINE --paths lists the paths. ` +
			`An empty value goes back to the schedule's own.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&page, "page", "", "the `page` of the manual that says so")
			fs.StringVar(&from, "from", "", "the `day` from which it holds (left out: since the beginning)")
		},
		run: func(c *call) error {
			if len(c.args) != 3 {
				return usage("shedbook "+c.cmd.examples[0], "schedule set takes a machine, a path and a value")
			}
			path, value := c.args[1], c.args[2]
			if value != "" && strings.TrimSpace(page) == "" {
				return usage(`add --page "operator's manual p. 41"`, "say where the manual gives this value")
			}
			day, err := c.fromDay(from)
			if err != nil {
				return err
			}
			return c.write(func(w *writing) error {
				if err := w.leads("changes a schedule's values"); err != nil {
					return err
				}
				st, err := w.state(max(c.today(), day), "")
				if err != nil {
					return err
				}
				m, err := findMachine(st, strings.ToLower(c.args[0]))
				if err != nil {
					return err
				}
				k := kindInUse(st, m.Kind)
				if k == nil || m.Fitted == nil {
					return failed("no-schedule", "shedbook schedule use FILE", "the schedule %q of %s is not known", m.Kind, m.Name)
				}
				text, err := newValue(m, k.Schedule, path, value)
				if err != nil {
					return err
				}
				was := standingValue(m.Fitted, k.Schedule, path)
				e, err := w.addWork(m, &record.Override{Work: record.Work{Machine: m.ID, Done: c.minute()}, Path: path, Value: text, Page: page, From: day}, nil)
				if err != nil {
					return err
				}
				w.then(func() error {
					if text == "" {
						return c.recorded(e, "%s: %s is back to the schedule's own %s, was %s", m.Name, path, plainValue(ownValue(k.Schedule, path)), plainValue(was))
					}
					return c.recorded(e, "%s: %s is %s%s, was %s (%s)", m.Name, path, plainValue(text), before(" from ", day), plainValue(was), page)
				})
				return nil
			})
		},
	}
}

// newValue checks a typed value against the kind and against this machine as it is built; it comes back as TOML.
func newValue(m *rules.Machine, s *schedule.Schedule, path, typed string) (string, error) {
	text, err := s.ReadOverride(path, typed)
	if err != nil {
		return "", failed("bad-value", "shedbook schedule show "+m.Name+" --paths", "%v", err)
	}
	if text == "" {
		return "", nil
	}
	own := append(slices.Clone(m.Fitted.Overrides), schedule.Override{Path: path, Value: text})
	f, err := s.Fit(m.Fitted.OptionValues, m.Fitted.Farm, own)
	if err != nil {
		return "", failed("bad-value", "", "%s: %v", m.Name, err)
	}
	for _, d := range f.Dropped {
		if d.Path == path {
			return "", failed("bad-value", "", "%s: %s", m.Name, d.Why)
		}
	}
	return text, nil
}

// ownValue is the schedule's value at a path.
func ownValue(s *schedule.Schedule, path string) string {
	for _, p := range s.Paths() {
		if p.Path == path {
			return p.Value
		}
	}
	return "nothing"
}

// standingValue is the value in force on a machine.
func standingValue(f *schedule.Fitted, s *schedule.Schedule, path string) string {
	for _, o := range f.Overrides {
		if o.Path == path {
			return o.Value
		}
	}
	for i := range f.Jobs {
		for n, t := range f.Jobs[i].Torques {
			if t.Bolt != nil && path == torquePath(f.Jobs[i].Name, n)+".value" {
				return t.Value.String() + ", computed from the bolt"
			}
		}
	}
	return ownValue(s, path)
}
