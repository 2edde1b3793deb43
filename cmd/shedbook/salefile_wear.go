package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// wearLeft is what is left of the parts that are judged by a size: worst places in words, all of them as bars in the machine's own order.
func (s *saleFile) wearLeft() paper.Section {
	out := paper.Section{ID: "wear", Title: "Wear left", Note: "Limits are the schedule's: common practice, not the maker's. The operator's manual rules."}
	var never []string
	for i := range s.left {
		l := &s.left[i]
		if l.Never == len(l.Places) {
			never = append(never, l.Title)
			continue
		}
		out.Blocks = append(out.Blocks, s.wearOf(l)...)
	}
	if len(never) > 0 {
		out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say("Never measured, so nothing is known of what is left: " + strings.Join(never, "; ") + ".")})
	}
	if len(s.left) == 0 {
		out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say("The schedule of this machine judges no part by its size.")})
	}
	return out
}

// leftWords says in a sentence what is left of one kind of part.
func (s *saleFile) leftWords(l *rules.Left) string {
	if l.Worst < 0 {
		return fmt.Sprintf("%s: measured, but what is left is not known without the size of a new one", capital(l.Title))
	}
	worst := &l.Places[l.Worst]
	text := fmt.Sprintf("%s: when last measured, %s, %s at %s (%s, limit %s); half had more than %s", capital(l.Title), sinceDay(worst.On), leastWords(worst), s.leftPlace(worst), s.size(worst.Size), s.size(l.Limit), share(l.Middle))
	if worst.Since.Sign() > 0 {
		text += "; " + s.amount(worst.Since) + " worked since"
	}
	for _, x := range []struct {
		n    int
		what string
	}{{l.Past, "past the limit"}, {l.Never, "never measured"}} {
		if x.n > 0 {
			text += fmt.Sprintf("; %d %s", x.n, x.what)
		}
	}
	return text
}

// leastWords is what the worst place has left.
func leastWords(p *rules.LeftPlace) string {
	if p.Past {
		return "past its limit"
	}
	return "least left " + share(p.Share)
}

// share is a part of the whole in percent; below none it is past the limit.
func share(v float64) string { return fmt.Sprintf("%d %%", int(math.Round(100*v))) }

func (s *saleFile) size(q quantity.Quantity) string {
	return sentence.Value(record.Amount(q), s.c.system)
}

func (s *saleFile) leftPlace(p *rules.LeftPlace) string {
	return strings.TrimSpace(s.places(record.NewPositions(p.Place)) + " " + p.Hand)
}

// worstShown is how many places are told in words.
const worstShown = 5

func (s *saleFile) wearOf(l *rules.Left) []paper.Block {
	out := []paper.Block{paper.Para{Text: paper.Say(s.leftWords(l) + ".")}}
	known := slices.DeleteFunc(slices.Clone(l.Places), func(p rules.LeftPlace) bool { return !p.Known })
	slices.SortStableFunc(known, func(a, b rules.LeftPlace) int { return cmp.Or(less(a.Share, b.Share), less(a.Likely, b.Likely)) })
	var rows []paper.Row
	for i := range known[:min(worstShown, len(known))] {
		p := &known[i]
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(s.leftPlace(p)), s.leftShare(p), says(s.size(p.Size)+", "+sinceDay(p.On)+" by "+s.person(p.Person), p.Entries[max(0, len(p.Entries)-1):]...), paper.Say(s.since(p)), paper.Say(s.further(l, p))}})
	}
	if len(rows) > 0 && len(l.Places) > 1 {
		out = append(out, paper.Table{Caption: "The least left", Columns: []paper.Column{{Title: "where", Narrow: true}, {Title: "left when measured"}, {Title: "measured"}, {Title: "worked since"}, {Title: "from today to the limit"}}, Rows: rows})
	}
	if l.Err != nil && l.Wear != nil {
		out = append(out, paper.Para{Text: paper.Say(capital(strings.SplitN(noForecast(l.Err, l.Wear), ": shedbook", 2)[0]) + ".")})
	}
	if len(l.Places) > 1 && l.Worst >= 0 {
		about := "Each bar is a place in the machine's own order: its whole height is new, nothing is the limit. A triangle marks what the forecast would change now."
		if l.Wear != nil && l.Err == nil && !l.Wear.Ahead.Blind {
			about += fmt.Sprintf(" The line through a bar is where it will stand, in four of five cases, after another %s (%s).", s.amount(l.Wear.Use(l.Wear.Ahead.Use)), l.Wear.Ahead.From)
		}
		out = append(out, paper.Figure{Title: capital(l.Title) + ": what is left, place by place", About: about, Chart: s.leftChart(l)})
	}
	return out
}

func (s *saleFile) since(p *rules.LeftPlace) string {
	if p.Since.Sign() <= 0 {
		return ""
	}
	return s.amount(p.Since)
}

func less(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (s *saleFile) leftShare(p *rules.LeftPlace) paper.Text {
	if p.Past {
		return marked(paper.Stop, "past its limit", "")
	}
	return paper.Say(share(p.Share) + iff(p.Assumed, ", from an assumed age"))
}

// further is how much more use a part likely has.
func (s *saleFile) further(l *rules.Left, p *rules.LeftPlace) string {
	if p.Past {
		return "none: it was past it when measured"
	}
	if !p.Forecast || l.Wear == nil || math.IsNaN(p.Likely) {
		return "cannot be told"
	}
	use := func(v float64) string {
		if math.IsInf(v, 0) {
			return "more than can be seen"
		}
		return s.amount(l.Wear.Use(max(0, v)))
	}
	if p.Likely <= 0 {
		return "likely at its limit by now; in four of five cases " + use(p.Low) + " to " + use(p.High) + " to go"
	}
	text := "about " + use(p.Likely)
	if math.IsInf(p.Likely, 0) {
		text = use(p.Likely)
	}
	text += ", in four of five cases " + use(p.Low) + " to " + use(p.High)
	return text + before("; likely passes it about ", p.LikelyOn)
}

// leftChart draws every place; ranks apart.
func (s *saleFile) leftChart(l *rules.Left) paper.Left {
	c := paper.Left{What: l.Title, Ends: "limit " + s.size(l.Limit) + ", common practice: the operator's manual rules"}
	rows := map[int]*paper.LeftRow{}
	var ranks []int
	order := make([]int, len(l.Places)) // as they stand in the machine, not as one walks
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return l.Places[a].Place.Compare(l.Places[b].Place) })
	for _, i := range order {
		p := &l.Places[i]
		rank := 0
		if s.m.Fitted != nil {
			rank = s.m.Fitted.Rank(p.Place)
		}
		if rows[rank] == nil {
			rows[rank] = &paper.LeftRow{}
			ranks = append(ranks, rank)
		}
		rows[rank].Places = append(rows[rank].Places, s.leftBar(l, i))
	}
	slices.Sort(ranks)
	for i, r := range ranks {
		row := rows[r]
		if len(ranks) > 1 {
			row.Name = fmt.Sprint("rank ", i+1)
			if i == 0 {
				row.Name += ", the front one"
			}
		}
		c.Rows = append(c.Rows, *row)
	}
	return c
}

func (s *saleFile) leftBar(l *rules.Left, i int) paper.LeftBar {
	p := &l.Places[i]
	b := paper.LeftBar{Label: placeLabel(p), Share: math.NaN(), Low: math.NaN(), High: math.NaN(), Day: p.On.Date()}
	if p.On != "" {
		b.Size = s.size(p.Size)
		b.From = strs2(p.Entries[max(0, len(p.Entries)-1):])
	}
	if p.Known {
		b.Share = p.Share
	}
	b.Note = marks(iff(p.Past, "past its limit"), iff(p.Assumed, "from an assumed age"), iff(p.On == "", "never measured"))
	if l.Wear == nil || i >= len(l.Wear.Parts) {
		return b
	}
	w := &l.Wear.Parts[i]
	if b.Now = w.Do == rules.ChangeNow || p.Past; b.Now {
		b.Note = marks("change now", b.Note)
	}
	if f := w.Forecast; f != nil && p.Known && !l.Wear.Ahead.Blind {
		fresh, limit := p.New.Float64(), l.Wear.Limit
		x, y := (f.AtLimits.Low-limit)/(fresh-limit), (f.AtLimits.High-limit)/(fresh-limit)
		b.Low, b.High = min(x, y), max(x, y)
	}
	return b
}

// placeLabel is a place's number or name without its noun, and the hand's first letter.
func placeLabel(p *rules.LeftPlace) string {
	label := p.Place.String()
	if i := strings.IndexByte(label, '/'); i >= 0 {
		label = label[i+1:]
	}
	if p.Hand != "" {
		label += strings.ToUpper(p.Hand[:1])
	}
	return label
}
