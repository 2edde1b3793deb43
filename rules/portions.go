package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/record"
)

// A book of many machines need not be replayed whole to know of one of them. What an entry can have an effect on is told by whom it names: itself a
// machine's, it may name an entry about another (a part that sat there, a correction) or a shelf. Machines whose entries name one another's stand in one
// portion; what belongs to no machine (farms, yards, people, schedules, seasons) is common to all. A machine that was hitched to another may count by that
// one's counters, and nothing the other way round: a portion names the machines it was ever hitched to, and is replayed with their counters ([Others]).
//
// For every machine of a portion, a replay of the common entries and the portion's, with those, gives what a replay of all gives: the machine, its
// problems, its work.
// Shelves are of no portion: what lies there depends on many machines, and nothing of a machine depends on what else lies there.

// Glimpse is what must be known of an entry to find its portion; nothing of it is decoded.
type Glimpse struct {
	ID     ID
	Kind   string
	Record []byte // the record's bytes
}

// Portions is a book divided. Entries are given by their place in the list it was made from, each list in that order.
type Portions struct {
	Common  []int // what every portion is replayed with
	Outline []int // besides the common ones: what tells which machines there are, where they stand and whose they are, of all machines
	Each    []Portion
	of      map[ID]int
}

// Portion is some machines that have to do with one another, and the entries about them.
type Portion struct {
	Machines []ID // sorted; those that were struck too
	Entries  []int
	Carriers []ID // machines of other portions that its own were ever said to be hitched to, sorted
}

// Of returns the portion of a machine.
func (p *Portions) Of(machine ID) (Portion, bool) {
	n, ok := p.of[machine]
	if !ok {
		return Portion{}, false
	}
	return p.Each[n], true
}

// Extend adds to the portion of a machine the place of an entry behind all others, which names nothing outside of that portion. False: no such machine.
func (p *Portions) Extend(machine ID, place int) bool {
	n, ok := p.of[machine]
	if !ok {
		return false
	}
	p.Each[n].Entries = append(p.Each[n].Entries, place)
	return true
}

// outlined are the kinds that tell of a machine by itself who has it and where.
var outlined = map[string]bool{"machine": true, "override": true, "move": true, "lend": true, "store": true, "sell": true, "hitch": true}

// commonKinds concern no machine. Shelves are with them, for swaps name them; what lies on shelves is not.
var commonKinds = map[string]bool{"farm": true, "yard": true, "person": true, "schedule": true, "season": true, "shelf": true}

// What an entry belongs to, besides the number of a machine.
const (
	toAll     = -1
	toShelf   = -2
	undecided = -3
)

// divider finds portions.
type divider struct {
	all      []Glimpse
	at       map[ID]int // place of an entry in all
	mentions [][]int32  // entry -> places of the entries that it names, in the order in which it does
	machines []ID
	number   map[ID]int // of a machine
	joined   []int      // machine -> one that it is joined to, itself at the root
	belongs  []int      // entry -> machine, or one of the constants
	outline  []bool
	carriers map[int][]int // machine -> those it was ever said to be hitched to
}

// Divide finds the portions of a book's entries, each given once.
func Divide(all []Glimpse) *Portions {
	d := &divider{all: all, at: make(map[ID]int, len(all)), number: map[ID]int{}, belongs: make([]int, len(all)), outline: make([]bool, len(all)), carriers: map[int][]int{}}
	for i := range all {
		d.at[all[i].ID] = i
		d.belongs[i] = undecided
		if all[i].Kind == "machine" {
			d.number[all[i].ID] = len(d.machines)
			d.joined = append(d.joined, len(d.machines))
			d.machines = append(d.machines, all[i].ID)
		}
	}
	d.mentions = make([][]int32, len(all))
	onAllCores(len(all), func(i int) {
		record.Mentions(all[i].Record, func(id []byte) {
			if at, ok := d.at[ID(id)]; ok {
				d.mentions[i] = append(d.mentions[i], int32(at))
			}
		})
	})
	for i := range all {
		d.settle(i)
	}
	for i := range all {
		d.join(i)
	}
	d.joinCircles()
	return d.portions()
}

// settle decides what an entry belongs to.
func (d *divider) settle(i int) int {
	if d.belongs[i] != undecided {
		return d.belongs[i]
	}
	g := &d.all[i]
	d.belongs[i] = toAll // while it is being decided
	switch {
	case g.Kind == "machine":
		d.belongs[i], d.outline[i] = d.number[g.ID], true
	case commonKinds[g.Kind]:
	case g.Kind == "correct" || g.Kind == "strike":
		d.amends(i)
	case g.Kind == "stock":
		d.belongs[i] = toShelf
	default:
		if m, ok := d.named(i); ok {
			d.belongs[i], d.outline[i] = m, outlined[g.Kind]
		} else { // of a machine that is not in the book
			d.outline[i] = true
		}
	}
	return d.belongs[i]
}

// amends: a correction or strike goes with what it is about; where that is not held, with the machine it names.
func (d *divider) amends(i int) {
	rec, err := record.Decode(d.all[i].Kind, d.all[i].Record)
	if err != nil {
		return
	}
	target, machine := ID(""), record.MachineOf(rec)
	switch rec := rec.(type) {
	case *record.Correct:
		target = rec.Entry
	case *record.Strike:
		target = rec.Entry
	}
	if at, ok := d.at[target]; ok {
		d.belongs[i], d.outline[i] = d.settle(at), d.outline[at]
	} else if m, ok := d.number[machine]; ok {
		d.belongs[i] = m
	}
}

// named is the first machine that an entry names, of a hitching the one that was hitched.
func (d *divider) named(i int) (machine int, ok bool) {
	g := &d.all[i]
	if g.Kind == "hitch" {
		if rec, err := record.Decode(g.Kind, g.Record); err == nil {
			machine, ok = d.number[record.MachineOf(rec)]
			return machine, ok
		}
	}
	for _, at := range d.mentions[i] {
		if d.all[at].Kind == "machine" {
			return d.number[d.all[at].ID], true
		}
	}
	return 0, false
}

// join puts a machine's entry, the machines it names and those of the entries it names into one portion.
func (d *divider) join(i int) {
	m := d.belongs[i]
	if m < 0 || d.hitched(i) {
		return
	}
	for _, at := range d.mentions[i] {
		if d.belongs[at] >= 0 {
			d.joined[d.root(d.belongs[at])] = d.root(m)
		}
	}
}

// hitched takes up what an entry says of the machine that pulls another; false where it says no such thing, or more than that.
func (d *divider) hitched(i int) bool {
	g := &d.all[i]
	if g.Kind != "hitch" && g.Kind != "correct" {
		return false
	}
	rec, err := record.Decode(g.Kind, g.Record)
	if c, ok := rec.(*record.Correct); ok && err == nil {
		rec, err = c.Decoded()
	}
	h, ok := rec.(*record.Hitch)
	if err != nil || !ok || len(h.Closes) > 0 {
		return false
	}
	from, known := d.number[h.Machine]
	if known && d.root(from) != d.root(d.belongs[i]) {
		return false // of one machine, about an entry of another
	}
	if carrier, ok := d.number[h.Carrier]; ok {
		d.carriers[d.belongs[i]] = append(d.carriers[d.belongs[i]], carrier)
	}
	return true
}

func (d *divider) root(m int) int {
	for d.joined[m] != m {
		d.joined[m] = d.joined[d.joined[m]]
		m = d.joined[m]
	}
	return m
}

// portions writes out what was found, sorted by the first machine of each.
func (d *divider) portions() *Portions {
	out := &Portions{of: map[ID]int{}}
	byRoot := map[int]*Portion{}
	for m, id := range d.machines {
		p := byRoot[d.root(m)]
		if p == nil {
			p = &Portion{}
			byRoot[d.root(m)] = p
		}
		p.Machines = append(p.Machines, id)
	}
	for i, m := range d.belongs {
		switch {
		case m >= 0:
			p := byRoot[d.root(m)]
			p.Entries = append(p.Entries, i)
		case m == toAll && !d.outline[i]:
			out.Common = append(out.Common, i)
		}
		if d.outline[i] {
			out.Outline = append(out.Outline, i)
		}
	}
	for m, list := range d.carriers {
		for _, c := range list {
			if p := byRoot[d.root(m)]; d.root(c) != d.root(m) {
				p.Carriers = append(p.Carriers, d.machines[c])
			}
		}
	}
	for _, p := range byRoot {
		slices.Sort(p.Machines)
		slices.Sort(p.Carriers)
		p.Carriers = slices.Compact(p.Carriers)
		out.Each = append(out.Each, *p)
	}
	slices.SortFunc(out.Each, func(a, b Portion) int { return cmp.Compare(a.Machines[0], b.Machines[0]) })
	for n, p := range out.Each {
		for _, id := range p.Machines {
			out.of[id] = n
		}
	}
	return out
}

// joinCircles joins machines that pulled one another, at whatever times and over whichever others.
func (d *divider) joinCircles() {
	for joined := true; joined; {
		joined = false
		pulled := map[int][]int{}
		for m, list := range d.carriers {
			for _, c := range list {
				if d.root(c) != d.root(m) {
					pulled[d.root(m)] = append(pulled[d.root(m)], d.root(c))
				}
			}
		}
	circles:
		for m, list := range pulled {
			for _, n := range list {
				if reaches(pulled, n, m) {
					d.joined[n], joined = m, true
					break circles // the roots are other ones now
				}
			}
		}
	}
}

// reaches reports a way from one to another.
func reaches(ways map[int][]int, from, to int) bool {
	seen := map[int]bool{}
	for open := []int{from}; len(open) > 0; open = open[1:] {
		switch n := open[0]; {
		case n == to:
			return true
		case !seen[n]:
			seen[n] = true
			open = append(open, ways[n]...)
		}
	}
	return false
}
