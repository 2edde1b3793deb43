package rules_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

const tractorKind = `shedbook_schedule = 1
name = "tractor"
[counter.hours]
unit = "h"
main = true
`

const (
	ada = record.ID("ada0000000000000000000000000000000000000000000000000000000000000") // an owner
	bo  = record.ID("b000000000000000000000000000000000000000000000000000000000000000") // a worker
)

// book is a drawn history: two rigs and a tractor, on two farms, written by an owner and a worker.
type book struct {
	d        *dice
	kind     string
	jobs     []*jobDraw
	entries  []rules.Entry
	yards    []record.ID
	machines []record.ID // two rigs, then the tractor
	days     []record.Done
	faults   []record.ID
	outs     map[record.ID][]string // machine of the disc that was taken out -> part ids
	named    []int                  // entries that may be corrected or struck
}

const firstDay = "2025-01-01"

func drawBook(d *dice, most int) *book {
	b := &book{d: d, outs: map[record.ID][]string{}}
	b.kind, b.jobs = drawKind(d)
	for _, farm := range []string{"creek", "ridge"} {
		f := b.write(ada, true, 1, &record.Farm{Name: farm})
		b.yards = append(b.yards, b.write(ada, true, 2, &record.Yard{Name: farm + " yard", Farm: f}))
	}
	b.write(ada, true, 3, &record.Schedule{Name: "rig", Text: b.kind})
	b.write(ada, true, 3, &record.Schedule{Name: "tractor", Text: tractorKind})
	for i, name := range []string{"rig-a", "rig-b", "puller"} {
		kind := []string{"rig", "rig", "tractor"}[i]
		key := sha256.Sum256([]byte(name))
		m := &record.Machine{Work: record.Work{Done: firstDay}, Name: name, Schedule: kind, Yard: b.yards[i%2], Key: base64.RawURLEncoding.EncodeToString(key[:]),
			Year: choose(d, "year", 0, 2019)}
		b.machines = append(b.machines, b.write(ada, true, 4, m))
	}
	depth := uint64(5)
	for range between(d, "entries", 2, most) {
		if !chance(d, "beside", 4) { // else written beside the one before, at the same depth
			depth++
		}
		b.draw(depth)
	}
	return b
}

func (b *book) write(person record.ID, owner bool, depth uint64, rec record.Record) record.ID {
	if err := rec.Check(); err != nil {
		panic(fmt.Sprintf("%s: %v", rec.Kind(), err))
	}
	n := len(b.entries)
	digest := sha256.Sum256(fmt.Appendf(nil, "entry %d", n))
	id := record.ID(hex.EncodeToString(digest[:]))
	day := firstDay
	if n > 8 {
		day = dayAfter(firstDay, 2*n+between(b.d, "written", 0, 3))
	}
	b.entries = append(b.entries, rules.Entry{ID: id, Writer: string(person), Person: person, Owner: owner, Seq: uint64(n), Depth: depth,
		At: "2030-01-01T00:00:00Z", Known: day, Kind: rec.Kind(), Record: rec})
	return id
}

func dayAfter(day string, n int) string {
	return record.Done(day).Day().AddDate(0, 0, n).Format(time.DateOnly)
}

// draw writes one entry.
func (b *book) draw(depth uint64) {
	person, owner := ada, true
	if chance(b.d, "worker", 3) {
		person, owner = bo, false
	}
	if len(b.named) > 0 && chance(b.d, "amend", 8) {
		target := b.entries[choose(b.d, "target", b.named...)]
		machine := machineNamed(target.Record)
		if target.Depth >= depth {
			return
		}
		if chance(b.d, "strike", 2) {
			b.write(person, owner, depth, &record.Strike{Machine: machine, Entry: target.ID})
			return
		}
		rec := b.record(target.Kind, machine)
		if f, ok := rec.(*record.Fault); ok {
			f.Closes = nil // not itself
		}
		if rec.Check() != nil {
			return
		}
		text, err := json.Marshal(rec)
		if err != nil {
			panic(err)
		}
		b.write(person, owner, depth, &record.Correct{Machine: machine, Entry: target.ID, As: target.Kind, Record: text})
		return
	}
	machine := choose(b.d, "machine", b.machines[0], b.machines[0], b.machines[0], b.machines[1], b.machines[2])
	kind := "counter"
	if machine != b.machines[2] {
		kind = choose(b.d, "kind", "counter", "counter", "counter", "counter", "did", "did", "did", "did", "adjust", "adjust", "measure", "measure", "swap", "swap",
			"fault", "repair", "store", "season", "season", "hitch", "move", "assume", "note")
	}
	rec := b.record(kind, machine)
	if rec.Check() != nil {
		return
	}
	if chance(b.d, "not his to write", 40) {
		b.write(bo, false, depth, &record.Override{Work: b.work(machine), Path: "counter.hours.unit", Value: `"h"`, Page: "1"})
		return
	}
	b.named = append(b.named, len(b.entries))
	id := b.write(person, owner, depth, rec)
	switch r := rec.(type) {
	case *record.Fault:
		b.faults = append(b.faults, id)
	case *record.Swap:
		if r.Part == "disc" && r.Act == record.SwapNew {
			for _, p := range r.Positions.All() {
				b.outs[machine] = append(b.outs[machine], string(id)+"/"+p.String()+" left")
			}
		}
	}
}

// done is a day of a year and a half, often one that was named before, half of them with a time.
func (b *book) done() record.Done {
	if len(b.days) > 0 && chance(b.d, "again", 4) {
		return choose(b.d, "day", b.days...)
	}
	d := record.Done(dayAfter(firstDay, between(b.d, "day", 0, 420)))
	if chance(b.d, "timed", 2) {
		d += record.Done(choose(b.d, "time", "T00:00", "T08:00", "T08:01", "T23:59"))
	}
	b.days = append(b.days, d)
	return d
}

func (b *book) work(machine record.ID) record.Work {
	w := record.Work{Machine: machine, Done: b.done()}
	if chance(b.d, "reads", 4) {
		counter := choose(b.d, "counter", "hours", "area", "hours")
		if machine == b.machines[2] {
			counter = "hours"
		}
		w.Counters = []record.CounterAt{{Counter: counter, At: b.count(counter, w.Done)}}
	}
	if chance(b.d, "context", 6) {
		w.Ground = choose(b.d, "ground", "wet", "dry", "")
		w.Crop = choose(b.d, "crop", "hay", "", "oats")
	}
	if len(b.faults) > 0 && chance(b.d, "closes", 8) {
		w.Closes = []record.ID{choose(b.d, "fault", b.faults...)}
	}
	return w
}

// count is a reading that grows with the days, mostly.
func (b *book) count(counter string, d record.Done) quantity.Quantity {
	days := int64(d.Day().Sub(record.Done(firstDay).Day()).Hours() / 24)
	n := 20 + days + int64(between(b.d, "count", -5, 10))
	switch counter {
	case "hours":
		if chance(b.d, "fine", 3) {
			return quantity.New(max(0, n)*100+25, 2, quantity.MustUnit("h"))
		}
		return quantity.Whole(max(0, n), quantity.MustUnit("h"))
	case "area":
		if chance(b.d, "metric", 6) {
			return quantity.Whole(max(0, n*2), quantity.MustUnit("ha"))
		}
		return quantity.Whole(max(0, n*5), quantity.MustUnit("ac"))
	}
	return quantity.Whole(int64(between(b.d, "field", 0, 90)), quantity.MustUnit("ac"))
}

func (b *book) places(noun string) record.Positions {
	words := map[string][]string{"opener": {"opener/1", "opener/2", "opener/1-2", "opener/2-4", "opener/1-4", "opener/4"}, "wheel": {"wheel/near", "wheel/off"}}[noun]
	if words == nil || chance(b.d, "all", 5) {
		return record.Positions{}
	}
	p, err := record.ParsePositions([]string{choose(b.d, "places", words...)})
	if err != nil {
		panic(err)
	}
	return p
}

func openers(text string) record.Positions {
	p, err := record.ParsePositions([]string{text})
	if err != nil {
		panic(err)
	}
	return p
}

func value(text string) record.Value {
	v, err := record.ParseValue(text)
	if err != nil {
		panic(err)
	}
	return v
}

// story is the drawn history in words, for a failure.
func (b *book) story() string {
	out := b.kind[len(frame):] + "\n"
	for _, e := range b.entries[4:] {
		text, _ := json.Marshal(e.Record)
		out += fmt.Sprintf("%s depth %d %s known %s %s %s\n", e.ID.Short(), e.Depth, e.Person.Short(), e.Known, e.Kind, text)
	}
	return out
}
