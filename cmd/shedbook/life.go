package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/quantity"
)

type lifeFlags struct {
	counter, by, season, use string
	curve, why               bool
}

func lifeCommand() *command {
	var a lifeFlags
	return &command{
		name: "life", section: "read", brief: "say how long a part lasts, and how many go next", reads: true,
		usage:    []string{"life MACHINE PART [--by hand|group|year] [--season NAME] [--use AMOUNT]", "life KIND PART [--by hand|group|machine|year]"},
		examples: []string{"life drill hub-bearing", "life disc-drill disc --by group", `life drill disc --season "spring 2027" --use 400ac`},
		about: `From the swaps and their reasons: worn out is a life that ended; changed in good time, changed with the set and still in use are lives that lasted at least so long; broken (by a stone) is a cause of its own, with a rate of ` +
			`its own. Swapped without a reason counts as worn out, but for a fluid or what the schedule changes at an interval. What would come out if that is taken otherwise stands below the answer. What was repaired without a swap is not in it.

Name a kind to take all machines of that kind together. Lives are counted on the counter that the part's readings go with, else on the main one. A part that was in when the book began is left out unless a ` +
			`starting line says what it had done (assume MACHINE PART used=600ac).

Looks ahead to the season under way, else the next one planned, by each part's age and what the season is planned to take (season plan --use), else by what past seasons took.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.counter, "counter", "", "count lives on this `counter`")
			fs.StringVar(&a.by, "by", "", "apart: by `hand`, group, machine, or year put in")
			fs.StringVar(&a.season, "season", "", "look ahead to this `season`")
			fs.StringVar(&a.use, "use", "", "what each machine will do in it, an `amount`: 400ac")
			fs.BoolVar(&a.curve, "curve", false, "every step of what was counted")
			fs.BoolVar(&a.why, "why", false, "the arithmetic, and the entries it rests on")
		},
		run: func(c *call) error { return c.life(a) },
	}
}

func (c *call) life(a lifeFlags) error {
	if len(c.args) < 1 {
		return usage("shedbook life drill hub-bearing", "life takes a machine or a kind, and a part")
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	st, err := b.now()
	if err != nil {
		return err
	}
	ask, err := c.lifeAsk(st, a)
	if err != nil {
		return err
	}
	l := st.Life(ask)
	if c.json {
		err = c.printJSON(c.lifeJSON(st, l))
	} else {
		err = c.paged(func() error { (&lifeText{call: c, st: st, l: l, flags: a, name: c.args[0]}).print(); return nil })
	}
	if err != nil {
		return err
	}
	return b.soundness()
}

// lifeAsk reads whose lives are asked about.
func (c *call) lifeAsk(st *rules.State, a lifeFlags) (rules.LifeAsk, error) {
	name := strings.ToLower(c.args[0])
	ask := rules.LifeAsk{By: a.by}
	like := st.Machine(name) // a machine whose schedule tells the words
	if like != nil {
		ask.Machine = like
	} else if like = ofKind(st, name, c.args[1:]); like == nil {
		known := machineNames(st)
		for _, m := range st.Machines {
			if !slices.Contains(known, m.Kind) {
				known = append(known, m.Kind)
			}
		}
		return ask, failed("unknown-machine", "shedbook machine list", "there is no machine and no kind %q%s", name, didYouMean(name, known))
	}
	ask.Kind = like.Kind
	if like.Fitted == nil {
		return ask, failed("no-schedule", "shedbook schedule use FILE", "the schedule %q of %s is not known", like.Kind, like.Name)
	}
	if err := lifePart(like, c.args, &ask); err != nil {
		return ask, err
	}
	if err := lifeCounter(like, a.counter, &ask); err != nil {
		return ask, err
	}
	switch a.by {
	case "", "hand", "group", "year":
	case "machine":
		if ask.Machine != nil {
			return ask, usage("shedbook life "+ask.Kind+" "+ask.Part+" --by machine", "%s is one machine: name its kind to set machines apart", ask.Machine.Name)
		}
	default:
		return ask, usage("write --by hand, group, machine or year", "--by %q is none of hand, group, machine, year", a.by)
	}
	return ask, lifeSeason(st, a, &ask)
}

// ofKind is a machine of a kind that has what the words name, else any of it, one still held before one sold; nil where there is none.
func ofKind(st *rules.State, kind string, words []string) *rules.Machine {
	var found *rules.Machine
	best := -1
	for _, m := range st.Machines {
		if m.Kind != kind || m.Fitted == nil {
			continue
		}
		fits := 0
		if n, _, ok := thing(m.Fitted, words); ok && n.What == "part" {
			fits = 2
		}
		if m.Sold == "" {
			fits++
		}
		if fits > best {
			found, best = m, fits
		}
	}
	return found
}

func lifePart(m *rules.Machine, args []string, ask *rules.LifeAsk) error {
	var parts []string
	for _, p := range m.Fitted.Parts {
		if !p.Fluid {
			parts = append(parts, p.Name)
		}
	}
	try := "shedbook schedule show " + m.Name + " part"
	if len(parts) > 0 {
		try = "shedbook life " + args[0] + " " + parts[0]
	}
	if len(args) == 1 {
		return usage(try, "the part is missing: %s has %s", m.Name, strings.Join(parts, ", "))
	}
	n, used, ok := thing(m.Fitted, args[1:])
	words := strings.Join(args[1:], " ")
	switch {
	case ok && n.What == "assembly":
		as, _ := m.Fitted.Assembly(n.Word)
		return failed("not-a-part", "shedbook life "+args[0]+" "+as.Parts[0], "%s is put together of %s: name one of them", n.Word, strings.Join(as.Parts, ", "))
	case ok && n.What == "part" && used == len(args)-1:
		ask.Part = n.Word
		return nil
	case ok && n.What == "part":
		return usage("shedbook life "+args[0]+" "+n.Word+" --by hand", "%q is more than a part", words)
	}
	return failed("unknown-part", try, "%s has no part %q%s", m.Name, words, didYouMean(words, parts))
}

func lifeCounter(m *rules.Machine, name string, ask *rules.LifeAsk) error {
	def := rules.LifeCounter(m, ask.Part)
	var known []string
	for _, x := range m.Fitted.Counters {
		if !x.Trip {
			known = append(known, x.Name)
		}
	}
	if name != "" {
		x, ok := m.Fitted.Counter(strings.ToLower(name))
		if !ok || x.Trip {
			return failed("unknown-counter", "shedbook schedule show "+m.Name+" counter", "%s has no counter %q that goes on for life: %s", m.Name, name, strings.Join(known, ", "))
		}
		def = x
	}
	if def == nil {
		return failed("no-counter", "shedbook schedule show "+m.Name+" counter", "%s has no counter that a life could be counted on", m.Name)
	}
	ask.Counter, ask.Unit = def.Name, def.Unit
	return nil
}

func lifeSeason(st *rules.State, a lifeFlags, ask *rules.LifeAsk) error {
	if a.season != "" {
		var names []string
		for _, n := range st.Seasons {
			names = append(names, n.Name)
		}
		switch ask.Season = st.Season(a.season); {
		case ask.Season == nil:
			return failed("unknown-season", fmt.Sprintf("shedbook season plan %q --from DATE --use %s=400ac", a.season, ask.Kind), "there is no season %q%s", a.season, didYouMean(a.season, names))
		case ask.Season.Closed != "":
			return failed("over", "leave --season out to look to the next one", "the season %q is over since %s", ask.Season.Name, ask.Season.Closed)
		}
	}
	if a.use == "" {
		return nil
	}
	q, err := quantity.ParseIn(a.use, ask.Unit)
	if err != nil {
		return usage("write --use 400"+ask.Unit.String(), "--use: %v", err)
	}
	if q.Sign() <= 0 || !q.Unit().Converts(ask.Unit) {
		return usage("write --use 400"+ask.Unit.String(), "--use %q is no use to count on %s", a.use, ask.Counter)
	}
	ask.Use = q
	return nil
}
