package rules

import (
	"fmt"
	"strings"
	"testing"

	"shedbook/rules/record"
)

// rigToPrepare is made up for the sums below: discs in two hands in packs of 4, two weeks to get; a packer serves two openers; a blade brings its neighbour's
// and a guard with each; chains are one set. A new disc loosens the nuts and asks for the gap at once.
const rigToPrepare = `
[pair.neighbour]
of = "opener"
how = "neighbours"

[part.disc]
of = "opener"
handed = true
pack = 4
lead = "14 d"
[part.packer]
of = "opener"
per = 2
[part.guard]
of = "opener"
[part.blade]
of = "opener"
partner = "neighbour"
with = ["guard"]
[part.chain]
of = "opener"
set = true

[reading.reach]
of = "opener"
handed = true
unit = "in"
part = "disc"
limit = { min = "5 in" }
[reading.seal]
of = "opener"
grades = ["ok", "bad"]
bad_from = "bad"
[reading.edge]
of = "opener"
grades = ["ok", "bad"]
bad_from = "bad"
[reading.slack]
of = "opener"
grades = ["ok", "bad"]
bad_from = "bad"

[job.grease]
of = "opener"
minutes = 1
order = 30
open = "hood"
uses = [{ what = "grease", amount = "10 g" }]
points = 3
when = [{ every = "100 h" }]
[job.new-disc]
of = "opener"
minutes = 20
hands = 2
who = "trained"
open = "hood"
swaps = "disc"
loosens = ["nuts"]
next = ["gap"]
tools = ["puller"]
when = [{ past = "reach" }]
[job.new-packer]
of = "opener"
minutes = 10
swaps = "packer"
when = [{ past = "seal" }]
[job.new-blade]
of = "opener"
minutes = 10
swaps = "blade"
when = [{ past = "edge" }]
[job.new-chain]
of = "opener"
minutes = 10
swaps = "chain"
when = [{ past = "slack" }]
[job.gap]
of = "opener"
minutes = 3
order = 40
open = "hood"
next = ["clean"]
[job.clean]
minutes = 5
uses = [{ what = "grease", amount = "0.02 kg" }]
[job.nuts]
of = "opener"
minutes = 2
order = 20
tools = ["torque wrench"]
torques = [{ what = "hub nut", value = "100 N.m" }]
results = ["moved", "none-moved"]
when = [{ after = "loosened", series = ["5 h", "20 h"], then = "20 h", until_result = "none-moved", finally = "200 h" }]
`

// Worked on paper, on 1 March 2026 for 1 April, every limit exceeded by what was measured on 1 February:
//
//   - discs: opener 1 left and right, opener 3 left only: 2 left ones and 1 right one. Two left ones lie on the shelf, one of them
//     used: none to buy. Of the right ones 1 is wanted, none there: 1 to buy, 1 pack of 4, by 18 March (1 April less 14 days).
//   - packers: openers 1, 2 and 3: places 1-2 share one, 3-4 another: 2, not 3.
//   - blades: opener 2 and so its neighbour 1: 2 blades, and 2 guards with them.
//   - chains: one is slack, all 4 are replaced.
//   - new discs at 1 and 3: gap at 1 and 3 at once (2 x 3 min), then the machine cleaned (5 min); the nuts of 1 and 3 after 5 h and 20 h in the field.
//   - shop time: trained 2 places x 20 min x 2 people = 80 min; anyone 3 packers 30 + 1 blade 10 + 1 chain 10 + gap 6 + clean 5 = 61 min; the grease is not due.
func TestPrepareOnPaper(t *testing.T) {
	s := newShed(t, kind(rigToPrepare))
	s.read("2025-01-01", "hours 0 h")
	s.read("2026-01-20", "hours 0 h")
	s.did("2026-01-20", "grease")
	shelf := s.add(&record.Shelf{Work: record.Work{Done: "2025-01-01"}, Key: testKey("shelf"), Yard: s.yard})
	s.add(&record.Stock{Work: record.Work{Machine: shelf, Done: "2025-01-02"}, Schedule: "rig", Part: "disc", Hand: "left", Act: "add", Count: 1})
	other := record.Work{Machine: s.addMachine("other", "2025-01-01"), Done: "2025-06-01"}
	s.add(&record.Swap{Work: other, Part: "disc", Act: record.SwapOut, Positions: s.at("opener/2"), To: shelf, Hand: "left"})
	s.add(&record.Swap{Work: other, Part: "disc", Act: record.SwapOut, Positions: s.at("opener/2"), Hand: "right"}) // nowhere: in transit
	s.measure("2026-02-01", "reach", "opener/1 left=4.9 in", "opener/1 right=4.8 in", "opener/3 left=4.7 in", "opener/3 right=5 in", "opener/4 left=6 in", "opener/4 right=6 in")
	s.measure("2026-02-01", "seal", "opener/1=bad", "opener/2=bad", "opener/3=bad", "opener/4=ok")
	s.measure("2026-02-01", "edge", "opener/2=bad")
	s.measure("2026-02-01", "slack", "opener/4=bad")
	p := Prepare(s.state("2026-03-01"), Filter{Machine: s.machine}, "2026-04-01", "")

	var parts []string
	for _, n := range p.Parts {
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("%s %s: %d wanted, %d on shelf (%d used), %d in transit, %d to buy, %d packs %s", n.Part, n.Hand, n.Count, n.Shelf, n.Used, n.Transit, n.Buy, n.Packs, n.OrderBy)))
	}
	same(t, "parts", parts, []string{
		"blade : 2 wanted, 0 on shelf (0 used), 0 in transit, 2 to buy, 0 packs",
		"chain : 4 wanted, 0 on shelf (0 used), 0 in transit, 4 to buy, 0 packs",
		"disc left: 2 wanted, 2 on shelf (1 used), 0 in transit, 0 to buy, 0 packs 2026-03-18",
		"disc right: 1 wanted, 0 on shelf (0 used), 1 in transit, 1 to buy, 1 packs 2026-03-18",
		"guard : 2 wanted, 0 on shelf (0 used), 0 in transit, 2 to buy, 0 packs",
		"packer : 2 wanted, 0 on shelf (0 used), 0 in transit, 2 to buy, 0 packs",
	})
	var work []string
	for _, w := range p.Work {
		work = append(work, strings.Join(strings.Fields(fmt.Sprintf("%s %s %s %s", w.Opens, w.Job, w.Positions, strings.Join(w.Follows, "+"))), " "))
	}
	// The hood is opened once, the gap follows the disc; the cleaning has no place of its own to be opened and follows the gap.
	same(t, "work", work, []string{"hood new-disc opener/1", "hood new-disc opener/3", "hood gap opener/1,opener/3 new-disc", "new-blade opener/2", "new-chain opener/4", "new-packer opener/1-3", "clean gap"})
	var field []string
	for _, w := range p.Field {
		field = append(field, fmt.Sprintf("%s %s after %s at %v then %v until %s, %s min", w.Job, w.Positions, w.Follows, w.At, w.Then, w.Until, w.Minutes.RatString()))
	}
	same(t, "field", field, []string{"nuts opener/1,opener/3 after [new-disc] at [5 h 20 h] then 20 h until none-moved, 4 min"})
	var hours []string
	for _, h := range p.Hours {
		hours = append(hours, h.Who+" "+h.Minutes.RatString())
	}
	same(t, "hours", hours, []string{"anyone 61", "trained 80"})
	var uses, tools []string
	for _, u := range p.Uses {
		uses = append(uses, u.What+" "+u.Amount.String())
	}
	for _, n := range p.Tools {
		tools = append(tools, n.Tool)
	}
	same(t, "uses", uses, []string{"grease 0.02 kg"})
	same(t, "tools", tools, []string{"puller", "torque wrench"})

	// In summer the grease is due too: 4 openers x 3 fittings x 10 g = 120 g, and 0.02 kg for the cleaning: 140 g; the discs, which loosen the nuts, still come first.
	s.read("2026-03-02", "hours 150 h")
	p = Prepare(s.state("2026-03-02"), Filter{Machine: s.machine}, "2026-04-01", "")
	same(t, "the first of all", []string{p.Work[0].Job, p.Work[2].Job, p.Work[3].Job}, []string{"new-disc", "grease", "gap"})
	if len(p.Uses) != 1 || p.Uses[0].Amount.String() != "140 g" {
		t.Errorf("uses: %v", p.Uses)
	}

	// The other machine's opener 2 stands without its two discs: one more of each hand, 3 left less 2 on the shelf, 2 right.
	for _, n := range Prepare(s.state("2026-03-01"), Filter{}, "2026-04-01", "").Parts {
		if n.Part == "disc" && (n.Count != map[string]int{"left": 3, "right": 2}[n.Hand] || n.Buy != map[string]int{"left": 1, "right": 2}[n.Hand] || !n.Lines[len(n.Lines)-1].Empty) {
			t.Errorf("with an empty opener: %+v", n)
		}
	}

	// Whoever greased greases again: of the others nobody is known.
	if p = Prepare(s.state("2026-03-02"), Filter{Machine: s.machine}, "2026-04-01", "p"); len(p.Work) != 1 || p.Work[0].Job != "grease" || len(p.Parts) != 0 || len(p.Field) != 0 {
		t.Errorf("of p: %+v", p)
	}
}
