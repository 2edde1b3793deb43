package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// spotCheck is a card to take to the machine: places to measure, what the book expects there, and room for what was found.
func (s *saleFile) spotCheck() paper.Section {
	spot := rules.SpotCheckOf(s.st, s.m, rules.SpotAsk{Word: s.o.word, Left: s.left})
	out := paper.Section{ID: "spot-check", Title: "Spot-check card", NewSheet: true}
	if len(spot.Places) == 0 && len(spot.Faces) == 0 {
		out.NewSheet = false
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("Nothing was measured or set place by place, so there is nothing that a tape could check.")}}
		return out
	}
	out.Note = "Ten minutes with a tape. Write down what you find."
	out.Blocks = append(out.Blocks, paper.Notice{Grave: true, Title: "Before you reach in", Lines: s.spotCautions()}, paper.SpotCard{Rows: s.spotRows(spot)}, paper.Para{Text: paper.Say(s.spotChoice(spot))})
	out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say(spotCounsel)})
	if how := spotHow(spot); len(how) > 0 {
		out.Blocks = append(out.Blocks, paper.List{Items: how})
	}
	return out
}

// spotCounsel says what from and to are, and what to do where a card does not agree. The shares follow from limits of twice the spread of a normal error.
const spotCounsel = "From and to allow for two people's measuring and for what parts and seasons differ: by chance about one size in twenty lies outside. Inside proves little where the part hardly wore. One outside: measure it again with the seller, at the shortest of three places. Two or more, or all on one side: measure ten more, and ask who measured, with what, and which parts were changed and not written. A setting that differs: ask since when, and look at the others beside it. The limit is the schedule's, common practice; the operator's manual rules."

// spotCautions are of the kind's own words: a stranger measures at a machine he does not know.
func (s *saleFile) spotCautions() []paper.Text {
	var out []paper.Text
	for _, name := range []string{schedule.AnyJob, "raised", "blades"} {
		if s.m.Fitted == nil {
			break
		}
		if x, ok := s.m.Fitted.Caution(name); ok {
			out = append(out, paper.Say(x.Text))
		}
	}
	return append(out, paper.Say("The owner blocks the machine; do not reach in before he has. The operator's manual rules."))
}

// spotChoice says how the places were chosen, for a card is worth nothing whose places the seller could choose.
func (s *saleFile) spotChoice(spot *rules.Spot) string {
	if len(spot.Places) == 0 {
		return "No place was measured or set by itself: only the counters can be looked at."
	}
	text := fmt.Sprintf("%d of %d places: the one with the least left, the one whose part was changed last, the others drawn from all over the machine by the newest entries, whose digests nobody can choose while measuring.", len(spot.Places), spot.Of)
	if spot.Word == "" {
		return text + " A seller could still write entries until he likes the draw: at the machine tell him a word of your own, and let him print the card anew with it (--word)."
	}
	return text + fmt.Sprintf(" Drawn with the buyer's word %q too.", spot.Word)
}

func (s *saleFile) spotRows(spot *rules.Spot) []paper.SpotRow {
	var out []paper.SpotRow
	for _, f := range spot.Faces {
		expected := "at least " + s.amount(f.Least) + ", read " + sinceDay(f.On)
		if f.Likely.Rat().Cmp(f.Least.Rat()) > 0 {
			expected += "; about " + s.amount(f.Likely) + " by now"
		}
		out = append(out, paper.SpotRow{Where: "counter", What: strings.ReplaceAll(f.Counter, "-", " "), Expected: says(expected, f.Entry)})
	}
	if len(spot.Places) > 0 {
		for _, x := range spot.Places[0].Settings {
			if s.alike(spot, x) {
				out = append(out, paper.SpotRow{Where: "each place below", What: sentence.Title(x.Title, x.Setting), Expected: s.spotSetting(&x)})
			}
		}
	}
	why := map[string]string{rules.SpotWorst: "least left", rules.SpotChanged: "part changed last"}
	for i := range spot.Places {
		p := &spot.Places[i]
		where := s.places(record.NewPositions(p.Place)) + before(" (", why[p.Why]) + iff(why[p.Why] != "", ")")
		for _, x := range p.Expected {
			text := s.about(x.Expected)
			if x.Within.Sign() > 0 {
				text += ", from " + s.between(x.Expected, x.Within)
			}
			if limit, ok := s.limitOf(x.Reading); ok {
				text += "; limit " + s.size(limit)
			}
			text += " (" + iff(x.AsNew, "new, ") + s.size(x.Last) + iff(x.AsNew, ", fitted ") + iff(!x.AsNew, " on ") + x.On.Date()
			if x.Worked.Sign() > 0 {
				text += ", " + s.amount(x.Worked) + " since"
			}
			text += ")"
			out = append(out, paper.SpotRow{Where: where, What: strings.TrimSpace(x.Hand + " " + sentence.Title(x.Title, x.Reading)), Expected: says(text, x.Entry)})
			where = ""
		}
		for _, x := range p.Settings {
			if s.alike(spot, x) {
				continue
			}
			out = append(out, paper.SpotRow{Where: where, What: sentence.Title(x.Title, x.Setting), Expected: s.spotSetting(&x)})
			where = ""
		}
		for _, x := range p.Serials {
			out = append(out, paper.SpotRow{Where: where, What: strings.TrimSpace(x.Hand+" "+strings.ReplaceAll(x.Part, "-", " ")) + ", number on it", Expected: paper.Say(x.Serial + before(", fitted ", sinceDay(x.Fitted)))})
			where = ""
		}
	}
	return out
}

// spotSetting is a setting with what its number means, by the schedule.
func (s *saleFile) spotSetting(x *rules.SpotSetting) paper.Text {
	value := sentence.Value(x.Value, s.c.system)
	return says(value+s.settingMeans(x.Setting, value)+iff(x.Assumed, " (assumed)")+", since "+sinceDay(x.Since), x.Entry)
}

// settingMeans says what the number of a setting counts: steps between two ends, or pieces.
func (s *saleFile) settingMeans(name, value string) string {
	if s.m.Fitted == nil {
		return ""
	}
	for i := range s.m.Fitted.Settings {
		def := &s.m.Fitted.Settings[i]
		worth := ""
		if !def.StepIs.IsZero() {
			worth = "; a step counts as " + def.StepIs.Usual(s.c.system).String()
		}
		switch {
		case def.Name != name:
		case def.Type == "steps" && len(def.Ends) == 2:
			return fmt.Sprintf(" (step; %s is %s, %s %s%s)", def.Min, def.Ends[0], def.Max, def.Ends[1], worth)
		case def.Type == "steps":
			return " (step" + worth + ")"
		case def.Type == "count" && value != "1" && pieces(def.Title) != "":
			return " " + pieces(def.Title)
		case def.Type == "count":
			return " (pieces or holes, counted)"
		}
	}
	return ""
}

// pieces is what a title says is counted, where it begins with that: "shims behind the gauge wheel", not "mounting hole of the gauge wheel".
func pieces(title string) string {
	first, _, _ := strings.Cut(title, " ")
	if strings.HasSuffix(first, "s") && !strings.HasSuffix(first, "ss") {
		return first
	}
	return ""
}

// limitOf is the limit of what wears.
func (s *saleFile) limitOf(reading string) (quantity.Quantity, bool) {
	for i := range s.left {
		if s.left[i].Reading.Name == reading {
			return s.left[i].Limit, true
		}
	}
	return quantity.Quantity{}, false
}

// asOnTape is a size to a hundredth: a tape shows no more.
func asOnTape(q quantity.Quantity) quantity.Quantity {
	if r, err := q.In(q.Unit(), 2); err == nil {
		return r
	}
	return q
}

// alike reports a setting that stands the same at every place of the card, and stands there once.
func (s *saleFile) alike(spot *rules.Spot, x rules.SpotSetting) bool {
	for _, p := range spot.Places {
		if !slices.ContainsFunc(p.Settings, func(o rules.SpotSetting) bool {
			return o.Setting == x.Setting && o.Value == x.Value && o.Since == x.Since && o.Assumed == x.Assumed
		}) {
			return false
		}
	}
	return len(spot.Places) > 1
}

// spotHow tells how each thing is measured, once.
func spotHow(spot *rules.Spot) []paper.Text {
	var out []paper.Text
	told := map[string]bool{}
	for _, p := range spot.Places {
		for _, x := range p.Expected {
			if x.How != "" && !told[x.Reading] {
				told[x.Reading] = true
				out = append(out, paper.Say(capital(sentence.Title(x.Title, x.Reading))+": "+x.How))
			}
		}
	}
	return out
}
