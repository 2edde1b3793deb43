package rules

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// notebook is a made-up book, written entry by entry and replayed. Two people write: Ada, an owner, and Bo, a worker.
type notebook struct {
	t       testing.TB
	entries []Entry
	farm    ID
	yards   map[string]ID
	names   map[string]ID // machines by name
}

const (
	ada = ID("ada0000000000000000000000000000000000000000000000000000000000000")
	bo  = ID("b000000000000000000000000000000000000000000000000000000000000000")
)

// drillText is a made-up disc drill, small enough to reckon with on paper: four openers, two discs in each (left and right), one scraper in each, one
// packer wheel for two openers; acres, and hours worked out from them.
const drillText = `shedbook_schedule = 1
name = "drill"
work = ["seeding"]

[option.openers]
type = "count"
default = 4
min = 2
max = 60

[counter.area]
unit = "ac"
main = true

[counter.hours]
unit = "h"
derive = { from = "area", width = "40 ft", speed = "6 mph", efficiency = "70 %" }

[counter.field]
unit = "ac"
trip = true

[place.opener]
count = "=openers"
hands = ["left", "right"]

[group.left-wing]
of = "opener"
from = "0"
to = "1/2"

[part.disc]
of = "opener"
handed = true

[part.scraper]
of = "opener"

[part.packer]
of = "opener"
per = 2

[part.battery]

[assembly.arm]
of = "opener"
parts = ["disc", "scraper"]

[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 12
step = 1

[setting.fan]
type = "amount"
unit = "rpm"

[reading.disc-size]
of = "opener"
handed = true
unit = "in"
part = "disc"

[reading.smaller-disc]
of = "opener"
unit = "in"
part = "scraper"
computed = { how = "smaller", from = ["disc-size/left", "disc-size/right"] }

[reading.gap]
of = "opener"
unit = "in"

[job.grease]
of = "opener"
[job.wing-check]
of = "opener"
group = "left-wing"
[job.service]
includes = ["grease", "fan-check"]
[job.fan-check]
[job.hub-open]
of = "opener"
loosens = ["wheel-nuts"]
includes = ["grease"]
[job.wheel-nuts]
of = "opener"
results = ["moved", "none-moved"]
torques = [{ what = "wheel nut", value = "100 lbf.ft" }]
[job.new-discs]
of = "opener"
swaps = "disc"
loosens = ["wheel-nuts"]
[job.turn-discs]
of = "opener"
turns = "disc"
loosens = ["wheel-nuts"]
[job.size-up]
of = "opener"
measures = ["disc-size", "gap"]
[job.set-depth]
of = "opener"
sets = ["depth"]
[job.new-battery]
swaps = "battery"
[job.fit-arm]
of = "opener"
swaps = "arm"
`

// loaderText is another kind, whose hours are those of what pulls it when it has none of its own.
const loaderText = `shedbook_schedule = 1
name = "cart"

[counter.hours]
unit = "h"
main = true
derive = { carrier = "hours" }
`

const tractorText = `shedbook_schedule = 1
name = "tractor"

[counter.hours]
unit = "h"
main = true
`

// newNotebook has a farm with two yards, the three kinds and a drill called "drill" in yard home.
func newNotebook(t testing.TB) *notebook {
	t.Helper()
	b := &notebook{t: t, yards: map[string]ID{}, names: map[string]ID{}}
	b.farm = b.add(&record.Farm{Name: "Hollow"})
	for _, y := range []string{"home", "creek"} {
		b.yards[y] = b.add(&record.Yard{Name: y, Farm: b.farm})
	}
	for _, s := range []struct{ name, text string }{{"drill", drillText}, {"cart", loaderText}, {"tractor", tractorText}} {
		b.add(&record.Schedule{Name: s.name, Text: s.text})
	}
	b.machine("drill", "drill", "2024-01-01")
	return b
}

func testKey(name string) string {
	k := sha256.Sum256([]byte(name))
	return base64.RawURLEncoding.EncodeToString(k[:])
}

func (b *notebook) machine(name, kind, done string, options ...record.Option) ID {
	b.t.Helper()
	b.names[name] = b.add(&record.Machine{Work: record.Work{Done: record.Done(done)}, Name: name, Schedule: kind, Yard: b.yards["home"], Key: testKey(name), Options: options})
	return b.names[name]
}

// add writes an entry as Ada, a depth above all before it, and gives its id. Ids are digests of the depth, so that they fall in no order.
func (b *notebook) add(rec record.Record) ID { return b.write(ada, true, rec, nil) }

// worker writes one as Bo.
func (b *notebook) worker(rec record.Record) ID { return b.write(bo, false, rec, nil) }

func (b *notebook) write(person ID, owner bool, rec record.Record, private *record.Private) ID {
	b.t.Helper()
	if err := rec.Check(); err != nil {
		b.t.Fatalf("%s: %v", rec.Kind(), err)
	}
	depth := len(b.entries) + 1
	digest := sha256.Sum256(fmt.Appendf(nil, "entry %d", depth))
	id := ID(hex.EncodeToString(digest[:]))
	e := Entry{ID: id, Writer: "w", Person: person, Owner: owner, Seq: uint64(depth), Depth: uint64(depth), At: "2030-01-01T00:00:00Z", Known: "2024-01-01", Kind: rec.Kind(), Record: rec, Private: private}
	b.entries = append(b.entries, e)
	return id
}

// last is the entry written last, to be changed by a test.
func (b *notebook) last() *Entry { return &b.entries[len(b.entries)-1] }

// on is what all work entries of the drill have in common; readings as "area 812 ac".
func (b *notebook) on(done string, readings ...string) record.Work {
	b.t.Helper()
	return b.of("drill", done, readings...)
}

func (b *notebook) of(machine, done string, readings ...string) record.Work {
	b.t.Helper()
	w := record.Work{Machine: b.names[machine], Done: record.Done(done)}
	for _, r := range readings {
		name, at, _ := strings.Cut(r, " ")
		w.Counters = append(w.Counters, record.CounterAt{Counter: name, At: quantity.MustParse(at)})
	}
	return w
}

// reads writes a counter entry of the drill.
func (b *notebook) reads(done string, acts ...string) ID {
	b.t.Helper()
	return b.counts("drill", done, acts...)
}

// counts writes counter acts: "area at 812 ac", "field reset", "field reset 0 ac last 310 ac", "area add 20 ac".
func (b *notebook) counts(machine, done string, acts ...string) ID {
	b.t.Helper()
	c := &record.Counter{Work: b.of(machine, done)}
	for _, a := range acts {
		f := strings.Fields(a)
		act := record.CounterAct{Counter: f[0], Act: f[1]}
		rest := strings.Join(f[2:], " ")
		value, last, _ := strings.Cut(rest, "last ")
		if value = strings.TrimSpace(value); value != "" {
			act.Value = quantity.MustParse(value)
		}
		if last != "" {
			act.Last = quantity.MustParse(last)
		}
		c.Acts = append(c.Acts, act)
	}
	return b.add(c)
}

// swap writes a swap of the drill's discs in both hands; more is set by edit.
func (b *notebook) swap(act, done, at string, edit func(*record.Swap)) ID {
	b.t.Helper()
	s := &record.Swap{Work: b.on(done), Part: "disc", Act: act, Positions: b.at(at)}
	if edit != nil {
		edit(s)
	}
	return b.add(s)
}

// at reads stored positions, joined by commas.
func (b *notebook) at(s string) record.Positions {
	b.t.Helper()
	if s == "" {
		return record.Positions{}
	}
	p, err := record.ParsePositions(strings.Split(s, ","))
	if err != nil {
		b.t.Fatal(err)
	}
	return p
}

func (b *notebook) state(on string) *State { return b.known(on, "") }

func (b *notebook) known(on, known string) *State {
	b.t.Helper()
	s, err := Replay(b.entries, Options{On: on, Known: known})
	if err != nil {
		b.t.Fatal(err)
	}
	return s
}

// drill is the drill on a day.
func (b *notebook) drill(on string) *Machine {
	b.t.Helper()
	return b.state(on).Machine("drill")
}

// correct writes a correction of an entry by its writer.
func (b *notebook) correct(id ID, rec record.Record) ID {
	b.t.Helper()
	return b.correctAs(ada, true, id, rec)
}

func (b *notebook) correctAs(person ID, owner bool, id ID, rec record.Record) ID {
	b.t.Helper()
	return b.write(person, owner, amend(b.t, b.entry(id), rec), nil)
}

func amend(t testing.TB, target *Entry, rec record.Record) *record.Correct {
	t.Helper()
	return &record.Correct{Machine: machineOf(target), Entry: target.ID, As: rec.Kind(), Record: encode(t, rec)}
}

func (b *notebook) strike(id ID) ID {
	b.t.Helper()
	return b.add(&record.Strike{Machine: machineOf(b.entry(id)), Entry: id})
}

func (b *notebook) entry(id ID) *Entry {
	b.t.Helper()
	i := slices.IndexFunc(b.entries, func(e Entry) bool { return e.ID == id })
	if i < 0 {
		b.t.Fatalf("no entry %s", id)
	}
	return &b.entries[i]
}

// codes are the problems of a state by code, sorted.
func codes(s *State) []string {
	var out []string
	for _, p := range s.Problems {
		out = append(out, p.Code)
	}
	return out
}

// problems are those of one code.
func problems(s *State, code string) []Problem {
	return slices.DeleteFunc(slices.Clone(s.Problems), func(p Problem) bool { return p.Code != code })
}

// wantQ compares an amount with its text.
func wantQ(t testing.TB, what string, got quantity.Quantity, want string) {
	t.Helper()
	if got.String() != want {
		t.Errorf("%s: got %s, want %s", what, got, want)
	}
}

func wantEqual[T comparable](t testing.TB, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func wantList[T comparable](t testing.TB, what string, got []T, want ...T) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// steps is a setting's or reading's value as text.
func steps(s string) record.Value {
	v, err := record.ParseValue(s)
	if err != nil {
		panic(err)
	}
	return v
}

func ratOfFloat(f float64) *big.Rat {
	r, _ := new(big.Rat).SetString(fmt.Sprintf("%.1f", f))
	return r
}

// view is a state without its list of entries, which an entry without effect is in too.
func view(s *State) *State {
	v := *s
	v.Effective = nil
	return &v
}

func quantityOf(s string) quantity.Quantity { return quantity.MustParse(s) }
