package paper

// Windscreen is a card of half a sheet, Letter or A4, behind the windscreen or on the hitch, with a line to cut along.
type Windscreen struct {
	Title    string // what kind of machine
	Facts    string // year, serial, width
	Counters []string
	Wrong    []Text // what is wrong today
	Left     []string
	Proof    string // where to find more
	Price    string // "": room to write it
	Contact  string // "": room to write it
	Day      string // of which day all this is
}

func (Windscreen) template() string { return "windscreen" }
