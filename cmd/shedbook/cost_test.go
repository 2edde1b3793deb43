package main

import (
	"encoding/json"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// costlyBook is a made-up drill with every kind of cost, in words as long and as odd as a farm writes them.
func costlyBook(t *testing.T) *testBook {
	b, id := season2026(t)
	pay := func(who string, costs ...string) *record.Private {
		p := &record.Private{Who: who}
		for _, c := range costs {
			what, amount, _ := strings.Cut(c, "=")
			p.Costs = append(p.Costs, record.Cost{For: what, Amount: amount})
		}
		return p
	}
	b.add("2026-02-20T08:00", &record.Season{Act: "open", Name: "spring seeding 2026 of the two farms and the rented land by the river", Work: "seeding", Done: "2026-03-10"}, nil)
	w := workOn(id["drill"], "2026-03-15T10:00", "")
	w.Minutes = 100
	b.add("2026-03-15T11:00", &record.Repair{Work: w, Cause: "stone-in-the-left-wing", Lost: quantity.MustParse("100 min")}, pay("", "parts=123456789.10", "labour=12.5"))
	w.Minutes = 47
	b.add("2026-03-16T11:00", &record.Did{Work: w, Job: "grease", Positions: placesOf(t, "opener/1-8")}, pay("Tern Valley Hydraulics and Welding, the shop behind the elevator", "cartridges of the good grease=33.33"))
	b.add("2026-03-17T11:00", &record.Repair{Work: w}, pay("", "rope=0.01"))
	w.Minutes = 0
	b.add("2026-03-18T11:00", &record.Repair{Work: w}, pay("Tern Valley Hydraulics and Welding, the shop behind the elevator", "invoice 8812 of the seventeenth of March, second sheet=77.70"))
	b.at("2026-04-15T20:00")
	return b
}

// Law: with costs in the book, no line is wider than the terminal.
func TestCostsFitTheWidth(t *testing.T) {
	b := costlyBook(t)
	for _, width := range []int{40, 60, 80, 120} {
		b.vars["COLUMNS"] = strconv.Itoa(width)
		for _, line := range []string{"cost", "cost --why", "cost drill", "cost drill --why --labour 25", "cost drill --by-year --labour 25 --list-price 52000 --made 2014 --hours 900 --interest 8 --bought-for 40000 --bought 2016 --why", "cost --shops", "cost --shops --why", "cost --classes"} {
			for text := range strings.Lines(b.must(strings.Fields(line)...)) {
				text = strings.TrimSuffix(text, "\n")
				if table.Width(text) > width || strings.TrimRight(text, " ") != text {
					t.Errorf("%s at %d: %d columns: %q", line, width, table.Width(text), text)
				}
			}
		}
	}
}

// Law: the arithmetic that --why prints comes out, and what it prints of a period is what --json has of it. Every short id it names is an entry of the book.
func TestCostWhysAddUp(t *testing.T) {
	b := costlyBook(t)
	b.vars["COLUMNS"] = "1000"
	text := b.must("cost", "drill", "--why", "--labour", "24.90")
	number := func(s string) *big.Rat {
		r, ok := new(big.Rat).SetString(s)
		if !ok {
			t.Fatalf("%q is no number", s)
		}
		return r
	}
	quotients := regexp.MustCompile(`([0-9.]+) / ([0-9.]+) [a-z]+ = ([0-9.]+)`).FindAllStringSubmatch(text, -1)
	for _, q := range quotients {
		if got := new(big.Rat).Quo(number(q[1]), number(q[2])).FloatString(2); got != q[3] {
			t.Errorf("%s: it is %s", q[0], got)
		}
	}
	works := regexp.MustCompile(`([0-9.]+) (h|min) of work, .* at ([0-9.]+) an hour: ([0-9.]+)`).FindAllStringSubmatch(text, -1)
	for _, w := range works {
		hours, _ := number(w[1]).Float64()
		rate, _ := number(w[3]).Float64()
		want, _ := number(w[4]).Float64()
		within := 0.05 * rate // hours are shown to a tenth
		if w[2] == "min" {
			hours, within = hours/60, 0.005
		}
		if math.Abs(hours*rate-want) > within+1e-9 {
			t.Errorf("%s: it is %.2f", w[0], hours*rate)
		}
	}
	if len(quotients) < 1 || len(works) < 2 {
		t.Errorf("%d quotients and %d lines of work in\n%s", len(quotients), len(works), text)
	}
	st := b.state()
	for _, id := range regexp.MustCompile(`\b[0-9a-f]{8}\b`).FindAllString(text, -1) {
		found := false
		for _, e := range st.Effective {
			found = found || e.Entry.ID.Short() == id
		}
		if !found && !regexp.MustCompile(`^[0-9]+$`).MatchString(id) {
			t.Errorf("no entry %s", id)
		}
	}
	var j costsJSON
	if err := json.Unmarshal([]byte(b.must("cost", "drill", "--labour", "24.90", "--json")), &j); err != nil {
		t.Fatal(err)
	}
	m := j.Machines[0]
	sum := new(big.Rat)
	for _, p := range m.Periods {
		sum.Add(sum, number(p.Spent))
		row := regexp.MustCompile(`(?m)^` + regexp.QuoteMeta(p.Name) + ` .* ` + regexp.QuoteMeta(p.Spent) + `$`)
		if !row.MatchString(text) {
			t.Errorf("%s: %s stands nowhere in\n%s", p.Name, p.Spent, text)
		}
		of := new(big.Rat)
		for _, s := range []string{p.Parts, p.Labour, p.Consumables, p.Outside, p.Other} {
			of.Add(of, number(s))
		}
		each := new(big.Rat)
		for _, e := range p.Expenses {
			if e.Amount != "" {
				each.Add(each, number(e.Amount))
			}
		}
		if of.Cmp(number(p.Spent)) != 0 || each.Cmp(of) != 0 {
			t.Errorf("%s: %s spent, %s by kind, %s by amount", p.Name, p.Spent, of.FloatString(2), each.FloatString(2))
		}
	}
	if sum.Cmp(number(m.Total.Spent)) != 0 {
		t.Errorf("%s in all, %s by period", m.Total.Spent, sum.FloatString(2))
	}
	// Worked out on paper: the 100 minutes are in the 12.50 that was paid for them; 47 minutes twice at 24.90 are 19.51 each (19.505); so
	// 123456789.10 + 12.50 + 33.33 + 19.51 + 0.01 + 19.51 + 77.70.
	if want := "123456951.66"; m.Total.Spent != want {
		t.Errorf("%s spent, not %s", m.Total.Spent, want)
	}
}
