package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
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

// leftWords says in sentences what is left of one kind of part: today's likely first, then what was measured, then who was not.
func (s *saleFile) leftWords(l *rules.Left) []string {
	if l.Now < 0 {
		return []string{fmt.Sprintf("%s: measured, but what is left is not known without the size of a new one.", capital(l.Title))}
	}
	var out []string
	now := &l.Places[l.Now]
	if now.NowKnown {
		out = append(out, fmt.Sprintf("%s: today likely %s (about %s; limit %s); half likely have more than %s. That is worked out from what was measured and the use since.",
			capital(l.Title), s.leastNow(l, now), s.about(now.NowSize), s.limit(l.Limit), share(l.Mid)))
	}
	if l.Worst >= 0 {
		worst := &l.Places[l.Worst]
		text := "Last measured " + sinceDay(worst.On) + before(", ", ago(s.since(worst))) + ": " + leastWords(worst) + " at " + s.leftPlaces(sameReading(l, worst)) + " (" + s.size(worst.Size) + iff(!now.NowKnown, "; limit "+s.limit(l.Limit)) + "); half had more than " + share(l.Middle)
		if !now.NowKnown {
			text = capital(l.Title) + ". " + text
		}
		if l.Past > 0 {
			text += fmt.Sprintf("; %d past the limit", l.Past)
		}
		out = append(out, text+".")
	}
	if all := s.dueNow(l); all != "" {
		out = append(out, all)
	}
	return out
}

// ago is how much was worked since.
func ago(use string) string { return before("", use) + iff(use != "", " ago") }

// sameReading are the places that read the same as the worst, on the same day.
func sameReading(l *rules.Left, worst *rules.LeftPlace) []*rules.LeftPlace {
	var out []*rules.LeftPlace
	for i := range l.Places {
		if p := &l.Places[i]; p.Known && p.Share == worst.Share && p.On.Date() == worst.On.Date() {
			out = append(out, p)
		}
	}
	return out
}

// leastNow is what the worst place likely has left today, with all places that the page shows alike.
func (s *saleFile) leastNow(l *rules.Left, p *rules.LeftPlace) string {
	var alike []*rules.LeftPlace
	for i := range l.Places {
		if q := &l.Places[i]; s.alikeToday(p, q) {
			alike = append(alike, q)
		}
	}
	if p.NowShare <= 0 {
		return "at or past its limit at " + s.leftPlaces(alike)
	}
	return "least left " + share(p.NowShare) + " at " + s.leftPlaces(alike)
}

// alikeToday reports two places of which a reader is told the same.
func (s *saleFile) alikeToday(a, b *rules.LeftPlace) bool {
	x, y := s.leftToday(a), s.leftToday(b)
	return x.Words == y.Words && x.Mark == y.Mark
}

// leftPlaces names places; of many scattered ones the first.
func (s *saleFile) leftPlaces(all []*rules.LeftPlace) string {
	var names []string
	var at []record.Position
	handed := false
	for _, p := range all {
		names, at, handed = append(names, s.leftPlace(p)), append(at, p.Place), handed || p.Hand != ""
	}
	text := strings.Join(names, ", ")
	if !handed {
		text = s.places(record.NewPositions(at...))
	}
	if len(all) > namedAtMost && len(text) > 60 {
		return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
	}
	return strings.TrimSpace(text)
}

// dueNow is how many parts likely are at their limit today, and how many more come to it; "" where nobody can say. All share the ground to come: the limits are wide.
func (s *saleFile) dueNow(l *rules.Left) string {
	now, ok := l.Wear.Within(0)
	if !ok || len(l.Places) < 2 {
		return ""
	}
	text := fmt.Sprintf("All together, of %d: likely %s today (%d to %d in four of five cases)", l.Forecasted(), does(fmt.Sprint(now.Likely), now.Likely, "is past its limit", "are past their limit"), now.Low, now.High)
	for _, more := range lookAheads(l.Wear.Ahead.Whole) {
		then, _ := l.Wear.Within(more)
		text += fmt.Sprintf("; within %s more about %d in all (%d to %d)", s.amount(l.Wear.Use(more)), then.Likely, then.Low, then.High)
	}
	return text + "."
}

// lookAheads are two round stretches of use, about a third and two thirds of a whole season's.
func lookAheads(season float64) []float64 {
	if season < 3 || math.IsInf(season, 0) {
		return nil
	}
	step := math.Pow10(int(math.Floor(math.Log10(season / 3))))
	for _, n := range []float64{5, 2} {
		if n*step <= season/3 {
			step *= n
			break
		}
	}
	return []float64{step, 2 * step}
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

func (s *saleFile) leftPlace(p *rules.LeftPlace) string {
	return strings.TrimSpace(s.places(record.NewPositions(p.Place)) + " " + p.Hand)
}

// worstShown is how many places are told in words, leastMost how many where more stand alike.
const (
	worstShown = 5
	leastMost  = 12
)

func (s *saleFile) wearOf(l *rules.Left) []paper.Block {
	var out []paper.Block
	for _, text := range s.leftWords(l) {
		out = append(out, paper.Para{Text: paper.Say(text)})
	}
	if n := l.Now; n < 0 {
		return out
	}
	var rows []paper.Row
	least := l.Least()
	shown := min(worstShown, len(least))
	for shown > 0 && shown < min(leastMost, len(least)) && s.alikeToday(least[shown-1], least[shown]) { // not cut off among equals
		shown++
	}
	for _, p := range least[:shown] {
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(s.leftPlace(p) + iff(p.Out != nil, ", out of use")), s.leftToday(p), s.leftMeasured(p), paper.Say(s.since(p)), paper.Say(s.further(l, p))}})
	}
	if len(rows) > 0 && len(l.Places) > 1 {
		foot := ""
		if shown < len(least) && s.alikeToday(least[shown-1], least[shown]) {
			foot = "More stand as the last one here: see the drawing and its numbers."
		}
		out = append(out, paper.Table{Caption: "The least left", Foot: foot, Columns: []paper.Column{{Title: "where", Narrow: true}, {Title: "likely left today"}, {Title: "measured"}, {Title: "worked since"}, {Title: "from today to the limit"}}, Rows: rows})
	}
	if l.Err != nil && l.Wear != nil {
		out = append(out, paper.Para{Text: paper.Say(capital(strings.SplitN(noForecast(l.Err, l.Wear), ": shedbook", 2)[0]) + ".")})
	}
	if len(l.Places) > 1 && l.Worst >= 0 {
		about := "A bar is a place as last measured: full height is a new part, none the limit."
		if l.Places[l.Now].NowKnown {
			about += " The stroke across it: likely today."
		}
		if l.Wear != nil && l.Err == nil && !l.Wear.Ahead.Blind {
			about += fmt.Sprintf(" The upright line: after %s more (%s), in four of five cases. A triangle: change now.", s.amount(l.Wear.Use(l.Wear.Ahead.Use)), s.rest(l.Wear))
		}
		out = append(out, paper.Figure{Title: capital(l.Title) + ": what is left, place by place", About: about, Chart: s.leftChart(l)})
	}
	if len(l.Places) > 1 && l.Worst >= 0 {
		out = append(out, paper.PrintOnly{Text: paper.Say(s.eachPlace(l))})
	}
	if gaps := s.notMeasured(l); len(gaps) > 0 {
		out = append(out, paper.List{Items: gaps})
	}
	return out
}

// eachPlace is every place's size as last measured and what it likely has left today, places alike together, the least left first: the numbers of the drawing,
// for paper.
func (s *saleFile) eachPlace(l *rules.Left) string {
	c := s.leftChart(l)
	type alike struct {
		text  string
		today float64
		at    []string
	}
	var all []*alike
	for _, row := range c.Rows {
		for _, b := range row.Places {
			text, today := "", math.Inf(1)
			switch {
			case b.Size == "" && b.Gone:
				text += "out of use"
			case b.Size == "":
				text += "not measured"
			default:
				text += b.Size
			}
			if !math.IsNaN(b.Today) {
				text, today = text+", "+share(b.Today), math.Round(100*b.Today)
			}
			text += iff(b.Gone && b.Size != "", ", out of use")
			i := slices.IndexFunc(all, func(x *alike) bool { return x.text == text })
			if i < 0 {
				i, all = len(all), append(all, &alike{text: text, today: today})
			}
			all[i].at = append(all[i].at, b.Label)
		}
	}
	slices.SortStableFunc(all, func(a, b *alike) int { return cmp.Compare(a.today, b.today) })
	var out []string
	for _, x := range all {
		out = append(out, x.text+": "+strings.Join(x.at, ", "))
	}
	return "Size as last measured, what is likely left today, and where: " + strings.Join(out, "; ") + "."
}

// rest is what the use looked ahead to is: a season's plan, less what was worked of it.
func (s *saleFile) rest(w *rules.Wear) string {
	if w.Ahead.Open && w.Ahead.Season != nil {
		return "what is left of " + w.Ahead.From + " for " + w.Ahead.Name
	}
	return w.Ahead.From
}

// notMeasured names the places that have no size: never measured, with what sits there, and out of use.
func (s *saleFile) notMeasured(l *rules.Left) []paper.Text {
	var out []paper.Text
	for i := range l.Places {
		p := &l.Places[i]
		if p.On != "" {
			continue
		}
		if len(out) == worstShown+1 {
			out[worstShown] = paper.Say(fmt.Sprintf("and %d more never measured", l.Never-worstShown))
			break
		}
		text, from := s.leftPlace(p)+": "+s.neverSays(p), []record.ID(nil)
		if p.Part != nil && len(p.Part.Stays) > 0 && !p.Part.Assumed {
			from = append(from, p.Part.Stays[len(p.Part.Stays)-1].Entry)
		}
		out = append(out, marked(paper.Watch, "not measured", text, from...))
	}
	for _, o := range s.outOf(l) {
		out = append(out, marked(paper.Late, "out of use", s.places(o.at)+": "+o.Why+", since "+sinceDay(o.Since)+s.satThere(l, o.at), o.Entry))
	}
	return out
}

// satThere is what the parts at places out of use had when last measured: they stand as they were, and are still parts to be bought.
func (s *saleFile) satThere(l *rules.Left, at record.Positions) string {
	var had []string
	in := false
	for i := range l.Places {
		p := &l.Places[i]
		if p.Out == nil || !at.Has(p.Place) {
			continue
		}
		in = in || p.Forecast
		if p.On != "" && len(had) < namedAtMost {
			had = append(had, iff(at.Len() > 1 || p.Hand != "", s.leftPlace(p)+" ")+s.size(p.Size)+before(", ", s.shareThen(p))+", on "+p.On.Date())
		}
	}
	text := "; not measured"
	if len(had) > 0 {
		text = "; when last measured " + strings.Join(had, "; ")
	}
	return text + iff(in, "; counted in the sums as if in use, and not on the card") + iff(!in, "; left out of the sums and of the card")
}

// neverSays is why a place has no size: what was put in there, and when.
func (s *saleFile) neverSays(p *rules.LeftPlace) string {
	if p.Part == nil || p.Part.Assumed || p.Part.In == "" {
		return "never measured"
	}
	return iff(p.Part.Segment == 1, "new ") + "part put in " + sinceDay(p.Part.In) + ", not measured since"
}

// outOf are the places of a reading that are out of use: the forecast leaves them out.
func (s *saleFile) outOf(l *rules.Left) []outView {
	var out []outView
	for _, o := range s.v.Out {
		var at []record.Position
		for _, p := range o.at.All() {
			if p.Noun == l.Reading.Of {
				at = append(at, p)
			}
		}
		if len(at) > 0 {
			o.at = record.NewPositions(at...)
			out = append(out, o)
		}
	}
	return out
}

func (s *saleFile) since(p *rules.LeftPlace) string {
	if p.Since.Sign() <= 0 {
		return ""
	}
	return s.amount(p.Since)
}

// leftToday is what a place likely has left today.
func (s *saleFile) leftToday(p *rules.LeftPlace) paper.Text {
	switch {
	case p.Past:
		return marked(paper.Stop, "past its limit", "")
	case p.NowKnown && p.NowShare <= 0:
		return paper.Say("none, about " + s.about(p.NowSize))
	case p.NowKnown:
		return paper.Say(share(p.NowShare) + ", about " + s.about(p.NowSize))
	}
	return paper.Say("not known")
}

// leftMeasured is what a place last read, and who measured.
func (s *saleFile) leftMeasured(p *rules.LeftPlace) paper.Text {
	if p.On == "" {
		return paper.Say(s.neverSays(p))
	}
	return says(s.size(p.Size)+before(", ", s.shareThen(p))+", "+sinceDay(p.On)+" by "+s.person(p.Person), p.Entries[max(0, len(p.Entries)-1):]...)
}

func (s *saleFile) shareThen(p *rules.LeftPlace) string {
	if !p.Known {
		return ""
	}
	return share(p.Share) + " left" + iff(p.Assumed, " (age assumed)")
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
