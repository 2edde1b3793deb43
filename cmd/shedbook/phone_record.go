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
	r := &reply{c: w.c, w: w}
	if a.Kind == "season" {
		s, err := parseSaid("season "+a.What, bindSeason, a.Flags)
		if err != nil {
			return nil, err
		}
		if a.What != "open" && a.What != "close" {
			return nil, phone.ErrNone
		}
		return r, w.seasonInto(r, s, a.What, a.Value, sure)
	}
	v := phoneVerbs[a.Kind]
	if whole := phoneWhole(a); whole != nil {
		v = whole
	}
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
	switch {
	case v.form.Text:
		err = l.words(a)
	case v.kind == "": // of the machine as a whole: no words
		err = l.read(nil)
	default:
		err = l.read(typedWords(a))
	}
	if err != nil {
		return nil, err
	}
	return r, l.into(r, sure)
}

// off is what a phone sends as the carrier of a machine that is unhitched.
const off = "-"

// phoneWhole is what happens to a machine as a whole, as its command records it; nil for all else.
func phoneWhole(a phone.Act) *verb {
	v := &verb{form: phrase.Form{Partial: true}, bind: bindAny}
	switch a.Kind {
	case "hitch":
		carrier := a.What
		if carrier == off {
			carrier = ""
		}
		v.build = func(l *line) (record.Record, *record.Private, error) { return buildHitch(l, carrier) }
	case "move":
		v.build = func(l *line) (record.Record, *record.Private, error) { return buildMove(l, a.What) }
	case "store":
		v.bind, v.build = bindStore, buildStore
	default:
		return nil
	}
	return v
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
	case a.Kind == "correct":
		out = append(out, strings.Fields(value)...)
	case value == "":
		out = append(out, a.What)
	case a.Kind == "counter" && (value == "reset" || value == "replaced"):
		out = append(out, a.What, value)
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

// own is an entry that the phone's person entered or wrote.
func (w *writing) own(h phone.Hand, id, to string) (*target, error) {
	t, err := w.target(id)
	if err != nil {
		return nil, err
	}
	if ownerOf(t.eff) != record.ID(h.Person) {
		return nil, failed("no-right", "whoever keeps the book can, at the laptop", "%s is not yours to %s", t.e.ID().Short(), to)
	}
	return t, nil
}

// strikeOwn takes back an entry that the phone's person entered or wrote.
func (w *writing) strikeOwn(h phone.Hand, a phone.Act, sure sureOf) (*reply, error) {
	t, err := w.own(h, a.Entry, "take back")
	if err != nil {
		return nil, err
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

// phoneMends are the kinds of entries that a phone can put right.
func phoneMends(kind string) bool {
	return kind == "measure" || phoneVerbs[kind] != nil || phoneWhole(phone.Act{Kind: kind}) != nil
}

// correctOwn puts right an entry that the phone's person entered or wrote, as correct does.
func (w *writing) correctOwn(h phone.Hand, a phone.Act, sure sureOf) (*reply, error) {
	t, err := w.own(h, a.Entry, "put right")
	if err != nil {
		return nil, err
	}
	if !phoneMends(t.e.Kind()) {
		return nil, failed("not-moved", "at the laptop", "a %s entry is not put right on a phone", t.e.Kind())
	}
	s, err := parseSaid("correct", bindCorrect, a.Flags)
	if err != nil {
		return nil, err
	}
	r := &reply{c: w.c, w: w, plain: true}
	l := &line{c: w.c, w: w, s: s, v: &verb{kind: t.e.Kind()}, st: t.st, m: &rules.Machine{}, old: t.eff, done: t.eff.Done, form: &a}
	words := typedWords(a)
	if a.What != "" {
		l.moved = true
		return r, l.moveInto(r, t, a.What, words, "", sure)
	}
	return r, l.correctInto(r, t, words, sure)
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
