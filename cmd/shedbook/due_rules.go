package main

import (
	"slices"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
)

// kindLines say which schedule each kind of the machines listed goes by: whose it is, since when the book goes by it, the entry that holds its text, and
// where its values come from.
func kindLines(st *rules.State, items []dueItem) []string {
	var out []string
	for _, k := range scheduleRows(st) {
		if !k.InUse || !slices.ContainsFunc(items, func(i dueItem) bool { m := st.MachineByID(i.Machine); return m != nil && m.Kind == k.Name }) {
			continue
		}
		s := k.Name + ": "
		switch {
		case k.Newer:
			s += "an earlier text of the built-in schedule"
		case k.BuiltIn:
			s += "the built-in schedule"
		default:
			s += "a farm's own schedule"
		}
		out = append(out, s+before(", from ", k.From)+before("; ", k.Source)+bracketed(k.Entry.Short()))
	}
	return out
}

// printKinds writes what the lines above go by.
func (c *call) printKinds(lines []string) {
	for n, s := range lines {
		if n == 0 {
			c.printf("\n%s\n", c.paint(bold, "by these schedules"))
		}
		c.printf("%s\n", table.Wrap("  "+table.Clean(s), c.columns(), "    "))
	}
}

// nobody is what --person takes for work that is nobody's yet.
const nobody = "nobody"

// whose is the person meant by --person, "" for nobody.
func whose(st *rules.State, name string) (rules.ID, error) {
	if name == nobody && st.Person(nobody) == nil {
		return "", nil
	}
	p, err := findPerson(st, name)
	if err != nil {
		return "", err
	}
	return p.ID, nil
}
