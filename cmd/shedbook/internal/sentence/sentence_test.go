package sentence

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

const drill = `shedbook_schedule = 1
name = "test-drill"
title = "Test drill"
source = "made up"
work = ["seeding"]

[counter.area]
unit = "ac"
main = true

[counter.hours]
unit = "h"

[place.opener]
plural = "openers"
count = 48
ranks = 2
walk = "serpentine"
hands = ["left", "right"]

[place.wheel]
plural = "wheels"
names = ["left-front", "right-front"]

[group.left-wing]
of = "opener"
from = 0
to = "1/3"

[part.disc]
plural = "discs"
of = "opener"
handed = true

[part.inner-scraper]
of = "opener"

[setting.depth]
title = "Depth"
of = "opener"
type = "steps"
min = 1
max = 12
step = 1

[setting.fan-speed]
title = "Fan speed"
type = "amount"
unit = "turn/min"

[reading.disc-reach]
title = "Disc reach"
of = "opener"
unit = "in"

[reading.disc-size]
title = "Disc size"
of = "opener"
handed = true
unit = "in"
part = "disc"

[reading.hub-play]
title = "Hub play"
of = "opener"
grades = ["ok", "watch", "bad"]
bad_from = "bad"

[job.grease]
title = "Grease the openers"
of = "opener"
severity = "soon"
when = [{ every = "100 ac" }]

[job.torque-check]
title = "Check wheel nuts"
of = "wheel"
results = ["moved", "none-moved"]
when = [{ every = "250 h" }]

[job.hub-open]
title = "Hub opening"
of = "opener"
when = [{ every = "36 mo" }]
`

const (
	farmID  = record.ID("f000000000000000000000000000000000000000000000000000000000000000")
	yardID  = record.ID("a100000000000000000000000000000000000000000000000000000000000000")
	drillID = record.ID("d000000000000000000000000000000000000000000000000000000000000000")
	shelfID = record.ID("5000000000000000000000000000000000000000000000000000000000000000")
	faultID = record.ID("b000000000000000000000000000000000000000000000000000000000000000")
)

func state(t testing.TB) (*rules.State, *rules.Machine) {
	s, err := schedule.Parse("test-drill.toml", []byte(drill))
	if err != nil {
		t.Fatal(err)
	}
	f, err := s.Fit(nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	m := &rules.Machine{ID: drillID, Name: "drill", Kind: "test-drill", Yard: yardID, Farm: farmID, Fitted: f,
		Faults: []*rules.Fault{{ID: faultID, Positions: record.Span("opener", 23, 23), Text: "hub rough"}}}
	return &rules.State{
		Farms: []*rules.Farm{{ID: farmID, Name: "Alder Farm"}}, Yards: []*rules.Yard{{ID: yardID, Name: "home", Farm: farmID}},
		Kinds: []*rules.KindInUse{{Schedule: s}}, Machines: []*rules.Machine{m}, Shelves: []*rules.Shelf{{ID: shelfID, Yard: yardID}},
	}, m
}

func decode(t testing.TB, kind, text string) record.Record {
	text = strings.ReplaceAll(text, "WORK", `"machine":"`+string(drillID)+`","done":"2026-04-01"`)
	text = strings.NewReplacer("FARM", string(farmID), "YARD", string(yardID), "SHELF", string(shelfID), "FAULT", string(faultID)).Replace(text)
	r, err := record.Decode(kind, []byte(text))
	if err != nil {
		t.Fatalf("%s %s: %v", kind, text, err)
	}
	return r
}

const key = `"key":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"`

// The sentences are written by hand from the records, in the words a farmer would use of them.
func TestRecord(t *testing.T) {
	st, m := state(t)
	for _, test := range []struct{ kind, record, private, want string }{
		{"farm", `{"name":"Creekside"}`, ``, `added the farm Creekside`},
		{"yard", `{"name":"creek","farm":"FARM"}`, ``, `added the yard creek of Alder Farm`},
		{"person", `{}`, `{"name":"Sam Rook"}`, `added Sam Rook, who has no device`},
		{"person", `{}`, ``, `added a person whose name is held back, who has no device`},
		{"schedule", `{"name":"test-drill","text":"x","from":"2026-01-01"}`, ``, `put the schedule test-drill into use from 2026-01-01`},
		{"season", `{"act":"plan","name":"spring seeding 2026","work":"seeding","from":"2026-04-10","to":"2026-05-20","done":"2026-03-01","use":[{"kind":"test-drill","counter":"area","amount":"1500 ac"}]}`, ``,
			`planned the season spring seeding 2026 (seeding), 2026-04-10 to 2026-05-20, about 1500 ac with each test-drill`},
		{"season", `{"act":"open","name":"spring seeding 2026","work":"seeding","farms":["FARM"],"done":"2026-04-12"}`, ``, `opened the season spring seeding 2026 (seeding) for Alder Farm`},
		{"season", `{"act":"close","name":"spring seeding 2026","done":"2026-05-22"}`, ``, `closed the season spring seeding 2026`},
		{"machine", `{"done":"2026-03-01",` + key + `,"name":"drill","kind":"test-drill","yard":"YARD","options":[{"name":"openers","value":"48"}],"year":2014,"serial":"X 12"}`, ``,
			`added drill, a test drill, at home, with openers 48, made in 2014, serial X 12`},
		{"shelf", `{"done":"2026-03-01",` + key + `,"yard":"YARD"}`, ``, `set up the parts shelf of home`},
		{"stock", `{"machine":"SHELF","done":"2026-03-01","kind":"test-drill","part":"disc","hand":"left","act":"add","count":12}`, `{"costs":[{"for":"discs","amount":"480.00 EUR"}]}`,
			`put 12 left discs (test drill) on the shelf of home, 480.00 EUR for discs`},
		{"stock", `{"machine":"SHELF","done":"2026-03-01","kind":"test-drill","part":"disc","act":"count","count":1}`, ``, `counted 1 disc (test drill) on the shelf of home`},
		{"move", `{WORK,"yard":"YARD"}`, ``, `moved drill to home`},
		{"lend", `{WORK,"act":"lent","condition":"ok"}`, `{"who":"Marsh Farm"}`, `lent drill to Marsh Farm, condition ok`},
		{"lend", `{WORK,"act":"sent-back"}`, ``, `sent drill back`},
		{"store", `{WORK,"act":"in","slack":["springs","fan belt"]}`, ``, `put drill into storage; left slack or drained: springs and fan belt`},
		{"store", `{WORK,"act":"out"}`, ``, `took drill out of storage`},
		{"sell", `{WORK}`, `{"who":"Heron Acres","costs":[{"for":"drill","amount":"41000"}]}`, `sold drill to Heron Acres, 41000 for drill`},
		{"hitch", `{WORK}`, ``, `unhitched drill`},
		{"assume", `{WORK,"good":true,"counters":[{"counter":"area","at":"1812 ac"}],"items":[{"name":"disc","positions":["opener/1-48"],"worn":"50 %"}]}`, ``,
			`took drill as good; assumed disc 50 % worn on all 48 openers, at 1812 ac`},
		{"override", `{WORK,"path":"job.grease.when.1.every","value":"\"80 ac\"","page":"operator's manual p. 41"}`, ``, `set job.grease.when.1.every to 80 ac (operator's manual p. 41)`},
		{"override", `{WORK,"path":"job.grease.when.1.every","value":"","page":""}`, ``, `put job.grease.when.1.every back to the schedule's own value`},
		{"counter", `{WORK,"acts":[{"counter":"area","act":"at","value":"1812 ac"}]}`, ``, `read area at 1812 ac`},
		{"counter", `{WORK,"acts":[{"counter":"area","act":"at","value":"1812 ac"},{"counter":"hours","act":"at","value":"310 h"}]}`, ``, `read area at 1812 ac and hours at 310 h`},
		{"counter", `{WORK,"acts":[{"counter":"area","act":"reset","last":"455 ac","span":"trip"}]}`, ``, `set the area counter back to 0 (it showed 455 ac), a trip counter from then on`},
		{"counter", `{WORK,"acts":[{"counter":"hours","act":"replaced","last":"1200 h","value":"3 h"}]}`, ``, `replaced the hours counter, the new one starts at 3 h (it showed 1200 h)`},
		{"adjust", `{WORK,"changes":[{"setting":"depth","positions":["opener/1-48"],"to":"6"}]}`, ``, `set depth to 6 on all 48 openers`},
		{"adjust", `{WORK,"changes":[{"setting":"depth","positions":["opener/1-13","opener/15-30","opener/32-48"],"to":"6"}]}`, ``, `set depth to 6 on openers 1-48 but 14, 31`},
		{"adjust", `{WORK,"setup":"spring","changes":[{"setting":"depth","positions":["opener/1-16"],"to":"7","by":"+1"},{"setting":"depth","positions":["opener/17-48"],"by":"+1"}],"crop":"barley","ground":"heavy"}`, ``,
			`applied the set-up spring: depth by +1: to 7 on left wing, value before not known on openers 17-48, crop barley, ground heavy`},
		{"measure", `{WORK,"reading":"disc-reach","values":[{"positions":["opener/1-13"],"found":"5.9 in"},{"positions":["opener/15-30","opener/32-48"],"found":"5.2 in"},{"positions":["opener/14","opener/31"],"cannot":"reach"}]}`, ``,
			`measured disc reach on openers 1-48 but 14, 31: 5.2 to 5.9 in (openers 14, 31 could not be reached)`},
		{"measure", `{WORK,"reading":"disc-size","values":[{"positions":["opener/3"],"hand":"left","found":"14.5 in","left":"15 in"}],"with":"tape"}`, ``, `measured left disc size on opener 3: found 14.5 in, left at 15 in, with tape`},
		{"measure", `{WORK,"reading":"hub-play","values":[{"positions":["opener/1-13"],"found":"ok"},{"positions":["opener/14"],"found":"bad"}]}`, ``,
			`measured hub play on openers 1-14: ok on openers 1-13, bad on opener 14`},
		{"swap", `{WORK,"part":"disc","positions":["opener/12"],"hand":"right","act":"new","why":"worn","counters":[{"counter":"area","at":"1812 ac"}]}`, ``, `swapped the right disc of opener 12 (worn), at 1812 ac`},
		{"swap", `{WORK,"part":"disc","positions":["opener/12"],"act":"new"}`, ``, `swapped both discs of opener 12`},
		{"swap", `{WORK,"part":"inner-scraper","positions":["opener/1-16"],"act":"new","from":"SHELF"}`, ``, `swapped the inner scrapers of left wing, from the shelf of home`},
		{"swap", `{WORK,"part":"inner-scraper","positions":["opener/12"],"with":["opener/30"],"act":"exchange"}`, ``, `exchanged the inner scrapers of opener 12 with opener 30`},
		{"swap", `{WORK,"part":"inner-scraper","positions":["opener/44"],"act":"out"}`, ``, `took the inner scraper of opener 44 off`},
		{"swap", `{WORK,"part":"inner-scraper","positions":["opener/44"],"act":"sharpened"}`, ``, `sharpened the inner scraper of opener 44`},
		{"did", `{WORK,"job":"grease","positions":["opener/1-13","opener/15-30","opener/32-48"]}`, ``, `greased openers 1-48 but 14, 31`},
		{"did", `{WORK,"job":"grease","positions":["opener/1-48"],"skipped":["opener/14","opener/31"]}`, ``, `greased openers 1-48 but 14, 31, skipped openers 14, 31`},
		{"did", `{WORK,"job":"torque-check","positions":["wheel/left-front","wheel/right-front"],"results":[{"positions":["wheel/left-front"],"word":"moved"}],"torque":"75 lbf.ft"}`, ``,
			`did torque check on all 2 wheels, moved: wheel left-front, wrench at 75 lbf.ft`},
		{"did", `{WORK,"job":"hub-open","positions":["opener/3"],"outcome":"fail","fills":[{"of":"grease","amount":"0.5 lb"}]}`, ``, `did hub open on opener 3, filled 0.5 lb grease, failed`},
		{"did", `{WORK,"job":"wash-down"}`, ``, `did wash down`},
		{"did", `{WORK,"job":"wash"}`, ``, `washed drill`},
		{"did", `{WORK,"job":"grease","positions":["opener/14"],"skipped":["opener/14"]}`, `{"text":"zerk broken"}`, `did not do grease, skipped opener 14: zerk broken`},
		{"fault", `{WORK,"positions":["opener/23"],"severity":"winter","needs":[{"what":"hub bearing","count":2},{"what":"seal","count":1}]}`, `{"text":"hub rough"}`,
			`fault on opener 23: hub rough (winter), needs 2 hub bearing and seal`},
		{"fault", `{WORK,"positions":["opener/9"],"severity":"stop","tied_up":true,"lost":"2 h"}`, `{"text":"hub out"}`, `fault on opener 9: hub out (stop), tied up, lost 2 h`},
		{"repair", `{WORK,"positions":["opener/23"],"closes":["FAULT"],"cause":"stone","minutes":150}`, `{"text":"new bearing","who":"Tern Valley Repairs"}`,
			`repaired opener 23: new bearing (stone), putting right the fault on opener 23 (hub rough), 2 h 30 min of work, by Tern Valley Repairs`},
		{"repair", `{WORK,"temporary":true}`, ``, `repaired for the time being drill`},
		{"note", `{WORK,"positions":["opener/12"]}`, `{"text":"zerk turned inwards"}`, `note on opener 12: zerk turned inwards`},
		{"strike", `{"machine":"` + string(drillID) + `","entry":"FAULT"}`, `{"text":"wrong machine"}`, `struck entry b0000000: wrong machine`},
		{"correct", `{"machine":"` + string(drillID) + `","entry":"FAULT","as":"note","record":{WORK}}`, `{"text":"two zerks"}`, `corrected entry b0000000 to: note: two zerks`},
	} {
		t.Run(test.kind, func(t *testing.T) {
			var p *record.Private
			if test.private != "" {
				p = new(record.Private)
				if err := json.Unmarshal([]byte(test.private), p); err != nil {
					t.Fatal(err)
				}
			}
			if got := Record(st, m, decode(t, test.kind, test.record), p, quantity.AsWritten); got != test.want {
				t.Errorf("\n got %s\nwant %s", got, test.want)
			}
		})
	}
}

func TestAtNarrows(t *testing.T) {
	st, m := state(t)
	r := decode(t, "measure", `{WORK,"reading":"disc-reach","values":[{"positions":["opener/1-13"],"found":"5.9 in"},{"positions":["opener/15-30","opener/32-48"],"found":"5.2 in"},{"positions":["opener/14","opener/31"],"cannot":"reach"}]}`)
	for _, test := range []struct {
		at   int
		sys  quantity.System
		want string
	}{
		{4, quantity.AsWritten, "measured disc reach on opener 4: 5.9 in"},
		{14, quantity.AsWritten, "measured disc reach on opener 14 (opener 14 could not be reached)"},
		{20, quantity.Metric, "measured disc reach on opener 20: 132.1 mm"}, // 5.2 x 25.4 = 132.08
	} {
		if got := At(st, m, r, nil, record.Span("opener", test.at, test.at), test.sys); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
}

// A machine whose schedule is unknown, and a shared entry, are told all the same.
func TestRecordWithoutSchedule(t *testing.T) {
	st := &rules.State{}
	r := decode(t, "did", `{WORK,"job":"torque-check","positions":["opener/1-4","wheel/left-front"]}`)
	if got, want := Record(st, &rules.Machine{Name: "drill"}, r, nil, quantity.AsWritten), "did torque check on opener 1-4, wheel left-front"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	with, _ := state(t)
	added := decode(t, "machine", `{"done":"2026-03-01",`+key+`,"name":"drill","kind":"test-drill","yard":"YARD","counters":[{"counter":"area","at":"1812 ac"}]}`)
	if got, want := Record(with, nil, added, nil, quantity.AsWritten), "added drill, a test drill, at home, at 1812 ac"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := Record(st, nil, decode(t, "move", `{WORK,"yard":"YARD"}`), nil, quantity.AsWritten), "moved the machine to a1000000"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Law: whatever words an entry holds, its sentence is one line without a control character.
func TestRecordIsOnePlainLine(t *testing.T) {
	st, m := state(t)
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.String().Draw(t, "words")
		n := &record.Note{Work: record.Work{Machine: drillID, Done: "2026-04-01", Field: words}}
		for _, r := range Record(st, m, n, &record.Private{Text: words, Who: words}, quantity.US) {
			if unicode.In(r, unicode.Cc, unicode.Zl, unicode.Zp) {
				t.Fatalf("%q", r)
			}
		}
	})
}

func TestTitle(t *testing.T) {
	for _, test := range []struct{ title, name, want string }{
		{"Grease the hubs", "grease", "grease the hubs"}, {"", "inner-scraper", "inner scraper"}, {"PTO shaft", "pto", "PTO shaft"}, {"A check", "a", "a check"}, {"X", "x", "x"},
	} {
		if got := Title(test.title, test.name); got != test.want {
			t.Errorf("%q: got %q, want %q", test.title, got, test.want)
		}
	}
}
