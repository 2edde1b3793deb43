package rules

import (
	"fmt"
	"slices"
	"sort"
	"strings"
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
	p := r.s.Problems
	key := func(p Problem) string {
		var b strings.Builder
		b.WriteString(p.Code + "\n" + string(p.Machine))
		for _, id := range p.Entries {
			b.WriteString("\n" + string(id))
		}
		return b.String() + "\n" + p.Message
	}
	sort.SliceStable(p, func(i, j int) bool { return key(p[i]) < key(p[j]) })
}

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
