package rules

import (
	"fmt"
	"math"
	"strconv"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// forecastReading judges parts that are likely to pass their limit before the season ends: each whose chance of it is ChangeChance or more. What is past it
// already is for a trigger on the reading itself to say; a doing of the job after the last reading answers it.
func (j *judge) forecastReading(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	def, ok := j.m.Fitted.Reading(t.Forecast)
	if !ok {
		return nil
	}
	w := j.wears[def.Name]
	if w == nil {
		w = j.wear(def, 0)
		j.wears[def.Name] = w
	}
	if w.Err != nil {
		return nil
	}
	var here []*Worn
	for i := range w.Parts {
		q := &w.Parts[i]
		if q.Do == ChangeNow && !q.Forecast.Past && (job.Of != def.Of || q.Place == p) && (q.Last == nil || !j.answered(job, p, q.Last)) {
			here = append(here, q)
		}
	}
	if len(here) == 0 {
		return nil
	}
	soonest := here[0]
	for _, q := range here[1:] {
		if q.Forecast.Left < soonest.Forecast.Left {
			soonest = q
		}
	}
	v := verdict{state: Coming, cause: ByForecast, expected: soonest.On}
	if at, err := w.Counter.Life.Add(floatAmount(soonest.Forecast.Left, w.Counter.Unit, 0)); err == nil {
		v.due = Amount{Counter: w.Counter.Name, Value: at, Estimated: true}
	}
	until, togo := "before "+w.Ahead.Name+" ends", w.Ahead.Name+" has "+w.Use(w.Ahead.Use).String()+" to go"
	if w.Ahead.Name == "" { // no season is known, so it is looked as far ahead as was worked in the last months
		until, togo = "within another "+w.Use(w.Ahead.Use).String(), "looked ahead over "+w.Use(w.Ahead.Use).String()
	}
	v.brief = "likely worn out " + until
	if len(here) > 1 {
		v.brief = strconv.Itoa(len(here)) + " " + v.brief
	}
	for _, q := range here {
		v.entries = append(v.entries, q.Entries...)
	}
	f := soonest.Forecast
	v.why = fmt.Sprintf("%s about %s now, %s per %s, limit %s: likely %s more (%s to %s, four times in five); %s (%s)", readingTitle(def), w.Amount(f.Size, 2), w.Amount(f.Rate*100, 3),
		w.Use(100), w.Amount(w.Limit, 3), w.Use(f.Left), w.Use(f.Limits.Low), far(w, f.Limits.High), togo, w.Ahead.From)
	return []verdict{v}
}

func far(w *Wear, v float64) string {
	if math.IsInf(v, 1) {
		return "far off"
	}
	return w.Use(v).String()
}
