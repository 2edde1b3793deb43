package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// manualRules is the line every list of work carries.
const manualRules = "The operator's manual rules: built-in intervals and limits are common practice, not the maker's."

func dueCommand() *command {
	var farm, yard, machine, within, cause, person string
	var all, exit, why bool
	return &command{
		name: "due", section: "read", brief: "list the work there is, overdue first", reads: true,
		usage:    []string{"due [MACHINE] [--farm NAME] [--yard NAME] [--person NAME] [--within 14d] [--cause CAUSE] [--why] [--all] [--exit-code]"},
		examples: []string{"due", "due drill --why", "due --yard creek --within 14d", "due --person Juno", "due --on 2026-05-01 --json"},
		about: `One line for each job, in sections by how pressing it is: first what a machine must not run without. The job is the word that shedbook did takes; ` +
			`places that differ only in how far they are share a line. Open faults are in the list too; "..." cuts their words short where a line has no room, --why has them whole. ` +
			`"coming" is what comes due soon: each job has its own notice, --within sets one for all. "about" says that a counter was carried on from its last reading at the ` +
			`recent rate of use, "assumed" that it is counted from a starting line. No entry gives work to anybody: --person takes what somebody did the last time, or found, for theirs.

` + manualRules,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&farm, "farm", "", "only machines of this `farm`")
			fs.StringVar(&yard, "yard", "", "only machines at this `yard`")
			fs.StringVar(&machine, "machine", "", "only this `machine`")
			fs.StringVar(&person, "person", "", "only work that this `person` did the last time, and faults they found; nobody: what nobody did yet")
			fs.StringVar(&within, "within", "", "what comes due within this `time` is coming: 14d, 3wk, 2mo")
			fs.StringVar(&cause, "cause", "", "only of this `cause`: "+strings.Join(dueCauses, ", "))
			fs.BoolVar(&why, "why", false, "under each line what the job is, why it is due, and the entries that say so")
			fs.BoolVar(&all, "all", false, "also what is not due yet, and each unknown by itself")
			fs.BoolVar(&exit, "exit-code", false, "exit with 4 when something is overdue")
		},
		run: func(c *call) error {
			if len(c.args) == 1 && machine == "" {
				machine = c.args[0]
			} else if len(c.args) > 0 {
				return usage("shedbook due drill", "due takes one machine or none")
			}
			days, err := parseWithin(within)
			if err != nil {
				return err
			}
			if cause != "" && !slices.Contains(dueCauses, cause) {
				return usage("write one of "+strings.Join(dueCauses, ", "), "there is no cause %q%s", cause, didYouMean(cause, dueCauses))
			}
			books, err := c.openAll()
			if err != nil {
				return err
			}
			list, err := gatherDue(books, farm, yard, machine, rules.Filter{Within: days, All: all}, cause, person)
			if err != nil {
				return err
			}
			if c.json {
				err = c.printJSON(list.json(c))
			} else {
				err = c.paged(func() error { list.print(c, all, why); return nil })
			}
			if err != nil {
				return err
			}
			if err := soundAll(books); err != nil {
				return err
			}
			if exit && slices.ContainsFunc(list.items, func(i dueItem) bool { return i.State == rules.Overdue }) {
				return exitCode(exitOverdue)
			}
			return nil
		},
	}
}

var dueCauses = []string{rules.ByInterval, rules.BySeason, rules.ByLimit, rules.ByFollowOn, "forecast", rules.ByDate, rules.ByFault}

var dueStates = []string{rules.Overdue, rules.DueNow, rules.Open, rules.Coming, rules.Unknown, rules.Later}

// dueItem is an item with the names its book gives to ids.
type dueItem struct {
	rules.Item
	farm, yard string
	by         string                        // the name of whose it is
	describe   func(record.Positions) string // places in its machine's words
	under      func() []string               // what the job goes by, for --why
}

// rank puts the lists of several books into one: what must stop a machine, then by state and severity. Each list is in this order already.
func (i *dueItem) rank() []int {
	state := slices.Index(dueStates, i.State)
	if i.Severity == record.Severities[0] && state <= slices.Index(dueStates, rules.Open) {
		state = -1
	}
	return []int{state, slices.Index(record.Severities, i.Severity)}
}

// dueList is the due list of one or more books.
type dueList struct {
	on       string
	items    []dueItem
	problems []problemJSON
	machines int // asked about
	kinds    []string
	others   int // items left out: somebody else's or nobody's
	person   string
}

// gatherDue asks every book; a name that none of them has is an error.
func gatherDue(books []*book, farm, yard, machine string, f rules.Filter, cause, person string) (*dueList, error) {
	list := &dueList{person: person}
	var missing error
	found := false
	for _, b := range books {
		st, ok, err := b.outline(rules.Options{On: b.on(), Known: b.c.known})
		if err == nil && !ok {
			st, err = b.now()
		}
		if err != nil {
			return nil, err
		}
		list.on = st.On
		f.Farm, f.Yard, f.Machine = "", "", ""
		if err := narrow(st, farm, yard, machine, &f); err != nil {
			missing = err
			continue
		}
		var theirs rules.ID
		if person != "" {
			if theirs, err = whose(st, person); err != nil {
				missing = err
				continue
			}
		}
		found = true
		items, problems, err := b.work(st, f)
		if err != nil {
			return nil, err
		}
		for _, i := range items {
			if cause == "" || i.Cause == cause {
				if person != "" && i.By != theirs {
					list.others++
					continue
				}
				list.items = append(list.items, dueItem{i, farmName(st, i.Farm), yardName(st, i.Yard), personName(st, i.By), describer(st, i.Machine), under(b.c, st, i)})
			}
		}
		list.kinds = append(list.kinds, kindLines(st, list.items)...)
		about := func(m *rules.Machine) bool {
			return m.Sold == "" && (f.Farm == "" || f.Farm == m.Farm) && (f.Yard == "" || f.Yard == m.Yard) && (f.Machine == "" || f.Machine == m.ID)
		}
		for _, m := range st.Machines {
			if about(m) {
				list.machines++
			}
		}
		list.problems = append(list.problems, problemsOf(st, problems, about)...)
	}
	if !found {
		return nil, missing
	}
	if len(books) > 1 {
		slices.SortStableFunc(list.items, func(a, b dueItem) int { return slices.Compare(a.rank(), b.rank()) })
	}
	return list, nil
}

// describer tells places of one machine.
func describer(st *rules.State, machine record.ID) func(record.Positions) string {
	return func(at record.Positions) string {
		if m := st.MachineByID(machine); m != nil && m.Fitted != nil {
			return m.Fitted.Describe(at, "")
		}
		return at.String()
	}
}

// under tells what an item's job goes by.
func under(c *call, st *rules.State, i rules.Item) func() []string {
	return func() []string { return c.ruleLines(st.MachineByID(i.Machine), i.Job) }
}

// narrow finds the ids of names.
func narrow(st *rules.State, farm, yard, machine string, f *rules.Filter) error {
	if farm != "" {
		x, err := oneFarm(st, farm)
		if err != nil {
			return err
		}
		f.Farm = x.ID
	}
	if yard != "" {
		x, err := oneYard(st, yard)
		if err != nil {
			return err
		}
		f.Yard = x.ID
	}
	if machine != "" {
		x, err := findMachine(st, strings.ToLower(machine))
		if err != nil {
			return err
		}
		f.Machine = x.ID
	}
	return nil
}

func farmName(st *rules.State, id record.ID) string {
	if f := st.Farm(string(id)); f != nil {
		return f.Name
	}
	return ""
}

func yardName(st *rules.State, id record.ID) string {
	if y := st.Yard(string(id)); y != nil {
		return y.Name
	}
	return ""
}

// parseWithin reads a time ahead, in days; "" is 0. A month counts as 30 days, a year as 365: it is a notice, no due date.
func parseWithin(s string) (int, error) {
	if s == "" {
		return 0, nil
	}
	q, err := quantity.Parse(s)
	if err != nil {
		return 0, usage("write --within 14d", "--within: %v", err)
	}
	each := map[string]int{"": 1, "d": 1, "wk": 7, "mo": 30, "yr": 365}[q.Unit().String()]
	n := q.Rat()
	if each == 0 || !n.IsInt() || n.Sign() <= 0 || n.Num().BitLen() > 16 {
		return 0, usage("write --within 14d", "--within %q is no time ahead: a number of days, weeks or months", s)
	}
	return int(n.Num().Int64()) * each, nil
}

type dueItemJSON struct {
	ID        string      `json:"id"`
	Farm      string      `json:"farm"`
	Yard      string      `json:"yard"`
	Machine   string      `json:"machine"`
	Positions []string    `json:"positions"`
	Job       string      `json:"job"`
	State     string      `json:"state"`
	Severity  string      `json:"severity"`
	Cause     string      `json:"cause"`
	Due       pointJSON   `json:"due"`
	Over      pointJSON   `json:"over"`
	Last      doneJSON    `json:"last"`
	Person    string      `json:"person,omitempty"` // whose it is, as far as the book knows
	Why       string      `json:"why"`
	Entries   []record.ID `json:"entries"`
}

type dueJSON struct {
	Format   int           `json:"format"`
	On       string        `json:"on"`
	Items    []dueItemJSON `json:"items"`
	Problems []problemJSON `json:"problems"`
}

func (l *dueList) json(c *call) dueJSON {
	out := dueJSON{Format: 1, On: l.on, Items: []dueItemJSON{}, Problems: strs(l.problems)}
	for _, i := range l.items {
		out.Items = append(out.Items, dueItemJSON{i.ID, i.farm, i.yard, i.Name, strs(i.Positions.Strings()), i.Job, i.State, i.Severity, i.Cause, c.point(i.Due), c.point(i.Over),
			doneJSON{i.Last.Entry, i.Last.Done, i.Assumed}, i.by, i.Why, strs(i.Entries)})
	}
	return out
}

// printProblems writes what cannot be judged or does not fit.
func (c *call) printProblems(all []problemJSON) {
	if len(all) == 0 {
		return
	}
	c.printf("\n%s\n", c.paint(bold, "does not fit"))
	for _, p := range all {
		s := p.Message
		if ids := shortIDs(p.Entries, 4); ids != "" {
			s += " [" + ids + "]"
		}
		c.printf("%s\n", table.Wrap("  "+table.Clean(s), c.columns(), "    "))
	}
}

// shortIDs lists entries by their short ids, at most so many.
func shortIDs(ids []record.ID, most int) string {
	var out []string
	for i, id := range ids {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(ids)-most))
			break
		}
		out = append(out, id.Short())
	}
	return strings.Join(out, " ")
}
