package schedule

import (
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

const valuesKind = header + `
[setting.depth]
type = "steps"
min = 1
max = 12
step_is = "5 mm"
min_is = "10 mm"
ends = ["shallowest", "deepest"]
[setting.shims]
type = "count"
min = 0
max = 6
[setting.even]
type = "count"
min = 2
max = 12
step = 2
[setting.pressure]
type = "amount"
unit = "psi"
min = "0 psi"
max = "1500 psi"
step = "50 psi"
[setting.height]
type = "amount"
unit = "in"
min = "1/4 in"
max = "3 in"
step = "1/16 in"
[setting.slope]
type = "amount"
unit = "deg"
[setting.coupling]
type = "choice"
choices = ["carry-both", "gauge-locked-up", "packer-alone"]
[reading.reach]
unit = "in"
low = "1 in"
high = "15 in"
[reading.play]
grades = ["none", "slight", "loose", "rough"]
bad_from = "loose"
`

func TestSettingParseValue(t *testing.T) {
	f := mustFit(t, valuesKind)
	for _, c := range []struct{ setting, text, want, err string }{
		{"depth", "6", "6", ""},
		{"depth", " 12 ", "12", ""},
		{"depth", "13", "", "depth cannot be 13: it goes from 1 (shallowest) to 12 (deepest)"},
		{"depth", "0", "", "depth cannot be 0: it goes from 1 (shallowest) to 12 (deepest)"},
		{"depth", "5 1/2", "", "depth is between steps at 5.5: steps are 1"},
		{"depth", "deep", "", ""},
		{"depth", "6 notches", "", "depth cannot be 6 notches: it goes from 1 (shallowest) to 12 (deepest)"},
		{"shims", "0", "0", ""},
		{"shims", "-1", "", "shims cannot be -1: it goes from 0 to 6"},
		{"even", "4", "4", ""},
		{"even", "5", "", "even is between steps at 5: steps are 2"},
		{"pressure", "1200", "1200 psi", ""},
		{"pressure", "1200 psi", "1200 psi", ""},
		{"pressure", "1225", "", "pressure is between steps at 1225 psi: steps are 50 psi"},
		{"pressure", "1,200", "", ""},
		{"pressure", "5 in", "", ""},
		{"pressure", "0", "0 psi", ""},
		{"pressure", "-50", "", "pressure cannot be -50 psi: it goes from 0 psi to 1500 psi"},
		{"height", "5/16", "0.3125 in", ""},
		{"height", "6.35 mm", "6.35 mm", ""},
		{"height", "0.3 in", "", "height is between steps at 0.3 in: steps are 1/16 in"},
		{"height", "1/8 in", "", "height cannot be 1/8 in: it goes from 1/4 in to 3 in"},
		{"slope", "-12.5", "-12.5 deg", ""},
		{"coupling", "carry-both", "carry-both", ""},
		{"coupling", "Carry-Both", "carry-both", ""},
		{"coupling", "carry-bth", "", `coupling cannot be "carry-bth": did you mean "carry-both"?`},
		{"coupling", "6", "", `coupling cannot be "6": write carry-both, gauge-locked-up or packer-alone`},
	} {
		s, ok := f.Setting(c.setting)
		if !ok {
			t.Fatal(c.setting)
		}
		v, err := s.ParseValue(c.text)
		switch {
		case c.want != "" && (err != nil || v.String() != c.want):
			t.Errorf("%s=%s: %s, %v; want %s", c.setting, c.text, v, err, c.want)
		case c.want == "" && (err == nil || c.err != "" && err.Error() != c.err):
			t.Errorf("%s=%s: %s, %v; want the error %s", c.setting, c.text, v, err, c.err)
		}
	}
}

func TestSettingMove(t *testing.T) {
	f := mustFit(t, valuesKind)
	for _, c := range []struct{ setting, from, by, want, err string }{
		{"depth", "6", "+1", "7", ""},
		{"depth", "6", "-5", "1", ""},
		{"depth", "6", "+7", "", "+7 from 6: depth cannot be 13: it goes from 1 (shallowest) to 12 (deepest)"},
		{"depth", "6", "1", "", `"1" is no change: write +1 or -1`},
		{"depth", "", "+1", "", "depth is not known there, so +1 cannot be worked out: write the value itself"},
		{"even", "4", "+1", "", "+1 from 4: even is between steps at 5: steps are 2"},
		{"pressure", "1200 psi", "+100", "1300 psi", ""},
		{"height", "0.5 in", "+1/4 in", "0.75 in", ""},
		{"height", "0.5 in", "-1/16", "0.4375 in", ""},
		{"height", "12.7 mm", "+1/16 in", "14.2875 mm", ""},
		{"coupling", "carry-both", "+1", "gauge-locked-up", ""},
		{"coupling", "packer-alone", "-2", "carry-both", ""},
		{"coupling", "packer-alone", "+1", "", "coupling cannot go +1 from packer-alone: it is carry-both, gauge-locked-up or packer-alone"},
	} {
		s, _ := f.Setting(c.setting)
		from := record.Value{}
		if c.from != "" {
			var err error
			if from, err = record.ParseValue(c.from); err != nil {
				t.Fatal(err)
			}
		}
		v, err := s.Move(from, c.by)
		switch {
		case c.want != "" && (err != nil || v.String() != c.want):
			t.Errorf("%s %s %s: %s, %v; want %s", c.setting, c.from, c.by, v, err, c.want)
		case c.want == "" && (err == nil || err.Error() != c.err):
			t.Errorf("%s %s %s: %s, %v; want the error %s", c.setting, c.from, c.by, v, err, c.err)
		}
	}
}

// Law: moving there and back gives the value again, and what Move gives Check takes.
func TestMoveBack(t *testing.T) {
	f := mustFit(t, valuesKind)
	s, _ := f.Setting("height")
	rapid.Check(t, func(t *rapid.T) {
		from := record.Amount(quantity.New(int64(rapid.IntRange(4, 48).Draw(t, "sixteenths"))*625, 4, quantity.MustUnit("in")))
		if err := s.Check(from); err != nil {
			t.Fatal(err)
		}
		by := rapid.IntRange(0, 44).Draw(t, "by")
		there, err := s.Move(from, "+"+itoa(by)+"/16 in")
		if err != nil {
			return
		}
		if err := s.Check(there); err != nil {
			t.Fatal(err)
		}
		back, err := s.Move(there, "-"+itoa(by)+"/16 in")
		if err != nil || back != from {
			t.Fatalf("%s and %d/16 in and back: %s, %v", from, by, back, err)
		}
	})
}

func TestWorth(t *testing.T) {
	f := mustFit(t, valuesKind)
	d, _ := f.Setting("depth")
	for value, want := range map[string]string{"1": "10 mm", "2": "15 mm", "12": "65 mm"} {
		if got, ok := d.Worth(amount(value)); !ok || got != quantity.MustParse(want) {
			t.Errorf("step %s is worth %s, want %s", value, got, want)
		}
	}
	s, _ := f.Setting("shims")
	if _, ok := s.Worth(amount("2")); ok {
		t.Error("shims are worth something")
	}
}

func TestReadingParseValue(t *testing.T) {
	f := mustFit(t, valuesKind)
	reach, _ := f.Reading("reach")
	play, _ := f.Reading("play")
	v, err := reach.ParseValue("5 3/4")
	if err != nil || v.String() != "5.75 in" || !reach.Plausible(v) {
		t.Errorf("%s, %v", v, err)
	}
	for text, plausible := range map[string]bool{"1": true, "15": true, "15.01": false, "0.9": false, "575": false, "381 mm": true, "382 mm": false} {
		if v, err := reach.ParseValue(text); err != nil || reach.Plausible(v) != plausible {
			t.Errorf("%s: %v, plausible %v", text, err, reach.Plausible(v))
		}
	}
	if _, err := reach.ParseValue("ok"); err == nil {
		t.Error("a word is a length")
	}
	if v, err := play.ParseValue("Slight"); err != nil || v.Word() != "slight" {
		t.Errorf("%s, %v", v, err)
	}
	if _, err := play.ParseValue("lose"); err == nil || err.Error() != `play is a grade, not "lose": did you mean "loose" or "none"?` {
		t.Errorf("%v", err)
	}
	for _, c := range []struct {
		r  *Reading
		v  record.Value
		ok bool
	}{{reach, amount("5 in"), true}, {reach, record.Word("ok"), false}, {reach, amount("5 psi"), false}, {play, record.Word("rough"), true}, {play, record.Word("bad"), false}} {
		if err := c.r.Check(c.v); (err == nil) != c.ok {
			t.Errorf("%s %s: %v", c.r.Name, c.v, err)
		}
	}
}

func TestInWords(t *testing.T) {
	for text, want := range map[string]string{"5.0625 in": "5 1/16 in", "0.25 in": "1/4 in", "-5.25 in": "-5 1/4 in", "5 in": "5 in", "0.3 in": "0.3 in", "5.5 mm": "5.5 mm",
		"2.5 ft": "2 1/2 ft", "-0.015625 in": "-1/64 in"} {
		if got := inWords(quantity.MustParse(text)); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}
