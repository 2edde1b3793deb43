package paper

import "fmt"

// Kept is how services were kept, season by season: on time, late, missed.
type Kept struct{ Seasons []KeptSeason }

// KeptSeason counts the times that services came due in a season.
type KeptSeason struct {
	Name                 string
	OnTime, Late, Missed int
	NotJudged            int // came due or not: the record does not say
	From                 []string
}

func (c Kept) draw(width float64) drawing {
	d := drawing{Width: width}
	left, right, above := 196.0, width-10, 0.0
	if width < 400 { // the name stands above its bar: cut short, seasons of two years would read alike
		left, above = 0, 16
	}
	most := 1
	for _, s := range c.Seasons {
		most = max(most, s.OnTime+s.Late+s.Missed+s.NotJudged)
	}
	x := scale{0, float64(most), left, right}
	kinds := []struct{ class, word string }{{"kept", "on time"}, {"late", "late"}, {"missed", "missed"}, {"unjudged", "not told"}}
	at := 0.0
	for _, k := range kinds { // the key, with the patterns of the bars
		d.box("bar "+k.class, at, 4, 14, 12)
		d.words("small", at+19, 14, k.word)
		at += 19 + 6.4*float64(len(k.word)) + 16
	}
	y := 34.0
	for _, s := range c.Seasons {
		if above > 0 {
			d.words("label", 0, y+11, cut(s.Name, width))
			y += above
		} else {
			d.words("label at-end", left-8, y+14, cut(s.Name, left-8))
		}
		from := 0.0
		for i, n := range []int{s.OnTime, s.Late, s.Missed, s.NotJudged} {
			if n == 0 {
				continue
			}
			a, b := x.at(from), x.at(from+float64(n))
			d.box("bar "+kinds[i].class, a, y, b-a, 20)
			if text := fmt.Sprint(n); b-a > 7*float64(len(text))+4 {
				class := "label at-middle"
				if i == 0 || i == 2 {
					class += " on-dark"
				}
				d.words(class, (a+b)/2, y+15, text)
			}
			from += float64(n)
		}
		y += 28
	}
	d.Height = y + 2
	if len(c.Seasons) == 0 {
		d.words("label", 0, y+8, "no season is written down")
		d.Height = y + 20
	}
	return d
}

func (c Kept) Table() Table {
	t := Table{Caption: "services", Columns: []Column{{Title: "season"}, {Title: "on time", Number: true}, {Title: "late", Number: true}, {Title: "missed", Number: true}, {Title: "not told by the record", Number: true}}}
	for _, s := range c.Seasons {
		t.Rows = append(t.Rows, Row{[]Text{Say(s.Name, s.From...), Say(fmt.Sprint(s.OnTime)), Say(fmt.Sprint(s.Late)), Say(fmt.Sprint(s.Missed)), Say(fmt.Sprint(s.NotJudged))}})
	}
	return t
}
