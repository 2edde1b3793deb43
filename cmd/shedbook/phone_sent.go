package main

import (
	"encoding/json"
	"errors"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger"
)

// mostSent is how many forms are remembered at least.
const mostSent = 1000

// sent are the forms that phones sent: each is recorded once, whatever the Wi-Fi does and whenever it comes again. A form's key and the ids of its entries
// are on the disk before the entries are stored; a key whose entries never came into the book counts for nothing.
type sent struct {
	d       *draft.Draft
	answers map[string]*phone.Answer // told in this run, whole
}

// openSent takes hold of the list; only one phone page of a book runs at a time.
func openSent(b *book) (*sent, error) {
	d, err := draft.Open(b.store.Dir(), "phone-sent")
	switch {
	case errors.Is(err, draft.ErrBusy):
		return nil, failed("busy", "use that one, or end it first", "a phone page of this book is open already")
	case err != nil:
		return nil, failed("not-kept", "mend the folder, or make room", "what phones send could not be kept: %v", err)
	}
	return &sent{d: d, answers: map[string]*phone.Answer{}}, nil
}

func (s *sent) close() { s.d.Close() }

func sentKey(h phone.Hand, once string) string { return h.ID + " " + once }

// find is the answer given to a form, where its entries are in the book.
func (s *sent) find(b *book, h phone.Hand, once string) *phone.Answer {
	key := sentKey(h, once)
	if a := s.answers[key]; a != nil {
		return a
	}
	for i := len(s.d.Lines) - 1; i >= 0; i-- {
		x := s.d.Lines[i]
		if x.At != key {
			continue
		}
		var a phone.Answer
		if !inBook(b, x.Signed) || json.Unmarshal([]byte(x.Say), &a) != nil {
			return nil
		}
		return &a
	}
	return nil
}

// inBook reports that the first of some entries is held: a run is stored whole or not at all.
func inBook(b *book, ids []string) bool {
	if len(ids) == 0 {
		return false
	}
	id, err := ledger.ParseID(ids[0])
	return err == nil && b.log.Entry(id) != nil
}

// add keeps what is about to be stored.
func (s *sent) add(h phone.Hand, once string, w *writing, r *reply) error {
	st, err := r.before()
	if err != nil {
		return err
	}
	text, err := json.Marshal(r.brief(st))
	if err != nil {
		return err
	}
	x := draft.Line{At: sentKey(h, once), Say: string(text)}
	for _, e := range w.run {
		x.Signed = append(x.Signed, e.ID().String())
	}
	if len(s.d.Lines) >= 2*mostSent {
		if err := s.shorten(); err != nil {
			return err
		}
	}
	if s.d.Head == nil {
		if err := s.d.Begin(draft.Head{Verb: "phone"}); err != nil {
			return err
		}
	}
	return s.d.Add(x)
}

// shorten keeps the newest. Cut off in between, older forms are forgotten: they would be recorded again only if they came again now.
func (s *sent) shorten() error {
	left := append([]draft.Line(nil), s.d.Lines[len(s.d.Lines)-mostSent:]...)
	if err := s.d.Remove(); err != nil {
		return err
	}
	if err := s.d.Begin(draft.Head{Verb: "phone"}); err != nil {
		return err
	}
	for _, x := range left {
		if err := s.d.Add(x); err != nil {
			return err
		}
	}
	clear(s.answers)
	return nil
}

// told keeps the whole answer for as long as the program runs.
func (s *sent) told(h phone.Hand, once string, a *phone.Answer) { s.answers[sentKey(h, once)] = a }
