package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

type scheduleJSON struct {
	Name     string    `json:"name"`
	Title    string    `json:"title"`
	Source   string    `json:"source"`
	BuiltIn  bool      `json:"built_in"`
	InUse    bool      `json:"in_use"`
	Entry    record.ID `json:"entry,omitempty"` // that put it into use
	From     string    `json:"from,omitempty"`
	Newer    bool      `json:"newer_built_in"` // the built-in text differs from the one in use
	Machines []string  `json:"machines"`
}

type schedulesJSON struct {
	Format    int            `json:"format"`
	Schedules []scheduleJSON `json:"schedules"`
}

func scheduleListCommand() *command {
	return &command{
		name: "schedule list", section: "machines", brief: "list the kinds of machine there are schedules for", reads: true,
		usage:    []string{"schedule list"},
		examples: []string{"schedule list", "schedule list --json"},
		about:    "Built-in ones and those in use in this book. Works outside a book too.",
		run: func(c *call) error {
			if len(c.args) > 0 {
				return usage("shedbook schedule show "+c.args[0], "schedule list takes no names")
			}
			b, st, err := c.maybeBook()
			if err != nil {
				return err
			}
			list := scheduleRows(st)
			if c.json {
				err = c.printJSON(schedulesJSON{1, list})
			} else {
				t := table.New("kind", "title", "from", "in use", "machines")
				for _, s := range list {
					from := "a farm's own"
					if s.BuiltIn {
						from = "built in"
					}
					use := ""
					if s.InUse {
						use = "yes" + before(" since ", s.From)
						if s.Newer {
							use += ", an earlier text"
						}
					}
					t.Row(s.Name, s.Title, from, use, strings.Join(s.Machines, ", "))
				}
				c.printf("%s", t.Text(c.columns()))
			}
			if err != nil || b == nil {
				return err
			}
			return b.soundness()
		},
	}
}

// maybeBook opens the book where there is one: schedules can be looked at without.
func (c *call) maybeBook() (*book, *rules.State, error) {
	b, err := c.open()
	var ue *userError
	if errors.As(err, &ue) && ue.tag == "no-book" && len(c.books) == 0 && c.getenv("SHEDBOOK_BOOK") == "" {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	st, err := b.now()
	return b, st, err
}

func scheduleRows(st *rules.State) []scheduleJSON {
	rows := map[string]*scheduleJSON{}
	var order []string
	add := func(s *schedule.Schedule) *scheduleJSON {
		if rows[s.Name] == nil {
			rows[s.Name] = &scheduleJSON{Machines: []string{}}
			order = append(order, s.Name)
		}
		r := rows[s.Name]
		r.Name, r.Title, r.Source = s.Name, s.Title, s.Source
		return r
	}
	for _, s := range schedule.Builtins() {
		add(s).BuiltIn = true
	}
	if st != nil {
		for _, k := range st.Kinds {
			if k.Schedule == nil {
				continue
			}
			r := add(k.Schedule)
			r.InUse, r.Entry, r.From = true, k.Entry, k.From
			if s, ok := schedule.Builtin(r.Name); ok {
				r.Newer = s.Text != k.Schedule.Text
			}
		}
		for _, m := range st.Machines {
			if r := rows[m.Kind]; r != nil && m.Sold == "" {
				r.Machines = append(r.Machines, m.Name)
			}
		}
	}
	slices.Sort(order)
	var out []scheduleJSON
	for _, n := range order {
		out = append(out, *rows[n])
	}
	return out
}

func scheduleShowCommand() *command {
	var paths, text bool
	return &command{
		name: "schedule show", section: "machines", brief: "show how a kind is built and serviced", reads: true,
		usage:    []string{"schedule show KIND|MACHINE [PATH] [--paths] [--toml]"},
		examples: []string{"schedule show disc-drill", "schedule show drill job.grease", "schedule show drill --paths", "schedule show disc-drill --toml"},
		about: `Of a machine as it is built, with values of your own in place of the built-in ones; of a kind with its usual options. A path such as job or ` +
			`job.grease shows that part only, and says more of it.`,
		flags: func(fs *pflag.FlagSet) {
			fs.BoolVar(&paths, "paths", false, "list every value that schedule set can change")
			fs.BoolVar(&text, "toml", false, "print the whole text as it is written")
		},
		run: func(c *call) error {
			if len(c.args) < 1 || len(c.args) > 2 {
				return usage("shedbook schedule show disc-drill", "schedule show takes a kind or a machine, and perhaps a path")
			}
			b, st, err := c.maybeBook()
			if err != nil {
				return err
			}
			t, err := c.findSchedule(st, strings.ToLower(c.args[0]))
			if err != nil {
				return err
			}
			under := ""
			if len(c.args) == 2 {
				under = c.args[1]
			}
			if err := t.check(under); err != nil {
				return err
			}
			switch {
			case text:
				c.printf("%s", t.plain.Text)
			case c.json:
				err = c.printJSON(t.json(under))
			case paths:
				err = c.paged(func() error { t.paths(under); return nil })
			default:
				err = c.paged(func() error { t.print(under); return nil })
			}
			if err != nil || b == nil {
				return err
			}
			return b.soundness()
		},
	}
}

// sections are the first words of paths.
var sections = []string{"option", "place", "counter", "part", "setting", "reading", "job", "relation", "setup", "spec", "caution"}

// check refuses a path that names nothing.
func (t *shownSchedule) check(under string) error {
	if under == "" || slices.Contains(sections, under) {
		return nil
	}
	head, rest, _ := strings.Cut(under, ".")
	if !slices.Contains(sections, head) {
		return failed("unknown-path", "shedbook schedule show "+t.f.Name+" --paths", "there is no path %q%s", under, didYouMean(head, sections))
	}
	name, _, _ := strings.Cut(rest, ".")
	known := t.names(head)
	if !slices.Contains(known, name) {
		return failed("unknown-path", "shedbook schedule show "+t.f.Name+" "+head, "%s has no %s %q%s", t.f.Name, head, name, didYouMean(name, known))
	}
	return nil
}

// names are the names of one section.
func (t *shownSchedule) names(section string) []string {
	var out []string
	f := t.f
	switch section {
	case "option":
		for _, x := range f.Options {
			out = append(out, x.Name)
		}
	case "place":
		for _, x := range f.Places {
			out = append(out, x.Noun)
		}
	case "relation":
		for _, x := range f.Relations {
			out = append(out, x.Name)
		}
	case "spec":
		for _, x := range f.Specs {
			out = append(out, x.Name)
		}
	case "caution":
		for _, x := range f.Cautions {
			out = append(out, x.Name)
		}
	default:
		for _, n := range f.Names() {
			if n.What == section {
				out = append(out, n.Word)
			}
		}
	}
	return out
}

// findSchedule finds a machine's schedule, or a kind's: the one in use in the book before the built-in one.
func (c *call) findSchedule(st *rules.State, name string) (*shownSchedule, error) {
	known := []string{}
	if st != nil {
		if m := st.Machine(name); m != nil {
			if m.Fitted == nil {
				return nil, failed("no-schedule", "shedbook schedule use FILE", "the schedule %q of %s is not known", m.Kind, m.Name)
			}
			plain := m.Fitted.Schedule
			if k := kindInUse(st, m.Kind); k != nil {
				plain = k.Schedule
			}
			return &shownSchedule{call: c, f: m.Fitted, plain: plain, m: m}, nil
		}
		known = machineNames(st)
	}
	s := (*schedule.Schedule)(nil)
	if st != nil {
		if k := kindInUse(st, name); k != nil {
			s = k.Schedule
		}
	}
	if s == nil {
		s, _ = schedule.Builtin(name)
	}
	if s == nil {
		for _, r := range scheduleRows(st) {
			known = append(known, r.Name)
		}
		return nil, failed("unknown-kind", "shedbook schedule list", "there is no kind or machine %q%s", name, didYouMean(name, known))
	}
	f, err := s.Fit(nil, nil, nil)
	if err != nil {
		return nil, failed("bad-schedule", "shedbook schedule check FILE", "the schedule %s does not hold with its usual options: %v", name, err)
	}
	return &shownSchedule{call: c, f: f, plain: s}, nil
}

func kindInUse(st *rules.State, name string) *rules.KindInUse {
	for _, k := range st.Kinds {
		if k.Schedule != nil && k.Schedule.Name == name {
			return k
		}
	}
	return nil
}

type pathJSON struct {
	Path  string    `json:"path"`
	Value string    `json:"value"` // TOML
	Own   string    `json:"own,omitempty"`
	Page  string    `json:"page,omitempty"`
	Entry record.ID `json:"entry,omitempty"`
}

type scheduleTextJSON struct {
	Format  int             `json:"format"`
	Name    string          `json:"name"`
	Title   string          `json:"title"`
	Machine string          `json:"machine,omitempty"`
	Options []record.Option `json:"options"`
	Paths   []pathJSON      `json:"paths"`
	Text    string          `json:"text"`
}

func (t *shownSchedule) json(under string) scheduleTextJSON {
	out := scheduleTextJSON{Format: 1, Name: t.f.Name, Title: t.f.Title, Options: strs(t.f.OptionValues), Paths: []pathJSON{}, Text: t.plain.Text}
	if t.m != nil {
		out.Machine = t.m.Name
	}
	for _, p := range t.plain.Paths() {
		if under != "" && p.Path != under && !strings.HasPrefix(p.Path, under+".") {
			continue
		}
		x := pathJSON{Path: p.Path, Value: p.Value}
		for _, o := range t.f.Overrides {
			if o.Path == p.Path {
				x.Own, x.Page, x.Entry = o.Value, o.Page, o.Entry
			}
		}
		out.Paths = append(out.Paths, x)
	}
	return out
}

// readSchedule reads a schedule's text from a file, or from standard input where the name is "-". Line ends become LF, as entries hold them.
func (c *call) readSchedule(name string) ([]byte, error) {
	var text []byte
	var err error
	if name == "-" {
		if c.asks {
			c.say("reading a schedule from the keyboard; end with Ctrl-D\n")
		}
		text, err = io.ReadAll(io.LimitReader(c.stdin, 1<<20))
	} else {
		text, err = os.ReadFile(c.path(name))
	}
	if err != nil {
		return nil, failed("no-file", "", "read the schedule: %v", err)
	}
	return []byte(strings.ReplaceAll(string(text), "\r\n", "\n")), nil
}

// fileName is how a file is named in mistakes.
func fileName(name string) string {
	if name == "-" {
		return "standard input"
	}
	return filepath.ToSlash(name)
}
