package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"shedbook/rules/record"

	"pgregory.net/rapid"
)

// A drill came on 2024-01-01 and was sold on 2026-01-01: 731 days (2024 is a leap year). It was in storage from 2024-11-01 to 2025-03-01 (30 + 31 + 31 + 28 =
// 120 days) and again from 2025-12-02 on, 30 days to the sale.
func TestWhereabouts(t *testing.T) {
	b := newNotebook(t)
	b.last().Private = &record.Private{Who: "a neighbour"}
	in := b.add(&record.Store{Work: b.on("2024-11-01"), Act: "in", Slack: []string{"drive chain"}})
	b.last().Private = &record.Private{Text: "lean-to, under a tarpaulin"}
	b.add(&record.Store{Work: b.on("2024-11-20"), Act: "in"}) // already there
	out := b.add(&record.Store{Work: b.on("2025-03-01"), Act: "out"})
	b.add(&record.Move{Work: b.on("2025-03-10"), Yard: b.yards["creek"]})
	b.add(&record.Move{Work: b.on("2025-03-11"), Yard: b.yards["creek"]}) // already there
	lent := b.add(&record.Lend{Work: b.on("2025-05-01"), Act: "lent"})
	b.last().Private = &record.Private{Who: "next door"}
	back := b.add(&record.Lend{Work: b.on("2025-05-09"), Act: "returned", Condition: "watch"})
	tractor := b.machine("tractor", "tractor", "2024-01-01")
	b.add(&record.Hitch{Work: b.on("2025-04-01"), Carrier: tractor})
	shelf := b.add(&record.Shelf{Work: record.Work{Done: "2024-01-01"}, Key: testKey("shelf"), Yard: b.yards["home"]})
	b.add(&record.Stock{Work: record.Work{Machine: shelf, Done: "2024-02-01"}, Schedule: "drill", Part: "scraper", Act: "add", Count: 3})
	b.add(&record.Stock{Work: record.Work{Machine: shelf, Done: "2024-02-01"}, Schedule: "tractor", Part: "belt", Act: "add", Count: 1})
	b.add(&record.Store{Work: b.on("2025-12-02"), Act: "in"})
	b.add(&record.Sell{Work: b.on("2026-01-01")})

	st := b.state("2026-06-01")
	w := WhereaboutsOf(st, st.Machine("drill"))
	wantEqual(t, "bought of", w.From, "a neighbour")
	wantEqual(t, "days", w.Days, 731)
	wantEqual(t, "days stored", w.StoredDays, 120+30)
	wantEqual(t, "sold", w.Sold, record.Done("2026-01-01"))
	wantEqual(t, "since", w.Since, record.Done("2025-03-10"))
	var stays []string
	for _, s := range w.Stays {
		stays = append(stays, st.Yard(string(s.Yard)).Name+" "+string(s.From)+" "+string(s.To))
	}
	wantList(t, "stays", stays, "home 2024-01-01 2025-03-10", "creek 2025-03-10 2026-01-01")
	wantEqual(t, "storage", fmt.Sprint(len(w.Storage)), "2")
	s := w.Storage[0]
	wantList(t, "first storage", []string{string(s.From), string(s.To), strings.Join(s.Slack, ","), s.Text, string(s.In), string(s.Out)},
		"2024-11-01", "2025-03-01", "drive chain", "lean-to, under a tarpaulin", string(in), string(out))
	wantEqual(t, "away", len(w.Away), 1)
	wantEqual(t, "away", w.Away[0], AwayStay{Act: "lent", From: "2025-05-01", To: "2025-05-09", Who: "next door", Condition: "watch", Out: lent, Back: back})
	var with []string
	for _, x := range w.With {
		if x.What == "parts" {
			with = append(with, fmt.Sprintf("%d %s", x.Stock.Count, x.Stock.Part))
		} else {
			with = append(with, fmt.Sprintf("%s carries=%t since %s", st.MachineByID(x.Machine).Name, x.Carries, x.Since))
		}
	}
	wantList(t, "with it", with, "3 scraper", "tractor carries=true since 2025-04-01")

	other := WhereaboutsOf(st, st.Machine("tractor"))
	wantEqual(t, "with the tractor: the belt; the drill it pulled is sold", len(other.With), 1)
}

// Whatever the history: stays follow one another without a hole, storage lies in the days of the book, and every entry named is one of the machine's.
func TestLawWhereabouts(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		st := replayed(t, s.entries, lawEnd)
		again := replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), lawEnd)
		for i, m := range st.Machines {
			w := WhereaboutsOf(st, m)
			if got, want := fmt.Sprintf("%+v", WhereaboutsOf(again, again.Machines[i]).Stays), fmt.Sprintf("%+v", w.Stays); got != want {
				rt.Fatalf("in another order of arrival: %s, want %s", got, want)
			}
			for k, stay := range w.Stays {
				if k > 0 && w.Stays[k-1].To != stay.From {
					rt.Fatalf("a hole between %+v and %+v", w.Stays[k-1], stay)
				}
			}
			if n := len(w.Stays); n > 0 && w.Stays[n-1].Yard != m.Yard {
				rt.Fatalf("last in yard %s, but it stands in %s", w.Stays[n-1].Yard, m.Yard)
			}
			if w.StoredDays > w.Days {
				rt.Fatalf("%d days of %d in storage", w.StoredDays, w.Days)
			}
			heldEntries(rt, st, w.Entries)
		}
	})
}

// heldEntries holds ids to entries of the state.
func heldEntries(rt *rapid.T, st *State, ids []ID) {
	rt.Helper()
	for _, id := range ids {
		if !slices.ContainsFunc(st.Effective, func(e *Effective) bool { return e.Entry.ID == id && e.StruckBy == "" && e.Ignored == "" }) {
			rt.Fatalf("entry %q rests on nothing that holds", id)
		}
	}
}
