package paper

import "slices"

// Blanks are gaps to fill by hand: "done by ____".
type Blanks struct{ Names []string }

// Ticks is a list with a box to tick before each line.
type Ticks struct {
	Title string
	Items []Text
}

// Task is one job of a card: what and where, why, how, with what, then the boxes to tick or to write in.
type Task struct {
	Number string // place in the card's order
	Title  string
	Where  string
	Mark   Mark
	Why    Text
	Facts  []Fact   // torque, limit, minutes, hands, who may do it, the last time
	Care   []string // cautions of this job beside those of every job
	Boxes  []Boxes
	Room   []string // gaps to fill by hand under the boxes: "skipped, why"
	Key    []string // the lines that record it afterwards
	Square *Square  // leads a phone to it; nil: none
}

// Boxes are places in walking order, each with room to tick or to write.
type Boxes struct {
	Caption string // what is written in them and in what: "disc, edge to hub, in"
	Rows    []BoxRow
	Write   []string // names of the lines to write on in each box: "found", "left"; none: a box to tick
}

// BoxRow is a stretch of the walk: one rank from one side to the other.
type BoxRow struct {
	Name  string // "front rank, left to right"
	Boxes []Box
}

// Box is one place.
type Box struct {
	Label string // "12", "12 L"
	Last  string // the last value, in small print
	Ticks []string
}

// Strip is a small card, several to a sheet, with a line to cut along.
type Strip struct {
	Title  string
	Blocks []Block
}

// Worded reports a row whose boxes have words to tick, and so want more room.
func (r BoxRow) Worded() bool {
	return slices.ContainsFunc(r.Boxes, func(b Box) bool { return len(b.Ticks) > 0 })
}

// Named reports a row with a box whose label is a long word, and so wants more room.
func (r BoxRow) Named() bool {
	return slices.ContainsFunc(r.Boxes, func(b Box) bool { return len(b.Label) > 5 })
}

func (Blanks) template() string { return "blanks" }
func (Ticks) template() string  { return "ticks" }
func (Task) template() string   { return "task" }
func (Boxes) template() string  { return "boxes" }
func (Strip) template() string  { return "strip" }
