package main

import (
	"errors"
	"slices"
	"strings"
	"sync"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

// shop is the book behind the phone page: opened once, kept in memory, read anew when another program changed it. One request at a time uses it; recording
// takes the book's lock as any command does.
type shop struct {
	c   *call
	dir string

	mu     sync.Mutex
	b      *book
	day    string
	signer ledger.Signer
	ring   *keyring.Ring
	sent   *sent
}

// openShop opens the book and its signing key: a passphrase is asked for now, not when somebody stands at the drill.
func (c *call) openShop() (*shop, error) {
	dirs, err := c.bookDirs()
	if err != nil {
		return nil, err
	}
	s := &shop{c: c, dir: dirs[0]}
	b, err := s.fresh()
	if err != nil {
		return nil, err
	}
	if s.signer, s.ring, err = b.signer(); err != nil {
		return nil, err
	}
	if s.sent, err = openSent(b); err != nil {
		return nil, err
	}
	return s, nil
}

// writer is whose log it writes.
func (s *shop) writer() ledger.Writer { return ledger.WriterOf(s.signer.Public()) }

// close lets go of what only one phone page may hold.
func (s *shop) close() { s.sent.close() }

// fresh is the book as it is now.
func (s *shop) fresh() (*book, error) {
	today := s.c.today()
	if s.b != nil && !s.b.signed {
		is, err := s.b.store.Current()
		if err != nil {
			return nil, openError(s.dir, err)
		}
		if is {
			if s.day != today { // what was worked out of another day is of no use
				s.b.parted, s.b.states, s.day = nil, map[rules.Options]*rules.State{}, today
			}
			return s.b, nil
		}
	}
	c := *s.c
	b, err := c.openFor(s.dir, true)
	if err != nil {
		return nil, err
	}
	s.b, s.day = b, today
	return b, nil
}

// with runs fn on the book as it is now. A mistake comes back in the words of the phone page.
func (s *shop) with(fn func(b *book) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.fresh()
	if err == nil {
		err = fn(b)
	}
	return phoneError(err)
}

// phoneError turns an error of the commands into one of the page. What can be typed at the laptop only is said to be so.
func phoneError(err error) error {
	var d *doubt
	var ue *userError
	switch {
	case errors.As(err, &d) && d.tag == "future": // nobody can have done it yet, so nobody is asked
		return &phone.Refused{Text: d.question + ", and only what was done is recorded.", Next: "Choose today, or the day on which it was done. If that day is today, set the laptop's clock."}
	case errors.As(err, &d):
		return &phone.Ask{Question: d.question}
	case errors.As(err, &ue):
		next := ue.hint
		if strings.HasPrefix(next, "shedbook ") {
			next = "At the laptop: " + next
		}
		return &phone.Refused{Text: ue.text, Next: next}
	}
	return err
}

func (s *shop) Title() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.log.Title()
}

// outlineNow is which machines, yards and people there are today.
func (b *book) outlineNow() (*rules.State, error) {
	st, ok, err := b.outline(rules.Options{On: b.on(), Known: b.c.known})
	if err == nil && !ok {
		st, err = b.now()
	}
	return st, err
}

func (s *shop) People() (out []phone.Person, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		for _, p := range st.People {
			if p.Name != "" {
				out = append(out, phone.Person{ID: string(p.ID), Name: p.Name})
			}
		}
		slices.SortFunc(out, func(a, b phone.Person) int { return strings.Compare(a.Name, b.Name) })
		return nil
	})
	return out, err
}

// Record signs one entry of a phone by the way of the command that records the same.
func (s *shop) Record(h phone.Hand, a phone.Act, sure []string) (answer *phone.Answer, err error) {
	err = s.with(func(b *book) error {
		if answer = s.sent.find(b, h, a.Once); answer != nil {
			return nil
		}
		return s.sign(b, h, a.Once, sure, func(w *writing, sure sureOf) (*reply, error) {
			switch a.Kind {
			case "strike":
				return w.strikeOwn(h, a, sure)
			case "correct":
				return w.correctOwn(h, a, sure)
			}
			return w.actOf(a, sure)
		}, &answer)
	})
	return answer, err
}

// sign runs fn under the book's lock and keeps what it answers under the form's key, before the entries are stored.
func (s *shop) sign(b *book, h phone.Hand, once string, sure []string, fn func(*writing, sureOf) (*reply, error), answer **phone.Answer) error {
	c := *b.c
	c.hand = &hand{person: record.ID(h.Person), phone: h.Phone}
	before := b.c
	b.c = &c
	defer func() { b.c = before }()
	sureOf := sureOf{}
	for _, q := range sure {
		sureOf[q] = true
	}
	err := b.writeSigned(s.signer, s.ring, func(w *writing) error {
		if st, err := w.outlineNow(); err != nil {
			return err
		} else if st.Person(h.Person) == nil {
			return failed("unknown-person", "pair this phone anew", "%s is not in the book any more", h.Name)
		}
		r, err := fn(w, sureOf)
		if err != nil {
			return err
		}
		if err := s.sent.add(h, once, w, r); err != nil {
			return failed("not-kept", "make room on the laptop, then send it again", "nothing was recorded: %v", err)
		}
		w.then(func() error {
			a, err := r.forPhone()
			if err != nil {
				return err
			}
			*answer = a
			s.sent.told(h, once, a)
			return nil
		})
		return nil
	})
	var unsound exitCode
	if errors.As(err, &unsound) && *answer != nil {
		(*answer).Notes = append((*answer).Notes, "The book does not verify: shedbook audit, at the laptop, says what is wrong.")
		return nil
	}
	return err
}

// Recorded is what was answered to a form of this hand.
func (s *shop) Recorded(h phone.Hand, once string) (answer *phone.Answer, err error) {
	err = s.with(func(b *book) error { answer = s.sent.find(b, h, once); return nil })
	return answer, err
}

// phoneVerbs are the verbs of a phone's forms.
var phoneVerbs = map[string]*verb{"did": didVerb, "fault": faultVerb, "repair": repairVerb, "note": noteVerb, "counter": counterVerb, "adjust": adjustVerb, "swap": swapVerb}

// forPhone is the answer for a page: the entry in a sentence, what is to be said of it, what is due next on that machine.
func (a *reply) forPhone() (*phone.Answer, error) {
	st, err := a.state()
	if err != nil {
		return nil, err
	}
	out := a.brief(st)
	for _, n := range append(a.notes, a.told(st)...) {
		if k := len(a.entries); k > 0 {
			n = strings.ReplaceAll(n, "{id}", a.entries[k-1].e.ID().Short())
		}
		out.Notes = append(out.Notes, n)
	}
	for _, i := range a.next(st) {
		out.Next = append(out.Next, nextWords(i))
	}
	return out, nil
}

// brief is what was recorded, in sentences.
func (a *reply) brief(st *rules.State) *phone.Answer {
	out := &phone.Answer{}
	if a.m != nil {
		out.Machine = a.m.Name
	}
	for _, x := range a.entries {
		out.Lines = append(out.Lines, a.sentence(st, x)+" ["+x.e.ID().Short()+"]")
		out.IDs = append(out.IDs, x.e.ID().String())
	}
	return out
}
