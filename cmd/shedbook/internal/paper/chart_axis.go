package paper

import (
	"fmt"
	"time"
)

// dayNumber counts days; NaN is never returned: ok is false for what is no day.
func dayNumber(day string) (float64, bool) {
	if len(day) > len("2026-04-01") {
		day = day[:len("2026-04-01")]
	}
	t, err := time.Parse("2006-01-02", day)
	if err != nil {
		return 0, false
	}
	return float64(t.Unix()) / 86400, true
}

// valueAxis draws the lines of round values across a field and letters them at its left.
func (d *drawing) valueAxis(y scale, left, right float64, unit string) {
	all := ticks(y.lo, y.hi, 4)
	step := 1.0
	if len(all) > 1 {
		step = all[1] - all[0]
	}
	for _, v := range all {
		d.line("grid", [2]float64{left, y.at(v)}, [2]float64{right, y.at(v)})
		d.words("tick at-end", left-6, y.at(v)+4, tickText(v, step))
	}
	d.words("tick", 0, y.to-10, unit)
}

// timeAxis letters years under a field, or months where it is shorter than a year and a half.
func (d *drawing) timeAxis(x scale, top, bottom float64) {
	from := time.Unix(int64(x.lo*86400), 0).UTC()
	if x.hi-x.lo > 550 {
		years := int((x.hi-x.lo)/365.25) + 1
		every := years/max(1, int((x.to-x.from)/52)) + 1
		for y := from.Year(); y <= from.Year()+years+1; y++ {
			v := float64(time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC).Unix()) / 86400
			if v < x.lo && y == from.Year() && x.at(float64(time.Date(y+1, 1, 1, 0, 0, 0, 0, time.UTC).Unix())/86400)-x.from > 60 {
				d.words("tick", x.from, bottom+16, fmt.Sprint(y)) // the year in which it begins
			}
			if v < x.lo || v > x.hi {
				continue
			}
			d.line("grid", [2]float64{x.at(v), top}, [2]float64{x.at(v), bottom})
			if y%every == 0 {
				d.words("tick at-middle", x.at(v), bottom+16, fmt.Sprint(y))
			}
		}
		return
	}
	months := int((x.hi-x.lo)/30.4) + 1
	every := months/max(1, int((x.to-x.from)/64)) + 1
	for i := 0; i <= months+1; i++ {
		at := time.Date(from.Year(), from.Month()+time.Month(i), 1, 0, 0, 0, 0, time.UTC)
		v := float64(at.Unix()) / 86400
		if v < x.lo || v > x.hi || (int(at.Month())-1)%every != 0 {
			continue
		}
		d.line("grid", [2]float64{x.at(v), top}, [2]float64{x.at(v), bottom})
		d.words("tick at-middle", x.at(v), bottom+16, at.Format("2006-01"))
	}
}

// useAxis letters round amounts of use under a field.
func (d *drawing) useAxis(x scale, top, bottom float64, unit string) {
	all := ticks(x.lo, x.hi, max(2, int((x.to-x.from)/90)))
	step := 1.0
	if len(all) > 1 {
		step = all[1] - all[0]
	}
	for _, v := range all {
		d.line("grid", [2]float64{x.at(v), top}, [2]float64{x.at(v), bottom})
		d.words("tick at-middle", x.at(v), bottom+16, tickText(v, step))
	}
	d.words("tick at-end", x.to, bottom+32, unit)
}
