// Package record holds one struct for each kind of work or shared entry: what a person did, measured, set or swapped, as it stands in the "record"
// object of a signed body. It is the only place those bodies are decoded.
//
// Every struct is plain data: no lookups, no rules, no clock. Member names are part of the signed format and never change meaning; a member that
// this version does not know makes the record *newer* (Decode says so) and is never dropped silently. What may be held back from a buyer (names, costs,
// free text, papers) is in Private, a separate object with a digest of its own.
//
// Kinds: shared farm, yard, person, schedule, season; work machine, shelf, stock, move, lend, store, sell, hitch, assume, override, counter, adjust,
// measure, swap, did, fault, repair, note; of either class correct, strike.
package record

// ID names an entry: 64 lower-case hex digits.
type ID string

// Short is the first eight digits, as shown to people.
func (id ID) Short() string {
	if len(id) < 8 {
		return string(id)
	}
	return string(id[:8])
}

// Record is what every kind implements.
type Record interface {
	// Kind is the body's kind: "did", "swap", ...
	Kind() string
	// Check reports the first thing that is wrong with the record by itself, without looking at any other entry; the error names the member.
	Check() error
}

// Work is what the entries about one machine have in common; every work kind embeds it. Shelves stand in for machines in stock entries.
type Work struct {
	Machine  ID          `json:"machine,omitempty"`  // the entry that added the machine or shelf; absent only in that entry
	Done     Done        `json:"done"`               // when the work was done, farm-local wall time
	By       []ID        `json:"by,omitempty"`       // who did it, when not the person who writes
	Counters []CounterAt `json:"counters,omitempty"` // counters read on the occasion (--counter area=1812ac)
	Crop     string      `json:"crop,omitempty"`
	Field    string      `json:"field,omitempty"`
	Ground   string      `json:"ground,omitempty"`   // "wet", "heavy", in the person's words
	Closes   []ID        `json:"closes,omitempty"`   // faults that this work puts right
	Minutes  int         `json:"minutes,omitempty"`  // labour, all hands together
	Warranty string      `json:"warranty,omitempty"` // YYYY-MM-DD: what was put in, or the work, is warranted until the end of that day
}

// Base gives the common part of a work record.
func (w *Work) Base() *Work { return w }

// CounterAt is one reading of one counter.
type CounterAt struct {
	Counter string   `json:"counter"`
	At      Quantity `json:"at"`
}

// Private is the separable part of an entry. Names, costs, words and papers stand here and nowhere else.
type Private struct {
	Name   string  `json:"name,omitempty"` // of a person
	Text   string  `json:"text,omitempty"` // free words: a note, what is wrong, how it was put right
	Who    string  `json:"who,omitempty"`  // an outside shop, dealer, buyer, borrower
	Costs  []Cost  `json:"costs,omitempty"`
	Papers []Paper `json:"papers,omitempty"`

	Entered  *Entered  `json:"entered,omitempty"`  // absent: typed at the device that signs
	Imported *Imported `json:"imported,omitempty"` // absent: typed by a person
}

// Imported says from which file an entry was taken over, and which row of it. It is what the device that signs found in the file: nobody can tell from it
// whether the file was true.
type Imported struct {
	File string `json:"file"`           // SHA-256 of the file's bytes, 64 lower-case hex digits
	Row  string `json:"row"`            // digest of what the row says (ledger/FORMAT.md): the same row of another file has the same
	Line int    `json:"line"`           // where it stands in the file, the first line being 1
	Name string `json:"name,omitempty"` // what the file was called then, without its folder; "": not known
}

// Entered says who typed an entry on a phone and on which one. It is what the device that signs was told and wrote down: a claim of that device's, for
// the phone holds no key and signs nothing.
type Entered struct {
	Person ID     `json:"person"` // of the book
	Phone  string `json:"phone"`  // what the phone is called
}

// Cost is one amount of money. Amount is a plain decimal with an optional three-letter currency: "120.50", "120.50 EUR".
type Cost struct {
	For    string `json:"for"`
	Amount string `json:"amount"`
}

// Paper is a photo or document kept beside the entries under its SHA-256 digest.
type Paper struct {
	Digest string `json:"digest"` // 64 hex digits
	Name   string `json:"name"`
	Type   string `json:"type"` // media type
	Size   int64  `json:"size"` // bytes
}
