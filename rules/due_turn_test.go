package rules

import (
	"testing"

	"shedbook/rules/record"
)

// Of jobs that are due alike those with an order come first, by it, and those without one last, whatever their names.
func TestTurnOfJobs(t *testing.T) {
	s := newShed(t, kind(`
[job.adjust]
when = [{ worked = 1 }]
[job.wash]
order = 20
when = [{ worked = 1 }]
[job.preset]
order = 10
when = [{ worked = 1 }]
`))
	s.read("2025-04-01", "hours 10 h")
	s.read("2025-04-02", "hours 20 h")
	same(t, "in turn", lines(s.due("2025-04-02")), []string{"due preset: 2025-04-02, over 0 d", "due wash: 2025-04-02, over 0 d", "due adjust: 2025-04-02, over 0 d"})
}

// Work after hitching is due once it hangs on a machine, not when it is taken off.
func TestAfterHitching(t *testing.T) {
	s := newShed(t, kind("[job.road]\nwhen = [{ after = \"hitch\" }]\n"))
	puller := s.addMachine("puller", "2025-01-01")
	hitch := func(done string, to ID) { s.add(&record.Hitch{Work: s.work(done), Carrier: to}) }
	same(t, "never hitched", lines(s.due("2025-03-31")), nil)
	hitch("2025-04-01", puller)
	same(t, "hitched", lines(s.due("2025-04-01")), []string{"due road: 2025-04-01, over 0 d"})
	s.did("2025-04-01", "road")
	hitch("2025-04-20", "")
	same(t, "taken off", lines(s.due("2025-04-21")), nil)
	hitch("2025-05-02", puller)
	same(t, "hitched again", lines(s.due("2025-05-02")), []string{"due road: 2025-05-02, over 0 d"})
}
