package main

import (
	"errors"
	"io"
	"strings"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules"
	"shedbook/rules/record"
)

// phoneRound is a round of readings keyed in on a phone: the round that measure --ask goes, on a draft of that phone's own.
type phoneRound struct {
	*round
	doubts map[string]string // by question: typed, asked about, not confirmed yet
}

// onRound opens the round of a phone, as far as it has come, and runs fn. flags are those said when it is signed.
func (s *shop) onRound(h phone.Hand, machine, reading string, flags []string, fn func(b *book, r *phoneRound) error) error {
	return s.with(func(b *book) error {
		c := *b.c
		c.hand = &hand{person: record.ID(h.Person), phone: h.Phone}
		c.env, c.quiet, c.yes = quietly(c.env), true, true
		c.args, c.cmd = []string{machine, reading}, measureCommand()
		before := b.c
		b.c = &c
		defer func() { b.c = before }()
		st, err := b.stateFor(machine, rules.Options{On: c.today()})
		if err != nil {
			return err
		}
		m := st.Machine(strings.ToLower(machine))
		if m == nil || m.Fitted == nil {
			return phone.ErrNone
		}
		if def, ok := m.Fitted.Reading(reading); !ok || def.Computed != nil {
			return phone.ErrNone
		}
		r, err := c.openRound(b, h, m.ID, reading, flags)
		if err != nil {
			return err
		}
		defer r.draft.Close()
		return fn(b, r)
	})
}

// quietly is a world in which nobody sits at a terminal.
func quietly(e *env) *env {
	q := *e
	q.stdout, q.stderr, q.stdin, q.asks, q.lines = io.Discard, io.Discard, strings.NewReader(""), false, nil
	return &q
}

func (c *call) openRound(b *book, h phone.Hand, machine record.ID, reading string, flags []string) (*phoneRound, error) {
	said, err := parseSaid("measure", bindMeasure, flags)
	if err != nil {
		return nil, err
	}
	l, clause, err := c.askLine(b, said, c.args[1:])
	if err != nil {
		return nil, err
	}
	r := &phoneRound{&round{c: c}, map[string]string{}}
	r.draft, err = draft.Open(b.store.Dir(), draft.Name("measure-"+h.ID, string(machine), []string{reading}))
	if errors.Is(err, draft.ErrBusy) {
		return nil, failed("busy", "send it again in a moment", "the readings are being written just now")
	}
	if err != nil {
		return nil, failed("not-kept", "mend the folder, or make room", "what is typed could not be kept: %v", err)
	}
	if err := r.takeUp(b, l, clause, said); err != nil {
		r.draft.Close()
		return nil, err
	}
	return r, nil
}

// takeUp goes on with what the phone's draft keeps, or begins a round. A draft whose entries are in the book already had only stayed.
func (r *phoneRound) takeUp(b *book, l *line, clause phrase.Clause, said *said) error {
	if r.draft.Head != nil {
		done, err := r.c.draftRecorded(b, r.draft, l.m.Name)
		if err != nil {
			return err
		}
		if !done {
			if _, err := r.carryOn(b, said); err != nil {
				return err
			}
			for _, x := range r.draft.Lines {
				delete(r.doubts, x.At)
				if x.Doubt != "" {
					r.doubts[x.At] = x.Doubt
				}
			}
			return nil
		}
	}
	return r.start(l, clause, said, r.c.args[1:])
}

// put takes what stands in one field. Nothing said leaves what was said before as it is, unless it was taken out of the field.
func (r *phoneRound) put(i int, in phone.Typed) (wrong string, err error) {
	q := r.asks[i]
	key, text := q.key(), strings.TrimSpace(in.Value)
	was := r.said[key]
	now := ""
	if was.given() {
		now = was.asText()
	}
	switch {
	case in.Cannot:
		text = "-"
	case text == "" && in.Cleared && (was.given() || r.doubts[key] != ""):
		delete(r.doubts, key)
		return "", r.say(i, draft.Line{Left: true, Say: actOut})
	case text == "":
		return "", nil
	}
	v, err := q.g.parse(text)
	if err != nil {
		return err.Error(), nil
	}
	say := answer{got: v}.asText()
	if say == now && r.doubts[key] == "" {
		return "", nil
	}
	if odd := r.odd(i, say); odd != "" && !(r.doubts[key] == say && in.Sure) {
		if r.doubts[key] == say {
			return "", nil
		}
		r.doubts[key] = say
		return "", r.say(i, draft.Line{Doubt: say})
	}
	delete(r.doubts, key)
	return "", r.say(i, draft.Line{Say: say})
}

// forPhone is the round for a page. wrong is what could not be read, by field.
func (r *phoneRound) forPhone(wrong map[string]string) *phone.Round {
	g := r.gauges[0]
	def := g.def
	out := &phone.Round{Machine: g.l.m.Name, Reading: def.Name, Title: titled(def.Title, def.Name), Unit: def.Unit.String(), How: def.How, Grades: def.Grades, Conditions: def.Condition, All: len(r.asks), Counters: readCounters(g.l.m)}
	if def.HasLow || def.HasHigh {
		out.Usual = g.usual()
	}
	if def.Limit != nil {
		out.Limit = limitWords(def.Limit, r.c.both)
	}
	if r.draft.Head != nil {
		out.Begun = weekday(record.Done(r.draft.Head.Done))
	}
	for i, q := range r.asks {
		title := r.stretch(i)
		if n := len(out.Stretches); n == 0 || out.Stretches[n-1].Title != title {
			out.Stretches = append(out.Stretches, phone.Stretch{Title: title})
		}
		key := q.key()
		a := phone.Asked{Key: key, Name: q.name(), Wrong: wrong[key]}
		if last, when := q.g.last(q.spot); !last.IsZero() {
			a.Last = last.String() + ", " + when.Date()
		}
		switch was := r.said[key]; {
		case r.doubts[key] != "":
			a.Value, a.Odd = r.doubts[key], r.oddForPhone(i, r.doubts[key])
			out.Odd++
		case was.given() && was.got.Cannot != "":
			a.Cannot = true
			out.Said++
		case was.given():
			a.Value = was.asText()
			out.Said++
		}
		a.Value = strings.TrimSuffix(a.Value, " "+def.Unit.String())
		s := &out.Stretches[len(out.Stretches)-1]
		s.Asked = append(s.Asked, a)
	}
	out.Summary = r.summary(g)
	return out
}

// oddForPhone is the soft question as a page puts it: it has a box to tick where a terminal asks for the value once more.
func (r *phoneRound) oddForPhone(i int, say string) string {
	q, _, _ := strings.Cut(r.odd(i, say), " Type it again")
	return q
}

func (s *shop) Round(h phone.Hand, machine, reading string) (out *phone.Round, err error) {
	err = s.onRound(h, machine, reading, nil, func(_ *book, r *phoneRound) error { out = r.forPhone(nil); return nil })
	return out, err
}

// Keep puts what was typed on the disk, field by field. A field that nobody can read keeps what stood there; the others are kept all the same.
func (s *shop) Keep(h phone.Hand, machine, reading string, typed map[string]phone.Typed) (out *phone.Round, err error) {
	err = s.onRound(h, machine, reading, nil, func(_ *book, r *phoneRound) error {
		wrong := map[string]string{}
		for i, q := range r.asks {
			in, ok := typed[q.key()]
			if !ok {
				continue
			}
			bad, err := r.put(i, in)
			if err != nil {
				return err
			}
			if bad != "" {
				wrong[q.key()] = bad
			}
		}
		out = r.forPhone(wrong)
		return nil
	})
	return out, err
}

// Sign records the readings kept, all in one entry, and lets go of the draft once it is safe.
func (s *shop) Sign(h phone.Hand, a phone.Act, sure []string) (answer *phone.Answer, err error) {
	if err := s.with(func(b *book) error { answer = s.sent.find(b, h, a.Once); return nil }); err != nil || answer != nil {
		return answer, err
	}
	err = s.onRound(h, a.Machine, a.What, a.Flags, func(b *book, r *phoneRound) error {
		if answer = s.sent.find(b, h, a.Once); answer != nil { // it came twice at once
			return nil
		}
		if len(r.doubts) > 0 {
			return failed("odd", "go back to the readings", "a reading is asked about and not answered yet")
		}
		if r.nothing() {
			return errNothingSaid
		}
		return s.sign(b, h, a.Once, sure, func(w *writing, sure sureOf) (*reply, error) {
			reply, err := r.sign(w, sure)
			if err != nil {
				return nil, err
			}
			if err := w.noteIn(r.draft); err != nil {
				return nil, err
			}
			w.then(func() error { _ = r.draft.Remove(); return nil }) // one that stays is known by the ids in it
			return reply, nil
		}, &answer)
	})
	return answer, err
}
