package paper

// SpotCard is a list of what to look at on the machine, what the book expects, and a box to write into, large enough for a pencil in the cold.
type SpotCard struct{ Rows []SpotRow }

// SpotRow is one thing to measure or to read.
type SpotRow struct {
	Where    string // "" : the same place as the row before
	What     string
	Expected Text
}

func (SpotCard) template() string { return "spotcard" }
