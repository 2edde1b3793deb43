package main

import (
	"cmp"
	"math/big"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
)

type preparedJSON struct {
	Format int            `json:"format"`
	On     string         `json:"on"`
	Before string         `json:"before"`
	Work   []taskJSON     `json:"work"`
	Field  []fieldJSON    `json:"field"` // what follows once the machine has worked; not in the hours
	Parts  []partNeedJSON `json:"parts"`
	Uses   []useNeedJSON  `json:"uses"`
	Tools  []toolNeedJSON `json:"tools"`
	Hours  []hoursJSON    `json:"hours"`
}

type taskJSON struct {
	Book      string      `json:"book,omitempty"` // its title, where there are several
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
	LastBy    string      `json:"last_by,omitempty"`
	Follows   []string    `json:"follows,omitempty"` // the jobs that bring it, where it is not due by itself
	Why       string      `json:"why"`
	Entries   []record.ID `json:"entries"`
}

type fieldJSON struct {
	Book      string   `json:"book,omitempty"`
	Yard      string   `json:"yard"`
	Machine   string   `json:"machine"`
	Job       string   `json:"job"`
	Title     string   `json:"title"`
	Positions []string `json:"positions"`
	Follows   []string `json:"follows"`
	At        []string `json:"at"`
	Then      string   `json:"then,omitempty"`
	Until     string   `json:"until,omitempty"`
	Severity  string   `json:"severity"`
	Minutes   string   `json:"minutes,omitempty"` // each time
}

type partNeedJSON struct {
	Book    string         `json:"book,omitempty"` // its title, where there are several
	Kind    string         `json:"kind,omitempty"`
	Part    string         `json:"part"`
	Hand    string         `json:"hand,omitempty"`
	Count   int            `json:"count"`
	Shelf   int            `json:"shelf"`
	Used    int            `json:"used"`    // of those on the shelf
	Transit int            `json:"transit"` // not counted on
	Buy     int            `json:"buy"`
	Pack    int            `json:"pack,omitempty"`
	Packs   int            `json:"packs,omitempty"`
	Lead    string         `json:"lead,omitempty"`
	OrderBy string         `json:"order_by,omitempty"`
	Lines   []needLineJSON `json:"lines"` // where they are wanted
	Entries []record.ID    `json:"entries"`
}

type needLineJSON struct {
	Machine   string   `json:"machine"`
	Job       string   `json:"job"`             // "" of a fault, and of a place left empty
	Empty     bool     `json:"empty,omitempty"` // a part was taken out there and none put in
	Positions []string `json:"positions"`
	Count     int      `json:"count"`
}

type useNeedJSON struct {
	Book   string     `json:"book,omitempty"` // its title, where there are several
	What   string     `json:"what"`
	Amount amountJSON `json:"amount"`
	Jobs   []string   `json:"jobs"`
}

type toolNeedJSON struct {
	Book string   `json:"book,omitempty"` // its title, where there are several
	Tool string   `json:"tool"`
	Jobs []string `json:"jobs"`
}

type hoursJSON struct {
	Book    string `json:"book,omitempty"` // its title, where there are several
	Yard    string `json:"yard"`
	Who     string `json:"who"`
	LastBy  string `json:"last_by,omitempty"`
	Minutes string `json:"minutes"`
	Untimed int    `json:"untimed"` // lines whose time the schedule does not give
}

func (c *call) prepareJSON(all []prepared) preparedJSON {
	out := preparedJSON{Format: 1, On: all[0].st.On, Before: all[0].Before, Work: []taskJSON{}, Field: []fieldJSON{}, Parts: []partNeedJSON{}, Uses: []useNeedJSON{}, Tools: []toolNeedJSON{}, Hours: []hoursJSON{}}
	for _, p := range all {
		for _, t := range p.Work {
			out.Work = append(out.Work, taskJSON{p.title, t.ID, yardName(p.st, t.Yard), t.Name, t.Job, t.Title, strs(t.Positions.Strings()), t.State, t.Severity, t.Opens, t.Who, t.Hands, minutesJSON(t.Minutes),
				personName(p.st, t.LastBy), t.Follows, t.Why, strs(t.Entries)})
		}
		for _, w := range p.Field {
			j := fieldJSON{p.title, yardName(p.st, w.Yard), w.Name, w.Job, w.Title, strs(w.Positions.Strings()), strs(w.Follows), []string{}, "", w.Until, w.Severity, minutesJSON(w.Minutes)}
			for _, iv := range w.At {
				j.At = append(j.At, iv.String())
			}
			if w.Then != nil {
				j.Then = w.Then.String()
			}
			out.Field = append(out.Field, j)
		}
		for _, n := range p.Parts {
			out.Parts = append(out.Parts, p.partJSON(n))
		}
		for _, u := range p.Uses {
			out.Uses = append(out.Uses, useNeedJSON{p.title, u.What, c.amount(u.Amount), strs(u.Jobs)})
		}
		for _, t := range p.Tools {
			out.Tools = append(out.Tools, toolNeedJSON{p.title, t.Tool, strs(t.Jobs)})
		}
		for _, h := range p.Hours {
			out.Hours = append(out.Hours, hoursJSON{p.title, yardName(p.st, h.Yard), h.Who, personName(p.st, h.LastBy), minutesJSON(h.Minutes), h.Untimed})
		}
	}
	return out
}

func (p prepared) partJSON(n rules.PartNeed) partNeedJSON {
	j := partNeedJSON{p.title, n.Schedule, cmp.Or(n.Part, n.Named), n.Hand, n.Count, n.Shelf, n.Used, n.Transit, n.Buy, n.Pack, n.Packs, n.Lead, n.OrderBy, []needLineJSON{}, strs(n.Entries)}
	for _, l := range n.Lines {
		j.Lines = append(j.Lines, needLineJSON{p.st.MachineByID(l.Machine).Name, l.Job, l.Empty, strs(l.Places.Strings()), l.Count})
	}
	return j
}

// minutesJSON is a number of minutes, "" where it is not known.
func minutesJSON(m *big.Rat) string {
	if m == nil {
		return ""
	}
	return trimZeros(m.FloatString(2))
}

// trimZeros takes zeros off the end of a decimal fraction.
func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
