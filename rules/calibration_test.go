package rules

import (
	"testing"

	"shedbook/rules/record"
)

// calibrated is a drill whose rate is worked out from a catch: weight, turns of the wheel, its way round, the width caught.
const calibrated = `
[option.round]
type = "amount"
unit = "ft"
default = "8 ft"
[option.row]
type = "amount"
unit = "in"
default = "7.5 in"
[setting.wanted]
title = "rate wanted"
type = "amount"
unit = "lb/ac"
[reading.caught]
unit = "g"
[reading.turns]
unit = "turns"
[reading.rate]
unit = "lb/ac"
computed = { how = "product", from = ["caught"], by = ["turns", "=round", "=row"] }
[reading.rate-share]
unit = "%"
computed = { how = "ratio", from = ["rate", "wanted"] }
limit = { min = "97 %", max = "103 %" }
[job.calibrate]
measures = ["caught", "turns"]
when = [{ season = "before", work = "seeding" }, { past = "rate-share" }]
`

// Soil Health Labs (South Dakota), "How to calibrate a grain drill", part 5: 20 turns of a wheel of 8 ft, one row of 0.625 ft (7.5 in), 100 ft2; 25 lb/ac
// is 26.0326 g of it (with 453.59237 g to the pound; the page's 454 gives 26.056). Caught and counted on one day it is one calibration; and it is as one
// that the job is done.
func TestCalibration(t *testing.T) {
	s := newShed(t, kind(calibrated))
	rate := func(on string) []*Reading { t.Helper(); return s.state(on).Machine("rig").Readings["rate"][""] }
	set(s, "2025-03-30", "wanted", "25 lb/ac")
	s.measure("2025-04-01", "turns", "=20 turns")
	if got := rate("2025-04-01"); len(got) != 0 {
		t.Fatalf("a rate without a catch: %v", got[0].Found)
	}
	s.measure("2025-04-01", "caught", "=26.0326 g")
	got := rate("2025-04-01")
	if len(got) != 1 || got[0].Found.String() != "25 lb/ac" || !got[0].Computed {
		t.Fatalf("rate %+v", got)
	}
	if share := s.state("2025-04-01").Machine("rig").Readings["rate-share"][""]; len(share) != 1 || share[0].Found.String() != "100 %" {
		t.Errorf("share of what is wanted %+v", share)
	}
	st := s.state("2025-04-01")
	if log := st.Machine("rig").Jobs["calibrate"]; log == nil || log.Done[""][0].Via != "measure" {
		t.Errorf("the calibration is not done: %+v", log)
	}
	same(t, "good", lines(s.due("2025-04-01")), nil)
	// the next day's catch does not go with this day's turns
	s.measure("2025-04-02", "caught", "=27 g")
	if got := rate("2025-04-02"); len(got) != 1 {
		t.Errorf("%d rates, want the one of the day before", len(got))
	}
	// turns are counted anew: 27 g / (20 x 8 ft x 7.5 in) is 25 x 27 / 26.0326 = 25.929 lb/ac, 103.7 % of what is wanted: once more
	s.measure("2025-04-02T10:00", "turns", "=20 turns")
	got = rate("2025-04-02")
	if len(got) != 2 || got[1].Found.String() != "25.929 lb/ac" {
		t.Fatalf("rate %v", got[len(got)-1].Found)
	}
	same(t, "3 % off", lines(s.due("2025-04-02")), []string{"due calibrate: 2025-04-02, over 0 d"})
}

// Options are the machine's own: of a wheel of 7 ft the same catch comes from less ground.
func TestCalibrationOptions(t *testing.T) {
	s := newShed(t, kind(calibrated), record.Option{Name: "round", Value: "7 ft"})
	s.measure("2025-04-01", "turns", "=20 turns")
	s.measure("2025-04-01", "caught", "=26.0326 g")
	got := s.state("2025-04-01").Machine("rig").Readings["rate"][""]
	if len(got) != 1 || got[0].Found.String() != "28.5714 lb/ac" { // 25 x 8 / 7
		t.Errorf("rate %+v", got[0].Found)
	}
}
