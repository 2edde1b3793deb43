// Package phone is the web page for a phone in the shop: HTTP, pages and who may see them. It knows no rule of the trade and nothing of how entries are
// made: what is due, what a job needs, what an entry would say and whether something is odd about it all come from a [Shed], which is what the commands of
// the shed do already. An entry made on a phone is thus the same as one typed at the laptop, and the same questions are asked about it.
//
// What holds:
//   - Nothing is shown or recorded to a phone that was not paired: a one-time token brings it to the page, and whoever sits at the laptop types the number
//     that the phone shows. From then on a cookie tells it; the book's folder keeps the cookie's digest, outside of what is synced.
//   - Each paired phone is the hand of one person of the book. The laptop's key signs. The entry says who entered it on which phone, and that is what the
//     laptop was told: no page calls it signed by that person.
//   - Every request must name an address that the server was told to listen at, which ends attacks by names that point here (DNS rebinding). Every
//     request that changes something must come from a page of ours: its Origin, and a token that only the phone's own pages hold.
//   - Every form carries a key of its own. What is sent twice, because the Wi-Fi went or a button was pressed again, is recorded once.
//   - Pages work without script. Styles come from this server, and one script: on the page of a round of readings it keeps each value as it is typed. The
//     policy forbids everything else.
//   - A value typed in a round is on the disk before it is called kept. It is recorded when the round is signed, once.
//   - The connection is plain HTTP: who listens on the Wi-Fi can read along, and could take the cookie. Pages and the terminal say so.
package phone

import (
	"io"
	"slices"
	"strings"
	"time"
)

// Person is somebody of the book.
type Person struct{ ID, Name string }

// Hand is whose hand a paired phone is.
type Hand struct {
	ID     string    `json:"id"`     // of the phone: 8 hex digits
	Person string    `json:"person"` // id of the person in the book
	Name   string    `json:"name"`   // of the person, when paired
	Phone  string    `json:"phone"`  // what the phone is called
	Secret string    `json:"secret"` // SHA-256 of the cookie, hex
	Since  time.Time `json:"since"`
}

// Shed is the book as the pages need it. It is called by many requests at once.
type Shed interface {
	Title() string
	People() ([]Person, error)
	Today(yard string) (*Today, error)
	Machines() ([]MachineLine, error)
	Machine(name string) (*Machine, error)
	Job(machine, job string) (*Job, error)
	Form(machine, kind, what string) (*Form, error)
	Past(machine string) (*Past, error)
	// Correction is what can be said to put one's own entry right.
	Correction(h Hand, machine, entry string) (*Form, error)
	Seasons() (*Form, error)
	// Wear is what is left of the parts that wear; Compare sets two seasons beside each other, the last two where none are named; Spec is the spec card, or what
	// the words find on it; Show tells of a place or a thing, with the entries and rules that each line rests on, and what was recorded of it.
	Wear(machine string) (*Look, error)
	Compare(machine, one, other string) (*Look, error)
	Spec(machine, words string) (*Look, error)
	Show(machine, words string) (*Look, error)
	Style() []byte // of what a Look holds
	// Record makes one entry. The error is an *Ask where a person must say that something odd is meant, a *Refused where it cannot be recorded; nothing
	// was recorded then. An act whose Once was recorded before gives the answer of then.
	Record(h Hand, a Act, sure []string) (*Answer, error)
	// Round is a phone's round of readings as far as it has come. Keep puts what was typed on the disk and gives the round as it is then. Sign records it,
	// as Record does; the act's What is the reading.
	Round(h Hand, machine, reading string) (*Round, error)
	Keep(h Hand, machine, reading string, typed map[string]Typed) (*Round, error)
	Sign(h Hand, a Act, sure []string) (*Answer, error)
	// Paper is a photo or document by its digest, and its type, "" where that is none of those known.
	Paper(digest string) (data []byte, kind string, err error)
	// Recorded is the answer given to an act of this hand; nil where there was none.
	Recorded(h Hand, once string) (*Answer, error)
}

// Today is what is due.
type Today struct {
	On, Head string
	Yard     string // asked about; "" all
	Yards    []string
	Groups   []Group
	More     int      // lines left out
	Unknown  []string // of which the book cannot tell
	Wrong    []string // what does not fit in the book
}

// Group is the lines under one heading.
type Group struct {
	Title string
	Grave bool
	Lines []Line
}

// Line is one thing to do. One of Job and Fault is set, or neither: then it leads to the machine.
type Line struct{ Machine, Job, Fault, Title, Where, Stands, Why string }

// MachineLine is a machine in the list.
type MachineLine struct{ Name, Title, Yard string }

// Machine is what is so of a machine, and what can be recorded of it.
type Machine struct {
	MachineLine
	State  []Fact
	Faults []Fault
	Groups []Group // what is due
	Jobs   []Named // of its schedule
	Read   []Named // readings that are measured
	Kinds  []Named // what else can be recorded: fault, repair, ...
}

// Named is a word with what people call it.
type Named struct{ Name, Title string }

// Fact is a name and what belongs to it.
type Fact struct {
	Name   string
	Values []string
}

// Fault is one that is open.
type Fault struct{ ID, Text, Where, Since, Severity string }

// Spots are the places that stand in one row, from left to right; named ones in the schedule's order.
type Spots struct {
	Noun, Title string
	Places      []Spot
}

// Wide reports that some are called by words, which need more room than a number.
func (s Spots) Wide() bool {
	return slices.ContainsFunc(s.Places, func(p Spot) bool { return len(p.Label) > 3 })
}

// Words are the places in their order, as they are typed.
func (s Spots) Words() string {
	var out []string
	for _, p := range s.Places {
		out = append(out, p.Value)
	}
	return strings.Join(out, " ")
}

// Spot is one place: Value as it is typed, "opener/12", Label as it is drawn.
type Spot struct{ Value, Label string }

// Counter is one that can be read on the occasion.
type Counter struct{ Name, Unit, Last string }

// Job is a job of a machine: what to know before it is done, and what can be said of its doing.
type Job struct {
	Machine, Name, Title string
	Where, Mark, Why     string
	Care                 []string
	Facts                []Fact
	Spots                []Spots
	Groups               []Spot
	Noun                 string // plural, "" where the job has no places
	All                  int    // places it has
	Due                  string // those due now, in words; "" where that is all of them, or none
	Moved                bool   // what had moved can be said
	Results              []string
	Torque               []string // units of the wrench
	Fills                []string
	Tested               bool // it ends in pass or fail
	Swaps                string
	Measures             []Named // readings to take with it
	Counters             []Counter
}

// Outcomes are how a test ends.
func (*Job) Outcomes() []string { return []string{"pass", "fail", "advice"} }

// Round is one reading of all its places, in walking order.
type Round struct {
	Machine, Reading, Title string
	Unit, How, Usual, Limit string
	Begun                   string // when its first value was kept; "" nothing is kept yet
	Grades                  []string
	Conditions              []string // under which it is measured
	Stretches               []Stretch
	All, Said, Odd          int
	Summary                 string
	Counters                []Counter
}

// Focus is the field to type into next: the first without a value behind the last that has one.
func (r *Round) Focus() string {
	next := ""
	for _, s := range r.Stretches {
		for _, a := range s.Asked {
			if said := a.Value != "" || a.Cannot; said {
				next = ""
			} else if next == "" {
				next = a.Key
			}
		}
	}
	return next
}

// Stretch is a part of the way: "front rank, from the left".
type Stretch struct {
	Title string
	Asked []Asked
}

// Asked is one place: what was measured there the last time, what stands now, and what is odd or wrong about it.
type Asked struct {
	Key, Name, Last, Value, Odd, Wrong string
	Cannot                             bool
}

// Typed is what stands in the field of one place. Sure: what was odd is meant. Cleared: it showed a value, which was taken out.
type Typed struct {
	Value                 string
	Cannot, Sure, Cleared bool
}

// Past is what was recorded of a machine, newest first.
type Past struct {
	Machine string
	Entries []Entry
	More    bool
}

// Entry is one entry of the past. Own: the phone's person entered it, or wrote it.
type Entry struct {
	ID, Short, Done, Who, Says string
	Person                     string
	Struck, Mends              bool // taken back; of a kind that a phone can put right
	Shots                      []Shot
}

// Act is one entry to be made. Its words come from forms, its kind and the names of its flags from this package only.
type Act struct {
	Kind    string // of entry, "strike" and "correct" among them
	Machine string
	Places  []string // as typed: "opener/1-24", "but", "opener/14"; none: all
	What    string   // the job, setting, counter, part, carrier, yard; of a season: open, close
	Value   string
	Text    string   // free words
	Flags   []string // "--note=...", as on a command line
	Entry   string   // strike, correct: the id
	Once    string   // key of the form
	Photo   *Photo   // that came with the form; nil: none
}

// Answer tells what was recorded.
type Answer struct {
	Machine string   `json:"machine,omitempty"`
	Lines   []string `json:"lines"`
	Notes   []string `json:"notes,omitempty"`
	Next    []string `json:"next,omitempty"`
	IDs     []string `json:"ids"`
}

// Ask is a question about something odd; said again with it among sure, it is taken as meant.
type Ask struct{ Question string }

func (a *Ask) Error() string { return a.Question }

// Refused says why nothing was recorded, and what to do.
type Refused struct{ Text, Next string }

func (r *Refused) Error() string { return r.Text }

// ErrNone says that there is no such machine, job or page.
var ErrNone = &Refused{Text: "There is no such thing in this book."}

// Config is what a server needs from outside.
type Config struct {
	Shed    Shed
	Folder  string   // the book's: paired phones are kept in it
	Hosts   []string // addresses it may be called by, with their port
	Yard    string   // shown first; "" all
	Laptop  string   // what the signing device is called
	Now     func() time.Time
	Random  io.Reader
	Asking  func(Waiting) // a phone wants to be paired
	Touched func()        // a request came
}
