package main

import (
	"shedbook/rules"
	"shedbook/rules/record"
)

// hand is who types on which phone. What a phone enters is signed by this device's key, so an entry names the hand beside it, as a claim of this device.
type hand struct {
	person record.ID
	phone  string
}

// claim adds to the part that may be held back who typed it. At the computer itself nobody did on a phone, whatever stood in an entry that is corrected.
func (h *hand) claim(p *record.Private) *record.Private {
	if h == nil {
		if p != nil && p.Entered != nil {
			q := *p
			q.Entered = nil
			return &q
		}
		return p
	}
	q := record.Private{}
	if p != nil {
		q = *p
	}
	q.Entered = &record.Entered{Person: h.person, Phone: h.phone}
	return &q
}

// by is whom an entry names as having done the work, where nobody else is said: the hand, unless the entry is by that person already.
func (h *hand) by(w *writing) []record.ID {
	if h == nil || h.person == w.person() {
		return nil
	}
	return []record.ID{h.person}
}

// enteredBy tells who typed an entry on a phone, "" where nobody did: "entered by Wren Alder on the phone barn phone". It does not say that they signed it.
func enteredBy(st *rules.State, p *record.Private) string {
	if p == nil || p.Entered == nil {
		return ""
	}
	return "entered by " + names(st, []record.ID{p.Entered.Person}) + " on the phone " + p.Entered.Phone
}
