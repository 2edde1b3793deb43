package record

import (
	"fmt"
	"regexp"
	"strings"
)

// Kind names; they are part of the signed format.
func (*Farm) Kind() string     { return "farm" }
func (*Yard) Kind() string     { return "yard" }
func (*Person) Kind() string   { return "person" }
func (*Schedule) Kind() string { return "schedule" }
func (*Season) Kind() string   { return "season" }
func (*Correct) Kind() string  { return "correct" }
func (*Strike) Kind() string   { return "strike" }
func (*Machine) Kind() string  { return "machine" }
func (*Shelf) Kind() string    { return "shelf" }
func (*Stock) Kind() string    { return "stock" }
func (*Move) Kind() string     { return "move" }
func (*Lend) Kind() string     { return "lend" }
func (*Store) Kind() string    { return "store" }
func (*Sell) Kind() string     { return "sell" }
func (*Hitch) Kind() string    { return "hitch" }
func (*Assume) Kind() string   { return "assume" }
func (*Override) Kind() string { return "override" }
func (*Counter) Kind() string  { return "counter" }
func (*Adjust) Kind() string   { return "adjust" }
func (*Measure) Kind() string  { return "measure" }
func (*Swap) Kind() string     { return "swap" }
func (*Did) Kind() string      { return "did" }
func (*Fault) Kind() string    { return "fault" }
func (*Repair) Kind() string   { return "repair" }
func (*Note) Kind() string     { return "note" }

// MaxSchedule is the longest schedule text in bytes.
const MaxSchedule = 48 << 10

func (f *Farm) Check() error { return checkName("name", f.Name) }

func (y *Yard) Check() error { return first(checkName("name", y.Name), checkID("farm", y.Farm)) }

func (*Person) Check() error { return nil }

func (s *Schedule) Check() error {
	if len(s.Text) > MaxSchedule {
		return fmt.Errorf("text: %d bytes, at most %d", len(s.Text), MaxSchedule)
	}
	return first(checkWord("name", s.Name), optional(s.From, "from", checkDate))
}

func (s *Season) Check() error {
	err := first(oneOf("act", s.Act, "plan", "open", "close"), checkName("name", s.Name), checkDone(s.Done), checkIDs("farms", s.Farms),
		optional(s.From, "from", checkDate), optional(s.To, "to", checkDate), optional(s.Work, "work", checkWord))
	if err == nil && s.Act != "close" && s.Work == "" {
		err = fmt.Errorf("work: which kind of work is missing")
	}
	for _, u := range s.Use {
		err = first(err, checkWord("use.kind", u.Kind), checkWord("use.counter", u.Counter), notNegative("use.amount", u.Amount))
	}
	return err
}

func (c *Correct) Check() error {
	err := first(checkID("entry", c.Entry), optional(string(c.Machine), "machine", checkIDText))
	if err != nil {
		return err
	}
	if c.As == "correct" || c.As == "strike" {
		return fmt.Errorf("as: a %s entry cannot be corrected", c.As)
	}
	r, err := Decode(c.As, c.Record)
	if err == nil && IsWork(r) && MachineOf(r) != c.Machine {
		switch r.(type) {
		case *Machine, *Shelf: // the entry that adds a machine does not name it
		default:
			return fmt.Errorf("record.machine: a correction stays with its machine")
		}
	}
	return err
}

// Decoded is the corrected record.
func (c *Correct) Decoded() (Record, error) { return Decode(c.As, c.Record) }

func (s *Strike) Check() error {
	return first(checkID("entry", s.Entry), optional(string(s.Machine), "machine", checkIDText))
}

// check is the common part of every work record. The entries that add a machine or shelf name none.
func (w *Work) check(adds bool) error {
	var err error
	if !adds {
		err = checkID("machine", w.Machine)
	} else if w.Machine != "" {
		err = fmt.Errorf("machine: an entry that adds one cannot name one")
	}
	err = first(err, checkDone(w.Done), checkIDs("by", w.By), checkIDs("closes", w.Closes))
	for _, c := range w.Counters {
		err = first(err, checkWord("counters.counter", c.Counter), notNegative("counters.at", c.At))
	}
	err = first(err, optional(w.Warranty, "warranty", checkDate))
	if err == nil && (w.Minutes < 0 || w.Minutes > 100000) {
		err = fmt.Errorf("minutes: %d is no length of work", w.Minutes)
	}
	return err
}

func (m *Machine) Check() error {
	err := first(m.check(true), checkKey(m.Key), checkWord("name", m.Name), checkWord("kind", m.Schedule), checkID("yard", m.Yard))
	for _, o := range m.Options {
		err = first(err, checkWord("options.name", o.Name), checkName("options.value", o.Value))
	}
	for _, g := range m.Groups {
		err = first(err, checkWord("groups.name", g.Name))
		if err == nil && g.Positions.IsZero() {
			err = fmt.Errorf("groups.positions: %q names no positions", g.Name)
		}
	}
	if err == nil && m.Year != 0 && (m.Year < 1850 || m.Year > 2200) {
		err = fmt.Errorf("year: %d is no year of make", m.Year)
	}
	return err
}

func (s *Shelf) Check() error { return first(s.check(true), checkKey(s.Key), checkID("yard", s.Yard)) }

func (s *Stock) Check() error {
	err := first(s.check(false), checkWord("kind", s.Schedule), checkWord("part", s.Part), hand(s.Hand), oneOf("act", s.Act, "add", "count", "scrap"))
	if err == nil && (s.Count < 0 || s.Count > 100000 || s.Count == 0 && s.Act != "count") {
		err = fmt.Errorf("count: %d is no number of parts", s.Count)
	}
	if err == nil && len(s.Serials) != 0 && len(s.Serials) != s.Count {
		err = fmt.Errorf("serials: %d for %d parts", len(s.Serials), s.Count)
	}
	return err
}

func (m *Move) Check() error { return first(m.check(false), checkID("yard", m.Yard)) }

func (l *Lend) Check() error {
	return first(l.check(false), oneOf("act", l.Act, "lent", "returned", "hired-in", "sent-back"),
		optional(l.Condition, "condition", func(m, s string) error { return oneOf(m, s, "ok", "watch", "bad") }))
}

func (s *Store) Check() error { return first(s.check(false), oneOf("act", s.Act, "in", "out")) }

func (s *Sell) Check() error { return s.check(false) }

func (h *Hitch) Check() error {
	return first(h.check(false), optional(string(h.Carrier), "carrier", checkIDText))
}

func (a *Assume) Check() error {
	err := a.check(false)
	for _, it := range a.Items {
		err = first(err, checkWord("items.name", it.Name), hand(it.Hand), notNegative("items.worn", it.Worn), notNegative("items.used", it.Used))
	}
	if err == nil && !a.Good && len(a.Items) == 0 && len(a.Counters) == 0 {
		err = fmt.Errorf("items: nothing is assumed")
	}
	return err
}

func (o *Override) Check() error {
	err := first(o.check(false), checkName("path", o.Path), optional(o.From, "from", checkDate))
	if err == nil && o.Value != "" && strings.TrimSpace(o.Page) == "" {
		err = fmt.Errorf("page: where the manual says so is missing")
	}
	return err
}

func (c *Counter) Check() error {
	err := c.check(false)
	if err == nil && len(c.Acts) == 0 {
		err = fmt.Errorf("acts: no counter is named")
	}
	for _, a := range c.Acts {
		err = first(err, checkWord("acts.counter", a.Counter), oneOf("acts.act", a.Act, "at", "add", "reset", "replaced"),
			notNegative("acts.value", a.Value), notNegative("acts.last", a.Last))
		if err == nil && a.Span != "" {
			err = oneOf("acts.span", a.Span, "lifetime", "trip")
		}
	}
	return err
}

func (a *Adjust) Check() error {
	err := a.check(false)
	if err == nil && len(a.Changes) == 0 {
		err = fmt.Errorf("changes: nothing is set")
	}
	for _, c := range a.Changes {
		err = first(err, checkWord("changes.setting", c.Setting))
		if err == nil && c.To.IsZero() && c.By == "" {
			err = fmt.Errorf("changes.to: %s is set to nothing", c.Setting)
		}
	}
	return err
}

func (m *Measure) Check() error {
	err := first(m.check(false), checkWord("reading", m.Reading))
	if err == nil && len(m.Values) == 0 {
		err = fmt.Errorf("values: nothing was measured")
	}
	for _, v := range m.Values {
		err = first(err, hand(v.Hand), optional(v.Cannot, "values.cannot", func(m, s string) error { return oneOf(m, s, "reach", "fitted", "read") }))
		if err == nil && (v.Cannot != "") == (!v.Found.IsZero() || !v.Left.IsZero()) {
			err = fmt.Errorf("values: a reading has a value or a reason why not")
		}
	}
	for _, c := range m.Condition {
		err = first(err, checkWord("condition.name", c.Name))
	}
	return err
}

func (s *Swap) Check() error {
	err := first(s.check(false), checkWord("part", s.Part), hand(s.Hand), notNegative("used", s.Used),
		oneOf("act", s.Act, SwapNew, SwapExchange, SwapOut, SwapIn, SwapTurned, SwapSharpened, SwapRebuilt),
		optional(s.Why, "why", func(m, v string) error { return oneOf(m, v, "worn", "in-time", "with-set", "broken") }),
		optional(string(s.From), "from", checkIDText), optional(string(s.To), "to", checkIDText))
	if err != nil {
		return err
	}
	if (s.Act == SwapExchange) != (s.With.Len() > 0) {
		return fmt.Errorf("with: an exchange names both places, other swaps name one")
	}
	if s.Act == SwapExchange && (s.With.Len() != s.Positions.Len() || s.With.Without(s.Positions).Len() != s.With.Len()) {
		return fmt.Errorf("with: %d places against %d, none of them the same", s.With.Len(), s.Positions.Len())
	}
	if (s.Act == SwapIn) != (len(s.Parts) > 0) {
		return fmt.Errorf("parts: named parts go with act %q only", SwapIn)
	}
	return nil
}

func (d *Did) Check() error {
	err := first(d.check(false), checkWord("job", d.Job), notNegative("torque", d.Torque), optional(d.Until, "until", checkDate),
		optional(d.Outcome, "outcome", func(m, s string) error { return oneOf(m, s, "pass", "fail", "advice") }))
	for _, r := range d.Results {
		err = first(err, optional(r.Word, "results.word", checkWord))
		if err == nil && r.Word == "" && r.Value == (Quantity{}) {
			err = fmt.Errorf("results: a result has a word or a value")
		}
	}
	for _, f := range d.Fills {
		err = first(err, checkName("fills.of", f.Of), notNegative("fills.amount", f.Amount))
	}
	return err
}

func (f *Fault) Check() error {
	err := first(f.check(false), oneOf("severity", f.Severity, Severities...), optional(f.Part, "part", checkWord), notNegative("lost", f.Lost))
	return first(err, needs("needs", f.Needs))
}

func (r *Repair) Check() error {
	return first(r.check(false), optional(r.Part, "part", checkWord), optional(r.Cause, "cause", checkWord), notNegative("lost", r.Lost), needs("used", r.Used))
}

func (n *Note) Check() error { return n.check(false) }

// Check holds the private part to its own rules.
func (p *Private) Check() error {
	var err error
	for _, c := range p.Costs {
		err = first(err, checkName("costs.for", c.For))
		if err == nil && !amountForm.MatchString(c.Amount) {
			err = fmt.Errorf("costs.amount: %q is no amount of money: write 120.50 or 120.50 EUR", c.Amount)
		}
	}
	for _, q := range p.Papers {
		if err == nil && !idForm.MatchString(q.Digest) {
			err = fmt.Errorf("papers.digest: %q is no digest", q.Digest)
		}
		if err == nil && q.Size <= 0 {
			err = fmt.Errorf("papers.size: %d is no size", q.Size)
		}
		err = first(err, checkName("papers.name", q.Name), checkName("papers.type", q.Type))
	}
	if e := p.Entered; e != nil && err == nil {
		if !idForm.MatchString(string(e.Person)) {
			err = fmt.Errorf("entered.person: %q is no id", e.Person)
		}
		err = first(err, checkName("entered.phone", e.Phone))
	}
	if i := p.Imported; i != nil && err == nil {
		err = first(checkIDText("imported.file", i.File), checkIDText("imported.row", i.Row))
		if err == nil && i.Line < 1 {
			err = fmt.Errorf("imported.line: %d is no line of a file", i.Line)
		}
		if i.Name != "" {
			err = first(err, checkName("imported.name", i.Name))
		}
	}
	return err
}

var (
	idForm     = regexp.MustCompile(`^[0-9a-f]{64}$`)
	amountForm = regexp.MustCompile(`^(0|[1-9][0-9]{0,11})(\.[0-9]{1,2})?( [A-Z]{3})?$`)
)
