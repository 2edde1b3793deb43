package main

import (
	"crypto/sha256"
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"shedbook/ledger"
	"shedbook/rules"
)

// parted is a book in portions: what is asked about one machine is answered from what has to do with it, and the rest is not even decoded.
type parted struct {
	list     []*ledger.Entry // that count
	portions *rules.Portions
	common   []rules.Entry // decoded; nil before the first outline
	outlines map[rules.Options]*rules.State
	states   map[rules.ID]map[rules.Options]*rules.State // by machine

	answers map[answerKey]*keptAnswer // of a book that stays open

	by    map[ledger.Writer][sha256.Size]byte // digest of who writes on a device, and as what
	begun map[rules.ID]begun                  // by the first machine of a portion

	unreadable atomic.Bool // an entry of some portion cannot be read

	drawing  sync.Mutex
	counters map[drawnKey]func() map[rules.ID]map[string]*rules.Counter
}

// drawnKey names the counters of a portion, by its first machine, on a day.
type drawnKey struct {
	first rules.ID
	o     rules.Options
}

// parts divides the book, once.
func (b *book) parts() *parted {
	if b.parted == nil {
		list := b.counting()
		if b.parted = b.keptParts(list); b.parted == nil {
			b.parted = b.newParted(list, divide(list))
			b.keepParts()
		}
	}
	return b.parted
}

func (b *book) newParted(list []*ledger.Entry, portions *rules.Portions) *parted {
	p := &parted{list: list, portions: portions, outlines: map[rules.Options]*rules.State{}, states: map[rules.ID]map[rules.Options]*rules.State{},
		counters: map[drawnKey]func() map[rules.ID]map[string]*rules.Counter{}, answers: map[answerKey]*keptAnswer{}, by: map[ledger.Writer][sha256.Size]byte{}}
	for w, d := range b.devices {
		p.by[w] = sha256.Sum256([]byte(d.Person.String() + " " + string(d.Role)))
	}
	return p
}

// divide finds the portions of entries.
func divide(list []*ledger.Entry) *rules.Portions {
	glimpses := make([]rules.Glimpse, len(list))
	onAllCores(len(list), func(i int) {
		e := list[i]
		glimpses[i] = rules.Glimpse{ID: rules.ID(e.ID().String()), Kind: e.Kind(), Record: e.Record()}
	})
	return rules.Divide(glimpses)
}

// some adapts the entries at the places listed. ok is false where one of them cannot be read: which machines it is about is then known only to a replay
// of the whole book.
func (b *book) some(places ...[]int) (entries []rules.Entry, ok bool) {
	at := slices.Concat(places...)
	slices.Sort(at)
	at = slices.Compact(at)
	list := make([]*ledger.Entry, len(at))
	for i, n := range at {
		list[i] = b.parts().list[n]
	}
	entries = b.adapt(list)
	return entries, !slices.ContainsFunc(entries, func(e rules.Entry) bool { return e.Err != nil })
}

// outline is the state in which every machine is held to be what it is and where, and nothing that was done to it is known.
func (b *book) outline(o rules.Options) (s *rules.State, ok bool, err error) {
	p := b.parts()
	if s := p.outlines[o]; s != nil {
		return s, true, nil
	}
	entries, ok := b.some(p.portions.Common, p.portions.Outline)
	if !ok {
		return nil, false, nil
	}
	if s, err = b.replay(entries, o, nil, nil); err != nil {
		return nil, false, err
	}
	p.common, _ = b.some(p.portions.Common) // decoded above
	p.outlines[o] = s
	return s, true, nil
}

// stateFor is stateOf for the machine of a name; one that no machine has gives the outline.
func (b *book) stateFor(machine string, o rules.Options) (*rules.State, error) {
	outline, ok, err := b.outline(o)
	if err != nil {
		return nil, err
	}
	if !ok {
		return b.state(o.On, o.Known)
	}
	m := outline.Machine(strings.ToLower(machine))
	if m == nil {
		return outline, nil
	}
	return b.stateOf(m.ID, o)
}

// stateOf is the state as far as one machine is concerned, with the others in outline: all that is to be known of the machine, of those that have to do with
// it, of farms, yards, people, schedules and seasons. What lies on shelves is not to be had from it.
func (b *book) stateOf(machine rules.ID, o rules.Options) (*rules.State, error) {
	p := b.parts()
	if s := p.states[machine][o]; s != nil {
		return s, nil
	}
	portion, held := p.portions.Of(machine)
	if _, ok, err := b.outline(o); err != nil || !ok || !held {
		return b.state(o.On, o.Known)
	}
	entries, ok := b.some(p.portions.Common, p.portions.Outline, portion.Entries)
	if !ok {
		return b.state(o.On, o.Known)
	}
	s, err := b.replay(entries, o, portion.Machines, b.others(portion, o))
	if err != nil {
		return nil, err
	}
	if p.unreadable.Load() { // in what it rests on
		return b.state(o.On, o.Known)
	}
	for _, id := range portion.Machines {
		if p.states[id] == nil {
			p.states[id] = map[rules.Options]*rules.State{}
		}
		p.states[id][o] = s
	}
	return s, nil
}

// work is the due list of a book and what does not fit in it, answered portion by portion; outline names the machines. A book of which something cannot be
// read is asked as a whole.
func (b *book) work(outline *rules.State, f rules.Filter) ([]rules.Item, []rules.Problem, error) {
	o := rules.Options{On: outline.On, Known: outline.Known}
	whole := func() ([]rules.Item, []rules.Problem, error) {
		st, err := b.state(o.On, o.Known)
		if err != nil {
			return nil, nil, err
		}
		return rules.Due(st, f), st.Problems, nil
	}
	p := b.parts()
	if outline == b.states[o] {
		return whole()
	}
	each := p.portions.Each
	kept := b.keptNow(o, f)
	answers, errs := make([]*keptAnswer, len(each)), make([]error, len(each))
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(each)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(each); i = int(next.Add(1)) - 1 {
				answers[i], errs[i] = b.answer(each[i], o, f, kept)
			}
		})
	}
	workers.Wait()
	plain := make([]rules.Answer, len(each))
	for i, err := range errs {
		if errors.Is(err, errUnreadable) {
			return whole()
		}
		if err != nil {
			return nil, nil, err
		}
		plain[i] = answers[i].Answer
	}
	if kept != nil {
		kept.save(answers)
	}
	b.holdAnswers(each, o, f, answers)
	items, problems := rules.JoinAnswers(outline, plain, f)
	return items, problems, nil
}

// answer is one portion's, kept or made anew. Many may be made side by side.
func (b *book) answer(p rules.Portion, o rules.Options, f rules.Filter, kept *keptAnswers) (*keptAnswer, error) {
	if a := b.heldAnswer(p, o, f); a != nil {
		return a, nil
	}
	if kept != nil {
		if a := kept.find(p); a != nil {
			return a, nil
		}
	}
	s := b.parted.states[p.Machines[0]][o] // of a machine just asked about
	if s == nil {
		var err error
		if s, err = b.replayPortion(p, o); err != nil {
			return nil, err
		}
	}
	answer := rules.AnswerOf(s, p.Machines, f)
	if kept == nil {
		return &keptAnswer{Answer: answer}, nil
	}
	return kept.made(p, s, answer), nil
}

// errUnreadable says that a portion holds an entry that cannot be read here.
var errUnreadable = errors.New("an entry cannot be read")

// replayPortion replays one portion by itself. Many may run side by side.
func (b *book) replayPortion(p rules.Portion, o rules.Options) (*rules.State, error) {
	entries := make([]rules.Entry, 0, len(b.parted.common)+len(p.Entries))
	entries = append(entries, b.parted.common...)
	for _, n := range p.Entries {
		e := b.adaptOne(b.parted.list[n])
		if e.Err != nil {
			b.parted.unreadable.Store(true)
			return nil, errUnreadable
		}
		entries = append(entries, e)
	}
	s, err := rules.ReplayPortion(entries, o, p.Machines, b.others(p, o))
	if err == nil {
		b.parted.keepCounters(p, o, s)
	}
	return s, err
}

// others tells a portion's replay of the machines of other portions, which are replayed when their counters are asked for, once.
func (b *book) others(own rules.Portion, o rules.Options) rules.Others {
	outline := b.parted.outlines[o]
	return func(machine rules.ID) func() map[string]*rules.Counter {
		if outline.MachineByID(machine) == nil || slices.Contains(own.Machines, machine) {
			return nil
		}
		return func() map[string]*rules.Counter {
			portion, _ := b.parted.portions.Of(machine)
			return b.parted.drawn(portion, o, func() *rules.State {
				s, _ := b.replayPortion(portion, o)
				return s
			})[machine]
		}
	}
}

// drawn are the counters of a portion's machines; replay is called at most once for each.
func (p *parted) drawn(portion rules.Portion, o rules.Options, replay func() *rules.State) map[rules.ID]map[string]*rules.Counter {
	key := drawnKey{portion.Machines[0], o}
	p.drawing.Lock()
	f := p.counters[key]
	if f == nil {
		f = sync.OnceValue(func() map[rules.ID]map[string]*rules.Counter { return countersOf(replay(), portion) })
		p.counters[key] = f
	}
	p.drawing.Unlock()
	return f()
}

// keepCounters keeps what a replay drew, for portions that rest on it.
func (p *parted) keepCounters(portion rules.Portion, o rules.Options, s *rules.State) {
	key := drawnKey{portion.Machines[0], o}
	p.drawing.Lock()
	defer p.drawing.Unlock()
	if p.counters[key] == nil {
		drawn := countersOf(s, portion)
		p.counters[key] = func() map[rules.ID]map[string]*rules.Counter { return drawn }
	}
}

func countersOf(s *rules.State, portion rules.Portion) map[rules.ID]map[string]*rules.Counter {
	out := map[rules.ID]map[string]*rules.Counter{}
	if s == nil {
		return out
	}
	for _, id := range portion.Machines {
		if m := s.MachineByID(id); m != nil {
			out[id] = m.Counters
		}
	}
	return out
}
