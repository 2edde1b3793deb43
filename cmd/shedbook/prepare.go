package main

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

func prepareCommand() *command {
	var farm, yard, before string
	var why bool
	return &command{
		name: "prepare", section: "read", brief: "say what the work before a season takes: parts, hours", reads: true,
		usage:    []string{"prepare [MACHINE] --before SEASON|DATE [--farm NAME] [--yard NAME] [--why]"},
		examples: []string{`prepare --before "spring 2027"`, `prepare drill --before 2027-03-20`, `prepare --before "spring 2027" --yard creek`},
		about: `Everything that is overdue, due, open or comes due by then, at the recent rate of use: the parts to order, less what lies on the shelves, and by when; oils, grease and tools to bring; hours by yard and by who may do it; ` +
			`and the work itself, machine by machine, in an order that opens each thing once.

Name the season as it was planned (season plan), or a day. Counts are of whole places: of a part with a left and a right hand, one of each.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&before, "before", "", "the `season or day` by which it is to be done")
			fs.StringVar(&farm, "farm", "", "only machines of this `farm`")
			fs.StringVar(&yard, "yard", "", "only machines at this `yard`, and its shelf")
			fs.BoolVar(&why, "why", false, "the reason and the entries of each line")
		},
		run: func(c *call) error {
			machine := ""
			switch {
			case len(c.args) > 1:
				return usage(`shedbook prepare drill --before "spring 2027"`, "prepare takes one machine or none")
			case len(c.args) == 1:
				machine = c.args[0]
			}
			b, err := c.open()
			if err != nil {
				return err
			}
			st, err := b.now()
			if err != nil {
				return err
			}
			day, words, err := c.beforeDay(st, before)
			if err != nil {
				return err
			}
			var f rules.Filter
			if err := narrow(st, farm, yard, machine, &f); err != nil {
				return err
			}
			p := rules.Prepare(st, f, day)
			if c.json {
				err = c.printJSON(c.prepareJSON(st, p))
			} else {
				err = c.paged(func() error { c.printPreparation(st, p, words, why); return nil })
			}
			if err != nil {
				return err
			}
			return b.soundness()
		},
	}
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
			return "", "", failed("unknown-season", "shedbook season plan says when a season is to be", "%q is no day and no season%s", text, didYouMean(text, ahead))
		}
		words = weekday(record.Done(day))
	}
	if day <= st.On {
		return "", "", failed("past", "shedbook due", "%s is not ahead of %s: what is due now, due says", day, st.On)
	}
	return day, words, nil
}

func (c *call) printPreparation(st *rules.State, p rules.Preparation, words string, why bool) {
	line := c.lines()
	var items []dueItem
	opens := map[string]string{}
	minutes := new(big.Rat)
	machines := map[record.ID]bool{}
	for _, t := range p.Work {
		items = append(items, dueItem{t.Item, farmName(st, t.Farm), yardName(st, t.Yard), describer(st, t.Machine), under(c, st, t.Item)})
		opens[t.ID] = t.Opens
		machines[t.Machine] = true
	}
	for _, h := range p.Hours {
		minutes.Add(minutes, h.Minutes)
	}
	rows := onOneLine(items, why)
	if len(rows) == 0 {
		line("", "nothing is known to come due before %s (%s)", words, does(fmt.Sprint(p.Days), p.Days, "day", "days"))
		return
	}
	line("", "before %s (%s): %s on %s, about %s of work", words, does(fmt.Sprint(p.Days), p.Days, "day", "days"), does(fmt.Sprint(len(rows)), len(rows), "line", "lines"),
		does(fmt.Sprint(len(machines)), len(machines), "machine", "machines"), hoursText(minutes))
	c.printNeeds(st, p, why)
	c.printBring(p)
	c.printHours(st, p)
	list := table.NewList("job", "where", "due")
	for _, r := range rows {
		section := r.Name + before(" at ", r.yard) + before("; open: ", opens[r.ID])
		where := r.Where
		if r.Positions.IsZero() {
			where = ""
		}
		list.Line(section, r.stands(c), r.word(), where)
		if r.Cause == rules.ByFault && !why {
			list.MayCut()
		}
		if why {
			list.Under(r.reason() + bracketed(shortIDs(r.Entries, 3)))
			for _, s := range r.under() {
				list.Under(s)
			}
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "the work, in order"), list.Text(c.columns()))
	c.printCautions(items)
	c.printf("\n%s\n", table.Wrap(manualRules, c.columns(), ""))
}

func (c *call) printNeeds(st *rules.State, p rules.Preparation, why bool) {
	if len(p.Parts) == 0 {
		return
	}
	t := table.New("part", "needed", "on shelf", "to buy", "order by")
	t.Right(1, 2)
	for _, n := range p.Parts {
		buy := fmt.Sprint(n.Buy)
		switch {
		case n.Named != "":
			buy = "see the fault"
		case n.Buy == 0:
			buy = "none"
		case n.Packs > 0:
			buy += fmt.Sprintf(" (%s of %d)", does(fmt.Sprint(n.Packs), n.Packs, "pack", "packs"), n.Pack)
		}
		order := n.OrderBy
		switch {
		case n.Buy == 0:
			order = ""
		case order != "" && order < st.On:
			order = "late: " + order
		}
		shelf := fmt.Sprint(n.Shelf)
		if n.Named != "" {
			shelf = ""
		}
		t.Row(partNeedName(n), fmt.Sprint(n.Count), shelf, buy, order)
		if why {
			t.Under("rests on entries " + shortIDs(n.Entries, 6))
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "parts"), t.Text(c.columns()))
}

func partNeedName(n rules.PartNeed) string {
	if n.Named != "" {
		return n.Named
	}
	return strings.TrimSpace(n.Part+" "+n.Hand) + " (" + n.Schedule + ")"
}

func (c *call) printBring(p rules.Preparation) {
	low, high, computed := torqueSpan(c, p)
	if len(p.Uses)+len(p.Tools) == 0 && low == "" {
		return
	}
	c.printf("\n%s\n", c.paint(bold, "to bring"))
	line := c.lines()
	for _, u := range p.Uses {
		line("  ", "%s: %s (%s)", u.What, c.both(u.Amount), strings.Join(u.Jobs, ", "))
	}
	var tools []string
	for _, t := range p.Tools {
		tools = append(tools, t.Tool)
	}
	if len(tools) > 0 {
		line("  ", "tools: %s", strings.Join(tools, ", "))
	}
	if low != "" {
		line("  ", "torque wrench: %s%s", low+iff(high != low, " to "+high), iff(computed, " (some computed from the bolt: the manual's figure rules)"))
	}
}

// torqueSpan is from the least to the greatest torque that the work asks for.
func torqueSpan(c *call, p rules.Preparation) (low, high string, computed bool) {
	var all []record.Quantity
	for _, t := range p.Work {
		for _, q := range t.Torques {
			if !q.Value.IsZero() {
				all = append(all, q.Value)
				computed = computed || q.Bolt != nil
			}
		}
	}
	if len(all) == 0 {
		return "", "", false
	}
	slices.SortFunc(all, func(a, b record.Quantity) int {
		n, _ := a.Cmp(b) // all are torques: the schedule's check has seen to it
		return n
	})
	return all[0].Show(c.system), all[len(all)-1].Show(c.system), computed
}

func (c *call) printHours(st *rules.State, p rules.Preparation) {
	t := table.New("yard", "who may do it", "hours", "")
	t.Right(2)
	for _, h := range p.Hours {
		rest := ""
		if h.Untimed > 0 {
			rest = fmt.Sprintf("and %s whose time is not known", does(fmt.Sprint(h.Untimed), h.Untimed, "line", "lines"))
		}
		t.Row(yardName(st, h.Yard), h.Who, hoursText(h.Minutes), rest)
	}
	c.printf("\n%s\n%s", c.paint(bold, "shop hours, all hands together"), t.Text(c.columns()))
}

// hoursText is minutes as "12.5 h", or "40 min" below an hour.
func hoursText(minutes *big.Rat) string {
	if minutes.Cmp(big.NewRat(60, 1)) < 0 {
		return minutes.FloatString(0) + " min"
	}
	return strings.TrimSuffix(new(big.Rat).Quo(minutes, big.NewRat(60, 1)).FloatString(1), ".0") + " h"
}

type preparedJSON struct {
	Format int            `json:"format"`
	On     string         `json:"on"`
	Before string         `json:"before"`
	Work   []taskJSON     `json:"work"`
	Parts  []partNeedJSON `json:"parts"`
	Uses   []useNeedJSON  `json:"uses"`
	Tools  []toolNeedJSON `json:"tools"`
	Hours  []hoursJSON    `json:"hours"`
}

type taskJSON struct {
	ID        string      `json:"id"`
	Yard      string      `json:"yard"`
	Machine   string      `json:"machine"`
	Job       string      `json:"job"`
	Title     string      `json:"title"`
	Positions []string    `json:"positions"`
	State     string      `json:"state"`
	Severity  string      `json:"severity"`
	Opens     string      `json:"opens,omitempty"`
	Who       string      `json:"who"`
	Hands     int         `json:"hands"`
	Minutes   string      `json:"minutes,omitempty"` // of one person
	Why       string      `json:"why"`
	Entries   []record.ID `json:"entries"`
}

type partNeedJSON struct {
	Kind    string      `json:"kind,omitempty"`
	Part    string      `json:"part"`
	Hand    string      `json:"hand,omitempty"`
	Count   int         `json:"count"`
	Shelf   int         `json:"shelf"`
	Buy     int         `json:"buy"`
	Pack    int         `json:"pack,omitempty"`
	Packs   int         `json:"packs,omitempty"`
	OrderBy string      `json:"order_by,omitempty"`
	Entries []record.ID `json:"entries"`
}

type useNeedJSON struct {
	What   string     `json:"what"`
	Amount amountJSON `json:"amount"`
	Jobs   []string   `json:"jobs"`
}

type toolNeedJSON struct {
	Tool string   `json:"tool"`
	Jobs []string `json:"jobs"`
}

type hoursJSON struct {
	Yard    string `json:"yard"`
	Who     string `json:"who"`
	Minutes string `json:"minutes"`
	Untimed int    `json:"untimed"` // lines whose time the schedule does not give
}

func (c *call) prepareJSON(st *rules.State, p rules.Preparation) preparedJSON {
	out := preparedJSON{Format: 1, On: st.On, Before: p.Before, Work: []taskJSON{}, Parts: []partNeedJSON{}, Uses: []useNeedJSON{}, Tools: []toolNeedJSON{}, Hours: []hoursJSON{}}
	for _, t := range p.Work {
		j := taskJSON{ID: t.ID, Yard: yardName(st, t.Yard), Machine: t.Name, Job: t.Job, Title: t.Title, Positions: strs(t.Positions.Strings()), State: t.State, Severity: t.Severity, Opens: t.Opens, Who: t.Who,
			Hands: t.Hands, Why: t.Why, Entries: strs(t.Entries)}
		if t.Minutes != nil {
			j.Minutes = trimZeros(t.Minutes.FloatString(2))
		}
		out.Work = append(out.Work, j)
	}
	for _, n := range p.Parts {
		name := n.Part
		if name == "" {
			name = n.Named
		}
		out.Parts = append(out.Parts, partNeedJSON{n.Schedule, name, n.Hand, n.Count, n.Shelf, n.Buy, n.Pack, n.Packs, n.OrderBy, strs(n.Entries)})
	}
	for _, u := range p.Uses {
		out.Uses = append(out.Uses, useNeedJSON{u.What, c.amount(u.Amount), strs(u.Jobs)})
	}
	for _, t := range p.Tools {
		out.Tools = append(out.Tools, toolNeedJSON{t.Tool, strs(t.Jobs)})
	}
	for _, h := range p.Hours {
		out.Hours = append(out.Hours, hoursJSON{yardName(st, h.Yard), h.Who, trimZeros(h.Minutes.FloatString(2)), h.Untimed})
	}
	return out
}

// trimZeros takes zeros off the end of a decimal fraction.
func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
