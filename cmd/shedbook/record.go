package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

// verb is one way to record work on a machine: the form of its line and how a record is made of it. A correction uses the same verb on the record as it
// stands, so each build starts from line.old where there is one and changes only what is said.
type verb struct {
	kind  string
	form  phrase.Form
	wide  bool // it looks at shelves, and at what sits in other machines
	bind  func(*said, *pflag.FlagSet)
	build func(*line) (record.Record, *record.Private, error)
}

// verbs are those that concern one machine and can be corrected with the same words.
func verbs() []*verb {
	return []*verb{counterVerb, adjustVerb, measureVerb, swapVerb, didVerb, faultVerb, repairVerb, noteVerb, assumeVerb}
}

// line is one line on its way from words to an entry. Nothing in it writes.
type line struct {
	c      *call
	w      *writing
	s      *said
	v      *verb
	st     *rules.State // on the day the work was done
	m      *rules.Machine
	ph     *phrase.Phrase
	done   record.Done
	old    *rules.Effective // what is corrected
	moved  bool             // the entry corrected goes to another machine
	form   *phone.Act       // said on a phone, where places and free words come apart
	notes  []string         // said beside the answer
	doubts []*doubt         // asked about before anything is signed
	also   []extra          // entries that go with it, before it
	bulk   *bulk            // it is one of many: what the others said is told by this
	same   string           // who, when and what, by which the very same is known there
}

// extra is an entry beside the one spoken of, of another machine.
type extra struct {
	m *rules.Machine
	r record.Record
	p *record.Private
}

// doubt is something unusual: a person is asked, a program must say --yes.
type doubt struct{ question, tag string }

func (d *doubt) Error() string { return d.question }

func (l *line) doubt(tag, format string, a ...any) {
	l.doubts = append(l.doubts, &doubt{fmt.Sprintf(format, a...), tag})
}

func (l *line) note(format string, a ...any) { l.notes = append(l.notes, fmt.Sprintf(format, a...)) }

// recordCommand is the run of a verb's command.
func recordCommand(v *verb, s *said) func(*call) error {
	return func(c *call) error {
		if len(c.args) == 0 {
			return usage("shedbook "+c.cmd.examples[0], "%s takes a machine and what of it", c.cmd.name)
		}
		return c.record(func(w *writing, sure sureOf) error {
			l, err := w.line(v, s, c.args[0], c.args[1:])
			if err != nil {
				return err
			}
			return l.write(sure)
		})
	}
}

// sureOf are the doubts a person has answered with yes.
type sureOf map[string]bool

// record is write for commands that may have to ask: nobody is asked while the book is locked, so doubts are answered in between and all is done anew.
func (c *call) record(fn func(w *writing, sure sureOf) error) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	sure := sureOf{}
	for {
		err := b.write(func(w *writing) error { return fn(w, sure) })
		var d *doubt
		if !errors.As(err, &d) {
			return err
		}
		if err := c.confirm(d.question, d.tag); err != nil {
			return err
		}
		sure[d.question] = true
	}
}

// settle gives the first doubt that nobody has answered.
func settle(doubts []*doubt, sure sureOf) error {
	for _, d := range doubts {
		if !sure[d.question] {
			return d
		}
	}
	return nil
}

// line reads the words after the machine's name against the machine as it was when the work was done.
func (w *writing) line(v *verb, s *said, machine string, words []string) (*line, error) {
	l, err := w.begin(v, s, machine)
	if err != nil {
		return nil, err
	}
	return l, l.read(words)
}

// begin is a line of which no words are read yet.
func (w *writing) begin(v *verb, s *said, machine string) (*line, error) {
	l := &line{c: w.c, w: w, s: s, v: v}
	var err error
	if l.done, err = s.when(w.c.env); err != nil {
		return nil, err
	}
	if v.wide {
		l.st, err = w.state(l.done.Date(), "")
	} else {
		l.st, err = w.stateFor(machine, rules.Options{On: l.done.Date()})
	}
	if err != nil {
		return nil, err
	}
	if l.m, err = findMachine(l.st, strings.ToLower(machine)); err != nil {
		return nil, err
	}
	return l, nil
}

// read parses the words with the machine's own names.
func (l *line) read(words []string) error {
	if err := l.scheduled(); err != nil {
		return err
	}
	form := l.v.form
	form.Partial = form.Partial || l.old != nil
	ph, err := phrase.Parse(vocabulary{l.m.Fitted}, form, l.m.Name, words)
	if err != nil {
		return lineError(l.m.Name, err)
	}
	l.ph = ph
	return nil
}

// scheduled refuses a machine whose schedule is not known.
func (l *line) scheduled() error {
	if l.m.Fitted == nil {
		return failed("no-schedule", "shedbook schedule use "+l.m.Kind, "the schedule %q of %s is not known, so what is said of it cannot be checked", l.m.Kind, l.m.Name)
	}
	return nil
}

// write makes the record, asks what is doubtful, signs it and answers.
func (l *line) write(sure sureOf) error {
	reply := &reply{c: l.c, w: l.w}
	if err := l.into(reply, sure); err != nil {
		return err
	}
	l.w.then(reply.print)
	return nil
}

// into is write for an answer that may tell of several entries.
func (l *line) into(reply *reply, sure sureOf) error {
	r, p, err := l.v.build(l)
	if err != nil {
		return err
	}
	l.common()
	l.doubled(r, p)
	l.warranted(r)
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	reply.m, reply.notes = l.m, append(reply.notes, l.notes...)
	for _, x := range l.also {
		if err := reply.sign(x.m, x.r, x.p); err != nil {
			return err
		}
	}
	return reply.sign(l.m, r, p)
}

// sign adds an entry about a machine.
func (w *writing) addWork(m *rules.Machine, r record.Record, p *record.Private) (*ledger.Entry, error) {
	key, err := machineKey(m.Key)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", m.Name, err)
	}
	return w.add(r, p, key)
}

func machineKey(text string) (*ledger.MachineKey, error) {
	var key ledger.MachineKey
	if err := key.UnmarshalText([]byte(text)); err != nil {
		return nil, err
	}
	return &key, nil
}

// common asks about what is unusual in any work: the future, the distant past, a machine no longer held.
func (l *line) common() {
	if l.done.Date() > l.c.today() || len(l.done) > len("2006-01-02") && l.done > l.c.minute() {
		l.doubt("future", "%s lies in the future", weekday(l.done))
	}
	if l.m.Sold != "" {
		l.doubt("sold", "%s was sold on %s", l.m.Name, weekday(l.m.Sold))
	}
	if l.done.Date() < "1950" {
		l.doubt("long-ago", "%s is long ago", weekday(l.done))
	}
}

// doubled asks when the very same was recorded already by the same person: mostly the same key pressed twice.
func (l *line) doubled(r record.Record, p *record.Private) {
	if l.old != nil {
		return
	}
	text := asText(r, p)
	if l.bulk != nil {
		l.bulk.doubled(l, r, text)
		return
	}
	person := l.w.person()
	for _, e := range l.st.Effective {
		if e.Entry.Kind != r.Kind() || e.Ignored != "" || e.StruckBy != "" || e.Record == nil || e.Entry.Person != person {
			continue
		}
		if done, _ := record.DoneOf(e.Record); done == l.done && asText(e.Record, e.Private) == text {
			l.doubt("doubled", "the very same is recorded already, %s [%s]", weekday(l.done), e.Entry.ID.Short())
			return
		}
	}
}

// asText is a record with its private part in one comparable text.
func asText(r record.Record, p *record.Private) string {
	said := record.Private{}
	if p != nil {
		said = *p
	}
	said.Entered, said.Imported = nil, nil // not what is said, but by whom and whence
	a, _ := json.Marshal(r)
	b, _ := json.Marshal(said)
	return string(a) + "\n" + string(b)
}

// person is whose device writes.
func (w *writing) person() record.ID {
	d, _ := w.judged.Device(w.writer)
	return record.ID(d.Person.String())
}

// clause is the one clause of a line that has one; a correction may have none.
func (l *line) clause() phrase.Clause {
	if len(l.ph.Clauses) == 0 {
		return phrase.Clause{}
	}
	return l.ph.Clauses[0]
}

// term is what the one clause speaks of; ok is false where a correction leaves it as it stands.
func (l *line) term() (phrase.Term, bool) {
	c := l.clause()
	if len(c.Terms) == 0 {
		return phrase.Term{}, false
	}
	return c.Terms[0], true
}

// places resolves the places of a clause: all of the noun when none are said. old is what stands, of which a correction may take some out.
func (l *line) places(noun string, c phrase.Clause, old record.Positions) (record.Positions, error) {
	if noun == "" && len(c.Places)+len(c.But) > 0 && l.v.form.Kinds != nil && !l.v.form.Text {
		return record.Positions{}, failed("no-positions", "leave the places out", "%s: %s is of the whole machine and has no places", l.m.Name, l.what())
	}
	if l.old != nil && len(c.Places) == 0 {
		if len(c.But) == 0 {
			return old, nil
		}
		less, err := l.where(noun, c.But, nil)
		if err != nil {
			return record.Positions{}, err
		}
		if !less.Without(old).IsZero() {
			return record.Positions{}, failed("unknown-position", "", "%s cannot be left out: the entry is about %s", l.m.Fitted.Describe(less.Without(old), noun), l.m.Fitted.Describe(old, noun))
		}
		return old.Without(less), nil
	}
	return l.where(noun, c.Places, c.But)
}

// what names the thing spoken of, for errors.
func (l *line) what() string {
	if t, ok := l.term(); ok && t.Name != "" {
		return t.Name
	}
	return "it"
}

func (l *line) where(noun string, words, but []string) (record.Positions, error) {
	set, err := l.m.Fitted.ParsePositions(noun, words, but)
	if err != nil {
		return set, failed("unknown-position", "shedbook schedule show "+l.m.Name, "%s: %v", l.m.Name, err)
	}
	return set, nil
}

// list resolves the places given to a flag: "14,31", "left-wing".
func (l *line) list(flag, noun, text string) (record.Positions, error) {
	set, err := l.m.Fitted.ParseWhere(noun, strings.ToLower(text))
	if err != nil {
		return set, failed("unknown-position", "shedbook schedule show "+l.m.Name, "%s: %s: %v", l.m.Name, flag, err)
	}
	return set, nil
}

// saidOf is the places as typed, or those of the record corrected where none were.
func saidOf(c phrase.Clause, old string) string {
	if c.Said != "" {
		return c.Said
	}
	return old
}

// oneOf picks a word a flag may have.
func oneOf(flag, word string, allowed []string) (string, error) {
	word = strings.ToLower(strings.TrimSpace(word))
	if word == "" || slices.Contains(allowed, word) {
		return word, nil
	}
	return "", usage(fmt.Sprintf("write %s", strings.Join(allowed, " or ")), "%s cannot be %q%s", flag, word, didYouMean(word, allowed))
}
