package phone

import "slices"

// Form is what is asked for to record something else.
type Form struct {
	Machine, Kind, Title string
	Spots                []Spots
	Groups               []Spot // several places under one name
	Counters             []Counter
	Faults               []Fault
	Settings             []Setting

	Things   []Named  // parts of which one must be chosen before the rest is asked
	What     Named    // the part chosen
	Hands    []string // names of the two in one place, where they differ
	Acts     []Named  // what can become of it; of a season: opened, closed
	Machines []Named  // that can pull it
	Carrier  string   // what pulls it now
	Yards    []string // where it can go
	Yard     string   // where it stands
	Stored   bool
	Slack    []string // slackened when it was stored, and not put back
	Seasons  []Season
	Works    []string // kinds of work that a season can be of
	As       string   // correction: kind of the entry
	Entry    *Entry   // correction: the entry as it stands
	Text     string   // correction: its free words
	Valued   bool     // correction: it has a value
}

// Setting is one that can be set, with what stands now.
type Setting struct {
	Named
	Now, Unit string
	Choices   []string
}

// Season is one with what became of it: planned, open, closed.
type Season struct{ Name, Stands, Says string }

// Severities of a fault, as a person says them.
func (*Form) Severities() []Named {
	return []Named{{"stop", "stop: do not run it so"}, {"soon", "soon"}, {"winter", "in the winter shop"}, {"tidy", "when there is time"}}
}

// Remarked reports that a remark can stand beside what the form says; faults, repairs and notes are words themselves.
func (f *Form) Remarked() bool { return !slices.Contains([]string{"fault", "repair", "note"}, f.Kind) }

// Pictured reports that a photo can come with the form: with what is seen, done and put in.
func (f *Form) Pictured() bool {
	return slices.Contains([]string{"fault", "repair", "note", "counter", "adjust", "swap"}, f.Kind)
}

// Whys are the reasons for which a part is swapped.
func (*Form) Whys() []Named {
	return []Named{{"worn", "worn"}, {"in-time", "in time, before it was worn"}, {"with-set", "with the rest of its set"}, {"broken", "broken"}}
}

// CounterActs are what can have happened to a counter.
func (*Form) CounterActs() []Named {
	return []Named{{"", "it was read"}, {"add", "so much was added"}, {"reset", "it was set back"}, {"replaced", "a new counter was put in"}}
}
