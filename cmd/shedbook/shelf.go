package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

func bindShelf(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.kind, "kind", "of which `kind` of machine, where several have such a part")
	s.str(fs, &s.hand, "hand", "`left` or right, where they differ")
	s.str(fs, &s.yard, "yard", "the `yard` whose shelf it is (left out: the only one)")
	s.yes(fs, &s.counted, "counted", "so many lie there, whatever was bought and used")
	s.yes(fs, &s.scrap, "scrap", "so many were thrown away")
	s.bindWork(fs)
	s.bindNote(fs)
}

func shelfAddCommand() *command {
	s := &said{}
	return &command{
		name: "shelf add", section: "machines", brief: "record parts bought for the shelf, or counted there", writes: true,
		usage:    []string{"shelf add PART NUMBER [--kind KIND] [--hand left|right] [--yard NAME] [--counted|--scrap]"},
		examples: []string{"shelf add disc 12", "shelf add disc 12 --kind disc-drill --hand left --cost discs=480", "shelf add oil-filter 3 --counted"},
		flags:    func(fs *pflag.FlagSet) { bindShelf(s, fs) },
		run: func(c *call) error {
			part, n, err := partAndNumber(c.args)
			if err != nil {
				return err
			}
			return c.record(func(w *writing, sure sureOf) error { return w.addStock(s, part, n, sure) })
		},
	}
}

// partAndNumber reads "disc 12", "12 discs", "hub bearing 4".
func partAndNumber(args []string) (part string, n int, err error) {
	var words []string
	found := false
	for _, a := range args {
		if k, err := strconv.Atoi(a); err == nil && !found {
			n, found = k, true
			continue
		}
		words = append(words, strings.Fields(strings.ToLower(a))...)
	}
	if !found || len(words) == 0 {
		return "", 0, usage("shedbook shelf add disc 12", "shelf add takes a part and how many")
	}
	return strings.Join(words, "-"), n, nil
}

func (w *writing) addStock(s *said, part string, n int, sure sureOf) error {
	done, err := s.when(w.c.env)
	if err != nil {
		return err
	}
	st, err := w.state(done.Date(), "")
	if err != nil {
		return err
	}
	yard, err := oneYard(st, s.yard)
	if err != nil {
		return err
	}
	var shelf *rules.Shelf
	for _, h := range st.Shelves {
		if h.Yard == yard.ID {
			shelf = h
		}
	}
	if shelf == nil {
		return failed("no-shelf", "shedbook yard add makes a yard with its shelf", "the yard %s has no shelf", yard.Name)
	}
	kind, def, err := partOfKind(st, s.kind, part, s.given("hand"))
	if err != nil {
		return err
	}
	l := &line{c: w.c, w: w, s: s, v: &verb{}, st: st, m: &rules.Machine{ID: shelf.ID, Name: "the shelf of " + yard.Name, Fitted: kind}, done: done}
	r := &record.Stock{Schedule: kind.Name, Part: def.Name, Act: "add", Count: n}
	p, err := l.stock(r, def)
	if err != nil {
		return err
	}
	l.common()
	l.doubled(r, p)
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	key, err := machineKey(shelf.Key)
	if err != nil {
		return err
	}
	e, err := w.add(r, p, key)
	if err != nil {
		return err
	}
	reply := &reply{c: w.c, w: w, entries: []replied{{e: e, r: r, p: p}}, notes: l.notes}
	w.then(reply.print)
	return nil
}

// stock fills in what the flags say.
func (l *line) stock(r *record.Stock, def *schedule.Part) (*record.Private, error) {
	var err error
	if len(l.s.counters)+len(l.s.closes) > 0 {
		return nil, usage("leave it out", "a shelf has no counters and no faults")
	}
	if r.Work, err = l.work(); err != nil {
		return nil, err
	}
	hands := l.handsOf(def.Of, def.Handed)
	if l.s.given("hand") {
		if r.Hand, err = l.oneHand(def.Name, hands); err != nil {
			return nil, err
		}
	} else if r.Hand == "" && hands[0] != "" {
		return nil, usage("add --hand "+hands[0], "%s differs by hand: which one?", def.Name)
	}
	switch {
	case l.s.counted && l.s.scrap:
		return nil, usage("say one of them", "--counted and --scrap: which is it?")
	case l.s.counted:
		r.Act = "count"
	case l.s.scrap:
		r.Act = "scrap"
	}
	if r.Count < 0 || r.Count > 100000 || r.Count == 0 && r.Act != "count" {
		return nil, usage("shedbook shelf add disc 12", "%d is no number of parts", r.Count)
	}
	return l.private("")
}

// partOfKind finds which kind of machine in the book has such a part, fitted as one of its machines where there is one: of several that differ (one disc in each
// place, or a left and a right one), as one where the part has hands if a hand was said, else as one where it has none.
func partOfKind(st *rules.State, kind, part string, hand bool) (*schedule.Fitted, *schedule.Part, error) {
	type hit struct {
		f *schedule.Fitted
		p *schedule.Part
	}
	var hits []hit
	var parts, kinds []string
	for _, k := range st.Kinds {
		kinds = append(kinds, k.Schedule.Name)
		if kind != "" && k.Schedule.Name != kind {
			continue
		}
		var found hit
		for _, f := range fittedAll(st, k.Schedule) {
			for _, p := range f.Parts {
				parts = append(parts, p.Name)
			}
			if p, ok := f.Part(part); ok && (found.p == nil || handed(f, p) == hand && handed(found.f, found.p) != hand) {
				found = hit{f, p}
			}
		}
		if found.p != nil {
			hits = append(hits, found)
		}
	}
	switch {
	case kind != "" && !contains(kinds, kind):
		return nil, nil, failed("unknown-kind", "shedbook schedule list", "the book uses no kind %q%s", kind, didYouMean(kind, kinds))
	case len(hits) == 0:
		return nil, nil, failed("unknown-word", "shedbook schedule list", "no kind of machine here has a part %q%s", part, didYouMean(part, parts))
	case len(hits) > 1:
		return nil, nil, usage("add --kind "+hits[0].f.Name, "%s and %s both have a part %q", hits[0].f.Name, hits[1].f.Name, part)
	}
	return hits[0].f, hits[0].p, nil
}

// handed reports a part with a left and a right one in each place.
func handed(f *schedule.Fitted, p *schedule.Part) bool {
	place, _, ok := f.Noun(p.Of)
	return ok && p.Handed && len(place.Hands) > 0
}

// fittedAll is the schedule as each of the book's machines of that kind has it; with its defaults where there is none.
func fittedAll(st *rules.State, s *schedule.Schedule) []*schedule.Fitted {
	var all []*schedule.Fitted
	for _, m := range st.Machines {
		if m.Kind == s.Name && m.Fitted != nil && m.Sold == "" {
			all = append(all, m.Fitted)
		}
	}
	if f := fittedAs(st, s); len(all) == 0 && f != nil {
		all = append(all, f)
	}
	return all
}

// fittedAs is the schedule as the book's machine of that kind has it; with its defaults where there is none.
func fittedAs(st *rules.State, s *schedule.Schedule) *schedule.Fitted {
	for _, m := range st.Machines {
		if m.Kind == s.Name && m.Fitted != nil && m.Sold == "" {
			return m.Fitted
		}
	}
	f, err := s.Fit(nil, nil, nil)
	if err != nil {
		return nil
	}
	return f
}

type stockJSON struct {
	Yard  string   `json:"yard"`
	Kind  string   `json:"kind"`
	Part  string   `json:"part"`
	Hand  string   `json:"hand,omitempty"`
	Count int      `json:"count"`
	Used  []string `json:"used_parts"`
}

type stocksJSON struct {
	Format int         `json:"format"`
	Stock  []stockJSON `json:"stock"`
}

func shelfListCommand() *command {
	var yard string
	return &command{
		name: "shelf list", section: "machines", brief: "list the parts on the shelves", reads: true,
		usage:    []string{"shelf list [--yard NAME]"},
		examples: []string{"shelf list", "shelf list --yard creek --json"},
		about:    "Used parts are listed by their ids: swap MACHINE PLACE PART --in ID puts one back in.",
		flags:    func(fs *pflag.FlagSet) { fs.StringVar(&yard, "yard", "", "only this `yard`'s shelf") },
		run: func(c *call) error {
			b, err := c.open()
			if err != nil {
				return err
			}
			st, err := b.now()
			if err != nil {
				return err
			}
			var f rules.Filter
			if err := narrow(st, "", yard, "", &f); err != nil {
				return err
			}
			list := []stockJSON{}
			for _, y := range st.Yards {
				for _, h := range st.Shelves {
					if h.Yard != y.ID || f.Yard != "" && f.Yard != y.ID {
						continue
					}
					for _, s := range h.Stock {
						if s.Count == 0 && len(s.Parts) == 0 {
							continue
						}
						j := stockJSON{Yard: y.Name, Kind: s.Schedule, Part: s.Part, Hand: s.Hand, Count: s.Count, Used: []string{}}
						for _, p := range s.Parts {
							j.Used = append(j.Used, p.ID)
						}
						list = append(list, j)
					}
				}
			}
			if c.json {
				err = c.printJSON(stocksJSON{1, list})
			} else {
				c.printStock(list)
			}
			if err != nil {
				return err
			}
			return b.soundness()
		},
	}
}

func (c *call) printStock(list []stockJSON) {
	if len(list) == 0 {
		c.printf("the shelves are empty\nto put parts on one: shedbook shelf add disc 12\n")
		return
	}
	t := table.New("yard", "kind", "part", "hand", "count", "used ones")
	t.Right(4)
	for _, s := range list {
		var used []string
		for _, id := range s.Used {
			used = append(used, shortPart(id))
		}
		text := strings.Join(used, ", ")
		if len(used) > 3 {
			text = fmt.Sprintf("%s, ... (%d)", strings.Join(used[:3], ", "), len(used))
		}
		t.Row(s.Yard, s.Kind, s.Part, s.Hand, table.Int(s.Count), text)
	}
	c.printf("%s", t.Text(c.columns()))
}
