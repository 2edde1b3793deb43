package schedule

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Laws that every built-in kind keeps. They are about what a technician would miss, not about the grammar, which refuses the rest.

// eachBuiltin runs a law over the whole text of every built-in kind, options aside.
func eachBuiltin(t *testing.T, law func(t *testing.T, s *Schedule)) {
	t.Helper()
	if len(Builtins()) < 2 {
		t.Fatal("the built-in kinds are not there")
	}
	for _, s := range Builtins() {
		t.Run(s.Name, func(t *testing.T) { law(t, s) })
	}
}

// eachMachine runs a law over the whole text and over machines with each option at either end, the others as they come: what an option takes away must
// not leave the rest hanging.
func eachMachine(t *testing.T, law func(t *testing.T, s *Schedule)) {
	t.Helper()
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		law(t, s)
		for _, f := range machinesOf(s) {
			if t.Failed() {
				return // said once
			}
			if law(t, f.Schedule); t.Failed() {
				t.Logf("on a machine with the options %v", f.OptionValues)
			}
		}
	})
}

// fitted are the machines of machinesOf, by kind: they are fitted once for all laws.
var fitted = map[string][]*Fitted{}

func machinesOf(s *Schedule) []*Fitted {
	if list, ok := fitted[s.Name]; ok {
		return list
	}
	var list []*Fitted
	add := func(options ...record.Option) {
		if f, err := s.Fit(options, nil, nil); err == nil { // those that cannot be fitted fail TestBuiltinsFitAtEveryEnd
			list = append(list, f)
		}
	}
	add()
	for i := range s.Options {
		for _, v := range ends(&s.Options[i]) {
			add(option(s.Options[i].Name, v))
		}
	}
	fitted[s.Name] = list
	return list
}

// ends are the values of an option at its ends: least, greatest and default of a count or an amount, every choice, yes and no.
func ends(o *Option) []string {
	switch o.Type {
	case "choice":
		return o.Choices
	case "yes-no":
		return []string{"yes", "no"}
	case "count":
		return []string{strconv.Itoa(o.Min), strconv.Itoa(o.Max), o.Default}
	}
	values := []string{o.Default}
	for _, q := range []string{o.Low.String(), o.High.String()} {
		if _, err := o.Check(q); err == nil {
			values = append(values, q)
		}
	}
	return values
}

// A machine can be added with any one option at either end, the others as they come: set-ups apply, and no place is empty.
func TestBuiltinsFitAtEveryEnd(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		for i := range s.Options {
			for _, v := range ends(&s.Options[i]) {
				given := option(s.Options[i].Name, v)
				f, err := s.Fit([]record.Option{given}, nil, nil)
				if err != nil {
					t.Errorf("%s=%s: %v", given.Name, given.Value, err)
					continue
				}
				for i := range f.Setups {
					if _, err := f.Changes(&f.Setups[i]); err != nil {
						t.Errorf("%s=%s: set-up %s: %v", given.Name, given.Value, f.Setups[i].Name, err)
					}
				}
				for _, p := range f.Places {
					if f.All(p.Noun).Len() == 0 {
						t.Errorf("%s=%s: there is no %s", given.Name, given.Value, p.Noun)
					}
				}
			}
		}
	})
}

// A machine can be added with all options at ends drawn at random, together.
func TestBuiltinsFitTogether(t *testing.T) {
	fewerChecks(t)
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		rapid.Check(t, func(rt *rapid.T) {
			var given []record.Option
			for i := range s.Options {
				o := &s.Options[i]
				given = append(given, option(o.Name, rapid.SampledFrom(ends(o)).Draw(rt, o.Name)))
			}
			if _, err := s.Fit(given, nil, nil); err != nil {
				rt.Fatalf("%v: %v", given, err)
			}
		})
	})
}

// Every job says how, how long and what is dangerous; a caution that belongs to all jobs is not enough.
func TestBuiltinJobsSayHow(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		for _, j := range s.Jobs {
			if j.How == "" {
				t.Errorf("job %s does not say how", j.Name)
			}
			if j.Minutes == nil {
				t.Errorf("job %s says no minutes", j.Name)
			}
			harmless := j.Name == "cab-filter-change" || j.Name == "stand-count" // nothing that moves is touched
			if j.Cautions[0] != AnyJob || len(j.Cautions) < 2 && !harmless {
				t.Errorf("job %s has the cautions %v", j.Name, j.Cautions)
			}
		}
	})
}

// The dangers of the trade go with the words of a job: whoever works on a thing is warned of it. Common practice, no source.
func TestBuiltinCautionsGoWithTheWork(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		for _, j := range s.Jobs {
			about := j.Name + " " + j.Title
			for _, danger := range []struct {
				words   []string
				caution string
			}{
				{[]string{"power shaft"}, "pto"},
				{[]string{"hydraulic hose", "hydraulic oil", "hydraulic filter"}, "hydraulics"},
				{[]string{"grease the power shaft", "grease the rows"}, "hand-pump"},
				{[]string{"new tyre", "wheel nuts", "wheel taken off"}, "wheels"},
				{[]string{"new battery", "batteries"}, "battery"},
				{[]string{"ammonia"}, "ammonia"},
				{[]string{"folding"}, "power-lines"},
			} {
				for _, w := range danger.words {
					if strings.Contains(about, w) && !slices.Contains(j.Cautions, danger.caution) {
						t.Errorf("job %s is about %q, but has not the caution %s", j.Name, w, danger.caution)
					}
				}
			}
			if (len(j.Torques) > 0 || len(j.Loosens) > 0) && !slices.Contains(j.Cautions, "torque") {
				t.Errorf("job %s tightens or loosens, but has not the caution torque", j.Name)
			}
			if slices.ContainsFunc(j.Uses, func(u Use) bool { return strings.HasPrefix(u.What, "grease") }) && !slices.Contains(j.Cautions, "hand-pump") {
				t.Errorf("job %s greases, but has not the caution hand-pump", j.Name)
			}
			if slices.Contains(j.Tools, "rated stand") && !slices.Contains(j.Cautions, "raised") {
				t.Errorf("job %s puts it on stands, but has not the caution raised", j.Name)
			}
			if j.Hands > 1 && !slices.Contains(j.Cautions, "two-people") {
				t.Errorf("job %s takes %d people and does not say so in its cautions", j.Name, j.Hands)
			}
		}
	})
}

// Whatever wears has a job that replaces it.
func TestBuiltinPartsAreReplaced(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		for _, p := range s.Parts {
			if !slices.ContainsFunc(s.Jobs, func(j Job) bool { return j.Swaps == p.Name }) {
				t.Errorf("no job replaces the part %s", p.Name)
			}
			if p.Make && !slices.ContainsFunc(s.Jobs, func(j Job) bool { return slices.ContainsFunc(j.When, func(g Trigger) bool { return g.Made == p.Name }) }) {
				t.Errorf("the part %s has a date of make that makes no job due", p.Name)
			}
		}
	})
}

// A reading that can be past its limit makes a job due; one that is neither worked out nor an outcome is measured in a job.
func TestBuiltinReadingsAreAnswered(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		for _, r := range s.Readings {
			past := func(j Job) bool { return slices.ContainsFunc(j.When, func(g Trigger) bool { return g.Past == r.Name }) }
			limited := len(r.Limits) > 0 || r.BadFrom != ""
			if limited && !slices.ContainsFunc(s.Jobs, past) {
				t.Errorf("reading %s can be past its limit, and no job comes due", r.Name)
			}
			if r.Computed == nil && !r.Outcome && !slices.ContainsFunc(s.Jobs, func(j Job) bool { return slices.Contains(j.Measures, r.Name) }) {
				t.Errorf("no job measures %s", r.Name)
			}
			if len(r.Grades) > 0 && r.BadFrom == "" {
				t.Errorf("reading %s does not say from which grade on it is bad", r.Name)
			}
		}
	})
}

// Every setting belongs to a job, so that a card names it.
func TestBuiltinSettingsHaveAJob(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		for _, x := range s.Settings {
			if !slices.ContainsFunc(s.Jobs, func(j Job) bool { return slices.Contains(j.Sets, x.Name) }) {
				t.Errorf("no job sets %s", x.Name)
			}
		}
	})
}

// What a job loosens is torqued again: at once or after the first hours, until none moved. A torque job that waits for a loosening has one.
func TestBuiltinLooseningIsTorqued(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		loosened := map[string]bool{}
		for _, j := range s.Jobs {
			for _, name := range j.Loosens {
				loosened[name] = true
				target, _ := find(s.Jobs, name, func(j *Job) string { return j.Name })
				if len(target.Torques) == 0 {
					t.Errorf("job %s loosens %s, which has no torques", j.Name, name)
				}
				if target.Of != "" && j.Of != "" && target.Of != j.Of {
					t.Errorf("job %s of %s loosens %s of %s", j.Name, j.Of, name, target.Of)
				}
			}
			if j.Swaps != "" && slices.Contains(j.Cautions, "torque") && len(j.Loosens) == 0 && len(j.Torques) == 0 {
				t.Errorf("job %s is bolted work, but names no torque job to follow it", j.Name)
			}
		}
		for _, j := range s.Jobs {
			if len(j.Torques) == 0 {
				continue
			}
			if !loosened[j.Name] {
				t.Errorf("nothing loosens what %s tightens", j.Name)
			}
			i := slices.IndexFunc(j.When, func(g Trigger) bool { return g.After == "loosened:"+j.Name })
			if i < 0 {
				t.Errorf("torque job %s is not asked for after a loosening", j.Name)
				continue
			}
			if g := j.When[i]; len(g.Series) < 2 || g.Then == nil || g.UntilResult != "none-moved" {
				t.Errorf("torque job %s is not repeated until none moved: %+v", j.Name, g)
			}
			if !slices.Contains(j.Results, "moved") || !slices.Contains(j.Results, "none-moved") {
				t.Errorf("torque job %s has the results %v", j.Name, j.Results)
			}
		}
	})
}

// No job is out of reach: it is made due by something, named by another, or is an act that makes a torque job due whenever it happens.
func TestBuiltinJobsAreReached(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		named := map[string]bool{}
		for _, j := range s.Jobs {
			for _, list := range [][]string{j.Next, j.Try, j.Includes, j.Loosens} {
				for _, n := range list {
					named[n] = true
				}
			}
		}
		for _, j := range s.Jobs {
			if len(j.When) == 0 && !named[j.Name] && len(j.Loosens) == 0 {
				t.Errorf("job %s is never asked for", j.Name)
			}
		}
	})
}

// What is stop is stop for a reason: some jobs are, at most a third; some work waits for the winter.
func TestBuiltinSeveritiesAreWeighed(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		count := map[string]int{}
		for _, j := range s.Jobs {
			count[j.Severity]++
		}
		if count["stop"] == 0 || 3*count["stop"] > len(s.Jobs) || count["winter"] == 0 {
			t.Errorf("of %d jobs: %v", len(s.Jobs), count)
		}
	})
}

// Every kind has work for each day and by intervals, a card for the shed wall, and kinds of work whose seasons it takes part in.
func TestBuiltinsAreWhole(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		var worked, every bool
		for _, j := range s.Jobs {
			for _, g := range j.When {
				worked = worked || g.Worked > 0
				every = every || len(g.Every) > 0
			}
		}
		if !worked || !every {
			t.Errorf("asked for by worked days: %v, by intervals: %v", worked, every)
		}
		if len(s.Specs) == 0 || len(s.Work) == 0 {
			t.Errorf("%d lines of the card, kinds of work %v", len(s.Specs), s.Work)
		}
	})
}

// No two names of a kind differ in a dash or in an s only: what a person types means one thing.
func TestBuiltinNamesAreToldApart(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		seen := map[string]string{}
		add := func(word string) {
			key := strings.TrimSuffix(strings.ReplaceAll(word, "-", ""), "s")
			if was, ok := seen[key]; ok && was != word {
				t.Errorf("%s and %s are hard to tell apart", was, word)
			}
			seen[key] = word
		}
		for _, x := range s.Counters {
			add(x.Name)
		}
		for _, x := range s.Places {
			add(x.Noun)
		}
		for _, x := range s.Groups {
			add(x.Name)
		}
		for _, x := range s.Parts {
			add(x.Name)
		}
		for _, x := range s.Assemblies {
			add(x.Name)
		}
		for _, x := range s.Settings {
			add(x.Name)
		}
		for _, x := range s.Readings {
			add(x.Name)
		}
		for _, x := range s.Jobs {
			add(x.Name)
		}
		for _, x := range s.Setups {
			add(x.Name)
		}
	})
}

// Every option makes a difference: something takes its value or is there only with it.
func TestBuiltinOptionsMatter(t *testing.T) {
	eachBuiltin(t, func(t *testing.T, s *Schedule) {
		for _, o := range s.Options {
			uses := func(form string) bool { return strings.Contains(s.Text, strings.Replace(form, "NAME", o.Name, 1)) }
			if !uses(`"=NAME"`) && !uses(`option = "NAME"`) && !uses(`one_in = "NAME"`) {
				t.Errorf("nothing goes by the option %s", o.Name)
			}
		}
	})
}

// A torque job brings a wrench whose range takes in all its torques; the tools say which: "torque wrench 40 to 300 N.m".
func TestBuiltinWrenchesFit(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		for _, j := range s.Jobs {
			for _, tool := range j.Tools {
				span, ok := strings.CutPrefix(tool, "torque wrench ")
				if !ok {
					continue // without a range where an option says the torque
				}
				from, to, ok := strings.Cut(span, " to ")
				high, err := quantity.Parse(to)
				if !ok || err != nil {
					t.Errorf("job %s: %q has no range", j.Name, tool)
					continue
				}
				low := quantity.MustParse(from + " " + high.Unit().String())
				for _, x := range j.Torques {
					least, most := x.Range()
					if a, err := least.Cmp(low); err != nil || a < 0 {
						t.Errorf("job %s: %s of %s is under the range of the %s", j.Name, least, x.What, tool)
					}
					if b, err := most.Cmp(high); err != nil || b > 0 {
						t.Errorf("job %s: %s of %s is over the range of the %s", j.Name, most, x.What, tool)
					}
				}
			}
		}
	})
}

// A consumable says how much of it is used: prepare adds it up.
func TestBuiltinUsesSayHowMuch(t *testing.T) {
	eachMachine(t, func(t *testing.T, s *Schedule) {
		for _, j := range s.Jobs {
			for _, u := range j.Uses {
				if u.Amount.Sign() <= 0 {
					t.Errorf("job %s uses %s, but does not say how much", j.Name, u.What)
				}
			}
		}
	})
}
