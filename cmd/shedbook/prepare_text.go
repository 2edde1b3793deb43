package main

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

func (c *call) printPreparation(p prepared, why bool) {
	st, words, line := p.st, p.words, c.lines()
	var items []dueItem
	opens := map[string]string{}
	minutes := new(big.Rat)
	machines := map[record.ID]bool{}
	for _, t := range p.Work {
		items = append(items, dueItem{t.Item, farmName(st, t.Farm), yardName(st, t.Yard), personName(st, t.By), describer(st, t.Machine), under(c, st, t.Item)})
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
	c.printNeeds(p, why)
	c.printBring(p)
	c.printHours(p)
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
	c.printField(p, why)
	c.printCautions(items)
	c.printf("\n%s\n", table.Wrap(manualRules, c.columns(), ""))
}

func (c *call) printNeeds(p prepared, why bool) {
	if len(p.Parts) == 0 {
		return
	}
	t := table.New("part", "needed", "on shelf", "to buy", "order by")
	t.Right(1, 2)
	for _, n := range p.Parts {
		buy, shelf, order := buyText(n), fmt.Sprint(n.Shelf), ""
		if n.Used > 0 {
			shelf += fmt.Sprintf(" (%d used)", n.Used)
		}
		if n.Named != "" {
			buy, shelf = "see the fault", ""
		}
		if n.Buy > 0 {
			order = n.OrderBy
		}
		if order != "" && order < p.st.On {
			order = "late: " + order
		}
		t.Row(partNeedName(n), fmt.Sprint(n.Count), shelf, buy, order)
		if why {
			t.Under(strings.Join(p.arithmetic(n), "; "))
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "parts"), t.Text(c.columns()))
}

// buyText is how many to buy, in packs where it is sold so.
func buyText(n rules.PartNeed) string {
	switch {
	case n.Buy == 0:
		return "none"
	case n.Packs > 0:
		return fmt.Sprintf("%d (%s of %d)", n.Buy, does(fmt.Sprint(n.Packs), n.Packs, "pack", "packs"), n.Pack)
	}
	return fmt.Sprint(n.Buy)
}

// arithmetic says how the numbers of a part come about: where they are wanted, what is there, what is left to buy, by when.
func (p prepared) arithmetic(n rules.PartNeed) []string {
	var wanted []string
	for _, l := range n.Lines {
		at := p.st.MachineByID(l.Machine).Name
		if !l.Places.IsZero() {
			at += " " + describer(p.st, l.Machine)(l.Places)
		}
		what := cmp.Or(l.Job, "fault")
		if l.Empty {
			what = "left empty"
		}
		wanted = append(wanted, fmt.Sprintf("%d for %s (%s)", l.Count, at, what))
	}
	out := []string{"needed: " + strings.Join(wanted, " and ") + iff(len(n.Lines) > 1, fmt.Sprintf(", together %d", n.Count))}
	if n.Named == "" {
		sum := fmt.Sprintf("%d needed less %d on the shelf: %d to buy", n.Count, n.Shelf, n.Buy)
		if n.Packs > 0 {
			sum += fmt.Sprintf(", %s of %d", does(fmt.Sprint(n.Packs), n.Packs, "pack", "packs"), n.Pack)
		}
		out = append(out, sum)
		if n.Used > 0 {
			out = append(out, fmt.Sprintf("%d of those on the shelf used: look at them first", n.Used))
		}
		if n.Transit > 0 {
			out = append(out, fmt.Sprintf("%d taken out and put nowhere, not counted on", n.Transit))
		}
		if n.OrderBy != "" && n.Buy > 0 {
			out = append(out, fmt.Sprintf("order by %s: %s less %s", n.OrderBy, p.Before, n.Lead))
		}
	}
	return append(out, "rests on entries "+shortIDs(n.Entries, 6))
}

func partNeedName(n rules.PartNeed) string {
	if n.Named != "" {
		return n.Named
	}
	return strings.TrimSpace(n.Part+" "+n.Hand) + " (" + n.Schedule + ")"
}

func (c *call) printBring(p prepared) {
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
func torqueSpan(c *call, p prepared) (low, high string, computed bool) {
	var all []record.Quantity
	add := func(torques []schedule.Torque) {
		for _, q := range torques {
			if !q.Value.IsZero() {
				all = append(all, q.Value)
				computed = computed || q.Bolt != nil
			}
		}
	}
	for _, t := range p.Work {
		add(t.Torques)
	}
	for _, w := range p.Field {
		add(w.Torques)
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

func (c *call) printHours(p prepared) {
	t := table.New("yard", "who may do it", "last done by", "hours", "")
	t.Right(3)
	for _, h := range p.Hours {
		rest := ""
		if h.Untimed > 0 {
			rest = fmt.Sprintf("and %s whose time is not known", does(fmt.Sprint(h.Untimed), h.Untimed, "line", "lines"))
		}
		by := personName(p.st, h.LastBy)
		if h.LastBy == "" {
			by = "nobody yet"
		}
		hours := hoursText(h.Minutes)
		if h.Minutes.Sign() == 0 && h.Untimed > 0 {
			hours, rest = "", strings.TrimPrefix(rest, "and ")
		}
		t.Row(yardName(p.st, h.Yard), h.Who, by, hours, rest)
	}
	c.printf("\n%s\n%s", c.paint(bold, "shop hours, all hands together"), t.Text(c.columns()))
}

// printField lists what follows in the field on the work of the list: it is in no shop hours.
func (c *call) printField(p prepared, why bool) {
	if len(p.Field) == 0 {
		return
	}
	list := table.NewList("job", "where", "when")
	for _, w := range p.Field {
		list.Line(w.Name, fieldText(w), w.Job, w.Where)
		if why {
			under := w.Title + ", after " + strings.Join(w.Follows, ", ")
			if w.Minutes != nil {
				under += ", about " + hoursText(w.Minutes) + " each time"
			}
			list.Under(under + iff(w.Severity == "stop", "; not to be run past it"))
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "then, in the field"), list.Text(c.columns()))
}

// fieldText is "at 5 h and 20 h after disc-swap, then every 20 h until none moved".
func fieldText(w rules.FieldWork) string {
	var at []string
	for _, iv := range w.At {
		at = append(at, iv.String())
	}
	text := "after " + strings.Join(w.Follows, ", ")
	if len(at) > 0 {
		text = "at " + strings.Join(at, ", ") + " " + text
	}
	if w.Then != nil {
		text += ", then every " + w.Then.String()
		if w.Until != "" {
			text += " until " + strings.ReplaceAll(w.Until, "-", " ")
		}
	}
	return text
}

// hoursText is minutes as "12.5 h", or "40 min" below an hour.
func hoursText(minutes *big.Rat) string {
	if minutes.Cmp(big.NewRat(60, 1)) < 0 {
		return minutes.FloatString(0) + " min"
	}
	return strings.TrimSuffix(new(big.Rat).Quo(minutes, big.NewRat(60, 1)).FloatString(1), ".0") + " h"
}
