package rules

import (
	"cmp"
	"slices"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Bounds by which Honesty picks what it lists. Our own round figures: what they pick is shown, not judged.
const (
	NearDays       = 3   // written within so many days of the work counts as near it
	SittingEntries = 8   // so many written at one go ...
	SittingDays    = 14  // ... about work that many days apart is a sitting worth a line
	RecentDays     = 30  // written in the last days before the day asked about ...
	OldDays        = 365 // ... about work longer ago than this when it was written
	AlikePlaces    = 8   // so many places of one measurement ...
	alikeShare     = 0.9 // ... of which this share reads the same
	sittingBreak   = 60 * time.Minute
)

// Honesty is how near to the work a machine's record was written, by whom, and how smooth it is: what a buyer would look for, in plain numbers. It judges
// nobody: work typed in of an evening from the notebook on the hitch is as true as any.
//
// When work was done is the shed's own wall clock, without a time zone; when it was written is the writer's own clock in universal time. A lag is counted in
// whole days from the day done to the day written as that clock had it, none below 0, so it may be a day off either way. Neither clock proves anything: only
// another device or a countersignature dates an entry.
type Honesty struct {
	Entries        int   // work that counts, without the starting line, the machine's own entry and own values of its schedule
	Near           int   // of them written within NearDays of the day done
	Median         int   // lag in days: as many entries have less as have more; of an even number the lower of the two in the middle
	Longest        int   // lag in days
	LongestEntry   ID    //
	Lags           []Lag // those not near, longest first
	Sittings       []Sitting
	Recent         []Lag // written in the last RecentDays about work older than OldDays then, longest first
	Alike          []AlikeSet
	Repeated       []RepeatedSet
	Grown          []GrownSize // sizes that cannot be: a part that grew, a new one that reads worn
	Services       int         // doings of jobs with a counter interval that were written with a reading of that counter
	Exact          []ExactService
	Hands          []Share // who did the work, most first
	Writers        []Share // whose device wrote it, by person
	Devices        []Share
	Corrections    []Amended
	Strikes        []Amended
	First, Last    record.Done // day of the oldest and the newest work
	Oldest, Newest string      // day the first and the last of it was written, universal time
	Assumed        ID          // the starting line, where there is one
}

// Lag is an entry with the days from the work to its writing.
type Lag struct {
	Entry   ID
	Kind    string
	Done    record.Done
	Written string // YYYY-MM-DD, universal time
	Days    int
}

// Sitting is a run of entries that one device wrote at one go, no two of them an hour apart.
type Sitting struct {
	Device   string
	Person   ID
	Written  string // the day it began, universal time
	From, To string // days of the oldest and newest work in it
	Days     int    // on how many different days that work was done
	Entries  []ID   // as written
}

// AlikeSet is one measurement of many places in which nearly all read the same.
type AlikeSet struct {
	Reading string
	Done    record.Done
	Value   record.Value
	Places  int // read
	Same    int // of them with Value
	Entry   ID
}

// RepeatedSet is a measurement that reads place by place what an earlier one of the same places read.
type RepeatedSet struct {
	Reading       string
	Places        int
	Earlier       ID
	EarlierDone   record.Done
	Later         ID
	LaterDone     record.Done
	Constant      bool              // all places of both read one value
	Counter       string            // the main one, "" where unknown
	WorkedBetween quantity.Quantity // on it
}

// ExactService is a job done, by its own reading, exactly on a multiple of its interval or exactly one interval after the time before.
type ExactService struct {
	Job      string
	Done     record.Done
	Counter  string
	At       quantity.Quantity // as the face showed
	Interval quantity.Quantity
	Grid     bool // a multiple of the interval; else so much after the last
	Entry    ID
}

// Share is how many of the entries are one person's or device's.
type Share struct {
	Person ID
	Device string // of Devices only
	Count  int
	Of     int
}

// Amended is a correction or a strike, with what it took back.
type Amended struct {
	Entry   ID // the correction or strike
	Of      ID // the entry corrected or struck
	Kind    string
	By      ID
	Written string        // YYYY-MM-DD, universal time
	After   int           // days after the entry itself was written
	Done    record.Done   // of the entry as first written
	NewDone record.Done   // of a correction: as it says; equal to Done where the day stays
	Before  record.Record // as first written
	Now     record.Record // of a correction: as it says; nil of a strike
	Text    string        // the words written with it, "" also where held back
}

// HonestyOf looks at the record of one machine.
func HonestyOf(st *State, m *Machine) *Honesty {
	h := &Honesty{Assumed: m.Assumed}
	var work []*Effective
	for _, e := range entriesOf(st, m) {
		switch e.Record.(type) {
		case *record.Machine, *record.Assume, *record.Override:
		default:
			work = append(work, e)
		}
	}
	h.Entries = len(work)
	h.lags(st, work)
	h.sit(work)
	h.who(work)
	h.amended(st, m)
	h.readings(st, m)
	h.grown(st, m)
	h.exact(m, work)
	return h
}

// written is the day on which an entry was written, by its writer's clock.
func written(e *Entry) string {
	if len(e.At) < len("2006-01-02") {
		return ""
	}
	return e.At[:len("2006-01-02")]
}

// lagOf counts the days from the work to its writing.
func lagOf(e *Effective) Lag {
	l := Lag{Entry: e.Entry.ID, Kind: e.Entry.Kind, Done: e.Done, Written: written(e.Entry)}
	if l.Written != "" {
		l.Days = max(0, daysBetween(e.Done.Day(), calendarDay(l.Written)))
	}
	return l
}

func (h *Honesty) lags(st *State, work []*Effective) {
	recent := dateOf(calendarDay(st.On).AddDate(0, 0, -RecentDays))
	var days []int
	for _, e := range work {
		l := lagOf(e)
		days = append(days, l.Days)
		if h.First == "" || e.Done.Compare(h.First) < 0 {
			h.First = e.Done
		}
		if h.Last == "" || e.Done.Compare(h.Last) > 0 {
			h.Last = e.Done
		}
		if h.Oldest == "" || l.Written < h.Oldest {
			h.Oldest = l.Written
		}
		h.Newest = max(h.Newest, l.Written)
		if l.Days <= NearDays {
			h.Near++
		} else {
			h.Lags = append(h.Lags, l)
		}
		if l.Written > recent && l.Days > OldDays {
			h.Recent = append(h.Recent, l)
		}
	}
	for _, list := range [][]Lag{h.Lags, h.Recent} {
		slices.SortFunc(list, func(a, b Lag) int {
			return cmp.Or(b.Days-a.Days, a.Done.Compare(b.Done), cmp.Compare(a.Entry, b.Entry))
		})
	}
	if len(days) == 0 {
		return
	}
	slices.Sort(days)
	h.Median, h.Longest = days[(len(days)-1)/2], days[len(days)-1]
	for _, e := range work { // the first of the longest, in order of effect
		if lagOf(e).Days == h.Longest {
			h.LongestEntry = e.Entry.ID
			break
		}
	}
}

// sit finds the runs of entries written at one go. Entries of one device follow one another by their number in its log.
func (h *Honesty) sit(work []*Effective) {
	byLog := slices.Clone(work)
	slices.SortFunc(byLog, func(a, b *Effective) int {
		return cmp.Or(cmp.Compare(a.Entry.Writer, b.Entry.Writer), cmp.Compare(a.Entry.At, b.Entry.At), cmp.Compare(a.Entry.Seq, b.Entry.Seq), cmp.Compare(a.Entry.ID, b.Entry.ID))
	})
	for i := 0; i < len(byLog); {
		j := i + 1
		for j < len(byLog) && byLog[j].Entry.Writer == byLog[i].Entry.Writer && oneSitting(byLog[j-1].Entry.At, byLog[j].Entry.At) {
			j++
		}
		h.sitting(byLog[i:j])
		i = j
	}
	slices.SortStableFunc(h.Sittings, func(a, b Sitting) int {
		return cmp.Or(len(b.Entries)-len(a.Entries), cmp.Compare(a.Written, b.Written))
	})
}

// oneSitting reports two moments less than an hour apart, the second not before the first.
func oneSitting(a, b string) bool {
	x, err := time.Parse(time.RFC3339, a)
	y, err2 := time.Parse(time.RFC3339, b)
	return err == nil && err2 == nil && y.Sub(x) < sittingBreak
}

func (h *Honesty) sitting(run []*Effective) {
	if len(run) < SittingEntries {
		return
	}
	s := Sitting{Device: run[0].Entry.Writer, Person: run[0].Entry.Person, Written: written(run[0].Entry)}
	days := map[string]bool{}
	for _, e := range run {
		day := e.Done.Date()
		if s.From == "" || day < s.From {
			s.From = day
		}
		s.To = max(s.To, day)
		days[day] = true
		s.Entries = append(s.Entries, e.Entry.ID)
	}
	if s.Days = len(days); daysBetween(calendarDay(s.From), calendarDay(s.To)) >= SittingDays {
		h.Sittings = append(h.Sittings, s)
	}
}

// who counts hands, writers and devices.
func (h *Honesty) who(work []*Effective) {
	hands, writers, devices := map[string]Share{}, map[string]Share{}, map[string]Share{}
	count := func(by map[string]Share, key string, s Share) {
		s.Count, s.Of = by[key].Count+1, len(work)
		by[key] = s
	}
	for _, e := range work {
		who := by(e)
		count(hands, string(who), Share{Person: who})
		count(writers, string(e.Entry.Person), Share{Person: e.Entry.Person})
		count(devices, e.Entry.Writer, Share{Person: e.Entry.Person, Device: e.Entry.Writer})
	}
	h.Hands, h.Writers, h.Devices = mostFirst(hands), mostFirst(writers), mostFirst(devices)
}

func mostFirst(by map[string]Share) []Share {
	var out []Share
	for _, s := range by {
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b Share) int {
		return cmp.Or(b.Count-a.Count, cmp.Compare(a.Person, b.Person), cmp.Compare(a.Device, b.Device))
	})
	return out
}

// amended lists the corrections and strikes of the machine's entries that hold, in the order in which they were written.
func (h *Honesty) amended(st *State, m *Machine) {
	byID := make(map[ID]*Effective, len(st.Effective))
	for _, e := range st.Effective {
		byID[e.Entry.ID] = e
	}
	var amending []*Effective
	for _, e := range st.Effective {
		if e.Ignored == "" && e.Record != nil && record.MachineOf(e.Record) == m.ID {
			switch e.Record.(type) {
			case *record.Correct, *record.Strike:
				amending = append(amending, e)
			}
		}
	}
	for _, e := range byDepth(amending) {
		a := Amended{Entry: e.Entry.ID, By: e.Entry.Person, Written: written(e.Entry), Text: text(e)}
		var correct *record.Correct
		switch rec := e.Record.(type) {
		case *record.Correct:
			a.Of, correct = rec.Entry, rec
		case *record.Strike:
			a.Of = rec.Entry
		}
		target := byID[a.Of]
		if target == nil || target.Entry.Record == nil {
			continue
		}
		a.Kind, a.Before = target.Entry.Kind, target.Entry.Record
		a.Done, _ = record.DoneOf(target.Entry.Record)
		a.NewDone = a.Done
		if from := written(target.Entry); from != "" && a.Written != "" {
			a.After = max(0, daysBetween(calendarDay(from), calendarDay(a.Written)))
		}
		if correct == nil {
			h.Strikes = append(h.Strikes, a)
			continue
		}
		if now, err := correct.Decoded(); err == nil {
			a.Now = now
			a.NewDone, _ = record.DoneOf(now)
		}
		h.Corrections = append(h.Corrections, a)
	}
}
