package rules

import (
	"strings"
	"testing"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// A text put into use from a day rules from that day; of those whose day has come the newest rules.
func TestScheduleInForce(t *testing.T) {
	b := newNotebook(t)
	deeper := func(max string) string {
		return strings.Replace(drillText, "max = 12", "max = "+max, 1)
	}
	b.add(&record.Schedule{Name: "drill", Text: deeper("13"), From: "2026-01-01"})
	for on, want := range map[string]string{"2025-12-31": "12", "2026-01-01": "13"} {
		s, _ := b.drill(on).Fitted.Setting("depth")
		wantQ(t, on, s.Max, want)
	}
	id := b.add(&record.Schedule{Name: "drill", Text: deeper("14")})
	for _, on := range []string{"2025-12-31", "2026-01-01"} {
		st := b.state(on)
		s, _ := st.Machine("drill").Fitted.Setting("depth")
		wantQ(t, "since the beginning, on "+on, s.Max, "14")
		wantEqual(t, "in use", st.Kinds[1].Entry, id)
	}
}

func TestScheduleThatCannotBeRead(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Schedule{Name: "drill", Text: "shedbook_schedule = 1\nname = \"drill\"\ncolour = \"red\"\n"})
	s := b.state("2026-01-01")
	wantList(t, "problems", codes(s), "no-schedule", "schedule")
	wantList(t, "entries", s.Problems[1].Entries, id)
	if m := s.Machine("drill"); m.Fitted != nil || m.Name != "drill" {
		t.Errorf("fitted %v", m)
	}
}

// What was recorded of a machine whose schedule is unknown is kept: the schedule may come with the next sync.
func TestMachineWithoutSchedule(t *testing.T) {
	b := newNotebook(t)
	b.machine("mower", "mower", "2026-01-01")
	b.counts("mower", "2026-04-01", "hours at 12 h")
	b.add(&record.Adjust{Work: b.of("mower", "2026-04-01"), Changes: []record.Change{{Setting: "height", To: steps("3 in")}}})
	b.add(&record.Did{Work: b.of("mower", "2026-04-01"), Job: "grease", Positions: b.at("deck/1-2")})
	b.add(&record.Swap{Work: b.of("mower", "2026-04-01"), Part: "blade", Act: record.SwapNew, Positions: b.at("deck/1")})
	b.add(&record.Measure{Work: b.of("mower", "2026-04-01"), Reading: "blade-length", Values: []record.Measured{{Positions: b.at("deck/1"), Found: steps("18 in")}}})
	b.add(&record.Assume{Work: b.of("mower", "2026-04-01"), Good: true})
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s), "no-schedule")
	m := s.Machine("mower")
	wantQ(t, "hours", m.Counters["hours"].Life, "12 h")
	wantEqual(t, "height", m.Settings["height"][""].Value.String(), "3 in")
	wantList(t, "grease", doings(m, "grease"), "deck/1 2026-04-01", "deck/2 2026-04-01")
	wantEqual(t, "blade", m.Slots["blade"]["deck/1"].Unknown, false)
	wantEqual(t, "reading", m.Readings["blade-length"]["deck/1"][0].Found.String(), "18 in")
}

func TestOverrides(t *testing.T) {
	b := newNotebook(t)
	path := ""
	for _, p := range b.state("2026-01-01").Kinds[1].Schedule.Paths() {
		if strings.Contains(p.Path, "setting.depth") && strings.HasSuffix(p.Path, "max") {
			path = p.Path
		}
	}
	if path == "" {
		t.Fatal("the greatest depth cannot be overridden")
	}
	override := func(value, from string) ID {
		return b.add(&record.Override{Work: b.on("2026-03-01"), Path: path, Value: value, Page: "operator's manual, page 12", From: from})
	}
	override("14", "")
	override("15", "2026-06-01")
	most := func(on string) string {
		s, _ := b.drill(on).Fitted.Setting("depth")
		return s.Max.String()
	}
	wantEqual(t, "since the beginning", most("2025-01-01"), "14")
	wantEqual(t, "from its day", most("2026-06-01"), "15")
	override("", "2026-08-01")
	wantEqual(t, "back to the schedule's own", most("2026-08-01"), "12")
	bad := override(`"deep"`, "2026-09-01")
	s := b.state("2026-09-01")
	wantList(t, "problems", codes(s), "override")
	wantList(t, "entries", s.Problems[0].Entries, bad)
	wantEqual(t, "left out", most("2026-09-01"), "12")
}

func TestMachineThatDoesNotFit(t *testing.T) {
	b := newNotebook(t)
	b.machine("odd", "drill", "2026-01-01", record.Option{Name: "openers", Value: "many"})
	s := b.state("2026-01-01")
	wantList(t, "problems", codes(s), "schedule")
	if s.Machine("odd").Fitted != nil {
		t.Error("it was fitted")
	}
}

func TestPeople(t *testing.T) {
	b := newNotebook(t)
	wren := b.write(ada, true, &record.Person{}, &record.Private{Name: "Wren"})
	held := b.add(&record.Person{})
	s := b.state("2026-01-01")
	wantEqual(t, "by name", s.Person("wren").ID, wren)
	wantEqual(t, "by id", s.Person(string(held)).Name, "")
	s.AddPerson(ada, "Ada")
	wantEqual(t, "known from elsewhere", s.Person("Ada").ID, ada)
	if s.Person("") != nil {
		t.Error("somebody has no name")
	}
}

func TestSameName(t *testing.T) {
	b := newNotebook(t)
	b.machine("drill", "drill", "2026-01-01")
	s := b.state("2026-01-02")
	wantList(t, "problems", codes(s), "same-name")
	b.add(&record.Sell{Work: record.Work{Machine: b.drill("2026-01-01").ID, Done: "2026-02-01"}})
	s = b.state("2026-02-01")
	wantList(t, "one is sold", codes(s))
	if got := s.Machine("drill"); got.Sold != "" {
		t.Error("the sold one is found before the one held")
	}
}

func TestYardOfNoFarm(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Yard{Name: "lost", Farm: b.yards["home"]})
	wantList(t, "problems", codes(b.state("2026-01-01")), "unknown-farm")
}

// Every built-in kind can be used as it is: a machine of it with all its defaults, taken as good, shows what it has and nothing to complain of.
func TestBuiltinKinds(t *testing.T) {
	kinds := schedule.Builtins()
	if len(kinds) == 0 {
		t.Fatal("no built-in kinds")
	}
	for _, k := range kinds {
		t.Run(k.Name, func(t *testing.T) {
			b := newNotebook(t)
			b.add(&record.Schedule{Name: k.Name, Text: k.Text})
			b.machine("new", k.Name, "2026-01-01")
			b.add(&record.Assume{Work: b.of("new", "2026-03-01"), Good: true})
			s := b.state("2026-04-01")
			wantList(t, "problems", codes(s))
			m := s.Machine("new")
			wantEqual(t, "counters", len(m.Counters), len(m.Fitted.Counters))
			wantEqual(t, "kinds of part", len(m.Slots), len(m.Fitted.Parts))
			for _, j := range m.Fitted.Jobs {
				places := max(1, m.Fitted.All(j.Of).Len())
				if j.Group != "" {
					p, _ := m.Fitted.GroupPositions(j.Group)
					places = p.Len()
				}
				wantEqual(t, j.Name+" taken as done", len(m.Jobs[j.Name].Done), places)
			}
		})
	}
}
