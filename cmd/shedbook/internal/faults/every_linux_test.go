package faults

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
)

// withs are the faults put on every call: a full disk, a broken one, and the end of the process.
var withs = []string{"ENOSPC", "EIO", "KILL"}

// Every writing call of every command fails or is the last, one at a time: no acknowledged entry is lost, none is there twice, the book verifies, the next
// command works, and a failure is told in plain words.
func TestEveryCall(t *testing.T) {
	if !asked() {
		return
	}
	var sum table
	t.Run("scenes", func(t *testing.T) {
		for _, s := range scenes() {
			t.Run(s.name, func(t *testing.T) {
				t.Parallel()
				s.try(t, &sum)
			})
		}
	})
	t.Log("\n" + sum.text())
	if sum.lost > 0 || len(sum.rows) == 0 {
		t.Errorf("%d entries lost, %d rows", sum.lost, len(sum.rows))
	}
}

func (s *scene) try(t *testing.T, sum *table) {
	f := newFarm(t)
	if s.device == "" {
		s.device = "wren"
	}
	s.prepare(f)
	p := newPlan(f, s)
	if len(p.calls) < 3 { // open, write and answer: a trace that shows less was read wrongly
		t.Fatalf("only %d writing calls were seen: %v", len(p.calls), p.calls)
	}
	for _, hit := range p.pick(rand.New(rand.NewPCG(seed(t), uint64(len(s.name))))) {
		wrong, lost := p.meet(hit)
		for _, w := range wrong {
			t.Errorf("%s %d with %s, at %s: %s", hit.name, hit.number, hit.with, hit.kind, w)
		}
		sum.add(s.name, hit.name, p.made[hit.name], len(wrong) == 0, lost)
	}
}

// pick chooses what to try: every call, or of each group some.
func (p *plan) pick(r *rand.Rand) []fault {
	groups := map[string][]call{}
	for _, c := range p.calls {
		groups[c.group()] = append(groups[c.group()], c)
	}
	var hits []fault
	for _, name := range slices.Sorted(maps.Keys(groups)) {
		skip := r.IntN(2) // one kind of error is enough where not all is tried
		for i, with := range withs {
			calls := slices.Clone(groups[name])
			if !every() {
				if i == skip {
					continue
				}
				r.Shuffle(len(calls), func(i, j int) { calls[i], calls[j] = calls[j], calls[i] })
				calls = calls[:1]
			}
			for _, c := range calls {
				hits = append(hits, fault{c, with})
			}
		}
	}
	return hits
}

// table is what came of it: a row for each command and call.
type table struct {
	mu   sync.Mutex
	rows map[[2]string]*row
	lost int
}

type row struct{ made, tried, survived, lost int }

func (s *table) add(command, name string, made int, survived bool, lost int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.rows == nil {
		s.rows = map[[2]string]*row{}
	}
	at := [2]string{command, name}
	if s.rows[at] == nil {
		s.rows[at] = &row{made: made}
	}
	r := s.rows[at]
	r.tried++
	if survived {
		r.survived++
	}
	r.lost += lost
	s.lost += lost
}

func (s *table) text() string {
	const form = "%-28s %-10s %8v %8v %8v %8v\n"
	out := fmt.Sprintf(form, "command", "call", "made", "tried", "survived", "lost")
	var all row
	commands := map[string]*row{}
	for _, at := range slices.SortedFunc(maps.Keys(s.rows), func(a, b [2]string) int { return slices.Compare(a[:], b[:]) }) {
		r := s.rows[at]
		out += fmt.Sprintf(form, at[0], at[1], r.made, r.tried, r.survived, r.lost)
		if commands[at[0]] == nil {
			commands[at[0]] = &row{}
		}
		for _, to := range []*row{commands[at[0]], &all} {
			to.made, to.tried, to.survived, to.lost = to.made+r.made, to.tried+r.tried, to.survived+r.survived, to.lost+r.lost
		}
	}
	for _, name := range slices.Sorted(maps.Keys(commands)) {
		r := commands[name]
		out += fmt.Sprintf(form, name, "all", r.made, r.tried, r.survived, r.lost)
	}
	return out + fmt.Sprintf(form, "all", "all", all.made, all.tried, all.survived, all.lost)
}
