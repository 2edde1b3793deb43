package rules

import (
	"fmt"
	"strings"
	"testing"

	"shedbook/rules/record"

	"pgregory.net/rapid"
)

func bigLines(all []BigJob) (out []string) {
	for _, b := range all {
		costs := ""
		for _, c := range b.Costs {
			costs += " " + strings.TrimSpace(c.Amount.FloatString(2)+" "+c.Currency)
		}
		out = append(out, fmt.Sprintf("%s-%s %s %s%s [%s] %d parts whole %t latest %t", b.Done, b.To, b.Kind, b.Name, costs, strings.Join(b.Why, " "), b.Parts, b.Whole, b.Latest))
	}
	return out
}

// Eight discs (four openers, both hands) on three days of a week are one new set of all there are; one disc a fortnight later is none. Of two repairs by shops the
// dearer one is dear; the farm's own of 60 is neither, and one of five hours took long.
func TestBigJobs(t *testing.T) {
	b := newNotebook(t)
	pay := func(who, amount string) {
		b.last().Private = &record.Private{Who: who, Text: "as told", Costs: []record.Cost{{For: "invoice", Amount: amount}}}
	}
	b.reads("2025-01-01", "area at 1000 ac")
	var set []ID
	for i, day := range []string{"2025-02-01", "2025-02-03", "2025-02-07"} {
		set = append(set, b.swap(record.SwapNew, day, []string{"opener/1", "opener/2", "opener/3-4"}[i], func(s *record.Swap) { s.Minutes = 40; s.Warranty = "2026-0" + fmt.Sprint(1+i) + "-01" }))
		pay("", []string{"10", "20.50", "40 EUR"}[i])
	}
	b.swap(record.SwapNew, "2025-02-21", "opener/2", func(s *record.Swap) { s.Hand = "left" })
	b.swap(record.SwapExchange, "2025-03-01", "opener/1", func(s *record.Swap) { s.With = b.at("opener/3") })
	repair := func(done, who, amount string, minutes int) ID {
		id := b.add(&record.Repair{Work: record.Work{Machine: b.names["drill"], Done: record.Done(done), Minutes: minutes}, Part: "battery", Cause: "worn"})
		if amount != "" {
			pay(who, amount)
		}
		return id
	}
	repair("2025-04-01", "a shop", "100", 0)
	dear := repair("2025-05-01", "another shop", "900", 0)
	repair("2025-06-01", "", "60", 60)
	repair("2025-07-01", "", "", 300)
	st := b.state("2025-12-31")
	all := BigJobsOf(st, st.Machine("drill"))
	wantList(t, "big jobs", bigLines(all),
		"2025-07-01-2025-07-01 repair battery [time] 0 parts whole false latest true",
		"2025-05-01-2025-05-01 repair battery 900.00 [shop cost] 0 parts whole false latest false",
		"2025-04-01-2025-04-01 repair battery 100.00 [shop] 0 parts whole false latest false",
		"2025-02-01-2025-02-07 swap disc 30.50 40.00 EUR [set cost] 8 parts whole true latest true") // the one amount in EUR is the dearest of its kind
	one := all[3]
	wantList(t, "its entries", one.Entries, set...)
	wantEqual(t, "its places", one.Positions.String(), "opener/1-4")
	wantEqual(t, "minutes and warranty", fmt.Sprint(one.Minutes, " ", one.Warranty), "120 2026-03-01")
	wantQ(t, "at", one.At, "1000 ac")
	wantEqual(t, "the dear one", all[1].Entries[0] == dear && all[1].Who[0] == "another shop" && all[1].Told, true)
}

// A job that the schedule asks for each season and that took an hour and a half is no large one, though it includes others; one that took five hours is. Four discs
// put in one every four days are one set; a hose that put a fault right is told, and the same words without a fault or a part are not.
func TestBigJobsLeaveOutRounds(t *testing.T) {
	b := newNotebook(t)
	b.reads("2025-01-01", "area at 1000 ac")
	did := func(day string, minutes int) {
		b.add(&record.Did{Work: record.Work{Machine: b.names["drill"], Done: record.Done(day), Minutes: minutes}, Job: "grease", Positions: b.at("opener/1-4")})
	}
	did("2025-02-01", 96)
	did("2025-03-01", 300)
	for i, day := range []string{"2025-04-01", "2025-04-05", "2025-04-09", "2025-04-13"} {
		b.swap(record.SwapNew, day, []string{"opener/1", "opener/2", "opener/3", "opener/4"}[i], func(s *record.Swap) { s.Hand = "left" })
	}
	fault := b.add(&record.Fault{Work: record.Work{Machine: b.names["drill"], Done: "2025-05-01"}, Severity: "stop"})
	b.add(&record.Repair{Work: record.Work{Machine: b.names["drill"], Done: "2025-05-02", Closes: []ID{fault}}, Cause: "worn"})
	b.add(&record.Repair{Work: record.Work{Machine: b.names["drill"], Done: "2025-05-03"}, Cause: "worn"})
	st := b.state("2025-12-31")
	wantList(t, "big jobs", bigLines(BigJobsOf(st, st.Machine("drill"))),
		"2025-05-02-2025-05-02 repair  [mend] 0 parts whole false latest true",
		"2025-04-01-2025-04-13 swap disc [set] 4 parts whole false latest true",
		"2025-03-01-2025-03-01 did grease [job] 0 parts whole true latest true")
}

// Whatever the history: jobs come newest first, each entry is in one job at most and holds, and the order of arrival does not matter.
func TestLawBigJobs(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		st := replayed(t, s.entries, lawEnd)
		again := replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), lawEnd)
		for i, m := range st.Machines {
			all := BigJobsOf(st, m)
			if got, want := fmt.Sprint(bigLines(BigJobsOf(again, again.Machines[i]))), fmt.Sprint(bigLines(all)); got != want {
				rt.Fatalf("in another order of arrival: %s, want %s", got, want)
			}
			seen := map[ID]bool{}
			for k, b := range all {
				if k > 0 && all[k-1].To.Compare(b.To) < 0 {
					rt.Fatalf("%s before %s", all[k-1].To, b.To)
				}
				for _, id := range b.Entries {
					if seen[id] {
						rt.Fatalf("entry %s is in two jobs", id)
					}
					seen[id] = true
				}
				heldEntries(rt, st, b.Entries)
			}
		}
	})
}
