package schedule

import (
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

func sameRat(a, b *big.Rat) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Cmp(b) == 0
}

const overrideKind = prelude + `
[job.grease]
of = "row"
points = 4
minutes = "1/2"
when = [{ every = "250 h" }, { season = "before", work = "seeding" }]
[job.oil]
when = { every = ["100 h", "12 mo"] }
`

func overridable(t testing.TB) *Schedule {
	t.Helper()
	s, err := Parse("t.toml", []byte(overrideKind))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestPaths(t *testing.T) {
	var got []string
	for _, p := range overridable(t).Paths() {
		got = append(got, p.Path+" "+p.Value)
	}
	want := []string{
		`setting.depth.min 1`, `setting.depth.max 10`,
		`reading.wear.limit.min "3 in"`,
		`job.torque.results ["moved", "none-moved"]`, `job.torque.torques.1.what "nut"`, `job.torque.torques.1.value "100 N.m"`,
		`job.grease.minutes "1/2"`, `job.grease.points 4`, `job.grease.when.1.every "250 h"`, `job.grease.when.2.season "before"`, `job.grease.when.2.work "seeding"`,
		`job.oil.when.1.every ["100 h", "12 mo"]`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestOverride(t *testing.T) {
	s := overridable(t)
	fit := func(path, value string) *Fitted {
		t.Helper()
		f, err := s.Fit(nil, nil, []Override{{Path: path, Value: value, Page: "41"}})
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Overrides) != 1 || f.Overrides[0].Page != "41" || len(f.Dropped) != 0 {
			t.Fatalf("%s = %s: in force %v, dropped %v", path, value, f.Overrides, f.Dropped)
		}
		return f
	}
	grease := func(f *Fitted) *Job { j, _ := f.Job("grease"); return j }
	if j := grease(fit("job.grease.when.1.every", `"200 h"`)); j.When[0].Every[0].String() != "200 h" || j.When[1].Season != "before" {
		t.Errorf("%+v", j.When)
	}
	if j := grease(fit("job.grease.when.1.every", `["200 h", "6 mo"]`)); len(j.When[0].Every) != 2 {
		t.Errorf("%+v", j.When)
	}
	if j := grease(fit("job.grease.points", "7")); j.Points != 7 {
		t.Errorf("%d points", j.Points)
	}
	// a key the schedule leaves out, and an entry behind the last
	if j := grease(fit("job.grease.severity", `"stop"`)); j.Severity != "stop" {
		t.Error(j.Severity)
	}
	if j := grease(fit("job.grease.when.3.idle", "30")); len(j.When) != 3 || j.When[2].Idle != 30 {
		t.Errorf("%+v", j.When)
	}
	// a single table stands for a list of one
	f := fit("job.oil.when.1.every", `"120 h"`)
	if j, _ := f.Job("oil"); len(j.When[0].Every) != 1 || j.When[0].Every[0].String() != "120 h" {
		t.Errorf("%+v", j.When)
	}
	f = fit("reading.wear.limit.1.min", `"2 1/2 in"`)
	if r, _ := f.Reading("wear"); r.Limit.Min.String() != "2.5 in" {
		t.Errorf("%+v", r.Limit)
	}
	f = fit("setting.depth.step_is", `"1/4 in"`)
	if d, _ := f.Setting("depth"); d.StepIs.String() != "0.25 in" {
		t.Errorf("%+v", d)
	}
}

func TestCheckOverride(t *testing.T) {
	s := overridable(t)
	for _, c := range []struct{ path, value, want string }{
		{"job.grease.when.1.every", `"200 hh"`, `job.grease.when.1.every cannot be "200 hh": `},
		{"job.grease.when.1.every", `200 h`, `job.grease.when.1.every cannot be 200 h: this is not TOML: `},
		{"job.grease.when.1.every", `"500 bales"`, `job.grease.when.1.every cannot be "500 bales": every of when of job "grease": "500 bales": no counter counts in bales: this kind has area in ac and hours in h; count it on one of these or add a counter`},
		{"job.gease.points", "1", `no path "job.gease.points": job has no "gease": did you mean "grease"?`},
		{"job.grease.point", "1", `no path "job.grease.point": job.grease has no "point": did you mean "points"?`},
		{"job.grease.when.4.every", `"1 h"`, `no path "job.grease.when.4.every": job.grease.when has 2 entries`},
		{"job.grease.when.0.every", `"1 h"`, `no path "job.grease.when.0.every": job.grease.when has 2 entries`},
		{"job.grease.when.1.evry", `"1 h"`, `no path "job.grease.when.1.evry": job.grease.when.1 has no "evry": did you mean "every"?`},
		{"job.grease.when.1", `"1 h"`, `no path "job.grease.when.1": it holds several values: name one of them`},
		{"job.grease.when", `"1 h"`, `no path "job.grease.when": it holds several values: name one of them`},
		{"job.grease", "1", `no path "job.grease": it holds several values: name one of them`},
		{"job", "1", `no path "job": it holds several values: name one of them`},
		{"job.new.points", "1", `no path "job.new.points": job has no "new": known are grease, oil, torque`},
		{"job.grease.points.deep", "1", `no path "job.grease.points.deep": job.grease.points is one value`},
		{"jobs.grease.points", "1", `no path "jobs.grease.points": the schedule has no "jobs": did you mean "job"?`},
		{"", "1", `no path "": the schedule has no "": `},
		{"job.grease.points", "0", `job.grease.points cannot be 0: points of job "grease" is 0: write a whole number from 1 to 99`},
		{"job.grease.points", "[1, 2]", `job.grease.points cannot be [1, 2]: one value at a time`},
		{"job.grease.points", "{ a = 1 }", `job.grease.points cannot be { a = 1 }: one value at a time`},
		{"job.grease.points", "1\nhands = 2", "job.grease.points cannot be 1\nhands = 2: write one value"},
		{"job.grease.of", `"wheel"`, `job.grease.of cannot be overridden: kept entries rest on it`},
		{"place.row.count", "9", `place.row.count cannot be overridden: how a machine is built is chosen by its options and its own groups`},
		{"counter.hours.unit", `"min"`, `counter.hours.unit cannot be overridden: kept readings rest on it`},
		{"job.grease.cautions", "[]", `job.grease.cautions cannot be overridden: a farm's own schedule may add cautions; none is taken away`},
		{"rules", `"none"`, `rules cannot be overridden: it is what the kind is`},
		{"setting.depth.max", "0", `setting.depth.max cannot be 0: setting "depth" runs from 1 to 0: the greatest must be more than the least`},
	} {
		err := s.CheckOverride(c.path, c.value)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s = %s:\n got %v\nwant %s", c.path, c.value, err, c.want)
		}
	}
	if err := s.CheckOverride("job.grease.points", ""); err != nil {
		t.Errorf("back to the schedule's own: %v", err)
	}
	if err := s.CheckOverride("job.gease.points", ""); err == nil {
		t.Error("an unknown path goes back to the schedule's own")
	}
}

// What the shell took the quotes from is given them back; what was TOML stays.
func TestReadOverride(t *testing.T) {
	s := overridable(t)
	for _, c := range []struct{ path, typed, want string }{
		{"job.grease.when.1.every", "200 h", `"200 h"`}, {"job.grease.when.1.every", `"200 h"`, `"200 h"`}, {"job.grease.points", "7", "7"},
		{"job.grease.severity", "stop", `"stop"`}, {"job.grease.minutes", "2.5", "2.5"}, {"job.grease.how", "5", `"5"`}, {"job.grease.points", "", ""},
		{"job.oil.when.1.every", `["50 h"]`, `["50 h"]`},
	} {
		if got, err := s.ReadOverride(c.path, c.typed); err != nil || got != c.want {
			t.Errorf("%s = %s: %s, %v; want %s", c.path, c.typed, got, err, c.want)
		}
	}
	if got, err := s.ReadOverride("job.grease.severity", "sone"); err == nil || !strings.Contains(err.Error(), `did you mean "soon"?`) {
		t.Errorf("got %q, %v", got, err)
	}
}

func TestOverridesLastRules(t *testing.T) {
	s := overridable(t)
	f, err := s.Fit(nil, nil, []Override{
		{Path: "job.grease.points", Value: "7", Entry: "a"},
		{Path: "job.grease.when.1.every", Value: `"200 h"`, Entry: "b"},
		{Path: "job.grease.points", Value: "8", Entry: "c"},
		{Path: "job.grease.when.1.every", Value: "", Entry: "d"},
		{Path: "job.gone.points", Value: "1", Entry: "e"},
		{Path: "setting.depth.max", Value: "0", Entry: "f"},
	})
	if err != nil {
		t.Fatal(err)
	}
	j, _ := f.Job("grease")
	if j.Points != 8 || j.When[0].Every[0].String() != "250 h" {
		t.Errorf("%+v", j)
	}
	if len(f.Overrides) != 1 || f.Overrides[0].Entry != "c" {
		t.Errorf("in force: %+v", f.Overrides)
	}
	if len(f.Dropped) != 2 || f.Dropped[0].Entry != "e" || f.Dropped[1].Entry != "f" || f.Dropped[1].Why == "" {
		t.Errorf("dropped: %+v", f.Dropped)
	}
}

// Law: every value of a built-in kind may be overridden by itself, and by all of them at once, and nothing changes.
func TestOverrideRoundTrip(t *testing.T) {
	fewerChecks(t)
	for _, s := range Builtins() {
		var all []Override
		for _, p := range s.Paths() {
			all = append(all, Override{Path: p.Path, Value: p.Value})
		}
		plain, err := s.Fit(nil, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		f, err := s.Fit(nil, nil, all)
		if err != nil || len(f.Dropped) != 0 || len(f.Overrides) != len(all) {
			t.Fatalf("%s: %v, dropped %+v", s.Name, err, f.Dropped)
		}
		if diff := cmp.Diff(plain.Schedule, f.Schedule, cmpopts.IgnoreUnexported(Schedule{}), cmp.Comparer(sameRat)); diff != "" {
			t.Errorf("%s changes by its own values:\n%s", s.Name, diff)
		}
		rapid.Check(t, func(t *rapid.T) {
			p := rapid.SampledFrom(all).Draw(t, "value")
			if err := s.CheckOverride(p.Path, p.Value); err != nil {
				t.Fatal(err)
			}
		})
	}
}
