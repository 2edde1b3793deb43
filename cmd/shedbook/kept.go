package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"os"
	"runtime/debug"
	"sync"

	"shedbook/rules"
	"shedbook/rules/record"
)

// What the portions of a book answered is kept beside the book, so that the next command replays only the portions that something was recorded of since. An
// answer is found by a digest of all that it is made from: the program, the day, what was asked, the entries of the portion in their order with who wrote
// them, the common ones, which machines there are, and of each machine whose counters it rests on the digest of that one's portion. What is kept is thus
// never wrong, only of no use; audit does not look at it.

// keeper is where answers are kept.
type keeper interface {
	Kept(name string) []byte
	Keep(name string, data []byte)
}

// keptAnswer is one portion's.
type keptAnswer struct {
	Key    string              `json:"key"`
	Rests  map[rules.ID]string `json:"rests,omitempty"` // machine of another portion -> what that portion was made from
	Answer rules.Answer        `json:"-"`
	Items  []keptItem          `json:"items"`
	Wrong  []rules.Problem     `json:"wrong"`
}

// keptItem is an item as it is kept: the day a job was last done may be unknown and there may be no places, neither of which has a text.
type keptItem struct {
	rules.Item
	Positions *record.Positions `json:",omitempty"`
	Last      struct {
		Entry rules.ID
		Done  string
	}
}

// pack and unpack turn an answer into what is kept of it, and back.
func (a *keptAnswer) pack() {
	a.Items, a.Wrong = make([]keptItem, len(a.Answer.Items)), a.Answer.Problems
	for i, item := range a.Answer.Items {
		a.Items[i].Item = item
		if !item.Positions.IsZero() {
			a.Items[i].Positions = &item.Positions
		}
		a.Items[i].Last.Entry, a.Items[i].Last.Done = item.Last.Entry, string(item.Last.Done)
	}
}

func (a *keptAnswer) unpack() {
	a.Answer.Problems = a.Wrong
	for _, k := range a.Items {
		if k.Positions != nil {
			k.Item.Positions = *k.Positions
		}
		k.Item.Last = rules.LastDone{Entry: k.Last.Entry, Done: record.Done(k.Last.Done)}
		a.Answer.Items = append(a.Answer.Items, k.Item)
	}
}

// keptAnswers are those of one day and question, by key.
type keptAnswers struct {
	b    *book
	o    rules.Options
	f    rules.Filter
	name string

	before map[string]*keptAnswer
	fresh  bool // some were made anew

	mu    sync.Mutex
	own   map[rules.ID]string // first machine of a portion -> digest of what its own answer is made from
	whole map[rules.ID]string // the same -> digest of that and of all it may rest on
	base  []byte              // digest of what all portions have in common
}

// keptFormat changes when the form of what is kept does.
const keptFormat = "shedbook kept answers 2"

// kept opens what was kept for a question; nil where nothing is kept of it: other days than today, and what was once known, are asked too seldom.
func (b *book) kept(o rules.Options, f rules.Filter) *keptAnswers {
	if b.keeper == nil || o.On != b.c.today() || o.Known != "" || f.Within != 0 {
		return nil
	}
	k := &keptAnswers{b: b, o: o, f: f, name: "due", before: map[string]*keptAnswer{}, own: map[rules.ID]string{}, whole: map[rules.ID]string{}}
	if f.All {
		k.name = "due-all"
	}
	k.base = k.common()
	data, sum, ok := bytes.Cut(b.keeper.Kept(k.name), []byte("\n"))
	if digest := sha256.Sum256(data); !ok || string(sum) != hex.EncodeToString(digest[:]) {
		return k
	}
	var all []*keptAnswer
	if json.Unmarshal(data, &all) == nil {
		for _, a := range all {
			a.unpack()
			k.before[a.Key] = a
		}
	}
	return k
}

// common digests what every answer is made from.
func (k *keptAnswers) common() []byte {
	h := sha256.New()
	words(h, keptFormat, programID(), k.o.On, k.o.Known)
	if k.f.All {
		words(h, "all")
	}
	p := k.b.parts()
	for _, m := range p.outlines[k.o].Machines {
		words(h, string(m.ID))
	}
	p.digest(h, p.portions.Common)
	return h.Sum(nil)
}

// words writes texts so that no two lists of them read alike.
func words(h hash.Hash, all ...string) {
	for _, s := range all {
		h.Write([]byte{byte(len(s) >> 8), byte(len(s))})
		h.Write([]byte(s))
	}
}

// key digests what a portion's own answer is made from.
func (k *keptAnswers) key(p rules.Portion) string {
	return k.once(k.own, p, func() string {
		h := sha256.New()
		h.Write(k.base)
		h.Write(k.b.parted.sum(p))
		return hex.EncodeToString(h.Sum(nil))
	})
}

// all digests a portion with all the portions it may rest on.
func (k *keptAnswers) all(p rules.Portion) string {
	return k.once(k.whole, p, func() string {
		h := sha256.New()
		words(h, k.key(p))
		for _, id := range p.Carriers {
			other, _ := k.b.parted.portions.Of(id)
			words(h, string(id), k.all(other))
		}
		return hex.EncodeToString(h.Sum(nil))
	})
}

// once finds a portion's digest, worked out when it is first asked for. Two that ask at once may both work it out, and find the same.
func (k *keptAnswers) once(known map[rules.ID]string, p rules.Portion, digest func() string) string {
	k.mu.Lock()
	sum, ok := known[p.Machines[0]]
	k.mu.Unlock()
	if ok {
		return sum
	}
	sum = digest()
	k.mu.Lock()
	known[p.Machines[0]] = sum
	k.mu.Unlock()
	return sum
}

// find is the answer kept of a portion, nil where there is none that still holds.
func (k *keptAnswers) find(p rules.Portion) *keptAnswer {
	a := k.before[k.key(p)]
	if a == nil {
		return nil
	}
	for id, sum := range a.Rests {
		other, ok := k.b.parted.portions.Of(id)
		if !ok || k.all(other) != sum {
			return nil
		}
	}
	return a
}

// made is an answer made anew from a portion's State.
func (k *keptAnswers) made(p rules.Portion, s *rules.State, answer rules.Answer) *keptAnswer {
	a := &keptAnswer{Key: k.key(p), Answer: answer}
	for _, id := range s.Carriers {
		if a.Rests == nil {
			a.Rests = map[rules.ID]string{}
		}
		other, _ := k.b.parted.portions.Of(id)
		a.Rests[id] = k.all(other)
	}
	k.mu.Lock()
	k.fresh = true
	k.mu.Unlock()
	return a
}

// save keeps the answers of a book's portions in place of those before.
func (k *keptAnswers) save(all []*keptAnswer) {
	if !k.fresh {
		return
	}
	for _, a := range all {
		a.pack()
	}
	data, err := json.Marshal(all)
	if err != nil {
		return
	}
	digest := sha256.Sum256(data)
	k.b.keeper.Keep(k.name, append(append(data, '\n'), hex.EncodeToString(digest[:])...))
}

// programID tells this build of the program from every other: answers of another one are of no use.
var programID = sync.OnceValue(func() string {
	id := ""
	if info, ok := debug.ReadBuildInfo(); ok {
		id = info.GoVersion + " " + info.Main.Version
	}
	path, err := os.Executable()
	if err != nil {
		return id
	}
	if file, err := os.Stat(path); err == nil {
		id += fmt.Sprintf(" %s %d %d", path, file.Size(), file.ModTime().UnixNano())
	}
	return id
})
