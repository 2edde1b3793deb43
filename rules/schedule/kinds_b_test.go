package schedule

import (
	"slices"
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// kindsB are the built-in kinds of this file's tests.
var kindsB = []string{"combine", "round-baler", "disc-mower", "auger"}

// What a machine of a kind has and has not, by its options.
func TestKindsBByOptions(t *testing.T) {
	for _, c := range []struct{ kind, options, has, not string }{
		{"combine", "", "chopper-knife chopper-swap straw knife-look sections-bad cutter-knife stone-trap", "row gathering-chain deck-gap row-look"},
		{"combine", "header=rows", "row gathering-chain stalk-roll deck-gap row-look gathering-sag", "knife-look cutter-knife sections-bad tines-missing"},
		{"combine", "header=none", "fire-clean loss-check", "row knife-look cutter-knife header-loss-check tines-fit"},
		{"combine", "chopper=no", "thresher-look bar-torque", "chopper-knife chopper-blade chopper-look chopper-swap chopper-turn chopper-torque shake-check straw opposite"},
		{"round-baler", "", "belt bale-belt belt-length belt-swap net-knife net-turns bale-pressure chain-oil extinguisher-tag", "bar-chains knife twine-knife bale-spring brake-check"},
		{"round-baler", "chamber=rollers", "roller roller-bearing", "belt bale-belt belt-length belt-look belt-swap belt-lace belt-match bar-chains bar-slack"},
		{"round-baler", "chamber=chain-bars", "bar-chains bar-slack bar-chain-swap", "belt bale-belt"},
		{"round-baler", "wrap=twine density=springs", "twine-knife twine-spacing bale-spring", "net-knife net-turns bale-pressure turns-by-diameter"},
		{"round-baler", "wrap=both", "twine-knife net-knife", ""},
		{"round-baler", "knives=yes brakes=yes", "knife chopping-blade knife-grind knife-swap brake-check", ""},
		{"round-baler", "oiler=no extinguisher=no", "grease", "oiler-fill chain-oil oiler-clean extinguisher extinguisher-look extinguisher-tag extinguisher-inside extinguisher-pressure extinguisher-new"},
		{"disc-mower", "", "disc blade-pair blade-turn curtain skid gearbox-look", "belt belt-swap roll tines-missing wheel wheel-torque stems-cracked roll-gap"},
		{"disc-mower", "conditioner=rolls", "roll roll-gap roll-set roll-swap roll-look stems-cracked", "crimping-tine tine-look tine-plate"},
		{"disc-mower", "conditioner=tines", "crimping-tine tine-look tine-fit tine-swap tine-plate", "roll roll-gap roll-set"},
		{"disc-mower", "hung=trailed drive=belts", "wheel wheel-torque tyre belt belt-swap belt-tighten", ""},
		{"disc-mower", "floats-on=hydraulic", "ground-weight float-check", "float-spring spring-look spring-swap spring-state"},
		{"auger", "", "power-shaft shaft-look lift-cable cable-look winch-swap oil-look gear-oil", "belt motor feed-cable engine-level lift-hose cylinder-look drive-chain hopper-look"},
		{"auger", "drive=electric transfer=belts", "motor feed-cable electric-check belt belt-spring belt-tighten", "power-shaft shaft-grease shaft-look gear-oil spark-plug"},
		{"auger", "drive=engine transfer=chain", "engine-oil engine-level spark-plug drive-chain chain-stretch chain-swap sprocket-swap", "power-shaft electric-check belt"},
		{"auger", "drive=hydraulic raised-by=hydraulic", "motor lift-hose cylinder-look cylinder-mend", "lift-cable cable-look cable-state winch-hold electric-check"},
	} {
		t.Run(c.kind+" "+c.options, func(t *testing.T) {
			var options []record.Option
			for _, o := range strings.Fields(c.options) {
				name, value, _ := strings.Cut(o, "=")
				options = append(options, option(name, value))
			}
			f, err := builtin(t, c.kind).Fit(options, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range strings.Fields(c.has) {
				if _, ok := f.Lookup(w); !ok {
					t.Errorf("no %s", w)
				}
			}
			for _, w := range strings.Fields(c.not) {
				if n, ok := f.Lookup(w); ok {
					t.Errorf("it has the %s %s", n.What, w)
				}
			}
		})
	}
}

// Common practice, no source: the dangers by what a job is about. Each job carries the line for it.
func TestKindsBCautions(t *testing.T) {
	for _, name := range kindsB {
		s := builtin(t, name)
		fluid := map[string]bool{}
		for _, p := range s.Parts {
			fluid[p.Name] = p.Fluid
		}
		for _, j := range s.Jobs {
			need := func(caution string, when bool) {
				if when && !slices.Contains(j.Cautions, caution) {
					t.Errorf("%s: %s has no caution %s: %v", name, j.Name, caution, j.Cautions)
				}
			}
			need("torque", len(j.Torques) > 0 || len(j.Loosens) > 0)
			need("fluids", fluid[j.Swaps])
			need("fire", strings.HasPrefix(j.Name, "fire-") || strings.HasPrefix(j.Name, "extinguisher-"))
			need("wheels", j.Of == "wheel")
			need("blades", j.Of == "chopper-knife" || j.Of == "knife" || name == "disc-mower" && j.Of == "disc" || strings.Contains(j.Swaps, "knife"))
			need("locked-off", name == "auger" && (j.Of == "section" || j.Of == "hanger" || j.Of == "end" || j.Of == "belt" || j.Of == "shield"))
			need("falling", name == "auger" && (strings.HasPrefix(j.Name, "cable-") || strings.HasPrefix(j.Name, "winch-") || strings.HasPrefix(j.Name, "cylinder-")))
			need("power-lines", j.Name == "look-up" || name == "auger" && j.Name == "road-check")
			need("gate", name == "round-baler" && (j.Of == "belt" || j.Of == "roller" && j.Name != "roller-heat-check"))
			need("two-people", j.Hands > 1 && j.Severity != "winter")
			need("hand-pump", j.Points > 0)
			need("battery", strings.HasPrefix(j.Name, "battery"))
			need("springs", j.Name == "put-away" || j.Name == "take-out" || j.Of == "clutch")
		}
	}
}

// A service takes all smaller ones with it, by any way round.
func TestKindsBServices(t *testing.T) {
	for _, c := range []struct{ kind, job, in string }{
		{"combine", "service-50", "water-drain air-check"},
		{"combine", "service-500", "service-250 service-50 oil-change oil-filter-change oil-level fuel-filter-change air-filter-change hydraulic-filter-change gear-oil-change water-drain"},
		{"combine", "week-round", "week-grease day-grease chain-look conveyor-tension-check belt-look shoe-look chopper-look"},
		{"combine", "walk-round", "oil-level coolant-level stone-trap knife-look"},
		{"combine", "extinguisher-pressure", "extinguisher-inside"},
		{"round-baler", "walk-round", "gate-lock shaft-look oiler-fill"},
		{"disc-mower", "week-round", "grease hub-check skid-look gearbox-look"},
		{"auger", "walk-round", "guard-check stop-check shaft-look"},
		{"auger", "week-round", "grease hanger-look end-look cable-look oil-look"},
		{"round-baler", "week-round", "grease chain-look belt-look tine-look"},
	} {
		f, err := builtin(t, c.kind).Fit(nil, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		in := map[string]bool{}
		var collect func(name string)
		collect = func(name string) {
			j, ok := f.Job(name)
			if !ok {
				t.Fatalf("%s: no job %s", c.kind, name)
			}
			for _, n := range j.Includes {
				in[n] = true
				collect(n)
			}
		}
		collect(c.job)
		for _, n := range strings.Fields(c.in) {
			if !in[n] {
				t.Errorf("%s: %s does not include %s", c.kind, c.job, n)
			}
		}
	}
}

// Each set-up of the built-in kinds stays within what the relations of its kind allow, for every choice that changes what it says.
func TestKindsBSetupsFitTheirRelations(t *testing.T) {
	judged := 0
	for _, name := range kindsB {
		f, err := builtin(t, name).Fit(nil, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Setups) < 2 {
			t.Errorf("%s has %d set-ups", name, len(f.Setups))
		}
		for _, setup := range f.Setups {
			to := map[string]quantity.Quantity{}
			for _, v := range setup.Values {
				x, ok := f.Setting(v.Setting)
				if !ok {
					t.Fatalf("%s %s: no setting %s", name, setup.Name, v.Setting)
				}
				value, err := x.ParseValue(v.To)
				if err != nil {
					t.Fatalf("%s %s: %v", name, setup.Name, err)
				}
				if q, ok := value.Quantity(); ok {
					to[v.Setting] = q
				}
			}
			for _, r := range f.Relations {
				thing, a := to[r.Thing]
				by, b := to[r.By]
				if !a || !b {
					continue
				}
				within := false
				for _, row := range r.Rows {
					below, _ := by.Cmp(row.From)
					above, _ := by.Cmp(row.To)
					if below < 0 || above >= 0 {
						continue
					}
					low, _ := thing.Cmp(row.Min)
					high, _ := thing.Cmp(row.Max)
					within = low >= 0 && high <= 0
				}
				if judged++; !within {
					t.Errorf("%s %s: %s %s does not go with %s %s", name, setup.Name, r.Thing, thing, r.By, by)
				}
			}
		}
	}
	if judged < 9 { // four crops of the combine, three of the baler, two of the auger
		t.Errorf("only %d judged", judged)
	}
}
