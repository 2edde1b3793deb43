package rules

import (
	"math"
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Effective field capacities printed by Iowa State University Extension, A3-24 "Estimating the Field Capacity of Farm Machines", table 1, to 0.1 ac/h.
// A hundred hours at the printed capacity are worked out as a hundred hours, within what printing to 0.1 leaves open.
func TestHoursFromArea(t *testing.T) {
	for _, c := range []struct {
		machine, width, speed, efficiency string
		acresAnHour                       float64
	}{
		{"fertilizer spreader", "40 ft", "6 mph", "70 %", 20.4},
		{"fertilizer spreader", "60 ft", "12 mph", "68 %", 59.3},
		{"fertilizer spreader", "80 ft", "6 mph", "68 %", 39.6},
		{"manure spreader", "15 ft", "5 mph", "63 %", 5.7},
		{"manure spreader", "36 ft", "5 mph", "60 %", 13.1},
		{"anhydrous applicator, 9 knives", "22.5 ft", "5 mph", "65 %", 8.9},
		{"plow, 8 x 18 in", "12 ft", "5 mph", "85 %", 6.2},
		{"chisel plow, 16 ft 3 in", "16.25 ft", "5.5 mph", "83 %", 9.0},
		{"30 ft at 60 %", "30 ft", "5 mph", "60 %", 10.9},
	} {
		t.Run(c.machine+" "+c.width, func(t *testing.T) {
			b := newNotebook(t)
			text := strings.Replace(drillText, `width = "40 ft", speed = "6 mph", efficiency = "70 %"`, `width = "`+c.width+`", speed = "`+c.speed+`", efficiency = "`+c.efficiency+`"`, 1)
			if c.width != "40 ft" && text == drillText {
				t.Fatal("the schedule was not changed")
			}
			b.add(&record.Schedule{Name: "drill", Text: text})
			b.reads("2026-04-01", "area at 0 ac")
			at := quantity.MustParse("1 ac").Mul(ratOfFloat(100*c.acresAnHour), 0)
			b.add(&record.Counter{Work: b.on("2026-05-01"), Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: at}}})
			h := b.drill("2026-05-01").Counters["hours"]
			wantEqual(t, "derived", h.Derived, true)
			if got, open := h.Life.Float64(), 100*0.06/c.acresAnHour; math.Abs(got-100) > open {
				t.Errorf("%s of %s: %v h, want 100 within %.2f", at, c.machine, got, open)
			}
		})
	}
}

func TestDerivedGivesWayToReadings(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 0 ac")
	b.reads("2026-04-11", "area at 448 ac") // 40 ft x 6 mph x 70 % / 8.25 = 20.3636 ac/h: 22 h
	h := b.drill("2026-04-11").Counters["hours"]
	wantQ(t, "hours", h.Life, "22 h")
	wantEqual(t, "rule", h.Reason.Rule, "worked out: area at 20.3636 ac/h (40 ft x 6 mi/h x 70 %)")
	got, _ := b.drill("2026-04-11").UseAt("hours", "2026-04-06")
	wantQ(t, "half way", got, "11 h")
	b.reads("2026-04-11", "hours at 30 h")
	h = b.drill("2026-04-11").Counters["hours"]
	wantQ(t, "hours as read", h.Life, "30 h")
	wantEqual(t, "derived", h.Derived, false)
}

// The cart was hitched to the tractor from 10 to 16 h (read at the time), then stood, then from 40 h on: 6 + 5 = 11 h by the reading of 45 h.
func TestHoursOfTheCarrier(t *testing.T) {
	b := newNotebook(t)
	b.machine("tractor", "tractor", "2026-01-01")
	b.machine("cart", "cart", "2026-01-01")
	hitch := func(done, carrier string) {
		b.add(&record.Hitch{Work: b.of("cart", done), Carrier: b.names[carrier]})
	}
	b.counts("tractor", "2026-04-01T08:00", "hours at 10 h")
	hitch("2026-04-01T08:00", "tractor")
	b.counts("tractor", "2026-04-01T14:00", "hours at 16 h")
	hitch("2026-04-01T14:00", "")
	b.counts("tractor", "2026-04-20T08:00", "hours at 40 h")
	hitch("2026-04-20T08:00", "tractor")
	b.counts("tractor", "2026-04-20T20:00", "hours at 45 h")
	s := b.state("2026-04-30")
	wantQ(t, "hours", s.Machine("cart").Counters["hours"].Life, "11 h")
	wantEqual(t, "carrier", s.Machine("cart").Carrier, b.names["tractor"])
	got, _ := s.Machine("cart").UseAt("hours", "2026-04-10")
	wantQ(t, "while it stood", got, "6 h")
	// hitched, it is thought to go on at the recent rate; unhitched, it stands still whatever the tractor does
	hitch("2026-04-21", "")
	b.counts("tractor", "2026-04-28", "hours at 90 h")
	wantEqual(t, "estimated while hitched", s.Machine("cart").Counters["hours"].Estimated, true)
	still := b.state("2026-04-30").Machine("cart").Counters["hours"]
	wantEqual(t, "estimated while it stands", still.Estimated, false)
	wantEqual(t, "a rate while it stands", still.PerDay == nil, true)
}

// Two machines each said to be pulled by the other rest on nothing.
func TestCarriersInACircle(t *testing.T) {
	b := newNotebook(t)
	b.machine("one", "cart", "2026-01-01")
	b.machine("two", "cart", "2026-01-01")
	b.add(&record.Hitch{Work: b.of("one", "2026-04-01"), Carrier: b.names["two"]})
	b.add(&record.Hitch{Work: b.of("two", "2026-04-01"), Carrier: b.names["one"]})
	s := b.state("2026-04-30")
	for _, name := range []string{"one", "two"} {
		wantEqual(t, name+" known", s.Machine(name).Counters["hours"].Known, false)
	}
}
