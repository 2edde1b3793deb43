package rules_test

import (
	"flag"
	"fmt"
	"math/big"
	"os"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// The engine and the oracle agree on random histories and schedules: on what stands, what was counted and read, where parts sit and what they have run,
// and on every job's state, point, distance, cause and last doing at every place.
func TestOracleAgrees(t *testing.T) {
	checks, most := "500", 30
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		checks, most = "10000", 55
	} else {
		fixFlag(t, "rapid.seed", "20260507")
	}
	fixFlag(t, "rapid.checks", checks)
	rapid.Check(t, func(rt *rapid.T) {
		d := newDice(rt)
		b := drawBook(d, most)
		on := dayAfter(firstDay, between(d, "on", 60, 460))
		known := choose(d, "known", "", "", dayAfter(firstDay, between(d, "known day", 10, 140)))
		s, err := rules.Replay(b.entries, rules.Options{On: on, Known: known})
		if err != nil {
			rt.Fatal(err)
		}
		o := ask(b.entries, on, known)
		w := o.world()
		parts := !w.contested && !slices.ContainsFunc(s.Problems, func(p rules.Problem) bool { return p.Code == "part-disputed" || p.Code == "part-in-place" })
		for _, id := range b.machines {
			m := s.MachineByID(id)
			if m == nil {
				continue
			}
			c := o.court(w, id)
			agree(rt, b, on, known, m.Name+" counters", countersOf(s, m), c.countersInWords())
			agree(rt, b, on, known, m.Name+" settings", settingsOf(m), c.settingsInWords())
			agree(rt, b, on, known, m.Name+" faults", faultsOf(m), c.faultsInWords())
			if parts {
				agree(rt, b, on, known, m.Name+" parts", partsOf(m), c.partsInWords())
				agree(rt, b, on, known, m.Name+" readings", readingsOf(m), c.readingsInWords())
				agree(rt, b, on, known, m.Name+" due", dueOf(s, m), c.dueInWords())
			}
		}
	})
}

// fixFlag sets a flag for one test, unless it was given.
func fixFlag(t *testing.T, name, value string) {
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == name })
	if given {
		return
	}
	before := flag.Lookup(name).Value.String()
	if err := flag.Lookup(name).Value.Set(value); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = flag.Lookup(name).Value.Set(before) })
}

func agree(rt *rapid.T, b *book, on, known, what string, engine, oracle []string) {
	slices.Sort(engine)
	slices.Sort(oracle)
	if d := gocmp.Diff(oracle, engine); d != "" {
		rt.Fatalf("%s on %s, known %q (-oracle +engine):\n%s\n%s", what, on, known, d, b.story())
	}
}

func num(r *big.Rat) string {
	if r == nil {
		return "none"
	}
	return strings.TrimSuffix(strings.TrimRight(r.FloatString(9), "0"), ".")
}

func numQ(q quantity.Quantity) string { return num(q.Rat()) }

func countersOf(_ *rules.State, m *rules.Machine) []string {
	var out []string
	for name, c := range m.Counters {
		line := name + " never read"
		if c.Known {
			line = fmt.Sprintf("%s face %s life %s estimate %s %v", name, numQ(c.Reading), numQ(c.Life), numQ(c.Estimate), c.Estimated)
		}
		out = append(out, line)
	}
	return out
}

func (c court) countersInWords() []string {
	var out []string
	for _, def := range c.f.Counters {
		line := def.Name + " never read"
		if m := c.curve(c.machine, def.Name); len(m) > 0 {
			now, estimated, _ := c.useAt(c.machine, m, c.now())
			line = fmt.Sprintf("%s face %s life %s estimate %s %v", def.Name, num(m[len(m)-1].face), num(m[len(m)-1].life), num(now), estimated)
		}
		out = append(out, line)
	}
	return out
}

func settingsOf(m *rules.Machine) []string {
	var out []string
	for name, at := range m.Settings {
		for p, s := range at {
			v := s.Value.String()
			if s.Unknown {
				v = "unknown"
			}
			out = append(out, fmt.Sprintf("%s %s %s since %s", name, p, v, s.Since))
		}
	}
	return out
}

func (c court) settingsInWords() []string {
	var out []string
	for _, def := range c.f.Settings {
		for _, p := range c.placesNamed(def.Of, record.Positions{}) {
			if s := c.setting(c.machine, def.Name, p); s != nil {
				v := s.value.String()
				if s.unknown {
					v = "unknown"
				}
				out = append(out, fmt.Sprintf("%s %s %s since %s", def.Name, p.String(), v, s.since))
			}
		}
	}
	return out
}

func faultsOf(m *rules.Machine) []string {
	var out []string
	for _, f := range m.Faults {
		if f.Closed == "" {
			out = append(out, string(f.ID))
		}
	}
	return out
}

func (c court) faultsInWords() []string {
	var out []string
	for _, t := range c.faultsOpen(c.machine) {
		out = append(out, string(t.id))
	}
	return out
}

func useInWords(counters []string, use func(string) *big.Rat) string {
	var out []string
	for _, n := range counters {
		out = append(out, n+" "+num(or0(use(n))))
	}
	return strings.Join(out, ", ")
}

var useCounters = []string{"area", "field", "hours"}

func useOf(use map[string]quantity.Quantity) string {
	return useInWords(useCounters, func(n string) *big.Rat { return use[n].Rat() })
}

func partsOf(m *rules.Machine) []string {
	var out []string
	for part, slots := range m.Slots {
		for name, s := range slots {
			line := part + " " + name + " empty"
			if s.Part != nil {
				line = fmt.Sprintf("%s %s %s segment %d use %s of it %s", part, name, s.Part.ID, s.Part.Segment, useOf(s.Part.Use), useOf(s.Part.SegmentUse))
			}
			out = append(out, line)
		}
	}
	return out
}

func (c court) partsInWords() []string {
	var out []string
	for _, s := range c.w.seatsBy[c.machine] {
		line := s.part + " " + s.name + " empty"
		if it := s.holds; it != nil {
			line = fmt.Sprintf("%s %s %s segment %d use %s of it %s", s.part, s.name, it.id, it.segment,
				useInWords(useCounters, func(n string) *big.Rat { return it.use[n] }), useInWords(useCounters, func(n string) *big.Rat { return it.segUse[n] }))
		}
		out = append(out, line)
	}
	return out
}

func readingsOf(m *rules.Machine) []string {
	var out []string
	for name, slots := range m.Readings {
		for slot, list := range slots {
			for i, r := range list {
				v := r.Left
				if v.IsZero() {
					v = r.Found
				}
				use := "none"
				if r.Use != nil {
					use = useOf(r.Use)
				}
				out = append(out, fmt.Sprintf("%s %s %d %s %s part %s use %s", name, slot, i, r.Entry.Short(), v, r.Part, use))
			}
		}
	}
	return out
}

func (c court) readingsInWords() []string {
	var out []string
	count := map[string]int{}
	for _, r := range c.w.readings[c.machine] {
		slot := strings.TrimSuffix(r.at.String()+" "+r.hand, " ")
		part, use := "", "none"
		if r.part != nil {
			part = r.part.id
		}
		if r.use != nil {
			use = useInWords(useCounters, func(n string) *big.Rat { return r.use[n] })
		}
		out = append(out, fmt.Sprintf("%s %s %d %s %s part %s use %s", r.name, slot, count[r.name+slot], r.entry.Short(), r.value, part, use))
		count[r.name+slot]++
	}
	return out
}

func dueOf(s *rules.State, m *rules.Machine) []string {
	var out []string
	for _, i := range rules.Due(s, rules.Filter{All: true, Machine: m.ID}) {
		if i.Job == "" {
			continue
		}
		point, over := i.Due.Date, ""
		if i.Due.Counter != "" {
			point = i.Due.Counter + " " + numQ(i.Due.Value)
		}
		if point != "" {
			over = numQ(i.Over.Value)
		}
		at := i.Positions.All()
		if len(at) == 0 {
			at = []record.Position{{}}
		}
		for _, p := range at {
			out = append(out, fmt.Sprintf("%s %s %s by %s severity %s point %s over %s last %s with %v", i.Job, p.String(), i.State, i.Cause, i.Severity, point, over, i.Last.Entry.Short(), i.Includes))
		}
	}
	return out
}

// found is a ruling with its job and place.
type foundAt struct {
	ruling
	job  string
	at   record.Position
	with []string
	gone bool
}

// dueInWords rules on every job at every place in use, then leaves out a smaller job where a bigger one that includes it stands at least as badly there.
func (c court) dueInWords() []string {
	var all []foundAt
	for i := range c.f.Jobs {
		job := &c.f.Jobs[i]
		for _, p := range c.working(job) {
			if r, ok := c.rule(job, p); ok {
				if r.severity == "" {
					r.severity = job.Severity
				}
				all = append(all, foundAt{ruling: r, job: job.Name, at: p})
			}
		}
	}
	for i := range all {
		big := &all[i]
		if big.state == rules.Unknown || big.state == rules.Later {
			continue
		}
		for _, name := range c.included(big.job, nil) {
			hid := false
			for k := range all {
				small := &all[k]
				if small.job != name || big.at.Noun != "" && small.at != big.at || small.cause == rules.ByFault ||
					slices.Index(worstFirst, small.state) < slices.Index(worstFirst, big.state) {
					continue
				}
				small.gone, hid = true, true
				if slices.Index(record.Severities, small.severity) < slices.Index(record.Severities, big.severity) {
					big.severity = small.severity
				}
			}
			if hid {
				big.with = append(big.with, name)
			}
		}
	}
	var out []string
	for _, f := range all {
		if f.gone {
			continue
		}
		point, over, last := f.date, "", ""
		if f.counter != "" {
			point = f.counter + " " + num(f.point)
		}
		if point != "" {
			over = num(or0(f.over))
		}
		if d := c.lastDone(f.job, f.at); d != nil {
			last = d.entry.Short()
		}
		out = append(out, fmt.Sprintf("%s %s %s by %s severity %s point %s over %s last %s with %v", f.job, f.at.String(), f.state, f.cause, f.severity, point, over, last, f.with))
	}
	return out
}

// included are the jobs a job includes, and those they include.
func (c court) included(name string, seen []string) []string {
	job, _ := c.f.Job(name)
	for _, small := range job.Includes {
		if !slices.Contains(seen, small) {
			seen = c.included(small, append(seen, small))
		}
	}
	return seen
}
