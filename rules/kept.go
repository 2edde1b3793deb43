package rules

import (
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Kept is how a machine's service was kept: for every job of its schedule how often it came due in hindsight and what became of that. It goes by the schedule,
// options and own values in force on the state's day, for each job from the day on which a schedule with that job came into use.
//
// A point at which a job came due, at one place, is on time when it was done no later than its trigger's notice after it (the notice of `due`: a tenth of the
// interval where the schedule says nothing, 14 days at most for dates; on a counter as much use; a season's work before the season opens, or within 30 days
// after it closed; a follow-on on the day or the next). It is late when it was done after that, and missed when it was not done before the next point of the
// same kind came. Missed points do not add up into one long lateness: greased at 0 h and 210 h, every 50 h, is missed at 50, 100 and 150 h and late at 200 h.
// A point not done by the state's day is open. A point that came in storage waits for the day the machine was taken out, unless its trigger runs on. What one doing
// answers counts once, by the point that came first.
//
// What cannot be judged is not counted: nothing before the first doing in the book where the book does not know the machine from new, nothing that a
// starting line took as given. Each KeptJob says what was left out and why.
type Kept struct {
	From, To string // the days looked at: from the machine's coming to the book
	Jobs     []KeptJob
	Total    Tallied // of all jobs
	Periods  []KeptPeriod
	// Unjudged are jobs of which nothing at all could be judged, as KeptJob has it; they are in Jobs too.
	Unjudged []string
}

// Tallied is how many points there were and what became of them: Due is the sum of the others.
type Tallied struct{ Due, OnTime, Late, Missed, Open int }

// KeptJob is one job, all its places together.
type KeptJob struct {
	Job     *schedule.Job
	Title   string
	Places  int     // where it is done; 1 for the machine as a whole
	InUse   string  // from which day on the schedule asks for it; "" since the beginning
	Total   Tallied // a place at a time: 48 openers greased together are 48
	Periods []KeptPeriod
	Lapses  []Lapse // late, missed and open points, oldest first, places alike together
	Times   int     // entries by which it was done in the book, the starting line left out
	Last    LastDone
	Notes   []string // what was left out or reckoned otherwise, plain sentences
	Entries []ID     // doings that Total rests on, in order of effect
}

// KeptPeriod is the part of a count in one season or the time between two, by the day a point came due.
type KeptPeriod struct {
	Name     string // "spring seeding 2026", "before spring seeding 2026"; years where no season is known
	From, To string
	Between  bool
	Count    Tallied
}

// Lapse is a point that was not kept on time, at the places where it went alike.
type Lapse struct {
	Job       string
	State     string           // KeptLate, KeptMissed, KeptOpen
	Cause     string           // ByInterval, BySeason, ByFollowOn, ByDate
	Due       Amount           // the point; a counter's value is of all its use so far
	DueOn     string           // the day it came, by the counter's curve where it is a count
	Done      record.Done      // of a late one
	Over      Amount           // how much past the point it was done, or is by now; zero of a missed one
	Skipped   ID               // it was written that it was left out then
	Positions record.Positions // zero: the machine
	Entries   []ID             // what it counts from, and what answered it
}

// What became of a point.
const (
	KeptOnTime = "on time"
	KeptLate   = "late"
	KeptMissed = "missed"
	KeptOpen   = "open"
)
