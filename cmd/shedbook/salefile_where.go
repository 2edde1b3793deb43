package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
)

// where is where it was kept, whose it was, and what goes with it.
func (s *saleFile) where() paper.Section {
	w := rules.WhereaboutsOf(s.st, s.m)
	facts := []paper.Fact{s.storage(w), s.owners(w), s.away(w), s.goesWith()}
	out := paper.Section{ID: "where", Title: "Kept where, whose, and what goes with it"}
	var items []paper.Fact
	for _, f := range facts {
		if len(f.Values) > 0 {
			items = append(items, f)
		}
	}
	out.Blocks = []paper.Block{paper.Facts{Items: items}}
	return out
}

// staysShown is how many stretches are told one by one.
const staysShown = 6

func until(to string) string {
	if to == "" {
		return "until now"
	}
	return "to " + to
}

func (s *saleFile) storage(w *rules.Whereabouts) paper.Fact {
	f := paper.Fact{Name: "stored inside"}
	if len(w.Storage) == 0 {
		f.Values = []paper.Text{paper.Say("no storage is written: inside or out is not known")}
		return f
	}
	f.Values = []paper.Text{paper.Say(fmt.Sprintf("%d of %d days since it came to the book, in %s", w.StoredDays, w.Days, does(fmt.Sprint(len(w.Storage)), len(w.Storage), "stretch", "stretches")))}
	for i := len(w.Storage) - 1; i >= 0 && len(f.Values) <= staysShown; i-- {
		x := w.Storage[i]
		from := []rules.ID{x.In}
		if x.Out != "" {
			from = append(from, x.Out)
		}
		f.Values = append(f.Values, says(x.From.Date()+" "+until(x.To.Date())+before(", slackened or drained: ", strings.Join(x.Slack, ", "))+before("; ", x.Text), from...))
	}
	return f
}

func (s *saleFile) owners(w *rules.Whereabouts) paper.Fact {
	f := paper.Fact{Name: "owners and yards"}
	came := "in this book since " + weekday(w.Came)
	if w.From != "" {
		came += ", bought of " + w.From
	}
	f.Values = append(f.Values, says(came+"; who had it before is not in it", s.m.ID))
	for i := len(w.Stays) - 1; i >= 0 && len(f.Values) <= staysShown; i-- {
		x := w.Stays[i]
		f.Values = append(f.Values, says(yardName(s.st, x.Yard)+before(", ", farmName(s.st, x.Farm))+", "+x.From.Date()+" "+until(x.To.Date()), x.Entry))
	}
	return f
}

func (s *saleFile) away(w *rules.Whereabouts) paper.Fact {
	f := paper.Fact{Name: "lent and hired"}
	for i := len(w.Away) - 1; i >= 0 && len(f.Values) < staysShown; i-- {
		x := w.Away[i]
		text := strings.ReplaceAll(x.Act, "-", " ") + before(", ", x.Who) + ", " + x.From.Date() + " " + until(x.To.Date()) + before("; came back: ", x.Condition)
		from := []rules.ID{x.Out}
		if x.Back != "" {
			from = append(from, x.Back)
		}
		f.Values = append(f.Values, says(text, from...))
	}
	if len(f.Values) == 0 {
		f.Values = []paper.Text{paper.Say("never, as far as is written")}
	}
	return f
}

// goesWith is what lies on the shelves of its farm for machines of its kind, and what is joined to it. It is of the seller's whole book, for a shelf has
// entries of its own: the evidence does not show them, and the page says so.
func (s *saleFile) goesWith() paper.Fact {
	f := paper.Fact{Name: "could go with it"}
	m := s.owner.MachineByID(s.m.ID)
	if m == nil {
		return f
	}
	for _, x := range rules.WhereaboutsOf(s.owner, m).With {
		switch {
		case x.What == "parts" && x.Stock != nil:
			text := fmt.Sprintf("%s: %d on the shelf in %s", strings.TrimSpace(x.Stock.Hand+" "+strings.ReplaceAll(x.Stock.Part, "-", " ")), x.Stock.Count, yardName(s.owner, x.Yard))
			if n := len(x.Stock.Parts); n > 0 {
				text += fmt.Sprintf(", %d of them used", n)
			}
			if x.Also > 0 {
				text += "; " + does(fmt.Sprint(x.Also), x.Also, "other machine of the farm takes it too", "other machines of the farm take it too")
			}
			f.Values = append(f.Values, paper.Say(text))
		case x.What == "machine":
			if o := s.owner.MachineByID(x.Machine); o != nil {
				f.Values = append(f.Values, paper.Say(o.Name+iff(x.Carries, " pulls or carries it now")+iff(!x.Carries, " is joined to it now")+before(", since ", x.Since.Date())))
			}
		}
		if len(f.Values) > 20 {
			break
		}
	}
	if len(f.Values) == 0 {
		f.Values = []paper.Text{paper.Say("nothing is written: ask for spares, monitor, codes and manuals")}
		return f
	}
	f.Values = append(f.Values, paper.Say("As the seller's book has it, not in the evidence. What is sold with it the seller says; ask for monitor, codes and manuals too."))
	return f
}
