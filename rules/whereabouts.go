package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/record"
)

// Whereabouts is where a machine stood, who had it and what goes with it, as far as the book says. Who owned it before the book, and what the yard's shed
// was like, no entry says: that is the seller's to state.
type Whereabouts struct {
	Farm, Yard ID
	Since      record.Done // in that yard
	Stays      []YardStay  // oldest first, the last one still so while the machine is held
	Storage    []StorageStay
	StoredDays int // of Days, in storage
	Days       int // from the day it came to the book to the day of the state, or until it was sold
	Away       []AwayStay
	Came       record.Done // to the book
	From       string      // whom it was bought of, where that is written; "" also where held back
	Sold       record.Done // "" while held
	With       []WithIt    // what belongs to it: parts on shelves, machines joined to it
	Entries    []ID        // what all this rests on, in order of effect
}

// YardStay is a time in one yard.
type YardStay struct {
	Yard, Farm ID
	From, To   record.Done // To "": still so
	Entry      ID
}

// StorageStay is a time in storage.
type StorageStay struct {
	From, To record.Done // To "": still so
	Slack    []string    // what was slackened, drained or taken off for it
	Text     string      // the words written with it, "" also where held back
	In, Out  ID          // the entries; Out "" while still in
}

// AwayStay is a time on which the machine was lent out, or here on hire.
type AwayStay struct {
	Act       string      // "lent", "hired-in"
	From, To  record.Done // To "": still so
	Who       string      // to or from whom, "" also where held back
	Condition string      // as it came back: "ok", "watch", "bad"; "" where not said
	Out, Back ID
}

// WithIt is something that goes with a machine: parts of its kind on a shelf, or a machine joined to it.
type WithIt struct {
	What    string      // "parts" or "machine"
	Shelf   ID          // of parts
	Yard    ID          // of parts
	Stock   *StockLine  // of parts
	Also    int         // of parts: other machines of the kind that the book holds and that could need them
	Machine ID          // of a machine
	Carries bool        // of a machine: it carries or pulls this one; else this one carries it
	Since   record.Done // of a machine
	Entries []ID
}

// WhereaboutsOf tells where a machine was.
func WhereaboutsOf(st *State, m *Machine) *Whereabouts {
	w := &Whereabouts{Farm: m.Farm, Yard: m.Yard, Came: m.Added, Sold: m.Sold}
	farms := map[ID]ID{}
	for _, y := range st.Yards {
		farms[y.ID] = y.Farm
	}
	for _, e := range entriesOf(st, m) {
		private := cmp.Or(e.Private, &record.Private{})
		said := true
		switch rec := e.Record.(type) {
		case *record.Machine:
			w.From = private.Who
			w.stay(e, rec.Yard, farms)
		case *record.Move:
			w.stay(e, rec.Yard, farms)
		case *record.Store:
			w.store(e, rec, private)
		case *record.Lend:
			w.lend(e, rec, private)
		case *record.Sell:
			w.Sold = e.Done
		default:
			said = false
		}
		if said {
			w.Entries = append(w.Entries, e.Entry.ID)
		}
	}
	if n := len(w.Stays); n > 0 {
		w.Since = w.Stays[n-1].From
		w.Stays[n-1].To = w.Sold
	}
	w.count(st)
	w.goesWith(st, m)
	return w
}

// entriesOf are the entries about a machine that have effect by the state's day, its own first, in order of effect.
func entriesOf(st *State, m *Machine) []*Effective {
	var out []*Effective
	for _, e := range st.Effective {
		if w := record.Base(e.Record); w != nil && e.counts(st.On) && (w.Machine == m.ID || e.Entry.ID == m.ID) {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b *Effective) int { return -compareBools(a.Entry.ID == m.ID, b.Entry.ID == m.ID) })
	return out
}

func (w *Whereabouts) stay(e *Effective, yard ID, farms map[ID]ID) {
	farm, known := farms[yard]
	if !known {
		return // the state has a Problem of it
	}
	if n := len(w.Stays); n > 0 {
		if w.Stays[n-1].Yard == yard {
			return
		}
		w.Stays[n-1].To = e.Done
	}
	w.Stays = append(w.Stays, YardStay{Yard: yard, Farm: farm, From: e.Done, Entry: e.Entry.ID})
}

func (w *Whereabouts) store(e *Effective, s *record.Store, private *record.Private) {
	n := len(w.Storage)
	open := n > 0 && w.Storage[n-1].To == ""
	switch {
	case s.Act == "in" && !open:
		w.Storage = append(w.Storage, StorageStay{From: e.Done, Slack: s.Slack, Text: private.Text, In: e.Entry.ID})
	case s.Act != "in" && open:
		w.Storage[n-1].To, w.Storage[n-1].Out = e.Done, e.Entry.ID
	}
}

func (w *Whereabouts) lend(e *Effective, l *record.Lend, private *record.Private) {
	if n := len(w.Away); n > 0 && w.Away[n-1].To == "" {
		last := &w.Away[n-1]
		last.To, last.Back = e.Done, e.Entry.ID
		last.Condition, last.Who = cmp.Or(l.Condition, last.Condition), cmp.Or(last.Who, private.Who)
	}
	if l.Act == "lent" || l.Act == "hired-in" {
		w.Away = append(w.Away, AwayStay{Act: l.Act, From: e.Done, Who: private.Who, Condition: "", Out: e.Entry.ID})
	}
}

// count reckons the days in the book and those in storage, a day begun in storage as a whole one and the day it was taken out not.
func (w *Whereabouts) count(st *State) {
	end := st.On
	if w.Sold != "" {
		end = w.Sold.Date()
	}
	days := func(from, to string) int { return max(0, daysBetween(calendarDay(from), calendarDay(to))) }
	w.Days = days(w.Came.Date(), end)
	for _, s := range w.Storage {
		to := end
		if s.To != "" {
			to = min(to, s.To.Date())
		}
		w.StoredDays += days(max(s.From.Date(), w.Came.Date()), to)
	}
}

// goesWith lists the parts of the machine's kind on shelves of its farm, and the machines that are joined to it.
func (w *Whereabouts) goesWith(st *State, m *Machine) {
	also := 0
	for _, o := range st.Machines {
		if o.ID != m.ID && o.Kind == m.Kind && o.Sold == "" {
			also++
		}
	}
	for _, shelf := range st.Shelves {
		y := st.Yard(string(shelf.Yard))
		if y == nil || y.Farm != m.Farm {
			continue
		}
		for i := range shelf.Stock {
			if line := &shelf.Stock[i]; line.Schedule == m.Kind && line.Count > 0 {
				w.With = append(w.With, WithIt{What: "parts", Shelf: shelf.ID, Yard: shelf.Yard, Stock: line, Also: also, Entries: line.Reason.Entries})
			}
		}
	}
	joined := func(of *Machine, other ID, carries bool) {
		reason := of.Reasons["hitched"]
		with := WithIt{What: "machine", Machine: other, Carries: carries, Entries: reason.Entries}
		for _, e := range st.Effective {
			if slices.Contains(reason.Entries, e.Entry.ID) {
				with.Since = e.Done
			}
		}
		w.With = append(w.With, with)
	}
	if m.Carrier != "" {
		joined(m, m.Carrier, true)
	}
	for _, o := range st.Machines {
		if o.Carrier == m.ID && o.Sold == "" {
			joined(o, o.ID, false)
		}
	}
}
