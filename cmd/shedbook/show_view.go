package main

import (
	"slices"

	"shedbook/rules"
	"shedbook/rules/record"
)

// wholeJSON is all that is so of one machine; positions stand as they are stored. It is what show --json prints and what show's text is made from.
type wholeJSON struct {
	Format   int             `json:"format"`
	On       string          `json:"on"`
	Known    string          `json:"known,omitempty"`
	ID       record.ID       `json:"id"`
	Name     string          `json:"name"`
	Kind     string          `json:"kind"`
	Title    string          `json:"title,omitempty"`
	Farm     string          `json:"farm"`
	Yard     string          `json:"yard"`
	Year     int             `json:"year,omitempty"`
	Serial   string          `json:"serial,omitempty"`
	Options  []record.Option `json:"options"`
	Added    record.Done     `json:"added"`
	Sold     record.Done     `json:"sold,omitempty"`
	Stored   bool            `json:"stored"`
	Slack    []string        `json:"slack"`
	Lent     string          `json:"lent,omitempty"`
	Unfit    bool            `json:"unfit"`
	Carrier  string          `json:"carrier,omitempty"`
	Assumed  record.ID       `json:"assumed,omitempty"` // the latest starting line
	Counters []counterView   `json:"counters"`
	Faults   []faultView     `json:"faults"`
	Out      []outView       `json:"out_of_use"`
	Settings []settingView   `json:"settings"`
	Parts    []partView      `json:"parts"`
	Readings []readingView   `json:"readings"`   // the latest of each place
	Jobs     []jobView       `json:"jobs"`       // the last doing of each place
	Warranty []warrantyView  `json:"warranties"` // of work; a part's own stands with it
	Problems []problemJSON   `json:"problems"`

	title string // of the kind
	m     *rules.Machine
	st    *rules.State
}

type counterView struct {
	Counter   string      `json:"counter"`
	Trip      bool        `json:"trip"`
	Known     bool        `json:"known"`
	Derived   bool        `json:"derived"`
	Reading   amountJSON  `json:"reading,omitzero"` // what its face shows
	ReadOn    string      `json:"read_on,omitempty"`
	Life      amountJSON  `json:"life,omitzero"`     // all use so far
	Estimate  amountJSON  `json:"estimate,omitzero"` // carried on to the day
	Estimated bool        `json:"estimated"`
	Entries   []record.ID `json:"entries"`
	Rule      string      `json:"rule,omitempty"`
}

type faultView struct {
	ID        record.ID   `json:"id"`
	Done      record.Done `json:"done"`
	Positions []string    `json:"positions"`
	Part      string      `json:"part,omitempty"`
	Severity  string      `json:"severity"`
	Text      string      `json:"text,omitempty"`
	TiedUp    bool        `json:"tied_up"`
	Unfit     bool        `json:"unfit"`
	Open      bool        `json:"open"`
	Closed    record.Done `json:"closed,omitempty"`
	ClosedBy  record.ID   `json:"closed_by,omitempty"`
	Temporary []record.ID `json:"temporary"`

	at record.Positions
}

type outView struct {
	Positions []string    `json:"positions"`
	Since     record.Done `json:"since"`
	Why       string      `json:"why"`
	Entry     record.ID   `json:"entry"`

	at record.Positions
}

type settingView struct {
	Setting   string      `json:"setting"`
	Positions []string    `json:"positions"`
	Value     valueJSON   `json:"value,omitzero"` // absent: not known
	Since     record.Done `json:"since,omitempty"`
	Before    valueJSON   `json:"before,omitzero"`
	Assumed   bool        `json:"assumed"`
	Entries   []record.ID `json:"entries"`
	Rule      string      `json:"rule,omitempty"`

	title, of string
	at        record.Positions
}

type partView struct {
	Part       string      `json:"part"`
	Positions  []string    `json:"positions"`
	Hand       string      `json:"hand,omitempty"`
	State      string      `json:"state"` // fitted, original, empty, disputed
	ID         string      `json:"id,omitempty"`
	Serial     string      `json:"serial,omitempty"`
	Since      record.Done `json:"since,omitempty"` // in this place
	First      record.Done `json:"first,omitempty"` // first fitted anywhere
	Use        []useJSON   `json:"use"`
	Segment    int         `json:"segment,omitempty"`
	SegmentUse []useJSON   `json:"segment_use,omitempty"`
	Assumed    bool        `json:"assumed"`
	Worn       amountJSON  `json:"worn,omitzero"`
	ToppedUp   amountJSON  `json:"topped_up,omitzero"` // of a fluid, since it is in
	Warranty   string      `json:"warranty,omitempty"` // its last day
	Entries    []record.ID `json:"entries"`
	Rule       string      `json:"rule,omitempty"`

	of      string
	at      record.Positions
	claimed bool // a starting line says what it had worked before the book
}

type readingView struct {
	Reading   string      `json:"reading"`
	Positions []string    `json:"positions"`
	Hand      string      `json:"hand,omitempty"`
	Done      record.Done `json:"done"`
	Found     valueJSON   `json:"found,omitzero"`
	Left      valueJSON   `json:"left,omitzero"`
	Cannot    string      `json:"cannot,omitempty"` // a later try: reach, fitted, read
	CannotOn  record.Done `json:"cannot_on,omitempty"`
	Earlier   bool        `json:"earlier_part"`   // of a part that has been swapped, turned or rebuilt since
	Past      string      `json:"past,omitempty"` // why it is past its limit
	Use       []useJSON   `json:"use"`            // of the part, or the machine, then
	Computed  bool        `json:"computed"`
	Assumed   bool        `json:"assumed"`
	Entries   []record.ID `json:"entries"`

	title, of string
	at        record.Positions
}

type jobView struct {
	Job       string      `json:"job"`
	Positions []string    `json:"positions"`
	Done      record.Done `json:"done,omitempty"` // absent: never recorded
	Skipped   bool        `json:"skipped"`
	Via       string      `json:"via,omitempty"`
	Result    string      `json:"result,omitempty"`
	Outcome   string      `json:"outcome,omitempty"`
	Until     string      `json:"until,omitempty"`
	Torque    amountJSON  `json:"torque,omitzero"`
	Counters  []useJSON   `json:"counters"`
	Assumed   bool        `json:"assumed"`
	Entries   []record.ID `json:"entries"`

	title, of string
	at        record.Positions
}

type warrantyView struct {
	Until     string      `json:"until"`
	Part      string      `json:"part,omitempty"`
	Job       string      `json:"job,omitempty"`
	Positions []string    `json:"positions"`
	Done      record.Done `json:"done"`
	Entry     record.ID   `json:"entry"`

	words string
}

// viewWarranties are those of work that still run.
func viewWarranties(st *rules.State, m *rules.Machine) []warrantyView {
	out := []warrantyView{}
	for _, w := range m.Warranted {
		if w.Until >= st.On {
			out = append(out, warrantyView{w.Until, w.Part, w.Job, strs(w.Positions.Strings()), w.Done, w.Entry, warrantyWords(m, w)})
		}
	}
	return out
}

// viewMachine gathers what a look asks for.
func (c *call) viewMachine(st *rules.State, l *look) *wholeJSON {
	m := l.m
	v := &wholeJSON{
		Format: 1, On: st.On, Known: st.Known, ID: m.ID, Name: m.Name, Kind: m.Kind, Title: m.Title, Farm: farmName(st, m.Farm), Yard: yardName(st, m.Yard), Year: m.Year, Serial: m.Serial,
		Options: []record.Option{}, Added: m.Added, Sold: m.Sold, Stored: m.Stored, Slack: strs(m.Slack), Lent: m.Lent, Unfit: m.Unfit, Assumed: m.Assumed, m: m, st: st, title: m.Kind,
		Problems: problemsOf(st, st.Problems, func(o *rules.Machine) bool { return o == m }),
	}
	v.Problems = slices.DeleteFunc(v.Problems, func(p problemJSON) bool { return p.Machine == "" })
	if k := st.MachineByID(m.Carrier); k != nil {
		v.Carrier = k.Name
	}
	if m.Fitted != nil {
		v.Options, v.title = strs(m.Fitted.OptionValues), m.Fitted.Title
	}
	v.Warranty = viewWarranties(st, m)
	v.Counters, v.Faults, v.Out = c.viewCounters(l), viewFaults(l), viewOut(l)
	v.Settings, v.Parts, v.Readings, v.Jobs = c.viewSettings(l), c.viewParts(l, st.On), c.viewReadings(l), c.viewJobs(l)
	return v
}
