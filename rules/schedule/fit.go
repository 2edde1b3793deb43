package schedule

import (
	"fmt"
	"sort"
	"strconv"

	"shedbook/rules/record"
)

// Override is a farm's own value for one value of a schedule, as entered.
type Override struct {
	Path, Value, Page string
	Entry             record.ID
}

// Dropped is an override that no longer fits: the schedule it was made for has changed since.
type Dropped struct {
	Override
	Why string
}

// Fitted is a schedule made concrete for one machine: options chosen, overrides applied. Items whose options do not hold are gone from it, and with
// them whatever named them. It is never changed once made.
type Fitted struct {
	*Schedule
	OptionValues []record.Option // all, defaults included, in the schedule's order
	Overrides    []Override      // in force, in the order of their paths
	Dropped      []Dropped       // not in force, for a reason
	Farm         []record.Group  // the farm's own groups and aliases

	counts map[string]int
	ranks  map[string]int
	groups map[string]record.Positions
	pairs  map[record.Position]record.Position
	names  []Name
	lookup map[string]Name
}

// fit is Fit without a look at where set-ups apply.
func (s *Schedule) fit(options []record.Option, groups []record.Group, overrides []Override) (*Fitted, error) {
	values, chosen, err := s.chooseOptions(options)
	if err != nil {
		return nil, err
	}
	f := &Fitted{OptionValues: chosen, Farm: append([]record.Group(nil), groups...)}
	fitted, mistakes, in, dropped := apply(s.root, values, overrides)
	if len(mistakes) > 0 {
		return nil, mistakes
	}
	f.Overrides, f.Dropped = in, dropped
	fitted.Text = s.Text
	f.Schedule = fitted
	f.prune(values)
	f.place(values)
	if err := f.farmGroups(groups); err != nil {
		return nil, err
	}
	f.collectNames()
	return f, nil
}

func (s *Schedule) chooseOptions(options []record.Option) (map[string]string, []record.Option, error) {
	values := map[string]string{}
	var names []string
	for _, o := range s.Options {
		values[o.Name] = o.Default
		names = append(names, o.Name)
	}
	for _, given := range options {
		o := s.option(given.Name)
		if o == nil {
			return nil, nil, fmt.Errorf("kind %s has no option %q: %s", s.Name, given.Name, didYouMean(given.Name, names))
		}
		v, err := o.Check(given.Value)
		if err != nil {
			return nil, nil, err
		}
		values[o.Name] = v
	}
	var list []record.Option
	for _, o := range s.Options {
		list = append(list, record.Option{Name: o.Name, Value: values[o.Name]})
	}
	return values, list, nil
}

func (s *Schedule) option(name string) *Option {
	for i := range s.Options {
		if s.Options[i].Name == name {
			return &s.Options[i]
		}
	}
	return nil
}

// checkSetups resolves where every set-up applies, so that a wrong place shows when the machine is added and not in the field.
func (f *Fitted) checkSetups() error {
	for _, s := range f.Setups {
		for _, v := range s.Values {
			set, _ := f.Setting(v.Setting)
			if _, err := f.ParseWhere(set.Of, v.Where); err != nil {
				return fmt.Errorf("set-up %s, setting %s: %w", s.Name, v.Setting, err)
			}
		}
	}
	return nil
}

// Job finds a job by its name.
func (f *Fitted) Job(name string) (*Job, bool) {
	return find(f.Jobs, name, func(j *Job) string { return j.Name })
}

// Setting finds a setting by its name.
func (f *Fitted) Setting(name string) (*Setting, bool) {
	return find(f.Settings, name, func(s *Setting) string { return s.Name })
}

// Reading finds a reading by its name.
func (f *Fitted) Reading(name string) (*Reading, bool) {
	return find(f.Readings, name, func(r *Reading) string { return r.Name })
}

// Part finds a part by its name or plural.
func (f *Fitted) Part(name string) (*Part, bool) {
	if p, ok := find(f.Parts, name, func(p *Part) string { return p.Name }); ok {
		return p, true
	}
	return find(f.Parts, name, func(p *Part) string { return p.Plural })
}

// Counter finds a counter by its name.
func (f *Fitted) Counter(name string) (*Counter, bool) {
	return find(f.Counters, name, func(c *Counter) string { return c.Name })
}

// Setup finds a set-up by its name.
func (f *Fitted) Setup(name string) (*Setup, bool) {
	return find(f.Setups, name, func(s *Setup) string { return s.Name })
}

// Assembly finds an assembly by its name.
func (f *Fitted) Assembly(name string) (*Assembly, bool) {
	return find(f.Assemblies, name, func(a *Assembly) string { return a.Name })
}

// Caution finds a caution by its name.
func (f *Fitted) Caution(name string) (*Caution, bool) {
	return find(f.Cautions, name, func(c *Caution) string { return c.Name })
}

func find[T any](list []T, name string, of func(*T) string) (*T, bool) {
	for i := range list {
		if of(&list[i]) == name {
			return &list[i], true
		}
	}
	return nil, false
}

// MainCounter is the counter meant when a person names none; nil on a machine without counters.
func (f *Fitted) MainCounter() *Counter {
	for i := range f.Counters {
		if f.Counters[i].Main {
			return &f.Counters[i]
		}
	}
	return nil
}

// Name is one word of the namespace that nouns, groups, settings, readings, jobs, parts and set-ups of a machine share.
type Name struct {
	Word  string
	What  string // "job", "setting", "reading", "part", "assembly", "noun", "group", "setup", "counter", "alias" (the farm's own)
	Title string
}

func (f *Fitted) collectNames() {
	f.lookup = map[string]Name{}
	add := func(word, what, title string, plural string) {
		n := Name{word, what, title}
		f.names = append(f.names, n)
		f.lookup[word] = n
		if plural != "" {
			f.lookup[plural] = n
		}
	}
	for _, x := range f.Counters {
		add(x.Name, "counter", spaced(x.Name), "")
	}
	for _, x := range f.Places {
		add(x.Noun, "noun", spaced(x.Noun), x.Plural)
	}
	for _, x := range f.Groups {
		add(x.Name, "group", spaced(x.Name), "")
	}
	for _, x := range f.Assemblies {
		add(x.Name, "assembly", spaced(x.Name), "")
	}
	for _, x := range f.Parts {
		add(x.Name, "part", spaced(x.Name), x.Plural)
	}
	for _, x := range f.Settings {
		add(x.Name, "setting", x.Title, "")
	}
	for _, x := range f.Readings {
		add(x.Name, "reading", x.Title, "")
	}
	for _, x := range f.Jobs {
		add(x.Name, "job", x.Title, "")
	}
	for _, x := range f.Setups {
		add(x.Name, "setup", x.Title, "")
	}
	for _, x := range f.Farm {
		add(x.Name, "alias", spaced(x.Name), "")
	}
	sort.Slice(f.names, func(i, j int) bool { return f.names[i].Word < f.names[j].Word })
}

// Names is everything of the shared namespace by the alphabet: for suggestions and completion. Plurals are not listed; Lookup takes them.
func (f *Fitted) Names() []Name { return append([]Name(nil), f.names...) }

// Lookup finds what a word stands for; plurals of nouns and parts stand for the noun or part.
func (f *Fitted) Lookup(word string) (Name, bool) {
	n, ok := f.lookup[word]
	return n, ok
}

// number is a count as written, an integer or an option's name.
func number(text string, values map[string]string) int {
	if v, ok := values[text]; ok {
		text = v
	}
	n, _ := strconv.Atoi(text)
	return n
}
