package rules

import (
	"slices"

	"shedbook/rules/record"
)

// included leaves out a smaller job where a bigger one that includes it stands at least as badly there, and says so with the bigger one.
func (j *judge) included(found []finding) []finding {
	at := map[string]map[string]int{} // job -> place -> index in found
	for i, f := range found {
		if at[f.Job] == nil {
			at[f.Job] = map[string]int{}
		}
		at[f.Job][f.place.String()] = i
	}
	gone := map[int]bool{}
	for i := range found {
		big := &found[i]
		if big.State == Unknown || big.State == Later {
			continue
		}
		for _, name := range j.smaller(big.Job) {
			hidden := false
			for place, k := range at[name] {
				small := &found[k]
				covered := place == big.place.String() || big.place.Noun == ""
				if covered && small.Cause != ByFault && slices.Index(stateOrder, small.State) >= slices.Index(stateOrder, big.State) {
					gone[k], hidden = true, true
					if slices.Index(record.Severities, small.Severity) < slices.Index(record.Severities, big.Severity) {
						big.Severity = small.Severity
					}
				}
			}
			if hidden {
				big.Includes = append(big.Includes, name)
			}
		}
	}
	var kept []finding
	for i, f := range found {
		if gone[i] {
			continue
		}
		if len(f.Includes) > 0 {
			f.Why += "; includes " + inWords(j.titles(f.Includes))
		}
		kept = append(kept, f)
	}
	return kept
}

// smaller are the jobs a job includes, those of included jobs too, in the schedule's order.
func (j *judge) smaller(job string) []string {
	var names []string
	var add func(name string)
	add = func(name string) {
		big, ok := j.m.Fitted.Job(name)
		if !ok {
			return
		}
		for _, s := range big.Includes {
			if s != job && !slices.Contains(names, s) {
				names = append(names, s)
				add(s)
			}
		}
	}
	add(job)
	return names
}
