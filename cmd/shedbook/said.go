package main

import (
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// said are the flags of the commands that record. Each command binds its own few; a correction binds them all and takes those of the entry's kind.
type said struct {
	fs *pflag.FlagSet

	done, crop, field, ground, who, note  string
	by, counters, costs, closes, papers   []string
	minutes                               int
	moved, skipped, torque, outcome       string
	until                                 string
	results, fills, topUps                []string
	values, from, found, left, with, hand string
	at                                    []string
	ask                                   bool
	why, in                               string
	fromShelf, toShelf, out               bool
	turned, sharpened, rebuilt            bool
	serials, used, needs                  []string
	stop, soon, winter, tidy              bool
	tiedUp, unfit, temporary              bool
	lost, cause, warranty                 string
	last, start                           string
	trip, lifetime                        bool
	kind, yard, title, workOf, to         string
	year                                  int
	options, groups, use, farms           []string
	counted, scrap                        bool
	slack, putBack                        []string
	condition                             string
	back, hired                           bool

	asked map[string]string // what was answered to questions, by slot
}

func (s *said) str(fs *pflag.FlagSet, p *string, name, text string) {
	if fs.Lookup(name) == nil {
		fs.StringVar(p, name, "", text)
	}
}

func (s *said) strs(fs *pflag.FlagSet, p *[]string, name, text string) {
	if fs.Lookup(name) == nil {
		fs.Var((*texts)(p), name, text)
	}
}

func (s *said) yes(fs *pflag.FlagSet, p *bool, name, text string) {
	if fs.Lookup(name) == nil {
		fs.BoolVar(p, name, false, text)
	}
}

func (s *said) num(fs *pflag.FlagSet, p *int, name, text string) {
	if fs.Lookup(name) == nil {
		fs.IntVar(p, name, 0, text)
	}
}

// bindWork binds what any work may have said of it.
func (s *said) bindWork(fs *pflag.FlagSet) {
	s.fs = fs
	s.str(fs, &s.done, "done", "`when` it was done: 2026-04-01, yesterday, \"today 16:05\" (left out: now)")
	s.strs(fs, &s.by, "by", "who did it, `name` or names by commas (left out: you)")
	s.strs(fs, &s.counters, "counter", "a counter read on the occasion: `area=1812ac`; a bare number is the main one's")
	s.num(fs, &s.minutes, "minutes", "`minutes` of work, all hands together")
	s.str(fs, &s.crop, "crop", "the `crop`")
	s.str(fs, &s.field, "field", "the `field`")
	s.str(fs, &s.ground, "ground", "the ground, in your `words`: wet, heavy")
	s.strs(fs, &s.costs, "cost", "money, `what=amount`: parts=120.50")
	s.str(fs, &s.who, "who", "an outside `shop` or dealer")
	s.strs(fs, &s.closes, "closes", "the `fault` this puts right, by its id, or none")
	s.strs(fs, &s.papers, "paper", "a photo (JPEG, PNG) or PDF `file` that goes with it; again for more; in a correction none takes all off")
}

func (s *said) bindNote(fs *pflag.FlagSet) {
	s.str(fs, &s.note, "note", "a remark in your own `words`")
}

// given reports a flag on the command line.
func (s *said) given(name string) bool {
	f := s.fs.Lookup(name)
	return f != nil && f.Changed
}

// flagArgs gives the flags of the command line, less those of every command and --ask, as words of a line again: those of which keep says so.
func flagArgs(s *said, keep func(name string) bool) []string {
	var args []string
	s.fs.Visit(func(f *pflag.Flag) {
		if f.Name == "ask" || everywhere(f.Name) || !keep(f.Name) {
			return
		}
		if all, ok := f.Value.(pflag.SliceValue); ok {
			for _, v := range all.GetSlice() {
				args = append(args, "--"+f.Name+"="+v)
			}
			return
		}
		args = append(args, "--"+f.Name+"="+f.Value.String())
	})
	return args
}

// parseSaid reads flags as those of a command.
func parseSaid(command string, bind func(*said, *pflag.FlagSet), args []string) (*said, error) {
	s := &said{}
	fs := newFlagSet("shedbook " + command)
	bind(s, fs)
	if err := fs.Parse(args); err != nil {
		return nil, flagError(fs, "shedbook "+command+" --help", err)
	}
	return s, nil
}

// when is the moment the work was done: now, to the minute, unless said.
func (s *said) when(e *env) (record.Done, error) {
	if s.done == "" {
		return e.minute(), nil
	}
	d, err := e.parseDone(s.done)
	if err != nil {
		return "", usage("write --done 2026-04-01 or --done \"2026-04-01 16:05\"", "--done: %v", err)
	}
	return d, nil
}

// work fills in what all work has in common.
func (l *line) work() (record.Work, error) {
	w := record.Work{Machine: l.m.ID, Done: l.done}
	if l.old != nil {
		w = *record.Base(l.old.Record)
		w.Machine, w.Done = l.m.ID, l.done
	}
	s := l.s
	var err error
	if s.given("by") {
		if w.By, err = l.people(); err != nil {
			return w, err
		}
	} else if l.old == nil {
		w.By = l.c.hand.by(l.w)
	}
	if s.given("counter") {
		if w.Counters, err = l.counters(); err != nil {
			return w, err
		}
	}
	for _, f := range []struct {
		flag string
		said string
		at   *string
	}{{"crop", s.crop, &w.Crop}, {"field", s.field, &w.Field}, {"ground", s.ground, &w.Ground}} {
		if !s.given(f.flag) {
			continue
		}
		if err := checkWords("--"+f.flag, f.said, 200); err != nil {
			return w, err
		}
		*f.at = strings.TrimSpace(f.said)
	}
	if s.given("minutes") {
		if s.minutes < 0 || s.minutes > 100000 {
			return w, usage("write --minutes 90", "--minutes %d is no length of work", s.minutes)
		}
		w.Minutes = s.minutes
	}
	if s.given("warranty") {
		if w.Warranty, err = warrantyUntil(s.warranty, w.Done); err != nil {
			return w, err
		}
	}
	if s.given("closes") {
		w.Closes = nil
		for _, id := range s.closes {
			if strings.EqualFold(id, "none") {
				continue
			}
			f, err := l.fault(id)
			if err != nil {
				return w, err
			}
			if !slices.Contains(w.Closes, f.ID) {
				w.Closes = append(w.Closes, f.ID)
			}
		}
	}
	return w, nil
}

// fault finds an open fault of this machine by its short id.
func (l *line) fault(prefix string) (*rules.Fault, error) {
	prefix = strings.ToLower(strings.TrimSpace(prefix))
	var found []*rules.Fault
	for _, f := range l.m.Faults {
		if len(prefix) >= 4 && strings.HasPrefix(string(f.ID), prefix) {
			found = append(found, f)
		}
	}
	switch {
	case len(found) == 0:
		return nil, failed("unknown-fault", "shedbook show "+l.m.Name, "%s has no fault %q", l.m.Name, prefix)
	case len(found) > 1:
		return nil, failed("unknown-fault", "write more of the id", "%q could be several faults of %s", prefix, l.m.Name)
	}
	f := found[0]
	if f.Closed != "" && (l.old == nil || f.ClosedBy != l.old.Entry.ID) {
		return nil, failed("closed-fault", "", "fault %s of %s was put right on %s already [%s]", f.ID.Short(), l.m.Name, weekday(f.Closed), f.ClosedBy.Short())
	}
	return f, nil
}

// private fills in the part that may be held back: words, costs, the outside shop. text is what the line itself says.
func (l *line) private(text string) (*record.Private, error) {
	p := record.Private{}
	if l.old != nil && l.old.Private != nil {
		p = *l.old.Private
	}
	if l.s.given("note") {
		if text != "" {
			return nil, usage("say it once", "--note says something and the line does too")
		}
		text = l.s.note
		if l.old == nil && strings.TrimSpace(text) == "" {
			return nil, usage("leave it out", "--note says nothing")
		}
	}
	if text != "" {
		if err := checkWords("the words", text, maxWords); err != nil {
			return nil, err
		}
		p.Text = strings.TrimSpace(text)
	} else if l.s.given("note") {
		p.Text = ""
	}
	if l.s.given("who") {
		if err := checkWords("--who", l.s.who, 200); err != nil {
			return nil, err
		}
		p.Who = strings.TrimSpace(l.s.who)
	}
	if l.s.given("cost") {
		p.Costs = nil
		for _, c := range l.s.costs {
			cost, err := parseCost(c)
			if err != nil {
				return nil, err
			}
			p.Costs = append(p.Costs, cost)
		}
	}
	if l.s.given("paper") {
		if err := l.papers(&p); err != nil {
			return nil, err
		}
	}
	if err := p.Check(); err != nil {
		return nil, usage("write --cost parts=120.50", "%v", err)
	}
	if p.Text == "" && p.Who == "" && p.Name == "" && len(p.Costs) == 0 && len(p.Papers) == 0 {
		if l.old != nil && l.old.Private != nil {
			return &p, nil // what stood there is taken away
		}
		return nil, nil
	}
	return &p, nil
}

// parseCost reads "parts=120.50" or "parts=120,50 EUR".
func parseCost(s string) (record.Cost, error) {
	what, amount, ok := strings.Cut(s, "=")
	what, amount = strings.TrimSpace(what), strings.TrimSpace(amount)
	if !ok || what == "" {
		return record.Cost{}, usage("write --cost parts=120.50", "--cost %q: what it was for is missing", s)
	}
	if err := checkWords("--cost", what, 100); err != nil {
		return record.Cost{}, err
	}
	number, currency, _ := strings.Cut(amount, " ")
	if i := strings.LastIndexByte(number, ','); i >= 0 && len(number)-i <= 3 && !strings.ContainsAny(number[:i], ".,") {
		number = number[:i] + "." + number[i+1:]
	}
	amount = strings.TrimSpace(number + " " + strings.ToUpper(currency))
	c := record.Cost{For: what, Amount: amount}
	if err := (&record.Private{Costs: []record.Cost{c}}).Check(); err != nil {
		return c, usage("write --cost parts=120.50 or --cost \"parts=120.50 EUR\"", "--cost %q: %q is no amount of money", s, amount)
	}
	return c, nil
}

// maxWords is the longest text of one entry in bytes, well under what an entry may hold.
const maxWords = 16 << 10

// checkWords refuses what must not be signed: no text at all, too much of it, control and bidi characters.
func checkWords(where, s string, most int) error {
	if strings.TrimSpace(s) == "" {
		return usage("", "%s: nothing is said", where)
	}
	if len(s) > most {
		return usage("keep long texts as a paper of their own", "%s: %d bytes long, at most %d", where, len(s), most)
	}
	if !utf8.ValidString(s) {
		return usage("type it again", "%s: not readable as text (UTF-8)", where)
	}
	for _, r := range s {
		if hiddenRune(r) {
			return usage("type it again without that character", "%s: holds the character U+%04X, which cannot be seen or steers a terminal", where, r)
		}
	}
	return nil
}

// hiddenRune are the code points that no entry may hold (ledger/FORMAT.md, "Refused code points").
func hiddenRune(r rune) bool {
	switch {
	case r == '\n':
		return false
	case r < 0x20, 0x7f <= r && r <= 0x9f, r == 0x61c, r == 0x200e, r == 0x200f, 0x2028 <= r && r <= 0x202e, 0x2066 <= r && r <= 0x2069,
		0xfdd0 <= r && r <= 0xfdef, r&0xfffe == 0xfffe, r == 0xfeff, 0xfff0 <= r && r <= 0xfffb, 0xe0000 <= r && r <= 0xe007f:
		return true
	}
	return false
}

// nameValue reads "name=value" flags such as --fill "engine oil=22 L".
func nameValue(flag, s string) (name, value string, err error) {
	name, value, ok := strings.Cut(s, "=")
	name, value = strings.TrimSpace(name), strings.TrimSpace(value)
	if !ok || name == "" || value == "" {
		return "", "", usage("", "--%s %q: write it as name=value", flag, s)
	}
	return name, value, checkWords("--"+flag, name, 100)
}

// amount reads an amount for a flag that takes one of a unit like that of def.
func amount(flag, s string, def quantity.Unit) (quantity.Quantity, error) {
	q, err := quantity.ParseIn(s, def)
	if err != nil {
		return q, usage("", "--%s: %v", flag, err)
	}
	if q.Sign() < 0 {
		return q, usage("", "--%s: %s is below zero", flag, q)
	}
	return q, nil
}

var hours = quantity.MustUnit("h")

// readText reads a file named on the command line, "-" being stdin.
func (c *call) readText(name string) (string, error) {
	var b []byte
	var err error
	if name == "-" {
		var lines []string
		for {
			s, rerr := c.readLine()
			if rerr != nil {
				break
			}
			lines = append(lines, s)
		}
		return strings.Join(lines, "\n"), nil
	}
	if b, err = os.ReadFile(c.path(name)); err != nil {
		return "", failed("no-file", "", "%v", err)
	}
	if len(b) > 1<<20 {
		return "", failed("no-file", "", "%s is no list of readings: it is over 1 MiB long", name)
	}
	return string(b), nil
}
