package rules

import (
	"cmp"
	"fmt"
	"slices"
)

// problem says something that cannot be judged or does not fit. It is said only of entries that have come into effect by the day.
func (r *replay) problem(code string, machine ID, entries []ID, format string, args ...any) {
	r.s.Problems = append(r.s.Problems, Problem{Code: code, Machine: machine, Entries: unique(entries), Message: fmt.Sprintf(format, args...)})
}

// once says a problem of a machine a single time, however many entries have it; the first one is named.
func (r *replay) once(u *unit, code string, entry ID, format string, args ...any) {
	message := fmt.Sprintf(format, args...)
	if key := code + "\n" + message; !u.said[key] {
		u.said[key] = true
		r.problem(code, u.m.ID, []ID{entry}, "%s", message)
	}
}

func (r *replay) sortProblems() {
	slices.SortStableFunc(r.s.Problems, compareProblems)
}

// sortedProblems sorts; of those that are of no machine, one that was found more than once stays once.
func sortedProblems(list []Problem) []Problem {
	slices.SortStableFunc(list, compareProblems)
	return slices.CompactFunc(list, func(a, b Problem) bool { return a.Machine == "" && compareProblems(a, b) == 0 })
}

func compareProblems(a, b Problem) int {
	return cmp.Or(cmp.Compare(a.Code, b.Code), cmp.Compare(a.Machine, b.Machine), slices.Compare(a.Entries, b.Entries), cmp.Compare(a.Message, b.Message))
}

// sameName is the code of the Problem that two machines are called alike.
const sameName = "same-name"

// unique drops doubled and empty ids and keeps the order.
func unique(ids []ID) []ID {
	var out []ID
	for _, id := range ids {
		if id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}
