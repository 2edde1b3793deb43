package main

import (
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
	"shedbook/rules/record"
)

// actOf makes an entry of a phone's form as the command of its kind does: the same words and flags, the same record, the same doubts.
func (w *writing) actOf(a phone.Act, sure sureOf) (*reply, error) {
	v := phoneVerbs[a.Kind]
	if v == nil {
		return nil, phone.ErrNone
	}
	w.takePhoto(&a)
	s, err := parseSaid(a.Kind, v.bind, a.Flags)
	if err != nil {
		return nil, err
	}
	l, err := w.begin(v, s, a.Machine)
	if err != nil {
		return nil, err
	}
	if v.form.Text {
		err = l.words(a)
	} else {
		err = l.read(typedWords(a))
	}
	if err != nil {
		return nil, err
	}
	r := &reply{c: w.c, w: w}
	return r, l.into(r, sure)
}

// typedWords is what stands behind the machine's name on the command line.
func typedWords(a phone.Act) []string {
	at := slices.Index(a.Places, "but")
	if at < 0 {
		at = len(a.Places)
	}
	out := slices.Clone(a.Places[:at])
	value := strings.TrimSpace(a.Value)
	switch {
	case value == "":
		out = append(out, a.What)
	case strings.HasPrefix(value, "+") || strings.HasPrefix(value, "-"):
		out = append(out, a.What, value)
	default:
		out = append(out, a.What+"="+value)
	}
	return append(out, a.Places[at:]...)
}

// words takes the places and the free words of a fault, repair or note. They come apart from one another, so none is taken for the other.
func (l *line) words(a phone.Act) error {
	if err := l.scheduled(); err != nil {
		return err
	}
	text := strings.TrimSpace(strings.ReplaceAll(a.Text, "\r\n", "\n"))
	l.ph = &phrase.Phrase{Text: text}
	if len(a.Places) > 0 {
		c := phrase.Clause{Places: a.Places, Said: strings.Join(a.Places, " ")}
		if at := slices.Index(a.Places, "but"); at >= 0 {
			c.Places, c.But = a.Places[:at], a.Places[at+1:]
		}
		if len(a.Places) > 8 {
			c.Said = ""
		}
		l.ph.Clauses = []phrase.Clause{c}
	}
	return nil
}

// strikeOwn takes back an entry that the phone's person entered or wrote.
func (w *writing) strikeOwn(h phone.Hand, a phone.Act, sure sureOf) (*reply, error) {
	t, err := w.target(a.Entry)
	if err != nil {
		return nil, err
	}
	if ownerOf(t.eff) != record.ID(h.Person) {
		return nil, failed("no-right", "whoever keeps the book can, at the laptop", "%s is not yours to take back", t.e.ID().Short())
	}
	text := strings.TrimSpace(a.Text)
	if text != "" {
		if err := checkWords("the remark", text, maxWords); err != nil {
			return nil, err
		}
	}
	m := t.machine()
	r := &reply{c: w.c, w: w, plain: true, m: m}
	return r, w.strikeInto(r, t, m, text, sure)
}

// ownerOf is whose entry it is: whoever entered it on a phone, else the person whose device wrote it.
func ownerOf(e *rules.Effective) record.ID {
	if p := e.Entry.Private; p != nil && p.Entered != nil {
		return p.Entered.Person
	}
	return e.Entry.Person
}

// before is the state in which a reply can be told while its entries are not stored yet.
func (a *reply) before() (*rules.State, error) {
	o := rules.Options{On: a.c.today()}
	if a.m == nil {
		return a.w.outlineNow()
	}
	return a.w.stateOf(a.m.ID, o)
}
