package main

import "shedbook/cmd/shedbook/internal/paper"

// words are what the page means by the words that a stranger to it may not know.
func (s *saleFile) words() paper.Section {
	rows := [][2]string{
		{"entry", "one thing written down and signed by the device it was written on. The eight digits beside a line begin its number; +2: two more bear it out. On a screen the page lists them at its end; shedbook audit --evidence FILE --history lists all"},
		{"assumed", "taken as given when the record began, not seen; what a counter showed then is too"},
		{"in four of five cases", "one time in ten it comes out lower, one time in ten higher, if the parts and the ground go on as they did"},
		{"change now", "as likely as not to pass its limit in the work ahead that the chart names: a triangle there"},
		{"log", "all that one device wrote, in order; each entry names the one before it, so none can be taken out unseen"},
		{"cite", "an entry of another device names the newest that this device held: they were there by then"},
		{"stamp", "a signed statement of where every log ends, kept by somebody else; countersigned: signed again, from outside"},
		{"preset", "a bearing tightened so that it runs without play and without binding"},
		{"in a box", "white on dark: do not run, past a limit; double: past what was asked, out of use; dashed: worth a question (comes back, gap, not said); winter work: when the season is over"},
	}
	var out []paper.Row
	for _, r := range rows {
		out = append(out, paper.Row{Cells: []paper.Text{paper.Say(r[0]), paper.Say(r[1])}})
	}
	return paper.Section{ID: "words", Title: "Words used here", Blocks: []paper.Block{paper.Table{Columns: []paper.Column{{Title: "word", Narrow: true}, {Title: "what it means here"}}, Rows: out, Fold: "show what they mean: " + countWords(len(out), "word"), Printed: true}}}
}
