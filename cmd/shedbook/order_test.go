package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// history is a random book told by several devices that hold different parts of it, with forks, quarrelling owners and lost entries.
type history struct {
	t       *rapid.T
	random  io.Reader
	now     time.Time
	devices []*told
	all     map[ledger.ID]*ledger.Entry
	order   []*ledger.Entry // in the order they were signed
	machine record.ID
	key     ledger.MachineKey
	other   record.ID // a second machine of its kind, to which parts go
	its     ledger.MachineKey
	work    []*ledger.Entry // original work entries
}

// told is one device: its key and what it holds. Two of them share a key where a folder was copied.
type told struct {
	key  *ledger.Key
	view *ledger.Book
}

func (h *history) sign(d *told, draft ledger.Draft) *ledger.Entry {
	pos := ledger.Position{Seq: 1, Depth: 1}
	if d.view != nil {
		var err error
		if pos, err = d.view.Next(ledger.WriterOf(d.key.Public())); err != nil {
			return nil // it holds both chains of its key: it must go on with a new one
		}
	}
	h.now = h.now.Add(time.Duration(1+rapid.IntRange(0, 90).Draw(h.t, "minutes")) * time.Minute)
	draft.At = h.now
	if draft.At.Before(pos.PrevAt) {
		draft.At = pos.PrevAt
	}
	e, err := ledger.Sign(draft, pos, d.key, h.random)
	if err != nil {
		h.t.Fatalf("sign %s: %v", draft.Kind, err)
	}
	if d.view == nil {
		d.view, err = ledger.Load([]ledger.Log{{Name: e.Writer().String(), Lines: [][]byte{e.Line()}}})
	} else {
		err = d.view.Append(e)
	}
	if err != nil {
		h.t.Fatalf("append %s: %v", draft.Kind, err)
	}
	h.all[e.ID()] = e
	h.order = append(h.order, e)
	return e
}

// logs are the chains of some entries, whole from their first one.
func logsOf(entries []*ledger.Entry) []ledger.Log {
	by := map[ledger.ID]*ledger.Entry{}
	continued := map[ledger.ID]bool{}
	for _, e := range entries {
		by[e.ID()] = e
		continued[e.Prev()] = true
	}
	var logs []ledger.Log
	for _, e := range entries {
		if continued[e.ID()] {
			continue
		}
		var lines [][]byte
		for at := e; at != nil; at = by[at.Prev()] {
			lines = append(lines, at.Line())
		}
		slices.Reverse(lines)
		logs = append(logs, ledger.Log{Name: fmt.Sprintf("%s.%s", e.Writer(), e.ID().String()[:16]), Lines: lines})
	}
	return logs
}

// meet lets one device take in what another holds.
func (h *history) meet(a, b *told) {
	both := map[ledger.ID]*ledger.Entry{}
	for _, view := range []*ledger.Book{a.view, b.view} {
		for _, e := range view.Entries() {
			both[e.ID()] = e
		}
	}
	var held []*ledger.Entry
	for _, e := range h.order {
		if both[e.ID()] != nil {
			held = append(held, e)
		}
	}
	view, err := ledger.Load(logsOf(held))
	if err != nil {
		h.t.Fatal(err)
	}
	a.view = view
}

func tellHistory(t *rapid.T, drill *schedule.Schedule) *history {
	h := &history{t: t, now: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC), all: map[ledger.ID]*ledger.Entry{},
		random: rand.NewChaCha8([32]byte{byte(rapid.IntRange(0, 255).Draw(t, "seed"))})}
	newKey := func() *ledger.Key {
		k, err := ledger.NewKey(h.random)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	public := func(k *ledger.Key) (p ledger.PublicKey) { copy(p[:], k.Public()); return p }
	founder := &told{key: newKey()}
	h.devices = append(h.devices, founder)
	h.sign(founder, ledger.Draft{Class: ledger.Control, Kind: "found", Record: ledger.Found{Title: "made up", Key: public(founder.key), Recovery: public(newKey())}})
	shared := func(r record.Record) record.ID {
		return record.ID(h.sign(founder, ledger.Draft{Class: ledger.Shared, Kind: r.Kind(), Record: r}).ID().String())
	}
	farm := shared(&record.Farm{Name: "Alder Farm"})
	yard := shared(&record.Yard{Name: "home", Farm: farm})
	shared(&record.Schedule{Name: drill.Name, Text: drill.Text})
	shared(&record.Season{Act: "open", Name: "spring", Work: "seeding", Done: "2026-03-02"})
	h.key, _ = ledger.NewMachineKey(h.random)
	text, _ := h.key.MarshalText()
	h.machine = record.ID(h.sign(founder, ledger.Draft{Class: ledger.Work, Kind: "machine", Machine: &h.key, Record: &record.Machine{
		Work: record.Work{Done: "2026-03-01", Counters: []record.CounterAt{{Counter: "area", At: amountOf(100)}}}, Key: string(text), Name: "drill", Schedule: drill.Name, Yard: yard,
		Options: []record.Option{{Name: "openers", Value: "6"}}}}).ID().String())
	h.its, _ = ledger.NewMachineKey(h.random)
	text, _ = h.its.MarshalText()
	h.other = record.ID(h.sign(founder, ledger.Draft{Class: ledger.Work, Kind: "machine", Machine: &h.its, Record: &record.Machine{
		Work: record.Work{Done: "2026-03-01", Counters: []record.CounterAt{{Counter: "area", At: amountOf(40)}}}, Key: string(text), Name: "drill2", Schedule: drill.Name, Yard: yard,
		Options: []record.Option{{Name: "openers", Value: "6"}}}}).ID().String())
	for i := range rapid.IntRange(2, 4).Draw(t, "devices") {
		d := &told{key: newKey()}
		h.meet2(d, founder)
		h.sign(d, ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: public(d.key)}})
		h.devices = append(h.devices, d)
		h.meet(founder, d)
		if rapid.IntRange(0, 5).Draw(t, "pending") > 0 {
			role := ledger.RoleWorker
			if i%2 == 0 {
				role = ledger.RoleOwner
			}
			h.sign(founder, ledger.Draft{Class: ledger.Control, Kind: "admit", Record: ledger.Admit{Key: public(d.key), Role: role}})
			h.meet(d, founder)
		}
	}
	for range rapid.IntRange(5, 25).Draw(t, "steps") {
		h.step()
	}
	return h
}

// meet2 gives a new device what another holds.
func (h *history) meet2(d, from *told) {
	view, err := ledger.Load(logsOf(from.view.Entries()))
	if err != nil {
		h.t.Fatal(err)
	}
	d.view = view
}

func amountOf(n int) record.Quantity {
	v, err := record.ParseValue(fmt.Sprintf("%d ac", n))
	if err != nil {
		panic(err)
	}
	q, _ := v.Quantity()
	return q
}

func (h *history) step() {
	d := rapid.SampledFrom(h.devices).Draw(h.t, "device")
	opener := func(label string) record.Positions {
		n := rapid.IntRange(1, 6).Draw(h.t, label)
		return record.Span("opener", n, rapid.IntRange(n, 6).Draw(h.t, label+" to"))
	}
	work := func() record.Work {
		return record.Work{Machine: h.machine, Done: record.Done(fmt.Sprintf("2026-03-%02d", rapid.IntRange(1, 28).Draw(h.t, "day")))}
	}
	add := func(r record.Record) *ledger.Entry {
		return h.sign(d, ledger.Draft{Class: ledger.Work, Kind: r.Kind(), Record: r, Machine: &h.key})
	}
	switch rapid.SampledFrom([]string{"depth", "did", "fault", "swap", "exchange", "lend", "other", "counter", "correct", "strike", "meet", "meet", "meet", "stop", "fork"}).Draw(h.t, "act") {
	case "depth":
		v, _ := record.ParseValue(fmt.Sprint(rapid.IntRange(1, 12).Draw(h.t, "hole")))
		h.keep(add(&record.Adjust{Work: work(), Changes: []record.Change{{Setting: "depth", Positions: opener("at"), To: v}}}))
	case "did":
		h.keep(add(&record.Did{Work: work(), Job: rapid.SampledFrom([]string{"grease", "preset", "torque-check"}).Draw(h.t, "job"), Positions: opener("at")}))
	case "fault":
		h.keep(add(&record.Fault{Work: work(), Severity: "soon", Positions: opener("at"), TiedUp: rapid.Bool().Draw(h.t, "tied")}))
	case "swap":
		h.keep(add(&record.Swap{Work: work(), Part: "disc", Positions: opener("at"), Act: record.SwapNew, Why: "worn"}))
	case "exchange":
		a := rapid.IntRange(1, 3).Draw(h.t, "one")
		h.keep(add(&record.Swap{Work: work(), Part: "disc", Positions: record.Span("opener", a, a), With: record.Span("opener", a+3, a+3), Act: record.SwapExchange}))
	case "lend": // a disc of one machine goes into the other
		n, to := rapid.IntRange(1, 6).Draw(h.t, "from"), rapid.IntRange(1, 6).Draw(h.t, "into")
		w := work()
		w.Machine = h.other
		r := &record.Swap{Work: w, Part: "disc", Positions: record.Span("opener", to, to), Act: record.SwapIn, Parts: []string{fmt.Sprintf("original/%s/disc/opener/%d", h.machine, n)}}
		h.sign(d, ledger.Draft{Class: ledger.Work, Kind: r.Kind(), Record: r, Machine: &h.its})
	case "other":
		w := work()
		w.Machine = h.other
		r := &record.Did{Work: w, Job: "grease", Positions: opener("at")}
		h.sign(d, ledger.Draft{Class: ledger.Work, Kind: r.Kind(), Record: r, Machine: &h.its})
	case "counter":
		h.keep(add(&record.Counter{Work: work(), Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: amountOf(rapid.IntRange(50, 900).Draw(h.t, "acres"))}}}))
	case "correct":
		if len(h.work) == 0 {
			return
		}
		target := rapid.SampledFrom(h.work).Draw(h.t, "target")
		r, err := record.Decode(target.Kind(), target.Record())
		if err != nil {
			h.t.Fatal(err)
		}
		record.Base(r).Done = work().Done
		raw, err := record.Encode(r)
		if err != nil {
			h.t.Fatal(err)
		}
		add(&record.Correct{Machine: h.machine, Entry: record.ID(target.ID().String()), As: target.Kind(), Record: raw})
	case "strike":
		if len(h.work) > 0 {
			target := rapid.SampledFrom(h.work).Draw(h.t, "target")
			add(&record.Strike{Machine: h.machine, Entry: record.ID(target.ID().String())})
		}
	case "meet":
		other := rapid.SampledFrom(h.devices).Draw(h.t, "other")
		h.meet(d, other)
		h.meet(other, d)
	case "stop": // owners may stop each other at once: neither has seen the other's stop
		target := ledger.WriterOf(rapid.SampledFrom(h.devices).Draw(h.t, "stopped").key.Public())
		stop := ledger.Stop{Writer: target, Why: ledger.WhyLeft, Tips: []ledger.Tip{}}
		for _, tip := range d.view.Tips(target) {
			stop.Tips = append(stop.Tips, ledger.Tip{ID: tip.ID, Seq: tip.Seq})
		}
		h.sign(d, ledger.Draft{Class: ledger.Control, Kind: "stop", Record: stop})
	case "fork": // a copied folder: the same key goes on in two places
		if len(h.devices) < 8 {
			twin := &told{key: d.key}
			h.meet2(twin, d)
			h.devices = append(h.devices, twin)
		}
	}
}

func (h *history) keep(e *ledger.Entry) {
	if e != nil {
		h.work = append(h.work, e)
	}
}

// answers are the bytes of show --json of the book and its machine, and of due --json, from logs in the order given.
func answers(t *rapid.T, logs []ledger.Log) string {
	log, err := ledger.Load(logs)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	e := &env{stdout: &out, stderr: io.Discard, getenv: func(string) string { return "" }, now: func() time.Time { return time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC) }}
	c := &call{env: e, common: &common{json: true}, cmd: &command{}}
	b := &book{c: c, log: log, judged: log.Judge(), states: map[rules.Options]*rules.State{}}
	st, err := b.now()
	if err != nil {
		t.Fatal(err)
	}
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	check(c.printJSON(c.viewBook(b, st)))
	l, err := lookAt(st, []string{"drill"})
	check(err)
	check(c.printJSON(c.viewMachine(st, l)))
	list, err := gatherDue([]*book{b}, "", "", "", rules.Filter{All: true}, "", "")
	check(err)
	check(c.printJSON(list.json(c)))
	return out.String()
}

// TestAnyOrderSameAnswer states the law that lets yards share a book: whoever holds the same entries gives byte-identical answers, in whatever order and
// under whatever names the logs came; quarrelling owners, forked logs and entries that wait for lost ones included.
func TestAnyOrderSameAnswer(t *testing.T) {
	drill, ok := schedule.Builtin("disc-drill")
	if !ok {
		t.Fatal("no disc-drill")
	}
	waited, forked, stopped := 0, 0, 0
	if os.Getenv("SHEDBOOK_TEST") != "full" {
		setRapid(t, "rapid.checks", "60")
	}
	rapid.Check(t, func(t *rapid.T) {
		h := tellHistory(t, drill)
		held := h.order
		if lost := rapid.IntRange(0, 3).Draw(t, "lost"); lost > 0 && len(held) > 12 { // some entries were lost for good; what cites them waits
			gone := map[ledger.ID]bool{}
			for range lost {
				gone[rapid.SampledFrom(held[9:]).Draw(t, "gone").ID()] = true
			}
			var left []*ledger.Entry
			for _, e := range held { // what continues a lost entry cannot be stored either
				if gone[e.ID()] || gone[e.Prev()] {
					gone[e.ID()] = true
					continue
				}
				left = append(left, e)
			}
			held = left
		}
		logs := logsOf(held)
		want := answers(t, logs)
		for range 3 {
			if got := answers(t, rapid.Permutation(logs).Draw(t, "order")); got != want {
				t.Fatalf("another order of the logs gave another answer:\n%s\n%s", want, got)
			}
		}
		book, err := ledger.Load(logs)
		if err != nil {
			t.Fatal(err)
		}
		judged := book.Judge()
		for _, e := range book.Entries() {
			switch judged.Status(e) {
			case ledger.Waiting:
				waited++
			case ledger.Stopped:
				stopped++
			}
		}
		for _, d := range judged.Devices() {
			if len(d.Tips) > 1 {
				forked++
			}
		}
	})
	if waited == 0 || forked == 0 || stopped == 0 {
		t.Errorf("the histories had %d waiting and %d stopped entries and %d forked logs: they show nothing", waited, stopped, forked)
	}
	t.Logf("%d waiting, %d stopped entries, %d forked logs", waited, stopped, forked)
}
