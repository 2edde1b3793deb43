// Package phrase reads the line a person types after a verb and a machine: which places, what of them, and to what value. It knows the grammar and
// nothing of machines: a Vocabulary says what a word names, and what is said of places and values is handed on as text for the schedule to resolve.
//
// The grammar, in the notation of ISO/IEC 14977 with words between blanks or in quotes as terminals:
//
//	line     = verb, machine, phrase ;
//	phrase   = clause, { [ join ], clause }                    (* adjust, measure, swap, did, counter, assume *)
//	         | [ places, [ but ] ], [ part ], text ;           (* fault, repair, note: text runs to the end *)
//	clause   = [ places ], what, { [ join ], what }, [ places ], [ but ]
//	         | places, but, what, { [ join ], what }
//	         | "rest", [ but ], ( what, { what } | [ "to" ], value ) ;  (* adjust, not first: the places not named before; a value alone
//	                                                              is of the one setting named before *)
//	but      = "but", places ;
//	places   = place, { [ join ], place } ;
//	place    = "all" | group | noun                            (* a noun is all its places *)
//	         | range                                           (* of the noun that the thing spoken of has *)
//	         | noun, ( "/" | " " ), ( range | name ) ;         (* opener/12, opener 12, wheel left-front *)
//	range    = number, [ "-", number ], { ",", number, [ "-", number ] } ;
//	join     = "," | "and" ;
//	what     = job | part                                      (* did; swap *)
//	         | setting, ( "=" | [ "to" ] ), value              (* adjust, assume *)
//	         | setup | "setup", "=", setup                     (* adjust *)
//	         | reading, { [ join ], reading }                  (* measure, where values are asked for *)
//	         | reading, [ "=" ], [ value ] | reading, places, value | reading, each, { each }  (* measure *)
//	         | [ counter, [ "=" ] ], value | counter, ( "reset" | "replaced" )   (* counter *)
//	         | "good" | job | reading, "=", value | part, ( "worn" | "used" ), "=", value ;  (* assume *)
//	each     = place, "=", value ;
//	value    = amount | word | "-" | value, ">", value ;       (* "-": cannot be reached; ">": as found > as left *)
//	amount   = [ "+" | "-" ], number, [ " ", fraction ], [ unit ] ;
//
// A name of several words may be typed with blanks ("torque check", "left wing"): the longest run of words that names something is taken. Names are read
// in any case; plurals are read where the noun or part is. Places left out are all places. Adjust takes several clauses, the others one.
//
// What holds: Parse(Words(p)) gives p again. Not done here: whether a place exists, whether a value is allowed, what a bare number's noun is.
package phrase

import "strings"

// Kinds of names in the one namespace of a machine kind.
const (
	Noun    = "noun"
	Group   = "group"
	Setting = "setting"
	Reading = "reading"
	Part    = "part"
	Job     = "job"
	Setup   = "setup"
	Counter = "counter"
)

// Vocabulary says what words name on one machine.
type Vocabulary interface {
	// Name gives the proper name and the kind of a word in small letters: "openers" is "opener", Noun.
	Name(word string) (name, kind string, ok bool)
	// Place reports whether a noun has a place of that name: "wheel", "left-front".
	Place(noun, name string) bool
	// Words lists the names of these kinds (of all, without any), for did-you-mean.
	Words(kinds ...string) []string
	// Measured lists the readings that are taken of a part or by a job; where a value is said, those that can have it, if there are any.
	Measured(thing, value string) []string
}

// Form is the shape of one verb's lines.
type Form struct {
	Verb    string
	Kinds   []string // what its WHAT may be
	Values  bool     // a setting or reading is followed by a value; bare numbers after it are the value
	Each    bool     // PLACE=VALUE after the reading
	Many    bool     // several clauses
	Text    bool     // ends with free words
	Acts    []string // words that stand for a value: "reset", "replaced"
	Alone   bool     // a value may stand without a name: the main counter's
	Flags   []string // words on their own: "good"
	Partial bool     // a correction: nothing need be named, and a value alone is the new value of what stands
}

// The forms of the verbs.
var (
	Adjust  = Form{Verb: "adjust", Kinds: []string{Setting, Setup}, Values: true, Many: true}
	Measure = Form{Verb: "measure", Kinds: []string{Reading}, Values: true, Each: true}
	Ask     = Form{Verb: "measure", Kinds: []string{Reading}, Values: true, Each: true, Many: true} // several readings, whose values are asked for
	Swap    = Form{Verb: "swap", Kinds: []string{Part}}
	Did     = Form{Verb: "did", Kinds: []string{Job}}
	Fault   = Form{Verb: "fault", Kinds: []string{Part}, Text: true}
	Repair  = Form{Verb: "repair", Kinds: []string{Part}, Text: true}
	Note    = Form{Verb: "note", Text: true}
	Count   = Form{Verb: "counter", Kinds: []string{Counter}, Values: true, Many: true, Acts: []string{"reset", "replaced"}, Alone: true}
	Assume  = Form{Verb: "assume", Kinds: []string{Setting, Reading, Part, Job}, Values: true, Many: true, Flags: []string{"good"}}
)

// Phrase is what was said after verb and machine.
type Phrase struct {
	Clauses []Clause
	Text    string   // free words
	Flags   []string // of Form.Flags
}

// Clause is one or more things said of the same places.
type Clause struct {
	Places []string // "opener/1-48", "left-wing", "12,14-16", "all", "rest"; none: not said
	But    []string
	Terms  []Term
	Said   string // the places as typed: "left-wing but 3"
}

// Term is one thing spoken of.
type Term struct {
	Name  string // proper name; "" where a value stands alone
	Kind  string
	Value string // as typed: "6", "+1", "5 1/4 in", "carry-both", "-", "5.2>5.9"; "" none
	Fixed bool   // setting: a signed value behind "=" is the value itself, not a change
	Act   string // of Form.Acts
	Each  []Each // reading: place by place
	Worn  string // part assumed worn: "50%"
	Used  string // part assumed used: "600ac"
}

// Each is the value of one place.
type Each struct {
	Place string
	Value string
}

// Relative reports a value that is a change of what stands: "+1", "-0.25 in", not behind "=".
func (t Term) Relative() bool {
	return !t.Fixed && signed(t.Value)
}

func signed(value string) bool {
	return len(value) > 1 && (value[0] == '+' || value[0] == '-')
}

// Error is a line that cannot be read. Word is what it stumbled over, "" at the end of the line.
type Error struct {
	Word    string
	Message string
	Hint    string   // what to type instead, where that is plain
	Unknown bool     // Word names nothing on this machine
	Known   []string // what could have stood there
}

func (e *Error) Error() string { return e.Message }

// Words gives the phrase as the words of a line that parses to it again.
func (p *Phrase) Words() []string {
	var out []string
	for _, c := range p.Clauses {
		out = append(out, c.Places...)
		if len(c.Places) > 0 && len(c.But) > 0 {
			out = append(append(out, "but"), c.But...)
		}
		for _, t := range c.Terms {
			out = append(out, t.words()...)
		}
		if len(c.Places) == 0 && len(c.But) > 0 {
			out = append(append(out, "but"), c.But...)
		}
	}
	out = append(out, p.Flags...)
	if p.Text != "" {
		out = append(out, p.Text)
	}
	return out
}

func (t Term) words() []string {
	name := t.Name
	if t.Kind == Setup {
		name = "setup=" + name
	}
	switch {
	case t.Act != "":
		return []string{name, t.Act}
	case name == "":
		return []string{t.Value}
	case t.Kind == Setting && t.Relative():
		return []string{name, t.Value}
	case t.Value != "":
		return []string{name + "=" + t.Value}
	}
	out := []string{name}
	for _, e := range t.Each {
		out = append(out, e.Place+"="+e.Value)
	}
	if t.Worn != "" {
		out = append(out, "worn="+t.Worn)
	}
	if t.Used != "" {
		out = append(out, "used="+t.Used)
	}
	return out
}

// said joins places as a person typed them.
func said(places, but []string) string {
	s := strings.Join(places, " ")
	if len(but) > 0 {
		s = strings.TrimSpace(s + " but " + strings.Join(but, " "))
	}
	return s
}
